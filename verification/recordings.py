"""Rendered phrases beside free recordings of electric guitars: partials, decay and brightness, measured alike.

Run: ``python -m verification.recordings [--folder DIR] [--picture FILE]``. The recordings (CC0) come with Debian's
``sonic-pi-samples``; none is kept here. Guitar, strings, pickup and amplifier of the recordings are not known, so this
finds what is unlike and proves nothing.
"""

import argparse
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from scipy import signal

from polepiece.auditioning.playing import SAMPLE_RATE, play
from polepiece.bench import Bench
from polepiece.guitar import read_guitar
from polepiece.measure import find_onsets
from polepiece.sound import BARE, LIVELY, PHRASES, InRoom, Note, Phrase, Realism, Recording, read, through_chain
from polepiece.strings import Pluck
from polepiece.strings.modes import stiff_partials
from tests.reference.tuned_strings import tuned_set

FOLDER = Path("/usr/share/sonic-pi/samples")
DEMO = Path(__file__).parents[1] / "examples" / "demo.guitar.toml"
HARMONICS = "guit_harmonics.flac"  # natural harmonics, each stopped by the hand that plays the next
CONTACT, BEFORE = (3000.0, 10000.0), 0.03  # Hz; s either way of a stroke in which the plectrum is on the string
BANDS = ((100.0, 300.0), (300.0, 700.0), (700.0, 1500.0), (1500.0, 3000.0), (3000.0, 6000.0))


@dataclass(frozen=True, slots=True, kw_only=True)
class Take:
    """One recording: its file, what is played as string, fret and onset (s), and the span that is left to ring (s)."""

    file: str
    notes: tuple[tuple[int, int, float], ...]
    ringing: tuple[float, float]
    tuning: float  # Hz that its player's A4 has


TAKES = (
    # E3, B3, F sharp 4 stacked in fifths, read from the recording's spectrum
    Take(
        file="guit_e_fifths.flac", notes=((5, 7, 0.05), (4, 9, 0.05), (3, 11, 0.45)), ringing=(0.7, 2.7), tuning=437.8
    ),
    # B3, F sharp 4, G4, D5 one after the other, read from the recording's spectrum
    Take(
        file="guit_em9.flac", notes=((4, 9, 0.2), (3, 11, 0.4), (2, 8, 0.7), (1, 10, 1.0)), ringing=(1.5, 3.5),
        tuning=442.0,
    ),
)  # fmt: skip


def mono(recording: Recording) -> tuple[np.ndarray, float]:
    """Return the samples as one channel and their rate."""
    samples = np.asarray(recording.samples, dtype=float)
    return (samples if samples.ndim == 1 else samples.mean(axis=1)), float(recording.sample_rate)


