"""What complaints are measured by: each quantity, how it comes out of two states, and when a change is heard.

Every quantity is a difference of two `State` records in its own unit; divided by its threshold it becomes
comparable with the others. One threshold is "just heard side by side, level-matched"; two thresholds are
what is still noticed in a mix or the next day.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from math import log10, sqrt

import numpy as np

from polepiece.bench.ear import ear_in_use
from polepiece.bench.state import State
from polepiece.sound import RESPONSE_BANDS, band_words

BAND_SOURCE = (
    "about 1 dB in a band when level-matched side by side, 2-3 dB in a mix or the next day: common practice, "
    "no source; published thresholds of one changed component differ by only 5 dB between 200 and 5000 Hz"
)
LEVEL_SOURCE = "0.4 dB to 1 dB side by side in published hearing tests; 1 dB taken, 1-2 dB minutes apart"
RESONANCE_SOURCE = "0.079 F/sqrt(Q), published for resonances of 300-2000 Hz and Q 1-36; extrapolated above 2 kHz"
ATTACK_SOURCE = "assumption: as a band; no published figure for the attack of a guitar tone"
PITCH_SOURCE = "assumption: 3 cents, about the just noticeable step of a steady tone (textbooks, from memory)"
PULL_SOURCE = "assumption: 2 dB (a quarter more or less pull); pull itself is not heard, its effects may be"
H2_SOURCE = "assumption: 3 dB on a component 20-40 dB under the note; no published figure"
IN_A_MIX = 2.0  # thresholds that are still noticed next day or in a mix (2-3 dB; common practice, no source)
STROKES = "smaller than one pick stroke to the next"


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """One measurable in ``unit``: a number of the state (``number``), or made of two states (``read``)."""

    key: str
    words: str
    number: str = ""  # dotted key in State.numbers(), which its interval has too; "": derived, no own interval
    read: Callable[[State, State], float | None] | None = None
    threshold: float = 1.0  # in ``unit``
    unit: str = "dB"
    source: str = BAND_SOURCE
    short: str = ""  # as a bench calls it
    more: str = "{by} more {short}"  # a sentence on it: up, and down
    less: str = "{by} less {short}"
    same: str = ""  # number whose change is the same, where it has no ``number`` of its own

    def moved_words(self, value: float) -> str:
        """Return a change as it is said: "the wound strings step back by 1.5 dB"; its sign chooses the words."""
        size = f"{abs(value):.1f}" if abs(value) < 9.95 else f"{abs(value):.0f}"
        text = self.more if value > 0 else self.less
        return text.format(by=f"{size} {self.unit}", short=self.short)

    def beside_words(self, value: float) -> str:
        """Return a change without its figure: "a little more presence", under its threshold; "more presence"."""
        little = abs(value) < threshold_of(self.key)
        text = (self.more if value > 0 else self.less).replace(" by {by}", " a little" if little else "")
        return text.replace("{by} ", "a little " if little else "").format(short=self.short)


def _low_level(state: State) -> float:
    return state.bands_own_db["lows"]


def _high_level(state: State) -> float:
    bands = state.bands_own_db
    return 10.0 * log10(10 ** (bands["highs"] / 10) + 10 ** (bands["presence"] / 10))


def _resonance_percent(before: State, after: State) -> float | None:
    if before.resonance_hz is None or after.resonance_hz is None:
        return None
    return 100.0 * (after.resonance_hz / before.resonance_hz - 1.0)


def _largest_shift(state: State) -> float:
    return max((abs(one) for one in state.partial_shift_cents), default=0.0)


def _pull_db(before: State, after: State) -> float | None:
    a, b = (max((abs(one) for one in s.string_pull_n), default=0.0) for s in (before, after))
    return 20.0 * log10(b / a) if a > 0.0 and b > 0.0 else None


def unevenness_db(state: State) -> float:
    """Return how far strings stand out, dB: rms distance of their levels from a straight line across them.

    A tilt from treble to bass is a matter of taste (and of the ring); one string that sticks out is not.
    """
    return _off_a_line(state.string_balance_db)


@lru_cache(maxsize=512)  # a plan compares hundreds of states with one
def _off_a_line(levels: tuple[float, ...]) -> float:
    balance = np.asarray(levels)
    if len(balance) < 3:
        return 0.0
    place = np.arange(len(balance))
    line = np.polyval(np.polyfit(place, balance, 1), place)
    return float(np.sqrt(np.mean((balance - line) ** 2)))


def _mean_h2(state: State) -> float:
    return float(np.mean(state.h2_db)) if state.h2_db else 0.0


def _string(number: int) -> Quantity:
    key = f"string_balance_db.{number}"
    ending = {1: "st", 2: "nd", 3: "rd"}.get(number, "th")
    return Quantity(
        key=f"string{number}", words=f"string {number} against the others", number=key,
        short=f"{number}{ending} string",
        more="the {short} is {by} louder against the others", less="the {short} is {by} quieter against the others",
    )  # fmt: skip


_BANDS = {band: f"{band} ({band_words(band)}, against the level)" for band in RESPONSE_BANDS}

_ALL: tuple[Quantity, ...] = (
    Quantity(
        key="level",
        words="level",
        number="level_db",
        source=LEVEL_SOURCE,
        short="level",
        more="{by} louder",
        less="{by} quieter",
    ),
    *(Quantity(key=k, words=w, number=f"bands_db.{k}", short=k) for k, w in _BANDS.items()),
    Quantity(
        key="low_level",
        words="low end that reaches the amplifier",
        short="low end at the amplifier",
        same="bands_own_db.lows",
        read=lambda a, b: _low_level(b) - _low_level(a),
    ),
    Quantity(
        key="high_level",
        words="top end that reaches the amplifier",
        short="top end at the amplifier",
        read=lambda a, b: _high_level(b) - _high_level(a),
    ),
    Quantity(
        key="wound",
        words="wound against plain strings",
        short="wound strings",
        more="the wound strings come forward by {by} against the plain ones",
        less="the wound strings step back by {by} against the plain ones",
        number="wound_minus_plain_db",
    ),
    *(
        Quantity(
            key=f"attack_{k}",
            words=f"attack against sustain in the {k}",
            short=f"attack in the {k}",
            number=f"attack_minus_sustain_db.{k}",
            source=ATTACK_SOURCE,
        )
        for k in _BANDS
    ),
    Quantity(
        key="resonance",
        words="resonance frequency",
        short="resonance",
        more="the resonance is {by} higher",
        less="the resonance is {by} lower",
        read=_resonance_percent,
        unit="%",
        source=RESONANCE_SOURCE,
    ),
    Quantity(
        key="peak",
        words="height of the resonance",
        number="resonance_db",
        short="resonant peak",
        more="the resonant peak is {by} higher",
        less="the resonant peak is {by} lower",
    ),
    Quantity(
        key="shift",
        words="detuning by the magnets' pull",
        short="detuning by the magnets",
        read=lambda a, b: _largest_shift(b) - _largest_shift(a),
        threshold=3.0,
        unit="cents",
        source=PITCH_SOURCE,
    ),
    Quantity(
        key="pull",
        words="pull on the strings",
        read=_pull_db,
        threshold=2.0,
        source=PULL_SOURCE,
        short="pull on the strings",
    ),
    Quantity(
        key="h2",
        words="second harmonic",
        short="second harmonic",
        read=lambda a, b: _mean_h2(b) - _mean_h2(a),
        threshold=3.0,
        source=H2_SOURCE,
    ),
    Quantity(
        key="unevenness",
        words="unevenness of the strings",
        short="unevenness",
        more="the strings are {by} less even",
        less="the strings are {by} more even",
        read=lambda a, b: unevenness_db(b) - unevenness_db(a),
        threshold=0.5,
        source="assumption: half a band threshold, because it is an rms over strings of which one stands out",
    ),
    *(_string(number) for number in range(1, 10)),  # as many as a guitar file may have
    Quantity(  # read from four levels, not from two states; see `plan_jobs.Distance`
        key="apart",
        words="distance in level between the pickups",
        short="step between the pickups",
        more="the step between the pickups is {by} larger",
        less="the step between the pickups is {by} smaller",
        source=LEVEL_SOURCE,
    ),
)

QUANTITIES: dict[str, Quantity] = {one.key: one for one in _ALL}

NUMBER_WORDS: dict[str, str] = {  # of State.numbers(), by dotted key
    "level_db": "level",
    "sensitivity_1khz_db": "sensitivity at 1 kHz",
    **{f"bands_db.{band}": f"{band} against the level" for band in RESPONSE_BANDS},
    "wound_minus_plain_db": "wound against plain",
    **{f"attack_minus_sustain_db.{band}": f"attack against sustain, {band}" for band in RESPONSE_BANDS},
    "resonance_hz": "resonance in the guitar",
    "resonance_db": "its height",
    "inductance_120hz_h": "inductance at 120 Hz",
    "inductance_1khz_h": "inductance at 1 kHz",
    "dc_resistance_ohm": "DC resistance at 20 °C",
}
_NUMBERED = {  # of one string each
    "string_balance_db": "string {} against the others",
    "h2_db": "second harmonic, string {}",
    "string_pull_n": "pull on string {}",
    "field_mt": "field at string {}",
    "partial_shift_cents": "detuning of string {}",
}
_UNITS = {"db": "dB", "hz": "Hz", "h": "H", "ohm": "ohm", "mt": "mT", "n": "N", "cents": "cents", "q": "1"}


def number_unit(key: str) -> str:
    """Return the unit of a number of a state by its dotted key."""
    return _UNITS[key.partition(".")[0].rpartition("_")[2]]


def number_words(key: str) -> str:
    """Return a number of a state in words, by its dotted key."""
    head, _, tail = key.partition(".")
    if key in NUMBER_WORDS:
        return NUMBER_WORDS[key]
    return _NUMBERED.get(head, head.replace("_", " ") + " {}").format(tail).strip()


def threshold_of(key: str, before: State | None = None) -> float:
    """Return what is just heard of a quantity side by side, in its unit: by the ear in use, else as published.

    ``before`` has the width of the resonance, which its published threshold depends on.
    """
    ear = ear_in_use()
    own = None if ear is None else ear.threshold(key)
    return published_threshold(key, before) if own is None else own


def published_threshold(key: str, before: State | None = None) -> float:
    """Return what is just heard of a quantity side by side as published, in its unit; see `threshold_of`."""
    if key == "resonance" and before is not None:
        quality = min(max(before.resonance_q or 1.0, 1.0), 36.0)
        return 100.0 * 0.079 / sqrt(quality)
    return QUANTITIES[key].threshold


def threshold_source(key: str) -> str:
    """Return where the threshold of a quantity comes from."""
    ear = ear_in_use()
    return (ear.source(key) if ear is not None else "") or QUANTITIES[key].source


def differences(before: State, after: State, *, apart: float | None = None) -> dict[str, float]:
    """Return every quantity of after minus before in its unit.

    Parameters
    ----------
    before, after : State
    apart : float, optional
        Change of the distance in level between two pickups, dB, where it is asked for.
    """
    out: dict[str, float] = {}
    a, b = before.numbers(), after.numbers()
    for key, quantity in QUANTITIES.items():
        if key == "apart":
            value = apart
        elif quantity.read is not None:
            value = quantity.read(before, after)
        else:
            value = b[quantity.number] - a[quantity.number] if {quantity.number} <= a.keys() & b.keys() else None
        if value is not None:
            out[key] = value
    return out
