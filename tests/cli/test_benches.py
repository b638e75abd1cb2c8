"""Benches on the command line: a token is told once, and the log says who wrote."""

from pathlib import Path

import pytest

from polepiece.notebook import TOKEN
from tests.cli.test_notebook_commands import Shop


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    return Shop(tmp_path / "shop.sqlite")


def test_one_is_added_writes_and_is_ended(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    assert "whoever may open it writes in it" in shop.says("bench", "list")
    shop.says("log", "--note", "before")
    assert "bench" not in shop.says("log")
    said = shop.says("bench", "add", "north")
    token = said.partition("its token is ")[2].split()[0]
    assert "no token is shown" in shop.refuses("log", "--note", "x")
    monkeypatch.setenv(TOKEN, token)
    shop.says("log", "--note", "from the north")
    body = shop.object("log")
    assert [one.get("bench") for one in body["lines"]] == [None, None, "north"]
    assert "north" in shop.says("log")
    assert "writes no more: lost" in shop.says("bench", "retire", "north", "--why", "lost")
    assert "was ended" in shop.refuses("log", "--note", "x")
    (bench,) = shop.object("bench", "list")["benches"]
    assert (bench["name"], bench["why"], bench["ended"] is None) == ("north", "lost", False)
    assert "lost" in shop.says("bench", "list")
    assert shop.object("bench", "add", "south")["token"] not in Path(shop.path).read_bytes().decode("latin-1")
