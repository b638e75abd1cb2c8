"""How pickups are built, one file each. A new one is its file, an import and a place in `CONSTRUCTIONS`."""

from polepiece.errors import InputError
from polepiece.guitar.constructions.bar_single import BAR_SINGLE
from polepiece.guitar.constructions.blade_single import BLADE_SINGLE
from polepiece.guitar.constructions.construction import BarWork, BenchStep, Construction
from polepiece.guitar.constructions.humbucker import HUMBUCKER
from polepiece.guitar.constructions.not_covered import as_word
from polepiece.guitar.constructions.plate_rod_single import PLATE_ROD_SINGLE
from polepiece.guitar.constructions.rod_single import ROD_SINGLE
from polepiece.guitar.constructions.screws_over_bar import SCREWS_OVER_BAR
from polepiece.guitar.constructions.side_bar_single import SIDE_BAR_SINGLE
from polepiece.guitar.constructions.small_humbucker import SMALL_HUMBUCKER
from polepiece.guitar.constructions.small_twin_blade import SMALL_TWIN_BLADE
from polepiece.guitar.constructions.split_rods import SPLIT_RODS
from polepiece.guitar.constructions.three_bars import THREE_BARS
from polepiece.guitar.constructions.twin_blade import TWIN_BLADE
from polepiece.guitar.constructions.two_bar_single import TWO_BAR_SINGLE
from polepiece.guitar.constructions.two_bar_slugs import TWO_BAR_SLUGS
from polepiece.guitar.constructions.two_screw_rows import TWO_SCREW_ROWS

CONSTRUCTIONS: tuple[Construction, ...] = (
    HUMBUCKER, ROD_SINGLE, BAR_SINGLE, TWO_BAR_SINGLE, SMALL_HUMBUCKER, TWO_SCREW_ROWS, TWO_BAR_SLUGS, BLADE_SINGLE,
    TWIN_BLADE, SMALL_TWIN_BLADE, PLATE_ROD_SINGLE, SPLIT_RODS, SIDE_BAR_SINGLE,
    SCREWS_OVER_BAR, THREE_BARS,
)  # fmt: skip
SLUGS = tuple(one.slug for one in CONSTRUCTIONS)
_BY_SLUG = {one.slug: one for one in CONSTRUCTIONS}
_BY_WORD = {word: one.slug for one in CONSTRUCTIONS for word in (one.slug, *one.also)}


def slug_of(raw: object) -> object:
    """Return the name of the construction that a guitar file calls by another word; anything else as it is."""
    return _BY_WORD.get(as_word(raw), raw) if isinstance(raw, str) else raw


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
