"""A change proven: what was computed beside what was measured and heard, in one ledger."""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from polepiece import __version__
from polepiece.bench import (
    NUMBER_WORDS,
    QUANTITIES,
    Bench,
    Prediction,
    drawn_unloaded_resonance,
    number_unit,
    number_words,
    predict,
    threshold_of,
)
from polepiece.draw_counts import DRAWS
from polepiece.errors import InputError
from polepiece.evidence.charge_found import field_at_poles, readings_hash, usual_probe
from polepiece.guitar import NOMINAL, Guitar, known, ninety
from polepiece.guitar import draws as draws_of
from polepiece.materials import constants_hash, copper_factor
from polepiece.measure import (
    NOTHING,
    BlindTrial,
    Claim,
    DirectReading,
    Entry,
    Estimate,
    GaussMeter,
    Ledger,
    MeasuredPickup,
    Of,
    PoleReading,
    Probe,
    Word,
    as_predicted,
)
from polepiece.moves import Change, apply

UNLOADED, POLE_FIELD, DC = "unloaded_resonance_hz", "pole_field_mt", "dc_resistance_ohm"
WORDS = {**NUMBER_WORDS, UNLOADED: "resonance, nothing connected", POLE_FIELD: "field at the pole tops"}
SWEPT = {
    "inductance_120hz_h": "inductance_120_hz", "inductance_1khz_h": "inductance_1000_hz", UNLOADED: "resonance",
    DC: "resistance",
}  # fmt: skip
"""Line of the ledger, and the estimate of a sweep that it is measured by."""
TOLD_BY = {
    DC: known.RESISTANCE, "inductance_120hz_h": known.INDUCTANCE, "inductance_1khz_h": known.INDUCTANCE,
    UNLOADED: known.INDUCTANCE, POLE_FIELD: known.GAUSS,
}  # fmt: skip
TWICE = "bands_own_db."  # level and bands against it say the same; no lines of their own
HEARD = ("level", "lows", "mids", "highs", "presence", "wound", *(f"string{k}" for k in range(1, 10)))
HALF_HEARD = 0.75  # share right of a listener who hears it in half the trials and guesses in the others


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Evidence:
    """What was measured and heard of a change; everything may be missing."""

    impedance_before: MeasuredPickup | None = None
    impedance_after: MeasuredPickup | None = None
    plucks: Sequence[Estimate] = ()  # differences after less before, named as in the numbers of a state
    typed: Sequence[Estimate] = ()  # the same, read off a level meter by hand; what the plucks say goes before it
    metered_before: Sequence[Estimate] = ()  # read off a meter, named as the lines of the ledger
    metered_after: Sequence[Estimate] = ()
    dcr_before: DirectReading | None = None
    dcr_after: DirectReading | None = None
    gauss_before: Sequence[PoleReading] = ()
    gauss_after: Sequence[PoleReading] = ()
    probe: Probe | None = None
    meter: GaussMeter | None = None
    trial: BlindTrial | None = None
    notes: Sequence[str] = ()  # what the evidence itself warns of, and what else to know of it
    files: Mapping[str, str] = field(default_factory=dict)  # that it came from: name and SHA-256


