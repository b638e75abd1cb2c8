"""A wire between a bench and the server that a test can cut: bytes are swallowed, and no connection is closed."""

import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress


class Wire:
    """Forwards from a port of this machine to a server's socket, each way for itself while it is whole."""

    def __init__(self, there: str) -> None:
        self.up, self.down = threading.Event(), threading.Event()
        self._there = there
        self._taken = socket.create_server(("127.0.0.1", 0))
        self._ends: list[socket.socket] = []
        threading.Thread(target=self._serve, daemon=True).start()
        self.mend()

    @property
    def port(self) -> int:
        """Where it is reached."""
        return int(self._taken.getsockname()[1])

    def cut(self, *, up: bool = True, down: bool = True) -> None:
        """Swallow what goes up to the server, or comes down from it."""
        for way, wanted in ((self.up, up), (self.down, down)):
            if wanted:
                way.clear()

    def mend(self) -> None:
        """Forward again; what was swallowed is lost, and connections that missed it are closed."""
        for one in self._ends:
            with suppress(OSError):
                one.shutdown(socket.SHUT_RDWR)
        self._ends.clear()
        self.up.set()
        self.down.set()

    def close(self) -> None:
        """Take it down."""
        self._taken.close()
        self.mend()

    def _serve(self) -> None:
        while True:
            try:
                near, _ = self._taken.accept()
            except OSError:
                return
            far = socket.socket(socket.AF_UNIX)
            far.connect(self._there)
            self._ends += [near, far]
            for one, other, way in ((near, far, self.up), (far, near, self.down)):
                threading.Thread(target=self._forward, args=(one, other, way), daemon=True).start()

    def _forward(self, one: socket.socket, other: socket.socket, way: threading.Event) -> None:
        with one, suppress(OSError):
            while data := one.recv(65536):
                if way.is_set():
                    other.sendall(data)
        with suppress(OSError):
            other.shutdown(socket.SHUT_WR)


@contextmanager
def wire(there: str) -> Iterator[Wire]:
    """Put up a wire for a while."""
    made = Wire(there)
    try:
        yield made
    finally:
        made.close()
