"""How well a change answers a complaint: differences in units of their thresholds, benefit less harm.

The weights are judgement and stated here; they order rows and never alter a computed number.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from polepiece.bench import BANDS, IN_A_MIX, QUANTITIES, State, differences, threshold_of
from polepiece.planning.complaint_word import Word

OVERSHOOT = 0.5  # what is gained past the wanted amount counts against, by this share
HARM = 1.5  # beyond what is named, a threshold the wrong way weighs as much as this many the right way
NAMED = 0.3  # thresholds from which a change is named better or worse
MAIN = 0.5  # an aim is main when its weight is at least this share of the largest
# Side effects nobody asked for, a threshold each: (either way, only upwards).
_SIDE_BOTH = {"level": 0.10, "wound": 0.08, "lows": 0.05, "mids": 0.05, "highs": 0.05, "presence": 0.05}
_SIDE_UP = {"shift": 0.2, "unevenness": 0.2}


@dataclass(frozen=True, slots=True, kw_only=True)
class Aims:
    """What is wanted: signed weights of quantities, and how much (thresholds) is enough."""

    weights: Mapping[str, float]
    enough: float = 2.0

    @property
    def main(self) -> tuple[str, ...]:
        """The quantities that the complaint is mainly about."""
        if not self.weights:
            return ()
        most = max(abs(w) for w in self.weights.values())
        return tuple(k for k, w in self.weights.items() if abs(w) >= MAIN * most)


@dataclass(frozen=True, slots=True, kw_only=True)
class Score:
    """One state judged against the aims."""

    total: float
    moved: dict[str, float]  # every quantity in its unit
    in_thresholds: dict[str, float]
    best: str | None  # main quantity that moves most the wanted way
    heard: float  # its thresholds (0: none moves the wanted way)
    better: tuple[str, ...] = field(default=())
    worse: tuple[str, ...] = field(default=())
    unchanged: tuple[str, ...] = field(default=())


def aims_of(words: Iterable[tuple[Word, int]]) -> Aims:
    """Return the aims of several complaints (word, strength 1-3) about one pickup.

    Each word's weights are scaled to add up to its strength, so a strong complaint outweighs a slight one;
    aims that contradict each other cancel.
    """
    total: dict[str, float] = {}
    strongest = 0
    for word, strength in words:
        size = sum(abs(w) for w in word.aims.values())
        for key, weight in word.aims.items():
            total[key] = total.get(key, 0.0) + strength * weight / size
        if word.aims:
            strongest = max(strongest, strength)
    weights = {key: weight for key, weight in total.items() if abs(weight) > 1e-9}
    return Aims(weights=weights, enough=float(strongest or 2))


def score(aims: Aims, before: State, after: State, *, apart: float | None = None) -> Score:
    """Judge ``after`` against ``before``.

    Notes
    -----
    Benefit: weighted mean over aims of u = wanted sign times change over threshold; u counts in full up to
    ``aims.enough``, what overshoots by more than half a threshold counts against; u < 0 counts once as long as
    nobody would name it and `HARM` times beyond that.
    From it are taken side effects on what nobody complained about.
    """
    moved = differences(before, after, apart=apart)
    units = {key: value / threshold_of(key, before) for key, value in moved.items()}
    wanted = {k: (1.0 if w > 0 else -1.0) * units[k] for k, w in aims.weights.items() if k in units}
    size = sum(abs(aims.weights[k]) for k in wanted)
    benefit = sum(abs(aims.weights[k]) * _worth(u, aims.enough) for k, u in wanted.items()) / size if size else 0.0
    helpful = {k: u for k, u in wanted.items() if k in aims.main and u > 0.0}
    best = max(helpful, key=lambda k: helpful[k]) if helpful else None
    side = _side_effects(aims, units)
    better = tuple(k for k, u in wanted.items() if u >= NAMED)
    worse = tuple(k for k, u in wanted.items() if u <= -NAMED) + _unwanted(aims, units)
    named = {*better, *worse}
    unchanged = tuple(k for k, u in units.items() if abs(u) < NAMED and k not in named and not k.startswith("string"))
    return Score(
        total=benefit - side, moved=moved, in_thresholds=units, best=best, heard=helpful[best] if best else 0.0,
        better=better, worse=worse, unchanged=unchanged,
    )  # fmt: skip


def _worth(u: float, enough: float) -> float:
    if u < 0.0:
        return u - (HARM - 1.0) * max(-u - NAMED, 0.0)
    over = max(u - enough - 0.5, 0.0)
    return min(u, enough) - OVERSHOOT * over


def _side_effects(aims: Aims, units: Mapping[str, float]) -> float:
    """What moves although nobody asked; the first half threshold of each is free."""
    both = sum(w * max(abs(units.get(k, 0.0)) - 0.5, 0.0) for k, w in _SIDE_BOTH.items() if k not in aims.weights)
    up = sum(w * max(units.get(k, 0.0), 0.0) for k, w in _SIDE_UP.items() if k not in aims.weights)
    return both + up


def _unwanted(aims: Aims, units: Mapping[str, float]) -> tuple[str, ...]:
    """What gets worse beside the aims: a heard change of level, more detuning, strings that stand out."""
    out = []
    if "level" not in aims.weights and abs(units.get("level", 0.0)) >= 1.0:
        out.append("level")
    out += [k for k in _SIDE_UP if k not in aims.weights and units.get(k, 0.0) >= 1.0]
    for band in ("lows", "mids", "highs", "presence", "wound"):
        if band not in aims.weights and units.get(band, 0.0) <= -1.0:
            out.append(band)
    return tuple(out)


def heard_word(judged: Score, interval: Mapping[str, tuple[float, float]] | None = None) -> str:
    """Return "yes", "maybe" or "no" for the main quantity that moves most.

    No: under one threshold. Yes: two or more (still noticed next day), unless its 90 % interval reaches down
    to no change. Maybe: between.
    """
    if judged.best is None or judged.heard < 1.0:
        return "no"
    if judged.heard < IN_A_MIX:
        return "maybe"
    number = QUANTITIES[judged.best].number or QUANTITIES[judged.best].same
    if interval and number and number in interval:
        low, high = interval[number]
        if low <= 0.0 <= high:
            return "maybe"
    return "yes"


def heard_at_all(judged: Score) -> str:
    """Return whether any change is likely to be heard, where no quantity stands for the complaint."""
    most = max((abs(judged.in_thresholds.get(k, 0.0)) for k in ("level", *BANDS, "wound")), default=0.0)
    return "yes" if most >= IN_A_MIX else "maybe" if most >= 1.0 else "no"
