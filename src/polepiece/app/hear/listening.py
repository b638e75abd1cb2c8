"""States of a guitar made audible one after the other and handed to the player as they come."""

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from urllib.parse import urlencode

from fastapi import Response
from nicegui import app, run, ui

from polepiece.app.hear.sounds import SHELF, TONES, Clip, Made, Speaker, Take, Wish
from polepiece.app.hear.states import guitar_in, words_of
from polepiece.app.server import shared
from polepiece.app.server.addressing import alive
from polepiece.app.server.desk import Desk
from polepiece.app.server.jobs import Progress, Stopped
from polepiece.app.sheet.how_far import LISTENED
from polepiece.app.widgets.controls import Fault, Working, press
from polepiece.app.widgets.player import (
    MOST_STATES,
    PLAYBACK_DB,
    Level,
    PlayedSound,
    PlayedState,
    Player,
    Tone,
)
from polepiece.errors import InputError, PolepieceError
from polepiece.guitar import Guitar
from polepiece.shown_number import signed
from polepiece.sound import decode, level_states, to_bytes

SEED = 0
PATIENCE = 1.0  # s: a sound that is no longer wanted and takes longer has a new geometry to solve
FOREVER = {"Cache-Control": "private, max-age=86400, immutable"}  # the name is a hash of what shaped the sound


@dataclass(slots=True, kw_only=True)
class Played:
    """What is played through every state."""

    phrase: str = "open-chord"
    hand: str = "lively"  # of HANDS, for a phrase
    take: Take | None = None
    made_with: Guitar | None = None  # the state in which the recording was made
    speaker: Speaker = field(default_factory=Speaker)  # at the end of the chain, in every tone but the cable's


@dataclass(slots=True)
class Entry:
    """One state that is wanted."""

    state: str
    name: str
    wish: Wish | None = None  # in the tone that is set
    sounds: dict[str, Made] = field(default_factory=dict)  # by tone
    fault: str = ""


