"""A stranger finds every file: the page that lists them is made of what they say of themselves."""

import runpy
from pathlib import Path

PAGE = runpy.run_path(str(Path(__file__).parents[2] / "scripts" / "write_files_page.py"))


def test_the_list_of_files_is_as_the_files_are() -> None:
    assert PAGE["PAGE"].read_text("utf-8") == PAGE["page"](), "run scripts/write_files_page.py"
