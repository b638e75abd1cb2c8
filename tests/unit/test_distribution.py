"""How `pytest -n` hands out the tests: pages to one worker, every other file as a whole, long ones first."""

from pathlib import Path

from tests.distribution import BROWSERS, LONG, PAGES, FilesLongestFirst, scope_of, seconds

ROOT = Path(__file__).parents[2]


def test_what_is_named_is_there_and_every_file_that_opens_a_browser_is_named() -> None:
    for name in (*BROWSERS, *LONG):
        assert (ROOT / name).is_file(), name
    opening = ("browser: Any", "web: Tab", "chromium.launch(")
    found = {
        path.relative_to(ROOT).as_posix()
        for path in (ROOT / "tests" / "app").glob("test_*.py")
        if any(word in path.read_text("utf-8") for word in opening)
    }
    assert found == set(BROWSERS)


def test_pages_share_a_worker_and_files_stay_whole() -> None:
    assert {scope_of(f"{one}::test_it[1]") for one in BROWSERS} == {PAGES}
    assert scope_of("tests/unit/test_kept.py::TestIt::test_it[a::b]") == "tests/unit/test_kept.py"
    assert FilesLongestFirst._split_scope is not FilesLongestFirst.__mro__[1]._split_scope


def test_the_longest_come_first() -> None:
    scopes = {
        PAGES: 50,
        "tests/trade/test_cures.py": 7,
        "tests/app/test_guitar_page.py": 14,
        "tests/unit/test_kept.py": 7,
    }
    assert sorted(scopes, key=lambda one: -seconds(one, scopes[one])) == list(scopes)