def prove(
    guitar: Guitar,
    pickup: str,
    changes: Sequence[Change],
    evidence: Evidence,
    *,
    date: str,
    prediction: Prediction | None = None,
    files: Mapping[str, str] | None = None,
    seed: int = 0,
    draws: int = DRAWS,
    bench: Bench | None = None,
) -> Ledger:
    """Return the ledger of a change.

    Parameters
    ----------
    guitar : Guitar
        As it was before the change.
    pickup : str
    changes : sequence of Change
        What was done, heights included: the ledger compares the guitar as it was measured afterwards.
    evidence : Evidence
    date : str
        ISO.
    prediction : Prediction, optional
        Of these changes, made before them; otherwise it is computed.
    files : mapping, optional
        Further files that the evidence came from: name and SHA-256, for the provenance.
    seed, draws : int
    bench : Bench, optional

    Raises
    ------
    InputError
        When the prediction is of something else, a trial is not over, or a change is not possible.

    Notes
    -----
    Measured differences of two records are taken as independent: what both share, such as the tolerance of one and the
    same resistor, makes their interval wider than it need be. A state that the guitar file knows from the very
    measurement is not compared with it. The trial stands for the change as a whole: what is computed for it is the
    largest difference in thresholds of hearing (`threshold_of`), level left out where the trial was level-matched.
    """
    bench = bench or Bench(seed=seed)
    name = guitar.pickup(pickup).name
    if evidence.trial is not None:
        evidence.trial.outcome()  # refused before its end, before any work is done
    found = prediction or predict(guitar, name, changes, seed=seed, draws=draws, bench=bench)
    if found.pickup != name or [one.text for one in found.changes] != [one.text for one in changes]:
        moves = ", ".join(one.text for one in found.changes)
        raise InputError(f"the prediction is of {moves or 'no change'} to {found.pickup}, not of what is to be proven.")
    comparison = _Comparison(
        bench=bench, name=name, draws=draws, before=guitar, after=apply(guitar, name, changes), found=found,
        evidence=evidence,
    )  # fmt: skip
    lines = [*_plucked(comparison), *_instruments(comparison), _heard(comparison)]
    return Ledger(
        guitar=guitar.name, pickup=name, change=tuple(one.text for one in changes), date=date,
        entries=tuple(lines),
        notes=(*_damage(comparison), *evidence.notes, *_exchanged(evidence), *_unmatched(comparison)),
        provenance={"version": __version__, "constants": constants_hash(), "seed": bench.seed, "draws": draws,
                    "files": _files(evidence) | dict(evidence.files) | dict(files or {})},
    )  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Comparison:
    """Everything that lines are made of."""

    bench: Bench
    name: str
    draws: int
    before: Guitar
    after: Guitar
    found: Prediction
    evidence: Evidence


def words_of(key: str) -> str:
    """Return a line of the ledger in words."""
    return WORDS[key] if key in WORDS else number_words(key)


def _entry(key: str, of: Of, computed: Claim | None, measured: Claim | None, note: str = "") -> Entry:
    return Entry(
        key=key, words=words_of(key), unit=number_unit(key), of=of, computed=computed, measured=measured, note=note
    )


# ---------------------------------------------------------------- plucks


def _plucked(comparison: _Comparison) -> Iterator[Entry]:
    """The differences of the prediction: the usual ones whether measured or not, the others where they are."""
    by_hand = {one.name: one for one in comparison.evidence.typed}
    plucks = {one.name: one for one in comparison.evidence.plucks if one.told or one.name not in by_hand}
    said = by_hand | plucks
    for key, value in comparison.found.difference.items():
        twice = key.startswith(TWICE) and key not in by_hand
        if key in SWEPT or twice or (key not in WORDS and key not in said):
            continue
        measured = (
            Claim.of(as_predicted(said[key]), "plucks" if key in plucks else "typed")
            if key in said and said[key].told
            else None
        )
        yield _entry(key, "difference", _predicted(comparison, key, value), measured)


def _predicted(comparison: _Comparison, key: str, value: float) -> Claim | None:
    if key not in comparison.found.interval:
        return None
    low, high = comparison.found.interval[key]
    return Claim(value=value, low=low, high=high, source="predict")


def _unmatched(comparison: _Comparison) -> list[str]:
    measured = (*comparison.evidence.plucks, *comparison.evidence.typed)
    rest = [one.name for one in measured if one.name not in comparison.found.difference]
    if not rest:
        return []
    kinds = dict.fromkeys(one.partition(".")[0].removesuffix("_db").removesuffix("_percent") for one in rest)
    return [f"{len(rest)} measured quantities have no computed counterpart: {', '.join(kinds).replace('_', ' ')}"]


# ---------------------------------------------------------------- sweeps, meters, probes


def _instruments(comparison: _Comparison) -> Iterator[Entry]:
    for key in SWEPT:
        yield from _three(key, _computed(comparison, key), _swept(comparison, key))
    sides: tuple[Of, Of] = ("before", "after")
    for of in sides:
        pair = _poles(comparison, of)
        if pair is not None:
            yield _entry(POLE_FIELD, of, *pair)


Three = tuple[Claim | None, Claim | None, Claim | None]  # before, after, difference


