"""A listening trial in the terminal: sounds written to a folder, one answer at a time, a record that outlives it."""

import json
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer

from polepiece.cli.output import write_whole
from polepiece.errors import InputError, MeasurementError

if TYPE_CHECKING:
    from polepiece.auditioning import Behind
    from polepiece.measure import Trial

RECORD = "trial.json"
SOUNDS = "sounds"  # among the facts of a trial: a hash of all that its sounds are made of
MADE_OF = (SOUNDS, "before", "after", "position")  # facts that an older record may lack


def read_trial(path: str | Path) -> "tuple[Trial, dict[str, Any]]":
    """Return a trial and the whole record that holds it."""
    from polepiece.measure import read_record, trial_reader

    body, _ = read_record(str(path), "a listening trial")
    try:
        return trial_reader(body.get("schema"))(body), dict(body)
    except (InputError, MeasurementError) as error:
        raise MeasurementError(f"{path}: {error}") from None


def begun(folder: Path, trial: "Trial", facts: Mapping[str, Any]) -> "Trial":
    """Return the trial of a folder that goes on, or the new one, of which nothing is written yet: see `run`.

    Raises
    ------
    InputError
        When the folder holds a trial of something else, or one that is over.
    """
    record = folder / RECORD
    if not record.exists():
        return trial
    there, body = read_trial(record)
    of = body.get("of")
    if there.plan != trial.plan or not isinstance(of, dict) or _named(of) != _named(facts):
        raise InputError(f"{record} is a trial of something else; choose another folder with --out.")
    if there.over:
        raise InputError(
            f"{record} is over; see it with: polepiece trial result {record}. A new one needs a new --out."
        )
    if of.get(SOUNDS) != facts[SOUNDS]:
        raise InputError(
            f"the sounds of {record} would not be those of its beginning: the guitar, the phrase, a take or the "
            "position is another by now. Put it back as it was, or begin anew in another folder with --out."
        )
    return there


def _named(of: Mapping[str, Any]) -> dict[str, Any]:
    """Return the facts that name a trial; what its sounds are made of is told apart by `SOUNDS`."""
    return {one: value for one, value in of.items() if one not in MADE_OF}


def run(folder: Path, trial: "Trial", facts: Mapping[str, Any], slots: tuple[str, ...], play: "Behind") -> "Trial":
    """Go through a trial: write the sounds of now, ask, keep the answer, until its rule ends it or input does.

    Its plan is on the disk before the first sound.
    """
    from polepiece.measure import LISTENING_CAUTION, trial_question

    typer.echo(f"{LISTENING_CAUTION}\nRule: {trial.plan.stopping_rule}", err=True)
    if not (folder / RECORD).exists():
        folder.mkdir(parents=True, exist_ok=True)
        _write(folder, trial, facts)
    files = ", ".join(f"{slot}.wav" for slot in slots)
    while not trial.over:
        for slot in slots:
            write_whole(folder / f"{slot}.wav", play(trial, slot))
        try:
            answer = typer.prompt(f"{trial.number}: listen to {files} in {folder}. {trial_question(trial)}", err=True)
        except typer.Abort:
            typer.echo(f"\nStopped; the answers are kept. The same command goes on at number {trial.number}.", err=True)
            return trial
        try:
            trial = trial.answered(str(answer))
        except InputError as error:
            typer.echo(str(error), err=True)
            continue
        _write(folder, trial, facts)
    for slot in slots:
        (folder / f"{slot}.wav").unlink(missing_ok=True)
    return trial


def _write(folder: Path, trial: "Trial", facts: Mapping[str, Any]) -> None:
    body = trial.to_dict() | {"of": dict(facts)}
    write_whole(folder / RECORD, json.dumps(body, indent=1, allow_nan=False) + "\n")
