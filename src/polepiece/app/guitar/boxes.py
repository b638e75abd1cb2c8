"""Boxes of the Guitar page that show the record: what is assumed, the history, the guitar file."""

from collections.abc import Awaitable, Callable, Sequence
from functools import partial

from nicegui import events, run, ui
from nicegui.elements.upload_files import FileUpload

from polepiece.app.server.desk import Desk
from polepiece.app.widgets.controls import Fault, Press, Text, file_taker, press, text
from polepiece.app.widgets.plain_history import plain
from polepiece.errors import GuitarFileError, PolepieceError
from polepiece.guitar import Assumption, Guitar, assumed_words, parse_guitar, whose_is, write_guitar
from polepiece.notebook import StateEntry

RECENT = 12  # states of the history that are listed at once
LARGEST_FILE = 1 << 20  # bytes of a guitar file
NOT_TAKEN = "That file was not taken: a guitar file ends in .toml and is under 1 MiB."


async def guitar_in(file: FileUpload) -> Guitar:
    """Return the guitar in an uploaded file; its name is never used.

    Raises
    ------
    GuitarFileError
        With every fault at once.
    """
    if file.size() > LARGEST_FILE:
        raise GuitarFileError("is larger than 1 MiB; a guitar file has a few kilobytes. Is it a recording?")
    try:
        words = (await file.read()).decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise GuitarFileError(f"is not UTF-8 text (byte {error.start}); save it as UTF-8.", where="the file") from None
    found = await run.io_bound(parse_guitar, words, "the file")  # off the event loop: every visitor waits for that one
    if found is None:
        raise GuitarFileError("was not read: the server is going down.", where="the file")
    return found


class AssumedBox:
    """What nobody has said of the guitar and was filled in."""

    def __init__(self) -> None:
        self._lines: dict[str, Text] = {}
        self.title = text("h2", "")
        text("p", "What nobody has said of this guitar is filled in; a measurement replaces it.", "soft small")
        with ui.element("details"):
            text("summary", "list, with the 90 % spread and what would settle it")
            self.list = ui.element("div").classes("small")

    def show(self, found: list[Assumption], guitar: Guitar) -> None:
        """List these of a guitar by whose they are; lines that are there already say what has changed."""
        if [one.path for one in found] == list(self._lines):
            for one, line in zip(found, self._lines.values()):
                line.say(assumed_line(one, guitar))
            return
        self._lines = {one.path: self.title for one in found}  # in this order; the lines themselves follow
        self.title.say(f"Assumed: {len(found)} values")
        self.list.clear()
        groups: dict[str, list[Assumption]] = {}
        for one in found:
            groups.setdefault(whose_is(one.path, [pickup.name for pickup in guitar.pickups]), []).append(one)
        with self.list:
            for whose, ones in groups.items():
                text("h3", whose)
                with ui.element("ul"):
                    for one in ones:
                        with ui.element("li"):
                            self._lines[one.path] = text("span", assumed_line(one, guitar))


def assumed_line(one: Assumption, guitar: Guitar) -> str:
    """Return one assumed value as a line of a page: what it is, its spread, what would settle it."""
    spread = "" if one.low is None or one.high is None else f" ({one.low:g} to {one.high:g})"
    settle = f"; to settle it: {one.settle}" if one.settle else ""
    value = one.value.replace("+-", "±").replace("degC", "°C")
    return f"{assumed_words(one.path, guitar)}: {value}{spread}{settle}"


class HistoryBox:
    """The states of a guitar, the newest first; each can be returned to."""

    def __init__(self, on_return: Callable[[int], Awaitable[None]]) -> None:
        self._on_return = on_return
        self._shown: list[StateEntry] = []
        self._lines: dict[int, tuple[ui.element, Press]] = {}  # by state, the oldest first
        text("h2", "History")
        self.list = ui.element("div")

    def show(self, states: Sequence[StateEntry], present: int) -> None:
        """List the last of these; where they have gone on by one, its line is added to those that are there."""
        if not (self._shown and list(states[:-1]) == self._shown):
            self._begin()
        for one in states[-RECENT:]:
            if one.id not in self._lines:
                self._add(one)
        for gone in list(self._lines)[:-RECENT]:
            self._lines.pop(gone)[0].delete()
        for number, (_, button) in self._lines.items():
            button.set_visibility(number != present)
        earlier = len(states) - RECENT
        self.rest.say(f"and {earlier} earlier states; choose one under compare with." if earlier > 0 else "")
        self._shown = list(states)

    def _begin(self) -> None:
        self.list.clear()
        self._lines.clear()
        with self.list:
            self.lines = ui.element("ol").classes("history").props("reversed")
            self.rest = text("p", "", "soft small")

    def _add(self, one: StateEntry) -> None:
        """Put a line in front of the others."""
        with self.lines, ui.element("li") as line:
            text("span", f"{one.at:%Y-%m-%d %H:%M} UTC: {plain(one.why)} ")
            button = press("return to this", partial(self._on_return, one.id), cls="quiet")
            button.props["aria-label"] = f"return to this: the state of {one.at:%Y-%m-%d %H:%M}, {plain(one.why)}"
        line.move(self.lines, 0)
        self._lines[one.id] = line, button


class FileBox:
    """The guitar file, out and in."""

    def __init__(self, desk: Desk, on_opened: Callable[[], None]) -> None:
        self._desk, self._on_opened = desk, on_opened
        text("h2", "Guitar file")
        with ui.element("div").classes("row"):
            press("download the guitar file", self._download, mark="download")
        text("p", "Open a file in place of this guitar: a new state of it, faults listed.", "soft small")
        self.fault = Fault()
        self.taker = file_taker(
            "open a guitar file …", self._opened, lambda: self.fault.show(NOT_TAKEN), accept=".toml",
            most=LARGEST_FILE, mark="open-file",
        )  # fmt: skip

    def _download(self) -> None:
        guitar = self._desk.guitar
        name = "".join(c if c.isalnum() else "-" for c in guitar.name.lower())[:60].strip("-") or "guitar"
        ui.download.content(write_guitar(guitar).encode(), f"{name}.guitar.toml", "application/toml")

    async def _opened(self, event: events.UploadEventArguments) -> None:
        self.fault.clear()
        try:
            await self._desk.record(await guitar_in(event.file), "opened from a file")
        except PolepieceError as error:
            self.fault.show(error)
            self.taker.reset()
            return
        self._on_opened()
