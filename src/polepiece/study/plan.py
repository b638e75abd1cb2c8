"""The whole of a study before it begins: candidates, their order, chunks of them, and what a table says of it all.

Candidates that share what is dear to solve follow one another: geometry before grade before strings and heights before
circuit. Which axis is what is found by trying: what of the solved guitar does its value change?
"""

import hashlib
import json
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from polepiece import __version__
from polepiece.draw_counts import MOST_DRAWS
from polepiece.errors import InputError, PolepieceError
from polepiece.guitar import Guitar, heard_position, wound_turns, write_guitar
from polepiece.materials import constants_hash, constants_words
from polepiece.pickup import anatomy, string_layout
from polepiece.study.axis import AS_IS, Axis
from polepiece.study.columns import columns_of
from polepiece.study.design import Design, design_of
from polepiece.study.setup import Setup, Values

SCHEMA = "polepiece/sweep/1"
DEARNESS = ("geometry", "magnet", "strings and coil", "circuit")
CHUNK = 512  # rows: seconds of work, some 0.2 MB


@dataclass(frozen=True, kw_only=True, eq=False)
class StudyPlan:
    """One study; equal ones have the same `digest`, and go on with one another's finished chunks."""

    setup: Setup
    design: Design
    design_name: str
    dear: tuple[str, ...]  # of each axis, one of `DEARNESS`
    commit: str | None
    chunk_rows: int = CHUNK

    @property
    def count(self) -> int:
        """Number of candidates."""
        return self.design.count

    @property
    def each(self) -> int:
        """Candidates of a chunk at most."""
        return max(self.chunk_rows // self.setup.rows, 1)

    @cached_property
    def starts(self) -> tuple[int, ...]:
        """Where chunks begin and the last one ends: with a new solved magnet where one is near.

        A chunk that ended inside a group of its own size would have two workers solve the same magnet.
        """
        axes = sum(one in DEARNESS[:2] for one in self.dear)
        cuts = [0]
        while cuts[-1] < self.count:
            stop = min(cuts[-1] + self.each, self.count)
            if stop < self.count and axes and self.design.group(stop - 1, axes) == self.design.group(stop, axes):
                here = self.design.group(stop, axes)
                low, high = cuts[-1], stop  # the group's first place lies in (low, high]: halve
                while high - low > 1:
                    middle = (low + high) // 2
                    low, high = (low, middle) if self.design.group(middle, axes) == here else (middle, high)
                stop = high if self.design.group(cuts[-1], axes) != here else stop
            cuts.append(stop)
        return tuple(cuts)

    @property
    def chunks(self) -> int:
        """Number of chunks."""
        return len(self.starts) - 1

    def candidates(self, chunk: int) -> tuple[list[int], list[Values]]:
        """Return the places in the design, and the values, of one chunk."""
        places = [int(one) for one in self.design.order(range(self.starts[chunk], self.starts[chunk + 1]))]
        return places, [self.design.values(one) for one in places]

    def rows(self, chunk: int) -> int:
        """Return how many rows a chunk has."""
        return (self.starts[chunk + 1] - self.starts[chunk]) * self.setup.rows

    @cached_property
    def provenance(self) -> dict[str, Any]:
        """What a table says of how it was made, as JSON values."""
        setup = self.setup
        text = write_guitar(setup.guitar)
        return {
            "schema": SCHEMA, "version": setup.version, "commit": self.commit, "constants": setup.constants,
            "constants_are": constants_words(), "guitar": setup.guitar.name,
            "guitar_sha256": hashlib.sha256(text.encode()).hexdigest(), "guitar_toml": text,
            "pickup": setup.pickup, "position": setup.position, "design": self.design_name, "count": self.count,
            "seed": setup.seed, "draws": setup.draws, "mesh": "coarse" if setup.coarse else "usual",
            "axes": [
                {"text": axis.text, "column": axis.column, "solves_again": dear}
                for axis, dear in zip(setup.axes, self.dear)
            ],
            "columns": {one.name: one.meaning for one in columns_of(setup)},
        }  # fmt: skip

    @cached_property
    def digest(self) -> str:
        """Hash of all that shapes the table; the commit is told and not asked about."""
        told = {key: value for key, value in self.provenance.items() if key != "commit"}
        return hashlib.sha256(json.dumps([told, self.starts], sort_keys=True).encode()).hexdigest()


def plan_study(
    guitar: Guitar, pickup: str, axes: Sequence[Axis], *, position: str | None = None, design: str = "grid",
    count: int | None = None, seed: int = 0, draws: int = 0, coarse: bool = False, commit: str | None = None,
    chunk_rows: int = CHUNK,
) -> StudyPlan:  # fmt: skip
    """Return a study.

    Parameters
    ----------
    guitar : Guitar
    pickup : str
        Name of the pickup that is worked on and asked about.
    axes : sequence of Axis
    position : str, optional
        In which it is heard; default: the pickup by itself.
    design : str
        "grid", "latin-hypercube" or "sobol".
    count : int, optional
        Candidates of a design that is drawn.
    seed : int
        Of the design and of the draws.
    draws : int
        Possible guitars of each candidate besides the nominal one.
    coarse : bool
        Solve on the coarse mesh, some 1 dB from the usual one.
    commit : str, optional
        Of the source, told in the table.
    chunk_rows : int
        Rows that are computed and kept at a time.

    Raises
    ------
    InputError
        When there is no axis, two of them move the same, or a number is out of range.
    """
    if not axes:
        raise InputError("nothing is varied; say what with --vary, such as --vary magnet=alnico-2/alnico-5.")
    for at, one in enumerate(axes):
        if any(one.key == other.key or one.column == other.column for other in axes[:at]):
            raise InputError(f"{one.text}: {one.key} is varied twice.")
    if not 0 <= draws <= MOST_DRAWS:
        raise InputError(f"--draws is {draws}; there are 0 to {MOST_DRAWS} of a candidate.")
    name = guitar.pickup(pickup).name
    where = heard_position(guitar, name, position).name
    setup = Setup(
        guitar=guitar, pickup=name, position=where, axes=tuple(axes), seed=seed, draws=draws, coarse=coarse,
        version=__version__, constants=constants_hash(),
    )  # fmt: skip
    for one in axes:
        _check_turns(setup, one)
    found = {one.key: dearness(setup, one) for one in axes}
    ordered = tuple(sorted(axes, key=lambda one: DEARNESS.index(found[one.key])))
    setup = replace(setup, axes=ordered)
    return StudyPlan(
        setup=setup, design=design_of(ordered, design, count, seed), design_name=design,
        dear=tuple(found[one.key] for one in ordered), commit=commit, chunk_rows=chunk_rows,
    )  # fmt: skip


def _check_turns(setup: Setup, axis: Axis) -> None:
    """Refuse to vary turns that follow a resistance that was read: every candidate would be the same."""
    found_key = re.fullmatch(r"pickups\[(\d+)\]\.coils?(?:\[\d+\])?\.turns", axis.key)
    if found_key is None:
        return
    at = int(found_key[1])
    alone, found = replace(setup, axes=(axis,)), set()
    for value in (axis.values[0], axis.values[-1]):
        try:
            found.add(tuple(round(one, 6) for one in wound_turns(alone.filed((value,)).pickups[at])))
        except PolepieceError:
            return
    read = setup.guitar.pickups[at].resistance
    if len(found) == 1 and read is not None:
        raise InputError(
            f"{axis.text}: its resistance was read, {read / 1e3:g} kohm, and the turns are those that make it: every "
            "candidate would be the same. Vary resistance_kohm, or take it out of the guitar file."
        )


def dearness(setup: Setup, axis: Axis) -> str:
    """Return what an axis has solved again: the dearest of what any of its values changes.

    A value that is refused by itself tells nothing; it may be possible beside others, and is refused where it is not.
    """
    alone = replace(setup, axes=(axis,))
    tried = axis.values if axis.count <= 16 else (axis.values[0], axis.values[-1])
    worst = len(DEARNESS) - 1
    for value in tried:
        if value in AS_IS:
            continue
        try:
            worst = min(worst, _changed(setup, alone.moved(alone.filed((value,)), (value,))))
        except PolepieceError:
            continue
    return DEARNESS[worst]


def _changed(setup: Setup, after: Guitar) -> int:
    """Return the place in `DEARNESS` of the dearest that differs."""
    before, worst = setup.guitar, len(DEARNESS) - 1
    for was, now in zip(before.pickups, after.pickups):
        if anatomy(was) != anatomy(now) or _layout(before, was.name) != _layout(after, now.name):
            return 0
        if (was.magnet, was.poles) != (now.magnet, now.poles):
            worst = min(worst, 1)
    alike = before.pickups == after.pickups and before.strings == after.strings
    return worst if alike and before.scale_length == after.scale_length else min(worst, 2)


def _layout(guitar: Guitar, pickup: str) -> object:
    one = guitar.pickup(pickup)
    return string_layout(guitar, one, anatomy(one))
