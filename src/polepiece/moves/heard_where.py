"""In which positions of the switches a change is heard."""

from collections.abc import Iterable

from polepiece.circuit import what_matters
from polepiece.guitar import Guitar, Pickup, SwitchPosition, positions_of, stand_in, unchecked
from polepiece.moves.changes import Change, apply
from polepiece.pickup import circuit_load, coil_resistances, position_net


def positions_moved(guitar: Guitar, pickup: str, changes: Iterable[Change]) -> tuple[str, ...]:
    """Return the names of the positions in which something is other than before, in the order of the switch.

    A volume behind the switch moves all of them; a pickup's own tone those in which that pickup is on; a turn of the
    selector none: it goes from one to another.

    Parameters
    ----------
    guitar : Guitar
    pickup : str
        That is worked on.
    changes : iterable of Change

    Raises
    ------
    InputError
        When a change cannot be made.
    """
    after = apply(guitar, pickup, changes)
    return moved_between(guitar, after)


def moved_between(before: Guitar, after: Guitar) -> tuple[str, ...]:
    """Return the names of the positions of ``before`` that are otherwise in ``after``."""
    later = {one.name: one for one in positions_of(after)}
    return tuple(
        one.name for one in positions_of(before) if _seen(before, one) != _seen(after, later.get(one.name, one))
    )


def _seen(guitar: Guitar, position: SwitchPosition) -> object:
    """Return all that is heard in a position: the pickups that are on, strings, and what the jack sees."""
    pickups = [guitar.pickup(one) for one in position.on]
    net = position_net(guitar, position, {one.name: stand_in(one) for one in pickups})
    on = [_as_joined(one) if one.name in position.wirings else one for one in pickups]
    return on, guitar.strings, guitar.tuning, circuit_load(guitar), what_matters(net)


def _as_joined(pickup: Pickup) -> object:
    """Return a pickup whose coils a position joins otherwise: how they are joined by themselves does not matter."""
    read = [f"{one:.9g}" for one in coil_resistances(pickup)]  # as read between the leads: the same, however joined
    return unchecked(pickup, wiring="series", resistance=None, inductance=None), read


def positions_words(guitar: Guitar, moved: tuple[str, ...]) -> str:
    """Return in words where a change is heard: "in every position", or their names."""
    count = len(positions_of(guitar))
    if not moved:
        return "in no position: it chooses one"
    if count == 1 or len(moved) < count:
        return ("in the position " if len(moved) == 1 else "in the positions ") + "; ".join(moved)
    return "in every position"
