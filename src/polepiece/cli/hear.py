"""``polepiece hear``: before and after as sound files, of a phrase or of recordings of any length."""

import shutil
from collections.abc import Sequence
from contextlib import ExitStack, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from polepiece.cli import hear_words
from polepiece.cli.console import console, show_assumed
from polepiece.cli.curve_file import CurveFile, check_curve, write_responses
from polepiece.cli.envelope import assumed_of, emit, envelope, pickup_of
from polepiece.cli.options import Assumed, Changes, GuitarFile, Json, Out, PickupName, Position, Replace, Seed, decimal
from polepiece.cli.output import Staging, made_here, staged
from polepiece.cli.progress import Report, working
from polepiece.cli.trade_lines import found_words, trade_lines
from polepiece.cli.which_guitar import guitar_called

if TYPE_CHECKING:
    from polepiece.auditioning import Comparison
    from polepiece.errors import PolepieceError
    from polepiece.moves import Change
    from polepiece.sound import Loudspeaker

NAME = "hear"
STRETCH_S = 10.0  # that is described
BUILT_IN = ("closed-box", "none")  # loudspeakers
CAUTION = "turn the playback level down before you listen; a new state may be louder or sharper than you expect."


def command(
    file: GuitarFile,
    change: Changes,
    out: Out,
    pickup_name: PickupName = None,
    position: Position = None,
    also: Annotated[
        list[str] | None,
        typer.Option("--also", metavar="MOVES", help="Another state beside it, repeatable: 'magnet=alnico-5; tone=8'."),
    ] = None,
    recording: Annotated[
        list[str] | None,
        typer.Option(
            "--recording", "-r", metavar="AUDIO",
            help="Your own playing with this pickup alone, of any length, repeatable: WAV, FLAC, AIFF.",
        ),
    ] = None,
    phrase: Annotated[
        str,
        typer.Option(
            "--phrase",
            help="A phrase by its name (a wrong one lists them), or your own: tablature *.tab, or *.mid.",
        ),
    ] = "open-chord",
    chain: Annotated[
        str | None,
        typer.Option("--chain", metavar="NAME", help="clean, edge or driven; without it, the voltage of the cable."),
    ] = None,
    loudspeaker: Annotated[
        str,
        typer.Option(
            "--loudspeaker", metavar="WHICH",
            help="Of the chain: closed-box (made up), none, or the file of an impulse response.",
        ),
    ] = "closed-box",
    room: Annotated[
        bool, typer.Option("--room", help="Put the loudspeaker of the chain into a small furnished room, 1.5 m away.")
    ] = False,
    full_scale: Annotated[
        float,
        typer.Option(
            "--full-scale", parser=decimal, metavar="VOLTS", help="Volts at full scale of the recording's interface."
        ),
    ] = 1.0,
    without: Annotated[
        str,
        typer.Option(
            "--without", metavar="WHAT", help="Of a phrase, leave out: glide, noise, or both as glide,noise; all."
        ),
    ] = "",
    ringing: Annotated[
        bool, typer.Option("--ringing", help="Let strings that are not played ring along through the bridge.")
    ] = False,
    driven: Annotated[bool, typer.Option("--driven", help="The same as --chain driven.")] = False,
    listening_db: Annotated[
        float,
        typer.Option(
            "--listening-db", metavar="DB_SPL",
            help="Level at the ear that is assumed for before.wav, 40 to 100; loudness and sharpness depend on it.",
        ),
    ] = 75.0,
    curve: CurveFile = None,
    replace: Replace = False,
    seed: Seed = 0,
    assumed: Assumed = False,
    json: Json = False,
) -> None:  # fmt: skip
    """Write before.wav, after.wav (equally loud) and after-true-level.wav; 24 bit.

    Without --recording a phrase is computed: strings, pickup, controls, cable. With it, your playing is given the
    new response; what is not linear stays as you played it. Start with the playback level low. Of several recordings
    one that cannot be used is said at the end (exit code 2); the others are written. What an earlier run left in the
    folder is written again; any other file of such a name stays, and the command stops, unless --replace is given.

    Example: polepiece hear guitar.toml --pickup neck --change magnet=alnico-3 --out sounds

    Two takes, two states, through a loudspeaker: polepiece hear guitar.toml -p neck -c magnet=alnico-3
    --also "magnet=alnico-3; lower=0.5mm" -r one.wav -r two.wav --chain edge --loudspeaker box.wav -o sounds
    """
    from polepiece.auditioning import check_listening_level, compare, describe, phrase_for
    from polepiece.bench import Bench, position_of
    from polepiece.errors import InputError, MeasurementError
    from polepiece.guitar import heard_position
    from polepiece.moves import apply, parse_changes
    from polepiece.sound import Realism

    lists = [parse_changes(change), *(_moves(one) for one in also or [])]
    guitar = guitar_called(file)
    pickup = pickup_of(guitar, pickup_name)
    position = heard_position(guitar, pickup.name, position).name
    for one in lists:  # a change that cannot be made is refused before anything is computed
        apply(guitar, pickup.name, one)
    piece = phrase_for(guitar, phrase)
    realism = Realism(sympathetic=ringing).without(without)
    check_listening_level(listening_db)
    setting = _setting(chain, driven=driven)
    speaker = _loudspeaker(loudspeaker, chain=setting, room=room)
    takes: list[str | None] = [*recording] if recording else [None]
    names = [_names(stem, len(lists)) for stem in _stems(takes)]
    inputs = [Path(one) for one in (file, *takes, *([loudspeaker] if loudspeaker not in BUILT_IN else [])) if one]
    _check_room(takes, Path(out), sounds=len(names[0]))
    check_curve(curve, [file], replace=replace)
    bench = Bench(seed=seed)
    made: list[hear_words.Made] = []
    faults: dict[str, PolepieceError] = {}
    for take, files in zip(takes, names):
        try:
            with staged(out, files, inputs=inputs, replace=replace, own=made_here) as staging:
                label = "making sounds" if take is None else f"listening to {Path(take).name}, seconds"
                with working(label) as report:
                    found = compare(
                        guitar, pickup.name, lists, phrase=piece, recording=take, chain=setting, loudspeaker=speaker,
                        full_scale=full_scale, position=position, seed=seed, bench=bench,
                        progress=None if take is None else report, realism=realism,
                    )  # fmt: skip
                with working("describing them") as report:
                    rows = []
                    for k in range(1, len(found.states)):
                        rows.append(describe(found, k, listening_db_spl=listening_db, seconds=STRETCH_S))
                        report(k, len(found.states) - 1)
                with working("writing sounds, seconds") as report:
                    _write(found, files, staging, inputs, report)
            made.append(hear_words.Made(found=found, files=files, described=rows, again=staging.again))
        except (InputError, MeasurementError) as error:
            if len(takes) == 1 and (take is None or Path(take).name in str(error)):
                raise
            if len(takes) == 1:  # found further on, of a signal made of it: said of what was given
                raise type(error)(f"{Path(str(take)).name}: {error}") from error
            faults[str(take)] = error  # the other recordings are not lost
    if made and curve is not None:
        there = bench.heard_in(position_of(guitar, pickup.name, position))
        after = {f"after {k}": apply(guitar, pickup.name, one) for k, one in enumerate(lists, start=1)}
        write_responses(curve, {k: there.state(one, pickup.name) for k, one in ({"before": guitar} | after).items()})
    spoken = [found_words(guitar, pickup.name, one, position=position, bench=bench) for one in lists] if made else []
    if made and json:
        words = [found_here for found_here, _ in spoken]
        body = hear_words.as_body(made, Path(out), listening_db=listening_db, faults=faults, words=words)
        body |= {"position_name": position}
        emit(envelope(NAME, guitar, body, seed=seed, pickups=[pickup]))
    elif made:
        screen = console()
        if position != pickup.name:
            screen.print(f"Heard in the position {position}.", markup=False)
        for sound in made:
            for line in hear_words.words(sound):
                screen.print(line, markup=False)
            for table in hear_words.tables(sound, listening_db=listening_db, seconds=STRETCH_S):
                screen.print(table)
            for said in spoken:
                screen.print("\n".join(trade_lines(*said)), markup=False, soft_wrap=True)
            for line in hear_words.notes(sound):
                screen.print(line, markup=False, soft_wrap=True)
            for name in sound.files:
                again = " (written again)" if name in sound.again else ""
                screen.print(f"{Path(out) / name}{again}", soft_wrap=True, markup=False)
        screen.print(f"Caution: {CAUTION}", soft_wrap=True)
        show_assumed(screen, assumed_of(guitar, [pickup]), guitar=guitar, everything=assumed)
    if faults:
        raise InputError(hear_words.fault_words(faults, len(takes)))


