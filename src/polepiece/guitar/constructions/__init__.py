"""How pickups are built, one file each. A new one is its file, an import and a place in `CONSTRUCTIONS`."""

from polepiece.errors import InputError
from polepiece.guitar.constructions.bar_single import BAR_SINGLE
from polepiece.guitar.constructions.construction import BarWork, BenchStep, Construction
from polepiece.guitar.constructions.humbucker import HUMBUCKER
from polepiece.guitar.constructions.rod_single import ROD_SINGLE
from polepiece.guitar.constructions.two_bar_single import TWO_BAR_SINGLE

CONSTRUCTIONS: tuple[Construction, ...] = (HUMBUCKER, ROD_SINGLE, BAR_SINGLE, TWO_BAR_SINGLE)
SLUGS = tuple(one.slug for one in CONSTRUCTIONS)
_BY_SLUG = {one.slug: one for one in CONSTRUCTIONS}


def construction_of(slug: str) -> Construction:
    """Return the record of a construction.

    Raises
    ------
    InputError
        When there is none of that name.
    """
    found = _BY_SLUG.get(slug)
    if found is None:
        raise InputError(f"there is no construction {slug!r}; it must be one of {', '.join(SLUGS)}.")
    return found