class Listening:
    """A player and what feeds it.

    Parameters
    ----------
    desk : Desk
    played : Played
    on_change : callable, optional
        Called when sounds have come, and when tone, level, loop or playback were changed.
    tone, level, loop, playback
        What is set at first.
    """

    def __init__(
        self, desk: Desk, played: Played, *, on_change: "Callable[[], None] | None" = None, tone: Tone = "cable",
        level: Level = "aligned", loop: "tuple[float, float] | None" = None, playback: float = PLAYBACK_DB,
        label: str = "Player",
    ) -> None:  # fmt: skip
        self.desk, self.played = desk, played
        self.tone: Tone = tone
        self.level: Level = level
        self.loop, self.playback = loop, playback
        self.entries: list[Entry] = []
        self._on_change = on_change or (lambda: None)
        self._making = self._noted = False
        self._halted = False
        self._now_made, self._since = "", 0.0
        self.working = Working()
        self.more = press("make the sounds that are missing", self._resume, mark="make-rest")
        self.more.set_visibility(False)
        self.fault = Fault()
        self.player = Player(
            label=label, tone=tone, tones=TONES, level=level, loop=loop, playback=playback, on_tone=self._toned,
            on_level=self._levelled, on_loop=self._looped, on_playback=self._turned, on_played=self._played,
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
        old, self.played, self._halted = self.played, played, False
        if (old.phrase, old.take) != (played.phrase, played.take):
            self.loop = None
            self.player.loop_whole()
        self._rekey()
        self.show()

    def _rekey(self) -> None:
        """Find what each state would be called, and what is there of it."""
        for one in self.entries:
            one.fault = ""
            try:
                wishes = {tone: self._wish(guitar_in(self.desk, one.state), tone) for tone in TONES}
            except PolepieceError as error:
                one.wish, one.sounds, one.fault = None, {}, str(error)
                continue
            one.wish = wishes[self.tone]
            one.sounds = {tone: made for tone, made in one.sounds.items() if made.key == wishes[tone].key}
            found = one.sounds.get(self.tone) or SHELF.get(one.wish.key)
            if found is not None:
                one.sounds[self.tone] = found
        faults = [f"{one.name}: {one.fault}" for one in self.entries if one.fault]
        self.fault.show("\n".join(faults)) if faults else self.fault.clear()
        wanted = {one.wish.key for one in self.entries if one.wish is not None}
        job = self.working.job
        if job is not None and self._now_made not in wanted and time.monotonic() - self._since > PATIENCE:
            job.stop()  # and its process with all that it had solved; what is done sooner is kept

    def _wish(self, guitar: Guitar, tone: str) -> Wish:
        made_with = None if self.played.take is None else self.played.made_with or self.desk.guitar
        return Wish(
            guitar=guitar, pickup=self.desk.pickup, phrase=self.played.phrase, seed=SEED, take=self.played.take,
            made_with=made_with, tone=tone, speaker=self.played.speaker, hand=self.played.hand,
            heard=self.desk.heard_of(guitar),
        )  # fmt: skip

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
        missing = [one for one in self.entries if one.wish and self.tone not in one.sounds and not one.fault]
        chosen = [one for one in missing if one.state == self.player.chosen]  # what is heard comes first
        return next(iter(chosen or missing), None)

    async def _make_one(self, one: Entry) -> None:
        wish = one.wish
        assert wish is not None
        key = wish.key
        self._now_made, self._since = key, time.monotonic()
        job = shared.room().sounds.run("sound", wish, on_progress=lambda progress: self._told(one, progress))
        try:
            made: Made = await self.working.follow(job)
        except Stopped:
            wanted = {other.wish.key for other in self.entries if other.wish is not None}
            self._halted = key in wanted  # stopped by the person, not by a new wish
            return
        except PolepieceError as error:
            one.fault = str(error)
            self.fault.show(f"{one.name}: {error}")
            return
        SHELF.put(made)
        if not alive(self._client):
            return
        for other in self.entries:
            if other.wish is not None and other.wish.key == key:
                other.sounds[other.wish.tone] = made
        self.show()
        self._on_change()

    def _told(self, one: Entry, progress: Progress) -> None:
        words = f"{one.name}: {progress.words}"
        self.working.show_progress(Progress(done=progress.done, total=progress.total, words=words))

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
        sounds: dict[int, dict[str, PlayedSound]] = {id(one): {} for one in self.entries}
        for tone in TONES:
            for one, sound in self._levelled_sounds(tone):
                sounds[id(one)][tone] = sound
        states = [
            PlayedState(key=one.state, name=one.name, sounds=sounds[id(one)], note=one.fault[:120] or "not made yet")
            for one in self.entries
        ]
        first = next((clip for one in self.entries for clip in [_clip(one, self.tone)] if clip is not None), None)
        if first is None:  # another tone is being made: as long as the last one
            first = next((made.clip for one in self.entries for made in one.sounds.values()), None)
        rate = first.sample_rate if first else 48_000
        self.player.show(states, duration=first.frames / rate if first else 0.0, rate=rate)

    def differences(self) -> "list[tuple[Entry, float]]":
        """Return the true difference in level of each state that is there against the first of them, dB."""
        there = self._there(self.tone)
        if not there:
            return []
        found = level_states([clip.loudness_lufs for _, clip in there], [clip.peak_dbfs for _, clip in there])
        return list(zip((one for one, _ in there), found.difference_db))

    def differences_in_front(self) -> "list[tuple[Entry, float]]":
        """Return the same at the end of the cable, in front of a chain."""
        there = [(one, one.sounds[self.tone].cable_lufs) for one in self.entries if self.tone in one.sounds]
        return [(one, lufs - there[0][1]) for one, lufs in there]

    def part(self) -> "tuple[float, float] | None":
        """Return how long what is played is, and the whole of which it is a part, s; None while nothing is there."""
        found = next((one.sounds[self.tone] for one in self.entries if self.tone in one.sounds), None)
        return None if found is None else (found.clip.frames / found.clip.sample_rate, found.whole_s)

    def _there(self, tone: str) -> "list[tuple[Entry, Clip]]":
        clips = [(one, _clip(one, tone)) for one in self.entries]
        return [(one, clip) for one, clip in clips if clip is not None]

    def _levelled_sounds(self, tone: str) -> "list[tuple[Entry, PlayedSound]]":
        there = self._there(tone)
        if not there:
            return []
        found = level_states([clip.loudness_lufs for _, clip in there], [clip.peak_dbfs for _, clip in there])
        first = 1 + self.entries.index(there[0][0])
        return [
            (
                one,
                PlayedSound(
                    url=f"/sound/{one.sounds[tone].key}/{tone}.flac", aligned=_factor(aligned_db, clip),
                    true=_factor(found.true_gain_db, clip), peaks=clip.peaks,
                    note="the others are set against this" if n == 0 else level_words(difference, first),
                ),
            )
            for n, ((one, clip), aligned_db, difference) in enumerate(
                zip(there, found.aligned_gain_db, found.difference_db)
            )
        ]  # fmt: skip

    def downloads(self) -> list[tuple[str, str]]:
        """Return name and address of a WAV file of each state that is there, as it is set: tone and level."""
        out = []
        for n, (one, sound) in enumerate(self._levelled_sounds(self.tone), start=1):
            factor = sound.aligned if self.level == "aligned" else sound.true
            name = (
                f"{n}-{_plain(one.name)}-{self.tone}-{'equally-loud' if self.level == 'aligned' else 'true-level'}.wav"
            )
            query = urlencode({"gain": f"{factor:.6g}", "name": name})
            out.append((one.name, f"{sound.url.removesuffix('.flac')}.wav?{query}"))
        return out

    async def _toned(self, tone: str) -> None:
        self.tone = tone if tone in TONES else "cable"  # type: ignore[assignment]
        self._halted = False
        self._rekey()
        self.show()
        self._on_change()
        await self.make()

    def _looped(self, loop: tuple[float, float]) -> None:
        part = self.part()
        whole = part is None or (loop[0] <= 0.0 and loop[1] >= part[0] - 1e-6)
        self.loop = None if whole else loop
        self._on_change()

    async def _played(self) -> None:
        """Keep once a visit that states were played against one another: the job's strip ticks it."""
        names = [one.name for one in self.entries if self.tone in one.sounds]
        if self._noted or len(names) < 2:
            return
        self._noted = True
        book, desk = shared.room().notebook, self.desk
        words = f"{desk.pickup}: listened to {' against '.join(names)}"
        body = {"schema": LISTENED, "pickup": desk.pickup, "states": [one.state for one in self.entries]}
        await shared.written(lambda: book.write_note(desk.entry.id, words[:500], state_id=desk.state.id, body=body))

    def _turned(self, playback: float) -> None:
        self.playback = playback
        self._on_change()

    def _levelled(self, level: str) -> None:
        self.level = "true" if level == "true" else "aligned"
        self._on_change()


def level_words(difference_db: float, first: int) -> str:
    """Return the true difference in words."""
    if abs(difference_db) < 0.05:
        return f"really as loud as {first}"
    return f"really {signed(difference_db)} dB against {first}"


def _clip(one: Entry, tone: str) -> Clip | None:
    made = one.sounds.get(tone)
    return None if made is None else made.clip


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
        if made is None or tone not in TONES or ending not in ("flac", "wav"):
            return Response("There is no such sound any more; open the page again, it makes it anew.", status_code=404)
        clip = made.clip
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
