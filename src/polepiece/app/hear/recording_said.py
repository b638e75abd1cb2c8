"""What is wrong with a recording, as the page says it: what lies in its samples, and whether it fits the pickup."""

from nicegui import run, ui

from polepiece.app.hear.sounds import Take, Wish
from polepiece.app.server import shared
from polepiece.app.server.addressing import alive
from polepiece.app.widgets.controls import text
from polepiece.errors import PolepieceError


class RecordingSaid:
    """A line under the recording; empty for a phrase."""

    def __init__(self) -> None:
        self._client = ui.context.client
        self._line = text("p", "", "small").props("role=status").mark("condition")
        self._words: tuple[str, ...] = ()
        self._asked = ""  # the recording and pickup that were asked about last

    async def say(self, take: Take | None) -> None:
        """Say what lies in the samples.

        Raises
        ------
        MeasurementError
            When it is no sound, or so clipped that nothing is left.
        """
        self._words, self._asked = (), ""
        self._line.say("")
        if take is None:
            return
        words = await run.io_bound(lambda: take.condition)
        if alive(self._client) and words is not None:
            self._words = words
            self._line.say(" ".join(words))

    async def say_whether_it_fits(self, wish: Wish | None) -> None:
        """Say beside it where the recording cannot be of the pickup; nothing while that cannot be computed."""
        if wish is None or wish.take is None:
            return
        asked = f"{wish.take.digest} {wish.cable_key}"
        if asked == self._asked:
            return
        self._asked = asked
        try:
            unlike: str = await shared.room().sounds.run("unlike", wish)
        except PolepieceError:  # said by what makes the sounds
            return
        if alive(self._client) and asked == self._asked:
            self._line.say(" ".join((*self._words, unlike)).strip())
