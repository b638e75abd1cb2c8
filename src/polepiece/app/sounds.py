"""Sounds of states: made in a process beside the server, kept under a hash of all that shaped them, served by it.

What a sound depends on is hashed: guitar, pickup, phrase or recording, seed, version, constants. It lies in the
cache folder beside the factors (safe to delete); a sound that is gone is made again.
"""

import hashlib
import json
import re
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import asdict, dataclass

import numpy as np
import soxr

from polepiece import __version__
from polepiece.arrays import FloatArray
from polepiece.errors import InputError
from polepiece.magnetics import cache
from polepiece.materials import constants_hash
from polepiece.sound import Recording, decode, to_bytes
from polepiece.voicing import Bench, Guitar, Heard, driven, hear, write_guitar

LONGEST = 30.0  # s of a recording that are played; nine of them must fit into a browser
HIGHEST_RATE = 96_000  # Hz, what browsers play
COLUMNS = 800  # of the drawing
HEADROOM = 10.0 ** (-1.0 / 20.0)
NAME = re.compile(r"^[0-9a-f]{40}$")


@dataclass(frozen=True, slots=True, kw_only=True)
class Clip:
    """One sound as it is served: FLAC at its own scale, with what is needed to level it."""

    flac: bytes
    scale: float  # file samples per sample as made
    loudness_lufs: float  # as made
    peak_dbfs: float  # as made
    sample_rate: int
    frames: int
    peaks: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """The two sounds of one state."""

    key: str
    clean: Clip
    driven: Clip


@dataclass(frozen=True, slots=True, kw_only=True)
class Take:
    """A recording of the person's own, and the part of it that is played."""

    data: bytes  # WAV or FLAC, whole
    name: str
    start: float = 0.0  # s
    length: float = LONGEST  # s

    @property
    def digest(self) -> str:
        """Hash of the bytes."""
        return hashlib.sha256(self.data).hexdigest()

    def part(self) -> Recording:
        """Return the part that is played.

        Raises
        ------
        MeasurementError
            When the file is not sound that can be read; see `polepiece.sound.decode`.
        """
        whole = decode(self.data, self.name)
        first = round(self.start * whole.sample_rate)
        count = round(min(self.length, LONGEST) * whole.sample_rate)
        piece = np.array(whole.samples[first : first + count])
        if piece.shape[0] < whole.sample_rate:
            raise InputError(
                f"the part from {self.start:g} s is shorter than 1 s; the recording lasts {whole.duration:.1f} s."
            )
        rate = whole.sample_rate
        if rate > HIGHEST_RATE:
            piece, rate = np.asarray(soxr.resample(piece, rate, HIGHEST_RATE, quality="VHQ")), HIGHEST_RATE
        return Recording(
            samples=piece, sample_rate=rate, path=whole.path, subtype=whole.subtype, peak=float(np.max(np.abs(piece)))
        )


def key_of(guitar: Guitar, pickup: str, *, phrase: str, seed: int, take: "Take | None", made_with: Guitar) -> str:
    """Return the name of a state's sounds: the same name, the same sounds."""
    what: dict[str, object] = {
        "guitar": write_guitar(guitar), "pickup": pickup, "seed": seed, "version": __version__,
        "constants": constants_hash(), "form": 3,
    }  # fmt: skip
    if take is None:
        what["phrase"] = phrase
    else:
        what |= {"take": take.digest, "start": take.start, "length": take.length, "with": write_guitar(made_with)}
    return hashlib.sha256(json.dumps(what, sort_keys=True).encode()).hexdigest()[:40]


# ------------------------------------------------------------------------------------- in a process of its own


