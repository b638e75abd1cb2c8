"""What is said of one pickup in one state, and of the difference of two states.

Level, bands, balance, wound against plain and attack against sustain are those of the stated stroke on every open
string (`stroke.PLUCK`), K-weighted (ITU-R BS.1770), over its first second: what a rendering of it has. All are
numbers of the position of the switch that is heard, with the controls and cable of the guitar.
"""

from dataclasses import dataclass, field

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.sound import RESPONSE_BANDS

BANDS = RESPONSE_BANDS
HUM_CANCELS = -20.0
"""dB: a tenth of the hum is left, which two equal coils in parallel reach with turns within 20 % of one another."""
H2_AMPLITUDE = 0.5e-3  # m, amplitude of the string over the pickup at which the second harmonic is stated


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class State:
    """One pickup, in the position in which it is heard, in one state. Per-string tuples run from string 1 (thin) on.

    What is of one pickup (resistance, inductance, field, pull, detuning, second harmonic) is of the one asked about.
    """

    level_db: float  # dB re 1 V
    bands_db: dict[str, float]  # re the level
    sensitivity_1khz_db: float  # small motion towards the poles at 1 kHz, dB re 1 V s/m, power mean over strings
    wound_minus_plain_db: float | None  # None where all strings are of one kind
    attack_minus_sustain_db: dict[str, float]  # first 100 ms against 100 ms - 1 s, by band
    resonance_hz: float | None
    resonance_db: float | None
    resonance_q: float | None
    dc_resistance_ohm: float
    inductance_120hz_h: float
    inductance_1khz_h: float
    field_mt: tuple[float, ...]  # vertical B at each string's axis, over the middle of the pole rows' stronger pole
    string_pull_n: tuple[float, ...]  # negative: towards the pickup
    partial_shift_cents: tuple[float, ...]  # of the open string's fundamental, vertical plane
    string_balance_db: tuple[float, ...]  # re the mean of all strings
    h2_db: tuple[float, ...]  # second harmonic re the fundamental at H2_AMPLITUDE
    frequency_hz: FloatArray = field(repr=False)
    response_db: FloatArray = field(repr=False)  # per velocity of the stroke, power mean over strings, dB re 1 V s/m
    in_phase: bool | None = None  # several pickups on: whether slow motion of a string adds up; None for one
    hum_db: float = 0.0  # what is left of the hum of an even field against all coils that are on adding up

    @property
    def hum_cancelling(self) -> bool:
        """True where a tenth or less of the coils' hum is left."""
        return self.hum_db <= HUM_CANCELS

    @property
    def bands_own_db(self) -> dict[str, float]:
        """Level of each band itself, dB re 1 V: not against the level."""
        return {name: self.level_db + value for name, value in self.bands_db.items()}

    def numbers(self) -> dict[str, float]:
        """Return the scalar quantities by dotted key; what has no value is left out."""
        out = {
            "level_db": self.level_db,
            **{f"bands_db.{k}": v for k, v in self.bands_db.items()},
            **{f"bands_own_db.{k}": v for k, v in self.bands_own_db.items()},
            "sensitivity_1khz_db": self.sensitivity_1khz_db,
            **{f"attack_minus_sustain_db.{k}": v for k, v in self.attack_minus_sustain_db.items()},
            "dc_resistance_ohm": self.dc_resistance_ohm,
            "inductance_120hz_h": self.inductance_120hz_h,
            "inductance_1khz_h": self.inductance_1khz_h,
        }
        for key in ("wound_minus_plain_db", "resonance_hz", "resonance_db", "resonance_q"):
            value = getattr(self, key)
            if value is not None:
                out[key] = float(value)
        for key in ("field_mt", "string_pull_n", "partial_shift_cents", "string_balance_db", "h2_db"):
            out |= {f"{key}.{k + 1}": float(v) for k, v in enumerate(getattr(self, key))}
        return out


def difference(before: State, after: State) -> dict[str, float]:
    """Return after minus before for every scalar both have, by dotted key."""
    a, b = before.numbers(), after.numbers()
    return {key: b[key] - a[key] for key in a if key in b}


def nested(flat: dict[str, float]) -> dict[str, object]:
    """Return dotted keys as the JSON shape: bands as objects, strings as lists."""
    out: dict[str, object] = {}
    for key, value in flat.items():
        head, _, tail = key.partition(".")
        if not tail:
            out[head] = value
        elif tail.isdigit():
            listed = out.setdefault(head, [])
            assert isinstance(listed, list)
            listed.append(value)
        else:
            group = out.setdefault(head, {})
            assert isinstance(group, dict)
            group[tail] = value
    return out


def as_json(state: State) -> dict[str, object]:
    """Return a state as plain JSON values."""
    body = nested(state.numbers())
    for key in ("wound_minus_plain_db", "resonance_hz", "resonance_db", "resonance_q"):
        body.setdefault(key, None)
    body["in_phase"], body["hum_cancelling"] = state.in_phase, state.hum_cancelling
    body["frequency_hz"] = np.round(state.frequency_hz, 3).tolist()
    body["response_db"] = np.round(state.response_db, 4).tolist()
    return body
