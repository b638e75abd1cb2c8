"""Trials in the notebook, as the command line keeps them: a note of sort "trial" as far as each is, for good."""

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from typing import Any

from polepiece.bench import Ear, ear_of
from polepiece.errors import ChangedMeanwhileError, PolepieceError
from polepiece.measure import ThresholdTrial, Trial, result_of, trial_reader
from polepiece.notebook import Notebook, NoteEntry

GIVEN_UP = "given_up"


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptTrial:
    """A trial as far as the notebook has it."""

    trial: Trial
    of: Mapping[str, Any]  # guitar, pickup, changes, phrase, chain, takes; of the page: states, position
    state_id: int | None  # of the guitar it was heard of
    given_up: bool

    @property
    def going(self) -> bool:
        """Whether the page can go on with it."""
        return not self.trial.over and not self.given_up and bool(self.of.get("states"))

    @property
    def words(self) -> str:
        """What came of it, in a line."""
        head = f"{self.trial.date}, {_of_words(self.of)}: "
        count = len(self.trial.answers)
        answers = f"{count} answer{'' if count == 1 else 's'}"
        if self.given_up:
            return f"{head}given up after {answers}"
        if not self.trial.over:
            return f"{head}not over yet"
        try:
            return head + result_of(self.trial)[0][0]
        except PolepieceError as error:  # a staircase that bounds nothing
            return f"{head}{error}"


def trials_in(book: Notebook, guitar_id: int) -> list[KeptTrial]:
    """Return the trials of a guitar, each as it was kept last, oldest first; what is damaged is passed over."""
    found: dict[int, KeptTrial] = {}
    for note in book.notes(guitar_id, sort="trial"):
        body = note.body or {}
        try:
            trial = trial_reader(body.get("schema"))(body)
        except (PolepieceError, TypeError):
            continue
        of = body.get("of")
        found[trial.seed] = KeptTrial(
            trial=trial, of=of if isinstance(of, Mapping) else {}, state_id=note.state_id,
            given_up=body.get(GIVEN_UP) is True,
        )  # fmt: skip
    return list(found.values())


def ear_in(book: Notebook) -> Ear | None:
    """Return the ear that the staircases of a notebook, of all guitars, have found; None where none bounds anything."""
    found = [one for entry in book.guitars() for one in trials_in(book, entry.id) if not one.given_up]
    told = []
    for trial in (one.trial for one in found):
        if isinstance(trial, ThresholdTrial) and trial.over:
            with suppress(PolepieceError):  # one that bounds nothing says nothing
                trial.outcome()
                told.append(trial)
    return ear_of(told) if told else None


def going_in(book: Notebook, guitar_id: int) -> KeptTrial | None:
    """Return the trial of a guitar that was begun on the page and waits for its next answer."""
    return next((one for one in reversed(trials_in(book, guitar_id)) if one.going), None)


def keep_trial(
    book: Notebook, guitar_id: int, state_id: int | None, trial: Trial, of: Mapping[str, Any], words: str, *,
    given_up: bool = False,
) -> NoteEntry:  # fmt: skip
    """Keep a trial as far as it is.

    Raises
    ------
    ChangedMeanwhileError
        When another tab has gone on with it, or another trial of this guitar is on.
    """
    there = next((one for one in trials_in(book, guitar_id) if one.trial.seed == trial.seed), None)
    before = trial if given_up else replace(trial, answers=trial.answers[:-1]) if trial.answers else None
    if (there and there.trial) != before or (there and there.given_up):
        raise ChangedMeanwhileError("this trial went on in another tab; reload this page.")
    if there is None and going_in(book, guitar_id) is not None:
        raise ChangedMeanwhileError("another trial of this guitar is on, in another tab; reload this page.")
    return book.write_note(
        guitar_id, f"listening trial, {_of_words(of)}: {words}"[:500], state_id=state_id, sort="trial",
        body=trial.to_dict() | {"of": dict(of)} | ({GIVEN_UP: True} if given_up else {}),
    )  # fmt: skip


def _of_words(of: Mapping[str, Any]) -> str:
    changes = of.get("changes")
    said = ", ".join(map(str, changes)) if isinstance(changes, list) and changes else "as it is"
    return f"{of.get('pickup', '')}, {said}"
