"""Imported in the processes of a page before they compute: a turned screw takes a second more, on the coarse mesh.

What a page shows meanwhile, and whether it can be stopped, hangs on no number; solved on the mesh that people have, the
geometries of two such tests took forty seconds.
"""

import time

from polepiece.app.server.worker import Answer, LiveBenches
from polepiece.guitar import Guitar
from tests.app import coarse  # noqa: F401

exactly = LiveBenches.turned


def turned(self: LiveBenches, guitar: Guitar, pickup: str, heard: str | None = None) -> Answer:
    """Answer as the live process does, as late as it does with a geometry that is large."""
    time.sleep(1.0)  # s; on the fine mesh half of one to three
    return exactly(self, guitar, pickup, heard)


LiveBenches.turned = turned  # type: ignore[method-assign]
