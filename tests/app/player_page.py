"""A page with nothing but the player, for the browser tests: three states, two of them equal."""

import sys

import numpy as np
from fastapi import Response
from nicegui import app, ui

from polepiece.app.widgets.player import PlayedSound, PlayedState, Player
from polepiece.sound import to_bytes

RATE, SECONDS = 48_000, 2.0


def sound(name: str) -> np.ndarray:
    """Return seeded noise: equal for "one" and "same", another one for "other"."""
    seed = 1 if name in ("one", "same") else 2
    return 0.2 * np.random.default_rng(seed).standard_normal(round(RATE * SECONDS)).clip(-3, 3)


@app.get("/sound/{name}.flac")
def flac(name: str) -> Response:
    """Serve one sound."""
    return Response(to_bytes(sound(name), RATE, container="FLAC"), media_type="audio/flac")


def played(name: str, gain: float) -> PlayedSound:
    """Return a sound with its two gains."""
    peaks = tuple(int(v) for v in np.tile([-60, 60], 200))
    return PlayedSound(url=f"/sound/{name}.flac", aligned=1.0, true=gain, note=f"{gain:g} times", peaks=peaks)


@ui.page("/")
def page() -> None:
    """Show the player, a field to type in, and what was last told to the server."""
    told = ui.label("nothing").mark("told")
    states = [
        PlayedState(key="1", name="as it is", sounds={"cable": played("one", 1.0), "driven": played("driven", 1.0)}),
        PlayedState(key="2", name="the same again", sounds={"cable": played("same", 1.0)}),
        PlayedState(key="3", name="another", sounds={"cable": played("other", 0.5)}),
        PlayedState(key="4", name="not there yet"),
    ]
    tones = {"cable": "Cable", "driven": "Driven"}
    player = Player(
        states, duration=SECONDS, rate=RATE, tones=tones, on_choose=lambda key: told.set_text(f"chosen {key}")
    )
    ui.input("name")
    late = PlayedState(key="4", name="there now", sounds={"cable": played("late", 1.0)})
    ui.button("late", on_click=lambda: player.show([*states[:3], late], duration=SECONDS, rate=RATE))


if __name__ == "__main__":
    ui.run(host="127.0.0.1", port=int(sys.argv[1]), reload=False, show=False)
