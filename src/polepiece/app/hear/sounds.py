"""Sounds of states: made in a process beside the server, kept under a hash of all that shaped them, served by it.

What a sound depends on is hashed: guitar, pickup, phrase or recording, seed, version, constants. It lies in the
cache folder beside the factors (safe to delete); a sound that is gone is made again.
"""

import hashlib
import json
import re
from collections.abc import Callable
from dataclasses import asdict, dataclass
from functools import cached_property, lru_cache

import numpy as np
import soxr

from polepiece import __version__
from polepiece.arrays import FloatArray
from polepiece.auditioning import Described, Heard, describe_pair, hear, loudest_stretch, through
from polepiece.bench import Bench, position_of
from polepiece.errors import InputError
from polepiece.guitar import Guitar, write_guitar
from polepiece.kept import Kept
from polepiece.magnetics import cache
from polepiece.materials import constants_hash
from polepiece.sound import (
    BARE,
    LIVELY,
    InRoom,
    Realism,
    Recording,
    condition_of,
    decode,
    impulse_response_of,
    to_bytes,
)
from polepiece.sound import Loudspeaker as LoudspeakerOf

TONES = {"cable": "straight", "clean": "drive low", "edge": "drive half", "driven": "drive full"}
"""What can be heard: the voltage at the end of the cable, or the settings of the chain behind it."""
LARGEST = 48 * 1024 * 1024  # bytes of a recording that is sent
HANDS: dict[str, tuple[str, Realism]] = {
    "lively": ("gliding pitch, noise of the hand", LIVELY), "glide": ("gliding pitch", LIVELY.without("noise")),
    "noise": ("noise of the hand", LIVELY.without("glide")), "bare": ("neither", BARE),
    "ringing": ("both, and strings at rest ring along", Realism(sympathetic=True)),
}  # fmt: skip
"""What a phrase has beside strings that are let go, alike in all states."""
PHRASE_WORDS = {
    "open-chord": "open chord, strummed", "arpeggio": "broken chord", "single-notes-low": "single notes, low",
    "single-notes-high": "single notes, high", "power-chords": "fifths, muted and ringing", "bends": "bent notes",
    "chromatic": "frets 0 to 4 on every string", "soft-chords": "chords, soft", "hard-chords": "chords, hard",
    "legato": "hammered and pulled", "slides": "slides", "harmonics": "natural harmonics", "low-line": "a low line",
    "double-stops": "two strings at a time", "run": "a quick run", "muted-riff": "a muted riff",
}  # fmt: skip
LONGEST = 30.0  # s of a recording that are played; nine of them must fit into a browser
SHORTEST = 1.0  # s: a part under this is refused
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
    """One sound of one state, and what is told beside it."""

    key: str
    clip: Clip
    cable_lufs: float  # loudness at the end of the cable, as made: what drives the chain
    whole_s: float  # length of the phrase or recording of which this is a part


@dataclass(frozen=True, slots=True, kw_only=True)
class Speaker:
    """The loudspeaker at the end of the chain: one that is built in, or the person's own impulse response."""

    name: str = "closed-box"  # or "none", or of the person's file
    data: bytes = b""  # of the file, WAV or FLAC
    in_room: bool = False  # heard from 1.5 m in a small room

    @property
    def digest(self) -> str:
        """Hash of the bytes, or the name of a built-in one; where it stands."""
        return (hashlib.sha256(self.data).hexdigest() if self.data else self.name) + ("+room" if self.in_room else "")

    def loudspeaker(self) -> LoudspeakerOf:
        """Return it as the chain takes it.

        Raises
        ------
        PolepieceError
            When the file is no impulse response; see `polepiece.sound.read_impulse_response`.
        """
        own = impulse_response_of(decode(self.data, self.name)) if self.data else None
        bare = own or ("none" if self.name == "none" else "closed-box")
        return InRoom(loudspeaker=bare) if self.in_room else bare  # type: ignore[arg-type,return-value]  # a Literal behind an or


