"""A winding, a batch and a search in words: the same for terminal, page and paper."""

from collections.abc import Sequence

from polepiece.guitar import Pickup, mean_turn
from polepiece.winding.batch import Batch, CoilJudged, Spread, half_spread
from polepiece.winding.bobbin import Bobbin
from polepiece.winding.electrical import Electrical
from polepiece.winding.knowns import Knowns
from polepiece.winding.search import Found
from polepiece.winding.solve import CoilFound, Value
from polepiece.winding.target import Target

HEADS = ("what", "value", "90 %", "")
SPREAD_HEADS = ("what was read", "coils", "median", "spread, 90 %", "5 to 95 % of them")
OUT_HEADS = ("coil", "R", "L", "resonance", "what would make it so")
FOUND_HEADS = ("bar", "AWG", "turns", "kohm", "fill", "move", "resonance, Hz", "dB high", "level, dB", "off")
FOUND_NOTE = (
    "Moves in mm; levels in dB re 1 V; off in {unit}, with its 90 %; = is as good as the first, as far as "
    "is known. Bars of one steel and size make curves nearer to one another than that: choose the bar by its level and "
    "its pull. Bobbin, poles, controls and cable are those of the guitar."
)
MOST_LISTED = 40  # coils of a batch in a terminal, or that stand out on a page: a page of any batch is as long
UNITS = {
    "resistance": ("kohm", 1e-3, 2), "inductance": ("H", 1.0, 2), "quality": ("", 1.0, 2), "resonance": ("Hz", 1.0, 0),
    "turns": ("", 1.0, 0), "fill": ("%", 100.0, 0), "capacitance": ("pF", 1e12, 0), "height": ("dB", 1.0, 1),
}  # fmt: skip


def shown(quantity: str, value: float) -> str:
    """Return a number of a quantity with its unit of the bench."""
    unit, factor, digits = UNITS[quantity]
    scaled = factor * value
    if quantity in ("turns", "resonance") and scaled >= 100.0:
        scaled = round(scaled, -1)  # no interval here is narrower
    return f"{scaled:,.{digits}f} {unit}".rstrip()


def span(quantity: str, value: Value) -> str:
    """Return the interval of a value."""
    return f"{shown(quantity, value.low).removesuffix(' ' + UNITS[quantity][0])} to {shown(quantity, value.high)}"


def known_words(knowns: Knowns) -> str:
    """Return what was known, as it was said."""
    said = []
    if knowns.resistance is not None:
        warm = "" if knowns.temperature == 20.0 else f" at {knowns.temperature:g} degC"
        said.append(f"{knowns.resistance / 1e3:.4g} kohm{warm}")
    if knowns.turns is not None:
        said.append(f"{knowns.turns:,.0f} turns")
    if knowns.inductance is not None:
        said.append(f"{knowns.inductance:.4g} H at {knowns.frequency:g} Hz")
    if knowns.fill is not None:
        said.append(f"a window filled to {knowns.fill:.0%}")
    if knowns.gauge is not None:
        said.append(f"AWG {knowns.gauge}")
    if knowns.build is not None:
        said.append(f"{knowns.build} insulation")
    return ", ".join(said)


def sentence(bobbin: Bobbin, knowns: Knowns, found: Sequence[CoilFound]) -> str:
    """Return the answer in a sentence or two."""
    one = found[0]
    each = " a coil" if len(bobbin.pickup.coils) > 1 else ""
    parts = [] if knowns.gauge is not None else [f"AWG {one.gauge}"]
    parts += [] if one.turns.read else [f"{shown('turns', one.turns.value)} turns{each}"]
    parts += [] if one.resistance.read else [shown("resistance", one.resistance.value)]
    parts += [] if one.inductance is None or one.inductance.read else [shown("inductance", one.inductance.value)]
    fills = f"fills {one.fill.value:.0%} of the window ({one.laying})"
    said = f"{known_words(knowns)} on this bobbin: {', '.join([*parts, fills])}."
    if len(found) > 1:
        others = ", ".join(
            f"AWG {other.gauge} ({shown('turns', other.turns.value)} turns, {100.0 * other.probability:.0f} %)"
            for other in found[1:]
        )
        said += (
            f" As far as that tells it may be {others} as well; AWG {one.gauge} has {100.0 * one.probability:.0f} %."
        )
    return said


def rows(found: CoilFound, made: Electrical | None) -> list[tuple[str, str, str, str]]:
    """Return the quantities of a winding as rows of a table."""
    listed: list[tuple[str, str, Value | None]] = [
        ("turns of each coil", "turns", found.turns),
        ("resistance between the leads, 20 degC", "resistance", found.resistance),
        ("window filled, insulation included", "fill", found.fill),
        ("inductance at 120 Hz", "inductance", found.inductance),
    ]
    if made is not None:
        listed += [
            ("inductance at 1 kHz", "inductance", made.inductance_1khz),
            ("capacitance of a coil, an estimate", "capacitance", made.capacitance),
            ("resonance, nothing connected", "resonance", made.unloaded),
            ("resonance in the guitar", "resonance", made.loaded), ("its height", "height", made.height_db),
        ]  # fmt: skip
    out = [
        (words, shown(name, value.value), span(name, value), "as read" if value.read else "")
        for words, name, value in listed
        if value is not None
    ]
    return [*out, ("wire, all coils", f"{found.wire_length:,.0f} m", "", "")]


