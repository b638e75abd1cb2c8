"""How hard the strokes of a tablature are: marks above its strings, from stroke to stroke."""

from dataclasses import dataclass, field

from polepiece.errors import InputError
from polepiece.sound.techniques import DISPLACEMENT, Touch

TOUCHES: dict[str, Touch] = {"s": "soft", "m": "medium", "h": "hard"}
SINGLE = {"!": 1.5, ",": 0.5}  # of the stroke's displacement, +3.5 and -6 dB: assumption, spread 2 to 6 and 3 to 12 dB
WAY = "<>"
MOST = 2.5e-3  # m: an accent on a hard stroke goes no further


@dataclass(slots=True)
class Dynamics:
    """Marks by step: ``s m h`` hold from there on, ``< >`` lead to the next of them, ``! ,`` are of one stroke.

    No published figure of a plectrum's strokes was found; soft, medium and hard (0.5, 1.1, 2.0 mm: steps of 6.8 and
    5.2 dB) and the accent are assumptions for listening, the same for every state that is compared.
    """

    marks: dict[int, str] = field(default_factory=dict)

    def add(self, marks: dict[int, str], where: str) -> None:
        """Take the marks of one staff.

        Raises
        ------
        InputError
            When one is none.
        """
        for mark in marks.values():
            if mark not in TOUCHES and mark not in SINGLE and mark not in WAY:
                raise InputError(
                    f"{where} says {mark!r}; there are s, m, h (from there on), < and > (on the way to the next of "
                    "them), ! (an accent) and , (hardly touched)."
                )
        self.marks |= marks

    def displacement(self, step: int) -> float:
        """Return how far a string is drawn aside at ``step``, m.

        Even steps in dB on the way from one letter to the next: a choice.
        """
        size = self._held(step)
        return min(size * SINGLE.get(self.marks.get(step, ""), 1.0), MOST)

    def _held(self, step: int) -> float:
        letters = sorted(k for k, mark in self.marks.items() if mark in TOUCHES)
        before = [k for k in letters if k <= step]
        last = DISPLACEMENT[TOUCHES[self.marks[before[-1]]]] if before else DISPLACEMENT["medium"]
        start = before[-1] if before else 0
        later = [k for k in letters if k > step]
        begun = [k for k, mark in self.marks.items() if mark in WAY and start <= k <= step]
        if not begun or not later:
            return last
        aim, first = DISPLACEMENT[TOUCHES[self.marks[later[0]]]], min(begun)
        return float(last * (aim / last) ** ((step - first) / (later[0] - first)))