def _moves(text: str) -> "tuple[Change, ...]":
    from polepiece.errors import InputError
    from polepiece.moves import parse_changes

    moves = [one.strip() for one in text.split(";") if one.strip()]
    if not moves:
        raise InputError(f"--also {text!r} holds no move; write --also 'magnet=alnico-5; tone=8'.")
    return parse_changes(moves)


def _setting(chain: str | None, *, driven: bool) -> str | None:
    from polepiece.errors import InputError
    from polepiece.sound import chain_setting

    if driven and chain not in (None, "driven"):
        raise InputError(f"--driven and --chain {chain} were given; a sound goes through one of them.")
    wanted = "driven" if driven else chain
    return None if wanted is None else chain_setting(wanted).name


def _loudspeaker(which: str, *, chain: str | None, room: bool) -> "Loudspeaker":
    from polepiece.errors import InputError
    from polepiece.sound import InRoom, read_impulse_response

    if room and chain is None:
        raise InputError("--room stands behind a loudspeaker, and without --chain there is none. Add --chain clean.")
    bare = which if which in BUILT_IN else read_impulse_response(which)
    return InRoom(loudspeaker=bare) if room else bare  # type: ignore[arg-type,return-value]  # one of BUILT_IN


def _stems(takes: Sequence[str | None]) -> list[str]:
    """Return what the files of each recording begin with; nothing where there is one only."""
    if len(takes) == 1:
        return [""]
    stems: list[str] = []
    for one in takes:
        stem, number = Path(str(one)).stem, 1
        while (name := f"{stem}-" if number == 1 else f"{stem}-{number}-") in stems:
            number += 1
        stems.append(name)
    return stems


