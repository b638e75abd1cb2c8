"""Decay of the partials of dry single notes of an electric guitar beside what is computed for its open strings.

Run: ``python -m verification.dry_notes --file FluidR3_GM.sf2``. The notes (MIT licence) come with Debian's
``fluid-soundfont-gm``; none is kept here. Guitar, pickup and age of the strings are not known: a bracket, no proof.
"""

import argparse
import struct
from pathlib import Path

import numpy as np
from scipy import signal

from polepiece.strings.losses import LossModel
from polepiece.strings.modes import partial_loss, stiff_partials
from tests.reference.tuned_strings import tuned_set

BANDS = ((700.0, 1500.0), (1500.0, 2500.0), (2500.0, 3500.0), (3500.0, 5000.0), (5000.0, 7000.0))
NAMES = ("Clean F60", "Clean F50", "Clean F40", "Clean F30", "Clean F20", "Clean F10")  # string 1 first
DB = 20.0 / np.log(10.0)  # of one neper


def chunks(data: np.ndarray, start: int, end: int) -> dict[bytes, tuple[int, int]]:
    """Offsets and sizes of the chunks of a RIFF file, lists opened."""
    out: dict[bytes, tuple[int, int]] = {}
    while start < end - 8:
        name, size = bytes(data[start : start + 4]), struct.unpack("<I", bytes(data[start + 4 : start + 8]))[0]
        if name == b"LIST":
            out |= chunks(data, start + 12, start + 8 + size)
        out[name] = (start + 8, size)
        start += 8 + size + size % 2
    return out


def notes(path: Path) -> dict[str, tuple[np.ndarray, int]]:
    """Samples up to the loop, and rate, of each of NAMES (sound font 2: 46 bytes a sample header)."""
    data = np.memmap(path, dtype="u1", mode="r")
    found = chunks(data, 12, data.size)
    at, size = found[b"shdr"]
    out = {}
    for place in range(at, at + size - 46, 46):
        name = bytes(data[place : place + 20]).split(b"\0")[0].decode("latin1")
        first, _, loop, _, rate = struct.unpack("<5I", bytes(data[place + 20 : place + 40]))
        if name in NAMES:
            base = found[b"smpl"][0]
            out[name] = (np.frombuffer(bytes(data[base + 2 * first : base + 2 * loop]), "<i2") / 32768.0, rate)
    return out


def decay(samples: np.ndarray, rate: int, frequency: float, period: float) -> float:
    """Decay (dB/s) of the partial at ``frequency`` from 60 ms on, over its first 25 dB above the end's level."""
    time = np.arange(samples.size) / rate
    window = np.hanning(int(3.0 * rate * period))
    base = signal.fftconvolve(samples * np.exp(-2j * np.pi * frequency * time), window / window.sum(), mode="same")
    level = 20.0 * np.log10(np.abs(base) + 1e-9)
    first = int(0.06 * rate)
    least = max(level[first] - 25.0, float(np.median(level[-int(0.2 * rate) :])) + 6.0)
    under = np.flatnonzero(level[first:] < least)
    last = first + int(under[0]) if under.size else level.size - int(0.1 * rate)
    if last - first < 0.05 * rate or level[first] - least < 8.0:
        return float("nan")
    return float(-np.polyfit(time[first:last], level[first:last], 1)[0])


def partials(samples: np.ndarray, rate: int, pitch: float, stiffness: float) -> list[tuple[float, float]]:
    """Frequency and decay of each partial; the stiffness is followed as partials are found."""
    size = 1 << 18
    piece = samples[int(0.1 * rate) :]
    power = np.abs(np.fft.rfft(piece * np.hanning(piece.size), size))
    axis = np.arange(power.size) * rate / size

    def near(middle: float, width: float) -> float:
        inside = np.abs(axis - middle) < width
        return float(axis[inside][np.argmax(power[inside])])

    first, out, seen = near(pitch, 0.06 * pitch), [], []
    for n in range(1, 90):
        guess = float(stiff_partials(float(n), fundamental=first, inharmonicity=stiffness))
        if guess > 0.46 * rate:
            break
        found = near(guess, 0.35 * first)
        if n >= 4:
            seen.append(((found / (n * first)) ** 2 - 1.0) / n**2)
            stiffness = max(float(np.median(seen[-8:])), 1e-6) if len(seen) > 3 else stiffness
        out.append((found, decay(samples, rate, found, 1.0 / first)))
    return out


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--file", type=Path, default=Path("/usr/share/sounds/sf2/FluidR3_GM.sf2"))
    takes = notes(parser.parse_args().file)
    for name, string in zip(NAMES, tuned_set(), strict=True):
        found = np.array(partials(*takes[name], string.pitch, string.inharmonicity))
        n = np.arange(1.0, 200.0)
        said = DB * partial_loss(string, n, end_conductance=LossModel().end_conductance_vertical)
        frequency = stiff_partials(n, fundamental=string.pitch, inharmonicity=string.inharmonicity)
        cells = []
        for low, high in BANDS:
            here = found[(found[:, 0] > low) & (found[:, 0] < high) & np.isfinite(found[:, 1]), 1]
            computed = np.median(said[(frequency > low) & (frequency < high)])
            cells.append(f"{np.median(here):.0f} ({computed:.0f})" if here.size > 2 else f"- ({computed:.0f})")
        print(f"{string.pitch:6.1f} Hz | " + " | ".join(cells))


if __name__ == "__main__":
    main()
