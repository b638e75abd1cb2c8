"""Who computes chunks: one interface for processes of this machine and for a cluster.

``submit`` hands over a call and returns a future of the standard library, so the loop of a study waits for both in the
same way. A future that fails with an error of `LOST` tells of a worker that is gone and not of its work.
"""

from collections.abc import Callable
from concurrent.futures import BrokenExecutor, CancelledError, Future
from typing import Any, Protocol

from polepiece.errors import InputError

INSTALL = "pip install 'polepiece[cluster]'"


class Workers(Protocol):
    """Whoever computes chunks."""

    @property
    def size(self) -> int:
        """How many chunks are computed at the same time, now."""

    def submit(self, call: Callable[..., Any], /, *arguments: Any) -> "Future[Any]":
        """Hand over a call."""

    def is_lost(self, error: BaseException) -> bool:
        """Return whether an error says that a worker is gone."""

    def close(self) -> None:
        """Let the workers go; what is under way is dropped."""


class Cluster:
    """Workers of `dask.distributed`, on this machine or on others, behind a scheduler.

    Parameters
    ----------
    address : str
        Of the scheduler: ``tcp://host:8786``.

    Raises
    ------
    InputError
        When the library is missing, nobody answers, or there is no worker.
    """

    def __init__(self, address: str, *, timeout_s: float = 20.0) -> None:
        try:
            from distributed import Client
        except ImportError:
            raise InputError(f"--scheduler needs dask.distributed: {INSTALL}.") from None
        try:
            self._client = Client(address, timeout=timeout_s, set_as_default=False)
            self._client.wait_for_workers(1, timeout=timeout_s)
        except (OSError, ValueError, TimeoutError) as error:
            raise InputError(
                f"--scheduler {address}: nobody answers there, or it has no worker ({type(error).__name__}). Start "
                "`dask scheduler` and, on every machine, `dask worker ADDRESS --nthreads 1 --nworkers auto`."
            ) from None
        self._executor = self._client.get_executor(pure=False)

    @property
    def size(self) -> int:
        """Threads of all workers that are there now."""
        return max(int(sum(self._client.nthreads().values())), 1)

    def submit(self, call: Callable[..., Any], /, *arguments: Any) -> "Future[Any]":
        """Hand over a call; a worker that is lost has its calls done by others."""
        future: Future[Any] = self._executor.submit(call, *arguments)
        return future

    def is_lost(self, error: BaseException) -> bool:
        """Return whether an error says that workers are gone: too many died with one call, or all at once."""
        from distributed.scheduler import KilledWorker

        return isinstance(error, KilledWorker | CancelledError | BrokenExecutor | OSError)

    def close(self) -> None:
        """Leave the cluster as it is."""
        self._client.close()
