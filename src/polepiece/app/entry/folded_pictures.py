"""A choice among many drawn things, folded in groups by their plain names."""

from collections.abc import Mapping, Sequence

from nicegui import ui

from polepiece.app.widgets.controls import OnText, text
from polepiece.app.widgets.picture_choice import PictureChoice, Pictured


class FoldedPictures(PictureChoice):
    """One group of radio buttons under several folds; open is the fold of what is chosen, and each that is opened."""

    def __init__(
        self, legend: str, options: Mapping[str, Sequence[Pictured]], value: str, on_choose: OnText, *, group: str,
        mark: str,
    ) -> None:  # fmt: skip
        self.value = value
        self._on_choose = on_choose
        buttons: dict[str, ui.element] = {}
        with ui.element("fieldset").classes("pictures").mark(mark):
            text("legend", legend)
            for number, (kind, drawn) in enumerate(options.items()):
                with ui.element("details").mark(f"{mark}-fold-{number}") as fold:
                    if value in {one.key for one in drawn}:
                        fold.props("open")
                    text("summary", kind)
                    with ui.element("div").classes("picture-row"):
                        buttons |= {one.key: self._button(one, group, mark) for one in drawn}
        self._buttons = buttons
