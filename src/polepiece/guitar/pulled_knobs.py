"""Pulled knobs: what one does to its pickup, what several of one pickup do together, and the positions that they make.

Each knob is a switch of its own. A split ties the link between the two coils to the hot lead or to ground and so shorts
one of them; "parallel" opens that link; "out-of-phase" turns the screw coil over in it; "phase" exchanges the leads of
the whole pickup. What several do together follows from that (`both_do`), unless the file says otherwise.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from polepiece.coil import Wiring
from polepiece.errors import InputError
from polepiece.guitar.switch_position import PHASE, Joined, SwitchPosition, coils_of, joined_called

SILENT = "silent"
EXAMPLE = '"bridge: split-screws + parallel = parallel"'
SPLITS = {"split-screws", "split-slugs"}


@dataclass(frozen=True, slots=True)
class Knobs:
    """An entry of ``push_pull``: one knob of a pickup, or what several of them do when they are pulled at once."""

    pickup: str
    pulled: tuple[Joined, ...]
    result: tuple[Joined, ...] | None = None  # of one knob what it does; of several what was said; () = silent

    @property
    def one(self) -> bool:
        """Whether it is a knob, and not what several do."""
        return len(self.pulled) == 1


def knobs_of(said: str) -> Knobs:
    """Read "bridge: split-screws" or "bridge: split-screws + parallel = parallel".

    Raises
    ------
    InputError
        When it is neither; the message continues the path of its key.
    """
    left, equals, right = (one.strip() for one in said.partition("="))
    first, *more = (one.strip() for one in left.split("+"))
    pickup, one = coils_of(first)
    pulled = (one, *(joined_called(word, said) for word in more))
    if not more and not equals:
        return Knobs(pickup, pulled, pulled)
    if not more or not equals or not right:
        raise InputError(f'is "{said}"; what several knobs do together is written {EXAMPLE}.')
    if len(set(pulled)) < len(pulled):
        raise InputError(f'is "{said}"; it names a knob twice.')
    if right.lower() == SILENT:
        return Knobs(pickup, pulled, ())
    result = tuple(joined_called(word, said) for word in right.split("+"))
    if len([one for one in result if one != PHASE]) > 1:
        raise InputError(f'is "{said}"; after the "=" stands one way to join the coils, with or without "+ phase".')
    return Knobs(pickup, pulled, result)


def both_do(pulled: Sequence[Joined]) -> tuple[Joined, ...] | None:
    """Return what knobs of one pickup do together, by the switches that are usual; None where that is not settled.

    Parameters
    ----------
    pulled : sequence
        What each does alone.

    Notes
    -----
    Kirchhoff on the switches as they are described above. With "parallel" the link is open, so a split that hangs on it
    does nothing: the pair stays parallel. A split leaves one coil, and it is turned over where that is the screw coil
    and "out-of-phase" is pulled too. With "parallel" the screw coil is turned over beside the other one. Both splits
    short the whole pickup: silent, (). "series" only undoes what a pickup is by itself; with "parallel" it is no
    circuit: None.
    """
    ways: set[Joined] = set(pulled) - {PHASE}
    turned = PHASE in pulled
    if ways >= SPLITS:
        return ()
    if len(ways) > 1:
        ways -= {"series"} if "parallel" not in ways else set()
    if "parallel" in ways:
        ways -= SPLITS
    if ways & SPLITS and "out-of-phase" in ways:
        ways -= {"out-of-phase"}
        turned ^= ways == {"split-screws"}
    if ways == {"parallel", "out-of-phase"}:
        ways = {"parallel-out-of-phase"}
    if len(ways) > 1:
        return None
    return (*ways, *((PHASE,) if turned else ()))


def together(knobs: Sequence[str], pickup: str, pulled: Sequence[Joined]) -> tuple[Joined, ...] | None:
    """Return what these knobs of one pickup do: as the file says it, else `both_do`; None where neither does."""
    for one in map(knobs_of, knobs):
        if one.pickup == pickup and set(one.pulled) == set(pulled):
            return one.result
    return both_do(pulled)


def unsettled(knobs: Sequence[str]) -> Iterator[tuple[str, tuple[Joined, ...], tuple[Joined, ...] | None]]:
    """Yield (pickup, knobs, what they are taken to do) for knobs that join the same coils and of which nothing is said.

    "phase" exchanges leads whatever the coils do, so it is settled.
    """
    read = [knobs_of(one) for one in knobs]
    said = {(one.pickup, frozenset(one.pulled)) for one in read if not one.one}
    for pickup in dict.fromkeys(one.pickup for one in read):
        own = [one.pulled[0] for one in read if one.one and one.pickup == pickup and one.pulled[0] != PHASE]
        for count in range(2, len(own) + 1):
            for pulled in combinations(own, count):
                if (pickup, frozenset(pulled)) not in said:
                    yield pickup, pulled, both_do(pulled)


def pulled_positions(found: Sequence[SwitchPosition], knobs: Sequence[str]) -> list[SwitchPosition]:
    """Return the positions with knobs pulled that change pickups that are on: one knob, then several at once.

    Leads that are exchanged are heard only beside another pickup, so "phase" makes a position only there.
    """
    out = []
    for each in _pulled_at_once(knobs):
        done = {pickup: together(knobs, pickup, words) for pickup, words in each.items()}
        if all(done.values()):  # neither silent nor unsettled
            out += [_with(one, each, done) for one in found if _is_heard(one, each)]
    return out


def pulled_contacts(found: Sequence[SwitchPosition], knobs: Sequence[str]) -> list[SwitchPosition]:
    """Return the positions with knobs pulled of a netlist, in which contacts say what a knob does: `NetElement`.

    Every knob makes one with every position, whichever pickups are on in it: what is heard is for the net to tell.
    """
    at_once = _pulled_at_once(knobs)
    return [replace(_with(one, each, {}), coils=one.coils, on=()) for each in at_once for one in found]


def _pulled_at_once(knobs: Sequence[str]) -> Iterator[dict[str, list[Joined]]]:
    """Yield what is pulled of each pickup: one knob, then several at once."""
    single = [(one.pickup, one.pulled[0]) for one in map(knobs_of, knobs) if one.one]
    for count in range(1, len(single) + 1):
        for pulled in combinations(single, count):
            each: dict[str, list[Joined]] = {}
            for pickup, joined in pulled:
                each.setdefault(pickup, []).append(joined)
            yield each


def _is_heard(position: SwitchPosition, each: dict[str, list[Joined]]) -> bool:
    alone = len(position.on) == 1
    return set(each) <= set(position.on) and not (alone and any(PHASE in words for words in each.values()))


def _with(
    position: SwitchPosition, each: dict[str, list[Joined]], done: dict[str, tuple[Joined, ...] | None]
) -> SwitchPosition:
    said = {pickup: " + ".join(words) for pickup, words in each.items()}
    how = ", ".join(words if position.on == (pickup,) else f"{pickup} {words}" for pickup, words in said.items())
    coils = tuple(f"{pickup}: {one}" for pickup, words in done.items() for one in words or ())
    knobs = tuple(f"{pickup}: {one}" for pickup, words in each.items() for one in words)
    return replace(
        position, name=f"{position.name} ({how})", coils=(*position.coils, *coils), base=position.name, pulled=knobs
    )


def wirings_of(said: Knobs) -> tuple[Wiring, ...]:
    """Return the ways to join coils that an entry names."""
    return tuple(one for one in (*said.pulled, *(said.result or ())) if one != PHASE)
