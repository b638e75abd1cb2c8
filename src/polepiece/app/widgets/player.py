"""Gapless player: 2 to 9 states of one guitar at one position, equally loud or at true level; keys: `player.js`.

The browser switches (``player.js``); every gain is computed here, in Python, so that a test can hold it.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import Any, Literal

from nicegui import events
from nicegui.element import Element

from polepiece.app.widgets.controls import settled
from polepiece.errors import InputError

Tone = Literal["cable", "clean", "edge", "driven"]
Level = Literal["aligned", "true"]
MOST_STATES = 9  # keys 1 to 9
PLAYBACK_DB, LOWEST_DB = -18.0, -50.0  # at first; from the second down it is off, as in ``player.js``


@dataclass(frozen=True, slots=True, kw_only=True)
class PlayedSound:
    """One sound of one state.

    Attributes
    ----------
    url : where the browser fetches it.
    aligned, true : linear gains that make all states equally loud, or show them at their true level.
    note : what stands under the state's name, such as the true difference in level.
    peaks : lowest and highest sample of each column in turn, -127 to 127, for the drawing.
    """

    url: str
    aligned: float
    true: float
    note: str
    peaks: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        if not (0.0 <= self.aligned < 1e6 and 0.0 <= self.true < 1e6):
            raise InputError(f"gains of {self.url} are {self.aligned:g} and {self.true:g}; allowed are 0 to a million.")
        if len(self.peaks) % 2:
            raise InputError(f"peaks of {self.url} come in pairs (lowest, highest); there are {len(self.peaks)}.")


@dataclass(frozen=True, slots=True, kw_only=True)
class PlayedState:
    """One state to choose; ``note`` is shown while a sound is not there yet."""

    key: str
    name: str
    sounds: Mapping[str, PlayedSound] = field(default_factory=dict)  # by tone
    note: str = ""

    def as_props(self) -> dict[str, Any]:
        """Return the state as the browser's component takes it."""
        sounds = {
            tone: {"url": one.url, "aligned": one.aligned, "true": one.true, "note": one.note, "peaks": one.peaks}
            for tone, one in self.sounds.items()
        }
        return {"key": self.key, "name": self.name, "note": self.note, "sounds": sounds}


class Player(Element, component="player.js"):
    """Plays states of one guitar; keys 1 to 9 choose, space plays and pauses.

    Parameters
    ----------
    states : sequence of PlayedState
        At most nine. Those without a sound are shown and cannot be chosen yet; see `show`.
    duration : float
        Of every sound, s.
    rate : int
        Sample rate of every sound, Hz.
    chosen, level, tone, loop, playback
        What is set at first; loop is (from, to) in s, None: the whole; playback is in dB, 0 at most.
    tones : mapping, optional
        Words of each tone that is offered, in order; without them there is no choice.
    label : str
        Spoken name of the player.
    blind : bool
        Show nothing that tells sounds apart: no wave, no peak meter, no choice of level.
    on_choose, on_level, on_tone, on_loop, on_playback : callable, optional
        Called with the new value when the person changes it.
    """

    def __init__(
        self,
        states: Sequence[PlayedState] = (),
        *,
        duration: float = 0.0,
        rate: int = 48_000,
        chosen: str = "",
        level: Level = "aligned",
        tone: Tone = "cable",
        tones: Mapping[str, str] | None = None,
        loop: tuple[float, float] | None = None,
        playback: float = PLAYBACK_DB,
        label: str = "Player",
        blind: bool = False,
        on_choose: Callable[[str], object] | None = None,
        on_level: Callable[[str], object] | None = None,
        on_tone: Callable[[str], object] | None = None,
        on_loop: Callable[[tuple[float, float]], None] | None = None,
        on_playback: Callable[[float], None] | None = None,
        on_played: Callable[[], object] | None = None,
    ) -> None:
        super().__init__()
        self._props["label"], self._props["blind"] = label, blind
        self._props["level"], self._props["tone"] = level, tone
        self._props["chosen"] = chosen or (states[0].key if states else "")
        self._props["loop"], self._props["playback"] = list(loop or ()), playback
        self._props["tones"] = [[key, words] for key, words in (tones or {}).items()]
        self.show(states, duration=duration, rate=rate)
        self._listen("choose", "key", on_choose)
        self._listen("level", "level", on_level)
        self._listen("tone", "tone", on_tone)
        self.on("loop", partial(self._looped, on_loop))
        self.on("playback", partial(self._played, on_playback))
        if on_played is not None:
            self.on("played", on_played, args=[])

    def show(self, states: Sequence[PlayedState], *, duration: float, rate: int) -> None:
        """Show these states; what plays goes on, and new sounds join at the same position.

        Raises
        ------
        InputError
            For more than nine states, or two with one key.
        """
        if len(states) > MOST_STATES:
            raise InputError(f"{len(states)} states; at most {MOST_STATES} are played against each other.")
        keys = [one.key for one in states]
        if len(set(keys)) < len(keys):
            raise InputError(f"two states have one key: {', '.join(sorted(keys))}.")
        self._props["states"] = [one.as_props() for one in states]
        self._props["duration"], self._props["rate"] = duration, rate
        if states and self._props["chosen"] not in keys:
            self._props["chosen"] = keys[0]
        self.update()

    @property
    def chosen(self) -> str:
        """Key of the state that is heard."""
        return str(self._props["chosen"])

    def choose(self, key: str) -> None:
        """Let ``key`` be heard from now on."""
        self._props["chosen"] = key
        self.update()

    def loop_whole(self) -> None:
        """Loop all of what comes next."""
        self._props["loop"] = []
        self.run_method("setLoop", 0.0, self._props["duration"], False)

    def play(self) -> None:
        """Start playing; browsers allow it only after a press on the page."""
        self.run_method("play")

    def _listen(self, event: str, key: str, handler: Callable[[str], object] | None) -> None:
        async def act(arguments: events.GenericEventArguments) -> None:
            value = str(arguments.args[key])
            self._props["chosen" if event == "choose" else event] = value  # so that an update does not set it back
            if handler is not None:
                await settled(handler(value))

        self.on(event, act)

    def _looped(self, told: Callable[[tuple[float, float]], None] | None, event: events.GenericEventArguments) -> None:
        low, high = (float(one) for one in event.args["loop"])
        self._props["loop"] = [low, high]
        if told is not None:
            told((low, high))

    def _played(self, told: Callable[[float], None] | None, event: events.GenericEventArguments) -> None:
        self._props["playback"] = value = float(event.args["playback"])
        if told is not None:
            told(value)
