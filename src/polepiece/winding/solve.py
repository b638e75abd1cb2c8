"""From any two or three knowns of a coil to all the others: every gauge that could be, with intervals, or why none."""

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from polepiece.errors import InputError
from polepiece.guitar import ALL_GAUGES, LEAST_FILL, MOST_FILL, SIGMAS, USUAL_GAUGES
from polepiece.materials import Build, copper_factor
from polepiece.winding.bobbin import STRETCH, Bobbin, wire_spread_of
from polepiece.winding.inference import CONTRADICTED, NO_STEEL, NOISE, Posterior, Spreads, SteelEffect, infer
from polepiece.winding.knowns import Knowns

Interval = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class PerTurn:
    """Inductance between the leads at the reference turns, H at 120 Hz, and what its steel may do to it."""

    inductance: float
    steel: SteelEffect = field(repr=False)
    seen: Callable[[float, float], float] = field(
        repr=False
    )  # (turns, Hz) -> what a meter shows there over the inductance at 120 Hz


@dataclass(frozen=True, slots=True, kw_only=True)
class Value:
    """A quantity with its 90 % interval; ``read`` where it was given."""

    value: float
    low: float
    high: float
    read: bool = False


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CoilFound:
    """One winding that the knowns allow."""

    gauge: int
    build: Build
    turns: Value
    resistance: Value  # ohm at 20 degC between the leads
    fill: Value  # share of the window
    inductance: Value | None  # H at 120 Hz; None where the pickup was not solved
    wire_length: float  # m, all coils
    probability: float  # among the gauges that could be, each as likely beforehand
    posterior: Posterior
    read: Mapping[str, float]  # quantities of the model that were given
    nominal: Mapping[str, float]  # the same of the bobbin at its reference turns

    @property
    def laying(self) -> str:
        """How the wire must be laid to fit, in words."""
        return laying_words(self.fill.value)


WILD = 0.56
"""Share of the window, insulation included, that wild windings take at least: 45 to 50 % copper in AWG 42 (common
practice, see docs/theory/coil.md)."""


def laying_words(fill: float) -> str:
    """Say what a fill asks of the hand that lays the wire."""
    if fill < LEAST_FILL:
        return "less than a quarter of it: is it this bobbin?"
    if fill <= WILD:
        return "room to spare for a wild winding"
    if fill <= MOST_FILL:
        return "full: even layers and steady tension, no wild winding"
    return "more than wire of the usual diameter takes: the thinnest insulation of its gauge only"


def solve(bobbin: Bobbin, knowns: Knowns, per_turn: "PerTurn | None" = None) -> tuple[CoilFound, ...]:
    """Return the windings that agree with what is known, the likeliest first.

    Parameters
    ----------
    bobbin : Bobbin
    knowns : Knowns
        Where no gauge is known, the usual ones are tried first, then the others; without a build, single.
    per_turn : PerTurn, optional
        Needed where the inductance is known or asked for.

    Raises
    ------
    InputError
        When no winding can be like that: what contradicts what, by how much, and the slip that would mend it.
    """
    if knowns.inductance is not None and per_turn is None:
        raise InputError("an inductance is known, but the pickup was not solved: pass per_turn.")
    found, why = _possible(bobbin, knowns, per_turn)
    if found:
        return found
    meant = [words for other, words in _slips(bobbin, knowns) if _possible(bobbin, other, per_turn)[0]]
    gauges = [] if knowns.gauge is None else [
        one for one in ALL_GAUGES
        if one != knowns.gauge and _possible(bobbin, replace(knowns, gauge=one), per_turn)[0]
    ]  # fmt: skip
    usual = [one for one in gauges if one in USUAL_GAUGES] or gauges
    if usual:
        meant.append(f"Is the gauge AWG {' or '.join(map(str, usual))}?")
    end = " ".join(meant) or "Is the bobbin another one? Write its sizes in the guitar file."
    raise InputError(f"no winding of this bobbin is like that: {why} {end}")


