"""What can be heard of a guitar, and how an address writes what is set on the page."""

from polepiece.app.hear.states import NOW, grade_state, state_of_row, words_of
from polepiece.app.plan.rows import plan_of
from polepiece.app.server import shared
from polepiece.app.server.desk import Desk
from polepiece.app.widgets.player import LOWEST_DB, PLAYBACK_DB
from polepiece.bench import grade_slugs
from polepiece.errors import InputError
from polepiece.guitar import grade_words
from polepiece.typed_number import typed_number


def default_states(desk: Desk) -> list[str]:
    """Return what is heard when nothing was chosen: as it is, as it was first, and the first rows of the last plan."""
    states = [NOW]
    if desk.stock.id != desk.state.id and desk.stock_guitar != desk.guitar:
        states.append(f"was:{desk.stock.id}")
    states += [state for state, _ in plan_states(desk)[:2]]
    return states if len(states) > 1 else [NOW, grade_state(_another(desk), "outside")]


def _another(desk: Desk) -> str:
    """Return a common grade that is not in."""
    return "alnico-3" if desk.chosen.magnet.grade in ("alnico-5", "unknown") else "alnico-5"  # unknown: taken for 5


def offered(desk: Desk) -> dict[str, str]:
    """Return the states that can be added, by how an address writes them."""
    options = {NOW: "as it is"}
    states = desk.history
    for one in [states[0], *reversed(states[-9:-1])]:
        options[f"was:{one.id}"] = words_of(desk, f"was:{one.id}")
    for state, words in plan_states(desk):
        options[state] = words
    if desk.chosen.built.bars:
        for slug in grade_slugs():
            options[grade_state(slug, "outside")] = f"bar of {grade_words(slug)}, charged outside"
    return options


def plan_states(desk: Desk) -> list[tuple[str, str]]:
    """Return the rows of the last plan that was kept for this pickup, as states with words."""
    kept = [one for one in shared.room().notebook.jobs(desk.entry.id) if one.plan is not None]
    plan = plan_of(kept[-1]) if kept else None
    return [
        (state_of_row(row), f"plan row {row.rank}: {words_of(desk, state_of_row(row))}")
        for row in (() if plan is None else plan.rows)
        if row.change and row.pickup == desk.pickup
    ]


def seconds_in(words: str) -> float:
    """Return seconds as they were typed, within what a recording can have; 0 for anything else."""
    try:
        return min(max(float(typed_number(words)), 0.0), 1800.0)
    except InputError:
        return 0.0


def loop_in(words: str) -> "tuple[float, float] | None":
    """Return both ends of a loop, s, or None."""
    low, _, high = words.partition("-")
    found = seconds_in(low), seconds_in(high)
    return found if found[1] > found[0] else None


def playback_in(words: str) -> float:
    """Return the level of the player, dB."""
    try:
        return min(max(round(typed_number(words)), LOWEST_DB), 0.0)
    except InputError:
        return PLAYBACK_DB
