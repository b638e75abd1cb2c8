"""Which worker runs which tests: a file stays in one hand, the longest files come first, pages are one worker's.

What the tests of a file share (a solved guitar, a plan) is made once, not once a worker; all pages share one server;
no worker begins something long when the others are done. Only for `pytest -n`; without it the order is the usual one.
"""

from typing import Any

from xdist.scheduler import LoadScopeScheduling

PAGES = "pages"
BROWSERS = (
    "tests/app/test_browser.py", "tests/app/test_enter_browser.py", "tests/app/test_grades_browser.py",
    "tests/app/test_hear_browser.py", "tests/app/test_hostile_browser.py", "tests/app/test_instrument_browser.py",
    "tests/app/test_listen_browser.py",
    "tests/app/test_plan_to_hear.py",
    "tests/app/test_plan_to_proof.py", "tests/app/test_player_browser.py", "tests/app/test_prove_browser.py",
    "tests/app/test_worksheet_browser.py",
)  # fmt: skip
LONG = {
    "tests/trade/test_cures.py": 45, "tests/trade/test_bar_facts.py": 20, "tests/trade/test_small_differences.py": 17,
    "tests/cli/test_demo.py": 17, "tests/examples/test_examples.py": 17, "tests/unit/measure/test_fit.py": 16,
    "tests/added_construction/test_one_file_more.py": 14, "tests/cli/test_hear.py": 13,
    "tests/architecture/test_one_more.py": 10, "tests/cli/test_answer_first.py": 10,
    "tests/unit/auditioning/test_rendered_difference.py": 9, "tests/unit/auditioning/test_audition.py": 8,
    "tests/unit/measure/test_plucks.py": 8, "tests/cli/test_process.py": 8, "tests/app/test_serve.py": 8,
    "tests/unit/planning/test_plan.py": 10, "tests/property/test_plan_laws.py": 7,
    "tests/property/test_notebook_laws.py": 7, "tests/unit/planning/test_answer.py": 6,
    "tests/unit/notebook/test_server.py": 20, "tests/unit/notebook/test_archive.py": 20,
    "tests/unit/notebook/test_crash.py": 12, "tests/unit/notebook/test_orders.py": 6,
    "tests/unit/planning/test_complaints.py": 6, "tests/unit/planning/test_candidates.py": 5,
}  # fmt: skip
"""Processor seconds of the long ones, roughly; only their order counts."""
ROOMS = {"tests/app": 1.0, "tests/cli": 0.3}  # s, a test
OTHERS = 0.05


def scope_of(nodeid: str) -> str:
    """Return what a test shares its worker with: its file, or every page in a browser."""
    file = nodeid.partition("::")[0]
    return PAGES if file in BROWSERS else file


def seconds(scope: str, tests: int) -> float:
    """Return about how long the tests of a scope take; pages come first."""
    if scope == PAGES:
        return float("inf")
    return LONG.get(scope, ROOMS.get(scope.rpartition("/")[0], OTHERS) * tests)


class FilesLongestFirst(LoadScopeScheduling):
    """One scope after the other to whoever is free."""

    def _split_scope(self, nodeid: str) -> str:
        return scope_of(nodeid)

    def _assign_work_unit(self, node: Any) -> None:
        longest = max(self.workqueue, key=lambda scope: seconds(scope, len(self.workqueue[scope])))
        self.workqueue.move_to_end(longest, last=False)
        super()._assign_work_unit(node)