def _possible(bobbin: Bobbin, knowns: Knowns, per_turn: "PerTurn | None") -> "tuple[tuple[CoilFound, ...], str]":
    """Return the windings that can be, and of those that cannot the reason that is nearest."""
    build: Build = knowns.build or "single"
    nearest = (math.inf, "")
    for gauges in ((knowns.gauge,),) if knowns.gauge is not None else (USUAL_GAUGES, ALL_GAUGES):
        kept: list[tuple[CoilFound, float]] = []
        for gauge in gauges:
            one = _conditioned(bobbin, knowns, gauge, build, per_turn)
            fault, size = _fault(bobbin, knowns, one)
            if not fault:
                kept.append((one, one.posterior.evidence))
            elif size < nearest[0]:
                nearest = (size, fault)
        if kept:
            top = max(evidence for _, evidence in kept)
            total = sum(math.exp(evidence - top) for _, evidence in kept)
            ranked = sorted(
                (replace(one, probability=math.exp(evidence - top) / total) for one, evidence in kept),
                key=lambda one: -one.probability,
            )
            return tuple(one for one in ranked if one.probability >= 1e-3), ""
    return (), nearest[1]


def spreads_of(bobbin: Bobbin, gauge: int, build: Build) -> Spreads:
    """Return the standard deviations of everything that is not known of a winding of this wire."""
    sizes, wire = bobbin.spread(), wire_spread_of(gauge, build)
    return Spreads(
        wire=wire.ohms, tension=STRETCH / SIGMAS, mean_turn=sizes.mean_turn, window=sizes.window, enamel=wire.enamel,
        wire_in_fill=wire.shared, turn_in_inductance=sizes.inductance,
    )  # fmt: skip


def _conditioned(bobbin: Bobbin, knowns: Knowns, gauge: int, build: Build, per_turn: "PerTurn | None") -> CoilFound:
    """Return what the knowns make of one wire."""
    turns = bobbin.reference
    nominal = {
        "resistance": bobbin.resistance(turns, gauge, build), "turns": turns, "fill": bobbin.fill(turns, gauge, build),
    }  # fmt: skip
    if per_turn is not None:
        nominal["inductance"] = per_turn.inductance
    read = _readings(knowns, per_turn, turns)
    spreads = spreads_of(bobbin, gauge, build)
    steel = per_turn.steel if per_turn is not None else NO_STEEL
    posterior = infer({name: math.log(value / nominal[name]) for name, value in read.items()}, spreads, steel)
    if knowns.inductance is not None and knowns.frequency != 120.0:  # once more with the turns that were found
        read = _readings(knowns, per_turn, turns * posterior.factor("turns"))
        posterior = infer({name: math.log(value / nominal[name]) for name, value in read.items()}, spreads, steel)

    def value(name: str) -> Value:
        low, high = posterior.ends(name)
        middle = posterior.factor(name)
        if name not in read:
            return Value(value=nominal[name] * middle, low=nominal[name] * low, high=nominal[name] * high)
        stated = read[name]
        half = SIGMAS * NOISE[name]  # the instrument's
        return Value(value=stated, low=stated * math.exp(-half), high=stated * math.exp(half), read=True)

    return CoilFound(
        gauge=gauge, build=build, turns=value("turns"), resistance=value("resistance"), fill=value("fill"),
        inductance=value("inductance") if per_turn is not None else None,
        wire_length=bobbin.wire_length(turns * posterior.factor("turns")), probability=1.0, posterior=posterior,
        read=read, nominal=nominal,
    )  # fmt: skip


def _readings(knowns: Knowns, per_turn: "PerTurn | None", turns: float) -> dict[str, float]:
    """Return the knowns as quantities of the model: resistance at 20 degC, inductance at 120 Hz."""
    read = {name: float(getattr(knowns, name)) for name in knowns.measured}
    if "resistance" in read:
        read["resistance"] /= copper_factor(knowns.temperature)
    if "inductance" in read and per_turn is not None:
        read["inductance"] /= per_turn.seen(turns, knowns.frequency)
    return read