def _names(stem: str, states: int) -> list[str]:
    """Return the files of one recording: before, then two for each state."""
    if states == 1:
        return [stem + name for name in hear_words.PIECES.values()]
    numbered = [f"{stem}after-{k}{level}.wav" for k in range(1, states + 1) for level in ("", "-true-level")]
    return [f"{stem}before.wav", *numbered]


def _check_room(takes: Sequence[str | None], out: Path, *, sounds: int) -> None:
    """Refuse before the work what would not fit on the disk; recordings that cannot be read are said in their turn."""
    from polepiece.errors import InputError, MeasurementError
    from polepiece.sound import header

    found = []
    for one in takes:
        with suppress(InputError, MeasurementError):
            found += [header(one)] if one is not None else []
    there = next(place for place in (out, *out.absolute().parents) if place.exists())
    needed, free = sum(3 * one.frames * one.channels * sounds for one in found), shutil.disk_usage(there).free
    if needed > free:
        raise InputError(
            f"{sounds} sounds of {sum(one.duration for one in found) / 60:.0f} minutes take {needed / 1e9:.1f} GB; "
            f"{out} has {free / 1e9:.1f} GB left. Choose another folder with --out."
        )


def _write(
    found: "Comparison", files: Sequence[str], staging: Staging, inputs: Sequence[Path], report: Report
) -> None:  # fmt: skip
    from polepiece.sound import writing

    total, done = max(len(found.states) * found.frames // found.sample_rate, 1), 0
    for state in range(len(found.states)):
        names = files[2 * state - 1 : 2 * state + 1] if state else files[:1]  # equally loud, and at the true level
        with ExitStack() as open_files:
            puts = [
                open_files.enter_context(
                    writing(
                        staging.path(name), found.sample_rate, channels=found.channels, frames=found.frames,
                        inputs=inputs,
                    )
                )
                for name in names
            ]  # fmt: skip
            for pair in found.both(state):
                for put, block in zip(puts, pair):
                    put(block)
                done += pair[0].shape[0]
                report(done // found.sample_rate, total)
