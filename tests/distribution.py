"""Which worker runs which tests: a file stays in one hand, the longest files come first, pages are two workers'.

What the tests of a file share (a solved guitar, a plan) is made once, not once a worker. Half of the pages share one
server, the others have one each: a page mostly waits, and all of them in one hand took half of the whole run. No
worker begins something long when the others are done. Only for `pytest -n`; without it the order is the usual one.
"""

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
LONG = {
    "tests/examples/test_every_command.py": 140, "tests/published/test_finite_elements.py": 35,
    "tests/unit/pickup/test_turning.py": 18, "tests/unit/notebook/test_archive.py": 18,
    "tests/unit/notebook/test_server.py": 30, "tests/unit/measure/test_fit.py": 24, "tests/cli/test_hear.py": 14,
    "tests/app/test_worksheet_page.py": 24, "tests/cli/test_demo.py": 21, "tests/unit/report/test_worksheet.py": 21,
    "tests/app/test_guitar_page.py": 19, "tests/unit/notebook/test_crash.py": 17, "tests/app/test_hear_page.py": 16,
    "tests/unit/auditioning/test_comparing.py": 16, "tests/unit/planning/test_plan.py": 16,
    "tests/examples/test_every_page.py": 15, "tests/trade/test_cures.py": 36,
    "tests/unit/sound/test_phrase_energy.py": 14,
    "tests/unit/auditioning/test_fitting_pickup.py": 13, "tests/unit/notebook/test_learned.py": 13,
    "tests/app/test_listen_page.py": 13, "tests/unit/planning/test_spoken.py": 13, "tests/app/test_serve.py": 13,
    "tests/unit/measure/test_time_domain.py": 12, "tests/unit/planning/test_plan_order.py": 12,
    "tests/unit/measure/test_plucks.py": 11, "tests/unit/notebook/test_rescue.py": 11, "tests/cli/test_process.py": 11,
    "tests/unit/evidence/test_charge_found.py": 11, "tests/cli/test_season.py": 10,
    "tests/property/test_sheet_laws.py": 10, "tests/app/test_prove_page.py": 10,
    "tests/unit/auditioning/test_rendered_difference.py": 10, "tests/app/test_plan_page.py": 10,
    "tests/architecture/test_one_more.py": 9, "tests/unit/notebook/test_merge.py": 9, "tests/cli/test_trial.py": 9,
    "tests/cli/test_surface.py": 9, "tests/unit/auditioning/test_alive.py": 8,
    "tests/unit/coil/test_steel_sheets.py": 8, "tests/unit/pickup/test_slopes.py": 8,
    "tests/app/test_new_guitar_page.py": 8, "tests/unit/guitar/test_own_strings.py": 8,
    "tests/unit/bench/test_bench.py": 8, "tests/property/test_notebook_laws.py": 7,
    "tests/cli/test_notebook_commands.py": 7, "tests/unit/sound/test_recordings_at_fault.py": 7,
    "tests/cli/test_written_over.py": 6, "tests/unit/planning/test_bench_sense.py": 6,
    "tests/app/test_bench_page.py": 6, "tests/cli/test_answer_first.py": 6, "tests/unit/evidence/test_measured.py": 6,
    "tests/app/test_drawer_page.py": 6, "tests/added_construction/test_one_file_more.py": 6,
    "tests/unit/auditioning/test_describing.py": 6, "tests/unit/moves/test_two_rows_of_screws.py": 6,
    "tests/unit/measure/test_impedance.py": 6, "tests/unit/evidence/test_coil_surface.py": 6,
    "tests/unit/notebook/test_benches.py": 5, "tests/unit/sound/test_lines.py": 5, "tests/docs/test_site.py": 17,
    "tests/unit/bench/test_hangs_on.py": 13, "tests/cli/test_sweep.py": 12, "tests/unit/study/test_run.py": 12,
    "tests/unit/study/test_cluster.py": 10, "tests/unit/auditioning/test_renderings_stay.py": 7,
    "tests/unit/auditioning/test_own_takes.py": 6, "tests/examples/test_drawn_guitars.py": 25,
    "tests/phrasings/test_later_sets.py": 10, "tests/unit/measure/test_hostile_records.py": 9,
    "tests/unit/notebook/test_partition.py": 8,
}  # fmt: skip
"""Processor seconds of the long ones, roughly (two thirds of those of a run whose three workers shared two cores)."""
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
    return LONG.get(scope, ROOMS.get(scope.rpartition("/")[0], OTHERS) * tests)


class FilesLongestFirst(LoadScopeScheduling):
    """One scope after the other to whoever is free."""

    def _split_scope(self, nodeid: str) -> str:
        return scope_of(nodeid)

    def _assign_work_unit(self, node: Any) -> None:
        longest = max(self.workqueue, key=lambda scope: seconds(scope, len(self.workqueue[scope])))
        self.workqueue.move_to_end(longest, last=False)
        super()._assign_work_unit(node)
