"""The pages, in the order of the header: that of a job. A module has ``PAGE`` and ``build``; see `polepiece.app`.

A page that sets what was measured beside what was computed comes after the work sheet.
"""

from types import ModuleType

from polepiece.app.pages import (
    drawer,
    grades,
    guitar,
    hear,
    learned,
    listen,
    new_guitar,
    overview,
    plan,
    prove,
    winding,
    worksheet,
)

PAGES: tuple[ModuleType, ...] = (
    overview, new_guitar, guitar, grades, plan, hear, worksheet, prove, listen, drawer, learned, winding,
)  # fmt: skip
