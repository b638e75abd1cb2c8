"""A test double of the bench: explicit, made-up numbers of the right kind, so that rules of the plan can be tested.

Nothing here is physics: 3.5 dB a millimetre, a level for each grade, and a top that goes with cable, pots and
tone. It answers the three calls of the real bench in microseconds.
"""

from dataclasses import replace

import numpy as np

from polepiece.bench.state import State, difference
from polepiece.guitar.file.guitar_file import parse_guitar
from polepiece.guitar.gaps import safe_gaps, string_gaps
from polepiece.guitar.records import Guitar, Pickup

DB_PER_MM = 3.5
LEVEL = {
    "alnico-2": 0.0, "alnico-3": -1.5, "alnico-4": 0.2, "alnico-5": 1.8, "alnico-5-unoriented": 0.9,
    "alnico-8": 3.0, "ceramic-8": 2.5,
}  # fmt: skip
TOP = {
    "alnico-2": 0.0, "alnico-3": 0.1, "alnico-4": 0.1, "alnico-5": 0.5, "alnico-5-unoriented": 0.2,
    "alnico-8": 0.4, "ceramic-8": 1.2,
}  # fmt: skip
EACH = np.array([-2.0, -1.0, 1.5, -1.0, 0.5, 1.5])  # what sticks out, string 1 first: the plain G does

GUITAR = """
name = "Double"
invented = true
scale_length_mm = 648
[controls]
cable_pf = 500
volume_pot_kohm = 500
[[pickups]]
name = "neck"
position = "neck"
construction = "humbucker"
gap_bass_mm = 2.8
gap_treble_mm = 2.4
[pickups.magnet]
grade = "alnico-2"
charge = "outside"
[[pickups]]
name = "bridge"
position = "bridge"
construction = "humbucker"
gap_bass_mm = 2.4
gap_treble_mm = 2.1
[pickups.magnet]
grade = "alnico-5"
charge = "outside"
"""


def guitar(text: str = GUITAR) -> Guitar:
    """Return the guitar of these tests."""
    return parse_guitar(text)


class DoubleBench:
    """Counts its calls; ``level`` and ``top`` may be replaced by a test."""

    def __init__(self, level: dict[str, float] | None = None, top: dict[str, float] | None = None) -> None:
        self.level, self.top, self.intervals = level or LEVEL, top or TOP, 0

    def solve_ahead(self, guitar: Guitar, pickup: str, *, state: bool = True, interval: bool = False) -> None:
        """Nobody to help."""

    def state(self, guitar: Guitar, pickup: str) -> State:
        the_pickup, c = guitar.pickup(pickup), guitar.controls
        strings = self._strings(the_pickup)
        turned = 20 * np.log10(max(c.volume_setting, 0.1) / 10)
        split = -5.0 if the_pickup.wiring.startswith("split") else 0.0
        level = 10 * np.log10(np.mean(10 ** (strings / 10))) + turned + split
        wound = 10 * np.log10(np.mean(10 ** (strings[3:] / 10)) / np.mean(10 ** (strings[:3] / 10)))
        tone_pot = 2e6 if c.tone_pot is None else c.tone_pot
        loss = 5e5 / c.volume_pot + 5e5 / tone_pot + (5e5 / c.shunt_resistor if c.shunt_resistor else 0.0)
        top = self.top[the_pickup.magnet.grade] - 0.7 * (10 - c.tone_setting) - 0.9 * loss
        top -= (c.cable_capacitance - 5e-10) / 1.5e-10
        top -= 0.4 * (10 - c.volume_setting) * (0.0 if c.bleed_cap else 1.0)
        field = self._field(the_pickup)
        pull = 2e-3 * 10 ** ((2 * field - 2 * DB_PER_MM * (np.array(string_gaps(the_pickup)) * 1e3 - 2.5)) / 20)
        frequency = np.geomspace(20, 2e4, 10)
        return State(
            level_db=float(level - 14), sensitivity_1khz_db=float(level - 14),
            bands_db={"lows": -0.1 - 0.1 * top, "mids": -0.1, "highs": 1.0 + 0.3 * top, "presence": top},
            wound_minus_plain_db=float(wound),
            attack_minus_sustain_db={"lows": -7.0, "mids": -6.0, "highs": -3.0, "presence": 0.1 * top},
            resonance_hz=2700.0 + 150.0 * top, resonance_db=3.0 + top, resonance_q=1.2, dc_resistance_ohm=8e3,
            inductance_120hz_h=5.0, inductance_1khz_h=4.8, field_mt=tuple(float(10 + field) for _ in range(6)),
            string_pull_n=tuple(-pull), partial_shift_cents=tuple(-500.0 * pull),
            string_balance_db=tuple(float(v) for v in strings - (level - turned - split)),
            h2_db=tuple(float(-20 + field / 3) for _ in range(6)), frequency_hz=frequency,
            response_db=np.zeros_like(frequency),
        )  # fmt: skip

    def _field(self, pickup: Pickup) -> float:
        charge = pickup.magnet.charge
        more = 1.3 if charge == "in-place" else 20 * np.log10(charge) if isinstance(charge, float) else 0.0
        return float(self.level[pickup.magnet.grade] + more - 0.1 * (pickup.magnet.finish == "rough-cast"))

    def _strings(self, pickup: Pickup) -> np.ndarray:
        gaps = np.array(string_gaps(pickup)) * 1e3
        return EACH + self._field(pickup) - DB_PER_MM * (gaps - 2.5)

    def regap(self, before: State, guitar: Guitar, pickup: str) -> tuple[Guitar, float]:
        the_pickup = guitar.pickup(pickup)
        room = min(gap - safe for gap, safe in zip(string_gaps(the_pickup), safe_gaps(the_pickup)))
        move = (self.state(guitar, pickup).level_db - before.level_db) / DB_PER_MM * 1e-3
        move = max(move, -max(room, 0.0))
        moved = replace(the_pickup, gap_bass=the_pickup.gap_bass + move, gap_treble=the_pickup.gap_treble + move)
        return replace(guitar, pickups=tuple(moved if p.name == the_pickup.name else p for p in guitar.pickups)), move

    def interval(
        self, before: Guitar, after: Guitar, pickup: str, *, draws: int = 64
    ) -> dict[str, tuple[float, float]]:
        self.intervals += 1
        moved = difference(self.state(before, pickup), self.state(after, pickup))
        return {key: (value - 0.3, value + 0.3) for key, value in moved.items()}
