"""Small parts of pages: native controls with their labels, tables, faults, and a job that can be watched.

Native elements, because a browser makes them reachable and readable; NiceGUI carries the events.
"""

from collections.abc import Awaitable, Callable, Mapping, Sequence
from typing import Any

from nicegui import events, ui
from nicegui.elements.mixins.text_element import TextElement

from polepiece.app.server.jobs import Job, Progress, Waiting
from polepiece.app.server.under_way import UnderWay
from polepiece.errors import PolepieceError

Handler = Callable[[], "Awaitable[None] | None"]
SECOND_CLICK = 2  # what a browser counts for the second click of a double click
DROPPED = (
    "(e) => {{ e.preventDefault(); e.stopPropagation(); getElement({id}).$refs.qRef.addFiles(e.dataTransfer.files); }}"
)
OnText = Callable[[str], object]  # awaited where it returns something to await
OnTick = Callable[[bool], object]  # the same


class Text(TextElement):
    """An element with text in it; `say` changes it."""

    def __init__(self, tag: str, words: str = "", cls: str = "") -> None:
        super().__init__(tag=tag, text=words)
        if cls:
            self.classes(cls)

    def say(self, words: str) -> None:
        """Show other words; nothing is sent where they are the same."""
        if self.text != words:
            self.set_text(words)

    @property
    def words(self) -> str:
        """What it shows."""
        return str(self.text)


def text(tag: str, words: str = "", cls: str = "") -> Text:
    """Return an element with text in it."""
    return Text(tag, words, cls)


class Press(Text):
    """A button; of a double click on one that counts ``once`` the second is not taken."""

    def __init__(self, words: str, on_press: Handler, *, cls: str = "", mark: str = "", once: bool = False) -> None:
        super().__init__("button", words, f"press {cls}".strip())
        self.props("type=button")
        self._on_press = on_press
        if once:
            self.on("click", self._pressed, args=["detail"])
        else:
            self.on("click", on_press, args=[])
        if mark:
            self.mark(mark)

    async def _pressed(self, event: Any) -> None:
        """Take a press that is the first of its clicks, as the browser counts them (`detail` of UI Events)."""
        count = event.args.get("detail") if isinstance(event.args, Mapping) else None
        if count is None or count < SECOND_CLICK:
            await settled(self._on_press())

    def allow(self, allowed: bool) -> None:
        """Let it be pressed or not."""
        if allowed == ("disabled" in self.props):
            if allowed:
                del self.props["disabled"]
            else:
                self.props["disabled"] = True
            self.update()


def press(words: str, on_press: Handler, *, cls: str = "", mark: str = "", once: bool = False) -> Press:
    """Return a button with words on it, never a bare sign; ``once`` where twice would write or turn something twice."""
    return Press(words, on_press, cls=cls, mark=mark, once=once)


class Choice(ui.element, component="choice.js"):
    """A select of the browser; a change reaches ``on_change`` with the key of the option.

    ``heard`` counts the changes that have come here: until all of its own have, a browser keeps what was chosen there.
    """

    def __init__(self, label: str, options: Mapping[str, str], value: str, on_change: OnText, cookie: str) -> None:
        super().__init__()
        self.props["label"], self.props["cookie"] = label, cookie
        self.props["version"] = self.props["heard"] = 0
        self._on_change = on_change
        self.offer(options, value)
        self.on("choose", self._chosen)

    @property
    def value(self) -> str:
        """The key that is chosen."""
        return str(self.props["value"])

    def offer(self, options: Mapping[str, str], value: str) -> None:
        """Offer these, with one chosen."""
        there = [[key, words] for key, words in options.items()]
        if there == self.props.get("options") and value == self.props.get("value"):
            return
        self.props["options"] = there
        self.props["value"] = value
        self.props["version"] += 1
        self.update()

    async def _chosen(self, event: Any) -> None:
        self.props["value"] = str(event.args)
        self.props["heard"] += 1
        await settled(self._on_change(self.value))


def choice(
    label: str, options: Mapping[str, str], value: str, on_change: OnText, *, mark: str = "", cookie: str = ""
) -> Choice:
    """Return a labelled select; with ``cookie`` the browser also keeps the key under that name."""
    made = Choice(label, options, value, on_change, cookie).classes("field")
    return made.mark(mark) if mark else made


class Amount(ui.element, component="amount.js"):
    """A line to type a value into, with its label; Enter or leaving it hands the text to ``on_change``.

    ``heard`` as that of `Choice`.
    """

    def __init__(self, label: str, value: str, on_change: OnText) -> None:
        super().__init__()
        self.props["label"] = label
        self.props["version"] = self.props["heard"] = 0
        self._on_change = on_change
        self.show(value)
        self.on("enter", self._entered)

    @property
    def value(self) -> str:
        """What it shows."""
        return str(self.props["value"])

    def show(self, value: str) -> None:
        """Show a value, over whatever was typed."""
        if value == self.props.get("value"):
            return
        self.props["value"] = value
        self.props["version"] += 1
        self.update()

    async def _entered(self, event: Any) -> None:
        self.props["value"] = str(event.args)  # so that what is there is shown again where this is refused
        self.props["heard"] += 1
        await settled(self._on_change(self.value))


