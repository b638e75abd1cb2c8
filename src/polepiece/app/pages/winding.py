"""Winding: a coil from any two things that are known of it, a batch of measured coils, a winding from a target."""

from nicegui import ui

from polepiece.app.server.desk import Desk
from polepiece.app.widgets import theme
from polepiece.app.widgets.controls import text
from polepiece.app.widgets.place import Place
from polepiece.app.winding.batch_card import BatchCard
from polepiece.app.winding.coil_card import CoilCard
from polepiece.app.winding.target_card import TargetCard
from polepiece.winding import bobbin_words

PAGE = Place(
    path="/winding", title="Winding", about="turns, wire, resistance, inductance and fill, each from the others",
    linked=False,
)  # fmt: skip


def build() -> None:
    """Register the page."""

    @theme.page(PAGE)
    async def winding(guitar: str = "", pickup: str = "", against: str = "") -> None:
        desk = Desk.at(guitar, pickup, against)
        ui.add_head_html(theme.STYLE)
        with theme.frame(PAGE, desk):
            text("p", bobbin_words(desk.guitar.pickup(desk.pickup)), "soft")
            for card in (lambda: CoilCard(desk), BatchCard, lambda: TargetCard(desk)):
                with ui.element("section").classes("card"):
                    card()
