"""One position of the switches: which pickups are on, and how they are joined."""

from dataclasses import dataclass
from typing import Annotated, Final, Literal, get_args

from polepiece.coil import Wiring
from polepiece.errors import InputError
from polepiece.guitar.checks import Checked, word_refused
from polepiece.guitar.parameter import NEEDED, choice, text, texts, unwritten

How = Literal["parallel", "series", "out-of-phase", "series-out-of-phase"]
WIRINGS: tuple[Wiring, ...] = get_args(Wiring)
PHASE: Final = "phase"
Joined = Wiring | Literal["phase"]
"""What a switch does to one pickup: how its coils are joined, or "phase": its two leads exchanged."""
PHASE_SAID = ("phase", "phase-switch", "phase-reverse", "reversed", "leads-exchanged", "leads-swapped", "inverted")
SPLIT_SAID = ("split", "coil-split", "tap", "tapped", "coil-tap", "coil-tapped", "single-coil", "single")
COILS = (
    'pickups whose coils are joined otherwise there, such as "bridge: split-screws"; "bridge: phase": its leads '
    "exchanged"
)

# fmt: off


@dataclass(frozen=True, slots=True, kw_only=True)
class SwitchPosition(Checked):
    """A position; with a pulled knob it is another one."""

    name: Annotated[str, text(NEEDED, "what you call the position; no two alike")]
    on: tuple[str, ...] = texts((), "pickups that are on; in series the first is at the hot end")
    how: How = choice(
        "parallel", "how they are joined; out of phase: the last of them has its leads exchanged")
    coils: tuple[str, ...] = texts((), COILS)
    base: str = unwritten("", "with knobs pulled: the position that it is without them; made, never said")
    pulled: tuple[str, ...] = unwritten((), "those knobs, as push_pull says them")

    # fmt: on
    @property
    def series(self) -> bool:
        """Whether the pickups stand on one another."""
        return self.how.startswith("series")

    @property
    def turned(self) -> frozenset[str]:
        """The pickups whose leads are exchanged in it: by ``how``, by "phase", and back again by both."""
        by_how = {self.on[-1]} if self.on and self.how.endswith("out-of-phase") else set()
        for said in self.coils:
            pickup, joined = coils_of(said)
            if joined == PHASE:
                by_how ^= {pickup}
        return frozenset(by_how)

    @property
    def wirings(self) -> dict[str, Wiring]:
        """How the coils of a pickup are joined in it, where that is not the pickup's own wiring."""
        found = (coils_of(one) for one in self.coils)
        return {pickup: joined for pickup, joined in found if joined != PHASE}


def coils_of(said: str) -> tuple[str, Joined]:
    """Read "bridge: split-screws" as a pickup and what is done to it.

    Raises
    ------
    InputError
        When it is not such a pair; the message continues the path of its key.
    """
    pickup, colon, word = (one.strip() for one in said.rpartition(":"))
    if not colon or not pickup:
        raise InputError(f'is "{said}"; write the pickup and how its coils are joined, such as "bridge: split-screws".')
    return pickup, joined_called(word, said)


def joined_called(word: str, said: str) -> Joined:
    """Return what a word does to a pickup; ``said`` is the whole that was written.

    Raises
    ------
    InputError
        When it is no such word; the message continues the path of its key.
    """
    wiring = word.strip().lower().replace(" ", "-").replace("_", "-")
    for one in WIRINGS:
        if wiring == one:
            return one
    if wiring in PHASE_SAID:
        return PHASE
    if wiring in SPLIT_SAID:
        raise InputError(f'is "{said}"; of a split say which coil stays on: split-screws or split-slugs.')
    raise InputError(word_refused(word.strip(), (*WIRINGS, PHASE), wiring))
