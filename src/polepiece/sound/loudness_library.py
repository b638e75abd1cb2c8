"""Three functions of the `mosqito` library, without all the others.

What the library hands out at its door is every metric that it has, and with them a library of plots: one and a half
seconds of a start and 45 MB, for two lines of one table. Here its packages are stood in for by empty ones while the
three modules are loaded, each from the library's own file.
"""

import sys
from collections.abc import Callable
from functools import cache
from importlib import import_module
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
WANTED = (
    "sq_metrics.loudness.loudness_zwst.loudness_zwst",
    "sq_metrics.sharpness.sharpness_din.sharpness_din_from_loudness",
    "sq_metrics.loudness.utils.sone_to_phon",
)
FILTERS = "sound_level_meter.noct_spectrum._n_oct_time_filter"
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
        found = tuple(getattr(import_module(f"{LIBRARY}.{one}"), one.rpartition(".")[2]) for one in WANTED)
        filters = import_module(f"{LIBRARY}.{FILTERS}")
        filters.butter = cache(filters.butter)  # type: ignore[attr-defined]  # the same 28 for every sound
        return found
    finally:
        _taken()
        sys.modules.update(others)


def _taken() -> dict[str, Any]:
    """Take the library's modules out of those that are loaded, and return them."""
    names = [name for name in sys.modules if name == LIBRARY or name.startswith(f"{LIBRARY}.")]
    return {name: sys.modules.pop(name) for name in names}
