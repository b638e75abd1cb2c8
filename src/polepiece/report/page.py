"""The report on one pickup: everything a bench and its customer ask, in one HTML file."""

import base64
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from polepiece import __version__
from polepiece.auditioning import Audition
from polepiece.bench import QUANTITIES, Grades, State
from polepiece.guitar import Guitar, assumed_words
from polepiece.materials import MagnetMaterial, catalogue, constants_hash
from polepiece.planning import ONLY_FITTED, Plan, Row, answer_of, answer_row
from polepiece.report import curves, words
from polepiece.report.cautions import CAUTIONS, DEFER, PLAYBACK
from polepiece.report.drawing import pickup_drawing
from polepiece.shown_number import minus_in_words, signed
from polepiece.sound import to_bytes
from polepiece.trade import JudgedCell, trade_body

BANDS = ("lows", "mids", "highs", "presence")
STRENGTH = {1: "slight", 2: "clear", 3: "strong"}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Case:
    """One change to look at and listen to: its state and its sounds."""

    name: str  # "1: lower_bass=1mm"
    state: State
    audition: Audition | None = None


def guitar_report(
    guitar: Guitar,
    pickup: str,
    *,
    before: State,
    plan: Plan | None = None,
    cases: Sequence[Case] = (),
    grades: Grades | None = None,
    judged: tuple[JudgedCell, ...] = (),
    seed: int = 0,
) -> str:
    """Return a self-contained HTML page.

    Parameters
    ----------
    guitar : Guitar
    pickup : str
        The pickup that is drawn.
    before : State
        Of that pickup as it is.
    plan : Plan, optional
    cases : sequence of Case
        What curves and players show beside ``before``.
    grades, judged : optional
        Of `compare_grades` and `trade_verdicts`.
    seed : int
        With which everything was computed.
    """
    the_pickup = guitar.pickup(pickup)
    side, top, described = pickup_drawing(guitar, the_pickup.name)
    page = _environment().get_template("report.html.j2")
    return page.render(
        guitar=guitar, pickup=the_pickup, version=__version__, constants=constants_hash(), seed=seed,
        complaints=_complaints(guitar, plan), side=Markup(side), top=Markup(top), described=described,
        plan=plan, only_fitted=ONLY_FITTED, answer=[] if plan is None else _answer(plan),
        rows=[] if plan is None else [_row(row) for row in plan.rows], figures=_figures(before, cases),
        players=_players(cases), grades=grades, grade_rows=_grade_rows(grades, judged), trade_note=_trade_note(grades),
        readings=_readings(before), assumed=_assumed(guitar), sources=_sources(guitar, grades), cautions=CAUTIONS,
        defer=DEFER, playback=PLAYBACK,
    )  # fmt: skip


def _environment() -> Environment:
    loader = FileSystemLoader(Path(__file__).with_name("templates"))
    return Environment(loader=loader, autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)


def _complaints(guitar: Guitar, plan: Plan | None) -> list[str]:
    told = guitar.complaints if plan is None else plan.complaints
    return [f"{one.pickup or 'guitar'}: {one.word} ({STRENGTH.get(one.strength, one.strength)})" for one in told]


# ------------------------------------------------------------------------------------------------ plan


def _row(row: Row) -> dict[str, Any]:
    """Return one row of the plan in words."""
    said = answer_row(row)
    level, at_gap = row.effect.get("level_db", 0.0), row.interval.get("level_db")
    kinds = [name for name, true in (("free", row.free), ("reversible", row.reversible)) if true and row.change]
    return {
        "rank": row.rank, "change": row.change, "do": said.do, "get": minus_in_words(said.get),
        "to": row.to, "pickup": row.pickup, "kinds": kinds,
        "better": _names(row.better), "worse": said.worse, "strings": ", ".join(str(one) for one in row.strings),
        "level": signed(level), "level_span": words.spread(at_gap), "heard": said.heard,
        "threshold": f"{row.threshold:g} {row.threshold_unit}", "threshold_source": row.threshold_source,
        "cost": row.cost, "minutes": row.minutes, "way_back": row.way_back, "risk": row.risk, "fit": row.fit,
        "why": row.why, "hangs_on": assumed_words(row.hangs_on or ""),
        "settle": row.settle, "bands": _bands(row),
        "positions": [minus_in_words(one.words) for one in row.other_positions],
    }  # fmt: skip


