"""The invented season of the demonstration, put into a notebook: jobs, swaps, ledgers, parts, what is left to do.

``season.json`` is written by `scripts/write_season.py`; nothing in it is a real guitar, customer or reading.
"""

import struct
import zlib
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

FILE = Path(__file__).with_name("season.json")
NAME = "season.sqlite"
FIRST_DAY = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
PARTS: tuple[dict[str, Any], ...] = (
    {"kind": "bar", "grade": "alnico-2", "finish": "polished", "price": Decimal("9.50"), "currency": "EUR"},
    {"kind": "bar", "grade": "alnico-3", "finish": "polished", "price": Decimal("9.50"), "currency": "EUR",
     "gauss": 310.0, "gauss_at": "end face, middle"},
    {"kind": "bar", "grade": "alnico-4", "finish": "polished", "price": Decimal("10.00"), "currency": "EUR"},
    {"kind": "bar", "grade": "alnico-5", "finish": "rough-cast", "price": Decimal("8.00"), "currency": "EUR"},
    {"kind": "bar", "grade": "alnico-8", "finish": "polished", "length_mm": 63.4, "width_mm": 12.6,
     "thickness_mm": 3.15, "price": Decimal("14.00"), "currency": "EUR"},
    {"kind": "bar", "grade": "ceramic-8", "finish": "unknown", "price": Decimal("3.50"), "currency": "EUR"},
    {"kind": "pot", "label": "audio track", "resistance_kohm": 468.0, "price": Decimal("6.20"), "currency": "EUR"},
    {"kind": "capacitor", "capacitance_nf": 21.6, "price": Decimal("1.10"), "currency": "EUR"},
)  # fmt: skip
"""Of an invented drawer; prices too."""


class SeasonClock:
    """A clock that stands in the season and goes on by a minute whenever it is asked."""

    def __init__(self) -> None:
        self.now = FIRST_DAY

    def __call__(self) -> datetime:
        self.now += timedelta(minutes=1)
        return self.now

    def come(self, day: float) -> None:
        """Go on to a day of the season; never back."""
        self.now = max(self.now, FIRST_DAY + timedelta(days=day))


def fill_season(path: Path) -> int:
    """Make a notebook with the whole season in it; return how many jobs there are.

    Raises
    ------
    NotebookError
        When it cannot be written.
    """
    from polepiece.measure import read_record
    from polepiece.notebook import Part, Rate, open_notebook

    body, _ = read_record(FILE, "the season of the demonstration")
    clock = SeasonClock()
    known: dict[str, int] = {}
    with open_notebook(path, clock=clock) as book:
        book.write_note(None, str(body["note"]))
        for one in PARTS:
            book.add_part(Part(**one))
        book.count_part(book.parts()[1].id, 3, "three bars of one kind")
        book.set_rate(Rate(per_hour=Decimal("60.00"), currency="EUR"))
        for number, job in enumerate(body["jobs"], start=1):
            clock.come(float(job["came"]))
            _job(book, job, number, clock, known)
    return len(body["jobs"])


def _job(book: Any, job: Mapping[str, Any], number: int, clock: SeasonClock, known: dict[str, int]) -> None:
    """Live through one job: taken in, chosen, made, measured, closed, as far as it went."""
    from polepiece.guitar import parse_guitar
    from polepiece.moves import plainly

    before, after = (parse_guitar(job[side], "the season") for side in ("before", "after"))
    if job["guitar"] not in known:
        known[job["guitar"]] = book.add_guitar(before, why="came in").id
    guitar = known[job["guitar"]]
    taken = book.open_job(
        guitar, job["said"], job["limits"], customer=f"{job['customer']} (invented)", number=f"S-{number:02d}"
    )
    if job["then"] == "on the bench":
        _on_the_bench(book, job, taken, clock)
        return
    change = "; ".join(job["change"])
    book.choose(taken.id, f"{job['pickup']} {change}")
    clock.come(float(job["came"]) + 1.0)
    here = book.guitar_entry(guitar)
    why = f"{job['pickup']}: {plainly(change)}"
    state = book.record(guitar, after, why=why, expect=here.state_id)
    if job["ledger"] is not None:
        book.keep_ledger(guitar, job["ledger"], state_id=state.id)
        clock.come(float(job["came"]) + 1.2)
    if job["then"] == "undone":
        book.undo(guitar, why="the old bar is back")
    book.close_job(taken.id, job["outcome"])


def _on_the_bench(book: Any, job: Mapping[str, Any], taken: Any, clock: SeasonClock) -> None:
    """Bring the job that is open so far: planned, promised, quoted, listened to, its sheet begun, a photo taken."""
    from polepiece.notebook import keep_photo

    bench = job["bench"]
    customer = book.add_customer(f"{job['customer']} (invented)", agreed="to call when it is ready", contact="+00 000")
    book.job_is_for(taken.id, customer.id)
    book.keep_plan(taken.id, bench["plan"])
    book.choose(taken.id, bench["chosen"])
    book.promise(taken.id, (clock.now + timedelta(days=7)).date())
    book.quote(taken.id)
    clock.come(float(job["came"]) + 1.0)
    keep_photo(book, invented_photo(), label="as it came in (invented)", guitar_id=taken.guitar_id, job_id=taken.id)
    of = bench["trial"]["of"]
    book.write_note(
        taken.guitar_id, f"listening trial, {of['pickup']}, {', '.join(of['changes'])}: over", state_id=taken.state_id,
        sort="trial", body=bench["trial"],
    )  # fmt: skip
    key = {"state": book.state(taken.state_id).uuid, "pickup": job["pickup"], "changes": bench["changes"],
           "job": taken.uuid}  # fmt: skip
    for entry, label, value, number, unit in bench["sheet"]:
        body = {"schema": "polepiece/work-sheet-entry/1", **key, "entry": entry, "value": value}
        body |= {} if number is None else {"number": number, "unit": unit}
        sort = "note" if entry.startswith("head.") else "measurement"
        book.write_note(
            taken.guitar_id, f"{bench['chosen']}: {label}: {value}", state_id=taken.state_id, sort=sort, body=body
        )
    book.set_status(taken.id, "on the bench")


def invented_photo() -> bytes:
    """Return a picture that stands for a photo, and can be taken for none: bars of grey, as PNG (ISO/IEC 15948)."""
    width, height = 240, 160

    def chunk(kind: bytes, data: bytes) -> bytes:
        body = kind + data
        return struct.pack(">I", len(data)) + body + struct.pack(">I", zlib.crc32(body))

    rows = b"".join(b"\0" + bytes(235 - 25 * ((x // 30 + y // 40) % 8) for x in range(width)) for y in range(height))
    head = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)  # eight bits of grey
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(rows)) + chunk(b"IEND", b"")
