"""Plucks before and after a change to a pickup: the differences, their intervals, and what could have been shown."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.errors import InputError, MeasurementError
from polepiece.measure.estimate import Estimate
from polepiece.measure.plucks.features import LEVEL_S, NOMINAL, feature_table, shared_span
from polepiece.measure.plucks.interval import LEAST, MANY, mean_change, weighted_change
from polepiece.measure.plucks.notes import (
    Groups,
    few_notes,
    gain_notes,
    label_of,
    moved_words,
    pitch_notes,
    rate_notes,
    same_file_notes,
    short_notes,
    string_notes,
)
from polepiece.measure.plucks.record import PluckComparison, PluckFact, Spectrum, StringChange
from polepiece.measure.plucks.strings_together import AT, NAMES, Shared, over_strings
from polepiece.measure.plucks.takes import STANDARD, HeardPluck, PluckTake

PERCENT = "decay_time_percent"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Pair:
    """One string or note on both sides."""

    note: str
    string: int | None
    before: list[HeardPluck]
    after: list[HeardPluck]
    tables: tuple[FloatArray, FloatArray]


def compare_plucks(
    before: PluckTake,
    after: PluckTake,
    *,
    tuning: Sequence[float] = STANDARD,
    wound: Sequence[bool] | None = None,
) -> PluckComparison:
    """Return after less before, string by string and over all of them, with 90 % intervals.

    Parameters
    ----------
    before, after : from `polepiece.measure.plucks_of` with the same ``tuning``.
    tuning : Hz of the open strings, string 1 first.
    wound : of each string; given, the change of wound against plain strings is stated too.

    Raises
    ------
    InputError
        When ``wound`` does not go with ``tuning``.
    MeasurementError
        When no string or note has three plucks on both sides; says what is lacking, or how the notes moved.

    Notes
    -----
    Strings (or fretted notes) are paired by pitch. The hand is in the interval as far as it varied within one
    sitting; what it did differently from one sitting to the next (another pick, another place along the string) is
    not. Two recordings of the same state, given as before and after, show it. Level, bands, attack against sustain and
    strings against one another are energies added over the strings, as in a prediction; the other quantities are means
    over the strings. All of it is meant of the strings of ``tuning``: those that were not plucked are taken to differ
    as these do, notes on frets as a sample of any number (`polepiece.measure.mean_change`).
    Derived in docs/theory/strings-and-sound.md, "Beside recordings".
    """
    if wound is not None and len(wound) != len(tuning):
        raise InputError(f"wound names {len(wound)} strings, the tuning {len(tuning)}.")
    grid = _off_grid([*before.plucks, *after.plucks])
    sides = [_grouped(take.plucks, grid) for take in (before, after)]
    pairs = _paired(sides[0], sides[1], grid, moved_words(before.plucks, after.plucks))
    tables = over_strings([p.tables[0] for p in pairs], [p.tables[1] for p in pairs])
    found = mean_change(*tables, others=_others(pairs, len(tuning)))
    estimates, least = [], {}
    for k, name in enumerate(NAMES):
        values = [float(one[k]) for one in (found.value, found.low, found.high, found.least)]
        if not np.all(np.isfinite(values)):
            continue
        unit = "dB"
        if name == PERCENT:
            values, unit = [100.0 * float(np.expm1(one)) for one in values], "%"
        estimates.append(Estimate(name=name, value=values[0], low=values[1], high=values[2], unit=unit))
        least[name] = values[3]
    strings = [_string_change(one) for one in pairs]
    for one in _against(pairs, len(tuning), wound):
        estimates.append(one)
        least[one.name] = 0.5 * (one.high - one.low)
    if not estimates:
        raise MeasurementError(
            "no third octave stands out of the noise on both sides; nothing can be compared. Pluck harder or lower the "
            "noise: guitar away from screens, volume pot full up."
        )
    level = next((one.value for one in estimates if one.name == "whole_level_db"), None)
    notes = (
        *before.notes, *after.notes, *same_file_notes(before, after), *rate_notes(before, after),
        *string_notes(sides[0], sides[1], grid),
        *few_notes(len(pairs), _others(pairs, len(tuning))),
        *short_notes([(one.note, shared_span([*one.before, *one.after])) for one in pairs], LEVEL_S),
        *pitch_notes([(one.note, one.before, one.after) for one in pairs], tuning),
        *gain_notes(before, after, level),
    )  # fmt: skip
    return PluckComparison(
        files=before.files + after.files, estimates=tuple(estimates), least=least, strings=tuple(strings),
        plucks=tuple(_fact(side, label_of(key, grid), one) for side, groups in zip(("before", "after"), sides)
                     for key, members in groups.items() for one in members),
        spectrum=_spectrum(pairs), notes=notes,
    )  # fmt: skip


def _off_grid(plucks: Sequence[HeardPluck]) -> float:
    """Return by how many semitones the guitar lies off A4 = 440 Hz, -0.5 to 0.5, all notes together."""
    steps = 12.0 * np.log2([one.pitch / 440.0 for one in plucks])
    return float(np.angle(np.mean(np.exp(2j * np.pi * steps))) / (2.0 * np.pi))


def _grouped(plucks: Sequence[HeardPluck], grid: float) -> Groups:
    groups: Groups = {}
    for one in plucks:
        step = round(12.0 * float(np.log2(one.pitch / 440.0)) - grid)
        groups.setdefault((1, step) if one.string is None else (0, one.string), []).append(one)
    return dict(sorted(groups.items()))


def _paired(before: Groups, after: Groups, grid: float, moved: str) -> list[_Pair]:
    pairs = [
        _Pair(
            note=label_of(key, grid), string=key[1] if key[0] == 0 else None, before=before[key], after=after[key],
            tables=feature_table(before[key], after[key]),
        )
        for key in before
        if key in after and min(len(before[key]), len(after[key])) >= LEAST
    ]  # fmt: skip
    if pairs:
        return pairs
    counts = "; ".join(
        f"{label_of(key, grid)}: {len(before.get(key, []))} before, {len(after.get(key, []))} after"
        for key in sorted({*before, *after})
    )
    raise MeasurementError(
        f"no string or note has {LEAST} plucks on both sides ({counts}). "
        + (
            moved
            or "Pluck each open string five times before and five times after, the same strings, the others muted."
        )
    )


def _others(pairs: list[_Pair], strings: int) -> float:
    """Return how many strings of the guitar are not among ``pairs``; infinite where fretted notes are."""
    return MANY if any(one.string is None for one in pairs) else float(strings - len(pairs))


def _string_change(pair: _Pair) -> StringChange:
    level = AT["level"]
    found = mean_change([pair.tables[0][:, [level]]], [pair.tables[1][:, [level]]])
    value, low, high = (float(one[0]) for one in (found.value, found.low, found.high))
    return StringChange(
        note=pair.note, string=pair.string, plucks_before=len(pair.before), plucks_after=len(pair.after),
        pitch_before=float(np.mean([one.pitch for one in pair.before])),
        pitch_after=float(np.mean([one.pitch for one in pair.after])),
        level=Estimate(name="level_db", value=value, low=low, high=high, unit="dB") if np.isfinite(value) else None,
    )  # fmt: skip


def _against(pairs: list[_Pair], strings: int, wound: Sequence[bool] | None) -> list[Estimate]:
    """Return strings against one another, where every string of the guitar was plucked."""
    mine = {one.string: one for one in pairs if one.string is not None}
    if len(mine) != strings:
        return []
    order = [mine[k + 1] for k in range(strings)]
    values = [[one.tables[side][:, AT["level"]] for one in order] for side in (0, 1)]

    def shares(chosen: "np.ndarray") -> FloatArray:
        out = np.zeros(strings)
        out[chosen] = Shared.of(*([one for one, kept in zip(side, chosen) if kept] for side in values)).weight
        return out

    rows = {}
    if wound is not None and any(wound) and not all(wound):
        is_wound = np.array(wound)
        rows["wound_minus_plain_db"] = shares(is_wound) - shares(~is_wound)
    if strings > 1:
        every = shares(np.ones(strings, dtype=bool))
        for k in range(strings):
            rows[f"string_balance_db.{k + 1}"] = np.eye(strings)[k] - every
    out = []
    for name, weights in rows.items():
        found = weighted_change(values[0], values[1], weights)
        if found is not None:
            value, half = found
            out.append(Estimate(name=name, value=value, low=value - half, high=value + half, unit="dB"))
    return out


def _fact(side: str, note: str, one: HeardPluck) -> PluckFact:
    return PluckFact(
        side=side, file=one.file, note=note, onset=one.onset, duration=one.duration, pitch=one.pitch,
        level_db=one.level_db, partials=one.partials,
    )  # fmt: skip


def _spectrum(pairs: list[_Pair]) -> Spectrum:
    """Return mean third octaves over the strings that have each on both sides."""

    def mean(side: int, kind: str) -> tuple[float | None, ...]:
        out: list[float | None] = []
        for one in NOMINAL:
            column = AT[f"{kind}.{one:g}"]
            told = [p for p in pairs if all(np.isfinite(t[:, column]).any() for t in p.tables)]
            out.append(float(np.mean([np.nanmean(p.tables[side][:, column]) for p in told])) if told else None)
        return tuple(out)

    return Spectrum(
        frequency=NOMINAL, before=mean(0, "third_octave_db"), after=mean(1, "third_octave_db"),
        attack_before=mean(0, "attack_third_octave_db"), attack_after=mean(1, "attack_third_octave_db"),
    )  # fmt: skip
