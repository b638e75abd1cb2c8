"""How much faster than real time sound is rendered and re-voiced, and how far it is from the exact answer.

Run: ``python benchmarks/bench_sound.py [--out FILE] [--strings-only]``. One thread, time of the process itself; the
best of some runs is shown beside the worst, since other work on the machine only makes a run slower. From file to file
the best time of the wall stands beside. Errors are against plain twins: a sum of exponentials with no block, no pruning
and no limit on the modes of the flux law; a direct convolution; what folds back of a tone that divides no rate.
"""

import os

os.environ["OPENBLAS_NUM_THREADS"] = "1"

import argparse
import json
import platform
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import ExitStack
from functools import partial
from pathlib import Path

import numpy as np
import soundfile

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from polepiece.auditioning import compare
from polepiece.bench import Bench
from polepiece.guitar import read_guitar
from polepiece.moves import parse_changes
from polepiece.sound import (
    BARE,
    PHRASES,
    Chain,
    InRoom,
    Loudspeaker,
    MagnetPull,
    PickupResponse,
    Realism,
    StringResponses,
    align,
    chained,
    ratio_filter,
    revoice,
    stream,
    through_chain,
    writing,
)
from polepiece.sound.revoice import apply_filter
from polepiece.sound.voice import NoteVoice, StringBank, mode_motion, row_shapes
from polepiece.strings import FluxRows, Pluck, SpeakingString, Spread, StringSensing, string_modes
from tests.reference.gaussian_rows import gaussian_rows
from tests.reference.tuned_strings import tuned_set
from tests.reference.whole_render import render

HERE = Path(__file__).resolve().parent
DEMO = HERE.parent / "examples" / "demo.guitar.toml"
RATE = 48000
RUNS = 7
EVERYTHING = Realism(glide=True, noise=True, sympathetic=True)


def network(inductance: float) -> PickupResponse:
    """A loaded pickup as a second-order low-pass."""
    frequency = np.geomspace(20.0, 24e3, 240)
    s = 2j * np.pi * frequency
    value = 1.0 / (1.038 + s * (7600.0 * 600e-12 + inductance / 200e3) + s**2 * inductance * 600e-12)
    return PickupResponse(frequency=frequency, value=value)


def sensing(pickups: int = 1) -> StringSensing:
    """Two rows a pickup, a coil each, with a flux law of a plausible curvature."""
    places = np.array([0.146, 0.164, 0.036, 0.054])[: 2 * pickups]
    group = np.repeat(np.arange(pickups), 2)
    flat = np.ones(places.size)
    flux = FluxRows(
        positions=places, curvature=30.0 * flat, third=1e4 * flat, sideways=-8.0 * flat, sideways_slope=-4e3 * flat,
        aperture=4e-3, group=group,
    )  # fmt: skip
    coil = gaussian_rows(positions=[0.0], slope=[0.1], aperture=4e-3)
    return StringSensing(
        distance=places[:, None] + coil.distance, towards=coil.towards.repeat(places.size, axis=0),
        across=0.1 * coil.towards.repeat(places.size, axis=0), flux=flux,
    )  # fmt: skip


def responses(pickups: int = 1) -> list[StringResponses]:
    """A response of its own for every coil and every pickup of six strings."""
    return [
        StringResponses(
            linear=tuple(network(4.7 + 0.01 * string + 0.1 * coil) for coil in range(2 * pickups)),
            curved=tuple(network(4.75 + 0.01 * string + 0.1 * group) for group in range(pickups)),
        )
        for string in range(6)
    ]


def timed(work: Callable[[], object], seconds_of_sound: float) -> tuple[float, float]:
    """Best and worst ratio to real time."""
    work()
    spent = []
    for _ in range(RUNS):
        start = time.process_time()
        work()
        spent.append(time.process_time() - start)
    return seconds_of_sound / min(spent), seconds_of_sound / max(spent)