@dataclass(frozen=True, kw_only=True)
class Take:
    """A recording of the person's own, and the part of it that is played."""

    data: bytes  # WAV or FLAC, whole
    name: str
    start: float = 0.0  # s
    length: float = LONGEST  # s

    @cached_property
    def digest(self) -> str:
        """Hash of the bytes."""
        return hashlib.sha256(self.data).hexdigest()

    def part(self) -> tuple[Recording, float]:
        """Return the part that is played, and the length of the whole in s.

        Raises
        ------
        MeasurementError
            When the file is not sound that can be read; see `polepiece.sound.decode`.
        """
        whole = decode(self.data, self.name)
        first = round(self.start * whole.sample_rate)
        count = round(min(self.length, LONGEST) * whole.sample_rate)
        piece = np.array(whole.samples[first : first + count])
        if piece.shape[0] < round(SHORTEST * whole.sample_rate):
            raise InputError(
                f"the part from {self.start:g} s is shorter than {SHORTEST:g} s; the recording lasts "
                f"{whole.duration:.1f} s."
            )
        rate = whole.sample_rate
        if rate > HIGHEST_RATE:
            piece, rate = np.asarray(soxr.resample(piece, rate, HIGHEST_RATE, quality="VHQ")), HIGHEST_RATE
        part = Recording(
            samples=piece, sample_rate=rate, path=whole.path, subtype=whole.subtype, peak=float(np.max(np.abs(piece)))
        )
        return part, whole.duration

    @cached_property
    def condition(self) -> tuple[str, ...]:
        """What is wrong with the whole recording, in sentences.

        Raises
        ------
        MeasurementError
            When it is no sound, or so clipped that nothing is left.
        """
        whole = decode(self.data, self.name)
        return condition_of(whole.samples, whole.sample_rate, name=self.name).words


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """All that shapes one sound."""

    guitar: Guitar
    pickup: str
    phrase: str
    seed: int = 0
    take: "Take | None" = None
    made_with: "Guitar | None" = None  # the state in which the take was recorded
    tone: str = "cable"
    speaker: Speaker = Speaker()
    hand: str = "lively"  # of HANDS, for a phrase
    heard: "str | None" = None  # the position of the switches; None: the pickup as usual

    @property
    def cable_key(self) -> str:
        """Name of the sound at the end of the cable."""
        what: dict[str, object] = {
            "guitar": _written(self.guitar), "pickup": self.pickup, "seed": self.seed, "version": __version__,
            "constants": constants_hash(), "form": 7,
        }  # fmt: skip
        what |= {} if self.heard is None else {"heard": self.heard}
        if self.take is None:
            what |= {"phrase": self.phrase, "hand": self.hand}
        else:
            what |= {"take": self.take.digest, "start": self.take.start, "length": self.take.length}
            what["with"] = _written(self.made_with or self.guitar)
        return _name_of(what)

    @property
    def key(self) -> str:
        """Name of the sound: the same name, the same sound."""
        if self.tone == "cable":
            return self.cable_key
        return _name_of({"cable": self.cable_key, "tone": self.tone, "loudspeaker": self.speaker.digest})


@lru_cache(maxsize=128)
def _written(guitar: Guitar) -> str:
    return write_guitar(guitar)


def _name_of(what: "dict[str, object]") -> str:
    return hashlib.sha256(json.dumps(what, sort_keys=True).encode()).hexdigest()[:40]


# ------------------------------------------------------------------------------------- in a process of its own

_BENCHES: dict[int, Bench] = {}  # by seed
_CABLE_BYTES = 128 * 1024 * 1024
_CABLE = Kept[str, tuple[Heard, float]](_CABLE_BYTES, size=lambda one: one[0].samples.nbytes)  # in front of the chain
_PART = Kept[tuple[str, float, float], tuple[Recording, float]](1)  # the part that was played last


def make_sound(progress: Callable[[int, int, str], None], wish: Wish) -> Made:
    """Make one sound of one state; what this process has solved or played before is at hand."""
    cable, whole_s = _at_the_cable(progress, wish)
    heard = _through_the_chain(progress, cable, wish)
    made = Made(key=wish.key, clip=clip_of(heard), cable_lufs=cable.loudness_lufs, whole_s=whole_s)
    keep(made)
    return made


def heard_as_wished(progress: Callable[[int, int, str], None], wish: Wish) -> Heard:
    """Return one sound of one state as samples."""
    return _through_the_chain(progress, _at_the_cable(progress, wish)[0], wish)


