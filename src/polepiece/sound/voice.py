"""One note as the pickup takes it up: the voltage that is linear in the motion, and the curved part of the flux.

Every mode is an exact damped exponential, so velocity and displacement are known in closed form at any time:

    linear voltage   v_c(t) = sum_x [towards_cx w'(x) + across_cx u'(x)]      of every coil c, slice by slice
    curved flux      f_g(t) = sum_r [c2 w^2/2 + c3 w^3/6 + .. + (d2 + d3 w + ..) u^2/2]  of every pickup g, row by row

The voltage of the second is its derivative, which the filter behind it takes exactly. The cubic spreads a band of
width b to 3 b: it is fed only with modes whose products cannot fold back into the audible band at the rate in use
(all modes at two-fold oversampling).
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from polepiece.sound._flux import add_curved, in_millimetres
from polepiece.sound._reading import read_between, sinc_table
from polepiece.sound._setting_off import released, seen_by_rows, taken_up
from polepiece.sound.contact_noise import Scrape
from polepiece.sound.glide import HALF, Glide, read_slowly
from polepiece.sound.modebank import ModeBank, ModeSum
from polepiece.sound.phrase import Bend
from polepiece.strings import FluxRows, Partials, Pluck, SpeakingString, StringModes, StringSensing, modal_amplitudes

Floats = NDArray[np.float64]
Sound = NDArray[np.float32]  # what the sums of modes have
Complexes = NDArray[np.complex128]
Places = NDArray[np.int_]

SILENT = 1e-6  # -120 dB of the loudest mode: what 32 bits hold
SILENT_CURVED = 1e-5  # the curved part lies some 20 dB under the straight one: -120 dB of the whole
SILENT_GLIDING = 1e-5  # what glides is read between its samples to -70 dB
SUDDEN = 300.0  # 1/s, middle decay: a scratched string's is 1700, a palm-muted one's 30 to 100
CALM_S = math.log(1.0 / SILENT) / SUDDEN  # what dies faster than that is silent from here on, and nothing starts
GUARD = 32  # samples on each side that decimation and the bend's interpolation reach for


@dataclass(frozen=True, slots=True, eq=False)
class Motion:
    """The two motions of each partial that the ends of a string leave alone; docs/theory/strings-and-sound.md.

    Attributes
    ----------
    exponent : shape (2, n), 1/s.
    share : shape (2 planes released, 2 planes, 2, n), amplitude of each motion, seen in each plane, a metre that the
        string is let go from in either.
    """

    exponent: Complexes
    share: Complexes

    @classmethod
    def of(cls, modes: Partials) -> "Motion":
        """Work it out: the two planes of `mode_motion`."""
        exponent = -modes.decay + 2.0j * np.pi * modes.frequency
        c, s = np.cos(modes.turned), np.sin(modes.turned)
        up, side = c * c * exponent[0] + s * s * exponent[1], s * s * exponent[0] + c * c * exponent[1]
        across = -(c * s * (exponent[0] - exponent[1])).real
        share = np.empty((2, 2, 2, c.size), dtype=complex)
        for plane, (start_up, start_side) in enumerate((
            (1.0 + 1j * up.real / up.imag, -1j * across / side.imag),
            (-1j * across / up.imag, 1.0 + 1j * side.real / side.imag),
        )):  # fmt: skip
            first, second = c * start_up + s * start_side, c * start_side - s * start_up
            share[plane] = (c * first, -s * second), (s * first, c * second)
        return cls(exponent, share)

    def released(self, modes: StringModes, pluck: Pluck) -> Complexes:
        """Return the complex amplitudes (2 planes, 2, n), m, of ``modes`` let go from rest."""
        return self.let_go(self.rest(modes, pluck))

    def let_go(self, rest: Floats) -> Complexes:
        """Return the complex amplitudes (2 planes, 2, n), m, of partials that rest at ``rest`` (2 planes, n), m."""
        return np.asarray(rest[0] * self.share[0] + rest[1] * self.share[1])

    def rest(self, modes: StringModes, pluck: Pluck) -> Floats:
        """Return the amplitudes (2 planes, n), m, of ``modes`` as the string is held: see `modal_amplitudes`."""
        return modal_amplitudes(modes.number, length=modes.length, pluck=pluck, frequency=modes.frequency[0])


def mode_motion(modes: StringModes, pluck: Pluck) -> tuple[Complexes, Complexes]:
    """Exponents (2, n) and complex amplitudes (2 planes, 2, n) of a string let go from rest.

    Notes
    -----
    The pair (w, u) of a partial obeys d/dt = -D + j Omega with D its damping matrix. From rest at A:
    A - j Omega^-1 D A, which is then split into the two motions that the ends leave alone.
    Derived here.
    """
    motion = Motion.of(modes)
    return motion.exponent, motion.released(modes, pluck)


def row_shapes(modes: StringModes, rows: FluxRows) -> Floats:
    """What each row of the curved flux reads of each mode, (r, n): its shape there times the aperture's low-pass.

    A Gaussian aperture against sin(k x): exp(-(k a)^2 / 2), derived here.
    """
    wavenumber = modes.number * np.pi / modes.length
    inside = (rows.positions > 0.0) & (rows.positions < modes.length)
    shape = np.sin(np.outer(np.where(inside, rows.positions, 0.0), wavenumber))
    return np.asarray(shape * np.exp(-0.5 * (wavenumber * np.asarray(rows.aperture)[:, None]) ** 2))


@dataclass(frozen=True, slots=True, eq=False)
class StringBank:
    """The modes of one string at one fret, ready to be set off again and again."""

    modes: StringModes
    linear: ModeBank
    curved: ModeBank | None  # of the modes under ``limit``; None where there are none, or the flux law is straight
    fast: ModeBank | None  # the same at twice the rate, where they die so fast that their start would fold back
    low: int  # how many modes of each kind the curved law is fed with
    sample_rate: float
    oversampling: int
    motion: Motion

    @classmethod
    def of(
        cls, modes: StringModes, *, sample_rate: float, oversampling: int = 1, straight: bool = False
    ) -> "StringBank":
        """Make the tables of ``modes``."""
        motion = Motion.of(modes)
        exponent = motion.exponent
        low = int(np.searchsorted(modes.frequency[0], (oversampling - 0.5) * sample_rate / 3.0))
        linear = ModeBank(exponent.ravel(), sample_rate=sample_rate, single_precision=True)
        curved = None
        if low and not straight and oversampling == 1:
            curved = linear.part(np.broadcast_to(np.arange(modes.number.size) < low, exponent.shape).ravel())
        elif low and not straight:
            curved = ModeBank(exponent[:, :low].ravel(), sample_rate=sample_rate * oversampling, single_precision=True)
        fast = None
        if float(np.median(modes.decay)) > SUDDEN:
            fast = ModeBank(exponent.ravel(), sample_rate=2.0 * sample_rate, single_precision=True)
        return cls(modes, linear, curved, fast, low, sample_rate, oversampling, motion)


@dataclass(frozen=True, slots=True, eq=False)
class TakenUp:
    """What a pickup takes of the modes of one string at one fret, the same for every note on it.

    Attributes
    ----------
    towards, across : shape (c, n), V s/m, added up by output.
    shapes : shape (r, n), of the rows of the curved flux, the modes it is fed with; None where there is none.
    law : what `add_curved` needs of the rows.
    planes : 2 where motion across the strings is curved, too.
    output, outputs : shape (r,), output of each row; how many outputs there are.
    """

    towards: Floats
    across: Floats
    shapes: Floats | None
    law: tuple[Sound, ...]
    planes: int
    output: Places
    outputs: int

    @classmethod
    def of(cls, bank: StringBank, sensing: StringSensing, channels: Places | None, groups: Places | None) -> "TakenUp":
        """Work it out for ``sensing``; ``channels`` and ``groups`` as of `NoteVoice`."""
        each = sensing.mode_shapes(bank.modes.number, bank.modes.length)
        towards, across = (np.array(_added(one, channels), order="C") for one in each)  # compiled once
        rows = None if sensing.linear else sensing.flux
        if bank.curved is None or rows is None:
            return cls(towards, across, None, (), 1, np.zeros(0, dtype=int), 0)
        group = np.array(rows.group)  # its own, to be written: compiled once
        output = group if groups is None else groups[group]
        return cls(
            towards, across, np.ascontiguousarray(row_shapes(bank.modes, rows)[:, : bank.low]),
            in_millimetres(*rows.terms(), np.asarray(rows.reach)),  # type: ignore[no-untyped-call]
            2 if rows.bends_sideways else 1, output, 1 + int(np.max(output if groups is None else groups)),
        )  # fmt: skip


class NoteVoice:
    """One note; any stretch of it can be asked for in any order.

    Parameters
    ----------
    bank : of the string at its fret.
    sensing : what the pickup senses of the string; or what it takes up of these very modes, worked out before.
    pluck : the stroke.
    count : samples until the note ends.
    release : samples over which it fades at its end.
    bend : of its pitch.
    pull : samples before the stroke in which the plectrum draws the string aside; their numbers are negative. Without
        them the flux of the string at rest is missing, and the voltage has a mean.
    channels, groups : shapes (c,) and (g,): output to which each channel and each group is added, from 0 on; None:
        each its own.
    gliding : the string at its fret, where its stretch is to be heard (`polepiece.sound.glide`); None: it is not.
    noise : the plectrum's force before the stroke, with the string it is on; None: it makes none.
    straight : leave the curved part out, as for a stroke so small that it is not heard.

    Notes
    -----
    The equations of the module; fades and the pull before the stroke are choices for listening (assumption).
    """

    def __init__(
        self, bank: StringBank, sensing: StringSensing | TakenUp, pluck: Pluck, *, count: int, release: int = 0,
        bend: Bend | None = None, pull: int = 0, channels: Places | None = None, groups: Places | None = None,
        gliding: SpeakingString | None = None, noise: tuple[Scrape, SpeakingString] | None = None,
        straight: bool = False,
    ) -> None:  # fmt: skip
        self.bank, self.count, self.bend, self.pull = bank, count, bend, pull
        self.release = min(release, count)
        took = sensing if isinstance(sensing, TakenUp) else TakenUp.of(bank, sensing, channels, groups)
        towards, across, exponent, order = took.towards, took.across, bank.motion.exponent, bank.linear.order
        outputs, modes = towards.shape
        amplitude: Complexes = np.empty((2, 2, modes), dtype=complex)
        unit, left = amplitude, np.asarray(np.zeros((0, 0), dtype=complex))  # of the plectrum's noise: none
        self.upright = np.empty(modes, dtype=complex)  # m, towards the pole at the stroke
        self._drawn = np.empty(outputs)  # V s, linkage of each channel at the moment of release
        released(bank.motion.rest(bank.modes, pluck), bank.motion.share, towards, across, amplitude, self._drawn,
                 self.upright)  # fmt: skip
        self._glide = None if gliding is None else Glide.of(bank.modes, amplitude, gliding)
        self._noise = np.zeros((outputs, 0), dtype=np.float32)  # V, over the last samples before the release
        if noise is not None and pull:
            unit, kick = noise[0].unit(bank.modes, pluck, noise[1]), np.empty((outputs, 2 * modes), dtype=complex)
            taken_up(unit, unit, left, towards, across, exponent, order, kick)
            free = ModeSum.in_order(bank.linear, kick, silent=SILENT_CURVED)
            self._noise = noise[0].heard(free.sums(0.5, noise[0].force.size))
            left = noise[0].left(bank.linear).reshape(exponent.shape)
        weight = np.empty((outputs, 2 * modes), dtype=complex)
        taken_up(amplitude, unit, left, towards, across, exponent, order, weight)
        floor = SILENT if self._glide is None else SILENT_GLIDING
        self._linear = ModeSum.in_order(bank.linear, weight, silent=floor)
        self._sudden = None if bank.fast is None else ModeSum.in_order(bank.fast, weight, silent=SILENT)
        self._curved: ModeSum | None = None
        self._took, self._at_rest = took, np.zeros(0)
        if bank.curved is not None and took.shapes is not None and not straight:
            seen = np.empty((took.planes * took.shapes.shape[0], 2 * bank.low), dtype=complex)
            seen_by_rows(amplitude, took.shapes, bank.curved.order, seen)
            self._curved = ModeSum.in_order(bank.curved, seen, silent=SILENT_CURVED)
            self._at_rest = self._flux(self._curved.at_start()[:, None])[:, 0].astype(float)

    @property
    def curved(self) -> bool:
        """True when the note has a curved part."""
        return self._curved is not None

    def segment(self, first: int, count: int) -> tuple[Sound, Sound | None]:
        """Return linear voltages (c, t) in V and curved fluxes (g, t) in V s of samples ``first`` .. ``first + count``.

        Sample 0 is the stroke; the pull before it is the linkage rising along half a cosine. At the end both fade: the
        curved flux to that of the string at rest.
        """
        voltage, flux = self._bent(first, count) if self.bend or self._glide else self._plain(first, count)
        if self.pull and first >= 0 and flux is not None:
            flux += self._at_rest[:, None].astype(np.float32)
        elif self.pull and first < 0:
            x = np.clip((np.arange(first, min(first + count, 0)) + 0.5) / self.pull + 1.0, 0.0, 1.0)
            speed = 0.5 * np.pi * np.sin(np.pi * x) * (self.bank.sample_rate / self.pull)
            voltage[:, : x.size] += self._drawn[:, None] * speed
            heard = np.arange(first, first + x.size) + self._noise.shape[1]
            voltage[:, : x.size][:, heard >= 0] += self._noise[:, heard[heard >= 0]]
            if flux is not None:
                rise = np.clip(np.arange(first, min(first + count, 0)) / self.pull + 1.0, 0.0, 1.0)
                flux[:, : x.size] += self._at_rest[:, None] * (0.5 - 0.5 * np.cos(np.pi * rise))
                flux[:, x.size :] += self._at_rest[:, None]
        if first + count > self.count - self.release and self.release:
            begins = max(self.count - self.release - first, 0)
            place = (np.arange(first + begins, first + count) - (self.count - self.release) + 1.0) / self.release
            fade = 0.5 + 0.5 * np.cos(np.pi * np.clip(place, 0.0, 1.0))
            voltage[:, begins:] *= fade
            if flux is not None:
                flux[:, begins:] *= fade
        return voltage, flux

    def _plain(self, first: int, count: int) -> tuple[Sound, Sound | None]:
        skip = min(max(-first, 0), count)  # before the stroke there is nothing
        if not skip:
            return self._straight(first, count), self._flux_segment(first, count)
        voltage = np.zeros((self._drawn.size, count), dtype=np.float32)
        if count > skip:
            voltage[:, skip:] = self._straight(first + skip, count - skip)
        return voltage, self._flux_segment(first, count)

    def _straight(self, first: float, count: int) -> Sound:
        """Linear voltages (c, count) from sample ``first`` (>= 0; a part of one, too) on."""
        early = 0
        if self._sudden is not None:
            early = min(max(math.ceil(CALM_S * self.bank.sample_rate - first), 0), count)
        if not early:
            return self._linear.sums(first, count)
        calm = self._linear.sums(first + early, count - early)
        return np.concatenate([self._start(self._sudden, first, early), calm], axis=1)

    def _start(self, sudden: ModeSum | None, first: float, count: int) -> Sound:
        """The same of a string whose modes die so fast that their start is made at twice the rate."""
        assert sudden is not None
        from scipy import signal  # here: it is a third of a command's start

        low = 2.0 * (first - GUARD)
        skip = max(0, math.ceil(-low))
        fast = np.zeros((self._drawn.size, 2 * (count + 2 * GUARD)))
        fast[:, skip:] = sudden.sums(low + skip, fast.shape[1] - skip)
        done = np.asarray(signal.upfirdn(_decimator(2), fast, down=2, axis=-1))
        return np.ascontiguousarray(done[:, 2 * GUARD : 2 * GUARD + count], dtype=np.float32)

    def _flux_segment(self, first: int, count: int) -> Sound | None:
        if self._curved is None:
            return None
        q = self.bank.oversampling
        if q == 1:
            return self._fast_flux(first, count)
        fast = self._fast_flux((first - GUARD) * q, (count + 2 * GUARD) * q)
        from scipy import signal  # here: it is a third of a command's start

        low = np.asarray(signal.upfirdn(_decimator(q), fast, down=q, axis=-1))
        return np.ascontiguousarray(low[:, 2 * GUARD : 2 * GUARD + count], dtype=np.float32)

    def _fast_flux(self, first: int, count: int) -> Sound:
        """Curved flux less that at the stroke, (g, t); nothing before it."""
        flux = np.zeros((self._at_rest.size, count), dtype=np.float32)
        skip = min(max(-first, 0), count)
        if self._curved is not None and count > skip:
            flux[:, skip:] = self._beyond_rest(first + skip, count - skip)
        return flux

    def _beyond_rest(self, first: float, count: int) -> Sound:
        """Curved flux less that at the stroke, (g, count), from sample ``first`` (>= 0; a part of one, too) on."""
        assert self._curved is not None
        flux = self._flux(self._curved.sums(first, count))
        flux -= self._at_rest[:, None].astype(np.float32)
        return flux

    def _flux(self, motion: NDArray[np.floating]) -> Sound:
        """Curved linkage (g, t) of the motion (planes r, t) in mm: w of every row, then u of every row."""
        total = np.zeros((self._took.outputs, motion.shape[1]), dtype=np.float32)
        if self._took.law:
            towards, across, reach, ends = self._took.law
            moved = np.ascontiguousarray(motion, dtype=np.float32)  # one layout: compiled once
            add_curved(moved, towards, across, reach, ends, self._took.output, total)
        return total

    def _bent(self, first: int, count: int) -> tuple[Sound, Sound | None]:
        """The straight note read along a bent time axis: pitch ratio r = d(read time)/dt, voltages times r."""
        if self._glide is not None and self.bend is None and self.bank.oversampling == 1:
            moving = math.ceil(self._glide.over * self.bank.sample_rate) - first
            if moving <= 0:  # it stands still: no more to read between
                begin = np.array([first / self.bank.sample_rate])
                return self._late(float(self._glide.ratio(begin)[1][0]) * self.bank.sample_rate, count)
            if moving < count:
                early, late = self._bent(first, moving), self._bent(first + moving, count - moving)
                flux = None if early[1] is None or late[1] is None else np.concatenate([early[1], late[1]], axis=1)
                return np.concatenate([early[0], late[0]], axis=1), flux
        if self._glide is not None:
            ratio, read = self._glide.axis(first, count, self.bank.sample_rate)
        else:
            ratio, read = np.ones(count), np.arange(first, first + count) / self.bank.sample_rate
        if self.bend is None:
            return self._glided(ratio, read * self.bank.sample_rate)
        more, bent = self.bend.ratio(np.maximum(read, 0.0))
        ratio, place = ratio * more, np.where(read < 0.0, read, bent) * self.bank.sample_rate
        low = math.floor(place[0]) - GUARD
        voltage, flux = self._plain(low, math.ceil(place[-1]) + GUARD + 1 - low)
        place = place - low
        voltage = np.stack([(ratio * read_between(one, place, _READ)).astype(np.float32) for one in voltage])
        if flux is not None:
            flux = np.stack([read_between(one, place, _READ).astype(np.float32) for one in flux])
        return voltage, flux

    def _late(self, first: float, count: int) -> tuple[Sound, Sound | None]:
        """The straight note from any place between its samples on."""
        return self._straight(first, count), None if self._curved is None else self._beyond_rest(first, count)

    def _glided(self, ratio: Floats, place: Floats) -> tuple[Sound, Sound | None]:
        """The straight note read at ``place`` (t,), which moves slowly against the samples."""
        low = math.floor(place[0]) - HALF
        voltage, flux = self._plain(low, math.ceil(place[-1]) + HALF + 2 - low)
        place = place - low
        if flux is None:
            return read_slowly(voltage, place, gain=ratio)[0], None
        return read_slowly(voltage, place, gain=ratio, others=flux)


def _added(each: Floats, outputs: Places | None) -> Floats:
    """Rows (c, n) added up by the output to which each goes."""
    if outputs is None:
        return each
    total = np.zeros((1 + int(np.max(outputs)), each.shape[1]))
    np.add.at(total, outputs, each)
    return total


def _decimator(factor: int) -> Floats:
    """Linear-phase low-pass for taking every ``factor``-th sample, delay GUARD samples of the slow rate."""
    taps = 2 * GUARD * factor + 1
    from scipy import signal  # here: it is a third of a command's start

    return np.asarray(signal.firwin(taps, 0.94 / factor, window=("kaiser", 10.0)))


_READ = sinc_table(GUARD)
