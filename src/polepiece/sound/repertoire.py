"""The phrases that come with the tool, invented for comparing pickups."""

from collections.abc import Sequence
from dataclasses import replace

from polepiece.errors import InputError
from polepiece.sound.phrase import Bend, Note, Phrase
from polepiece.sound.tablature import tablature
from polepiece.sound.techniques import back, plectrum, strummed
from polepiece.sound.written_phrases import WRITTEN
from polepiece.strings import PalmMute, Pluck


def _strum(
    frets: dict[int, int], order: Sequence[int], *, onset: float, end: float, gap: float, pluck: Pluck,
    mute: PalmMute | None = None,
) -> list[Note]:  # fmt: skip
    notes = [
        Note(string=one, fret=frets[one], onset=onset, duration=end - onset, pluck=pluck, mute=mute) for one in order
    ]
    upward = order[0] < order[-1]
    made = strummed(notes, gap=gap, upward=upward, number=round(1000.0 * onset))
    return [replace(one, pluck=pluck) for one in made]


def _line(steps: Sequence[tuple[int, int, float]], *, pluck: Pluck, start: float = 0.05) -> list[Note]:
    notes, now = [], start
    for place, (string, fret, length) in enumerate(steps):
        stroke = back(pluck) if place % 2 else pluck
        notes.append(Note(string=string, fret=fret, onset=now, duration=length, pluck=stroke))
        now += length
    return notes


def _open_chord() -> Phrase:
    shape = {6: 0, 5: 2, 4: 2, 3: 1, 2: 0, 1: 0}
    down, up = (6, 5, 4, 3, 2, 1), (1, 2, 3, 4, 5)
    notes = [
        *_strum(shape, down, onset=0.05, end=2.0, gap=0.014, pluck=plectrum(1.0e-3)),
        *_strum(shape, up, onset=2.05, end=3.0, gap=0.010, pluck=back(plectrum(0.7e-3))),
        *_strum(shape, down, onset=3.05, end=6.0, gap=0.022, pluck=plectrum(0.9e-3)),
    ]
    return Phrase(name="open-chord", notes=tuple(notes), duration=6.0)


def _arpeggio() -> Phrase:
    shape = {5: 0, 4: 2, 3: 2, 2: 1, 1: 0}
    order = (5, 4, 3, 2, 1, 2, 3, 4)
    notes = []
    for place, string in enumerate(order):
        onset = 0.05 + 0.4 * place
        again = [k for k in range(place + 1, len(order)) if order[k] == string]
        end = 0.05 + 0.4 * again[0] if again else 5.5
        pluck = plectrum(0.9e-3)
        pluck = back(pluck) if place % 2 else pluck
        notes.append(Note(string=string, fret=shape[string], onset=onset, duration=end - onset, pluck=pluck))
    return Phrase(name="arpeggio", notes=tuple(notes), duration=5.5)


def _power_chords() -> Phrase:
    """Muted fifths in eighths, then two that ring: what a pickup does to a dense, low, hard attack."""
    mute, notes, now = PalmMute(), [], 0.05
    plan = ((0, 2, True), (0, 2, True), (0, 2, True), (0, 2, True), (3, 5, True), (3, 5, True), (5, 7, False),
            (0, 2, True), (0, 2, True), (0, 2, True), (3, 5, False), (0, 2, False))  # fmt: skip
    lengths = (0.25,) * 6 + (0.75,) + (0.25,) * 3 + (0.75, 2.2)
    for (low, high, muted), length in zip(plan, lengths, strict=True):
        shape = {6: low, 5: high, 4: high}
        notes += _strum(
            shape, (6, 5, 4), onset=now, end=now + length, gap=0.006, pluck=plectrum(1.5e-3, position=0.075),
            mute=mute if muted else None,
        )  # fmt: skip
        now += length
    return Phrase(name="power-chords", notes=tuple(notes), duration=round(now, 3))


