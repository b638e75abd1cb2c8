"""Does a measurement make the prediction of the next bar narrower and leave it true? Drawn guitars, swapped."""

from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations
from pathlib import Path

import numpy as np

from polepiece.bench import Bench, pole_tops, replace_pickup
from polepiece.bench.pole_tops import PROBE, drawn_factors
from polepiece.evidence import find_charge, with_charge, with_measured
from polepiece.guitar import Guitar, read_guitar
from polepiece.guitar.spread import SIGMAS, Draw
from polepiece.measure import Estimate, FileFact, GaussMeter, MeasuredPickup, PoleReading, Probe
from polepiece.moves import apply, parse_changes
from polepiece.pickup.electrics import LEAD_CAPACITANCE, coil_capacitances
from verification.holding import share_row
from verification.registry import Row, study

DEMO = Path(__file__).parents[1] / "examples" / "demo.guitar.toml"
SWEPT, READ = 100, 100  # drawn guitars
TRUTHS = 4711  # seed of the drawn guitars; each prediction draws with a seed of its own
ACCURACY = 0.01  # half a 90 % interval of R, L and C
SHARED = 0.99  # of the variance of that: the resistor, which moves R and L alike and C against them
SIGNS = {"resistance": 1.0, "inductance_120_hz": 1.0, "capacitance": -1.0}
DRAWS, CHARGE_DRAWS = 64, 200  # as the tool has them by default
JUDGED = 2  # rows of either study


def width_row(case: str, quantity: str, before: "list[float]", after: "list[float]") -> Row:
    """State the middle width after and before the measurement."""
    return Row(
        case=case, quantity=f"{quantity}: median width of the 90 % interval",
        found=f"{np.median(after):.3g} measured", reference=f"{np.median(before):.3g} assumed",
    )  # fmt: skip


def swept(guitar: Guitar, number: int, bench: Bench, after: Guitar) -> tuple[Guitar, dict[str, float]]:
    """Return the guitar with what a sweep says of one drawn guitar, and the truth about it after the swap.

    The truth has steel, capacitance and wire of a draw: at the one resistance, thin wire has fewer turns.
    """
    draw = Draw(number=number, seed=TRUTHS)
    pickup = guitar.pickup("neck")
    assert pickup.resistance is not None
    was, will = (bench.drawn(one, "neck", [draw])[0] for one in (guitar, after))
    grown = draw.factor("winding capacitance", 0.4, 2.5)
    a, b = (c * grown for c in coil_capacitances(pickup))
    true = {"resistance": (pickup.resistance, "ohm"), "inductance_120_hz": (was["inductance_120hz_h"], "H"),
            "capacitance": (LEAD_CAPACITANCE + a * b / (a + b), "F")}  # fmt: skip
    estimates = []
    for name, (value, word) in true.items():
        error = SHARED**0.5 * SIGNS[name] * draw.deviate("resistor") + (1.0 - SHARED) ** 0.5 * draw.deviate(name)
        read = value * (1.0 + ACCURACY / SIGMAS * error)
        ends = {"low": read * (1.0 - ACCURACY), "high": read * (1.0 + ACCURACY)}
        estimates.append(Estimate(name=name, value=read, unit=word, **ends))
    record = MeasuredPickup(
        date="2026-11-27", temperature=20.0, method="drawn", series_resistor=1e5, tolerance=0.01,
        files=(FileFact(role="pickup", name="drawn", sha256="0" * 64),), frequency=np.array([100.0]),
        impedance=np.array([8e3 + 0j]), low=np.array([8e3]), high=np.array([8e3]), estimates=tuple(estimates),
        together=tuple((a, b, SHARED * SIGNS[a] * SIGNS[b]) for a, b in combinations(SIGNS, 2)),
    )  # fmt: skip
    return with_measured(guitar, "neck", record, bench=bench), will


