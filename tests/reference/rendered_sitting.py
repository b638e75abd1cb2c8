"""Sittings of the stated stroke on every open string, rendered through a guitar, and heard as plucks."""

import numpy as np

from polepiece.auditioning.playing import SAMPLE_RATE, play
from polepiece.bench import Bench
from polepiece.bench.stroke import PLUCK
from polepiece.guitar import Guitar
from polepiece.measure import FileFact, PluckTake, Taken, plucks_of
from polepiece.pickup import open_strings
from polepiece.sound import Note, Phrase
from polepiece.strings import Spread

LEAD, GAP, DAMPED = 0.8, 1.6, 0.12  # s before the first stroke, from one to the next, and muted before the next
FULL_SCALE = 4.0  # V; a loud stroke on the pickups of the examples stays under 3 V
NOISE = 1e-5  # rms of full scale: -100 dB


def rendered(
    guitar: Guitar, pickup: str, *, plucks: int, seed: int, hand: Spread | None, bench: Bench, name: str
) -> PluckTake:
    """Return the plucks heard in a sitting of ``plucks`` strokes a string; ``hand`` None varies nothing."""
    notes = tuple(
        Note(string=k + 1, onset=LEAD + (k * plucks + j) * GAP, duration=GAP - DAMPED, pluck=PLUCK)
        for k in range(len(guitar.strings)) for j in range(plucks)
    )  # fmt: skip
    phrase = Phrase(name="sitting", notes=notes, duration=LEAD + len(notes) * GAP)
    sound = play(guitar, pickup, phrase, seed=seed, spread=hand, bench=bench) / FULL_SCALE
    assert np.abs(sound).max() < 1.0
    sound = sound + NOISE * np.random.default_rng([41, seed]).standard_normal(sound.size)
    taken = Taken(
        samples=sound[:, None], sample_rate=SAMPLE_RATE, fact=FileFact(role=name, name=name, sha256=f"{name}{seed}")
    )
    return plucks_of([taken], tuning=open_strings(guitar)[0])
