"""What is computed for a work sheet, in a process of its own."""

from collections.abc import Callable, Mapping, Sequence

from polepiece.bench import Bench
from polepiece.guitar import Guitar
from polepiece.moves import parse_changes
from polepiece.report import Paper, Part, WorkSheet, work_sheet, worksheet_pdf

Progress = Callable[[int, int, str], None]
Size = tuple[float, float, float]


def make_sheet(
    progress: Progress, guitar: Guitar, pickup: str, changes: Sequence[str], bars: Sequence[str] = (),
    bar_size: "Size | None" = None, heard: "str | None" = None,
) -> WorkSheet:  # fmt: skip
    """Work out a sheet; the same numbers as ``polepiece worksheet`` prints."""
    progress(0, 0, "working out the sheet: readings before and after, gauss, intervals")
    return work_sheet(
        guitar, pickup, parse_changes(changes), bench=Bench(), bars=bars, bar_size=bar_size, position=heard
    )


def make_pdf(progress: Progress, sheet: WorkSheet, paper: Paper, part: Part, filled: Mapping[str, str]) -> bytes:
    """Lay a sheet out as PDF."""
    progress(0, 0, "laying out the PDF")
    return worksheet_pdf(sheet, paper=paper, part=part, filled=filled)