def decay_db_a_second(samples: np.ndarray, rate: float, span: tuple[float, float]) -> list[float]:
    """Decay (dB/s, positive) of each of BANDS over ``span``: a straight line through 50 ms levels."""
    out = []
    for low, high in BANDS:
        band = signal.sosfiltfilt(signal.butter(4, (low, high), "bandpass", fs=rate, output="sos"), samples)
        step = round(0.05 * rate)
        piece = band[round(span[0] * rate) : round(span[1] * rate)]
        piece = piece[: piece.size // step * step].reshape(-1, step)
        level = 10.0 * np.log10(np.mean(piece**2, axis=1) + 1e-20)
        out.append(float(-np.polyfit(0.05 * np.arange(level.size), level, 1)[0]))
    return out


def band_levels_db(samples: np.ndarray, rate: float, span: tuple[float, float]) -> list[float]:
    """Level of each of BANDS over ``span``, dB re the whole."""
    piece = samples[round(span[0] * rate) : round(span[1] * rate)]
    power = np.abs(np.fft.rfft(piece * np.hanning(piece.size))) ** 2
    frequency = np.fft.rfftfreq(piece.size, 1.0 / rate)
    whole = power[(frequency > BANDS[0][0]) & (frequency < BANDS[-1][1])].sum()
    return [float(10.0 * np.log10(power[(frequency >= low) & (frequency < high)].sum() / whole)) for low, high in BANDS]


def contact_over_ring_db(
    samples: np.ndarray, rate: float, onsets: "np.ndarray[tuple[int], np.dtype[np.float64]]"
) -> list[float]:
    """How far each stroke stands over its own ring between 3 and 10 kHz, dB: largest 5 ms against 100 to 150 ms later.

    Strokes with less than 0.15 s to the next are left out.
    """
    band = signal.sosfiltfilt(signal.butter(4, CONTACT, "bandpass", fs=rate, output="sos"), samples)
    summed = np.concatenate([[0.0], np.cumsum(band**2)])
    span, out = round(0.005 * rate), []
    for one, following in zip(onsets, [*onsets[1:], np.inf]):
        if following - one < 0.15 + BEFORE:
            continue
        near = np.arange(max(0, round((one - BEFORE) * rate)), round((one + BEFORE) * rate))
        stroke = float((summed[near + span] - summed[near]).max()) / span
        first, last = round((one + 0.10) * rate), round((one + 0.15) * rate)
        out.append(10.0 * float(np.log10(stroke / ((summed[last] - summed[first]) / (last - first)))))
    return out


def line_near(samples: np.ndarray, rate: float, expected: float, span: tuple[float, float]) -> float:
    """Frequency (Hz) of the strongest line within 40 cents of ``expected``."""
    piece = samples[round(span[0] * rate) : round(span[1] * rate)]
    size = 1 << 19
    power = np.abs(np.fft.rfft(piece * np.hanning(piece.size), size))
    low, high = (int(expected * 2.0**c * size / rate) for c in (-40.0 / 1200.0, 40.0 / 1200.0))
    return float((low + int(np.argmax(power[low : high + 1]))) * rate / size)


def rendered(take: Take, bench: Bench, *, realism: Realism = LIVELY, duration: float = 6.0) -> np.ndarray:
    """The same notes on the demo guitar's neck pickup."""
    guitar = read_guitar(DEMO)
    notes = tuple(
        Note(
            string=string, fret=fret, onset=onset, duration=duration - onset,
            pluck=Pluck(displacement=1.0e-3, width=2e-3, release=0.08e-3),
        )
        for string, fret, onset in take.notes
    )  # fmt: skip
    piece = Phrase(name=take.file, notes=notes, duration=duration)
    return play(guitar, "neck", piece, bench=bench, realism=realism)


def partials_cents(samples: np.ndarray, rate: float, take: Take) -> list[tuple[float, int, float, float]]:
    """Pitch (Hz), number, found and computed cents against the harmonic of the found fundamental; last note played."""
    string, fret, _ = take.notes[-1]
    one = tuned_set()[string - 1].fretted(fret)
    first = line_near(samples, rate, one.pitch * take.tuning / 440.0, take.ringing)
    out = []
    for n in (2, 3, 4, 5, 6):
        stiff = stiff_partials(float(n), fundamental=first, inharmonicity=one.inharmonicity) / np.sqrt(
            1.0 + one.inharmonicity
        )
        found = line_near(samples, rate, float(stiff), take.ringing)
        out.append(
            (first, n, 1200.0 * float(np.log2(found / (n * first))), 1200.0 * float(np.log2(stiff / (n * first))))
        )
    return out


def picture(path: Path, takes: list[tuple[str, np.ndarray, float]]) -> None:
    """Draw spectrograms below each other, 80 dB each."""
    import matplotlib

    matplotlib.use("Agg")
    import matplotlib.pyplot as plt

    figure, axes = plt.subplots(len(takes), 1, figsize=(7.0, 1.9 * len(takes)), sharex=True, layout="constrained")
    for axis, (name, samples, rate) in zip(axes, takes, strict=True):
        f, t, power = signal.spectrogram(samples, rate, nperseg=4096, noverlap=3072)
        level = 10.0 * np.log10(power + 1e-30)
        axis.pcolormesh(t, f / 1e3, level - level.max(), vmin=-80.0, vmax=0.0, cmap="Greys", rasterized=True)
        axis.set_ylim(0.0, 7.0)
        axis.set_xlim(0.0, 5.5)
        axis.set_ylabel("kHz")
        axis.set_title(name, fontsize=9, loc="left")
    axes[-1].set_xlabel("s")
    figure.savefig(path, dpi=80)


def main() -> None:
    """Measure, print, and draw when asked."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--folder", type=Path, default=FOLDER)
    parser.add_argument("--picture", type=Path)
    chosen = parser.parse_args()
    bench, shown = Bench(), []
    head = " | ".join(f"{low:g}-{high:g} Hz" for low, high in BANDS)
    print(f"| | {head} |\n|---|" + "---|" * len(BANDS))
    for take in TAKES:
        path = chosen.folder / take.file
        if not path.exists():
            raise SystemExit(f"{path} is not there; it comes with Debian's sonic-pi-samples. Say --folder DIR.")
        bare, alive = (rendered(take, bench, realism=one) for one in (BARE, LIVELY))
        room = through_chain(alive, SAMPLE_RATE, "clean", loudspeaker=InRoom())
        box = through_chain(alive, SAMPLE_RATE, "clean")
        rate = float(SAMPLE_RATE)
        sounds = (
            ("recording", *mono(read(path))), ("bare", bare, rate), ("rendered", alive, rate),
            ("rendered, loudspeaker", box, rate), ("rendered, loudspeaker in a room", room, rate),
        )  # fmt: skip
        for name, samples, rate in sounds:
            if name in ("recording", "rendered"):
                shown.append((f"{take.file}, {name}", samples, rate))
            decay = decay_db_a_second(samples, rate, take.ringing)
            level = band_levels_db(samples, rate, take.ringing)
            print(f"| {take.file}, {name}: decay, dB/s | " + " | ".join(f"{one:.1f}" for one in decay) + " |")
            attack = band_levels_db(samples, rate, (take.notes[-1][2], take.notes[-1][2] + 0.25))
            print(f"| {take.file}, {name}: level ringing, dB | " + " | ".join(f"{one:.1f}" for one in level) + " |")
            print(f"| {take.file}, {name}: level of last attack, dB | " + " | ".join(f"{x:.1f}" for x in attack) + " |")
        for name, samples, rate in (sounds[0], sounds[2]):
            for first, n, found, said in partials_cents(samples, rate, take):
                print(f"  {take.file}, {name}: partial {n} of {first:.2f} Hz: {found:+.1f} cents, stiff {said:+.1f}")
    strokes = {HARMONICS + ", recording": mono(read(chosen.folder / HARMONICS))}
    guitar = read_guitar(DEMO)
    for name, realism in (("bare", BARE), ("rendered", LIVELY)):
        made = play(guitar, "neck", PHRASES["harmonics"], bench=bench, realism=realism)
        strokes[f"phrase of harmonics, {name}"] = (made, float(SAMPLE_RATE))
    for name, (samples, rate) in strokes.items():
        over = contact_over_ring_db(samples, rate, find_onsets(samples, rate))
        print(f"  {name}: strokes over their ring at 3 to 10 kHz, dB: {', '.join(f'{one:.0f}' for one in over)}")
    if chosen.picture:
        picture(chosen.picture, shown)


if __name__ == "__main__":
    main()