def _bends() -> Phrase:
    """Whole-tone bends up, up and back, and a slow one with vibrato on the plain strings."""
    up = Bend(points=((0.10, 0.0), (0.40, 2.0)))
    and_back = Bend(points=((0.08, 0.0), (0.30, 2.0), (0.60, 2.0), (0.85, 0.0)))
    sway = tuple((0.9 + 0.09 * k, 2.0 + (0.25 if k % 2 else 0.0)) for k in range(14))
    slow = Bend(points=((0.15, 0.0), (0.70, 2.0), *sway))
    pluck = plectrum(1.3e-3)
    plan = ((3, 7, 0.9, up), (2, 8, 1.0, and_back), (2, 10, 0.5, None), (1, 8, 0.5, None), (2, 8, 2.6, slow))
    notes, now = [], 0.05
    for place, (string, fret, length, bend) in enumerate(plan):
        stroke = back(pluck) if place % 2 else pluck
        notes.append(Note(string=string, fret=fret, onset=now, duration=length, pluck=stroke, bend=bend))
        now += length
    return Phrase(name="bends", notes=tuple(notes), duration=round(now, 3))


def _chromatic() -> Phrase:
    """Frets 0 to 4 on every string from the thick one up, even strokes: how evenly a pickup takes the strings."""
    steps = [(string, fret, 0.22) for string in (6, 5, 4, 3, 2, 1) for fret in range(5)]
    return Phrase(name="chromatic", notes=tuple(_line(steps, pluck=plectrum(1.1e-3))), duration=7.0)


_LOW = (
    (6, 0, 0.6),
    (6, 3, 0.3),
    (6, 5, 0.6),
    (5, 3, 0.6),
    (5, 5, 0.3),
    (4, 2, 0.6),
    (5, 2, 0.5),
    (6, 0, 1.4),
)
_HIGH = (
    (3, 7, 0.4),
    (2, 5, 0.4),
    (2, 8, 0.6),
    (1, 5, 0.3),
    (1, 8, 0.6),
    (1, 10, 0.3),
    (2, 8, 0.6),
    (1, 12, 1.7),
)

PHRASES = {
    phrase.name: phrase
    for phrase in (
        _open_chord(),
        Phrase(
            name="single-notes-low",
            notes=tuple(_line(_LOW, pluck=plectrum(1.4e-3))),
            duration=5.0,
        ),
        Phrase(
            name="single-notes-high",
            notes=tuple(_line(_HIGH, pluck=plectrum(1.2e-3))),
            duration=5.0,
        ),
        _arpeggio(),
        _power_chords(),
        _bends(),
        _chromatic(),
        *(tablature(text, name) for name, text in WRITTEN.items()),
    )
}


def phrase(name: str) -> Phrase:
    """Return a built-in phrase by a name of `PHRASES`."""
    found = PHRASES.get(name)
    if found is None:
        raise InputError(f"there is no phrase {name!r}; known are {', '.join(PHRASES)}.")
    return found


def fitted(piece: Phrase, strings: int) -> Phrase:
    """Return ``piece`` for an instrument of so many strings.

    A phrase that asks for more strings than there are (a chord on a bass) is counted from the thick string: its lowest
    strings are played, notes above them are left out. Otherwise it stays as it is.

    Raises
    ------
    InputError
        When nothing of it can be played there.
    """
    most = max(note.string for note in piece.notes)
    if most <= strings:
        return piece
    shift = max(6, most) - strings
    kept = tuple(replace(note, string=note.string - shift) for note in piece.notes if note.string > shift)
    if not kept:
        fit = ", ".join(one.name for one in PHRASES.values() if max(note.string for note in one.notes) <= strings)
        raise InputError(
            f"the phrase {piece.name} needs {most} strings; this guitar has {strings}. "
            + (f"Phrases that fit: {fit}." if fit else "Give a recording of its own.")
        )
    return replace(piece, notes=kept)
