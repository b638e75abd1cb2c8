"""What a socket may say, and for which tab: one clear line instead of a traceback, and no tab but its own.

A browser opens one socket for a page and names the page's client in every message. NiceGUI takes that name as it
comes: whoever knows the name of another tab could press its buttons. Here a socket speaks for the page whose handshake
it made, and makes that handshake only with the cookies with which the page was asked for.
"""

import inspect
import json
import logging
import re
from collections.abc import Awaitable, Callable, Mapping
from http.cookies import CookieError, SimpleCookie
from typing import Any
from urllib.parse import parse_qs

from nicegui import Client, core

from polepiece.app.server.guard import BENCH, COOKIE

log = logging.getLogger("polepiece.serve")
NEEDED: Mapping[str, Mapping[str, type | tuple[type, ...]]] = {
    "handshake": {"client_id": str, "tab_id": str, "document_id": str},
    "event": {"client_id": str, "id": int},
    "javascript_response": {"client_id": str, "request_id": str},
    "ack": {"client_id": str, "next_message_id": int},
    "log": {"client_id": str, "level": str, "message": str},
}
"""What each message of a page has to hold."""
WRONG = (TypeError, ValueError, KeyError, AttributeError, IndexError, RecursionError)
_SAID = re.compile(r"2\d*(\[.*)", re.DOTALL)  # an event of socket.io: its kind, the number of its acknowledgement, JSON


def guard_sockets() -> None:
    """Put the judge in front of what takes messages; once a process."""
    sio = core.sio
    handlers = sio.handlers["/"]
    for name in NEEDED:
        if not getattr(handlers[name], "judged", False):
            sio.on(name, _judged(name, handlers[name]))
    if not getattr(handlers["connect"], "judged", False):
        sio.on("connect", _connecting(handlers["connect"]))
        sio.eio.on("message", _read(sio.eio.handlers["message"]))


def fault_of(name: str, given: tuple[Any, ...]) -> str:
    """Return what is wrong with a message, or nothing."""
    if len(given) != 1 or not isinstance(given[0], dict):
        return "is no object"
    for key, kind in NEEDED[name].items():
        value = given[0].get(key)
        if not isinstance(value, kind) or isinstance(value, bool):
            return f"has no {key} that can be meant"
    return ""


def _judged(name: str, handler: Callable[..., Any]) -> Callable[..., Awaitable[Any]]:
    async def take(sid: str, *given: Any) -> Any:
        fault = fault_of(name, given)
        if not fault and name == "handshake" and not _same_visitor(sid, given[0]["client_id"]):
            fault = "is for a page that another visitor has opened"
        if not fault and name != "handshake" and given[0]["client_id"] not in core.sio.rooms(sid):
            fault = "is for another tab than its own"
        if not fault:
            try:
                found = handler(sid, *given)
                return await found if inspect.isawaitable(found) else found
            except WRONG as error:
                fault = f"cannot be taken ({type(error).__name__})"
        _refuse(name, fault)
        return False

    take.judged = True  # type: ignore[attr-defined]
    return take


def _connecting(handler: Callable[..., Awaitable[Any]]) -> Callable[..., Awaitable[Any]]:
    """A socket may make its handshake as it connects, in its address."""

    async def take(sid: str, environ: dict[str, Any], auth: Any = None) -> Any:
        query = {key: value[0] for key, value in parse_qs(str(environ.get("QUERY_STRING", ""))).items()}
        if query.get("implicit_handshake") == "true":
            fault = fault_of("handshake", (query,))
            if not fault and not _same_visitor(sid, query["client_id"]):
                fault = "is for a page that another visitor has opened"
            if fault:
                _refuse("handshake", fault)
                raise ConnectionRefusedError("refused")
        try:
            return await handler(sid, environ, auth)
        except WRONG as error:
            _refuse("connect", f"cannot be taken ({type(error).__name__})")
            raise ConnectionRefusedError("refused") from None

    take.judged = True  # type: ignore[attr-defined]
    return take


def _read(handler: Callable[..., Awaitable[Any]]) -> Callable[..., Awaitable[Any]]:
    async def take(sid: str, data: Any) -> None:
        if not readable(data):
            _refuse("socket", "cannot be read")
            return
        try:
            await handler(sid, data)
        except WRONG as error:
            _refuse("socket", f"cannot be taken ({type(error).__name__})")

    return take


def readable(data: Any) -> bool:
    """Tell whether a message of a socket can be read: its kind, and of an event a list that begins with a name."""
    if not isinstance(data, str) or not data:
        return False
    if data[0] != "2":
        return data[0] in "013"  # connect, disconnect, acknowledgement
    found = _SAID.fullmatch(data)
    try:
        said = json.loads(found[1]) if found else None
    except (ValueError, RecursionError):
        return False
    return isinstance(said, list) and bool(said) and isinstance(said[0], str)


def _same_visitor(sid: str, client_id: str) -> bool:
    """Tell whether a socket comes with the cookies with which the page was asked for."""
    client = Client.instances.get(client_id)
    if client is None or client.request is None:
        return True  # there is no such page: the handshake itself says no
    environ = core.sio.get_environ(sid) or {}
    return _visitor(environ.get("HTTP_COOKIE", "")) == _visitor(client.request.headers.get("cookie", ""))


def _visitor(cookies: str) -> tuple[str, ...]:
    try:
        found = SimpleCookie(cookies)
    except CookieError:
        return ("",)
    return tuple(found[name].value if name in found else "" for name in (COOKIE, BENCH))


def _refuse(name: str, fault: str) -> None:
    log.warning("polepiece: a message (%s) of a page %s; it was not taken.", name, fault)