def _answer(plan: Plan) -> list[str]:
    """Return the sentences that come first."""
    answer = answer_of(plan)
    return [minus_in_words(one) for one in (answer.start, answer.bars, *answer.parted, answer.order) if one]


def _bands(row: Row) -> str:
    effect = row.effect_at_old_level or row.effect
    parts = [(band, effect.get(f"bands_db.{band}", 0.0)) for band in BANDS]
    moved = [f"{band} {signed(value)}" for band, value in parts if abs(value) >= 0.05]
    wound = effect.get("wound_minus_plain_db")
    if wound is not None and abs(wound) >= 0.05:
        moved.append(f"wound against plain {signed(wound)}")
    return ", ".join(moved)


def _names(keys: Iterable[str]) -> str:
    return ", ".join(QUANTITIES[key].words.partition(" (")[0] for key in keys)


# ---------------------------------------------------------------------------------------------- curves


def _figures(before: State, cases: Sequence[Case]) -> list[dict[str, Any]]:
    shown = cases[: curves.MOST_CURVES]
    as_it_is = curves.Curve(name="as it is", frequency=before.frequency_hz, level_db=before.response_db)
    whole = [
        as_it_is,
        *(curves.Curve(name=c.name, frequency=c.state.frequency_hz, level_db=c.state.response_db) for c in shown),
    ]
    apart = [curves.Curve(name="as it is", frequency=before.frequency_hz, level_db=np.zeros_like(before.response_db))]
    for case in shown:
        difference = case.state.response_db - before.response_db
        apart.append(curves.Curve(name=case.name, frequency=before.frequency_hz, level_db=difference))
    figures = [_figure("response", whole, "String to amplifier", "dB re 1 V s/m", 20.0)]
    if shown:
        figures.append(_figure("difference", apart, "Difference to what is there now, each as its row says", "dB", 4.0))
    return figures


def _figure(name: str, lines: Sequence[curves.Curve], title: str, unit: str, span: float) -> dict[str, Any]:
    return {
        "id": name, "title": title, "csv": curves.curves_csv(lines), "file": f"{name}.csv",
        "chart": Markup(curves.chart(lines, title=title, unit=unit, span=span)),
        "legend": [(Markup(curves.sample(k)), one.name) for k, one in enumerate(lines)],
    }  # fmt: skip


def _readings(before: State) -> list[tuple[str, str, str]]:
    """Return what a meter should say of the pickup as it is, for a first check."""
    out = [
        ("DC resistance at 20 °C", f"{before.dc_resistance_ohm / 1e3:.1f} kΩ", "ohmmeter, off the pots"),
        ("inductance at 120 Hz", f"{before.inductance_120hz_h:.1f} H", "meter set to 120 Hz, nothing connected"),
        ("inductance at 1 kHz", f"{before.inductance_1khz_h:.1f} H", "meter set to 1 kHz, nothing connected"),
    ]
    if before.resonance_hz is not None and before.resonance_db is not None:
        peak = f"{before.resonance_hz / 1e3:.1f} kHz, {signed(before.resonance_db)} dB"
        out.append(("loaded resonance", peak, "with the pots, cable and input of this file"))
    return out


# ---------------------------------------------------------------------------------------------- sounds


def _players(cases: Sequence[Case]) -> list[dict[str, Any]]:
    """Return the sounds, all at the loudness of the quietest alignment: one "as it is" and one for each case."""
    heard = [(case, case.audition) for case in cases if case.audition is not None]
    if not heard:
        return []
    common = min(sound.alignment.aligned_lufs for _, sound in heard)
    first = heard[0][1]
    out = [{"name": "as it is", "note": _played(first), "src": _embedded(first.before, first, common)}]
    for case, sound in heard:
        difference = sound.alignment.level_difference_db
        note = f"{_really(difference)}; brought to the same loudness here"
        out.append({"name": case.name, "note": note, "src": _embedded(sound.after, sound, common)})
    return out


