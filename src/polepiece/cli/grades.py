"""``polepiece grades``: every magnet grade in this very pickup."""

from textwrap import wrap
from typing import TYPE_CHECKING, Annotated, Any

import typer

from polepiece.cli.console import console, show_assumed, signed, table
from polepiece.cli.curve_file import CurveFile, check_curve, write_responses
from polepiece.cli.envelope import assumed_of, emit, envelope, pickup_of
from polepiece.cli.lines import parse_charge
from polepiece.cli.options import Assumed, Draws, Ears, GuitarFile, Json, OutReport, PickupName, Position, Replace, Seed
from polepiece.cli.own_ear import ear_body, own_ear
from polepiece.cli.progress import working
from polepiece.cli.second import second_process
from polepiece.cli.sheets import check_report, printed, say_written, write_report
from polepiece.cli.which_guitar import guitar_called
from polepiece.draw_counts import DRAWS

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table

    from polepiece.bench import GradeResult, Grades
    from polepiece.trade import JudgedCell

NAME = "grades"
BANDS = ("lows", "mids", "highs", "presence")
BESIDE = (
    "Bands are against the level; in brackets the 90 % interval. Under about 1 dB a difference is smaller "
    "than one pick stroke to the next."
)


def command(
    file: GuitarFile,
    pickup_name: PickupName = None,
    position: Position = None,
    charge: Annotated[
        str | None,
        typer.Option(
            "--charge", help="How the other bars are charged: outside, in-place, or a fraction. As the bar in."
        ),
    ] = None,
    ear: Ears = None,
    out: OutReport = None,
    curve: CurveFile = None,
    replace: Replace = False,
    draws: Draws = DRAWS,
    seed: Seed = 0,
    assumed: Assumed = False,
    json: Json = False,
) -> None:
    """Every magnet grade in this pickup at the same gap, against the bar that is in; beside it what the trade says.

    Example: polepiece grades guitar.toml --pickup neck --charge in-place
    """
    with second_process() as executor, own_ear(ear) as heard:  # started first: it imports meanwhile
        from polepiece.bench import Bench, compare_grades
        from polepiece.guitar import heard_position
        from polepiece.trade import trade_verdicts

        wanted = parse_charge(charge)
        if out is not None:
            check_report(out, file, replace=replace)
        check_curve(curve, [file], replace=replace)
        guitar = guitar_called(file)
        pickup = pickup_of(guitar, pickup_name)
        position = heard_position(guitar, pickup.name, position).name
        bench = Bench(seed=seed, executor=executor)
        with working("computing grades") as progress:
            found = compare_grades(
                guitar,
                pickup.name,
                charge=wanted,
                position=position,
                seed=seed,
                draws=draws,
                bench=bench,
                progress=progress,
            )
            judged = trade_verdicts(guitar, found, draws=draws, bench=bench)
        if curve is not None:
            write_responses(curve, {"as it is": found.before} | {one.grade: one.state for one in found.results})
        stay = pickup.built.magnets_stay
        by_ear = [heard.words] if heard is not None else []
        note = None if stay is None else f"Computed, not offered: {stay.reason}."
        if out is not None:
            notes = [] if note is None else [note]
            unit = " dB" if out.lower().endswith(".csv") else ""  # on paper the title has it, and heads are narrow
            shown: list[Table | str] = [grades_table(found, unit=unit), BESIDE, *notes, trade_table(found, judged)]
            write_report(out, printed(f"{guitar.name}: grades in the {found.pickup}", [told(found), *by_ear], shown))
        if json:
            body = as_body(found, judged) | {"position_name": position, "note": note} | ear_body(heard)
            emit(envelope(NAME, guitar, body, seed=seed, pickups=[pickup]))
            return
        for one in (out, curve):
            if one is not None:
                say_written(one)
        if out is not None:
            return
        screen = console()
        show(screen, found)
        for line in by_ear:
            screen.print(line, soft_wrap=True, markup=False)
        if position != pickup.name:
            screen.print(f"Heard in the position {position}.", markup=False)
        if note is not None:
            screen.print(note, soft_wrap=True)
        show_trade(screen, found, judged)
        show_assumed(screen, assumed_of(guitar, [pickup]), guitar=guitar, everything=assumed)


