"""Factors on disk: safe to delete, safe for two processes, never a pickle.

One ``.npz`` a key in the user's cache folder (``POLEPIECE_CACHE`` names another; empty switches it off). Files are
written beside their place and renamed; the oldest go when the folder grows over its cap.
"""

import contextlib
import os
import tempfile
import zipfile
from collections.abc import Mapping
from pathlib import Path

import numpy as np
from platformdirs import user_cache_path

CAP_BYTES = 600 * 1024 * 1024


def folder() -> "Path | None":
    """Return the cache folder, or None when caching is switched off."""
    given = os.environ.get("POLEPIECE_CACHE")
    if given == "":
        return None
    return Path(given) if given else user_cache_path("polepiece", appauthor=False)


def load(key: str) -> "dict[str, np.ndarray] | None":
    """Return the arrays stored under ``key``, or None when there are none (or they are damaged)."""
    place = folder()
    if place is None:
        return None
    path = place / f"{key}.npz"
    try:
        with path.open("rb") as file, np.load(file, allow_pickle=False) as stored:  # closed also where it is damaged
            arrays = {name: stored[name] for name in stored.files}
    except (OSError, ValueError, KeyError, zipfile.BadZipFile, EOFError):
        return None
    with contextlib.suppress(OSError):
        os.utime(path)
    return arrays


def store(key: str, arrays: Mapping[str, np.ndarray]) -> None:
    """Store ``arrays`` under ``key``; a folder that cannot be written is not an error."""
    place = folder()
    if place is None:
        return
    try:
        place.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(prefix=".new-", suffix=".npz", dir=place)
    except OSError:
        return
    try:
        with os.fdopen(handle, "wb") as file:
            np.savez(file, **arrays)  # type: ignore[arg-type]
        os.replace(name, place / f"{key}.npz")
    except OSError:
        with contextlib.suppress(OSError):
            os.unlink(name)
        return
    _trim(place)


def _trim(place: Path) -> None:
    with contextlib.suppress(OSError):
        files = [(p.stat().st_mtime, p.stat().st_size, p) for p in place.glob("*.npz")]
        total = sum(size for _, size, _ in files)
        for _, size, path in sorted(files):
            if total <= CAP_BYTES:
                return
            with contextlib.suppress(OSError):
                path.unlink()
                total -= size
