"""States of a guitar made audible one after the other and handed to the player as they come."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from urllib.parse import urlencode

from fastapi import Response
from nicegui import app, run, ui

from polepiece.app import shared
from polepiece.app.addressing import alive
from polepiece.app.desk import Desk
from polepiece.app.digits import signed
from polepiece.app.jobs import Progress, Stopped
from polepiece.app.player import MOST_STATES, Level, PlayedSound, PlayedState, Player, Tone
from polepiece.app.sounds import SHELF, Clip, Made, Take, key_of
from polepiece.app.states import guitar_in, words_of
from polepiece.app.widgets import Fault, Working, press
from polepiece.errors import InputError, PolepieceError
from polepiece.sound import decode, level_states, to_bytes
from polepiece.voicing import Guitar

SEED = 0
FOREVER = {"Cache-Control": "private, max-age=86400, immutable"}  # the name is a hash of what shaped the sound


@dataclass(slots=True, kw_only=True)
class Played:
    """What is played through every state."""

    phrase: str = "open-chord"
    take: Take | None = None
    made_with: Guitar | None = None  # the state in which the recording was made


@dataclass(slots=True)
class Entry:
    """One state that is wanted."""

    state: str
    name: str
    key: str = ""
    made: Made | None = None
    fault: str = ""
    notes: list[str] = field(default_factory=list)


class Listening:
    """A player and what feeds it.

    Parameters
    ----------
    desk : Desk
    played : Played
    on_change : callable, optional
        Called when sounds have come, and when tone or level were changed.
    tone, level
        What is set at first.
    """

    def __init__(
        self, desk: Desk, played: Played, *, on_change: "Callable[[], None] | None" = None, tone: Tone = "clean",
        level: Level = "aligned", label: str = "Player",
    ) -> None:  # fmt: skip
        self.desk, self.played = desk, played
        self.tone: Tone = tone
        self.level: Level = level
        self.entries: list[Entry] = []
        self._on_change = on_change or (lambda: None)
        self._making = False
        self._halted = False
        self._now_made = ""
        self.working = Working()
        self.more = press("make the sounds that are missing", self._resume, mark="make-rest")
        self.more.set_visibility(False)
        self.fault = Fault()
        self.player = Player(
            label=label, tone=tone, level=level, on_tone=self._toned, on_level=self._levelled
        ).mark("player")  # fmt: skip
        self._client = ui.context.client
        self._client.on_delete(self._leave)

    # --- what is wanted ----------------------------------------------------------------------------
    def want(self, states: Sequence[str]) -> None:
        """Want these states, in this order; call `make` after."""
        old = {one.state: one for one in self.entries}
        self.entries = [old.get(state) or Entry(state, words_of(self.desk, state)) for state in states[:MOST_STATES]]
        self._halted = False
        self._rekey()
        self.show()

    def play_other(self, played: Played) -> None:
        """Play something else through the same states; call `make` after."""
        self.played, self._halted = played, False
        self._rekey()
        self.show()

    def _rekey(self) -> None:
        for one in self.entries:
            one.fault = ""
            try:
                one.key = self._key(guitar_in(self.desk, one.state))
            except PolepieceError as error:
                one.key, one.made, one.fault = "", None, str(error)
                continue
            one.made = SHELF.get(one.key)
        faults = [f"{one.name}: {one.fault}" for one in self.entries if one.fault]
        self.fault.show("\n".join(faults)) if faults else self.fault.clear()
        if self.working.job is not None and self._now_made not in {one.key for one in self.entries}:
            self.working.job.stop()

    def _key(self, guitar: Guitar) -> str:
        made_with = self.played.made_with or self.desk.guitar
        return key_of(
            guitar, self.desk.pickup, phrase=self.played.phrase, seed=SEED, take=self.played.take, made_with=made_with
        )

    # --- making ------------------------------------------------------------------------------------
    async def make(self) -> None:
        """Make what is missing, first state first; each is heard as soon as it is there."""
        if self._making:
            return
        self._making = True
        try:
            while (one := self._next()) is not None:
                await self._make_one(one)
        finally:
            self._making = False
        self.more.set_visibility(self._halted and self._next(halted=True) is not None)

    def _next(self, halted: bool = False) -> Entry | None:
        if self._halted and not halted:
            return None
        return next((one for one in self.entries if one.key and one.made is None and not one.fault), None)

    async def _make_one(self, one: Entry) -> None:
        key = one.key
        made_with = (self.played.made_with or self.desk.guitar) if self.played.take is not None else None
        job = shared.room().jobs.run(
            "sound", key, guitar_in(self.desk, one.state), self.desk.pickup, self.played.phrase, SEED, self.played.take,
            made_with, on_progress=lambda progress: self._told(one, progress),
        )  # fmt: skip
        self._now_made = key
        try:
            made: Made = await self.working.follow(job)
        except Stopped:
            self._halted = key in {other.key for other in self.entries}  # stopped by the person, not by a new wish
            return
        except PolepieceError as error:
            one.fault = str(error)
            self.fault.show(f"{one.name}: {error}")
            return
        SHELF.put(made)
        if not alive(self._client):
            return
        for other in self.entries:
            if other.key == key:
                other.made = made
        self.show()
        self._on_change()

    def _told(self, one: Entry, progress: Progress) -> None:
        words = f"{one.name}: {progress.words}"
        self.working.told(Progress(done=progress.done, total=progress.total, words=words))

    async def _resume(self) -> None:
        self._halted = False
        self.more.set_visibility(False)
        await self.make()

    def _leave(self) -> None:
        self._halted = True
        if self.working.job is not None:
            self.working.job.stop()

    # --- showing -----------------------------------------------------------------------------------
    def show(self) -> None:
        """Hand what is there to the player, levelled."""
        there = [one for one in self.entries if one.made is not None]
        sounds: dict[int, dict[str, PlayedSound]] = {id(one): {} for one in self.entries}
        for tone in ("clean", "driven"):
            for one, sound in zip(there, self._levelled_sounds(tone, there)):
                sounds[id(one)][tone] = sound
        states = [
            PlayedState(
                key=one.state, name=one.name, clean=sounds[id(one)].get("clean"), driven=sounds[id(one)].get("driven"),
                note=one.fault[:120] or "not made yet",
            )
            for one in self.entries
        ]  # fmt: skip
        first = there[0].made.clean if there and there[0].made is not None else None
        rate = first.sample_rate if first else 48_000
        self.player.show(states, duration=first.frames / rate if first else 0.0, rate=rate)

    def differences(self, tone: str) -> "list[tuple[Entry, float]]":
        """Return the true difference in level of each state that is there against the first of them, dB."""
        there = [one for one in self.entries if one.made is not None]
        clips = [_clip(one, tone) for one in there]
        if not clips:
            return []
        found = level_states([one.loudness_lufs for one in clips], [one.peak_dbfs for one in clips])
        return list(zip(there, found.difference_db))

    def _levelled_sounds(self, tone: str, there: list[Entry]) -> list[PlayedSound]:
        clips = [_clip(one, tone) for one in there]
        if not clips:
            return []
        found = level_states([one.loudness_lufs for one in clips], [one.peak_dbfs for one in clips])
        first = 1 + self.entries.index(there[0])
        return [
            PlayedSound(
                url=f"/sound/{one.made.key if one.made else ''}/{tone}.flac", aligned=_factor(aligned_db, clip),
                true=_factor(found.true_gain_db, clip), peaks=clip.peaks,
                note="the others are set against this" if n == 0 else level_words(difference, first),
            )
            for n, (one, clip, aligned_db, difference) in enumerate(
                zip(there, clips, found.aligned_gain_db, found.difference_db)
            )
        ]  # fmt: skip

    def downloads(self) -> list[tuple[str, str]]:
        """Return name and address of a WAV file of each state that is there, as it is set: tone and level."""
        out = []
        there = [one for one in self.entries if one.made is not None]
        for n, (one, sound) in enumerate(zip(there, self._levelled_sounds(self.tone, there)), start=1):
            factor = sound.aligned if self.level == "aligned" else sound.true
            name = (
                f"{n}-{_plain(one.name)}-{self.tone}-{'equally-loud' if self.level == 'aligned' else 'true-level'}.wav"
            )
            query = urlencode({"gain": f"{factor:.6g}", "name": name})
            out.append((one.name, f"{sound.url.removesuffix('.flac')}.wav?{query}"))
        return out

    def _toned(self, tone: str) -> None:
        self.tone = "driven" if tone == "driven" else "clean"
        self._on_change()

    def _levelled(self, level: str) -> None:
        self.level = "true" if level == "true" else "aligned"
        self._on_change()


def level_words(difference_db: float, first: int) -> str:
    """Return the true difference in words."""
    if abs(difference_db) < 0.05:
        return f"really as loud as {first}"
    return f"really {signed(difference_db)} dB against {first}"


def _clip(one: Entry, tone: str) -> Clip:
    assert one.made is not None
    return one.made.clean if tone == "clean" else one.made.driven


def _factor(gain_db: float, clip: Clip) -> float:
    return float(10.0 ** (gain_db / 20.0) / clip.scale)


def _plain(name: str) -> str:
    return "-".join("".join(c if c.isalnum() or c == "." else " " for c in name).split())[:60]


# ------------------------------------------------------------------------------------------------ routes


def build() -> None:
    """Register the addresses under which sounds are fetched."""

    @app.get("/sound/{key}/{file}")
    async def sound(key: str, file: str, gain: float = 1.0, name: str = "sound.wav") -> Response:
        tone, _, ending = file.partition(".")
        made = SHELF.get(key)
        if made is None or tone not in ("clean", "driven") or ending not in ("flac", "wav"):
            return Response("There is no such sound any more; open the page again, it makes it anew.", status_code=404)
        clip = made.clean if tone == "clean" else made.driven
        if ending == "flac":
            return Response(clip.flac, media_type="audio/flac", headers=FOREVER)
        try:
            data = await run.io_bound(_wav, clip, gain)
        except InputError as error:
            return Response(str(error), status_code=400)
        shown = "".join(c for c in name if c.isascii() and (c.isalnum() or c in ".-_"))[:120] or "sound.wav"
        return Response(
            data, media_type="audio/wav", headers={"Content-Disposition": f'attachment; filename="{shown}"'}
        )


def _wav(clip: Clip, gain: float) -> bytes:
    if not 0.0 < gain < 1e6:
        raise InputError(f"gain is {gain:g}; allowed is more than 0.")
    found = decode(clip.flac, "sound.flac")
    return to_bytes(found.samples * gain, found.sample_rate, container="WAV")
