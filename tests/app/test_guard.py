"""Who is let in: host, origin, token, size, headers; against the middleware itself, no server."""

import asyncio
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any
from urllib.parse import unquote, urlencode

import pytest

from polepiece.app.server.address import Address
from polepiece.app.server.guard import LARGEST_BODY, LARGEST_UPLOAD, Guard, hosts_of
from polepiece.errors import InputError
from polepiece.notebook import pass_of

HERE = "127.0.0.1:8377"
TOKEN = "0123456789abcdef-this-is-one"
SOCKET = "/_nicegui_ws/socket.io"


async def inside(scope: Any, receive: Any, send: Any) -> None:
    """What is guarded: tells the size of a body, accepts a websocket."""
    if scope["type"] == "websocket":
        await send({"type": "websocket.accept"})
        return
    size, more = 0, True
    while more:
        message = await receive()
        size, more = size + len(message.get("body", b"")), message.get("more_body", False)
    await send({"type": "http.response.start", "status": 200, "headers": [(b"content-type", b"text/plain")]})
    await send({"type": "http.response.body", "body": str(size).encode()})


@dataclass
class Answer:
    status: int
    headers: dict[str, str]
    text: str


class Visitor:
    """Speaks to the guard as a server would: raw messages, so that lengths may lie and hosts may be anything."""

    def __init__(
        self, token: "str | None" = None, hosts: "list[str] | None" = None, benches: "dict[str, str] | None" = None
    ) -> None:
        here = hosts_of("127.0.0.1", 8377, True) if hosts is None else hosts
        self.guard = Guard(inside, hosts=here, token=token, bench=(benches or {}).get)
        self.cookie = ""

    def _sent(self, scope: dict[str, Any], chunks: Iterable[bytes]) -> list[dict[str, Any]]:
        sent: list[dict[str, Any]] = []
        rest = iter(chunks)

        async def receive() -> dict[str, Any]:
            piece = next(rest, None)
            return {"type": "http.request", "body": piece or b"", "more_body": piece is not None}

        async def send(message: Any) -> None:
            sent.append(message)

        asyncio.run(self.guard(scope, receive, send))
        return sent

    def _scope(self, kind: str, path: str, given: dict[str, str]) -> dict[str, Any]:
        place, _, query = path.partition("?")
        headers = {"host": HERE} | ({"cookie": self.cookie} if self.cookie else {}) | given
        pairs = [(name.encode(), value.encode()) for name, value in headers.items()]
        return {"type": kind, "path": unquote(place), "query_string": query.encode(), "headers": pairs}

    def ask(self, method: str, path: str, chunks: Iterable[bytes] = (), **given: str) -> Answer:
        headers = {name.replace("_", "-"): value for name, value in given.items()}
        sent = self._sent(self._scope("http", path, headers) | {"method": method}, chunks)
        found = {name.decode(): value.decode() for name, value in sent[0]["headers"]}
        self.cookie = found.get("set-cookie", self.cookie).partition(";")[0]
        body = b"".join(one.get("body", b"") for one in sent[1:])
        return Answer(status=sent[0]["status"], headers=found, text=body.decode())

    def get(self, path: str, **given: str) -> Answer:
        return self.ask("GET", path, **given)

    def post(self, path: str, body: bytes = b"", **given: str) -> Answer:
        return self.ask("POST", path, [body], **{"content_length": str(len(body))} | given)

    def may_talk(self, **given: str) -> bool:
        return self._sent(self._scope("websocket", SOCKET, given), ())[0]["type"] == "websocket.accept"


def client(token: "str | None" = None) -> Visitor:
    return Visitor(token)


@pytest.mark.parametrize("host", ["127.0.0.1:8377", "localhost:8377", "[::1]:8377", "LOCALHOST:8377"])
def test_our_own_names_are_served(host: str) -> None:
    assert client().get("/", host=host).status == 200


@pytest.mark.parametrize(
    "host", ["evil.example", "evil.example:8377", "127.0.0.1", "127.0.0.1:80", "127.0.0.1:8377.evil.example", ""]
)
def test_a_foreign_name_for_this_machine_is_refused(host: str) -> None:
    """DNS rebinding: a name of somebody else's that resolves to 127.0.0.1 arrives with its own Host header."""
    assert client().get("/", host=host).status == 400


@pytest.mark.parametrize(
    "origin",
    [
        "http://evil.example",
        "http://127.0.0.1:9999",
        "http://localhost:8377",
        "https://127.0.0.1:8377",
        "null",
        "http://127.0.0.1",
    ],
)
def test_a_page_of_another_origin_is_refused_even_from_another_port_here(origin: str) -> None:
    assert client().post("/", origin=origin).status == 403
    assert not client().may_talk(origin=origin)


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
@pytest.mark.parametrize("dest", ["image", "iframe", "script", "empty"])
def test_another_page_cannot_start_work_with_an_image_or_a_frame(site: str, dest: str) -> None:
    """Such requests carry our Host and no Origin; browsers mark them (Fetch Metadata, W3C)."""
    mode = "navigate" if dest == "iframe" else "no-cors"
    marks = {"sec_fetch_site": site, "sec_fetch_mode": mode, "sec_fetch_dest": dest}
    assert client().get("/worksheet/print", **marks).status == 403


def test_a_link_may_be_followed_from_elsewhere_and_our_own_pages_ask_freely() -> None:
    assert (
        client().get("/", sec_fetch_site="cross-site", sec_fetch_mode="navigate", sec_fetch_dest="document").status
        == 200
    )
    for site in ("same-origin", "none"):
        assert client().get("/", sec_fetch_site=site, sec_fetch_mode="no-cors", sec_fetch_dest="image").status == 200