def _three(key: str, computed: tuple[Three, str], measured: Three) -> Iterator[Entry]:
    """Yield the difference always, and the states that were measured."""
    claims, note = computed
    if measured[0] is not None:
        yield _entry(key, "before", claims[0], measured[0], note)
    if measured[1] is not None:
        yield _entry(key, "after", claims[1], measured[1])
    yield _entry(key, "difference", claims[2], measured[2])


def _computed(comparison: _Comparison, key: str) -> tuple[Three, str]:
    """Return the computed claims of both states and their difference, and why the first one is missing."""
    sample = draws_of(comparison.draws, comparison.bench.seed)
    both = []
    for guitar in (comparison.before, comparison.after):
        if key == UNLOADED:
            nominal, *drawn = drawn_unloaded_resonance(
                guitar, comparison.name, [NOMINAL, *sample], bench=comparison.bench
            )
        else:
            nominal = comparison.bench.state(guitar, comparison.name).numbers()[key]
            drawn = [one[key] for one in comparison.bench.drawn(guitar, comparison.name, sample)]
        both.append((float(nominal), np.array(drawn)))
    (a, drawn_a), (b, drawn_b) = both
    claims = (_claim(a, drawn_a), _claim(b, drawn_b), _claim(b - a, drawn_b - drawn_a))
    if _same_measurement(comparison, key):
        return (None, *claims[1:]), "the guitar file knows it from this very measurement"
    return claims, ""


def _claim(value: float, drawn: "np.ndarray") -> Claim | None:
    if not math.isfinite(value) or not np.all(np.isfinite(drawn)):
        return None
    ((low, high),) = ninety(drawn[:, None], [value])
    return Claim(value=value, low=low, high=high, source="the pickup computed")


def _same_measurement(comparison: _Comparison, key: str) -> bool:
    entry = known.reading_of(comparison.before, comparison.before.pickup(comparison.name), TOLD_BY[key])
    if entry is None:
        return False
    record = comparison.evidence.impedance_before
    mine = set() if record is None else {one.sha256 for one in record.files}
    if key == POLE_FIELD:
        probe, meter = _probe(comparison)
        mine = {readings_hash(comparison.evidence.gauss_before, probe, meter)}
    return bool(mine & set(entry.files))


def _swept(comparison: _Comparison, key: str) -> Three:
    seen = comparison.evidence
    sides = [
        _one_swept(key, record, direct) or _one_metered(key, metered)
        for record, direct, metered in (
            (seen.impedance_before, seen.dcr_before, seen.metered_before),
            (seen.impedance_after, seen.dcr_after, seen.metered_after),
        )
    ]  # fmt: skip
    a, b = sides
    return a, b, None if a is None or b is None else b.less(a)


def _one_swept(key: str, record: MeasuredPickup | None, direct: DirectReading | None) -> Claim | None:
    """Return what was measured of one state: by the meter where there is one, or by the sweep."""
    if key == DC and direct is not None:
        return Claim.of(direct.at_20, "multimeter")
    if record is None:
        return None
    one = next((each for each in record.estimates if each.name == SWEPT[key]), None)
    if one is None or not one.told:
        return None
    if key == DC:
        factor = 1.0 / copper_factor(record.temperature)
        one = replace(one, value=one.value * factor, low=one.low * factor, high=one.high * factor)
    return Claim.of(one, f"sweep of {record.date}")


def _one_metered(key: str, metered: Sequence[Estimate]) -> Claim | None:
    """Return what was read off a meter of one state, where no sweep says it."""
    one = next((each for each in metered if each.name == key and each.told), None)
    return None if one is None else Claim.of(one, "LCR meter")


def _probe(comparison: _Comparison) -> tuple[Probe, GaussMeter]:
    return comparison.evidence.probe or usual_probe(), comparison.evidence.meter or GaussMeter()


