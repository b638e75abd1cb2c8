"""Own takes of a trial: two recordings of the same notes, before and after, dropped here or kept earlier."""

from functools import partial

from nicegui import events, run, ui

from polepiece.app.hear.behind import kept_recordings
from polepiece.app.hear.sounds import LARGEST, Take
from polepiece.app.server import shared
from polepiece.app.server.addressing import alive
from polepiece.app.server.desk import Desk
from polepiece.app.server.uploads import kept_sound, taken_sound
from polepiece.app.widgets.controls import Choice, Fault, OnText, choice, file_taker, text
from polepiece.auditioning import own_takes
from polepiece.errors import InputError, PolepieceError
from polepiece.sound import decode

SOUNDS = {"computed": "computed, one hand for both", "recorded": "own takes of the same notes"}
SIDES = ("before", "after")
REFUSED = f"That was not taken: at most {LARGEST >> 20} MiB of WAV, FLAC or AIFF."
ABOUT = (
    "Two takes of the same tablature, before and after, one gain, place and pick. They are aligned by their first "
    "stroke, equally loud as is set above, at most 30 s. The playing is heard as well: that a change was heard of two "
    "takes is shown by several takes of each state, not by one."
)


class TakesForm:
    """Computed sounds, or two takes."""

    def __init__(self, desk: Desk, on_kind: OnText) -> None:
        self.desk, self._on_kind = desk, on_kind
        self._client = ui.context.client
        self.kind = "computed"
        self.chosen: dict[str, str] = dict.fromkeys(SIDES, "")  # hash by side
        self._choices: dict[str, Choice] = {}
        self._takers: dict[str, ui.upload] = {}

    def build(self) -> None:
        """Put its fields."""
        with ui.element("div").classes("row"):
            choice("sounds", SOUNDS, self.kind, self._choose_kind, mark="trial-sounds")
        with ui.element("div") as self._box:
            text("p", ABOUT, "small soft")
            for side in SIDES:
                with ui.element("div").classes("row"):
                    self._choices[side] = choice(
                        f"take {side}", self._offered(), "", partial(self._choose, side), mark=f"take-{side}"
                    )
                    self._takers[side] = file_taker(
                        f"choose a file, {side} …", partial(self._given, side),
                        lambda: self._fault.show(REFUSED),
                        accept=".wav,.flac,.aif,.aiff", most=LARGEST, mark=f"take-file-{side}",
                    )  # fmt: skip
            self._said = text("p", "", "small").props("role=status").mark("takes-said")
            self._fault = Fault()
        self._box.set_visibility(False)

    def takes(self) -> tuple[Take, ...]:
        """Return the two takes; none for computed sounds.

        Raises
        ------
        InputError
            When one of them is missing.
        """
        if self.kind == "computed":
            return ()
        missing = [side for side in SIDES if not self.chosen[side]]
        if missing:
            raise InputError(f"no take {' and '.join(missing)} is chosen; two of the same notes are needed.")
        return takes_of(self.desk, [self.chosen[side] for side in SIDES])

    def _offered(self) -> dict[str, str]:
        return {"": "choose …"} | {one.sha256: one.label for one in kept_recordings(self.desk)}

    def _choose_kind(self, kind: str) -> object:
        self.kind = kind
        self._box.set_visibility(kind == "recorded")
        return self._on_kind(kind)

    async def _choose(self, side: str, digest: str) -> None:
        self.chosen[side] = digest
        await self._say()

    async def _given(self, side: str, event: events.UploadEventArguments) -> None:
        self._fault.clear()
        try:
            data, found = await taken_sound(event, LARGEST, "Cut out the part you want to hear.")
            if found is None:  # the server is going down
                return
            label = f"{found.path.stem[:70]}, take {side}, {found.duration:.1f} s"
            self.chosen[side] = await kept_sound(data, found, label, self.desk.state.id)
        except PolepieceError as error:
            self._fault.show(error)
            return
        finally:
            self._takers[side].reset()
        for one in SIDES:
            self._choices[one].offer(self._offered(), self.chosen[one])
        await self._say()

    async def _say(self) -> None:
        """Say how well the two fit."""
        self._said.say("")
        self._fault.clear()
        asked = dict(self.chosen)
        if not all(asked.values()):
            return
        try:
            takes = self.takes()
            found = await run.io_bound(lambda: own_takes([decode(one.data, one.name) for one in takes]).words)
        except PolepieceError as error:
            self._fault.show(error)
            return
        if alive(self._client) and found is not None and asked == self.chosen:
            self._said.say(" ".join(found))


def takes_of(desk: Desk, digests: "list[str]") -> tuple[Take, ...]:
    """Return recordings of the notebook as takes.

    Raises
    ------
    PolepieceError
        When the notebook has one of them no more.
    """
    book = shared.room().notebook
    labels = {one.sha256: one.label for one in kept_recordings(desk)}
    return tuple(Take(data=book.sound(one), name=labels.get(one, "a take")) for one in digests)
