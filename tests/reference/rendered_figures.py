"""A few renderings and what is measured of each: kept in tests/fixtures/renderings.json, so that a change is seen.

They are no reference for what is right (other tests hold renderings beside closed forms and plain twins); they say that
nothing has moved which nobody meant to move. Coarse meshes: what a rendering makes of a pickup is held, not the pickup.
"""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from polepiece.auditioning.playing import SAMPLE_RATE, play
from polepiece.bench import Bench, coarse_bench, position_of
from polepiece.guitar import read_guitar
from polepiece.sound import BARE, LIVELY, PHRASES, InRoom, Realism, loudness_as_given, spectral_centroid, through_chain
from polepiece.sound.descriptors import attack_to_sustain_db, strongest_stroke
from tests.reference.third_octave_levels import third_octave_levels_db

Floats = NDArray[np.float64]

ROOT = Path(__file__).parents[2]
KEPT = ROOT / "tests" / "fixtures" / "renderings.json"
ALL = Realism(sympathetic=True)
SEED = 7  # of the hand
WITHIN = 40.0  # dB under the loudest third octave: what is heard
CASES = {  # guitar, pickup, position ("": by itself), phrase, what is alive, chain ("room": driven, in the small room)
    "humbucker, soft chords, bare": ("demo", "neck", "", "soft-chords", BARE, ""),
    "humbucker, hard chords, all": ("demo", "neck", "", "hard-chords", ALL, ""),
    "humbucker, fifths, driven in a room": ("demo", "bridge", "", "power-chords", ALL, "room"),
    "two pickups, bends": ("demo", "neck", "both", "bends", LIVELY, ""),
    "rods, muted riff": ("three-rod-singles", "middle", "", "muted-riff", LIVELY, ""),
    "rods, harmonics, edge": ("three-rod-singles", "bridge", "", "harmonics", BARE, "edge"),
    "blades, low line": ("blades", "bridge", "", "low-line", LIVELY, ""),
    "bass, legato": ("bass", "middle", "", "legato", ALL, ""),
    "eight strings, single notes": ("eight-strings", "bridge", "", "single-notes-low", LIVELY, ""),
}
SWITCHES = {"glide": Realism(noise=False), "noise": Realism(glide=False), "ringing": Realism(
    glide=False, noise=False, sympathetic=True)}  # fmt: skip


def rendered_figures() -> Iterator[tuple[str, dict[str, Any]]]:
    """Yield the name of each case and its figures; the last are what each switch adds to bare hard chords."""
    bench = coarse_bench()
    for name, (guitar, pickup, position, phrase, realism, chain) in CASES.items():
        yield name, figures_of(_sound(bench, guitar, pickup, position, phrase, realism, chain))
    bare = _sound(bench, "demo", "neck", "", "hard-chords", BARE, "")
    for name, only in SWITCHES.items():
        more = _sound(bench, "demo", "neck", "", "hard-chords", only, "") - bare
        yield f"{name} alone", {"added_db": 20.0 * float(np.log10(np.std(more) / np.std(bare)))}


def figures_of(sound: Floats) -> dict[str, Any]:
    """Return what is measured of one rendering: levels re 1 V (re full scale behind a chain), s, Hz."""
    middle, level = third_octave_levels_db(sound, SAMPLE_RATE)
    heard = level > level.max() - WITHIN
    stroke = strongest_stroke(sound, SAMPLE_RATE)
    return {
        "third_octaves_db": {f"{f:.0f}": float(db) for f, db in zip(middle[heard], level[heard])},
        "loudness_lufs": float(loudness_as_given(sound, SAMPLE_RATE, "it")),
        "centroid_hz": spectral_centroid(sound, SAMPLE_RATE),
        "attack_ms": attack_ms(sound, stroke),
        "attack_to_sustain_db": attack_to_sustain_db(sound, SAMPLE_RATE, onset=stroke),
    }


def attack_ms(sound: Floats, stroke: float) -> float:
    """Return how long the level over 5 ms takes from a tenth to nine tenths of its largest, from 20 ms before on."""
    span = round(5e-3 * SAMPLE_RATE)
    begin = max(0, round((stroke - 0.02) * SAMPLE_RATE))
    summed = np.concatenate([[0.0], np.cumsum(sound[begin : begin + round(0.2 * SAMPLE_RATE)] ** 2)])
    level = np.sqrt(np.maximum(summed[span:] - summed[:-span], 0.0))
    top = int(np.argmax(level >= 0.9 * level.max()))
    low = np.flatnonzero(level[: top + 1] <= 0.1 * level.max())
    return 1e3 * (top - (int(low[-1]) if low.size else 0)) / SAMPLE_RATE


def _sound(bench: Bench, guitar: str, pickup: str, position: str, phrase: str, realism: Realism, chain: str) -> Floats:
    of = read_guitar(ROOT / "examples" / f"{guitar}.guitar.toml")
    on = bench.heard_in(position_of(of, pickup, position or None))
    sound = play(of, pickup, PHRASES[phrase], seed=SEED, bench=on, realism=realism)
    if not chain:
        return sound
    if chain == "room":
        return through_chain(sound, SAMPLE_RATE, "driven", loudspeaker=InRoom())
    return through_chain(sound, SAMPLE_RATE, chain)
