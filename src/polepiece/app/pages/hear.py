"""Hear: any number of states of one pickup at the same position, a built-in phrase or the person's own recording."""

from functools import partial
from urllib.parse import urlencode

from fastapi import Query
from nicegui import events, ui

from polepiece.app.hear import listening
from polepiece.app.hear.behind import Behind, kept_recordings
from polepiece.app.hear.figures import NumbersCard
from polepiece.app.hear.listening import Listening, Played
from polepiece.app.hear.offered import default_states, loop_in, offered, playback_in, seconds_in
from polepiece.app.hear.recording_said import RecordingSaid
from polepiece.app.hear.sounds import HANDS, LARGEST, LONGEST, PHRASE_WORDS, SHORTEST, TONES, Take
from polepiece.app.hear.states import NOW, guitar_in, words_of
from polepiece.app.server import shared
from polepiece.app.server.addressing import show_address
from polepiece.app.server.desk import Desk
from polepiece.app.server.uploads import kept_sound, taken_sound
from polepiece.app.widgets import theme
from polepiece.app.widgets.controls import Fault, amount, choice, file_taker, link, press, text
from polepiece.app.widgets.place import Place
from polepiece.app.widgets.player import MOST_STATES, PLAYBACK_DB, Level, Tone
from polepiece.errors import InputError, PolepieceError
from polepiece.notebook import SoundEntry
from polepiece.shown_number import signed
from polepiece.sound import PHRASES

PAGE = Place(path="/hear", title="Hear", in_job=True, about="switch between states of one pickup while it plays")
OWN = "take:"
SHORT = 0.01  # s that nobody misses at the end of a recording
KINDS = f"WAV, FLAC or AIFF, up to {LARGEST >> 20} MiB, any {LONGEST:g} s of it at a time"
DROP = "(e) => {{ e.preventDefault(); getElement({id}).$refs.qRef.addFiles(e.dataTransfer.files); }}"
NOTE = (
    "A recording is taken to be this pickup alone, played into an interface without any amplifier, with the guitar as "
    "it was on record when the recording was dropped here. It is given the ratio of the two linear responses "
    "(magnitude, minimum phase). What differs from string to string or is not linear (curved flux law, comb of the "
    "pole rows, pull on the strings, the amplifier) stays as you played it."
)
RENDERED = (
    "A phrase is computed whole: strings with stiffness and damping, the same hand for every state, flux of each "
    "string, coil, controls and cable. Feel is not computed."
)


def build() -> None:
    """Register the page and the addresses of its sounds."""
    listening.build()

    @theme.page(PAGE)
    async def hear(
        guitar: str = "", pickup: str = "", against: str = "", position: str = "", state: list[str] = Query([]),  # noqa: B008
        phrase: str = "open-chord", take: str = "", start: str = "0", tone: str = "cable", level: str = "aligned",
        speaker: str = "closed-box", room: str = "none", hand: str = "lively", loop: str = "", playback: str = "",
    ) -> None:  # fmt: skip
        desk = Desk.at(guitar, pickup, against, position)
        ui.add_head_html(theme.STYLE)
        with theme.frame(PAGE, desk):
            view = HearView(
                desk, state, phrase=phrase, take=take, start=start, tone=tone, level=level, speaker=speaker, room=room,
                hand=hand, loop=loop, playback=playback,
            )  # fmt: skip
            with ui.element("div") as everything:
                view.build()
            everything.on("dragover", js_handler="(e) => e.preventDefault()")
            everything.on("drop", js_handler=DROP.format(id=view.upload.id))
        ui.timer(0.0, view.begin, once=True)


