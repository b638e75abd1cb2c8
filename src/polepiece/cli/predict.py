"""``polepiece predict``: one change, both states and the difference."""

from dataclasses import asdict
from textwrap import wrap
from typing import TYPE_CHECKING, Any

from polepiece.cli.console import console, show_assumed, signed, table
from polepiece.cli.curve_file import CurveFile, check_curve, write_responses
from polepiece.cli.envelope import assumed_of, emit, envelope, pickup_of
from polepiece.cli.options import (
    Assumed,
    Changes,
    Draws,
    Ears,
    GuitarFile,
    Json,
    OutReport,
    PickupName,
    Position,
    Replace,
    Seed,
)
from polepiece.cli.own_ear import ear_body, own_ear
from polepiece.cli.progress import working
from polepiece.cli.sheets import check_report, printed, say_written, write_report
from polepiece.cli.trade_lines import found_words, trade_body, trade_lines, trade_sheet
from polepiece.cli.which_guitar import guitar_called
from polepiece.draw_counts import DRAWS
from polepiece.shown_number import plain_signed

if TYPE_CHECKING:
    from polepiece.bench import Ear, Prediction, State
    from polepiece.guitar import Guitar

NAME = "predict"
OF_ITS_COILS = ("dc_resistance_ohm", "inductance_120hz_h", "inductance_1khz_h")  # of the chosen pickup by itself
ASK_CHECK = "What to measure first was not asked yet: polepiece check {file} finds it, and keeps it for here."
LEAST_MOVE = 0.05  # mm: less is printed as 0.0
NO_INTERVAL = "not every draw has this number: in some the resonance has no peak, or none with a width"


def command(
    file: GuitarFile,
    change: Changes,
    pickup_name: PickupName = None,
    position: Position = None,
    ear: Ears = None,
    out: OutReport = None,
    curve: CurveFile = None,
    replace: Replace = False,
    draws: Draws = DRAWS,
    seed: Seed = 0,
    assumed: Assumed = False,
    json: Json = False,
) -> None:
    """What a change does: before, after, the difference, and again with the gap re-set to the old level.

    Moves: magnet=alnico-3, charge=in-place, lower=0.5mm, raise_treble=0.3mm, tilt=treble up 0.3mm, screw3=up 0.5 turn,
    volume_pot=250k, tone_cap=22nF, cover=off, strings=11-49 and more; nothing whose sign could be read both ways.

    Example: polepiece predict guitar.toml --pickup neck --change magnet=alnico-3 --change lower=0.3mm
    """
    from polepiece.bench import Bench, known_hangs_on, measure_first_words, predict
    from polepiece.guitar import heard_position
    from polepiece.moves import parse_changes

    with own_ear(ear) as heard:
        changes = parse_changes(change)
        if out is not None:
            check_report(out, file, replace=replace)
        check_curve(curve, [file], replace=replace)
        guitar = guitar_called(file)
        pickup = pickup_of(guitar, pickup_name)
        position = heard_position(guitar, pickup.name, position).name
        bench = Bench(seed=seed)
        with working("predicting"):
            found = predict(guitar, pickup.name, changes, position=position, seed=seed, draws=draws, bench=bench)
        hung = known_hangs_on(guitar, pickup.name)
        words, why_not = found_words(guitar, pickup.name, changes, position=position, bench=bench)
        if curve is not None:
            old_level = (
                {} if found.after_at_old_level is None else {"after, at the old level": found.after_at_old_level}
            )
            write_responses(curve, {"before": found.before, "after": found.after} | old_level)
        if out is not None:
            shown = [*trade_sheet(words, why_not), *_tables(guitar, found)]
            write_report(out, printed(f"{guitar.name}: {found.pickup}", [_said(guitar, found, heard)], shown))
        if json:
            first = None if hung is None else [asdict(one) for one in hung.first]
            body = as_body(guitar, found) | {"trade_words": trade_body(words), "measure_first": first} | ear_body(heard)
            emit(envelope(NAME, guitar, body, seed=seed, pickups=[pickup]))
            return
        for one in (out, curve):
            if one is not None:
                say_written(one)
        if out is not None:
            return
        screen = console()
        screen.print("\n".join(wrap(_said(guitar, found, heard), 80)), markup=False, soft_wrap=True)
        screen.print("\n".join(["", *trade_lines(words, why_not), ""]), markup=False, soft_wrap=True)
        for one in _tables(guitar, found):
            screen.print(one)
        first_words = ASK_CHECK.format(file=file) if hung is None else measure_first_words(hung)
        screen.print(first_words, markup=False, soft_wrap=True)
        show_assumed(screen, assumed_of(guitar, [pickup]), guitar=guitar, everything=assumed)


def _said(guitar: "Guitar", found: "Prediction", ear: "Ear | None") -> str:
    """Return the sentence, and by whose ear it says what is heard."""
    return f"{told(guitar, found)} {ear.words if ear is not None else ''}".strip()


