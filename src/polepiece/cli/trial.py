"""``polepiece trial``: is it heard, which is preferred, the least that is heard; blind, one answer at a time."""

import datetime
import secrets
from dataclasses import asdict
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal

import typer

from polepiece.cli.console import console
from polepiece.cli.envelope import emit, pickup_of, plain_envelope
from polepiece.cli.options import Changes, GuitarFile, Json, NotebookFile, Out, PickupName, Position, Replace
from polepiece.cli.output import writable, write_whole
from polepiece.cli.progress import working
from polepiece.cli.trial_session import RECORD, SOUNDS, begun, read_trial, run
from polepiece.cli.which_guitar import guitar_called
from polepiece.errors import InputError

if TYPE_CHECKING:
    from polepiece.auditioning import Behind
    from polepiece.measure import Trial

NAME = "trial"
app = typer.Typer(no_args_is_help=True, rich_markup_mode=None, add_completion=False)
KINDS: "dict[str, Literal['abx', 'pair', 'odd']]" = {"match": "abx", "pair": "pair", "odd": "odd"}
AS_IT_IS = "as it is"

Phrase = Annotated[str, typer.Option("--phrase", help="What is played: a phrase by name, *.tab or *.mid.")]
Chain = Annotated[str | None, typer.Option("--chain", metavar="NAME", help="clean, edge or driven; else the cable.")]
Part = Annotated[
    str, typer.Option("--part", metavar="FROM-TO", help="Play this part of it, seconds, as 1.5-4; else the whole.")
]
Keep = Annotated[
    str | None, typer.Option("--keep", metavar="GUITAR", help="Keep it in the notebook: its number or name there.")
]


@app.callback()
def _main() -> None:
    """Listen blind: is a change heard, which state is preferred, what is the least difference heard."""


@app.command()
def heard(
    file: GuitarFile,
    change: Changes,
    out: Out,
    pickup: PickupName = None,
    position: Position = None,
    kind: Annotated[
        str, typer.Option("--kind", help="match (X to A or B), pair (which is after), odd (one of three).")
    ] = "match",
    trials: Annotated[int, typer.Option("--trials", metavar="N", help="How many; with --sequential at most.")] = 16,
    sequential: Annotated[
        bool, typer.Option("--sequential", help="End as soon as it is settled, with the error rates that are stated.")
    ] = False,
    true_level: Annotated[bool, typer.Option("--true-level", help="Leave the difference in level in it.")] = False,
    take: Annotated[
        list[str] | None,
        typer.Option(
            "--take", metavar="AUDIO", help="Twice: own takes before and after, aligned by their first stroke."
        ),
    ] = None,
    phrase: Phrase = "open-chord",
    chain: Chain = None,
    part: Part = "",
    keep: Keep = None,
    notebook: NotebookFile = None,
    json: Json = False,
) -> None:
    """Is the change heard? Sounds behind letters, an answer each, the result at the end.

    The rule is stated and written down before the first sound; the sounds of now lie in the folder, equally loud to
    0.1 dB unless --true-level is given. Ctrl-C or the end of input stops; the same command goes on.

    Example: polepiece trial heard guitar.toml -p neck -c magnet=alnico-3 --kind odd --sequential -o listening
    """
    from polepiece.auditioning import SAMPLE_RATE, behind_sides, own_takes, part_in, phrase_for, state_sounds
    from polepiece.evidence import states_heard
    from polepiece.measure import SLOTS, BlindTrial, TrialPlan
    from polepiece.moves import apply, parse_changes
    from polepiece.sound import read

    _check_kept(keep, notebook)
    if kind not in KINDS:
        raise InputError(f"--kind is {kind!r}; allowed are {', '.join(KINDS)}.")
    if take and len(take) != 2:
        raise InputError(f"--take was given {len(take)} times; give it twice: before, then after.")
    guitar = guitar_called(file)
    the_pickup = pickup_of(guitar, pickup)
    after = apply(guitar, the_pickup.name, parse_changes(change))
    plan = TrialPlan(
        kind=KINDS[kind], trials=trials, stop="sequential" if sequential else "fixed", level_matched=not true_level,
        sounds="recorded" if take else "computed",
    )  # fmt: skip
    played, piece = part_in(part), phrase_for(guitar, phrase)
    if played is not None and not take:
        played.check(piece.duration)
    facts = _facts(
        guitar,
        the_pickup.name,
        changes=list(change),
        phrase=phrase,
        chain=chain,
        part=part,
        takes=take or [],
        position=position,
        piece=piece,
    ) | states_heard(guitar, after)
    trial = begun(Path(out), BlindTrial(plan=plan, seed=secrets.randbits(48), date=_today()), facts)
    with working("making sounds"):
        if take:
            own = own_takes([read(one) for one in take])
            rate = own.sample_rate
            before, changed = own.sounds if played is None else [played.cut(one, rate) for one in own.sounds]
            for said in own.words:
                typer.echo(said, err=True)
        else:
            rate = SAMPLE_RATE
            before, changed = state_sounds(
                [guitar, after], the_pickup.name, phrase=piece, chain=chain, position=position,
                part=played,
            )  # fmt: skip
        play = behind_sides(before, changed, rate, matched=not true_level, rng=_fresh())
    _through(out, trial, facts, SLOTS[plan.kind], play, keep=keep, notebook=notebook, json=json)


