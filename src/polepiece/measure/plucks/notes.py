"""What a person should know of two takes of plucks before trusting their difference; each a sentence."""

from collections.abc import Sequence

import numpy as np

from polepiece.measure.plucks.interval import LEAST
from polepiece.measure.plucks.pitch import note_name
from polepiece.measure.plucks.takes import HeardPluck, PluckTake

MOVED_DB = 1.0  # a noise that moved by less says nothing
TOGETHER_DB = 1.0  # noise and level that moved alike within this may have gone through another gain
NOISE_ROOM_DB = 20.0  # a quiet part nearer than this under the plucks is ringing strings, no noise
OTHER_RATE = 12.0 * float(np.log2(48.0 / 44.1))  # semitones
RETUNED_CENTS = 15.0
DIGITAL_DB = -130.0  # lower than any converter: a gate or a computed file

Key = tuple[int, int]  # (0, string) or (1, semitones from A4)
Groups = dict[Key, list[HeardPluck]]


def label_of(key: Key, grid: float) -> str:
    """Return ``string 6``, or the name of a fretted note on a guitar that lies ``grid`` semitones off A4 = 440 Hz."""
    return f"string {key[1]}" if key[0] == 0 else note_name(440.0 * 2.0 ** ((key[1] + grid) / 12.0))


def same_file_notes(before: PluckTake, after: PluckTake) -> list[str]:
    """Say when a recording is on both sides."""
    names = {one.sha256: one.name for one in before.files}
    return [
        f"{one.name} holds the same bytes as {names[one.sha256]} before: nothing can have changed between them."
        for one in after.files
        if one.sha256 in names
    ]


def rate_notes(before: PluckTake, after: PluckTake) -> list[str]:
    """Say when sample rates differ; each recording is read at its own."""
    rates = sorted({*before.rates, *after.rates})
    if len(rates) == 1:
        return []
    return [
        f"The recordings have different sample rates ({', '.join(map(str, rates))} Hz). Each was read at its own; "
        "up to 10 kHz they compare. Was the interface set otherwise, with another gain as well?"
    ]


def moved_words(before: Sequence[HeardPluck], after: Sequence[HeardPluck]) -> str:
    """Say what it means when no note of one side is on the other; empty when the two have some in common.

    Notes in common lie within half a semitone. Where both sides have as many notes and all moved alike, one thing moved
    them; a file of 44.1 kHz that is labelled 48 kHz sounds 1.47 semitones higher.
    """
    sides = [np.sort(12.0 * np.log2([one.pitch for one in side])) for side in (before, after)]
    low, high = (np.array([part.mean() for part in np.split(one, np.flatnonzero(np.diff(one) > 0.5) + 1)])
                 for one in sides)  # fmt: skip
    if np.min(np.abs(low[:, None] - high)) < 0.5:
        return ""
    if len(low) == len(high) and np.ptp(high - low) < 0.3:
        moved = float(np.mean(high - low))
        words = f"All notes lie {abs(moved):.1f} semitones {'higher' if moved > 0.0 else 'lower'} after than before: "
        if abs(abs(moved) - OTHER_RATE) < 0.15:
            words += "is one of the files labelled with another sample rate than it was recorded at (44.1 and 48 kHz)? "
        return words + "Was the guitar tuned otherwise, a capo on, or were frets pressed? Play the same open strings."
    return "The notes after are others than before: play the same strings, open, on both sides."


def string_notes(before: Groups, after: Groups, grid: float) -> list[str]:
    """Say which strings or notes could not be used."""
    lacking = []
    for key in sorted({*before, *after}):
        a, b = len(before.get(key, [])), len(after.get(key, []))
        if min(a, b) < LEAST:
            lacking.append(f"{label_of(key, grid)} ({a} before, {b} after)")
    return [f"Left out, since {LEAST} plucks on each side are needed: {'; '.join(lacking)}."] if lacking else []


def few_notes(used: int, others: float) -> list[str]:
    """Say what strings that were not plucked do to the intervals; ``others`` of them, infinite for fretted notes."""
    if not others:
        return []
    if used == 1:
        return ["One string was compared; the intervals hold for it, not for the others."]
    if np.isinf(others):
        return []
    return [
        f"{used} of {used + others:.0f} strings were compared; the others may have changed otherwise, and the "
        "intervals are wide for that. Pluck all strings."
    ]


def short_notes(spans: Sequence[tuple[str, float]], needed: float) -> list[str]:
    """Say which strings were damped before the level's time was over."""
    short = [f"{name} {span:.1f} s" for name, span in spans if span < needed]
    if not short:
        return []
    return [
        f"Some plucks did not ring for {needed:g} s, over which a prediction states level, bands and attack against "
        f"sustain; read up to the shortest on both sides: {', '.join(short)}."
    ]


def pitch_notes(
    pairs: Sequence[tuple[str, Sequence[HeardPluck], Sequence[HeardPluck]]], tuning: Sequence[float]
) -> list[str]:
    """Say when strings were tuned anew, or when none of the notes is an open string of the tuning."""
    notes = []
    moved = []
    for name, before, after in pairs:
        cents = 1200.0 * float(np.log2(np.mean([x.pitch for x in after]) / np.mean([x.pitch for x in before])))
        if abs(cents) > RETUNED_CENTS:
            moved.append(f"{name} by {cents:+.0f} cents")
    if moved:
        notes.append(f"Tuned otherwise after than before: {', '.join(moved)}. Tune, let settle, record again.")
    if not any(one.string is not None for _, before, _ in pairs for one in before):
        notes.append(
            "None of the notes is an open string of the tuning "
            f"({', '.join(note_name(one) for one in tuning)}); they were compared by pitch. Is the guitar tuned down?"
        )
    return notes


def gain_notes(before: PluckTake, after: PluckTake, level: float | None) -> list[str]:
    """Say what the noise between plucks suggests of the gain; it cannot prove it."""
    spans = []
    for take in (before, after):
        loud = float(np.median([one.level_db for one in take.plucks]))
        quiet = float(np.median(take.noise_db))
        if quiet < DIGITAL_DB or quiet > loud - NOISE_ROOM_DB:
            return [
                "Whether the gain stayed the same cannot be told: "
                + (
                    "there is no noise at all"
                    if quiet < DIGITAL_DB
                    else "something sounds through every pause (strings, hum)"
                )
                + " in one of the takes. Leave two seconds with all strings muted at the beginning."
            ]
        spans.append(quiet)
    noise = spans[1] - spans[0]
    if level is None or abs(noise) < MOVED_DB:
        return []
    if abs(level) >= MOVED_DB and abs(noise - level) <= TOGETHER_DB:
        return [
            f"The noise between the plucks moved by {noise:+.1f} dB, the plucks by {level:+.1f} dB. The gain of the "
            "input may have been changed: then the level says nothing, bands against the level still do. A pickup that "
            "itself takes up more hum looks the same."
        ]
    return [
        f"The noise between the plucks moved by {noise:+.1f} dB and the plucks by {level:+.1f} dB. Another place, "
        "another lead or another coil may do that; a changed gain alone would not."
    ]