def _really(difference: float) -> str:
    if abs(difference) < 0.05:
        return "really as loud, within 0.05 dB"
    return f"really {abs(difference):.1f} dB {'louder' if difference > 0.0 else 'quieter'}"


def _played(sound: Audition) -> str:
    made = "computed" if sound.source == "rendered" else "your recording"
    return f"{sound.phrase}, {made}{f', {sound.chain} chain' if sound.chain else ''}"


def _embedded(samples: Any, sound: Audition, lufs: float) -> str:
    gain = 10.0 ** ((lufs - sound.alignment.aligned_lufs) / 20.0)
    data = to_bytes(gain * samples, sound.sample_rate, container="FLAC", subtype="PCM_16")
    return "data:audio/flac;base64," + base64.b64encode(data).decode("ascii")


# ---------------------------------------------------------------------------------------------- grades


def _grade_rows(grades: Grades | None, judged: tuple[JudgedCell, ...]) -> list[dict[str, Any]]:
    out = []
    for one in () if grades is None else grades.results:
        keys = {"level": "level_db", **{band: f"bands_db.{band}" for band in BANDS}}
        cells = {}
        for name, key in keys.items():
            interval = one.interval.get(key)
            cells[name] = (signed(one.difference[key]), words.spread(interval))
        peak = "" if one.state.resonance_hz is None else f"{one.state.resonance_hz / 1e3:.2f} kHz"
        out.append(
            {
                "grade": one.grade, "present": grades is not None and one.grade == grades.present, "cells": cells,
                "peak": peak, "trade": _sayings(trade_body(one.grade, judged)),
            }
        )  # fmt: skip
    return out


def _sayings(body: "dict[str, Any] | None") -> list[dict[str, str]]:
    if body is None:
        return []
    out = []
    for column in ("level", "lows", "mids", "highs", "where"):
        if body[column] is None:
            continue
        verdict = body["verdicts"][column]
        reason = body["why_not"].get(column, "") if verdict == "not computed" else ""
        out.append(
            {
                "column": column,
                "says": body[column],
                "strength": body["strengths"][column],
                "verdict": verdict,
                "reason": reason,
            }
        )
    return out


def _trade_note(grades: Grades | None) -> str:
    for one in () if grades is None else grades.results:
        body: dict[str, Any] | None = trade_body(one.grade, ())
        if body is not None:
            return str(body["note"])
    return ""


# ------------------------------------------------------------------------------------ assumed, sources


def _assumed(guitar: Guitar) -> list[tuple[str, str, str, str, str]]:
    return [(a.path, a.value, words.span_of(a.low, a.high), a.settle, a.basis) for a in guitar.assumed]


def _sources(guitar: Guitar, grades: Grades | None) -> list[dict[str, Any]]:
    """Return where the constants of what is computed come from, each with its status."""
    slugs = [one.magnet.grade for one in guitar.pickups if one.magnet.constants is None]
    slugs += [] if grades is None else [one.grade for one in grades.results]
    out = []
    for slug in dict.fromkeys(slugs):
        if slug not in ("unknown", "own"):
            magnet: MagnetMaterial = catalogue.magnet(slug)
            out.append({"of": slug, "status": magnet.status, "sources": [(s.status, s.note) for s in magnet.sources]})
    steels = {s.name for p in guitar.pickups for s in (p.poles.slug_steel, p.poles.screw_steel, p.poles.keeper_steel)}
    for name in sorted(one for one in steels if one is not None):
        steel = catalogue.steel(name)
        out.append(
            {"of": f"steel {name}", "status": steel.status, "sources": [(s.status, s.note) for s in steel.sources]}
        )
    for gauge, build in sorted({(coil.wire_awg, coil.wire_build) for p in guitar.pickups for coil in p.coils}):
        wire = catalogue.wire(gauge, build)
        out.append(
            {"of": f"wire AWG {gauge} {build}", "status": "read", "sources": [(s.status, s.note) for s in wire.sources]}
        )
    return out