def told(guitar: "Guitar", found: "Prediction") -> str:
    """Return the sentence that comes first: what is done, how loud it is, what else moves, and whether it is heard."""
    from polepiece.bench import difference_words
    from polepiece.moves import apply, hand_words

    after = apply(guitar, found.pickup, found.changes, allow_rods=True)
    done = hand_words(guitar, after, found.pickup, found.changes).full
    words = [f"{done[:1].upper()}{done[1:]}: {difference_words(found.difference, found.interval)}."]
    heights = all(one.kind in ("height", "screws") for one in found.changes)  # then the old level is the old height
    if not heights and found.difference_at_old_level is not None and (move := regap(guitar, found)) is not None:
        way = "down" if move["direction"] == "lower" else "up"
        again = difference_words(found.difference_at_old_level, {})
        moved = f"the pickup {move['distance_mm']:.1f} mm {way} besides"
        words.append(f"With {moved if move['distance_mm'] >= 0.05 else 'its height as it is'}: {again}.")
    return " ".join(words)


def as_body(guitar: "Guitar", found: "Prediction") -> dict[str, Any]:
    """Return a prediction as the JSON shape."""
    from polepiece.bench import as_json

    before, after = as_json(found.before), as_json(found.after)
    before["balance_with_db"] = {name: pair[0] for name, pair in found.balance_with.items()}
    after["balance_with_db"] = {name: pair[1] for name, pair in found.balance_with.items()}
    balance = {name: pair[1] - pair[0] for name, pair in found.balance_with.items()}
    body: dict[str, Any] = {
        "pickup": found.pickup,
        "position": list(found.heard),
        "position_name": found.position,
        "positions_moved": list(found.moved),
        "change": [one.text for one in found.changes],
        "before": before,
        "after": after,
        "difference": _difference(found.difference, found.before, found.after) | {"balance_with_db": balance},
        "both_on": {other: _both_on(*pair) for other, pair in found.both_on.items()},
        "difference_at_old_level": None,
        "regap": None,
        "interval": found.interval,
        "told": told(guitar, found),
        "interval_not_computed": {key: NO_INTERVAL for key in found.difference if key not in found.interval},
    }
    if found.difference_at_old_level is not None and found.after_at_old_level is not None:
        body["difference_at_old_level"] = _difference(
            found.difference_at_old_level, found.before, found.after_at_old_level
        ) | {"balance_with_db": _balance_at(found, found.after_at_old_level)}
        body["regap"] = regap(guitar, found)
    return body


def _both_on(before: "State", after: "State") -> dict[str, Any]:
    """Return what both pickups on together do, before and after: leads joined, one set of controls behind them."""
    states = {
        name: {
            "level_db": one.level_db,
            "resonance_hz": one.resonance_hz,
            "in_phase": one.in_phase,
            "hum_cancelling": one.hum_cancelling,
        }
        for name, one in (("before", before), ("after", after))
    }
    return states | {"difference": {"level_db": after.level_db - before.level_db}}


def _balance_at(found: "Prediction", again: "State") -> dict[str, float]:
    """Return the change of the level against each other pickup once the gap is re-set."""
    regained = again.level_db - found.after.level_db
    return {name: now - was + regained for name, (was, now) in found.balance_with.items()}


def _difference(flat: dict[str, float], before: "State", after: "State") -> dict[str, Any]:
    import numpy as np

    from polepiece.bench import nested

    return nested(flat) | {"response_db": np.round(after.response_db - before.response_db, 4)}


def regap(guitar: "Guitar", found: "Prediction") -> dict[str, Any] | None:
    """Return the move that brings the old level back."""
    from polepiece.moves import apply

    if found.lowered is None:
        return None
    pickup = apply(guitar, found.pickup, found.changes).pickup(found.pickup)
    treble, bass = (1e3 * (gap + found.lowered) for gap in (pickup.gap_treble, pickup.gap_bass))
    return {
        "direction": "lower" if found.lowered > 0.0 else "raise",
        "distance_mm": 1e3 * abs(found.lowered),
        "to": f"{treble:.1f} mm treble, {bass:.1f} mm bass",
        "reaches_old_level": abs((found.difference_at_old_level or {}).get("level_db", 0.0)) < 0.1,
    }


_ROWS = (  # key, words ("" as `bench` has them), unit, decimals of the states, factor
    ("level_db", "", "dB", 1, 1.0),
    ("bands_db.lows", "", "dB", 1, 1.0),
    ("bands_db.mids", "", "dB", 1, 1.0),
    ("bands_db.highs", "", "dB", 1, 1.0),
    ("bands_db.presence", "", "dB", 1, 1.0),
    ("wound_minus_plain_db", "", "dB", 1, 1.0),
    ("attack_minus_sustain_db.lows", "", "dB", 1, 1.0),
    ("attack_minus_sustain_db.presence", "", "dB", 1, 1.0),
    ("resonance_hz", "resonance", "Hz", 0, 1.0),
    ("resonance_db", "", "dB", 1, 1.0),
    ("dc_resistance_ohm", "DC resistance", "kohm", 2, 1e-3),
    ("inductance_120hz_h", "inductance, 120 Hz", "H", 2, 1.0),
    ("inductance_1khz_h", "inductance, 1 kHz", "H", 2, 1.0),
)
_STRINGS = (
    ("field_mt", "field mT", 1, 1.0),
    ("string_pull_n", "pull mN", 1, 1e3),
    ("partial_shift_cents", "pitch cents", 1, 1.0),
    ("string_balance_db", "balance dB", 1, 1.0),
    ("h2_db", "2nd harmonic dB", 0, 1.0),
)