def _poles(comparison: _Comparison, of: Of) -> tuple[Claim | None, Claim, str] | None:
    readings, guitar = (
        (comparison.evidence.gauss_before, comparison.before)
        if of == "before"
        else (comparison.evidence.gauss_after, comparison.after)
    )
    if not readings:
        return None
    probe, meter = _probe(comparison)
    pair = field_at_poles(
        guitar, comparison.name, readings, probe=probe, meter=meter, draws=comparison.draws, bench=comparison.bench
    )
    computed, measured = (
        Claim(value=1e3 * one.value, low=1e3 * one.low, high=1e3 * one.high, source=one.source) for one in pair
    )
    if of == "before" and _same_measurement(comparison, POLE_FIELD):
        return None, measured, "the guitar file knows it from this very measurement"
    return computed, measured, ""


def _damage(comparison: _Comparison) -> list[str]:
    """The check that goes with every opened pickup: direct current before and after at one temperature."""
    a, b, moved = _swept(comparison, DC)
    if a is None or b is None or moved is None or moved.holds(0.0) or comparison.found.difference[DC] != 0.0 or (
        abs(b.value / a.value - 1.0) <= 0.02
    ):  # fmt: skip
        return []
    return [
        f"STOP: the DC resistance moved by {100 * (b.value / a.value - 1):+.1f} % at one temperature; more than 2 % is "
        "a sign of a damaged winding or a lead that pinches. Find it before anything else."
    ]


def _exchanged(evidence: Evidence) -> list[str]:
    """Say when two records of sweeps are the same recording, or stand the wrong way round in time."""
    before, after = evidence.impedance_before, evidence.impedance_after
    if before is None or after is None:
        return []
    sides = [{one.sha256 for one in record.files if one.role == "pickup"} for record in (before, after)]
    if sides[0] & sides[1]:
        return ["The sweeps before and after are of the same recording: nothing can have changed between them."]
    if after.date < before.date:
        return [
            f"The sweep given as after is of {after.date}, that given as before of {before.date}: are they exchanged?"
        ]
    return []


# ---------------------------------------------------------------- ears


def _heard(comparison: _Comparison) -> Entry:
    trial = comparison.evidence.trial
    matched = trial is not None and trial.plan.level_matched
    computed = heard_claim(comparison.found, level_matched=matched)
    words = "the change as a whole" + (", level-matched" if matched else "")
    if trial is not None and trial.plan.sounds == "computed":
        words += ", computed sounds"
    if trial is None:
        return Entry(key="heard", words=words, unit="thresholds", computed=computed)
    outcome = trial.outcome()
    return Entry(
        key="heard", words=words, unit="thresholds", computed=computed, heard=Claim.of(outcome.share, "share right"),
        heard_word=_heard_word(computed, heard=outcome.heard, most=outcome.share.high),
        note=f"{outcome.right} of {outcome.trials} right, {outcome.needed} needed; as many by guessing alone: "
        f"{100 * outcome.chance:.1f} %",
    )  # fmt: skip


def heard_claim(found: Prediction, *, level_matched: bool = False) -> Claim:
    """Return the largest predicted difference in thresholds of hearing side by side; from 1 on it is likely heard.

    The interval spans the largest of the lower and the largest of the upper ends over all quantities.
    """
    values, lows, highs = [0.0], [0.0], [0.0]
    for key in HEARD:
        number = QUANTITIES[key].number
        if number not in found.interval or number not in found.difference or (key == "level" and level_matched):
            continue
        threshold = threshold_of(key, found.before)
        a, b = found.interval[number]
        values.append(abs(found.difference[number]) / threshold)
        lows.append(0.0 if a <= 0.0 <= b else min(abs(a), abs(b)) / threshold)
        highs.append(max(abs(a), abs(b)) / threshold)
    return Claim(value=max(values), low=max(lows), high=max(highs), source="thresholds side by side")


def _heard_word(computed: Claim, *, heard: bool, most: float) -> Word:
    """Return what a trial says of the prediction; a trial that shows nothing is weak evidence of nothing."""
    if heard:
        return "agrees" if computed.high >= 1.0 else "disagrees"
    if computed.high < 1.0:
        return "agrees"
    if computed.low >= 1.0 and most < HALF_HEARD:
        return "disagrees"
    return NOTHING


def _files(evidence: Evidence) -> dict[str, Any]:
    sides = {"before": evidence.impedance_before, "after": evidence.impedance_after}
    return {
        f"{side}: {one.name}": one.sha256
        for side, record in sides.items() if record is not None for one in record.files
    }  # fmt: skip
