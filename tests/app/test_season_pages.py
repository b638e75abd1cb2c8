"""Every page on the invented season: each has something of it to show."""

from pathlib import Path

import httpx
from nicegui import Client, core

from polepiece.app.pages import PAGES
from polepiece.app.server import shared
from polepiece.cli.season import fill_season
from tests.app.conftest import application

SHOWN = {
    "/": ("choir accompanist (invented)", "Promised for", "Quoted:"),
    "/guitar": ("as it came in (invented)", "came in"),
    "/plan": ("harsh", "side"),
    "/hear": ("neck",),
    "/listen": ("right",),
    "/worksheet": ("neck", "readings as found"),
    "/prove": ("neck",),
    "/grades": ("neck",),
    "/drawer": ("alnico", "3"),
    "/learned": ("Looking through",),
    "/new": ("name",),
    "/winding": ("turns",),
}
"""What a page says of it at once; what is computed comes later, in the browser."""


async def test_every_page_has_something_to_show(tmp_path: Path) -> None:
    path = tmp_path / "season.sqlite"
    fill_season(path)
    async with application(path, demo=False):
        last = shared.room().notebook.jobs()[-1]
        transport = httpx.ASGITransport(core.app)
        async with httpx.AsyncClient(transport=transport, base_url="http://test") as client:
            for place in (one.PAGE.path for one in PAGES):
                before = set(Client.instances)
                found = await client.get(f"{place}?guitar={last.guitar_id}")
                assert found.status_code == 200, place
                (name,) = set(Client.instances) - before
                elements = Client.instances[name].elements.values()
                said = " ".join(f"{getattr(one, 'text', '')} {one.props.get('value', '')}" for one in elements)
                missing = [words for words in SHOWN[place] if words.lower() not in said.lower()]
                assert not missing, (place, missing, said[:3000])
