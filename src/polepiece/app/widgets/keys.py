"""Single keys of the page that do what a button does; their caps stand on the buttons."""

from collections.abc import Callable, Sequence
from typing import Any

from nicegui import ui

from polepiece.app.widgets.controls import Handler, Press, press, settled, text


class Keys(ui.element, component="keys.js"):
    """Calls ``on_key`` with one of ``keys`` (small letters) when it is pressed and nothing is being typed."""

    def __init__(self, keys: Sequence[str], on_key: Callable[[str], object]) -> None:
        super().__init__()
        self.props["keys"] = list(keys)

        async def pressed(event: Any) -> None:
            await settled(on_key(str(event.args)))

        self.on("pressed", pressed)


def keyed_press(words: str, key: str, on_press: Handler, *, cls: str = "", mark: str = "") -> Press:
    """Return a button that shows its key."""
    made = press("", on_press, cls=f"keyed {cls}".strip(), mark=mark)
    made.props["aria-keyshortcuts"] = key.upper()
    with made:
        text("kbd", key.upper()).props("aria-hidden=true")
        text("span", words)
    return made