def make_sounds(
    progress: Callable[[int, int, str], None],
    key: str,
    guitar: Guitar,
    pickup: str,
    phrase: str,
    seed: int,
    take: "Take | None",
    made_with: "Guitar | None",
) -> Made:
    """Make the clean and the driven sound of one state."""
    progress(0, 3, "solving the pickup")
    bench = Bench(seed=seed)
    bench.level(guitar, pickup)
    progress(1, 3, "playing the strings" if take is None else "giving the recording the new response")
    recording = None if take is None else take.part()
    clean = hear(guitar, pickup, phrase=phrase, recording=recording, made_with=made_with, seed=seed, bench=bench)
    progress(2, 3, "driving it")
    made = Made(key=key, clean=clip_of(clean), driven=clip_of(driven(clean)))
    keep(made)
    return made


def clip_of(heard: Heard) -> Clip:
    """Return a sound as it is served."""
    most = float(np.max(np.abs(heard.samples)))
    scale = HEADROOM / most
    return Clip(
        flac=to_bytes(heard.samples * scale, heard.sample_rate, container="FLAC"), scale=scale,
        loudness_lufs=heard.loudness_lufs, peak_dbfs=heard.peak_dbfs, sample_rate=heard.sample_rate,
        frames=heard.samples.shape[0], peaks=peaks_of(heard.samples * scale),
    )  # fmt: skip


def peaks_of(samples: FloatArray) -> tuple[int, ...]:
    """Return the lowest and highest sample of each column in turn, -127 to 127."""
    one = samples if samples.ndim == 1 else samples.mean(axis=1)
    edges = np.linspace(0, one.shape[0], COLUMNS + 1).astype(int)[:-1]
    low, high = np.minimum.reduceat(one, edges), np.maximum.reduceat(one, edges)
    return tuple(int(v) for v in np.round(127.0 * np.stack([low, high], axis=1).clip(-1.0, 1.0)).ravel())


# --------------------------------------------------------------------------------------------------- kept


def keep(made: Made) -> None:
    """Keep both sounds in the cache folder."""
    arrays: dict[str, np.ndarray] = {}
    for tone, clip in (("clean", made.clean), ("driven", made.driven)):
        rest = {name: value for name, value in asdict(clip).items() if name not in ("flac", "peaks")}
        arrays[f"{tone}_flac"] = np.frombuffer(clip.flac, dtype=np.uint8)
        arrays[f"{tone}_peaks"] = np.array(clip.peaks, dtype=np.int16)
        arrays[f"{tone}_rest"] = np.frombuffer(json.dumps(rest).encode(), dtype=np.uint8)
    cache.store(f"sound-{made.key}", arrays)


def kept(key: str) -> "Made | None":
    """Return what is kept under a name, or None."""
    stored = cache.load(f"sound-{key}")
    if stored is None:
        return None
    try:
        clean, driven_ = (
            Clip(
                flac=stored[f"{tone}_flac"].tobytes(), peaks=tuple(int(v) for v in stored[f"{tone}_peaks"]),
                **json.loads(stored[f"{tone}_rest"].tobytes()),
            )
            for tone in ("clean", "driven")
        )  # fmt: skip
    except (KeyError, TypeError, ValueError):
        return None
    return Made(key=key, clean=clean, driven=driven_)


class Shelf:
    """The sounds that were asked for last, in memory; the others lie in the cache folder."""

    def __init__(self, most_bytes: int = 96 * 1024 * 1024) -> None:
        self._most, self._made = most_bytes, OrderedDict[str, Made]()

    def put(self, made: Made) -> None:
        """Keep it at hand."""
        self._made[made.key] = made
        self._made.move_to_end(made.key)
        while len(self._made) > 1 and sum(len(m.clean.flac) + len(m.driven.flac) for m in self._made.values()) > (
            self._most
        ):  # fmt: skip
            self._made.popitem(last=False)

    def get(self, key: str) -> "Made | None":
        """Return it from memory or from the cache folder."""
        if not NAME.match(key):
            return None
        found = self._made.get(key) or kept(key)
        if found is not None:
            self.put(found)
        return found


SHELF = Shelf()
