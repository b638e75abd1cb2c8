"""Behind the cable: an input stage, one tone shelf, a soft saturation, a loudspeaker. It models no amplifier.

Three settings to hear a pickup through, the same for both sides of a comparison: a hotter pickup then saturates
more, as it would anywhere. Every figure of a setting is ours, chosen for listening (assumption).
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from polepiece.errors import InputError
from polepiece.sound._filtering import bent
from polepiece.sound.loudspeaker import ImpulseResponse, closed_box
from polepiece.sound.oversampling import ladder
from polepiece.sound.room import SMALL_ROOM, Room, room_response
from polepiece.sound.streams import Convolver, Sections

Floats = NDArray[np.float64]
Bare = Literal["closed-box", "none"] | ImpulseResponse


@dataclass(frozen=True, slots=True, kw_only=True)
class InRoom:
    """A loudspeaker in a room, heard from some metres away."""

    loudspeaker: Bare = "closed-box"
    room: Room = SMALL_ROOM


Loudspeaker = Bare | InRoom

CEILING_DBFS = -1.0  # no sample can lie above it, whatever is played: the headroom
BLOCK = 8192  # frames: what is bent fits into the cache
BLOCKER = 8.0  # Hz, first order: what a one-sided stage leaves of direct current
TAIL_S = 1.0  # of the response that bounds the output
LOWEST_RATE, HIGHEST_RATE = 44.1e3, 192e3


@dataclass(frozen=True, slots=True, kw_only=True)
class ChainSetting:
    """What stands behind the cable.

    Attributes
    ----------
    name : of the setting.
    gain_db : gain in front of the saturation, whose limit is 1 V; -40 to 40 dB.
    high_pass : corner of the input stage (first order), Hz; 10 to 1000 Hz.
    shelf_frequency, shelf_db : middle (Hz, 100 to 10000) and height (-15 to 15 dB) of a shelf above it.
    bias : how far off its middle the saturation works, share of its limit; 0 to 0.5. It makes even harmonics.
    """

    name: str
    gain_db: float
    high_pass: float
    shelf_frequency: float
    shelf_db: float
    bias: float

    def __post_init__(self) -> None:
        allowed = {
            "gain_db": (-40.0, 40.0), "high_pass": (10.0, 1000.0), "shelf_frequency": (100.0, 10e3),
            "shelf_db": (-15.0, 15.0), "bias": (0.0, 0.5),
        }  # fmt: skip
        for name, (low, high) in allowed.items():
            value = getattr(self, name)
            if not low <= value <= high:
                raise InputError(f"chain {self.name!r}: {name} is {value:g}; allowed are {low:g} to {high:g}.")


SETTINGS = {
    one.name: one
    for one in (
        ChainSetting(name="clean", gain_db=-12.0, high_pass=30.0, shelf_frequency=1500.0, shelf_db=0.0, bias=0.0),
        ChainSetting(name="edge", gain_db=12.0, high_pass=60.0, shelf_frequency=1500.0, shelf_db=3.0, bias=0.2),
        ChainSetting(name="driven", gain_db=26.0, high_pass=100.0, shelf_frequency=1500.0, shelf_db=3.0, bias=0.2),
    )
}


def chain_setting(setting: str | ChainSetting) -> ChainSetting:
    """Return a setting by its name.

    Raises
    ------
    InputError
        When there is none of that name.
    """
    if isinstance(setting, ChainSetting):
        return setting
    found = SETTINGS.get(setting)
    if found is None:
        raise InputError(f"there is no chain {setting!r}; there are {', '.join(SETTINGS)}.")
    return found


def bend(last: Floats, fine: Floats, bias: float) -> Floats:
    """Mean of f(x + b) - f(b), f(x) = x / sqrt(1 + x^2), over the straight way between one sample and the next.

    Parameters
    ----------
    last : shape (c,), the sample before the first.
    fine : shape (c, t).
    bias : b.

    Notes
    -----
    The antiderivative of f is r(x) = sqrt(1 + x^2), and (r(v) - r(u))/(v - u) = (u + v)/(r(u) + r(v)): the mean in
    closed form, without a small difference to divide by. Taking the mean instead of the value halves, in decibels,
    once more what folds back (Parker, Zavalishin and Le Bivic 2016, antiderivative antialiasing; memory).
    """
    out = np.empty_like(fine)
    bent(last, fine, bias, out)
    return out


class Chain:
    """One chain while it runs: takes a sound in blocks, gives it back in blocks, in time with what came in.

    Parameters
    ----------
    setting : name or record.
    sample_rate : Hz, 44100 to 192000.
    channels : of the sound.
    loudspeaker : ``closed-box``, ``none``, an impulse response, or one of these `InRoom`.
    """

    def __init__(
        self,
        setting: str | ChainSetting,
        *,
        sample_rate: float,
        channels: int = 1,
        loudspeaker: Loudspeaker = "closed-box",
    ) -> None:
        chosen = chain_setting(setting)
        if not LOWEST_RATE <= sample_rate <= HIGHEST_RATE:
            raise InputError(f"sample rate is {sample_rate:g} Hz; allowed are 44100 to 192000 Hz. Is it in kHz?")
        self._setting, self._rate, self._speaker = chosen, sample_rate, loudspeaker
        self._shape = Sections(_shaping(chosen, sample_rate), channels)
        self._steps = ladder(sample_rate, channels)
        self._last = np.zeros(channels)
        self._behind, late = _behind(sample_rate, channels, loudspeaker)
        self._delay = self._to_drop = self._steps.delay + late
        self._scale = 10.0 ** (CEILING_DBFS / 20.0) / (self._bound() * (1.0 + chosen.bias))

    @property
    def factor(self) -> int:
        """How many times the sample rate the saturation works at."""
        return self._steps.factor

    def _bound(self) -> float:
        """Largest sample that anything within +-1 at the high rate can become: the sum of the moduli of all taps."""
        rungs, count = ladder(self._rate, self._steps.factor), round(TAIL_S * self._rate)
        spikes = np.zeros((self._steps.factor, self._steps.factor * (2 * self._steps.delay + 8)))
        spikes[np.arange(self._steps.factor), np.arange(self._steps.factor)] = 1.0
        short = rungs.descend(spikes)
        long = np.concatenate([short, np.zeros((short.shape[0], count))], axis=1)
        for part in _behind(self._rate, short.shape[0], self._speaker)[0]:
            long = part.process(long)
        return float(np.sum(np.abs(long)))

    def process(self, block: Floats) -> Floats:
        """Take (c, t), return (c, u): as many samples as are known by now."""
        pieces = [self._piece(block[:, k : k + BLOCK]) for k in range(0, block.shape[1], BLOCK)]
        done = np.concatenate(pieces, axis=1) if pieces else np.zeros_like(block)
        dropped = min(self._to_drop, done.shape[1])
        self._to_drop -= dropped
        return done[:, dropped:]

    def finish(self) -> Floats:
        """Return what is still inside; then as many samples came out as went in."""
        return self.process(np.zeros((self._last.shape[0], self._delay)))

    def _piece(self, block: Floats) -> Floats:
        fine = self._steps.climb(self._shape.process(block))
        done = self._steps.descend(bend(self._last, fine, self._setting.bias)) * self._scale
        self._last = fine[:, -1].copy()
        for part in self._behind:
            done = part.process(done)
        return np.asarray(done)


def through_chain(
    samples: NDArray[Any],
    sample_rate: float,
    setting: str | ChainSetting = "clean",
    *,
    loudspeaker: Loudspeaker = "closed-box",
) -> Floats:
    """Return a sound as it comes out of a chain.

    Put both sides of a comparison through the SAME setting. The sound at the amplifier is in volts; a recording's
    full scale counts as 1 V unless it was scaled before.

    Parameters
    ----------
    samples : shape (t,) or (t, c), V.
    sample_rate : Hz, 44100 to 192000.
    setting : ``clean``, ``edge``, ``driven``, or a record of your own.
    loudspeaker : ``closed-box``, ``none``, an :class:`ImpulseResponse`, or one of these :class:`InRoom`.

    Returns
    -------
    heard : same shape, float64, full scale 1.0; no sample above -1 dBFS, whatever came in.

    Notes
    -----
    First-order high-pass, shelf, gain, x / sqrt(1 + x^2) about its bias at eight times the rate (four from 88.2 kHz
    on), direct current removed, loudspeaker. The output is scaled by the sum of the moduli of all taps behind the
    saturation, so the ceiling holds for every input and is the same gain for every input. What folds back of a
    5 kHz sine of 1 V lies under -80 dB in all three settings (tests/unit/sound).
    """
    sound = np.asarray(samples, dtype=float)
    if sound.ndim not in (1, 2) or sound.size == 0:
        raise InputError(f"samples have shape {sound.shape}; needed is (t,) or (t, c), not empty.")
    if not np.all(np.isfinite(sound)):
        raise InputError("the samples hold NaN or infinite values; nothing is driven with them.")
    rows = sound.reshape(sound.shape[0], -1).T
    chain = Chain(setting, sample_rate=sample_rate, channels=rows.shape[0], loudspeaker=loudspeaker)
    heard = np.concatenate([chain.process(np.ascontiguousarray(rows)), chain.finish()], axis=1)
    return np.asarray(np.ascontiguousarray(heard.T).reshape(sound.shape))


def chained(blocks: Iterable[Floats], chain: Chain) -> Iterator[Floats]:
    """Put blocks (t, c) through a chain; as many samples come out as go in, in blocks of other lengths."""
    for block in blocks:
        done = chain.process(np.ascontiguousarray(block.T))
        if done.shape[1]:
            yield done.T
    yield chain.finish().T


def loudspeaker_name(loudspeaker: Loudspeaker) -> str:
    """Return what a loudspeaker is called."""
    if isinstance(loudspeaker, InRoom):
        return f"{loudspeaker_name(loudspeaker.loudspeaker)} in a {loudspeaker.room.name}"
    return loudspeaker if isinstance(loudspeaker, str) else loudspeaker.name


def _shaping(setting: ChainSetting, rate: float) -> Floats:
    """Gain, first-order high-pass and first-order shelf as two sections."""
    gain = 10.0 ** (setting.gain_db / 20.0)
    from scipy import signal  # here: it is a third of a command's start

    b, a = signal.butter(1, setting.high_pass, "highpass", fs=rate)
    root = 10.0 ** (setting.shelf_db / 40.0)  # 1 below, root^2 above, root in the middle
    k = np.tan(np.pi * setting.shelf_frequency / rate)
    shelf = np.array([root * (k + root), root * (k - root), 0.0, 1.0 + root * k, root * k - 1.0, 0.0])
    return np.array([[gain * b[0], gain * b[1], 0.0, a[0], a[1], 0.0], shelf / shelf[3]])


def _behind(rate: float, channels: int, loudspeaker: Loudspeaker) -> tuple[list[Sections | Convolver], int]:
    """What follows the saturation at the sample rate (no direct current, loudspeaker, room), and its delay."""
    if isinstance(loudspeaker, InRoom):
        parts, late = _behind(rate, channels, loudspeaker.loudspeaker)
        return [*parts, Convolver(room_response(loudspeaker.room, round(rate)), channels)], late
    from scipy import signal  # here: it is a third of a command's start

    b, a = signal.butter(1, BLOCKER, "highpass", fs=rate)
    blocker = Sections(np.array([[b[0], b[1], 0.0, a[0], a[1], 0.0]]), channels)
    if isinstance(loudspeaker, ImpulseResponse):
        taps, late = loudspeaker.at_rate(round(rate))
        return [blocker, Convolver(taps, channels)], late
    if loudspeaker == "none":
        return [blocker], 0
    if loudspeaker == "closed-box":
        return [blocker, Sections(closed_box(rate), channels)], 0
    raise InputError(
        f"there is no loudspeaker {loudspeaker!r}; there are closed-box and none, or your own impulse response."
    )
