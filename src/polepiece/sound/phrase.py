"""What is played: notes on strings, and four phrases invented for comparing pickups."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from polepiece.errors import InputError
from polepiece.strings import Pluck

LONGEST = 120.0  # s


@dataclass(frozen=True, slots=True, kw_only=True)
class Note:
    """One stroke: string 1 is the thin one; times in s from the start of the phrase."""

    string: int
    fret: int = 0
    onset: float
    duration: float
    pluck: Pluck = field(default_factory=Pluck)

    def __post_init__(self) -> None:
        if not 1 <= self.string <= 12:
            raise InputError(f"note on string {self.string}; strings count from 1, the thin one.")
        if not 0 <= self.fret <= 24:
            raise InputError(f"note at fret {self.fret}; allowed are 0 (open) to 24.")
        if not 0.0 <= self.onset <= LONGEST:
            raise InputError(f"note starts at {self.onset:g} s; allowed are 0 to {LONGEST:g} s.")
        if not 0.02 <= self.duration <= LONGEST:
            raise InputError(f"note lasts {self.duration:g} s; allowed are 0.02 to {LONGEST:g} s.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Phrase:
    """Notes and the length of the whole, s."""

    name: str
    notes: tuple[Note, ...]
    duration: float

    def __post_init__(self) -> None:
        if not self.notes:
            raise InputError(f"phrase {self.name!r} has no notes.")
        if not 0.05 <= self.duration <= LONGEST:
            raise InputError(f"phrase {self.name!r} lasts {self.duration:g} s; allowed are 0.05 to {LONGEST:g} s.")
        late = max(note.onset for note in self.notes)
        if late >= self.duration:
            raise InputError(f"phrase {self.name!r} ends at {self.duration:g} s before its note at {late:g} s.")


def _back(pluck: Pluck) -> Pluck:
    """Return the stroke the other way across the strings: down and up alternate, as a hand does."""
    return replace(pluck, angle=-pluck.angle)


def _strum(
    frets: dict[int, int], order: Sequence[int], *, onset: float, end: float, gap: float, pluck: Pluck
) -> list[Note]:
    return [
        Note(
            string=string,
            fret=frets[string],
            onset=onset + place * gap,
            duration=end - onset - place * gap,
            pluck=pluck,
        )
        for place, string in enumerate(order)
    ]


def _line(steps: Sequence[tuple[int, int, float]], *, pluck: Pluck, start: float = 0.05) -> list[Note]:
    notes, now = [], start
    for place, (string, fret, length) in enumerate(steps):
        stroke = _back(pluck) if place % 2 else pluck
        notes.append(Note(string=string, fret=fret, onset=now, duration=length, pluck=stroke))
        now += length
    return notes


def _open_chord() -> Phrase:
    shape = {6: 0, 5: 2, 4: 2, 3: 1, 2: 0, 1: 0}
    down, up = (6, 5, 4, 3, 2, 1), (1, 2, 3, 4, 5)
    notes = [
        *_strum(shape, down, onset=0.05, end=2.0, gap=0.014, pluck=Pluck(displacement=1.0e-3)),
        *_strum(shape, up, onset=2.05, end=3.0, gap=0.010, pluck=_back(Pluck(displacement=0.7e-3))),
        *_strum(shape, down, onset=3.05, end=6.0, gap=0.022, pluck=Pluck(displacement=0.9e-3)),
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
        pluck = Pluck(displacement=0.9e-3)
        pluck = _back(pluck) if place % 2 else pluck
        notes.append(Note(string=string, fret=shape[string], onset=onset, duration=end - onset, pluck=pluck))
    return Phrase(name="arpeggio", notes=tuple(notes), duration=5.5)


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
            notes=tuple(_line(_LOW, pluck=Pluck(displacement=1.4e-3))),
            duration=5.0,
        ),
        Phrase(
            name="single-notes-high",
            notes=tuple(_line(_HIGH, pluck=Pluck(displacement=1.2e-3))),
            duration=5.0,
        ),
        _arpeggio(),
    )
}


def phrase(name: str) -> Phrase:
    """Return a built-in phrase: open-chord, single-notes-low, single-notes-high or arpeggio."""
    found = PHRASES.get(name)
    if found is None:
        raise InputError(f"there is no phrase {name!r}; known are {', '.join(PHRASES)}.")
    return found
