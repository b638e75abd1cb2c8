"""From what is written to what a hand plays: scatter, strums as one movement, the touch of the fretting finger."""

from dataclasses import replace

import numpy as np

from polepiece.sound.phrase import Note, Phrase
from polepiece.strings import USUAL_SCALE, Pluck, SpeakingString, Spread, hand_deviates, varied

SHORTEST = 0.02  # s
PULL = 0.01  # s in which the plectrum stops a string and draws it aside; assumption, spread 5 to 20 ms
TOUCH_LEAD = 0.035  # s from the finger's touch to the stroke; assumption
TOUCH = 15e-6  # m, how far a string swings that a finger presses to its fret: -38 dB of a stroke; assumption
LIFT = 20e-6  # m, how far a finger that leaves its fret plucks the string aside; assumption, spread 5 to 60 micrometre
LIFT_S = 0.08  # s, how long that is heard at most; assumption


def performed(
    phrase: Phrase, *, seed: int, spread: Spread | None, strings: "tuple[SpeakingString, ...]" = (), lifts: bool = False
) -> list[Note]:
    """Return the notes as played: varied by ``seed``, each stopped by the next on its string, in order of onset.

    Notes of one strum share the hand's draw; `Spread.within_stroke` of it is added from string to string. With
    ``strings`` and a spread, the touch of the finger before a newly fretted note is among the notes; with ``lifts``,
    so is the finger that leaves its fret when nothing else follows on that string.

    Spreads of a hand: assumptions (`Spread`).
    """
    generator = np.random.default_rng(seed)
    hands: dict[int, np.ndarray] = {}
    played = []
    for note in phrase.notes:
        own, written = hand_deviates(generator), _on_string(note, strings)
        if spread is None:
            played.append((note, written, note.onset))
            continue
        deviates = own
        if note.stroke:
            hand = hands.setdefault(note.stroke, own)
            deviates = hand if hand is own else np.clip(hand + spread.within_stroke * own, -2.5, 2.5)
        pluck, shift = varied(written, deviates, spread)
        played.append((note, pluck, min(max(note.onset + shift, 0.0), phrase.duration - SHORTEST)))
    notes = []
    for note, pluck, onset in played:
        later = [other for mate, _, other in played if mate.string == note.string and other > onset]
        end = min([onset + note.duration, phrase.duration, *(other - PULL for other in later)])
        notes.append(replace(note, onset=onset, duration=max(end - onset, SHORTEST), pluck=pluck, stroke=0))
    if spread is not None and strings:
        touches = _touches(notes, strings, np.random.default_rng([seed, 1]), phrase.touch * TOUCH)
        left = _lifts(notes, strings, np.random.default_rng([seed, 3]), phrase) if lifts else []
        notes += touches + left
    return sorted(notes, key=lambda note: (note.onset, note.string))


def _on_string(note: Note, strings: "tuple[SpeakingString, ...]") -> Pluck:
    """Return the stroke of a note where it falls on its own string, longer or shorter than the usual scale."""
    if not (note.pluck.scaled and strings):
        return note.pluck
    longer = strings[note.string - 1].length / USUAL_SCALE
    return replace(note.pluck, position=note.pluck.position * longer, scaled=False)


def _touches(
    notes: list[Note], strings: "tuple[SpeakingString, ...]", generator: np.random.Generator, swing: float
) -> list[Note]:
    """Return the touches of the finger before notes at another fret than the last one on their string."""
    out, frets = [], dict.fromkeys(range(1, 13), 0)
    for note in sorted(notes, key=lambda one: one.onset):
        level = float(10.0 ** (0.15 * np.clip(generator.standard_normal(), -2.0, 2.0)))
        new = note.fret not in (0, frets[note.string])
        frets[note.string] = note.fret
        if not new or note.onset < TOUCH_LEAD:
            continue
        length = strings[note.string - 1].fretted(note.fret).length
        touch = Pluck(position=0.94 * length, width=6e-3, displacement=swing * level, angle=0.0, release=0.3e-3)
        start = note.onset - TOUCH_LEAD
        out.append(Note(string=note.string, fret=note.fret, onset=start, duration=TOUCH_LEAD - PULL, pluck=touch))
    return out


def _lifts(
    notes: list[Note], strings: "tuple[SpeakingString, ...]", generator: np.random.Generator, phrase: Phrase
) -> list[Note]:
    """Return the open strings that fingers leave twitching: sideways, until the hand rests on them again."""
    out = []
    for note in sorted(notes, key=lambda one: one.onset):
        swing = phrase.touch * LIFT * float(10.0 ** (0.15 * np.clip(generator.standard_normal(), -2.0, 2.0)))
        end = note.onset + note.duration
        later = [one.onset for one in notes if one.string == note.string and one.onset > note.onset]
        free = min([phrase.duration, *(one - PULL for one in later)]) - end
        if not note.fret or free < LIFT_S:
            continue
        string = strings[note.string - 1]
        at = string.length - string.fretted(note.fret).length
        place = string.length - max(at, 0.02)
        pluck = Pluck(position=place, width=8e-3, displacement=swing, angle=1.3, release=0.3e-3)
        out.append(Note(string=note.string, onset=end, duration=LIFT_S, pluck=pluck))
    return out