@app.command()
def rank(
    file: GuitarFile,
    out: Out,
    state: Annotated[
        list[str],
        typer.Option("--state", "-s", metavar="MOVES", help="A state, repeatable: 'magnet=alnico-2; lower=0.5mm'."),
    ],
    pickup: PickupName = None,
    position: Position = None,
    word: Annotated[
        str, typer.Option("--word", help='What to judge: "tighter", "warmer"; else which is preferred.')
    ] = "",
    pairs: Annotated[int, typer.Option("--pairs", metavar="N", help="Most pairs of the design.")] = 20,
    again: Annotated[int, typer.Option("--again", metavar="N", help="Pairs that come once more.")] = 4,
    phrase: Phrase = "open-chord",
    chain: Chain = None,
    part: Part = "",
    keep: Keep = None,
    notebook: NotebookFile = None,
    json: Json = False,
) -> None:
    """Which of 3 to 9 states, the present one among them, is preferred, or has more of what you name? In blind pairs.

    Example: polepiece trial rank guitar.toml -p neck -s magnet=alnico-2 -s magnet=ceramic-8 --word tighter -o listening
    """
    from polepiece.auditioning import SAMPLE_RATE, behind_states, part_in, phrase_for, state_sounds
    from polepiece.measure import PreferencePlan, PreferenceTrial
    from polepiece.moves import apply, parse_changes

    _check_kept(keep, notebook)
    guitar = guitar_called(file)
    the_pickup = pickup_of(guitar, pickup)
    names = (AS_IT_IS, *state)
    guitars = [guitar]
    for one in state:
        moves = [part.strip() for part in one.split(";") if part.strip()]
        guitars.append(apply(guitar, the_pickup.name, parse_changes(moves)))
    plan = PreferencePlan(states=names, attribute=word, pairs=pairs, again=again)
    played, piece = part_in(part), phrase_for(guitar, phrase)
    if played is not None:
        played.check(piece.duration)
    facts = _facts(
        guitar, the_pickup.name, changes=list(state), phrase=phrase, chain=chain, part=part, takes=[],
        position=position, piece=piece,
    )  # fmt: skip
    trial = begun(Path(out), PreferenceTrial(plan=plan, seed=secrets.randbits(48), date=_today()), facts)
    with working("making sounds"):
        sounds = state_sounds(guitars, the_pickup.name, phrase=piece, chain=chain, position=position, part=played)
        play = behind_states(dict(zip(names, sounds)), SAMPLE_RATE, rng=_fresh())
    _through(out, trial, facts, ("1", "2"), play, keep=keep, notebook=notebook, json=json)


@app.command()
def least(
    file: GuitarFile,
    out: Out,
    pickup: PickupName = None,
    quantity: Annotated[str, typer.Option("--quantity", help="level, resonance or brightness.")] = "level",
    phrase: Phrase = "open-chord",
    chain: Chain = None,
    part: Part = "",
    keep: Keep = None,
    notebook: NotebookFile = None,
    json: Json = False,
) -> None:
    """What is the least difference that you hear on this gear? Three sounds, one odd; it grows and shrinks by itself.

    Example: polepiece trial least guitar.toml -p neck --quantity resonance -o listening
    """
    from polepiece.auditioning import behind_difference, largest_difference, part_in, phrase_for
    from polepiece.bench import Bench
    from polepiece.measure import ThresholdPlan, ThresholdTrial

    _check_kept(keep, notebook)
    guitar = guitar_called(file)
    the_pickup = pickup_of(guitar, pickup)
    name = ThresholdPlan(quantity=quantity).quantity  # type: ignore[arg-type]  # checked there
    plan = ThresholdPlan.within(name, largest_difference(guitar, the_pickup.name, name, Bench(seed=0)))
    played, piece = part_in(part), phrase_for(guitar, phrase)
    if played is not None:
        played.check(piece.duration)
    facts = _facts(
        guitar, the_pickup.name, changes=[], phrase=phrase, chain=chain, part=part, takes=[], position=None, piece=piece
    )
    trial = begun(Path(out), ThresholdTrial(plan=plan, seed=secrets.randbits(48), date=_today()), facts)
    with working("making sounds"):
        play = behind_difference(guitar, the_pickup.name, phrase=piece, chain=chain, part=played, rng=_fresh())
    _through(out, trial, facts, ("1", "2", "3"), play, keep=keep, notebook=notebook, json=json)