def amount(label: str, value: str, on_change: OnText, *, mark: str = "") -> Amount:
    """Return a labelled line to type a value with its unit into."""
    made = Amount(label, value, on_change).classes("field")
    return made.mark(mark) if mark else made


def link(address: str, words: str, cls: str = "") -> Text:
    """Return a link to another page."""
    made = text("a", words, cls)
    made.props["href"] = address
    return made


class TickBox(ui.element):
    """A box to tick, without its words; ``on_tick`` gets True or False."""

    def __init__(self, on: bool, on_tick: OnTick, mark: str) -> None:
        super().__init__("input")
        self.props("type=checkbox").mark(mark)
        self.props["checked"] = on
        self._on_tick = on_tick
        self.on("change", self._ticked, js_handler="(e) => emit(e.target.checked)")

    def show(self, on: bool) -> None:
        """Show it ticked or not."""
        if self.props["checked"] != on:
            self.props["checked"] = on
            self.update()

    async def _ticked(self, event: Any) -> None:
        self.show(bool(event.args))  # the page's own copy, so that a later change of it is one
        await settled(self._on_tick(bool(event.args)))


def tick_box(on: bool, on_tick: OnTick, mark: str) -> TickBox:
    """Return a box to tick; put it into a label with its words."""
    return TickBox(on, on_tick, mark)


async def settled(outcome: object) -> None:
    """Await what a handler has returned, if it did."""
    if isinstance(outcome, Awaitable):
        await outcome


class Fault:
    """A paragraph beside a field that says what was wrong; empty while nothing is."""

    def __init__(self) -> None:
        self.line = text("p", "", "fault").props("role=alert")

    def show(self, error: "BaseException | str") -> None:
        """Say it."""
        self.line.say(str(error))

    def clear(self) -> None:
        """Take it back."""
        self.line.say("")


def file_taker(
    words: str,
    on_upload: Callable[[events.UploadEventArguments], object],
    on_rejected: Handler,
    *,
    accept: str,
    most: int,
    mark: str,
) -> ui.upload:
    """Return a taker of one file behind a button with ``words``.

    ``most`` bytes is what the browser is told; the handler checks ``event.file.size()`` itself.
    """
    made = ui.upload(auto_upload=True, on_upload=on_upload, max_file_size=most, on_rejected=on_rejected)
    made.props["accept"] = accept
    made.classes("upload").mark(mark)
    button = text("button", words, "press").props("type=button")
    button.on("click", js_handler=f"() => getElement({made.id}).$refs.qRef.pickFiles()")
    button.on("dragover", js_handler="(e) => e.preventDefault()")  # or dropped onto it
    button.on("drop", js_handler=DROPPED.format(id=made.id))
    return made


def table(
    caption: str, heads: Sequence[str], rows: Sequence[Sequence[str]], *, left: int = 1, cls: str = ""
) -> ui.element:
    """Return a table; the first ``left`` columns hold words, the others numbers."""
    with (
        ui.element("div").classes(f"scroll {cls}".strip()).props("tabindex=0 role=region") as whole,
        ui.element("table"),
    ):
        whole.props["aria-label"] = caption
        text("caption", caption)
        with ui.element("thead"), ui.element("tr"):
            for k, head in enumerate(heads):
                text("th", head, "" if k < left else "n").props("scope=col")
        with ui.element("tbody"):
            for row in rows:
                with ui.element("tr"):
                    for k, cell in enumerate(row):
                        one = text("th" if k == 0 else "td", cell, "" if k < left else "n")
                        one.props("scope=row") if k == 0 else None
    return whole


class Working:
    """Shows one job at a time: what it does, how far it is, and a button that stops it.

    With ``floats`` it lies over the foot of the window, so that nothing moves under the hand when it comes and goes.
    """

    def __init__(self, *, floats: bool = False) -> None:
        self.job: Job | Waiting | UnderWay | None = None
        with ui.element("div").classes("working floats" if floats else "working") as self.box:
            self.words = text("p", "").props("role=status")
            self.bar = ui.element("progress").props('max=1 aria-label="Progress"')
            press("stop", self._stop, mark="stop")
        self.box.set_visibility(False)

    def show_progress(self, progress: Progress) -> None:
        """Show a progress; hand this to `Jobs.run` as ``on_progress``."""
        share = f"value={progress.done / progress.total:.3f}" if progress.total else ""
        self.words.say(
            f"{progress.words} ({progress.done} of {progress.total})" if progress.total > 1 else progress.words
        )
        if share:
            self.bar.props(share)
        else:
            self.bar.props(remove="value")

    async def follow(self, job: Job | Waiting | UnderWay) -> Any:
        """Await a job, or an answer, and show it meanwhile.

        Raises
        ------
        PolepieceError
            What the job raised; `Stopped` when it was stopped.
        """
        self.job = job
        self.show_progress(job.progress)
        self.box.set_visibility(True)
        try:
            return await job
        finally:
            if self.job is job:
                self.job = None
                self.box.set_visibility(False)

    def _stop(self) -> None:
        if self.job is not None:
            self.job.stop()


def words_of(error: BaseException) -> str:
    """Return an error in words: ours as they are, others as what they are, a fault of the program."""
    if isinstance(error, PolepieceError):
        return str(error)
    return f"Something went wrong in the program itself ({error}). Nothing that was recorded is lost; reload the page."
