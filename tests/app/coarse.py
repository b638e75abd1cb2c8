"""Imported in the processes of a page before they compute (`processes.PRELOAD`): a bench is on the coarse mesh.

What a page does with numbers is tested there, not the numbers: a geometry takes a tenth of the time.
"""

from polepiece.bench import bench
from polepiece.pickup.engine import COARSE

bench.Resolution = lambda: COARSE  # type: ignore[assignment, misc]
