"""What to measure first on the Guitar page: kept, it is listed; not asked yet, it is found on request."""

from collections.abc import Awaitable, Callable
from typing import Any

import pytest
from nicegui.testing import User

from polepiece.app.guitar import measure_first
from polepiece.app.server import shared
from polepiece.app.server.worker import WORK
from polepiece.bench import HangsOn, Share

Opener = Callable[[str], Awaitable[User]]


def one(words: str, settle: str, share: float) -> Share:
    nothing: dict[str, float] = {}
    return Share(words=words, settle=settle, path="", share=share, first=nothing, total=nothing, moves=nothing)


FOUND = HangsOn(
    pickup="neck", spread={}, shares=(one("cable", "capacitance meter", 0.52), one("steel of the strings", "", 0.2))
)


async def test_what_is_kept_is_listed(page_of: Opener, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(measure_first, "known_hangs_on", lambda *_: FOUND)
    user = await page_of("/guitar")
    await user.should_see("cable: 52 % of the spread; to settle it: capacitance meter")
    await user.should_see("Nothing at the bench settles: steel of the strings 20 %.")
    await user.should_not_see(marker="find-first")


async def test_what_was_never_asked_is_found_on_request(page_of: Opener, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(measure_first, "known_hangs_on", lambda *_: None)
    user = await page_of("/guitar")
    await user.should_see("Not worked out for the guitar as it is now")
    asked: list[tuple[Any, ...]] = []

    class Job:
        def __await__(self) -> Any:
            return found().__await__()

    async def found() -> HangsOn:
        return FOUND

    async def follow(_: object, job: Any) -> Any:
        return await job

    monkeypatch.setattr(type(shared.room().solves), "run", lambda _, *what, **more: (asked.append(what), Job())[1])
    monkeypatch.setattr(measure_first.Working, "follow", follow)
    user.find(marker="find-first").click()
    await user.should_see("cable: 52 % of the spread; to settle it: capacitance meter")
    (guitar, pickup) = next(rest for kind, *rest in asked if kind == "hangs on")  # the page also asks for states
    assert "hangs on" in WORK
    assert (guitar, pickup) == (shared.room().notebook.guitar(1), "neck")
