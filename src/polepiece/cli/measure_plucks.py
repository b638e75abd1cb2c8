"""``polepiece measure plucks`` and ``measure transfer``: what recordings say of a pickup that is in the guitar."""

import math
from typing import TYPE_CHECKING, Annotated

import typer

from polepiece.cli.console import console, signed, table
from polepiece.cli.envelope import emit, plain_envelope
from polepiece.cli.options import Json, Seed, UnusedSeed
from polepiece.cli.progress import working
from polepiece.cli.which_guitar import guitar_called
from polepiece.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from polepiece.measure import Estimate, PickupTransfer, PluckComparison, Taken

CAUTION = (
    "Record the guitar alone into the interface, loudspeakers down; before soldering or turning anything, unplug the "
    "guitar."
)
LEAST_SAID = 0.1  # dB or %: what the tables' last digit shows
SHOWN = (100.0, 200.0, 500.0, 1e3, 1.5e3, 2e3, 2.5e3, 3e3, 3.5e3, 4e3, 5e3, 6e3, 8e3, 1e4, 1.5e4)  # Hz


def plucks(
    before: Annotated[
        list[str], typer.Option("--before", metavar="AUDIO", help="Plucks before the change, repeatable.")
    ],
    after: Annotated[list[str], typer.Option("--after", metavar="AUDIO", help="Plucks after it, repeatable.")],
    guitar: Annotated[
        str | None, typer.Option("--guitar", metavar="FILE", help="A guitar file: its tuning, wound strings.")
    ] = None,
    notes: Annotated[
        str | None, typer.Option("--tuning", metavar="NOTES", help="Open strings, string 1 first: E4,B3,G3,D3,A2,D2.")
    ] = None,
    seed: UnusedSeed = 0,
    json: Json = False,
) -> None:
    """What changed between two recordings of plucked strings, with 90 % intervals, and what could not be shown.

    Pluck each open string five times before and five times after, two seconds apart, the others muted; same gain,
    same place on the string, same pick. Give two recordings of the same state once, to see what the hand alone makes.

    Example: polepiece measure plucks --before before.wav --after after.wav --guitar guitar.toml
    """
    from polepiece.measure import compare_plucks, plucks_of, read_taken

    tuning, wound = _strings(guitar, notes)
    total = len(before) + len(after)
    with working("listening for plucks") as step:

        def taken(paths: list[str], role: str, done: int) -> "Iterator[Taken]":
            for number, path in enumerate(paths, start=done):
                step(number, total)
                yield read_taken(path, role)

        first = plucks_of(taken(before, "before", 0), tuning=tuning)
        second = plucks_of(taken(after, "after", len(before)), tuning=tuning)
        found = compare_plucks(first, second, tuning=tuning, wound=wound)
    if json:
        body = found.to_dict()
        body.pop("schema")
        emit({**plain_envelope("measure-plucks", body), "seed": seed})
        return
    _show(found)


def _strings(guitar: str | None, notes: str | None) -> "tuple[tuple[float, ...], list[bool] | None]":
    """Return the open strings in Hz and which are wound, where that is known."""
    from polepiece.measure import STANDARD

    if guitar is not None and notes is not None:
        raise InputError("--guitar and --tuning both say how the guitar is tuned; give one of them.")
    if guitar is not None:
        from polepiece.pickup import open_strings

        return open_strings(guitar_called(guitar))
    if notes is None:
        return STANDARD, None
    from polepiece.strings import note_frequency

    return tuple(note_frequency(one) for one in notes.split(",")), None


