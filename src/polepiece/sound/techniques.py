"""What the hands do beside a plain stroke, as strokes, mutes and bends of notes: how hard, hammered, slid, scratched.

No published figure was found for the strength of a hammer-on or the damping of a fretting hand; the figures here are
assumptions for listening, and the same for every state of a guitar that is compared.
"""

from dataclasses import replace
from typing import Literal

from polepiece.errors import InputError
from polepiece.sound.phrase import Bend, Note
from polepiece.strings import USUAL_SCALE, PalmMute, Pluck

Touch = Literal["soft", "medium", "hard"]
DISPLACEMENT: dict[Touch, float] = {"soft": 0.5e-3, "medium": 1.1e-3, "hard": 2.0e-3}  # m
# a medium plectrum: assumption for listening (spread: width 1 to 4 mm, release 0.03 to 0.3 ms)
PLECTRUM_WIDTH, PLECTRUM_RELEASE = 2e-3, 0.08e-3
HAMMER_SHARE = 0.35  # of a stroke's displacement
PULL_SHARE = 0.55
HAMMER_WIDTH, PULL_WIDTH, FINGER_RELEASE = 6e-3, 5e-3, 0.3e-3  # m, m, s
NODE_WIDTH, NODE_RESISTANCE = 4e-3, 2.0  # m, N s/m: the finger on the node of a harmonic
SCRATCH_WIDTH, SCRATCH_RESISTANCE = 0.06, 5.0  # m, N s/m
SLIDE_S = 0.08  # of the way from fret to fret
FARTHEST_SLIDE = 4  # frets, what a bend reaches
VIBRATO_HZ, VIBRATO_SEMITONES = 5.5, 0.3
NODES = {12: 1 / 2, 7: 1 / 3, 19: 1 / 3, 5: 1 / 4, 24: 1 / 4, 9: 2 / 5, 4: 1 / 5, 16: 2 / 5}
"""Frets over which a string has a node of a low partial: share of its length from the nut or the bridge."""


def plectrum(displacement: float, *, position: float = 0.11) -> Pluck:
    """Return a stroke of a medium plectrum, m."""
    return Pluck(position=position, displacement=displacement, width=PLECTRUM_WIDTH, release=PLECTRUM_RELEASE)


def back(pluck: Pluck) -> Pluck:
    """Return the stroke the other way across the strings: down and up alternate, as a hand does."""
    return replace(pluck, angle=-pluck.angle)


def hammered(displacement: float, fret: int) -> Pluck:
    """Return the stroke of a finger that falls on a fret: near the far end of what sounds, soft (assumption)."""
    length = USUAL_SCALE * 2.0 ** (-fret / 12.0)
    return Pluck(position=0.94 * length, width=HAMMER_WIDTH, displacement=HAMMER_SHARE * displacement, angle=0.0,
                 release=FINGER_RELEASE, scaled=True)  # fmt: skip


def pulled(displacement: float, fret: int) -> Pluck:
    """Return the stroke of a finger that leaves a higher fret: it plucks there, sideways (assumption)."""
    length = USUAL_SCALE * 2.0 ** (-fret / 12.0)
    return Pluck(position=0.9 * length, width=PULL_WIDTH, displacement=PULL_SHARE * displacement, angle=1.3,
                 release=FINGER_RELEASE, scaled=True)  # fmt: skip


def scratched(displacement: float) -> tuple[Pluck, PalmMute]:
    """Return the stroke and the damper of strings that the fretting hand only touches: a scratch without pitch."""
    return plectrum(displacement), PalmMute(
        position=0.55 * USUAL_SCALE, width=SCRATCH_WIDTH, resistance=SCRATCH_RESISTANCE
    )


def harmonic_at(fret: int) -> PalmMute:
    """Return the finger on a node over a fret: it stops every partial that moves there.

    Its width and resistance are assumptions (spread 3 to 8 mm, 0.5 to 5 N s/m); the width decides how long partials
    above 3 kHz ring.

    Raises
    ------
    InputError
        Where no low partial has a node.
    """
    share = NODES.get(fret)
    if share is None:
        raise InputError(
            f"there is no natural harmonic over fret {fret}; there are: {', '.join(map(str, sorted(NODES)))}."
        )
    return PalmMute(share=1.0 - share, width=NODE_WIDTH, resistance=NODE_RESISTANCE)


def slid(frets: int, length: float) -> Bend:
    """Return the way of a note that slides by ``frets`` (down: negative) at the end of its ``length``, s.

    Raises
    ------
    InputError
        When it is farther than four frets: two slides reach that.
    """
    if abs(frets) > FARTHEST_SLIDE:
        raise InputError(f"a slide over {abs(frets)} frets; at most {FARTHEST_SLIDE} at once. Write a note on the way.")
    begin = max(0.02, length - SLIDE_S)
    return Bend(points=((begin, 0.0), (begin + SLIDE_S, float(frets))))


def bent(semitones: float, length: float, *, release: bool = False) -> Bend:
    """Return a bend that is up by two fifths of its length and, with ``release``, down by four fifths (assumption)."""
    up = ((0.15 * length, 0.0), (0.4 * length, semitones))
    return Bend(points=(*up, (0.6 * length, semitones), (0.8 * length, 0.0)) if release else up)


def swaying(length: float) -> Bend:
    """Return a vibrato after the first fifth of a note (assumption)."""
    half = 0.5 / VIBRATO_HZ
    count = max(2, int(0.8 * length / half))
    return Bend(points=tuple((0.2 * length + half * k, VIBRATO_SEMITONES * (k % 2)) for k in range(count)))


def strummed(notes: "list[Note]", *, gap: float, upward: bool, number: int) -> "list[Note]":
    """Return notes of one moment as one movement of the hand that gains speed, from the thick string or, up, the thin.

    The law of its speed is common practice, no source.
    """
    order = sorted(notes, key=lambda one: one.string, reverse=not upward)
    last = max(len(order) - 1, 1)
    out = []
    for place, one in enumerate(order):
        late = gap * last * (place / last) ** 0.85
        pluck = back(one.pluck) if upward else one.pluck
        out.append(replace(one, onset=one.onset + late, duration=max(one.duration - late, 0.02), pluck=pluck,
                           stroke=number))  # fmt: skip
    return out
