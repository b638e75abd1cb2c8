"""What the numbers of a pickup hang on: Sobol indices of level, resonance and presence over what is not known of it.

Unknown is what the draws of an interval vary (bar, steel, strings, pots, cable, readings) and what the guitar file
assumes beside them (shapes, gaps, the input). Draws are computed; an assumed value is put to both ends of its range on
the coarse mesh, and between them the numbers follow a parabola, as the draws' own magnets do.

What is found is kept in the cache folder, so whoever asks later (a prediction, the page) is told at once.
"""

import hashlib
import json
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass, field

import numpy as np

from polepiece import __version__
from polepiece.arrays import FloatArray
from polepiece.bench.bench import Bench
from polepiece.bench.quantities import published_threshold
from polepiece.bench.sobol import group_indices
from polepiece.bench.state import State
from polepiece.bench.unknowns import Unknown, carried, unknowns_of_draws
from polepiece.errors import PolepieceError
from polepiece.guitar import (
    SIGMAS,
    Assumption,
    GivenDraw,
    Guitar,
    deviate_at,
    in_words,
    line_at,
    ninety_ends,
    whose_is,
    with_value,
    write_guitar,
)
from polepiece.magnetics import cache
from polepiece.materials import constants_hash, pickup_bars
from polepiece.pickup import engine

OUTPUTS = ("level", "resonance", "presence")
POINTS = 128  # of each of Sobol's two sets: an index is found within some 0.1 there, the order of large ones is right
AT_ONCE = 256  # draws that are computed together
LEAST = 0.01  # of the spread; less is not listed
ASKED = 8  # unknowns of the draws whose indices are computed; the rest moves less than these, by one move each
CHARGES = ("outside", "in-place")
FORM = 1  # of what is kept on disk


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """One unknown, and how much of the spread hangs on it."""

    words: str
    settle: str
    path: str  # of the guitar file, "" where it has none
    share: float  # of the spread of all outputs, each in steps that are just heard
    first: dict[str, float]  # by output: the share that goes when it alone is known
    total: dict[str, float]  # by output: the share that stays when all else is known
    moves: dict[str, float] = field(default_factory=dict)  # 90 % width that it alone makes: dB, resonance in per cent

    most: str = "level"  # the output that it moves most, in steps that are just heard


@dataclass(frozen=True, slots=True, kw_only=True)
class HangsOn:
    """What the numbers of one pickup hang on, the largest share first."""

    pickup: str
    spread: dict[str, tuple[float, float]]  # 90 % of each output about its nominal value: dB, resonance in per cent
    shares: tuple[Share, ...]

    @property
    def first(self) -> tuple[Share, ...]:
        """What a measurement settles, the most first."""
        return tuple(one for one in self.shares if one.settle)

    @property
    def stays(self) -> tuple[Share, ...]:
        """What nothing at a bench settles."""
        return tuple(one for one in self.shares if not one.settle)


def measure_first_words(found: HangsOn) -> str:
    """Return what to measure first in a sentence."""
    if not found.first:
        return "Nothing at the bench would settle much of what is not known of this pickup."
    one = found.first[0]
    return (
        f"Measure this first: {one.words}, on which {100 * one.share:.0f} % of the spread of level, resonance and "
        f"presence hangs ({one.settle})."
    )


def coarse_bench() -> Bench:
    """Return a bench on the coarse mesh of the draws: what moves is told apart, not stated."""
    return Bench(resolution=engine.COARSE, exact_screws=False)


def known_hangs_on(guitar: Guitar, pickup: str, *, points: int = POINTS) -> HangsOn | None:
    """Return what `hangs_on` has found before of this very guitar; None where it was never asked, or is forgotten."""
    stored = cache.load(_key(guitar, pickup, points))
    if stored is None or "json" not in stored:
        return None
    body = json.loads(stored["json"].tobytes().decode())
    shares = tuple(Share(**one) for one in body["shares"])
    return HangsOn(pickup=body["pickup"], spread={k: (v[0], v[1]) for k, v in body["spread"].items()}, shares=shares)


def hangs_on(
    guitar: Guitar, pickup: str, *, bench: Bench | None = None, points: int = POINTS,
    progress: Callable[[int, int], object] = lambda done, of: None,
) -> HangsOn:  # fmt: skip
    """Return what level, resonance and presence of a pickup hang on, and keep it.

    Parameters
    ----------
    guitar : Guitar
    pickup : str
        Heard by itself, where it can be.
    bench : Bench, optional
        Default: `coarse_bench`.
    points : int
        Of Sobol's points, a power of 2.
    progress : callable
        Called with how many steps are done, and of how many.

    Notes
    -----
    An unknown's share of the spread is the sum over the outputs of its total index times their variance in steps that
    are just heard, over the sum of all. An assumed value adds to what the draws make, so its indices are its variance
    over all of it (no interaction is looked for).
    """
    model = UncertainPickup(guitar, pickup, bench or coarse_bench(), progress)
    found = model.shares(points)
    if bench is None:
        body = json.dumps({"pickup": found.pickup, "spread": found.spread, "shares": [asdict(s) for s in found.shares]})
        cache.store(_key(guitar, pickup, points), {"json": np.frombuffer(body.encode(), dtype=np.uint8)})
    return found