def _show(found: "PluckComparison") -> None:
    from polepiece.measure import PLUCK_WORDS

    screen = console()
    named = {one.name: one for one in found.estimates}
    rows = [
        (words, signed(named[name].value, (named[name].low, named[name].high)), f"{found.least[name]:.1f}",
         _verdict(named[name]))
        for name, words in PLUCK_WORDS.items() if name in named
    ]  # fmt: skip
    screen.print(table("After less before, dB unless said", ("quantity", "value [90 %]", "least to show", ""), rows))
    balance = {one.name.rpartition(".")[2]: one for one in found.estimates if one.name.startswith("string_balance")}
    strings = [
        (one.note, f"{one.pitch_before:.1f}", f"{one.plucks_before} and {one.plucks_after}", _interval(one.level),
         _interval(balance.get(str(one.string))))
        for one in found.strings
    ]  # fmt: skip
    screen.print(table("By string", ("", "Hz", "plucks", "level [90 %]", "against the others"), strings))
    thirds = [
        (name.rpartition(".")[2], signed(one.value, (one.low, one.high)), f"{found.least[name]:.1f}",
         _interval(named.get(f"attack_{name}")))
        for name, one in named.items() if name.startswith("third_octave_db.")
    ]  # fmt: skip
    screen.print(
        table("Third octaves", ("Hz", "whole pluck [90 %]", "least to show", "attack, 100 ms"), thirds, left=0)
    )
    screen.print(
        "Least to show: half the 90 % interval if nothing had changed; a smaller change these plucks cannot show. What "
        "the hand did otherwise from one sitting to the next (pick, place on the string) is in no interval.",
        soft_wrap=True,
    )
    for line in found.notes:
        screen.print(f"- {line}", soft_wrap=True)
    screen.print(f"Caution: {CAUTION}", soft_wrap=True)


def _verdict(one: "Estimate") -> str:
    if one.low <= 0.0 <= one.high:
        return "not shown"
    return "changed" if abs(one.value) >= LEAST_SAID else "under 0.1"


def _interval(one: "Estimate | None") -> str | None:
    return None if one is None else signed(one.value, (one.low, one.high))


def transfer(
    recording: Annotated[
        str, typer.Argument(metavar="RECORDING", help="Two channels: exciter current, pickup under its load.")
    ],
    signal: Annotated[str | None, typer.Option("--signal", metavar="WAV", help="The sweep that was played.")] = None,
    seed: Seed = 0,
    json: Json = False,
) -> None:
    """Response of a pickup under its load, from a sweep through a small coil held over a pole, dB re 1 kHz.

    The small coil is fed from the interface's line output; a resistor lies between its other end and earth, and the
    voltage across that resistor goes to channel 1. The guitar's jack goes to channel 2. No amplifier anywhere.

    Example: polepiece measure transfer neck.wav --signal sweep.wav
    """
    from polepiece.measure import CAUTION as LOUD
    from polepiece.measure import ratio_of, read_signal, read_taken, sweep_for, transfer_of

    taken = read_taken(recording, "transfer")
    played = sweep_for(taken.sample_rate) if signal is None else read_signal(signal)
    with working("finding the sweeps"):
        ratio = ratio_of(taken.samples, played, sample_rate=taken.sample_rate, where=taken.fact.name, through=True)
        found = transfer_of(ratio, files=(taken.fact,), seed=seed)
    if json:
        body = dict(found.to_dict())
        body.pop("schema")
        emit({**plain_envelope("measure-transfer", body), "seed": seed})
        return
    _show_transfer(found)
    console().print(f"Caution: {LOUD}", soft_wrap=True)


def _show_transfer(found: "PickupTransfer") -> None:
    import numpy as np

    screen = console()
    places = [int(np.argmin(np.abs(found.frequency - f))) for f in SHOWN if f <= 1.05 * found.frequency[-1]]
    rows = [
        (f"{found.frequency[k]:.0f}", f"{found.level_db[k]:+.2f}", f"{found.low_db[k]:+.2f}..{found.high_db[k]:+.2f}")
        for k in places
    ]
    screen.print(table("Response, dB re 1 kHz", ("Hz", "dB", "90 %"), rows, left=0))
    for one in found.estimates:
        places_after = max(0, 1 - math.floor(math.log10(max(0.5 * (one.high - one.low), 1e-3))))
        screen.print(
            f"{one.name.replace('_', ' ')}: {one.value:.{places_after}f} ({one.low:.{places_after}f} to "
            f"{one.high:.{places_after}f})"
        )
    for line in found.notes:
        screen.print(f"- {line}", soft_wrap=True)