def exact_note(string: SpeakingString, record: StringSensing, pluck: Pluck, count: int) -> np.ndarray:
    """The plain twin of one note: every mode, every sample, the whole flux law at four times the rate, differenced."""
    fast = 4 * RATE
    modes = string_modes(string)
    time_axis = np.arange(4 * count) / fast
    exponent, amplitude = mode_motion(modes, pluck)
    law = record.flux
    taken = record.mode_shapes(modes.number, modes.length)
    shapes = row_shapes(modes, law)
    flux, w, u = np.zeros(4 * count), np.zeros((2, 4 * count)), np.zeros((2, 4 * count))
    for n in range(modes.number.size):
        for kind in (0, 1):
            turning = np.exp(exponent[kind, n] * time_axis)
            moved = [(turning * amplitude[plane, kind, n]).real for plane in (0, 1)]
            flux += sum(one[:, n].sum() * motion for one, motion in zip(taken, moved))
            w += shapes[:, n, None] * moved[0]
            u += shapes[:, n, None] * moved[1]
    for row in (0, 1):
        flux += law.curvature[row] * w[row] ** 2 / 2.0 + law.third[row] * w[row] ** 3 / 6.0
        flux += (law.sideways[row] + law.sideways_slope[row] * w[row]) * u[row] ** 2 / 2.0
    size = 4 * count
    spectrum = np.fft.rfft((flux - flux[0]) * _fade(size)) * 2j * np.pi * np.fft.rfftfreq(size, 1.0 / fast)
    return np.fft.irfft(spectrum[: count // 2 + 1] / 4, count)


def _fade(count: int) -> np.ndarray:
    ramp = np.ones(count)
    edge = count // 4
    ramp[-edge:] = 0.5 + 0.5 * np.cos(np.pi * np.arange(1, edge + 1) / edge)
    return ramp


def note_error_db(oversampling: int) -> float:
    """Rms of the difference between a rendered low E and its plain twin, dB of the twin's rms; middle half of 1 s."""
    string, record, pluck, count = tuned_set()[5], sensing(), Pluck(displacement=1.4e-3), RATE
    expected = exact_note(string, record, pluck, count)
    bank = StringBank.of(string_modes(string), sample_rate=RATE, oversampling=oversampling)
    linear, curved = NoteVoice(bank, record, pluck, count=count).segment(0, count)
    found, curved = linear.sum(axis=0), None if curved is None else curved[0]
    if curved is not None:
        slope = 2j * np.pi * np.fft.rfftfreq(count, 1.0 / RATE)
        found = found + np.fft.irfft(np.fft.rfft(curved * _fade(count)) * slope, count)
    middle = slice(count // 8, 5 * count // 8)
    return float(20 * np.log10(np.std((found - expected)[middle]) / np.std(expected[middle])))


def first_sound_ms() -> dict[str, float]:
    """Time of the process until the first block of a strum is there, nothing prepared; best and worst, ms."""
    strings, records, each = tuned_set(), [sensing()] * 6, responses()
    spent = []
    for _ in range(RUNS):
        start = time.process_time()
        blocks = stream(PHRASES["open-chord"], strings, records, each, spread=Spread())
        while not np.any(np.abs(next(blocks)) > 1e-3):
            pass
        spent.append(1e3 * (time.process_time() - start))
    return {"best": min(spent), "worst": max(spent)}


def renders() -> dict[str, object]:
    """Ratios of the built-in phrases, a response for each coil of each string, both rates of the flux law."""
    strings, rows = tuned_set(), dict[str, object]({"first sound, ms of computing": first_sound_ms()})
    for oversampling, pickups in ((1, 1), (1, 2), (2, 1)):
        records, response = [sensing(pickups)] * 6, responses(pickups)
        what = f"flux law x{oversampling}{', two pickups' if pickups == 2 else ''}"
        for name, phrase in PHRASES.items():
            best, worst = timed(
                lambda phrase=phrase, oversampling=oversampling, records=records, response=response: render(
                    phrase, strings, records, response, spread=Spread(), oversampling=oversampling
                ),
                phrase.duration,
            )
            rows[f"render {name}, {what}"] = {"best": best, "worst": worst}
        rows[f"rms error of a low E, flux law x{oversampling}, dB"] = note_error_db(oversampling)
    return rows | livelier()


def livelier() -> dict[str, object]:
    """Ratios of the phrases with pitch glide, noise of the hand, ringing strings and the pull of the magnets."""
    strings, records, response, rows = tuned_set(), [sensing()] * 6, responses(), dict[str, object]()
    pulls = [MagnetPull(force_gradient=[2.0], position=[0.155])] * 6
    for name, phrase in PHRASES.items():
        best, worst = timed(
            lambda phrase=phrase: render(
                phrase, strings, records, response, spread=Spread(), realism=EVERYTHING, pulls=pulls
            ),
            phrase.duration,
        )
        rows[f"render {name}, glide, noise, ringing strings"] = {"best": best, "worst": worst}
    return rows


def driven() -> dict[str, object]:
    """Ratios of the built-in phrases with the driven chain and its loudspeaker behind them, block by block."""
    strings, records, response = tuned_set(), [sensing()] * 6, responses()
    rows: dict[str, object] = {}

    def play(name: str, realism: Realism, speaker: Loudspeaker) -> int:
        made = stream(PHRASES[name], strings, records, response, spread=Spread(), realism=realism)
        chain = Chain("driven", sample_rate=RATE, loudspeaker=speaker)
        return sum(b.shape[0] for b in chained((one[:, None] for one in made), chain))

    for what, realism, speaker in (
        ("", BARE, "closed-box"), (", glide, noise, ringing strings, in a room", EVERYTHING, InRoom()),
    ):  # fmt: skip
        for name, phrase in PHRASES.items():
            best, worst = timed(partial(play, name, realism, speaker), phrase.duration)
            rows[f"render {name} through the driven chain{what}"] = {"best": best, "worst": worst}
    rows["driven chain, what folds back of 1 V at 4831 Hz, dB"] = folded_db(4831.0)
    return rows


def folded_db(frequency: float) -> float:
    """Largest line of a driven sine, under 0.41 of the rate, that is none of its harmonics; dB of the largest."""
    tone = np.sin(2.0 * np.pi * frequency * np.arange(2 * RATE) / RATE)
    heard = through_chain(tone, RATE, "driven", loudspeaker="none")[RATE // 2 : RATE // 2 + RATE]
    spectrum = np.abs(np.fft.rfft(heard * np.blackman(RATE)))
    line = np.arange(spectrum.size, dtype=float)
    off = np.min(np.abs(line[:, None] - frequency * np.arange(5)), axis=1) > 20.0
    return float(20.0 * np.log10(np.max(spectrum[off & (line < 0.41 * RATE)]) / np.max(spectrum)))


def from_file_to_file() -> dict[str, object]:
    """Ratios of a recording of two minutes to the three files of one change, measuring of loudness included."""
    guitar, bench, minutes = read_guitar(DEMO), Bench(), 2
    rows: dict[str, object] = {}
    changes = parse_changes(["tone=5"])
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for rate, channels in ((44100, 1), (48000, 1), (48000, 2), (96000, 1)):
            sound = 0.1 * np.random.default_rng(0).standard_normal((60 * minutes * rate, channels)).clip(-3.0, 3.0)
            soundfile.write(folder / "take.wav", sound, rate, subtype="PCM_24")
            for chain in (None, "driven"):
                spent, walls = [], []
                for _ in range(3):
                    wall, start = time.perf_counter(), time.process_time()
                    found = compare(guitar, "neck", [changes], recording=folder / "take.wav", chain=chain, bench=bench)
                    for state in (0, 1):
                        with ExitStack() as files:
                            puts = [
                                files.enter_context(
                                    writing(
                                        folder / f"{state}-{k}.wav", rate, channels=channels, frames=found.frames
                                    )
                                )
                                for k in range(1 + state)
                            ]  # fmt: skip
                            for pair in found.both(state):
                                for put, block in zip(puts, pair):
                                    put(block)
                    spent.append(time.process_time() - start)
                    walls.append(time.perf_counter() - wall)
                what = f"file to file {rate} Hz, {channels} ch{'' if chain is None else ', ' + chain}"
                best, worst, wall = (60.0 * minutes / one for one in (min(spent), max(spent), min(walls)))
                rows[what] = {"best": best, "worst": worst, "wall": wall}
                if chain is None and channels == 1:
                    wanted = sound[:, 0] * 10.0 ** (found.levels.aligned_gain_db[0] / 20.0)
                    read, _ = soundfile.read(folder / "0-0.wav")
                    rows[f"{what}, before.wav against the take"] = float(np.max(np.abs(read - wanted)))
    return rows


def revoicings() -> dict[str, object]:
    """Ratios of re-voicing 20 s with the design of the filter included, and errors."""
    rows: dict[str, object] = {}
    old, new = network(4.7), network(3.7)
    for rate in (44100, 48000, 96000, 192000):
        for channels in (1, 2):
            sound = np.random.default_rng(0).standard_normal((20 * rate, channels)).squeeze()
            best, worst = timed(lambda sound=sound, rate=rate: revoice(sound, sample_rate=rate, old=old, new=new), 20.0)
            rows[f"re-voice {rate} Hz, {channels} ch"] = {"best": best, "worst": worst}
    sound = np.random.default_rng(0).standard_normal(3 * RATE)
    rows["identity, largest difference"] = float(
        np.max(np.abs(revoice(sound, sample_rate=RATE, old=old, new=old) - sound))
    )
    made = ratio_filter(old, new, sample_rate=RATE)
    direct = np.convolve(sound[: RATE // 2], made.taps)[: RATE // 2]
    rows["chunks against direct convolution"] = float(
        np.max(np.abs(apply_filter(sound[: RATE // 2], made.taps) - direct))
    )
    rows["filter against wanted ratio, dB"] = made.worst_error_db
    best, worst = timed(lambda: align(sound, 0.5 * sound, RATE), 3.0)
    rows["align a pair"] = {"best": best, "worst": worst}
    return rows


def main() -> None:
    """Measure, print, and store."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    name = f"{platform.machine()}-{os.cpu_count()}-cores-sound.json"
    parser.add_argument("--out", type=Path, default=HERE / "results" / name, help="where the figures are stored")
    parser.add_argument("--strings-only", action="store_true", help="leave the rest out and store nothing")
    chosen = parser.parse_args()
    load = os.getloadavg()[0]
    rows = renders() | ({} if chosen.strings_only else driven() | revoicings() | from_file_to_file())
    rows["peak memory, MB"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    for name, value in rows.items():
        if isinstance(value, dict) and "ms" in name:
            print(f"{name:60s} {value['best']:8.1f} (worst {value['worst']:.1f})")
        elif isinstance(value, dict):
            print(f"{name:60s} {value['best']:8.1f} x real time (worst {value['worst']:.1f})")
        else:
            print(f"{name:60s} {value:.3g}")
    if chosen.strings_only:
        return
    commit = subprocess.run(
        ["git", "rev-parse", "--short", "HEAD"], capture_output=True, text=True, cwd=HERE, check=False
    )
    body = {
        "commit": commit.stdout.strip(), "machine": platform.machine(), "cores": os.cpu_count(),
        "python": platform.python_version(), "numpy": np.__version__, "load_before": round(load, 2),
        "load_after": round(os.getloadavg()[0], 2), "rows": rows,
    }  # fmt: skip
    chosen.out.parent.mkdir(parents=True, exist_ok=True)
    chosen.out.write_text(json.dumps(body, indent=1) + "\n", encoding="utf-8")
    print(f"written to {chosen.out}")


if __name__ == "__main__":
    main()
