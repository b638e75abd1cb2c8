"""States of a guitar as an address can carry them: as it is, as it was, after moves, with another bar.

A state is written as its parts joined by ``;``:

- ``now``: as it is on record; ``was:12``: as it was in state 12 of the notebook;
- ``grade:alnico-5`` or ``grade:alnico-5@in-place``: with a bar of that grade, charged so;
- a move as the command line takes it, ``lower=0.5mm``; ``bridge:raise=0.3mm`` where it is made on another pickup.
"""

from polepiece.app.server import shared
from polepiece.app.server.desk import Desk
from polepiece.app.widgets.plain_history import plain
from polepiece.bench import grade_slugs, replace_pickup, with_grade
from polepiece.errors import InputError
from polepiece.guitar import Charge, Guitar, charge_words, grade_words
from polepiece.moves import apply, move_words, parse_change, parse_changes
from polepiece.planning import Row
from polepiece.typed_number import typed_number

NOW = "now"
LONGEST = 400  # characters of one state


def moves_state(changes: "list[str] | tuple[str, ...]", then: str | None = None) -> str:
    """Return the state after moves of a plan's row, its height move included."""
    return ";".join([*changes, *([then] if then else [])]) or NOW


def state_of_row(row: Row) -> str:
    """Return the state after a row of a plan."""
    state = moves_state(row.change, row.then)
    return state if row.also is None else ";".join([state, *(f"{row.also[0]}:{one}" for one in row.also[1])])


def state_since(since: str, row: Row) -> str:
    """Return the state after a row of a plan that was made for ``since``: as it is, or a state on record."""
    return state_of_row(row) if since == NOW else f"{since};{state_of_row(row)}"


def grade_state(slug: str, charge: Charge, lowered: float = 0.0) -> str:
    """Return the state with a bar of this grade, lowered (m; raised: < 0) or not."""
    how = charge if isinstance(charge, str) else f"{charge:g}"
    if abs(lowered) < 5e-6:
        return f"grade:{slug}@{how}"
    return f"grade:{slug}@{how};{'lower' if lowered > 0 else 'raise'}={1e3 * abs(lowered):.2f}mm"


def guitar_in(desk: Desk, state: str) -> Guitar:
    """Return the guitar in a state.

    Raises
    ------
    InputError
        When the state cannot be read, or a move cannot be made.
    NotebookError
        When there is no such state in the notebook.
    """
    if len(state) > LONGEST:
        raise InputError(f"a state of {len(state)} characters is too long; at most {LONGEST} are read.")
    guitar = desk.guitar
    moves: dict[str, list[str]] = {}
    for part in [one.strip() for one in state.split(";") if one.strip()]:
        if part == NOW:
            continue
        if part.startswith("was:"):
            guitar = _recorded(desk, part)
        elif part.startswith("grade:"):
            slug, charge = _grade(part)
            guitar = replace_pickup(guitar, with_grade(guitar.pickup(desk.pickup), slug, charge))
        else:
            where, text = _placed(guitar, part)
            moves.setdefault(where or desk.pickup, []).append(text)
    for pickup, texts in moves.items():
        guitar = apply(guitar, pickup, parse_changes(texts))
    return guitar


def words_of(desk: Desk, state: str) -> str:
    """Return what a state is, in words; never fails."""
    words = []
    for part in [one.strip() for one in state.split(";") if one.strip()]:
        if part == NOW:
            words.append("as it is")
        elif part.startswith("was:"):
            words.append(_recorded_words(desk, part))
        elif part.startswith("grade:"):
            slug, _, how = part.removeprefix("grade:").partition("@")
            words.append(f"{grade_words(slug)}, {charge_words(how)}" if how else grade_words(slug))
        else:
            words.append(move_words(part))
    return ", ".join(words) or "as it is"


def _recorded(desk: Desk, part: str) -> Guitar:
    number = part.removeprefix("was:")
    known = {str(one.id) for one in desk.history}
    if number not in known:
        raise InputError(f"this guitar has no state {number} on record.")
    return shared.room().notebook.state_guitar(int(number))


def _recorded_words(desk: Desk, part: str) -> str:
    number = part.removeprefix("was:")
    found = next((one for one in desk.history if str(one.id) == number), None)
    if found is None:
        return f"state {number} (not on record)"
    return "as first recorded" if found.act == "entry" else f"as on {found.at:%Y-%m-%d %H:%M} ({plain(found.why)})"


def _grade(part: str) -> tuple[str, Charge]:
    slug, _, how = part.removeprefix("grade:").partition("@")
    if slug not in grade_slugs():
        raise InputError(f"there is no grade {slug!r}; known are {', '.join(grade_slugs())}.")
    if how in ("", "outside"):
        return slug, "outside"
    if how == "in-place":
        return slug, "in-place"
    try:
        share = float(typed_number(how))
    except InputError:
        raise InputError(f"charge is {how!r}; allowed are outside, in-place, or a fraction such as 0.7.") from None
    if not 0.0 < share <= 1.0:
        raise InputError(f"charge is {how}; a fraction lies above 0 and up to 1.")
    return slug, share


def _placed(guitar: Guitar, part: str) -> tuple[str, str]:
    """Split "bridge:raise=0.3mm"; the pickup is empty where none is named."""
    head, colon, tail = part.partition(":")
    if colon and "=" not in head:
        return guitar.pickup(head.strip()).name, tail.strip()
    parse_change(part)
    return "", part