@study(
    "learning-sweep",
    "A pickup learnt from a sweep: the next bar",
    f"{SWEPT} guitars drawn from what the invented guitar's file leaves open, their turns anywhere that wire and "
    f"resistance let them; each is swept with alnico 2 in it (R, L, C within {100 * ACCURACY:g} %, nearly all of it "
    "the one resistor's), and the state with ferrite in it is predicted. Found is the share of predictions whose "
    "interval holds the drawn guitar's own figure; the tolerance is what chance allows (`verification/holding.py`).",
)
def learning_sweep() -> Iterator[Row]:
    """Yield shares and widths for the swept pickup with another bar."""
    guitar, bench, truths = read_guitar(DEMO), Bench(), Bench(seed=TRUTHS)
    swap = parse_changes(["magnet=ceramic-8"])
    after = apply(guitar, "neck", swap)
    keys = {"resonance_hz": "resonance in the guitar, Hz", "inductance_120hz_h": "inductance at 120 Hz, H"}
    wide = bench.span(after, "neck", draws=DRAWS)
    held: dict[str, list[bool]] = {key: [] for key in keys}
    widths: dict[str, list[float]] = {key: [] for key in keys}
    for number in range(1, SWEPT + 1):
        bench.seed = number
        learnt, true = swept(guitar, number, truths, after)
        span = bench.span(apply(learnt, "neck", swap), "neck", draws=DRAWS)
        for key in keys:
            held[key].append(span[key][0] <= true[key] <= span[key][1])
            widths[key].append(span[key][1] - span[key][0])
    for key, words in keys.items():
        yield share_row(f"{SWEPT} drawn guitars", words, held[key], rows=JUDGED)
        yield width_row(f"{SWEPT} drawn guitars", words, [wide[key][1] - wide[key][0]], widths[key])


@study(
    "learning-gauss",
    "A bar learnt from a gauss meter: its charge, and the level of the next bar",
    f"{READ} bridge pickups with an alnico 5 bar charged to 0.5 to 1 of outside and constants drawn from the grade's "
    "spread, six poles read by a meter of 3 % and a probe at 1.0 +- 0.1 mm; the change of level with alnico 2 put in "
    "is predicted from it. Assumed: the same prediction with the charge not known.",
)
def learning_gauss() -> Iterator[Row]:
    """Yield shares and widths for charge and level."""
    guitar, bench, truths = read_guitar(DEMO), Bench(), Bench(seed=TRUTHS)
    swap = parse_changes(["magnet=alnico-2"])
    after = apply(guitar, "bridge", swap)
    pickup = guitar.pickup("bridge")
    probe, meter = Probe(height=PROBE, low=PROBE - 1e-4, high=PROBE + 1e-4), GaussMeter()
    wide = bench.interval(guitar, after, "bridge", draws=DRAWS)["level_db"]
    sound = replace_pickup(guitar, replace(pickup, magnet=replace(pickup.magnet, charge=1.0)))
    bars = drawn_factors(sound, sound.pickup("bridge"), READ, truths)
    charges, levels, widths = [], [], []
    for number in range(1, READ + 1):
        bench.seed = number
        draw = Draw(number=number, seed=TRUTHS)
        charge = round(0.5 + 0.5 * draw.share("true charge"), 3)
        true = replace_pickup(guitar, replace(pickup, magnet=replace(pickup.magnet, charge=charge)))
        bar = bars[number - 1].mean()
        scale = 1.0 + meter.scale_tolerance * (2.0 * draw.share("true scale") - 1.0)
        readings = [
            PoleReading(
                pole=one.pole, row=one.row, signed=True, flux_density=one.flux_density * bar * scale
                * (1.0 + meter.repeatability * draw.deviate(f"true reading {one.pole}")),
            )
            for one in pole_tops(true, "bridge", draws=8, bench=truths)[:6]
        ]  # fmt: skip
        found = find_charge(guitar, "bridge", readings, probe=probe, meter=meter, draws=CHARGE_DRAWS, bench=bench)
        if found.fraction is None or "too strong" in found.flags:
            charges.append(False)
            continue
        charges.append(found.fraction[1] <= charge <= found.fraction[2])
        level = bench.interval(with_charge(guitar, found, date="2026-11-27"), after, "bridge", draws=DRAWS)["level_db"]
        was, will = (truths.drawn(one, "bridge", [draw])[0]["level_db"] for one in (true, after))
        levels.append(level[0] <= will - was <= level[1])
        widths.append(level[1] - level[0])
    case = f"{READ} drawn bars"
    yield share_row(case, "charge", charges, rows=JUDGED)
    yield share_row(case, "change of level with another bar", levels, rows=JUDGED)
    yield width_row(case, "change of level, dB", [wide[1] - wide[0]], widths)