def spread_row(one: Spread) -> tuple[str, str, str, str, str]:
    """Return one quantity of a batch as a row."""
    name = {"quality": "Q"}.get(one.quantity, one.quantity)
    return (
        name, str(one.count), exact(one.quantity, one.median), f"+-{100.0 * half_spread(one):.2g} %",
        f"{exact(one.quantity, one.low)} to {exact(one.quantity, one.high)}",
    )  # fmt: skip


def exact(quantity: str, value: float) -> str:
    """Return a number that was read, with the digits that a meter shows."""
    unit, factor, _ = UNITS[quantity]
    return f"{factor * value:.4g} {unit}".rstrip()


def outlier_row(one: CoilJudged) -> tuple[str, str, str, str, str]:
    """Return a coil that stands out as a row."""
    coil = one.coil

    def cell(quantity: str, value: float | None) -> str:
        if value is None:
            return "-"
        off = one.off.get(quantity)
        return exact(quantity, value) + ("" if off is None else f" ({100.0 * off:+.1f} %)")

    told = "; or ".join(cause.words for cause in one.causes)
    return (
        coil.name, cell("resistance", coil.resistance), cell("inductance", coil.inductance),
        cell("resonance", coil.resonance), told,
    )  # fmt: skip


def batch_sentence(batch: Batch) -> str:
    """Return a batch in a sentence."""
    out = batch.outliers
    spreads = ", ".join(
        f"{'Q' if one.quantity == 'quality' else one.quantity} +-{100.0 * half_spread(one):.2g} %"
        for one in batch.spreads
    )
    stand = "none stands out" if not out else f"{len(out)} stand{'s' if len(out) == 1 else ''} out"
    return f"{len(batch.coils)} coils: {spreads} (90 % of a batch without bad coils); {stand}."


def found_row(one: Found, best: Found) -> tuple[str, ...]:
    """Return an answer of a search as a row."""
    state = one.state
    move = f"{'down' if one.lowered > 0 else 'up'} {1e3 * abs(one.lowered):.2f}" if one.lowered else "-"
    if one.level_left_db:
        move += f", {one.level_left_db:+.1f} dB short"
    low, high = one.misfit_interval
    alike = "" if one is best or not one.as_good_as(best) else " ="
    return (
        one.grade, str(one.gauge), f"{one.turns:,.0f}", f"{one.resistance / 1e3:.2f}", f"{one.fill:.0%}", move,
        _with(state.resonance_hz, one.interval.get("resonance_hz"), 0),
        "-" if state.resonance_db is None else f"{state.resonance_db:.1f}", f"{state.level_db:.1f}",
        f"{one.misfit:.2f} ({low:.2f} to {high:.2f}){alike}",
    )  # fmt: skip


def found_sentence(found: Sequence[Found], target: Target) -> str:
    """Return the answer of a search in a sentence or two."""
    best = found[0]
    low, high = best.misfit_interval
    way = "lowered" if best.lowered > 0 else "raised"
    move = "" if not best.lowered else f", pickup {way} by {1e3 * abs(best.lowered):.2f} mm"
    alike = sum(one.as_good_as(best) for one in found) - 1
    more = f" {alike} more are as good as far as is known." if alike else ""
    short = f" {best.level_left_db:+.1f} dB of the level are out of reach of a safe gap." if best.level_left_db else ""
    return (
        f"Nearest: {best.turns:,.0f} turns a coil of AWG {best.gauge} {best.build} "
        f"({best.resistance / 1e3:.2f} kohm, fills {best.fill:.0%}), {best.grade}{move}: off by {best.misfit:.2f} "
        f"{target.unit} (90 %: {low:.2f} to {high:.2f}).{short}{more}"
    )


def bobbin_words(pickup: Pickup) -> str:
    """Return the bobbin of a pickup in a sentence."""
    coil = pickup.coils[0]
    wide, high = 1e3 * (coil.outer_half_x - coil.inner_half_x), 1e3 * (coil.top - coil.bottom)
    many = f"{len(pickup.coils)} coils, each" if len(pickup.coils) > 1 else "One coil,"
    return f"{many} with a window of {wide:.3g} x {high:.3g} mm and a mean turn of {1e3 * mean_turn(coil):.0f} mm."


def _with(value: float | None, interval: tuple[float, float] | None, digits: int) -> str:
    if value is None:
        return "-"
    if interval is None:
        return f"{value:.{digits}f}"
    return f"{value:.{digits}f} ({interval[0]:.{digits}f} to {interval[1]:.{digits}f})"
