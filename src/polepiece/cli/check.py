"""``polepiece check``: what a guitar file says, what is assumed beside it, and what to measure first."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated, Any

import typer

from polepiece.cli.console import chosen_of, console, table
from polepiece.cli.envelope import emit, envelope, plain_envelope
from polepiece.cli.options import Assumed, GuitarFile, Json, PickupName, UnusedSeed
from polepiece.cli.progress import working
from polepiece.cli.which_guitar import guitar_called

if TYPE_CHECKING:
    from polepiece.bench import HangsOn, Share
    from polepiece.guitar import Assumption, Guitar

NAME = "check"
FIRST = 10  # values that are worth measuring, printed
NOT_USABLE = 1
DOTTED = {"level": "level_db", "resonance": "resonance_hz", "presence": "bands_db.presence"}


def command(
    file: GuitarFile,
    pickup: PickupName = None,
    quick: Annotated[
        bool, typer.Option("--quick", help="Do not compute what to measure first: an answer at once.")
    ] = False,
    seed: UnusedSeed = 0,
    assumed: Assumed = False,
    json: Json = False,
) -> None:
    """Whether a guitar file can be used: its faults, what looks odd, what is assumed, and what to measure first.

    What to measure first is computed on a coarse mesh, and kept: how much of the spread of level, resonance and
    presence hangs on each thing that is not known (Sobol indices of total order). Exit code 0 when the file can be
    used, 1 when it has faults.

    Example: polepiece check guitar.toml
    """
    from polepiece.errors import GuitarFileError
    from polepiece.guitar import cautions, sentence_in_words

    try:
        guitar = guitar_called(file)
    except GuitarFileError as error:
        if _not_read(error):
            raise
        _say_faults(file, error.faults, json=json)
        raise typer.Exit(NOT_USABLE) from None
    names = [one.name for one in guitar.pickups]
    wanted = names if pickup is None else [guitar.pickup(pickup).name]
    odd = [sentence_in_words(one, names) for one in cautions(guitar)]
    first: tuple[HangsOn, ...] = ()
    if not quick:
        first = _hangs_on(guitar, wanted)
    if json:
        emit(envelope(NAME, guitar, _body(guitar, file, odd, None if quick else first, names), seed=seed))
        return
    _say(guitar, odd, None if quick else first, names, everything=assumed)


def _hangs_on(guitar: "Guitar", pickups: "Sequence[str]") -> "tuple[HangsOn, ...]":
    """Return what each pickup hangs on; what was found before is not asked again."""
    from polepiece.bench import hangs_on, known_hangs_on

    found = []
    for at, name in enumerate(pickups):
        known = known_hangs_on(guitar, name)
        if known is None:
            with working(f"finding out what to measure first, pickup {at + 1} of {len(pickups)}") as progress:
                known = hangs_on(guitar, name, progress=progress)
        found.append(known)
    return tuple(found)


def _ranked(found: "Sequence[HangsOn]", settled: bool) -> "list[tuple[str, Share]]":
    """Return (pickup, share) of all pickups, the largest first; what is of the guitar once, where it counts most."""
    each = [(one.pickup, share) for one in found for share in (one.first if settled else one.stays)]
    each.sort(key=lambda pair: -pair[1].share)
    seen: set[str] = set()
    out = []
    for name, share in each:
        key = share.path if share.path and not share.path.startswith("pickups[") else f"{name} {share.words}"
        if key not in seen:
            out.append((name, share))
        seen.add(key)
    return out


def _not_read(error: Any) -> bool:
    """Tell a file that is not there, or is none, from one with faults: there is nothing to list then."""
    (one, *others) = error.faults
    starts = ("there is no such file", "cannot be read", "is a folder")
    return not others and str(one).startswith(starts)


def _say_faults(file: str, faults: "Sequence[str]", *, json: bool) -> None:
    from polepiece.guitar import sentence_in_words

    if json:
        body = {"file": file, "usable": False, "faults": list(faults), "cautions": [], "measure_first": None}
        emit(plain_envelope(NAME, body))
        return
    typer.echo(f"{file} cannot be used yet; {len(faults)} {'fault' if len(faults) == 1 else 'faults'}:")
    for one in faults:
        typer.echo(f"  {one}")
        words = sentence_in_words(one, [])
        if words != one:
            typer.echo(f"    ({words.partition(' is ')[0]})")


def _body(
    guitar: "Guitar", file: str, odd: list[str], first: "Sequence[HangsOn] | None", names: Sequence[str]
) -> dict[str, Any]:
    from polepiece.guitar import in_words

    ranked = None if first is None else [_as_json(name, one) for name, one in _ranked(first, settled=True)]
    stays = None if first is None else [_as_json(name, one) for name, one in _ranked(first, settled=False)]
    return {
        "file": file, "usable": True, "faults": [], "name": guitar.name, "cautions": odd, "measure_first": ranked,
        "not_settled_at_a_bench": stays,
        "spread": None if first is None else {one.pickup: one.spread for one in first},
        "assumed_in_words": {one.path: in_words(one.path, names, guitar) for one in guitar.assumed},
    }  # fmt: skip


def _as_json(pickup: str, one: "Share") -> dict[str, Any]:
    in_db = [value for key, value in one.moves.items() if key != "resonance"]
    return {
        "path": one.path, "words": one.words, "settle": one.settle, "pickup": pickup, "share": one.share,
        "most": DOTTED[one.most], "moves_db": max(in_db, default=0.0), "moves": one.moves, "first": one.first,
        "total": one.total,
    }  # fmt: skip


def _say(
    guitar: "Guitar", odd: list[str], first: "Sequence[HangsOn] | None", names: Sequence[str], *, everything: bool
) -> None:
    screen = console()
    count = "1 pickup" if len(names) == 1 else f"{len(names)} pickups"
    screen.print(f"{guitar.name}: can be used. {count}: {', '.join(names)}.", markup=False, soft_wrap=True)
    for one in odd:
        screen.print(f"Look at this again: {one}", markup=False, soft_wrap=True)
    if first is not None:
        _say_first(screen, first)
    _say_assumed(screen, guitar, names, everything=everything)


def _say_first(screen: Any, found: "Sequence[HangsOn]") -> None:
    ranked = _ranked(found, settled=True)
    rows = [
        (_whose(name, one, len(found)), one.settle, f"{100 * one.share:.0f} %", _moved(one))
        for name, one in ranked[:FIRST]
    ]  # fmt: skip
    if not rows:
        screen.print("Nothing that a bench can measure would settle much.")
        return
    title = "Measure these first: how much of the spread of level, resonance and presence hangs on each"
    screen.print(table(title, ("what", "measure it with", "share", "alone it makes"), rows, left=2))
    stays = [f"{_whose(name, one, len(found))} {100 * one.share:.0f} %" for name, one in _ranked(found, settled=False)]
    if stays:
        screen.print(f"Nothing at the bench settles: {', '.join(stays)}.", markup=False, soft_wrap=True)


def _whose(pickup: str, one: "Share", pickups: int) -> str:
    """Return the words of an unknown, with the pickup before those that do not say it themselves."""
    return one.words if one.path or pickups == 1 else f"{pickup} pickup: {one.words}"


def _moved(one: "Share") -> str:
    """Return what it alone makes of what it moves most, 90 % of it, end to end."""
    value = one.moves[one.most]
    return f"{value:.0f} % of the resonance" if one.most == "resonance" else f"{value:.1f} dB of the {one.most}"


def _say_assumed(screen: Any, guitar: "Guitar", names: Sequence[str], *, everything: bool) -> None:
    from polepiece.guitar import what_is, whose_is

    chosen = chosen_of(guitar.assumed, everything=everything)
    groups: dict[str, list[str]] = {}
    for one in chosen:
        owner = "guitar" if one.path == "strings" else whose_is(one.path, names)
        settle = f"; settle: {one.settle}" if one.settle else ""
        groups.setdefault(owner, []).append(f"  {what_is(one.path, guitar)}: {one.value}{_range(one)}{settle}")
    if groups:
        screen.print(f"Assumed: {len(guitar.assumed)} values that the file does not say (90 % range):", style="bold")
    for owner, lines in groups.items():
        screen.print("\n".join([owner, *lines]), markup=False, soft_wrap=True)
    if rest := len(guitar.assumed) - len(chosen):
        screen.print(f"and {rest} more assumed values; --assumed lists them.")


def _range(one: "Assumption") -> str:
    return "" if one.low is None or one.high is None else f" ({one.low:g} to {one.high:g})"
