"""Work for a process beside the server: it tells what it has begun with."""

import sys
from multiprocessing.connection import Connection


def tell(line: Connection) -> None:
    """Send which of the libraries that load late are there, and how many threads this process has."""
    from polepiece import later

    late = ("numba", "scipy.linalg", "scipy.signal")
    there = [name for name in late if name in sys.modules]
    line.send((there, later.is_compiled(later._half), "numba.np.ufunc.omppool" in sys.modules))
