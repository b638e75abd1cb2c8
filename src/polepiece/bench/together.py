"""Several pickups on at once: a state like any other, in another position of the switch."""

from collections.abc import Sequence
from dataclasses import replace

from polepiece.bench.bench import Bench
from polepiece.bench.state import State
from polepiece.errors import InputError
from polepiece.guitar import Guitar, position_with


def together(
    guitar: Guitar, pickups: Sequence[str], *, bench: Bench | None = None, coils: tuple[str, ...] = ()
) -> State:
    """Return the state of the first of ``pickups`` with all of them on.

    Parameters
    ----------
    guitar : Guitar
    pickups : sequence of str
        Two or more names.
    coils : tuple of str
        Pickups whose coils are joined otherwise, as in `SwitchPosition.coils`: "neck: split-screws".

    Raises
    ------
    InputError
        When fewer than two pickups are named.

    Notes
    -----
    The pickups are joined side by side; the controls are taken as one set behind them (a master volume and tone). All
    count as leads joined the same way round: the sign of a pickup is the sign of its field times that of its winding
    (``Pickup.wound``). A bar turned and a winding reversed together are in phase, and their hum cancels.
    """
    if len(set(pickups)) < 2:
        raise InputError(f"{list(pickups)} names fewer than two pickups; together needs two or more.")
    names = tuple(dict.fromkeys(guitar.pickup(one).name for one in pickups))
    heard = replace(position_with(guitar, names), coils=coils) if coils else names
    return (bench or Bench()).heard_in(heard).state(guitar, names[0])
