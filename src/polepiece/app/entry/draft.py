"""What is typed of a new guitar and not on record yet: kept in its tab, so that a reload does not lose it.

The browser's store of the tab (``sessionStorage``, HTML Living Standard, "Web storage") keeps it: no other tab sees it,
and it is gone with the tab. What comes back from there is read as strictly as anything from outside.
"""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from nicegui import ui

from polepiece.guitar import MOST_ENTERED

KEY = "polepiece-new-guitar"
MOST_ANSWERS, LONGEST = 200, 2_000  # a form has some fifty; characters of one answer
ANSWER_S = 3.0  # that a tab is waited for


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """Answers by attribute: of the guitar and its controls, and of each pickup."""

    of_guitar: Mapping[str, str]
    pickups: Sequence[Mapping[str, str]]

    @property
    def text(self) -> str:
        """As it is kept."""
        return json.dumps([dict(self.of_guitar), [dict(one) for one in self.pickups]])


def read_draft(text: object) -> Draft | None:
    """Return the draft that was kept, or None for anything else."""
    try:
        found = json.loads(text) if isinstance(text, str) else None
    except (ValueError, RecursionError):
        return None
    if not (isinstance(found, list) and len(found) == 2 and isinstance(found[1], list)):
        return None
    of_guitar, pickups = found
    if not 1 <= len(pickups) <= MOST_ENTERED or not all(map(_are_answers, (of_guitar, *pickups))):
        return None
    return Draft(of_guitar=of_guitar, pickups=pickups)


def _are_answers(found: object) -> bool:
    return isinstance(found, dict) and len(found) <= MOST_ANSWERS and all(
        isinstance(said, str) and len(said) <= LONGEST for said in found.values()
    )  # fmt: skip


def keep(draft: Draft) -> None:
    """Keep it in the tab."""
    ui.run_javascript(f"sessionStorage.setItem({KEY!r}, {json.dumps(draft.text)})")


def forget() -> None:
    """Forget what is kept: the guitar is on record, or is begun anew."""
    ui.run_javascript(f"sessionStorage.removeItem({KEY!r})")


async def kept() -> Draft | None:
    """Return what this tab has kept; None where there is nothing, or the tab does not answer."""
    try:
        return read_draft(await ui.run_javascript(f"sessionStorage.getItem({KEY!r})", timeout=ANSWER_S))
    except TimeoutError:
        return None
