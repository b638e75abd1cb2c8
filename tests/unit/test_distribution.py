"""How `pytest -n` hands out the tests: pages to one worker, every other file as a whole, long ones first."""

from pathlib import Path

from tests.distribution import BESIDE, BROWSERS, LONG, MORE_PAGES, PAGES, SECOND, FilesLongestFirst, scope_of, seconds
from tests.processor_time import renewed

ROOT = Path(__file__).parents[2]


def test_what_is_named_is_there_and_every_file_that_opens_a_browser_is_named() -> None:
    for name in (*BROWSERS, *LONG, *BESIDE, *BESIDE.values()):
        assert (ROOT / name).is_file(), name
    opening = ("browser: Any", "web: Tab", "chromium.launch(")
    found = {
        path.relative_to(ROOT).as_posix()
        for path in (ROOT / "tests" / "app").glob("test_*.py")
        if any(word in path.read_text("utf-8") for word in opening)
    }
    assert found == set(BROWSERS)


def test_pages_share_two_workers_and_files_stay_whole() -> None:
    for one in BROWSERS:
        assert scope_of(f"{one}::test_it[1]") == (MORE_PAGES if one in SECOND else PAGES)
    assert set(BROWSERS) > SECOND
    for one, other in BESIDE.items():
        assert scope_of(f"{one}::test_it") == scope_of(f"{other}::test_it") == other
    assert scope_of("tests/unit/test_kept.py::TestIt::test_it[a::b]") == "tests/unit/test_kept.py"
    assert FilesLongestFirst._split_scope is not FilesLongestFirst.__mro__[1]._split_scope


def test_seconds_are_renewed_by_the_files_that_were_run() -> None:
    before = {"tests/trade/test_cures.py": 40.0, "tests/unit/test_kept.py": 9.0, "tests/unit/test_gone.py": 8.0}
    found = renewed(before, {"tests/unit/test_kept.py": 0.4, "tests/cli/test_demo.py": 51.7})
    assert list(found.items()) == [("tests/cli/test_demo.py", 52.0), ("tests/trade/test_cures.py", 40.0)]


def test_the_longest_come_first() -> None:
    scopes = {
        PAGES: 50,
        MORE_PAGES: 40,
        "tests/trade/test_cures.py": 7,
        "tests/app/test_guitar_page.py": 14,
        "tests/unit/test_kept.py": 7,
    }
    assert sorted(scopes, key=lambda one: -seconds(one, scopes[one])) == list(scopes)
