"""Does a bar from the drawer go into a pickup? And which bars are there to try?"""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from polepiece.notebook.records import Part, PartEntry

if TYPE_CHECKING:
    from collections.abc import Iterable

    from polepiece.guitar import Guitar


@dataclass(frozen=True, slots=True, kw_only=True)
class PartFit:
    """A part against a pickup."""

    pickup: str
    verdict: str  # "fits", "shim", "measure first", "too large", "not a bar", "no bar here"
    words: str  # what to do, where there is something to do
    short: str = ""  # the dimensions that do not simply fit


def part_fit(part: Part, guitar: "Guitar", pickup: str) -> PartFit:
    """Hold a bar against the bar that sits in a pickup, with the sizes the drawer has of it.

    A size that is not in the drawer counts as that of a bought long bar with its usual scatter.
    """
    from polepiece.moves import bar_fit  # a second of numerical libraries

    the_pickup = guitar.pickup(pickup)
    if part.kind != "bar":
        return PartFit(pickup=the_pickup.name, verdict="not a bar", words="its size is not checked against a guitar")
    if (stay := the_pickup.built.magnets_stay) is not None:
        return PartFit(pickup=the_pickup.name, verdict="no bar here", words=stay.in_the_drawer)
    measured = part.length_mm, part.width_mm, part.thickness_mm
    size = None
    if None not in measured:
        size = (1e-3 * (measured[0] or 0.0), 1e-3 * (measured[1] or 0.0), 1e-3 * (measured[2] or 0.0))
    finish = "rough-cast" if part.finish == "rough-cast" else "polished"
    found = bar_fit(guitar, the_pickup.name, part.grade or "unknown", finish=finish, size=size)
    does = [f"{one.dimension}: {one.words}" for one in found.checks if one.verdict != "fits"]
    if size is None and any(one is not None for one in measured):
        does.append("its size is in the drawer in part only and was not used; measure all three with a plastic caliper")
    if found.bars > 1:
        does.append(f"this pickup takes {found.bars}, of one kind, like poles facing each other")
    short = ", ".join(one.dimension for one in found.checks if one.verdict == found.verdict != "fits")
    return PartFit(pickup=the_pickup.name, verdict=found.verdict, words="; ".join(does), short=short)


def owned_bars(parts: "Iterable[PartEntry]") -> tuple[str, ...]:
    """Return the grades of the bars in the drawer as the constraint ``owned=`` of a plan takes them."""
    names = {
        f"{one.part.grade}-rough-cast" if one.part.finish == "rough-cast" else one.part.grade
        for one in parts
        if one.retired is None and one.count > 0 and one.part.kind == "bar" and one.part.grade not in (None, "unknown")
    }
    return tuple(sorted(name for name in names if name))
