"""Sounds of a blind trial: served by the letter on the button, so that nothing on the page tells which one it is."""

import secrets
from dataclasses import dataclass

from fastapi import Response
from nicegui import app

from polepiece.app.hear.sounds import Clip
from polepiece.app.widgets.player import PlayedSound, PlayedState
from polepiece.kept import Kept
from polepiece.measure import SLOTS, BlindTrial
from polepiece.sound import level_states

MOST = 32  # trials at hand; those of tabs that were closed make room
LETTER_WORDS = {"A": "A, before", "B": "B, after", "X": "X, which one?", "1": "first", "2": "second"}
_NEVER = {"Cache-Control": "no-store"}  # X is another sound at the next trial


@dataclass(slots=True, kw_only=True)
class Listener:
    """A trial that is listened to in one tab, and its two sounds."""

    trial: BlindTrial
    before: Clip
    after: Clip

    def clip(self, slot: str) -> Clip:
        """Return what a button plays now."""
        return self.before if self.trial.plays(slot) == "before" else self.after

    def states(self, token: str) -> list[PlayedState]:
        """Return the buttons of the trial that is on now, each with the gain that the plan of the trial wants."""
        pair = (self.before, self.after)
        found = level_states([one.loudness_lufs for one in pair], [one.peak_dbfs for one in pair])
        aligned = dict(zip(("before", "after"), found.aligned_gain_db))
        out = []
        for slot in SLOTS[self.trial.plan.kind]:
            side = self.trial.plays(slot)
            gain_db = aligned[side] if self.trial.plan.level_matched else found.true_gain_db
            gain = float(10.0 ** (gain_db / 20.0) / self.clip(slot).scale)
            sound = PlayedSound(url=f"/blind/{token}/{self.trial.number}-{slot}.flac", aligned=gain, true=gain, note="")
            out.append(PlayedState(key=slot, name=LETTER_WORDS[slot], sounds={"cable": sound}))
        return out


_LISTENERS = Kept[str, Listener](MOST)


def seat(listener: Listener) -> str:
    """Give a listener a place; return the name of it in addresses."""
    token = secrets.token_urlsafe(12)
    _LISTENERS[token] = listener
    return token


def leave(token: str) -> None:
    """Give the place back."""
    del _LISTENERS[token]


def build() -> None:
    """Register the address of the sounds."""

    @app.get("/blind/{token}/{name}")
    async def blind(token: str, name: str) -> Response:
        listener = _LISTENERS.get(token)
        number, _, slot = name.removesuffix(".flac").partition("-")
        trial = None if listener is None else listener.trial
        if listener is None or trial is None or trial.over or slot not in SLOTS[trial.plan.kind] or (
            number != str(trial.number)
        ):  # fmt: skip
            return Response("There is no such sound now; open the page again.", status_code=404)
        return Response(listener.clip(slot).flac, media_type="audio/flac", headers=_NEVER)