@app.command()
def result(
    record: Annotated[str, typer.Argument(metavar="TRIAL.json", help="The record in the folder of a trial.")],
    csv: Annotated[
        str | None, typer.Option("--csv", metavar="FILE", help="Write every answer with what was played.")
    ] = None,
    replace: Replace = False,
    json: Json = False,
) -> None:
    """Work out a trial that is over, again: the same record gives the same result.

    Example: polepiece trial result listening/trial.json --csv answers.csv
    """
    from polepiece.measure import answers_csv

    trial, body = read_trial(record)
    if csv is not None:
        writable("--csv", csv, inputs=[record], replace=replace)
        write_whole(csv, answers_csv(trial))
    _tell(trial, body.get("of", {}), record, json=json)


def _through(
    out: str, trial: "Trial", facts: dict[str, Any], slots: tuple[str, ...], play: "Behind", *,
    keep: str | None, notebook: str | None, json: bool,
) -> None:  # fmt: skip
    _note(trial, facts, "begun" if not trial.answers else "goes on", keep, notebook)
    trial = run(Path(out), trial, facts, slots, play)
    count = len(trial.answers)
    words = "over" if trial.over else f"stopped after {count} answer{'' if count == 1 else 's'}"
    _note(trial, facts, words, keep, notebook)
    if not trial.over:
        raise typer.Exit(1)
    _tell(trial, facts, str(Path(out) / RECORD), json=json)


def _check_kept(keep: str | None, notebook: str | None) -> None:
    if notebook is not None and keep is None:
        raise InputError("--notebook belongs to --keep GUITAR.")


def _tell(trial: "Trial", facts: Any, record: str, *, json: bool) -> None:
    from polepiece.measure import result_of

    lines, body = result_of(trial)
    if json:
        emit(plain_envelope(NAME, {"of": facts, "record": record, "plan": asdict(trial.plan), "result": body}))
        return
    for line in lines:
        console().print(line, soft_wrap=True, markup=False)


def _note(trial: "Trial", facts: dict[str, Any], words: str, keep: str | None, notebook: str | None) -> None:
    """Keep a trial as far as it is; one that is given up stays on record."""
    if keep is None:
        return
    from polepiece.notebook import open_notebook

    with open_notebook(notebook) as book:
        entry = book.find_guitar(keep)
        of = ", ".join(facts["changes"]) or "as it is"
        book.write_note(
            entry.id, f"listening trial, {facts['pickup']}, {of}: {words}"[:500], state_id=entry.state_id, sort="trial",
            body=trial.to_dict() | {"of": facts},
        )  # fmt: skip


def _facts(
    guitar: Any, pickup: str, *, changes: list[str], phrase: str, chain: str | None, part: str, takes: list[str],
    position: str | None, piece: object,
) -> dict[str, Any]:  # fmt: skip
    from polepiece.guitar import write_guitar
    from polepiece.sound import read

    files = [sha256(read(one).samples.tobytes()).hexdigest() for one in takes]
    # own takes are what they are, whatever became of the guitar
    what = repr(files) if takes else write_guitar(guitar) + repr([piece, position])
    return {
        "guitar": guitar.name, "pickup": pickup, "changes": changes, "phrase": phrase, "chain": chain or "cable",
        "takes": [Path(one).name for one in takes], SOUNDS: sha256(what.encode()).hexdigest(),
        **({"part": part} if part else {}), **({"position": position} if position else {}),
    }  # fmt: skip


def _today() -> str:
    return datetime.datetime.now(datetime.UTC).date().isoformat()


def _fresh() -> Any:
    import numpy as np

    return np.random.default_rng(secrets.randbits(128))
