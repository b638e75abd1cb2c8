"""The address line follows what a page shows, so that a reload or a second tab shows the same."""

from nicegui import ui
from nicegui.client import Client


def alive(client: Client) -> bool:
    """Tell whether the tab is still there: long work may end after it was closed."""
    return client.id in Client.instances


def show_address(client: Client, address: str) -> None:
    """Put ``address`` into the address line of a tab; a button that is gone by now may have asked for it."""
    if alive(client):
        with client:
            ui.navigate.history.replace(address)