def _fault(bobbin: Bobbin, knowns: Knowns, found: CoilFound) -> tuple[str, float]:
    """Say why a winding cannot be, and how far it is from it; empty where it can."""
    wire = f"AWG {found.gauge} {found.build}"
    middle = bobbin.reference * found.posterior.factor("turns")
    if found.posterior.apart > CONTRADICTED:
        said = " and ".join(_said(knowns, name) for name in knowns.measured)
        each = ", ".join(f"{name} {count:,.0f}" for name, count in _turns_by_each(bobbin, found.read, found.nominal))
        return (
            f"{said} contradict one another with {wire} (turns by each: {each}; {found.posterior.apart:.1f} standard "
            f"deviations apart, {CONTRADICTED:g} are allowed).",
            found.posterior.apart,
        )
    thinnest = bobbin.fill(middle, found.gauge, found.build, thinnest=True)
    if thinnest > MOST_FILL:
        return (
            f"{middle:,.0f} turns of {wire} would fill {thinnest:.0%} of the window even with the thinnest insulation; "
            f"wire at random fills {MOST_FILL:.0%} at most.",
            10.0 * thinnest / MOST_FILL,
        )
    if not 100.0 <= middle <= 20000.0:
        return f"that makes {middle:,.0f} turns of {wire}; coils have 100 to 20,000.", 100.0
    return "", 0.0


def _turns_by_each(
    bobbin: Bobbin, read: Mapping[str, float], nominal: Mapping[str, float]
) -> Iterator[tuple[str, float]]:
    """Yield the turns that each reading alone would make with nominal wire and steel."""
    for name, value in read.items():
        power = 0.5 if name == "inductance" else 1.0
        yield name, bobbin.reference * (value / nominal[name]) ** power


def _said(knowns: Knowns, name: str) -> str:
    """Return one known as it was said."""
    value = getattr(knowns, name)
    words = {
        "resistance": lambda: f"{value / 1e3:.4g} kohm", "turns": lambda: f"{value:,.0f} turns",
        "fill": lambda: f"a fill of {value:.0%}", "inductance": lambda: f"{value:.4g} H",
    }  # fmt: skip
    return words[name]()


def _slips(bobbin: Bobbin, knowns: Knowns) -> Iterator[tuple[Knowns, str]]:
    """Yield what may have been meant instead, and the question that asks for it."""
    two = len(bobbin.pickup.coils) > 1
    tries: Sequence[tuple[str, float, str]] = (
        ("resistance", 2.0, "Is the resistance that of one coil? Give that between the leads." if two else ""),
        ("resistance", 0.5, "Is the resistance that of both coils, and the pickup wired otherwise?" if two else ""),
        ("resistance", 1e3, "Is the resistance in kohm where ohm was read?"),
        ("resistance", 1e-3, "Is the resistance in ohm where kohm was read?"),
        (
            "turns",
            0.5,
            "Are the turns those of both coils? Give those of one." if two else "Are the turns counted double?",
        ),
        ("turns", 2.0, "Are the turns those of half the coil?"),
        ("turns", 10.0, "Is a digit of the turns missing?"),
        ("turns", 0.1, "Is there a digit too many in the turns?"),
        ("inductance", 0.5, "Is the inductance that of a parallel mode, or of another pickup? Half of it would agree."),
        ("inductance", 2.0, "Is the inductance that of one coil? Twice it would agree."),
        ("inductance", 1e-3, "Is the inductance in mH?"),
    )
    for name, factor, words in tries:
        value = getattr(knowns, name)
        beside = len(knowns.measured) > 1 or factor in (0.5, 1e-3, 1e3)  # alone, anything would do
        if value is not None and words and beside:
            changed = _changed(knowns, **{name: value * factor})
            if changed is not None:
                yield changed, words
    other: Build = "heavy" if (knowns.build or "single") == "single" else "single"
    yield replace(knowns, build=other), f"Is the insulation {other} (--build {other})?"


def _changed(knowns: Knowns, **values: float) -> Knowns | None:
    """Return the knowns with other values; None where no pickup has them."""
    try:
        return replace(knowns, **values)  # type: ignore[arg-type]
    except InputError:
        return None
