"""The door of the application, light: `serve` loads it only once its address is known to be sound."""

from collections.abc import Callable
from pathlib import Path

from polepiece.app.server import processes
from polepiece.app.server.address import Address
from polepiece.errors import InputError


def serve(
    notebook: "str | Path | None",
    address: Address,
    *,
    first_guitar: str | Path,
    show: bool = True,
    say: Callable[[str], None] = lambda _: None,
) -> None:
    """Serve the page until it is stopped.

    Parameters
    ----------
    notebook : path, optional
        Default: the one in the user's data folder.
    address : Address
    first_guitar : path
        Guitar file that is offered, invented, where no guitar is on record.
    show : bool
        Open a browser.
    say : callable
        Called with the address once the port is ours.

    Raises
    ------
    InputError
        When the port is taken, or the packages of the page are not installed.
    """
    try:
        import nicegui  # noqa: F401
    except ImportError:
        raise InputError(
            "the page needs a package that is not installed; install it with: pip install 'polepiece[app]'"
        ) from None
    processes.preheat()
    from polepiece.app.server.main import run

    run(notebook, address, first_guitar=first_guitar, show=show, say=say)