def as_body(found: "Grades", judged: "tuple[JudgedCell, ...]") -> dict[str, Any]:
    """Return grades as the JSON shape."""
    from polepiece.bench import nested
    from polepiece.trade import trade_body

    keys = ("level_db", *(f"bands_db.{band}" for band in BANDS), "resonance_hz", "resonance_db", "inductance_120hz_h")
    rows = []
    for one in found.results:
        flat = {key: one.difference[key] for key in keys if key in one.difference}
        body: dict[str, Any] = {"grade": one.grade, "resonance_hz": None, "resonance_db": None} | nested(flat)
        body["interval"] = {key: one.interval[key] for key in keys if key in one.interval}
        body["state"] = {
            "level_db": one.state.level_db, "resonance_hz": one.state.resonance_hz,
            "resonance_db": one.state.resonance_db, "inductance_120hz_h": one.state.inductance_120hz_h,
        }  # fmt: skip
        body["trade"] = trade_body(one.grade, judged)
        rows.append(body)
    return {
        "told": told(found),
        "pickup": found.pickup,
        "in_place_of": found.present,
        "charge": found.charge,
        "grades": rows,
    }


def told(found: "Grades") -> str:
    """Return the sentence that comes first: the loudest and quietest bar, what else moves most, and whether heard."""
    from polepiece.bench import HEARD_WORDS, QUANTITIES, heard_scale, loudest, span_words, threshold_of
    from polepiece.guitar import grade_words
    from polepiece.moves import pickup_words

    others = [one for one in found.results if one.grade != found.present]
    if not others:
        return ""

    def said(one: "GradeResult", key: str) -> str:
        number = QUANTITIES[key].number
        words = QUANTITIES[key].moved_words(one.difference[number]) + span_words(one.interval.get(number))
        return f"{grade_words(one.grade)}, {words}"

    ranked = sorted(others, key=lambda one: one.difference["level_db"])
    beside = [(one, loudest(one.difference, BANDS)) for one in others]
    sizes = [abs(one.difference[QUANTITIES[key].number]) if key else 0.0 for one, key in beside]
    most, key = beside[sizes.index(max(sizes))]
    tone = ""
    if key is not None:
        heard = HEARD_WORDS[heard_scale(max(sizes) / threshold_of(key))]
        tone = f" Beside the level the most is with {said(most, key)}: {heard}."
    return (
        f"In the {pickup_words(found.pickup)} at the same gap, against the {grade_words(found.present)} that is in: "
        f"at the loud end {said(ranked[-1], 'level')}; at the quiet end {said(ranked[0], 'level')}.{tone}"
    )


def show(screen: "Console", found: "Grades") -> None:
    """Print what is told, and the table of grades."""
    screen.print("\n".join(wrap(told(found), 80)), markup=False, soft_wrap=True)
    screen.print(grades_table(found))
    screen.print(BESIDE)


def grades_table(found: "Grades", *, unit: str = "") -> "Table":
    """Return the table of grades; ``unit`` stands in the heads of its differences."""
    rows = []
    for one in found.results:
        d, i = one.difference, one.interval
        bands = [signed(d[f"bands_db.{b}"], i.get(f"bands_db.{b}")) for b in BANDS]
        peak = "-" if one.state.resonance_hz is None else f"{one.state.resonance_hz:.0f}"
        rows.append(
            [
                one.grade + (" (in)" if one.grade == found.present else ""),
                signed(d["level_db"], i.get("level_db")),
                *bands,
                peak,
            ]
        )
    charge = f"{found.charge:.0%} charged" if isinstance(found.charge, float) else f"charged {found.charge}"
    title = f"Grades in {found.pickup}, {charge}, same gap, dB against the {found.present} that is in"
    heads = ("bar", f"level{unit}", *(f"{one}{unit}" for one in BANDS), "peak Hz")
    return table(title, heads, rows)


def show_trade(screen: "Console", found: "Grades", judged: "tuple[JudgedCell, ...]") -> None:
    """Print what the trade says beside what was found."""
    from rich.padding import Padding
    from rich.text import Text

    from polepiece.trade import trade_body

    bodies = [trade_body(one.grade, judged) for one in found.results]
    note = next((one["note"] for one in reversed(bodies) if one is not None), "")
    screen.print(trade_table(found, judged))
    screen.print(Padding(Text(f"Common practice, no source. {note}"), (0, 0, 1, 2), expand=False))


def trade_table(found: "Grades", judged: "tuple[JudgedCell, ...]") -> "Table":
    """Return what the trade says beside what was found."""
    from polepiece.trade import trade_body

    rows = []
    for one in found.results:
        body: dict[str, Any] | None = trade_body(one.grade, judged)
        if body is None:
            continue
        cells = []
        for column in ("level", "lows", "mids", "highs"):
            cells.append("-" if body[column] is None else f"{body[column]} [{body['verdicts'][column]}]")
        rows.append([one.grade, *cells])
    heads = ("bar", "level", "lows", "mids", "highs")
    title = "What the trade says of a stock full-size humbucker [and what these numbers say of that]"
    return table(title, heads, rows, left=len(heads))
