"""Where the page is served: the address, its port, and the token of its visitors; loads nothing heavy."""

import ipaddress
import socket
from dataclasses import dataclass
from pathlib import Path

from polepiece.errors import InputError

LOCAL = "127.0.0.1"
PORT = 8377  # ours; any free one does
LEAST_TOKEN = 16  # characters: enough that guessing is hopeless


@dataclass(frozen=True, slots=True, kw_only=True)
class Address:
    """Where the page is served, and what a visitor must know to see it.

    Raises
    ------
    InputError
        When others could reach it without a token, or the token is too short.
    """

    host: str = LOCAL
    port: int = PORT
    token: str | None = None

    def __post_init__(self) -> None:
        if not 0 <= self.port <= 65535:
            raise InputError(f"port is {self.port}; ports lie between 1 and 65535 (0 takes a free one).")
        if self.token is not None and len(self.token) < LEAST_TOKEN:
            raise InputError(
                f"the token has {len(self.token)} characters; at least {LEAST_TOKEN} are needed, so that nobody "
                "guesses it."
            )
        if not self.is_local and self.token is None:
            raise InputError(
                f"host is {self.host}, which other machines can reach; that needs a token. Put at least {LEAST_TOKEN} "
                "random characters into a file and give it with --token-file, or set POLEPIECE_TOKEN. Without "
                f"--host only this machine ({LOCAL}) sees the page."
            )

    @property
    def is_local(self) -> bool:
        """True when only this machine can reach it."""
        if self.host == "localhost":
            return True
        try:
            return ipaddress.ip_address(self.host).is_loopback
        except ValueError:
            return False

    @property
    def url(self) -> str:
        """Address to open in a browser on this machine."""
        everywhere = self.host in ("0.0.0.0", "::")
        host = LOCAL if everywhere else f"[{self.host}]" if ":" in self.host else self.host
        return f"http://{host}:{self.port}"


def bind(address: Address) -> socket.socket:
    """Take the port.

    Raises
    ------
    InputError
        When it is in use or the host is not one of this machine.
    """
    family = socket.AF_INET6 if ":" in address.host else socket.AF_INET
    taken = socket.socket(family, socket.SOCK_STREAM)
    taken.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        taken.bind((address.host, address.port))
    except (OSError, OverflowError) as error:
        taken.close()
        raise InputError(
            f"{address.host}:{address.port} cannot be used ({getattr(error, 'strerror', None) or error}). Is polepiece "
            "already running there? Open it, or choose another port with --port (0 takes a free one)."
        ) from None
    return taken


def read_token(path: str | Path) -> str:
    """Return the token in a file: its first line, spaces off.

    Raises
    ------
    InputError
        When it cannot be read or holds none.
    """
    try:
        with Path(path).open(encoding="utf-8") as file:
            token = file.readline(1024).strip()
    except (OSError, UnicodeDecodeError) as error:
        raise InputError(f"{path}: the token cannot be read ({error}).") from None
    if not token:
        raise InputError(f"{path}: the first line is empty; it should be the token.")
    return token