def test_where_a_token_leads_is_one_line() -> None:
    found = client(TOKEN).get(f"/%0d%0aset-cookie:a=b?token={TOKEN}")
    assert found.status == 303
    assert not set("\r\n") & set(found.headers["location"])


def test_our_own_origin_may_talk() -> None:
    assert client().post("/", origin=f"http://{HERE}").status == 200
    assert client().may_talk(origin=f"http://{HERE}")


def test_a_body_is_limited_by_what_it_says_it_has() -> None:
    assert client().post("/", b"x" * LARGEST_BODY).text == str(LARGEST_BODY)
    assert client().post("/", b"x" * (LARGEST_BODY + 1)).status == 413


def test_a_body_is_limited_by_what_really_comes() -> None:
    """Chunked, so that no length is given; and with a length that lies."""
    piece = b"x" * (LARGEST_BODY // 4)
    assert client().ask("POST", "/", [piece] * 4).status == 200
    assert client().ask("POST", "/", [piece] * 5).status == 413
    assert client().ask("POST", "/", [piece] * 5, content_length="10").status == 413


def test_uploads_may_be_larger_but_not_without_end() -> None:
    there = "/_nicegui/client/a/upload/1"
    assert client().post(there, b"x" * (LARGEST_BODY + 1)).status == 200
    assert client().post(there, b"x", content_length=str(LARGEST_UPLOAD + 1)).status == 413
    assert client().post(there, b"x", content_length="-5").status == 413
    piece = b"x" * (8 << 20)
    assert client().ask("POST", there, [piece] * (LARGEST_UPLOAD // len(piece) + 1)).status == 413


def test_browsers_are_told_to_load_nothing_from_elsewhere_and_never_to_be_framed() -> None:
    for answer in (client().get("/"), client(TOKEN).get("/")):
        policy = answer.headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "frame-ancestors 'none'" in policy
        assert not [word for word in policy.split() if "://" in word or word == "*"]  # no source but ourselves
        assert answer.headers["x-frame-options"] == "DENY"
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert "access-control-allow-origin" not in answer.headers


def test_without_the_token_nothing_is_told() -> None:
    for place in ("/", "/grades", "/_nicegui/whatever", "/?token=wrong-wrong-wrong-wrong"):
        answer = client(TOKEN).get(place)
        assert answer.status == 401
        assert TOKEN not in answer.text
    assert not client(TOKEN).may_talk()


def test_the_token_is_shown_once_and_leaves_the_address() -> None:
    visitor = client(TOKEN)
    answer = visitor.get(f"/grades?guitar=1&token={TOKEN}")
    assert (answer.status, answer.headers["location"]) == (303, "/grades?guitar=1")
    cookie = answer.headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=Strict" in cookie
    assert TOKEN not in cookie
    assert visitor.get("/grades?guitar=1").status == 200


def test_the_token_can_be_typed() -> None:
    visitor = client(TOKEN)
    assert visitor.post("/enter", urlencode({"token": "wrong-wrong-wrong"}).encode()).status == 401
    assert visitor.post("/enter", urlencode({"token": TOKEN}).encode()).status == 303
    assert visitor.get("/").status == 200


def test_the_redirect_stays_here() -> None:
    answer = client(TOKEN).get(f"//evil.example/x?token={TOKEN}")
    assert answer.status != 303 or not answer.headers["location"].startswith(("//", "http", "/\\"))


def test_a_made_up_cookie_does_not_open() -> None:
    for value in ("", "0" * 64, TOKEN, "x" * 5000):
        answer = client(TOKEN).get("/", cookie=f"polepiece-visitor={value}")
        assert answer.status == 401


@pytest.mark.parametrize("host", ["0.0.0.0", "192.168.1.20", "::", "bench.example"])
def test_other_machines_are_served_only_with_a_token(host: str) -> None:
    with pytest.raises(InputError, match="needs a token"):
        Address(host=host)
    assert Address(host=host, token=TOKEN).token == TOKEN


@pytest.mark.parametrize("host", ["127.0.0.1", "localhost", "::1", "127.0.0.5"])
def test_this_machine_needs_none(host: str) -> None:
    assert Address(host=host).is_local


def test_a_short_token_is_refused() -> None:
    with pytest.raises(InputError, match="at least 16"):
        Address(host="0.0.0.0", token="short")


def test_the_token_of_a_bench_lets_in_and_an_ended_one_does_not() -> None:
    """With a token of the page and without: what the browser keeps is not the token, and leads to the bench."""
    benches = {pass_of("token of the north bench"): "north"}
    for own in (None, TOKEN):
        visitor = Visitor(own, benches=benches)
        assert visitor.get("/enter").status == 401
        assert visitor.post("/enter", urlencode({"token": "token of nobody at all"}).encode()).status == 401
        answer = visitor.post("/enter", urlencode({"token": "token of the north bench"}).encode())
        assert (answer.status, answer.headers["location"]) == (303, "/")
        assert "token of" not in answer.headers["set-cookie"]
        assert "HttpOnly" in answer.headers["set-cookie"]
        kept = visitor.cookie
        assert visitor.get("/").status == 200
        assert visitor.may_talk(origin=f"http://{HERE}")
        gone = Visitor(own, benches={})
        gone.cookie = kept
        assert gone.get("/").status == (200 if own is None else 401)
