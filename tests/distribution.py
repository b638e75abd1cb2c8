"""Which worker runs which tests: a file stays in one hand, the longest files come first, pages are two workers'.

What the tests of a file share (a solved guitar, a plan) is made once, not once a worker. Half of the pages share one
server, the others have one each: a page mostly waits, and all of them in one hand took half of the whole run. No
worker begins something long when the others are done. Only for `pytest -n`; without it the order is the usual one.
"""

import json
from pathlib import Path
from typing import Any

from xdist.scheduler import LoadScopeScheduling

PAGES, MORE_PAGES = "pages", "more pages"
BROWSERS = (
    "tests/app/test_browser.py", "tests/app/test_enter_browser.py", "tests/app/test_grades_browser.py",
    "tests/app/test_hear_browser.py", "tests/app/test_hostile_browser.py", "tests/app/test_instrument_browser.py",
    "tests/app/test_listen_browser.py",
    "tests/app/test_plan_to_hear.py",
    "tests/app/test_plan_to_proof.py", "tests/app/test_player_browser.py", "tests/app/test_prove_browser.py",
    "tests/app/test_whole_job_browser.py", "tests/app/test_worksheet_browser.py",
)  # fmt: skip
SECOND = {  # of these: those that start a server of their own, about half of the time
    "tests/app/test_enter_browser.py", "tests/app/test_hostile_browser.py", "tests/app/test_plan_to_hear.py",
    "tests/app/test_plan_to_proof.py",
}  # fmt: skip
BESIDE = {  # the same geometries, solved once
    "tests/examples/test_examples.py": "tests/examples/test_every_command.py",
    "tests/docs/test_tutorial.py": "tests/cli/test_demo.py",
    "tests/trade/test_bar_facts.py": "tests/trade/test_cures.py",
    "tests/trade/test_small_differences.py": "tests/trade/test_cures.py",
}  # fmt: skip
SECONDS = Path(__file__).parent / "seconds.json"
LONG: dict[str, float] = json.loads(SECONDS.read_text("utf-8"))
"""Processor seconds of the long ones, of a run whose workers shared two cores.

Measured anew, of a whole run or of the files that are named: ``python -m pytest -n 3 -p tests.processor_time
--write-seconds``.
"""
ROOMS = {"tests/app": 1.0, "tests/cli": 0.3}  # s, a test
OTHERS = 0.05


def scope_of(nodeid: str) -> str:
    """Return what a test shares its worker with: its file, that and one more, or half of the pages in a browser."""
    file = nodeid.partition("::")[0]
    if file in BROWSERS:
        return MORE_PAGES if file in SECOND else PAGES
    return BESIDE.get(file, file)


def seconds(scope: str, tests: int) -> float:
    """Return about how long the tests of a scope take; pages come first."""
    if scope in (PAGES, MORE_PAGES):
        return float("inf")
    known = [LONG[file] for file in (scope, *(one for one, other in BESIDE.items() if other == scope)) if file in LONG]
    return sum(known) or ROOMS.get(scope.rpartition("/")[0], OTHERS) * tests


class FilesLongestFirst(LoadScopeScheduling):
    """One scope after the other to whoever is free."""

    def _split_scope(self, nodeid: str) -> str:
        return scope_of(nodeid)

    def _assign_work_unit(self, node: Any) -> None:
        longest = max(self.workqueue, key=lambda scope: seconds(scope, len(self.workqueue[scope])))
        self.workqueue.move_to_end(longest, last=False)
        super()._assign_work_unit(node)