def bench_of(seed: int) -> Bench:
    """Return the bench of this process for a seed."""
    return _BENCHES.setdefault(seed, Bench(seed=seed))


def describe_sounds(progress: Callable[[int, int, str], None], first: Wish, other: Wish) -> tuple[Described, ...]:
    """Describe the sound of a state beside that of another, over the loudest stretch of the first."""
    pair = [heard_as_wished(progress, one) for one in (first, other)]
    progress(2, 3, "working out loudness and sharpness")
    mono = [one.samples if one.samples.ndim == 1 else one.samples.mean(axis=1) for one in pair]
    rate = float(pair[0].sample_rate)
    part = loudest_stretch(mono[0], rate)
    return describe_pair(
        mono[0][part], mono[1][part], rate, difference_db=pair[1].loudness_lufs - pair[0].loudness_lufs
    )


def _through_the_chain(progress: Callable[[int, int, str], None], heard: Heard, wish: Wish) -> Heard:
    if wish.tone == "cable":
        return heard
    progress(2, 3, "playing it through the chain")
    return through(heard, wish.tone, loudspeaker=wish.speaker.loudspeaker())


def _at_the_cable(progress: Callable[[int, int, str], None], wish: Wish) -> "tuple[Heard, float]":
    key = wish.cable_key
    if key in _CABLE:
        return _CABLE[key]
    progress(0, 3, "solving the pickup")
    bench = bench_of(wish.seed)
    bench.heard_in(position_of(wish.guitar, wish.pickup, wish.heard)).level(wish.guitar, wish.pickup)
    progress(1, 3, "playing the strings" if wish.take is None else "giving the recording the new response")
    recording, whole_s = (None, 0.0) if wish.take is None else _part_of(wish.take)
    heard = hear(
        wish.guitar, wish.pickup, phrase=wish.phrase, recording=recording, made_with=wish.made_with, seed=wish.seed,
        bench=bench, position=wish.heard, realism=HANDS[wish.hand][1],
    )  # fmt: skip
    _CABLE[key] = heard, whole_s or heard.samples.shape[0] / heard.sample_rate
    return _CABLE[key]


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


def _part_of(take: Take) -> tuple[Recording, float]:
    key = take.digest, take.start, take.length
    if key not in _PART:
        _PART[key] = take.part()
    return _PART[key]


# --------------------------------------------------------------------------------------------------- kept


def keep(made: Made) -> None:
    """Keep a sound in the cache folder."""
    rest = {name: value for name, value in asdict(made.clip).items() if name not in ("flac", "peaks")}
    beside = {"cable_lufs": made.cable_lufs, "whole_s": made.whole_s}
    arrays: dict[str, np.ndarray] = {
        "flac": np.frombuffer(made.clip.flac, dtype=np.uint8),
        "peaks": np.array(made.clip.peaks, dtype=np.int16),
        "rest": np.frombuffer(json.dumps([rest, beside]).encode(), dtype=np.uint8),
    }
    cache.store(f"sound-{made.key}", arrays)


def kept(key: str) -> "Made | None":
    """Return what is kept under a name, or None."""
    stored = cache.load(f"sound-{key}")
    if stored is None:
        return None
    try:
        rest, beside = json.loads(stored["rest"].tobytes())
        clip = Clip(flac=stored["flac"].tobytes(), peaks=tuple(int(v) for v in stored["peaks"]), **rest)
        return Made(key=key, clip=clip, **beside)
    except (KeyError, TypeError, ValueError):
        return None


class Shelf:
    """The sounds that were asked for last, in memory; the others lie in the cache folder."""

    def __init__(self, most_bytes: int = 96 * 1024 * 1024) -> None:
        self._made = Kept[str, Made](most_bytes, size=lambda one: len(one.clip.flac))

    def put(self, made: Made) -> None:
        """Keep it at hand."""
        self._made[made.key] = made

    def get(self, key: str) -> "Made | None":
        """Return it from memory or from the cache folder."""
        if not NAME.match(key):
            return None
        found = self._made.get(key) or kept(key)
        if found is not None:
            self.put(found)
        return found


SHELF = Shelf()
