"""Markup in everything that others write, in what the server sends: text where text is meant, on every page.

The browser's side is tried in `test_hostile_browser`; here is what comes of imported rows (CSV, XLSX), benches,
customers, quotes, captions of photos: no element of it, and no place that takes HTML gets it as it came.
"""

import io
from collections.abc import AsyncIterator
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import httpx
import openpyxl
import pytest
from nicegui import Client, core, ui

from polepiece.app.pages import PAGES
from polepiece.app.server import shared
from polepiece.evidence import tabled
from polepiece.guitar import read_guitar
from polepiece.measure import Claim, Entry, Ledger, grid_of, read_table
from polepiece.notebook import Part, Rate, export_notebook, import_archive, keep_columns, keep_photo, open_notebook
from polepiece.report import ledger_page
from tests.app.conftest import DEMO, application

SCRIPT = "<script>document.title='got'</script>"
IMAGE = "\"><img src=x onerror=alert('got')>"
HOSTILE = f"{SCRIPT}{IMAGE}{{{{7*7}}}}"
PNG = b"\x89PNG\r\n\x1a\n"


def hostile_book(path: Path) -> None:
    """Make a notebook in which all that a person can write is markup; it came as an archive, as others' do."""
    guitar = read_guitar(DEMO)
    pickups = tuple(replace(one, name=f"{one.position} {HOSTILE}") for one in guitar.pickups)
    made = path.with_name("made.sqlite")
    with open_notebook(made) as book:
        entry = book.add_guitar(replace(guitar, name=HOSTILE, pickups=pickups, complaints=()), why=HOSTILE)
        part = book.add_part(Part(kind="bar", grade=HOSTILE, label=HOSTILE, note=HOSTILE))
        book.count_part(part.id, 3, HOSTILE)
        job = book.open_job(entry.id, HOSTILE, customer=HOSTILE, number=HOSTILE[:40])
        book.set_status(job.id, HOSTILE)
        book.write_note(entry.id, HOSTILE, sort="measurement", body={HOSTILE: HOSTILE})
        keep_photo(book, PNG, label=HOSTILE, guitar_id=entry.id, job_id=job.id)
        export_notebook(book, path.with_name("all.zip"))
    with open_notebook(path) as book:
        import_archive(book, path.with_name("all.zip"))
        job = book.jobs()[0]
        priced = book.add_part(Part(kind="other", label=HOSTILE, price=read_price("5"), currency="EUR"))
        book.quote(job.id, parts=[priced.id], minutes=0)
        book.add_customer(HOSTILE, agreed=HOSTILE, contact=HOSTILE)
        keep_columns(book, {HOSTILE.lower(): "not used"})
        book.set_rate(Rate(per_hour=read_price("60"), currency="EUR"))
        book.add_bench(SCRIPT[:40])


def read_price(text: str) -> Decimal:
    return Decimal(text)


@pytest.fixture
async def visitor(tmp_path: Path) -> AsyncIterator[httpx.AsyncClient]:
    path = tmp_path / "notebook.sqlite"
    hostile_book(path)
    async with (
        application(path, demo=False),
        httpx.AsyncClient(transport=httpx.ASGITransport(core.app), base_url="http://test") as client,
    ):
        yield client


async def test_no_page_sends_markup_that_others_wrote(visitor: httpx.AsyncClient) -> None:
    """Raw in the page's HTML it would run; in an element that takes HTML it would run once it is drawn."""
    seen = 0
    for one in PAGES:
        before = set(Client.instances)
        found = await visitor.get(one.PAGE.path)
        assert found.status_code == 200, one.PAGE.path
        assert SCRIPT not in found.text, one.PAGE.path
        assert IMAGE not in found.text, one.PAGE.path
        for client in (Client.instances[name] for name in set(Client.instances) - before):
            for element in client.elements.values():
                if isinstance(element, ui.html):
                    assert "<script" not in element.content and "<img" not in element.content, one.PAGE.path
                props = {key: str(value) for key, value in element.props.items()}
                assert not any(key.startswith("v-") or key == "innerHTML" for key in props if HOSTILE in props[key])
                seen += (HOSTILE in str(getattr(element, "text", ""))) + any(HOSTILE in one for one in props.values())
    assert seen > 20  # it was there, as text
    (photo,) = [name for name in (shared.room().notebook.path.parent / "notebook.sqlite-photos").iterdir()]
    served = await visitor.get(f"/photo/{photo.name}")
    assert served.headers["content-type"] == "image/png"


def rows_as(kind: str) -> tuple[bytes, str]:
    """Return a meter's table with markup in its heads, its cells and its name."""
    rows = [["side", "DCR [kohm]", SCRIPT, IMAGE.replace('"', "")], ["before", "7.9", IMAGE.replace('"', ""), SCRIPT]]
    if kind == "csv":
        return "\n".join(";".join(row) for row in rows).encode(), f"{SCRIPT}.csv"
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)  # type: ignore[union-attr]
    out = io.BytesIO()
    book.save(out)
    return out.getvalue(), f"{SCRIPT}.xlsx"


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
def test_an_imported_row_is_text_in_the_ledger_that_is_printed(kind: str) -> None:
    data, name = rows_as(kind)
    found = tabled(read_table(grid_of(data, name), {}).of(None, "before"))
    assert SCRIPT in found.notes[0]
    claim = Claim(value=1.0, low=0.9, high=1.1, source=HOSTILE)
    ledger = Ledger(
        guitar=HOSTILE, pickup=HOSTILE, change=(HOSTILE,), date="2026-11-30", notes=found.notes,
        entries=(Entry(key="x", words=HOSTILE, unit="ohm", of="difference", computed=claim, note=HOSTILE),),
        provenance={"version": "1", "constants": SCRIPT, "seed": 0, "draws": 8, "files": {name: "0" * 64}},
    )  # fmt: skip
    page = ledger_page(ledger)
    assert "document.title" in page
    assert SCRIPT not in page and "<img src=x" not in page
