"""``polepiece hear``: before and after as sound files."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from polepiece.cli.console import console, show_assumed
from polepiece.cli.envelope import assumed_of, emit, envelope, pickup_of
from polepiece.cli.options import Assumed, Changes, GuitarFile, Json, Out, PickupName, Seed
from polepiece.cli.output import staged
from polepiece.cli.progress import working

if TYPE_CHECKING:
    from polepiece.voicing import Audition

NAME = "hear"
FILES = {"before": "before.wav", "after": "after.wav", "after_true_level": "after-true-level.wav"}


def command(
    file: GuitarFile,
    change: Changes,
    out: Out,
    pickup: PickupName = None,
    recording: Annotated[
        str | None,
        typer.Option("--recording", "-r", metavar="AUDIO", help="Your own playing with this pickup: WAV, FLAC, AIFF."),
    ] = None,
    phrase: Annotated[
        str,
        typer.Option(
            "--phrase",
            help="open-chord, arpeggio, single-notes-low, single-notes-high, power-chords, bends or chromatic.",
        ),
    ] = "open-chord",
    driven: Annotated[bool, typer.Option("--driven", help="Both through the same soft saturation.")] = False,
    seed: Seed = 0,
    assumed: Assumed = False,
    json: Json = False,
) -> None:
    """Write before.wav, after.wav (equally loud) and after-true-level.wav; 24 bit.

    Without --recording a phrase is computed: strings, pickup, controls, cable. With it, your playing is given the
    new response; what is not linear stays as you played it. Start with the playback level low.

    Example: polepiece hear guitar.toml --pickup neck --change magnet=alnico-3 --out sounds
    """
    from polepiece.sound import phrase as known_phrase
    from polepiece.sound import read, write
    from polepiece.voicing import apply, audition, parse_changes, read_guitar

    changes = parse_changes(change)
    guitar = read_guitar(file)
    unit = pickup_of(guitar, pickup)
    apply(guitar, unit.name, changes)  # a change that cannot be made is refused before anything is computed
    known_phrase(phrase)
    inputs = [Path(one) for one in (file, recording) if one is not None]
    with staged(out, FILES.values(), inputs=inputs) as staging:
        sound = None if recording is None else read(recording)
        with working("making sounds"):
            heard = audition(guitar, unit.name, changes, phrase=phrase, recording=sound, driven=driven, seed=seed)
            for key, name in FILES.items():
                write(staging.path(name), getattr(heard, key), heard.sample_rate, inputs=inputs)
    body = as_body(heard, Path(out))
    if json:
        emit(envelope(NAME, guitar, body, seed=seed, pickups=[unit]))
        return
    screen = console()
    for line in words(heard):
        screen.print(line)
    for name in FILES.values():
        screen.print(str(Path(out) / name), soft_wrap=True)
    show_assumed(screen, assumed_of(guitar, [unit]), everything=assumed)


def as_body(heard: "Audition", folder: Path) -> dict[str, Any]:
    """Return an audition as the JSON shape."""
    return {
        "pickup": heard.pickup,
        "change": [one.text for one in heard.changes],
        "level_difference_db": heard.alignment.level_difference_db,
        "alignment_gain_db": heard.alignment.alignment_gain_db,
        "clean_level_difference_db": heard.clean_level_difference_db,
        "loudness_before_lufs": heard.alignment.before_lufs,
        "loudness_after_lufs": heard.alignment.after_lufs,
        "aligned_lufs": heard.alignment.aligned_lufs,
        "sample_rate_hz": heard.sample_rate,
        "folder": str(folder),
        "files": dict(FILES),
        "source": heard.source,
        "phrase": heard.phrase,
        "driven": heard.driven,
        "note": heard.alignment.note,
    }


def words(heard: "Audition") -> list[str]:
    """Say what was made and what the alignment hides."""
    moves = ", ".join(one.text for one in heard.changes)
    difference = heard.alignment.level_difference_db
    way = "louder" if difference > 0.0 else "quieter"
    out = [
        f"{heard.pickup}: {moves}; {heard.phrase} ({heard.source}{', driven' if heard.driven else ''}).",
        f"After is really {abs(difference):.1f} dB {way} than before (BS.1770); after.wav hides that with a gain of "
        f"{heard.alignment.alignment_gain_db:+.1f} dB, after-true-level.wav does not.",
    ]
    if heard.driven:
        out.append(f"In front of the saturation it is {heard.clean_level_difference_db:+.1f} dB.")
    if heard.alignment.note:
        out.append(heard.alignment.note)
    return out
