"""What stands behind the cable: the loudspeaker at the end of the chain, built in or the person's own."""

from collections.abc import Awaitable, Callable

from nicegui import events

from polepiece.app.hear.sounds import Speaker
from polepiece.app.server import shared
from polepiece.app.server.desk import Desk
from polepiece.app.server.uploads import kept_sound, taken_sound
from polepiece.app.widgets.controls import Fault, choice, file_taker, text
from polepiece.errors import PolepieceError
from polepiece.notebook import SoundEntry
from polepiece.sound import impulse_response_of

LARGEST_SPEAKER = 4 * 1024 * 1024  # bytes: 2 s at 192 kHz and 32 bit, two channels
SPEAKER_KINDS = "one channel of 1 ms to 2 s as WAV, FLAC or AIFF"
SPEAKER_LABEL = "loudspeaker: "
CALIBRATION_LABEL = "sweep calibration: "  # recordings that are kept and are nothing to play
ROOMS = {"none": "no room", "small": "a small furnished room, heard from 1.5 m"}
BUILT_IN = {"closed-box": "12-inch in a closed box, made up", "none": "none"}
CHAIN = (
    "Straight is the voltage at the end of the cable. The three drives put a tone shelf, a soft saturation and a "
    "loudspeaker behind it, set alike for all states; they stand for nothing that can be bought. A recording's full "
    "scale counts as 1 V there."
)


class Behind:
    """The card of the chain.

    Parameters
    ----------
    desk : Desk
    chosen : str
        Name of a built-in loudspeaker, or hash of an own one.
    room : str
        In which it stands, of `ROOMS`.
    on_change : callable
        Awaited when another one is chosen.
    """

    def __init__(self, desk: Desk, chosen: str, room: str, on_change: Callable[[], Awaitable[None]]) -> None:
        self.desk, self.chosen, self._on_change = desk, chosen, on_change
        self.room = room if room in ROOMS else "none"

    def build(self) -> None:
        """Put it on the page."""
        text("h2", "Behind the cable")
        text("p", CHAIN, "small soft")
        self.speakers = choice(
            "loudspeaker of the drives", self._known(), self.chosen if self.chosen in self._known() else "closed-box",
            self._choose, mark="speaker",
        )  # fmt: skip
        choice("it stands in", ROOMS, self.room, self._choose_room, mark="room")
        self.fault = Fault()
        text("p", f"Or your own: an impulse response, {SPEAKER_KINDS}.", "small")
        self.upload = file_taker(
            "choose an impulse response …", self._given,
            lambda: self.fault.show(f"That was not taken: an impulse response is {SPEAKER_KINDS}."),
            accept=".wav,.flac,.aif,.aiff", most=LARGEST_SPEAKER, mark="own-speaker",
        )  # fmt: skip

    @property
    def is_another(self) -> bool:
        """Whether it is not the one that is built in."""
        return self.chosen != "closed-box" and self.chosen in self._known()

    def speaker(self) -> Speaker:
        """Return the loudspeaker that is chosen."""
        in_room = self.room != "none"
        if self.chosen in BUILT_IN:
            return Speaker(name=self.chosen, in_room=in_room)
        own = {one.sha256: one.label.removeprefix(SPEAKER_LABEL) for one in _own(self.desk)}
        if self.chosen not in own:
            return Speaker(in_room=in_room)
        return Speaker(name=own[self.chosen], data=shared.room().notebook.sound(self.chosen), in_room=in_room)

    def _known(self) -> dict[str, str]:
        return BUILT_IN | {one.sha256: one.label.removeprefix(SPEAKER_LABEL) for one in _own(self.desk)}

    async def _choose(self, speaker: str) -> None:
        self.chosen = speaker
        self.fault.clear()
        await self._on_change()

    async def _choose_room(self, room: str) -> None:
        self.room = room
        await self._on_change()

    async def _given(self, event: events.UploadEventArguments) -> None:
        self.fault.clear()
        try:
            data, found = await taken_sound(event, LARGEST_SPEAKER, "An impulse response is short. Is it a recording?")
            if found is None:
                return
            impulse_response_of(found)
            digest = await kept_sound(
                data, found, f"{SPEAKER_LABEL}{found.path.stem[:80]}, {1e3 * found.duration:.0f} ms", self.desk.state.id
            )
        except PolepieceError as error:
            self.fault.show(error)
            return
        finally:
            self.upload.reset()
        self.speakers.offer(self._known(), digest)
        await self._choose(digest)


def _own(desk: Desk) -> list[SoundEntry]:
    return [one for one in shared.room().notebook.sounds(desk.entry.id) if one.label.startswith(SPEAKER_LABEL)]


def kept_recordings(desk: Desk) -> list[SoundEntry]:
    """Return the recordings that the notebook has for a guitar, loudspeakers and calibrations left out."""
    others = SPEAKER_LABEL, CALIBRATION_LABEL
    return [one for one in shared.room().notebook.sounds(desk.entry.id) if not one.label.startswith(others)]
