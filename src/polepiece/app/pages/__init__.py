"""The pages, in the order of the header. A module has ``PAGE`` and ``build``; see `polepiece.app`."""

from types import ModuleType

from polepiece.app.pages import drawer, grades, guitar, hear, overview, plan, worksheet

PAGES: tuple[ModuleType, ...] = (overview, guitar, grades, plan, hear, worksheet, drawer)
