"""A pytest plugin that puts one more construction beside the others before the package is imported.

``POLEPIECE_ADDED`` names a folder with two files: the construction and a registry that lists it. Every other module is
the package's own.
"""

import importlib.machinery
import importlib.util
import os
import sys
from collections.abc import Sequence
from pathlib import Path
from types import ModuleType

REGISTRY = "polepiece.guitar.constructions"


class Added:
    """Finds the registry in the added folder; its neighbours there and in the package."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def find_spec(
        self, name: str, path: Sequence[str] | None = None, target: ModuleType | None = None
    ) -> importlib.machinery.ModuleSpec | None:
        """Answer for the registry alone."""
        if name != REGISTRY or path is None:
            return None
        beside = [str(self.folder), *(str(Path(one) / "constructions") for one in path)]
        return importlib.util.spec_from_file_location(
            name, self.folder / "__init__.py", submodule_search_locations=beside
        )


if "POLEPIECE_ADDED" in os.environ:
    sys.meta_path.insert(0, Added(Path(os.environ["POLEPIECE_ADDED"])))  # type: ignore[arg-type]
