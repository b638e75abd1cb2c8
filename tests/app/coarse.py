"""Imported in the processes of a page before they compute (`processes.PRELOAD`): a bench is on the coarse mesh.

What a page does with numbers is tested there, not the numbers: a geometry takes a tenth of the time, and an interval
of the fewest draws an eighth.
"""

from polepiece import draw_counts

draw_counts.DRAWS = draw_counts.LEAST_DRAWS  # before it becomes the usual number of whatever draws

from polepiece.bench import bench  # noqa: E402
from polepiece.pickup.engine import COARSE  # noqa: E402

bench.Resolution = lambda: COARSE  # type: ignore[assignment, misc]