class HearView:
    """One tab that listens."""

    def __init__(
        self, desk: Desk, states: list[str], *, phrase: str, take: str, start: str, tone: str, level: str,
        speaker: str, room: str, hand: str, loop: str, playback: str,
    ) -> None:  # fmt: skip
        self.desk, self.client = desk, ui.context.client
        self.states = list(dict.fromkeys(states))[:MOST_STATES] or default_states(desk)
        self.phrase = phrase if phrase in PHRASES else "open-chord"
        self.take = take
        self.start = seconds_in(start)
        self.behind = Behind(desk, speaker, room, self._play_other)
        self.hand = hand if hand in HANDS else "lively"
        self.first_tone: Tone = tone if tone in TONES else "cable"  # type: ignore[assignment]
        self.first_loop, self.first_playback = loop_in(loop), playback_in(playback)
        self.first_level: Level = "true" if level == "true" else "aligned"

    # --- what is on it -----------------------------------------------------------------------------
    def build(self) -> None:
        """Put everything on the page; sounds come later."""
        with ui.element("section").classes("card").props('aria-label="Listening"'):
            text("p", "Keys 1 to 9 choose, space plays and pauses; drag over the wave to loop a part.", "soft small")
            self.listening = Listening(
                self.desk, self._played(), on_change=self._changed, tone=self.first_tone, level=self.first_level,
                loop=self.first_loop, playback=self.first_playback, label="States",
            )  # fmt: skip
            self.hidden = text("p", "", "small").mark("hidden-level")
        with ui.element("div").classes("two"):
            with ui.element("div").classes("stack"):
                with ui.element("section").classes("card"):
                    text("h2", "States")
                    self.list = ui.element("ol").classes("picked")
                    self._adding()
                with ui.element("section").classes("card"):
                    self._playing()
            with ui.element("div").classes("stack"):
                with ui.element("section").classes("card"):
                    self.behind.build()
                with ui.element("section").classes("card"):
                    self.numbers = NumbersCard(self.listening)
                    self.numbers.build()
                with ui.element("section").classes("card"):
                    text("h2", "Keep it")
                    text("p", "WAV, 24 bit, as set above: cable or chain, equally loud or true.", "small soft")
                    self.files = ui.element("ul")

    def _adding(self) -> None:
        self.state_fault = Fault()
        options = {"": "choose …"} | offered(self.desk)
        with ui.element("div").classes("row"):
            self.adder = choice("add a state", options, "", self._add, mark="add-state")
            self.typed = amount("or moves, such as lower=0.5mm; tone=8", "", self._add_typed, mark="add-moves")
            self.typed.classes("wide")

    def _playing(self) -> None:
        text("h2", "What is played")
        hands = {key: words for key, (words, _) in HANDS.items()}
        with ui.element("div").classes("row"):
            chosen = self._source()
            self.source = choice("phrase or recording", self._sources(), chosen, self._choose_source, mark="source")
            self.hands = choice("a phrase also has", hands, self.hand, self._choose_hand, mark="hand")
        with ui.element("div").classes("row below") as self.parts:
            self.from_second = amount("recording from second", f"{self.start:g}", self._choose_start, mark="start")
            self.earlier = press(f"the {LONGEST:g} s before", partial(self._step, -LONGEST), mark="part-before")
            self.later = press(f"the next {LONGEST:g} s", partial(self._step, LONGEST), mark="part-next")
        self.part = text("p", "", "small").props("role=status").mark("part")
        self.condition = RecordingSaid()
        self.take_fault = Fault()
        text("p", f"Or drop your own recording anywhere on this page: {KINDS}.", "small")
        self.upload = file_taker(
            "choose a recording …", self._dropped,
            lambda: self.take_fault.show(
                f"That was not taken: recordings are WAV, FLAC or AIFF and up to {LARGEST >> 20} MiB. Cut out the part "
                "you want to hear; save a phone's M4A, or an MP3, as WAV first, in any sound editor."
            ),
            accept=".wav,.flac,.aif,.aiff", most=LARGEST, mark="recording",
        )  # fmt: skip
        self.note = text("p", "", "small soft").mark("note")

    # --- playing -----------------------------------------------------------------------------------
    async def begin(self) -> None:
        """Make what is missing; the first state is heard as soon as it is there."""
        self.listening.want(self.states)
        self._show()
        try:
            await self.condition.say(self.listening.played.take)
        except PolepieceError as error:
            self.take_fault.show(error)
            return
        await self._make()

    async def _make(self) -> None:
        await self.listening.make()
        await self.condition.say_whether_it_fits(self.listening.entries[0].wish if self.listening.entries else None)

    def _played(self) -> Played:
        found, speaker = self._take_entry(), self.behind.speaker()
        if found is None:
            return Played(phrase=self.phrase, hand=self.hand, speaker=speaker)
        book = shared.room().notebook
        made_with = self.desk.guitar if found.state_id is None else book.state_guitar(found.state_id)
        take = Take(data=book.sound(found.sha256), name=found.label, start=self.start)
        return Played(phrase=self.phrase, take=take, made_with=made_with, speaker=speaker)

    def _take_entry(self) -> SoundEntry | None:
        if not self.take:
            return None
        return {one.sha256: one for one in self._kept()}.get(self.take)

    def _kept(self) -> list[SoundEntry]:
        """Return the recordings that the notebook has for this guitar."""
        return kept_recordings(self.desk)

    def _show(self) -> None:
        """Show the list, the notes and the files, and put it all into the address."""
        self.list.clear()
        with self.list:
            for one in self.states:
                with ui.element("li"):
                    text("span", words_of(self.desk, one))
                    if len(self.states) > 1:
                        button = press("remove", partial(self._remove, one), cls="quiet")
                        button.props["aria-label"] = f"remove {words_of(self.desk, one)}"
        own = self._take_entry()
        self.note.say(RENDERED if own is None else NOTE)
        self.parts.set_visibility(own is not None)
        self.hands.set_visibility(own is None)
        self._changed()

    def _changed(self) -> None:
        """Show what depends on sounds, tone and level, and put it into the address."""
        heard = self.listening
        found = heard.differences()
        said = [f"{one.name} {signed(difference)} dB" for one, difference in found[1:]]
        if said:
            first = found[0][0].name
            how = "Hidden by making all equally loud" if heard.level == "aligned" else "True difference, heard as it is"
            self.hidden.say(
                f"{how}: against “{first}”, {'; '.join(said)} (loudness after ITU-R BS.1770)."
                + (f" {self._in_front()}" if heard.tone != "cable" else "")
            )
        else:
            self.hidden.say("")
        self._show_part()
        self.numbers.refresh()
        self.files.clear()
        with self.files:
            for name, address in heard.downloads():
                with ui.element("li"):
                    link(address, name).props["download"] = True
        show_address(self.client, self.address())

    def _in_front(self) -> str:
        """Say what the saturation is driven by: behind it a louder state is squashed, not louder."""
        clean = [f"{one.name} {signed(by)} dB" for one, by in self.listening.differences_in_front()[1:]]
        return f"In front of the saturation: {'; '.join(clean)}."

    def _show_part(self) -> None:
        """Say which part of a recording is played, and let one go to the others."""
        part = self.listening.part() if self._take_entry() is not None else None
        length, whole = part or (0.0, 0.0)
        self.earlier.allow(self.start > 0.0)
        self.later.allow(self.start + length < whole - SHORT)
        if part is None:
            self.part.say("")
        elif length >= whole - SHORT:
            self.part.say(f"All {whole:.1f} s of the recording are played.")
        else:
            self.part.say(
                f"Played are {length:.1f} s of {whole:.1f} s, from second {self.start:g} on: the player holds "
                f"{LONGEST:g} s at a time. The whole, of any length, is made by “polepiece hear --recording”."
            )

    def address(self) -> str:
        """Return the address that shows the same."""
        query: list[tuple[str, str]] = [("state", one) for one in self.states]
        query += [("take", self.take), ("start", f"{self.start:g}")] if self.take else [("phrase", self.phrase)]
        heard = self.listening
        query += [("tone", heard.tone)] if heard.tone != "cable" else []
        query += [("speaker", self.behind.chosen)] if self.behind.is_another else []
        query += [("room", self.behind.room)] if self.behind.room != "none" else []
        query += [("hand", self.hand)] if self.hand != "lively" else []
        query += [("loop", f"{heard.loop[0]:.3f}-{heard.loop[1]:.3f}")] if heard.loop else []
        query += [("playback", f"{heard.playback:g}")] if heard.playback != PLAYBACK_DB else []
        query += [("level", "true")] if heard.level == "true" else []
        return f"{self.desk.address(PAGE.path)}&{urlencode(query)}"

    async def _wanted(self) -> None:
        self.listening.want(self.states)
        self._show()
        await self.listening.make()

    # --- states ------------------------------------------------------------------------------------
    async def _add(self, state: str) -> None:
        self.adder.offer({"": "choose …"} | offered(self.desk), "")
        if not state:
            return
        self.state_fault.clear()
        try:
            guitar_in(self.desk, state)
            if state in self.states:
                raise InputError(f"{words_of(self.desk, state)} is in the list already.")
            if len(self.states) >= MOST_STATES:
                raise InputError(f"{MOST_STATES} states are the most; remove one first.")
        except PolepieceError as error:
            self.state_fault.show(error)
            return
        self.states.append(state)
        await self._wanted()

    async def _add_typed(self, words: str) -> None:
        if words.strip():
            before = len(self.states)
            await self._add(";".join(one.strip() for one in words.replace(",", ";").split(";") if one.strip()))
            if len(self.states) > before:
                self.typed.show("")

    async def _remove(self, state: str) -> None:
        self.states = [one for one in self.states if one != state] or [NOW]
        await self._wanted()

    # --- what is played ----------------------------------------------------------------------------
    def _sources(self) -> dict[str, str]:
        return PHRASE_WORDS | {f"{OWN}{one.sha256}": f"recording: {one.label}" for one in self._kept()}

    def _source(self) -> str:
        return f"{OWN}{self.take}" if self._take_entry() is not None else self.phrase

    async def _choose_source(self, source: str) -> None:
        if source.startswith(OWN):
            self.take = source.removeprefix(OWN)
        else:
            self.take, self.phrase = "", source
        self.start = 0.0
        self.from_second.show("0")
        await self._play_other()

    async def _choose_hand(self, hand: str) -> None:
        self.hand = hand
        await self._play_other()

    async def _step(self, seconds: float) -> None:
        """Go on to the next part of a recording, or back; the last one is a second long or more."""
        part = self.listening.part()
        last = self.start if part is None else max(part[1] - SHORTEST, 0.0)
        await self._choose_start(f"{min(self.start + seconds, last):.3f}")

    async def _choose_start(self, words: str) -> None:
        self.start = seconds_in(words)
        self.from_second.show(f"{self.start:g}")
        await self._play_other()

    async def _play_other(self) -> None:
        self.take_fault.clear()
        try:
            played = self._played()
            await self.condition.say(played.take)
            self.listening.play_other(played)
        except PolepieceError as error:
            self.take_fault.show(error)
            return
        self._show()
        await self._make()

    async def _dropped(self, event: events.UploadEventArguments) -> None:
        self.take_fault.clear()
        try:
            data, found = await taken_sound(event, LARGEST, "Cut out the part you want to hear.")
            if found is None:  # the server is going down
                return
            digest = await kept_sound(
                data, found, f"{found.path.stem[:80]}, {found.duration:.1f} s", self.desk.state.id
            )
        except PolepieceError as error:
            self.take_fault.show(error)
            self.upload.reset()
            return
        self.take, self.start = digest, 0.0
        self.upload.reset()
        self.source.offer(self._sources(), self._source())
        await self._play_other()
