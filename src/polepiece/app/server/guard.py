"""Who may talk to the server, and how much: host, origin, token, size, and headers that browsers obey.

A page on the web can make the visitor's browser send requests to 127.0.0.1. What stops it here: the Host header must
be ours (a foreign name that resolves to this machine is refused), an Origin must be this very address, port included,
for pages and for websockets, a request without one must not be marked as another page's (Sec-Fetch), and every body
has a limit that is counted while it arrives.
"""

import hashlib
import hmac
from collections.abc import Callable, Iterable, Mapping
from http.cookies import CookieError, SimpleCookie
from urllib.parse import parse_qsl, quote, urlencode

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from polepiece.app.server.bench_door import SCOPE
from polepiece.notebook import pass_of

COOKIE = "polepiece-visitor"
BENCH = "polepiece-bench"  # cookie of a visitor who writes for a bench
ENTER = "/enter"
LARGEST_BODY = 1 << 20  # bytes of any request
LARGEST_UPLOAD = 64 << 20  # bytes of an upload: a minute of stereo in 24 bit at 96 kHz is 35 MB
UPLOADS = ("/_nicegui/client/",)

# Vue compiles templates in the browser (eval) and the frame carries its set-up inline; everything else is from here.
POLICY = (
    "default-src 'none'; script-src 'self' 'unsafe-inline' 'unsafe-eval'; style-src 'self' 'unsafe-inline'; "
    "img-src 'self' data: blob:; font-src 'self' data:; media-src 'self' data: blob:; connect-src 'self' blob:; "
    "worker-src 'self' blob:; manifest-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'; "
    "object-src 'none'"
)
HEADERS = (
    (b"content-security-policy", POLICY.encode()),
    (b"x-frame-options", b"DENY"),
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"permissions-policy", b"camera=(), geolocation=(), microphone=(), usb=()"),
)


class _TooLarge(Exception):
    """The body went over its limit while it arrived."""


class Guard:
    """ASGI middleware in front of everything.

    Parameters
    ----------
    app : ASGI application
    hosts : iterable of str
        Values of the Host header that are us, port included. Empty: any (only with a token).
    token : str, optional
        What a visitor must show once.
    bench : callable, optional
        Returns the name of the bench whose pass is given, or None (`BenchDoor.name`). The token of a bench lets in too.
    """

    def __init__(
        self, app: ASGIApp, *, hosts: Iterable[str], token: str | None = None,
        bench: Callable[[str], str | None] = lambda _: None,
    ) -> None:  # fmt: skip
        self.app, self.hosts, self.token, self.bench = app, frozenset(hosts), token, bench
        if not self.hosts and token is None:
            raise ValueError("any host only with a token")

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Refuse, or pass on with a counted body and our headers."""
        if scope["type"] not in ("http", "websocket"):
            await self.app(scope, receive, send)
            return
        headers = {key.decode("latin-1").lower(): value.decode("latin-1") for key, value in scope["headers"]}
        fault = self._stranger(headers)
        if fault:
            await _refuse(scope, send, *fault)
            return
        shown = _cookie(headers, BENCH)
        if shown is not None and self.bench(shown) is not None:
            scope = {**scope, SCOPE: shown}
        elif self.token is not None and not self._known(headers):
            await self._ask_for_token(scope, receive, send)
            return
        if scope["type"] == "http" and scope["path"] == ENTER:
            await self._ask_for_token(scope, receive, send)
            return
        if scope["type"] == "websocket":
            await self.app(scope, receive, send)
            return
        await self._pass_on(scope, headers, receive, send)

    def _stranger(self, headers: Mapping[str, str]) -> tuple[int, str] | None:
        host = headers.get("host", "").lower()
        if self.hosts and host not in self.hosts:
            return 400, "This is not the address of this page. Open the one that polepiece serve has printed."
        origin = headers.get("origin")
        if origin is not None and origin.lower() != f"http://{host}":
            return 403, "A page from another address asked for this; it was refused."
        # An image or a frame of another page sends no Origin, but browsers say whose it is; a link may be followed.
        followed = headers.get("sec-fetch-mode") == "navigate" and headers.get("sec-fetch-dest") == "document"
        if headers.get("sec-fetch-site") in ("cross-site", "same-site") and not followed:
            return 403, "A page from another address asked for this; it was refused."
        return None

    # --- token -------------------------------------------------------------------------------------
    def _pass(self) -> str:
        """Value of the cookie: follows from the token and does not tell it."""
        assert self.token is not None
        return hmac.new(self.token.encode(), b"polepiece visitor", hashlib.sha256).hexdigest()

    def _known(self, headers: Mapping[str, str]) -> bool:
        shown = _cookie(headers, COOKIE)
        return shown is not None and hmac.compare_digest(shown.encode(), self._pass().encode())

    async def _ask_for_token(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "websocket":
            await _refuse(scope, send, 401, "")
            return
        query = dict(parse_qsl(scope.get("query_string", b"").decode("latin-1")))
        shown = query.pop("token", None)
        place = str(scope.get("path", "/"))
        if scope["method"] == "POST" and place == ENTER:
            body = await _small_body(receive)
            shown, place, query = dict(parse_qsl(body.decode("latin-1"))).get("token"), "/", {}
        cookie = None if shown is None else self._cookie_for(shown)
        if cookie is not None:
            place = "/" + place.lstrip("/\\")
            target = quote(place) + (f"?{urlencode(query)}" if query else "")
            cookie += "; Path=/; HttpOnly; SameSite=Strict; Max-Age=2592000"
            extra = [(b"location", target.encode()), (b"set-cookie", cookie.encode())]
            await _answer(send, 303, b"", extra)
            return
        wrong = "That is not the token. " if shown is not None else ""
        await _answer(send, 401, _DOOR.replace("{wrong}", wrong).encode(), [])

    def _cookie_for(self, shown: str) -> str | None:
        """Return the cookie that a token is worth, None when it is nobody's."""
        if self.token is not None and hmac.compare_digest(shown.encode(), self.token.encode()):
            return f"{COOKIE}={self._pass()}"
        mine = pass_of(shown)
        return f"{BENCH}={mine}" if self.bench(mine) is not None else None

    # --- size --------------------------------------------------------------------------------------
    async def _pass_on(self, scope: Scope, headers: Mapping[str, str], receive: Receive, send: Send) -> None:
        upload = scope["method"] == "POST" and scope["path"].startswith(UPLOADS) and "/upload/" in scope["path"]
        limit = LARGEST_UPLOAD if upload else LARGEST_BODY
        words = f"This is larger than {limit >> 20} MiB, the most that is taken here."
        given = headers.get("content-length", "0")
        if not given.isdigit() or int(given) > limit:
            await _answer(send, 413, words.encode(), [])
            return
        count, begun = 0, False

        async def counted() -> Message:
            nonlocal count
            message = await receive()
            if message["type"] == "http.request":
                count += len(message.get("body", b""))
                if count > limit:
                    raise _TooLarge
            return message

        async def dressed(message: Message) -> None:
            nonlocal begun
            if message["type"] == "http.response.start":
                begun = True
                ours = {key for key, _ in HEADERS}
                kept = [pair for pair in message.get("headers", []) if pair[0].lower() not in ours]
                message = {**message, "headers": [*kept, *HEADERS]}
            await send(message)

        try:
            await self.app(scope, counted, dressed)
        except _TooLarge:
            if not begun:
                await _answer(send, 413, words.encode(), [])