def _key(guitar: Guitar, pickup: str, points: int) -> str:
    told = [write_guitar(guitar), guitar.pickup(pickup).name, __version__, constants_hash(), FORM, points]
    return "hangs-on-" + hashlib.sha256(json.dumps(told).encode()).hexdigest()[:40]


def _outputs(level: float, resonance: float | None, presence: float) -> tuple[float, float, float]:
    """Return outputs in their units; a resonance that is not there is no number."""
    return level, np.nan if resonance is None else 100.0 * float(np.log(resonance)), presence


def _of_state(state: State) -> tuple[float, float, float]:
    return _outputs(state.level_db, state.resonance_hz, state.bands_db["presence"])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Assumed:
    """What an assumed value does to the outputs (s,): at both ends of its range, or by each of its words."""

    one: Assumption
    low: FloatArray
    high: FloatArray
    words: FloatArray | None = None  # (w, s)

    def at(self, share: FloatArray) -> FloatArray:
        """Return the change of the outputs (n, s) at shares (n,)."""
        if self.words is not None:
            return np.asarray(self.words[np.minimum((share * len(self.words)).astype(int), len(self.words) - 1)])
        z = (np.array([deviate_at(float(one)) for one in share]) / SIGMAS)[:, None]
        inside = 0.5 * z * (z + 1.0) * self.high + 0.5 * z * (z - 1.0) * self.low
        return np.asarray(np.where(np.abs(z) <= 1.0, inside, np.where(z > 0.0, z * self.high, -z * self.low)))


