"""What every JSON object carries, and how it is printed: strict, one object, nothing else on stdout."""

import json
import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

import typer

from polepiece import __version__

if TYPE_CHECKING:
    from polepiece.guitar import Assumption, Guitar, Pickup

_PICKUP = re.compile(r"^pickups\[(\d+)\]")


def pickup_of(guitar: "Guitar", name: str | None) -> "Pickup":
    """Return the pickup that is meant; without a name there must be one only."""
    from polepiece.errors import InputError

    if name is not None:
        return guitar.pickup(name)
    if len(guitar.pickups) == 1:
        return guitar.pickups[0]
    names = ", ".join(one.name for one in guitar.pickups)
    raise InputError(f"this guitar has {len(guitar.pickups)} pickups; say which with --pickup: {names}.")


def assumed_of(guitar: "Guitar", pickups: "Sequence[Pickup] | None" = None) -> "list[Assumption]":
    """Return what was assumed of the guitar and of ``pickups`` (None: of all)."""
    concerned = {guitar.pickups.index(one) for one in (guitar.pickups if pickups is None else pickups)}
    found = []
    for one in guitar.assumed:
        place = _PICKUP.match(one.path)
        if place is None or int(place.group(1)) in concerned:
            found.append(one)
    return found


def envelope(
    name: str, guitar: "Guitar", body: Mapping[str, Any], *, seed: int, pickups: "Sequence[Pickup] | None" = None
) -> dict[str, Any]:
    """Return ``body`` with what every object carries."""
    from polepiece.materials import constants_hash, constants_words

    return {
        "schema": f"polepiece/{name}/1",
        "version": __version__,
        "constants": constants_hash(),
        "constants_are": constants_words(),
        "seed": seed,
        "assumed": [asdict(one) for one in assumed_of(guitar, pickups)],
        **body,
    }


def plain_envelope(name: str, body: Mapping[str, Any]) -> dict[str, Any]:
    """Return ``body`` with what every object carries, where nothing is computed: no seed, nothing assumed."""
    from polepiece.materials import constants_hash, constants_words

    return {
        "schema": f"polepiece/{name}/1",
        "version": __version__,
        "constants": constants_hash(),
        "constants_are": constants_words(),
        "seed": None,
        "assumed": [],
        **body,
    }


def plain(value: Any) -> Any:
    """Return ``value`` as what strict JSON has: a number that is not finite becomes null."""
    if value is None or isinstance(value, bool | str | int):
        return value
    if isinstance(value, float):
        return float(value) if math.isfinite(value) else None
    if isinstance(value, Mapping):
        return {str(key): plain(one) for key, one in value.items()}
    if hasattr(value, "tolist"):  # NumPy arrays and scalars
        return plain(value.tolist())
    if isinstance(value, Sequence | set | frozenset):
        return [plain(one) for one in value]
    raise TypeError(f"no JSON for {type(value).__name__}")


def emit(body: Mapping[str, Any]) -> None:
    """Print one JSON object on stdout."""
    typer.echo(json.dumps(plain(body), allow_nan=False))
