"""Customers on the command line: on record, for a job, erased with a word about the copies."""

from pathlib import Path

from polepiece.notebook import backup_to, open_notebook
from polepiece.notebook.backups import folder_of
from tests.cli.conftest import DEMO
from tests.cli.test_notebook_commands import Shop


def test_on_record_for_a_job_and_erased(tmp_path: Path) -> None:
    shop = Shop(tmp_path / "shop.sqlite")
    shop.says("log", "--keep", DEMO, "--name", "117")
    with open_notebook(shop.path) as book:
        job = book.open_job(1, "muddy").id
    said = shop.says("customer", "add", "N. Invented", "--agreed", "to call when ready", "--contact", "x@y",
                     "--on", "2026-02-01")  # fmt: skip
    assert "is on record: to call when ready, 2026-02-01" in said
    number = shop.object("customer", "list")["customers"][0]["id"]
    assert "is for customer" in shop.says("customer", "job", str(number), "1")
    (body,) = shop.object("customer", "list")["customers"]
    assert (body["name"], body["contact"], body["jobs"]) == ("N. Invented", "x@y", [job])
    assert "N. Invented" in shop.says("customer", "list")
    folder_of(shop.path).mkdir()
    backup_to(shop.path, folder_of(shop.path) / "2026-03-03.sqlite")
    said = shop.says("customer", "erase", str(number), "--why", "asked for it")
    assert "2026-03-03.sqlite" in said
    assert "Invented" not in shop.says("customer", "list")
    assert "erased: asked for it" in shop.says("customer", "list")
    assert "is not a date" in shop.refuses("customer", "add", "x", "--agreed", "y", "--on", "tomorrow")