def _cookie(headers: Mapping[str, str], name: str) -> str | None:
    try:
        found = SimpleCookie(headers.get("cookie", "")).get(name)
    except CookieError:
        return None
    return None if found is None else found.value


async def _small_body(receive: Receive) -> bytes:
    body = b""
    while len(body) < 4096:
        message = await receive()
        body += message.get("body", b"")
        if message["type"] != "http.request" or not message.get("more_body"):
            break
    return body[:4096]


async def _refuse(scope: Scope, send: Send, status: int, words: str) -> None:
    if scope["type"] == "websocket":
        await send({"type": "websocket.close", "code": 1008})
    else:
        await _answer(send, status, words.encode(), [])


async def _answer(send: Send, status: int, body: bytes, extra: list[tuple[bytes, bytes]]) -> None:
    kind = b"text/html; charset=utf-8" if body.startswith(b"<!") else b"text/plain; charset=utf-8"
    length = (b"content-length", str(len(body)).encode())
    headers = [(b"content-type", kind), (b"cache-control", b"no-store"), length, *HEADERS, *extra]
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": body})


_DOOR = f"""<!doctype html><html lang="en"><head><meta charset="utf-8"><title>polepiece</title>
<meta name="viewport" content="width=device-width, initial-scale=1"><meta name="color-scheme" content="light dark">
<style>body{{font:16px/1.5 system-ui,sans-serif;max-width:34em;margin:12vh auto;padding:0 1em}}
input,button{{font:inherit;padding:.4em .6em}}</style></head><body><main><h1>polepiece</h1>
<p>{{wrong}}This notebook is open to those who know its token. Whoever started the server has it. With the token of a
bench, what is written here says so.</p>
<form method="post" action="{ENTER}"><label>Token <input name="token" type="password" autocomplete="off"></label>
<button>Enter</button></form></main></body></html>"""


def hosts_of(host: str, port: int, is_local: bool) -> list[str]:
    """Return the Host headers that mean this server; none where every name of the machine is meant."""
    if host in ("0.0.0.0", "::"):
        return []
    names = ["127.0.0.1", "localhost", "[::1]"] if is_local else []
    names.append(f"[{host}]" if ":" in host else host)
    ports = [f":{port}"] + ([""] if port == 80 else [])
    return [name.lower() + one for name in dict.fromkeys(names) for one in ports]
