"""A choice among drawn things: radio buttons of the browser, each with its picture and its words."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from nicegui import ui

from polepiece.app.widgets.controls import OnText, settled, text


@dataclass(frozen=True, slots=True, kw_only=True)
class Pictured:
    """One thing to choose."""

    key: str
    name: str
    words: str
    svg: str  # decoration: the words say it all


class PictureChoice:
    """A group of radio buttons; the arrow keys move between them, as the browser has it."""

    def __init__(
        self, legend: str, options: Sequence[Pictured], value: str, on_choose: OnText, *, group: str, mark: str
    ) -> None:
        self.value = value
        self._on_choose = on_choose
        with ui.element("fieldset").classes("pictures").mark(mark):
            text("legend", legend)
            with ui.element("div").classes("picture-row"):
                self._buttons: Mapping[str, ui.element] = {one.key: self._button(one, group, mark) for one in options}

    def _button(self, one: Pictured, group: str, mark: str) -> ui.element:
        with ui.element("label").classes("picture"):
            button = ui.element("input").props("type=radio").mark(f"{mark}-{one.key}")
            button.props["name"], button.props["value"] = group, one.key
            if one.key == self.value:
                button.props["checked"] = True
            button.on("change", self._chosen, js_handler="(e) => emit(e.target.value)")
            ui.html(one.svg, sanitize=False).props("aria-hidden=true").classes("drawn")
            text("span", one.name, "name")
            text("span", one.words, "small soft")
        return button

    async def _chosen(self, event: Any) -> None:
        for key, button in self._buttons.items():
            if key == str(event.args):
                button.props["checked"] = True
            elif "checked" in button.props:
                del button.props["checked"]
        self.value = str(event.args)
        await settled(self._on_choose(self.value))
