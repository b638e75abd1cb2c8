"""The states of one guitar as a tree: which is the present one, what undo and redo go to, where it went on twice.

A guitar that is worked on in two notebooks goes on twice. Both continuations are kept; the present state follows the
one that this notebook went on with, until another is chosen.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Literal, NamedTuple

Number = int | str  # of a state: its number in this file, or its uuid in an archive


class Pile(NamedTuple):
    """States one upon another; piles of many states share what lies below."""

    top: Number
    rest: "Pile | None"


@dataclass(frozen=True, slots=True, kw_only=True)
class Steps:
    """What undo goes back through (the top is the present state) and what redo goes to."""

    past: Pile | None = None
    future: Pile | None = None

    @property
    def back(self) -> Number | None:
        """The state that undo restores."""
        return None if self.past is None or self.past.rest is None else self.past.rest.top

    @property
    def forth(self) -> Number | None:
        """The state that redo restores."""
        return None if self.future is None else self.future.top

    def after(self, number: Number, act: str) -> "Steps | None":
        """Return what is left after a state was recorded by ``act``; None where there was nothing to undo or redo."""
        if act == "undo":
            if self.past is None or self.back is None:
                return None
            return Steps(past=self.past.rest, future=Pile(self.past.top, self.future))
        if act == "redo":
            if self.future is None:
                return None
            return Steps(past=Pile(self.future.top, self.past), future=self.future.rest)
        return Steps(past=Pile(number, self.past))


class Step(NamedTuple):
    """A state as far as the tree knows it, or the choice of one (``act`` is "choice", ``number`` the state chosen)."""

    number: Number
    parent: Number | None
    act: Literal["entry", "record", "undo", "redo", "choice"]
    restores: Number | None


@dataclass(slots=True, kw_only=True)
class Tree:
    """The states of a guitar, told in the order in which the file learned of them."""

    parents: dict[Number, Number | None] = field(default_factory=dict)
    steps: dict[Number, Steps] = field(default_factory=dict)
    followers: dict[Number, list[Number]] = field(default_factory=dict)
    present: Number | None = None

    def fault(self, one: Step) -> str | None:
        """Return why a state cannot follow on those told so far, or None."""
        if one.act == "choice":
            return None if one.number in self.parents else "this choice is of a state that does not stand before it"
        if (one.act == "entry") != (one.parent is None):
            return "this state does not follow the one before it"
        if one.parent is None:
            return "this guitar came on record twice" if self.parents else None
        if one.parent not in self.parents:
            return "this state does not follow the one before it"
        before = self.steps[one.parent]
        wanted = {"undo": before.back, "redo": before.forth}.get(one.act)
        if one.restores != wanted or (one.act in ("undo", "redo") and wanted is None):
            return f"this {one.act} does not restore the state it should"
        return None

    def tell(self, one: Step) -> None:
        """Add a state, or the choice of one; what does not follow stands for itself."""
        if one.act == "choice":
            self.present = one.number
            while self.present in self.followers:  # another notebook has chosen what this one had gone on with already
                self.present = self.followers[self.present][0]
            return
        before = self.steps.get(one.parent, Steps()) if one.parent is not None else Steps()
        self.steps[one.number] = before.after(one.number, one.act) or Steps(past=Pile(one.number, before.past))
        self.parents[one.number] = one.parent
        if one.parent is not None:
            self.followers.setdefault(one.parent, []).append(one.number)
        if one.parent == self.present:
            self.present = one.number

    def path(self, number: Number | None = None) -> list[Number]:
        """Return the states that lead to the present one, or to this one, the first first."""
        here = self.present if number is None else number
        found: list[Number] = []
        while here is not None:
            found.append(here)
            here = self.parents[here]
        return found[::-1]

    @property
    def tips(self) -> list[Number]:
        """The last state of every continuation, in the order in which the file learned of them."""
        return [one for one in self.parents if one not in self.followers]


def grown(steps: Iterable[Step]) -> Tree:
    """Return the tree of these states."""
    tree = Tree()
    for one in steps:
        tree.tell(one)
    return tree
