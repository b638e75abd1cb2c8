"""A shop on the command line: rate, promise, quote, due, stock."""

from pathlib import Path

from polepiece.notebook import open_notebook
from tests.cli.conftest import DEMO
from tests.cli.test_notebook_commands import Shop


def test_a_job_from_promise_to_due(tmp_path: Path) -> None:
    shop = Shop(tmp_path / "shop.sqlite")
    shop.says("log", "--keep", DEMO, "--name", "red")
    shop.says("drawer", "add", "pot", "--kohm", "480", "--price", "7,50 EUR")
    with open_notebook(shop.path) as book:
        book.open_job(1, "muddy", number="117")
        book.open_job(1, "thin")
        part = book.parts()[0].id
    assert "No rate is set" in shop.says("shop", "rate")
    assert "an hour of work is 60 EUR" in shop.says("shop", "rate", "60 eur")
    assert "is not a sum" in shop.refuses("shop", "rate", "sixty")
    assert "is promised for 2026-03-09" in shop.says("shop", "promise", "117", "2026-03-09")
    said = shop.says("shop", "quote", "117", "--part", str(part), "--minutes", "45")
    assert "52.50 EUR job 117, in all" in " ".join(said.split())
    body = shop.object("shop", "quote", "2", "--minutes", "10")["job"]
    assert (body["called"], body["quote"]["total"]) == ("2", "10.00")
    said = " ".join(shop.says("shop", "due", "--on", "2026-03-09").split())
    assert "LATE" not in said
    assert said.index("117") < said.index("thin")
    late = shop.run("shop", "due", "--on", "2026-03-10")
    assert late.exit_code == 1
    assert "2026-03-09 LATE" in " ".join(late.stdout.split())
    result = shop.run("shop", "due", "--on", "2026-03-10", "--json")
    assert '"late": true' in result.stdout
    assert "2 there" in shop.says("shop", "stock", str(part), "2")
    assert "1 there" in shop.says("shop", "use", str(part), "--why", "job 117")
    assert shop.object("shop", "use", str(part), "--why", "job 117")["count"] == 0
    assert "none is left" in shop.refuses("shop", "use", str(part), "--why", "job 118")