def _tables(guitar: "Guitar", found: "Prediction") -> list[Any]:
    from polepiece.bench import number_words
    from polepiece.moves import positions_words

    before, after, again = found.before.numbers(), found.after.numbers(), found.difference_at_old_level or {}
    rows = []
    for key, words, unit, n, factor in _ROWS:
        if key not in found.difference:
            continue
        old = "-" if key not in again else plain_signed(factor * again[key], n)
        span = _interval(found, key, n, factor) if key in found.interval else "not computed"
        cells = (
            f"{factor * before[key]:.{n}f}",
            f"{factor * after[key]:.{n}f}",
            _difference_cell(found, key, n, factor),
        )
        named = _row_words(found, key, words or number_words(key))
        rows.append((f"{named}, {unit}", *cells, span, old))
    moves = ", ".join(one.text for one in found.changes)
    heads = ("", "before", "after", "difference", "90 % interval", "at the old level")
    where = "" if found.position == found.pickup else f", heard in the position {found.position}"
    out: list[Any] = [table(f"{found.pickup}: {moves}{where}", heads, rows)]
    count = sum(key.startswith("field_mt.") for key in before)
    strings = []
    for k in range(1, count + 1):
        cells_k = []
        for key, _, n, factor in _STRINGS:
            one = f"{key}.{k}"
            cells_k.append(
                f"{factor * before[one]:.{n}f} {plain_signed(factor * found.difference[one], n)}"
                if one in before
                else "-"
            )
        strings.append((str(k), *cells_k))
    out.append(table("String by string: before, and what is added", ("string", *(s[1] for s in _STRINGS)), strings))
    move = regap(guitar, found)
    if move is not None:
        out.append(_old_level(move))
    out.append(f"Heard {positions_words(guitar, found.moved)}.")
    for other, (was, now) in found.balance_with.items():
        span = signed(now - was, found.interval[f"balance_with_db.{other}"])
        out.append(f"Level against {other}: {signed(was)} dB before, {signed(now)} dB after, difference {span} dB.")
    wired = _wired_as_usual(guitar, found)
    out += [f"On together with {other}{wired}: {_joined(*pair)}." for other, pair in found.both_on.items()]
    return out


def _old_level(move: dict[str, Any]) -> str:
    """Return what brings the old level back, or comes nearest to it, in a sentence or two."""
    if not move["reaches_old_level"] and move["distance_mm"] < LEAST_MOVE:
        return "Old level: no safe gap reaches it, and none comes nearer to it than this one."
    ends = "" if move["reaches_old_level"] else " (no safe gap reaches the old level)"
    return (
        f"Old level: {move['direction']} the pickup {move['distance_mm']:.1f} mm, gap {move['to']}{ends}. "
        "A swap is judged there, not at the old gap."
    )


def _wired_as_usual(guitar: "Guitar", found: "Prediction") -> str:
    """Return words for coils that are not joined as in the position that is heard, nothing where they are."""
    from polepiece.guitar import heard_position

    heard = heard_position(guitar, found.pickup, found.position)
    return f", wired as usual and not as in {heard.name}" if heard.wirings else ""


def _row_words(found: "Prediction", key: str, words: str) -> str:
    """Return what a row is called: beside numbers of all pickups that are on, whose coils are meant."""
    if key not in OF_ITS_COILS or len(found.heard) == 1:
        return words
    what, comma, rest = words.partition(",")
    return f"{what} of {found.pickup}{comma}{rest}"


def _joined(was: "State", now: "State") -> str:
    """Return phase and hum of two pickups on together, and whether the change moved them."""
    phase = "in phase" if now.in_phase else "out of phase"
    hum = "hum cancels" if now.hum_cancelling else "hum does not cancel"
    moved = (now.in_phase, now.hum_cancelling) != (was.in_phase, was.hum_cancelling)
    return f"{phase}, {hum}{' now' if moved else ', as before'}"


def _interval(found: "Prediction", key: str, n: int, factor: float) -> str:
    low, high = sorted(factor * one for one in found.interval[key])
    return f"{plain_signed(low, n)} to {plain_signed(high, n)}"


def _difference_cell(found: "Prediction", key: str, n: int, factor: float) -> str:
    return plain_signed(factor * found.difference[key], n)
