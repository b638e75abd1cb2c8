"""What a blind trial was of: the two states behind its buttons, held against the change it is to count for."""

from collections.abc import Mapping, Sequence
from hashlib import sha256
from typing import Any

from polepiece.bench import position_of
from polepiece.errors import InputError
from polepiece.guitar import Guitar, usual_position, write_guitar
from polepiece.measure import BlindTrial
from polepiece.moves import Change, apply, parse_changes

SIDES = ("before", "after")
CABLE = "cable"  # the chain of a trial that is heard straight
STATE_NOT_SAID = (
    "The record of the trial names the moves and not the state of the guitar that they were made on: that it was this "
    "one is taken for granted."
)


def states_heard(before: Guitar, after: Guitar) -> dict[str, str]:
    """Return what a record of a trial says of its two states: a SHA-256 of each as it is written."""
    return {side: _hash(one) for side, one in zip(SIDES, (before, after))}


def check_heard_of(
    trial: BlindTrial,
    of: object,
    guitar: Guitar,
    pickup: str,
    changes: Sequence[Change],
    *,
    position: str | None = None,
) -> str:
    """Return what is to be noted of a trial that was of this change; empty where nothing is.

    Parameters
    ----------
    trial : BlindTrial
    of : object
        ``of`` in its record.
    guitar : Guitar
        As it was before the change.
    pickup : str
    changes : sequence of Change
    position : str, optional
        Of the switches, in which the change is judged; default: the pickup as it usually is.

    Raises
    ------
    InputError
        When the trial was of anything else, or does not say of what. Which of the two states was played as "before"
        does not matter: that they are told apart is the same either way.

    Notes
    -----
    Computed sounds are those of the states that they were computed of, whole. Own takes are what they are, whatever is
    known of the guitar by now: there guitar, pickup and moves decide, or the states where the moves are not told.
    """
    name = guitar.pickup(pickup).name
    if not isinstance(of, Mapping) or not of.get("pickup"):
        raise InputError(
            'the record does not say what was heard; "of" has to name "guitar", "pickup" and "changes" (as `polepiece '
            "trial heard` writes it)."
        )
    if of["pickup"] != name:
        raise InputError(f"the trial is of the pickup {of['pickup']!s:.60}, not of {name}.")
    after = apply(guitar, name, changes)
    told = {of.get(side) for side in SIDES} - {None}
    moves = _moves_alike(of, guitar, name, after)
    alike = told == set(states_heard(guitar, after).values())
    if not (alike or (moves and (not told or trial.plan.sounds == "recorded"))):
        raise InputError(_unlike_words(of, moves=moves, changes=changes))
    _check_position(of, guitar, name, position)
    notes = [] if alike or trial.plan.sounds == "recorded" else [STATE_NOT_SAID]
    if (chain := str(of.get("chain") or CABLE)) != CABLE:
        notes.append(
            f"The trial was heard through an amplifier ({chain}); what is computed is at the end of the cable."
        )
    return " ".join(notes)


def _hash(guitar: Guitar) -> str:
    return sha256(write_guitar(guitar).encode()).hexdigest()


def _moves_alike(of: Mapping[str, Any], guitar: Guitar, name: str, after: Guitar) -> bool:
    texts = of.get("changes")
    if of.get("guitar", guitar.name) != guitar.name or not isinstance(texts, list):
        return False
    try:
        return apply(guitar, name, parse_changes([str(one) for one in texts])) == after
    except InputError:  # words of the page, or a move this guitar does not have
        return False


def _unlike_words(of: Mapping[str, Any], *, moves: bool, changes: Sequence[Change]) -> str:
    mine = ", ".join(one.text for one in changes) or "no change"
    if moves:
        return (
            f"the trial is of {mine} on another state of the guitar: something of it (a height, a part, a value) is "
            "not what it was when the sounds were made. Give the guitar as it was then, or make the trial anew."
        )
    texts = of.get("changes")
    theirs = ", ".join(map(str, texts)) if isinstance(texts, list) and texts else "no change"
    return f"the trial is of {theirs:.200} on {of.get('guitar', 'a guitar')!s:.80}, not of {mine}."


def _check_position(of: Mapping[str, Any], guitar: Guitar, name: str, position: str | None) -> None:
    heard = str(of.get("position") or "") or None
    usual = usual_position(guitar, name)
    there, here = (position_of(guitar, name, one) or usual for one in (heard, position))
    if there != here:
        raise InputError(f"the trial was heard in the position {there.name}; the change is judged in {here.name}.")
