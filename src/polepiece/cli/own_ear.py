"""``--ear``: what a person was found to hear, from records of `polepiece trial least`."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING

from polepiece.errors import InputError

if TYPE_CHECKING:
    from polepiece.bench import Ear
    from polepiece.measure import ThresholdTrial


@contextmanager
def own_ear(records: Sequence[str] | None) -> "Iterator[Ear | None]":
    """Judge by the ear of these records what is heard, inside the ``with``; without any, by published thresholds.

    Raises
    ------
    InputError
        When a record is of another trial, is not over, or bounds nothing.
    MeasurementError
        When it is no record of a listening trial.
    """
    from polepiece.bench import ear_of, heard_by

    trials = [_asked_for_least(path) for path in records or ()]
    ear = ear_of(trials) if trials else None
    with heard_by(ear):
        yield ear


def _asked_for_least(path: str) -> "ThresholdTrial":
    from polepiece.bench import ear_of
    from polepiece.cli.trial_session import read_trial
    from polepiece.measure import ThresholdTrial  # here: a command without records need not load it

    trial, _ = read_trial(path)
    if not isinstance(trial, ThresholdTrial):
        raise InputError(
            f"--ear {path}: this trial does not ask for the least difference; make one with: polepiece trial least."
        )
    try:
        ear_of([trial])
    except InputError as error:
        raise InputError(f"--ear {path}: {error}") from None
    return trial


def ear_body(ear: "Ear | None") -> dict[str, object]:
    """Return it as the JSON shape: empty without an ear."""
    if ear is None:
        return {}
    return {"ear": {one: {"value": of.value, "low": of.low, "high": of.high, "unit": of.unit, "date": ear.dates[one]}
                    for one, of in ear.least.items()}}  # fmt: skip
