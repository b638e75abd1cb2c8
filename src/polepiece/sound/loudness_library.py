"""Three functions of the `mosqito` library, without all the others.

What the library hands out at its door is every metric that it has, and with them a library of plots: one and a half
seconds of a start and 45 MB, for two lines of one table. Here its packages are stood in for by empty ones while the
three modules are loaded, each from the library's own file.
"""

import sys
from collections.abc import Callable
from functools import cache
from importlib.util import find_spec, module_from_spec
from threading import RLock
from typing import Any

LIBRARY = "mosqito"
DOORS = (
    LIBRARY, f"{LIBRARY}.sq_metrics",
    f"{LIBRARY}.sq_metrics.loudness", f"{LIBRARY}.sq_metrics.sharpness",
    f"{LIBRARY}.sq_metrics.sharpness.sharpness_din",
)  # fmt: skip
"""Packages that load metrics which nobody asks for; the rest are loaded as they are."""
_LOCK = RLock()  # sounds are described in threads


def standards() -> tuple[Callable[..., Any], ...]:
    """Return loudness of a signal (ISO 532-1), sharpness of a loudness (DIN 45692) and phon of sone.

    Raises
    ------
    ImportError
        When the library, or something of it that is needed, is not there.
    """
    if find_spec(LIBRARY) is None:
        raise ImportError(f"no module named {LIBRARY}")
    with _LOCK:
        return _loaded()


@cache
def _loaded() -> tuple[Callable[..., Any], ...]:
    """Load the three modules as nobody else's: whoever imports the library finds it as it is."""
    others = _taken()
    try:
        for door in DOORS:
            spec = find_spec(door)
            if spec is None:
                raise ImportError(f"no module named {door}")
            sys.modules[door] = module_from_spec(spec)
        from mosqito.sound_level_meter.noct_spectrum import _n_oct_time_filter as filters
        from mosqito.sq_metrics.loudness.loudness_zwst.loudness_zwst import loudness_zwst
        from mosqito.sq_metrics.loudness.utils.sone_to_phon import sone_to_phon
        from mosqito.sq_metrics.sharpness.sharpness_din.sharpness_din_from_loudness import (
            sharpness_din_from_loudness,
        )

        filters.butter = cache(filters.butter)  # the same 28 for every sound
        return loudness_zwst, sharpness_din_from_loudness, sone_to_phon
    finally:
        _taken()
        sys.modules.update(others)


def _taken() -> dict[str, Any]:
    """Take the library's modules out of those that are loaded, and return them."""
    names = [name for name in sys.modules if name == LIBRARY or name.startswith(f"{LIBRARY}.")]
    return {name: sys.modules.pop(name) for name in names}
