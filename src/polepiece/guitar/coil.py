"""One coil as a record; its defaults are those of a humbucker."""

from dataclasses import dataclass
from typing import Literal

from polepiece.guitar.assumption import METER
from polepiece.guitar.checks import Checked
from polepiece.guitar.parameter import GAUGE, choice, kohm, mm, number

GAUGE_MEANING = (
    "wire gauge; not said: AWG 42 where it fits the window at this resistance, otherwise the nearest that "
    "fits, and every usual gauge that fits in the interval"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Coil(Checked):
    """One racetrack coil (rectangular, mitred corners) round a row of poles."""

    # fmt: off
    # 5000 turns of AWG 42 (0.071 mm over all) fill 69 % of it; the flanges of bobbins 18 mm apart end at 9 mm
    inner_half_x: float = mm(3.2, 0.5, 30, "coils lie", "hole, half, along the strings",
        label="hole of the winding along the strings, half", spread=(3.0, 3.3))
    inner_half_y: float = mm(29.0, 2, 75, "coils lie", "hole, half, along the row",
        label="hole of the winding along the row, half", spread=(28.5, 29.5))
    outer_half_x: float = mm(7.6, 1, 40, "coils lie", "winding, half, along the strings",
        label="width of the winding, half", spread=(6.6, 8.4))
    outer_half_y: float = mm(33.4, 3, 85, "coils lie", "winding, half, along the row",
        label="length of the winding, half", spread=(32.2, 34.4))
    bottom: float = mm(4.5, -15, 30, "coils lie", "lower face of the winding",
        label="lower face of the winding", spread=(4.0, 5.0))
    top: float = mm(11.0, -10, 40, "coils lie", "upper face of the winding",
        label="upper face of the winding", spread=(10.5, 11.5))
    turns: float = number(
        5000.0, 100, 20000, "coils lie", "turns of this coil", spread=(4600.0, 5600.0), settle=METER)
    wire_awg: int = number(  # the reader takes the gauge that fits: see `gauges`
        42, 38, 46, "coil wires lie", GAUGE_MEANING, aliases=("awg",), whole=True, settle=GAUGE, words="AWG 42",
        label="wire gauge")
    wire_build: Literal["single", "heavy"] = choice(
        "single", "insulation build", settle="micrometer on a loose end")
    resistance: float | None = kohm(  # None: from turns and wire
        None, 0.5, 30, "coils lie", "ohmmeter on this coil alone, at 20 degC", none="unknown")
    # fmt: on
