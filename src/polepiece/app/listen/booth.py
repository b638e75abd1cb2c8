"""Where the sounds of the trial that is on are fetched: addresses that are drawn anew for each presentation.

An address says nothing, the files differ in bytes and length at every presentation, all gains are in the samples, and
all sounds of a trial lie ready before one of them is offered: whatever but the sound is seen of them is drawn.
"""

import secrets
from dataclasses import dataclass, field

from fastapi import Response
from nicegui import app

from polepiece.app.listen.work import Presentations
from polepiece.app.widgets.player import PlayedSound, PlayedState
from polepiece.kept import Kept

PATH = "/presented"
MOST = 96  # presentations at hand, over all tabs; those of tabs that were closed make room
BYTES = 16  # of chance in an address
NEVER = {"Cache-Control": "no-store"}
WORDS = {"A": "A, before", "B": "B, after", "X": "X, which one?", "1": "first", "2": "second", "3": "third"}

_AT_HAND = Kept[str, bytes](MOST)


@dataclass(slots=True)
class Booth:
    """The presentations of one tab."""

    names: dict[str, str] = field(default_factory=dict)  # of addresses, by button

    def offer(self, made: Presentations) -> list[PlayedState]:
        """Take the last presentations away and offer these; return the buttons, every gain 1."""
        self.leave()
        self.names = {slot: secrets.token_urlsafe(BYTES) for slot in made.files}
        for slot, name in self.names.items():
            _AT_HAND[name] = made.files[slot]
        return [
            PlayedState(
                key=slot,
                name=WORDS[slot],
                sounds={"cable": PlayedSound(url=f"{PATH}/{name}", aligned=1.0, true=1.0, note="")},
            )
            for slot, name in self.names.items()
        ]

    def leave(self) -> None:
        """Take the presentations away."""
        for name in self.names.values():
            if name in _AT_HAND:
                del _AT_HAND[name]
        self.names = {}


def build() -> None:
    """Register the address of the sounds, once for the pages that play them."""
    if any(getattr(route, "path", "").startswith(PATH + "/") for route in app.routes):
        return

    @app.get(PATH + "/{name}")
    async def presented(name: str) -> Response:
        data = _AT_HAND.get(name)
        if data is None:
            return Response("There is no such sound now; open the page again.", status_code=404, headers=NEVER)
        return Response(data, media_type="audio/wav", headers=NEVER)