class UncertainPickup:
    """The outputs of one pickup as a function of all that is not known of it."""

    def __init__(
        self, guitar: Guitar, pickup: str, bench: Bench, progress: Callable[[int, int], object] = lambda a, b: None
    ) -> None:
        self.guitar, self.bench, self.pickup = guitar, bench, guitar.pickup(pickup).name
        state = bench.state(guitar, self.pickup)
        self.nominal = np.array(_of_state(state))
        self.steps = np.array([published_threshold(one, state) for one in OUTPUTS])  # just heard: dB, per cent, dB
        first = GivenDraw()
        bench.drawn(guitar, self.pickup, [first])
        self.drawn = unknowns_of_draws(guitar, self.pickup, first.asked)
        self.names = [name for one in self.drawn for name in one.names]
        self.assumed = self._assumed(progress)

    # --- assumed values ----------------------------------------------------------------------------
    def _assumed(self, progress: Callable[[int, int], object]) -> list[_Assumed]:
        called = [one.name for one in self.guitar.pickups]
        asked = [
            one for one in self.guitar.assumed
            if (not one.path.startswith("pickups[") or whose_is(one.path, called) == f"{self.pickup} pickup")
            and not carried(self.guitar, one, self.names) and _ends(one)
        ]  # fmt: skip
        out = []
        for done, one in enumerate(asked):
            progress(done, len(asked) + 1)
            if (found := self._effect(one)) is not None:
                out.append(found)
        progress(len(asked), len(asked) + 1)
        return out

    def _effect(self, one: Assumption) -> _Assumed | None:
        line, each = line_at(one.path), []
        for value in _ends(one):
            there = with_value(self.guitar, one.path, value)
            try:
                each.append(
                    None if there is None else np.array(_of_state(self.bench.state(there, self.pickup))) - self.nominal
                )
            except PolepieceError:  # no string sounds there, or a shape that cannot be solved
                each.append(None)
        known = [change for change in each if change is not None and np.isfinite(change[[0, 2]]).all()]
        if not known:
            return None
        if line is not None and line.kind in ("grade", "charge"):
            return _Assumed(one=one, low=known[0], high=known[0], words=np.stack(known))
        low, high = each[0], each[-1]
        if low is None or high is None:  # refused at one end: as far the other way
            low, high = (-known[0], known[0]) if low is None else (known[0], -known[0])
        at_default = one.low is not None and one.high is not None and len(each) == 1
        return _Assumed(one=one, low=np.zeros(3) if at_default else low, high=high)

    # --- draws -------------------------------------------------------------------------------------
    def of_draws(self, shares: FloatArray, names: Sequence[str] | None = None) -> FloatArray:
        """Return the outputs (n, 3) of draws whose quantities lie at shares (n, names)."""
        out = []
        for row in range(0, len(shares), AT_ONCE):
            sample = [GivenDraw(given=dict(zip(names or self.names, one))) for one in shares[row : row + AT_ONCE]]
            found = self.bench.drawn(self.guitar, self.pickup, sample)  # type: ignore[arg-type]
            out += [_outputs(one["level_db"], one.get("resonance_hz"), one["bands_db.presence"]) for one in found]
        return np.array(out)

    def sample(self, shares: FloatArray, known: Unknown | Assumption | None = None) -> FloatArray:
        """Return the outputs (n, 3) at shares (n, names and assumed values) of all that is not known.

        ``known`` is one unknown that is taken at its nominal value.
        """
        count = len(self.names)
        drawn = shares[:, :count].copy()
        if isinstance(known, Unknown):
            drawn[:, [self.names.index(name) for name in known.names]] = 0.5
        out = self.of_draws(drawn)
        for k, one in enumerate(self.assumed):
            if one.one is not known:
                out = out + one.at(shares[:, count + k])
        return out

    @property
    def inputs(self) -> int:
        """Number of shares that `sample` takes."""
        return len(self.names) + len(self.assumed)

    # --- indices -----------------------------------------------------------------------------------
    def shares(self, points: int = POINTS) -> HangsOn:
        """Return the share of the spread that hangs on each unknown."""
        scale = self.steps
        asked = self._largest()
        columns = [[self.names.index(name) for name in one.names] for one in asked]
        heard = np.isfinite(self.nominal)

        def model(shares: FloatArray) -> FloatArray:
            found = self.of_draws(shares)
            heard[:] &= np.isfinite(found).all(axis=0)  # a draw without a peak: no index of the resonance
            return np.where(np.isfinite(found), found, 0.0)

        of_draws = group_indices(model, columns, len(self.names), count=points)
        steps = np.linspace(0.0, 1.0, 2001)[1:-1]
        added = [one.at(steps).var(axis=0) for one in self.assumed]
        added = [np.where(np.isfinite(one), one, 0.0) for one in added]
        whole = np.where(heard, of_draws.variance + sum(added, np.zeros(3)), 0.0)
        weight = np.where(whole > 0.0, 1.0 / np.maximum(whole, 1e-300), 0.0)
        called = [one.name for one in self.guitar.pickups]
        found = [
            _share(one.words, one.settle, one.path, first * of_draws.variance, total * of_draws.variance, weight, scale)
            for one, first, total in zip(asked, of_draws.first, of_draws.total)
        ]
        found += [
            _share(
                in_words(one.one.path, called, self.guitar),
                one.one.settle,
                one.one.path,
                variance,
                variance,
                weight,
                scale,
            )
            for one, variance in zip(self.assumed, added)
        ]
        listed = sorted((one for one in found if one.share >= LEAST), key=lambda one: -one.share)
        return HangsOn(pickup=self.pickup, spread=self._spread(heard), shares=tuple(listed))

    def _largest(self) -> list[Unknown]:
        """Return the unknowns of the draws that move the outputs most, each by one sigma either way."""
        rows = []
        for one in self.drawn:
            for share in (0.159, 0.841):
                row = np.full(len(self.names), 0.5)
                row[[self.names.index(name) for name in one.names]] = share
                rows.append(row)
        if not rows:
            return []
        moved = (self.of_draws(np.array(rows)) - self.nominal) / self.steps
        sizes = np.nansum(moved**2, axis=1).reshape(len(self.drawn), 2).sum(axis=1)
        order = np.argsort(-sizes)[:ASKED]
        return [self.drawn[k] for k in order if sizes[k] > 1e-3 * sizes.sum()]

    def _spread(self, heard: FloatArray) -> dict[str, tuple[float, float]]:
        dice = np.random.default_rng(0).random((POINTS, self.inputs))
        ends = ninety_ends(self.sample(dice) - self.nominal)
        return {key: (float(ends[0, k]), float(ends[1, k])) for k, key in enumerate(OUTPUTS) if heard[k]}


def _share(
    words: str, settle: str, path: str, first: FloatArray, total: FloatArray, weight: FloatArray, scale: FloatArray
) -> Share:
    """Return one share from the variances (3,) that go and stay, the reciprocals of the whole ones, and the steps."""
    heard = weight > 0.0
    whole = np.where(heard, 1.0 / np.where(heard, weight, 1.0), 0.0)
    share = float((np.where(heard, total, 0.0) / scale**2).sum() / max(float((whole / scale**2).sum()), 1e-300))
    keys = [key for key, one in zip(OUTPUTS, heard) if one]

    def told(values: FloatArray) -> dict[str, float]:
        return {key: round(float(values[OUTPUTS.index(key)]), 4) for key in keys}

    most = OUTPUTS[int(np.argmax(np.where(heard, total, 0.0) / scale**2))]
    return Share(
        words=words, settle=settle, path=path, share=round(share, 4), first=told(first * weight),
        total=told(total * weight), moves=told(2.0 * SIGMAS * np.sqrt(np.maximum(total, 0.0))), most=most,
    )  # fmt: skip


def _ends(one: Assumption) -> tuple[float | str, ...]:
    """Return the values that are tried in place of an assumed one."""
    line = line_at(one.path)
    if line is None or (line.kind == "numbers" and line.whole):
        return ()
    if line.kind == "grade":
        return pickup_bars.LIKELY
    if line.kind == "charge":
        return CHARGES
    return () if one.low is None or one.high is None else tuple(dict.fromkeys((one.low, one.high)))
