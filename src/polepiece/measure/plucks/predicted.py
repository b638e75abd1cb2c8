"""Plucks beside a prediction: what a state leaves out of strokes as large as they are played."""

from dataclasses import replace

from polepiece.measure.estimate import Estimate
from polepiece.measure.uncertainty import NINETY, half_width

LEFT_OUT = {  # dB, limits, by head of the name
    "level_db": 0.15,
    "bands_db": 0.15,
    "bands_own_db": 0.15,
    "wound_minus_plain_db": 0.15,
    "string_balance_db": 0.15,
    "attack_minus_sustain_db": 0.35,
    "sensitivity_1khz_db": 0.5,
}
"""A state adds up the partials of a small stroke. Of one as large as stated the curved flux law shifts the balance of
attack and sustain, and an onset has skirts between the partials. Sensitivity is a mean of dB over the strings here, of
powers there. Found by rendering the stated stroke before and after six kinds of change with a hand that varies nothing:
the study `pluck-predictions` of ``verification`` computes how much of each limit they use up."""


def as_predicted(one: Estimate) -> Estimate:
    """Return a difference of plucks as one of states: its interval holds what a state leaves out as well.

    A quantity that no state has is returned as it is. The limits are assumptions, found by rendering: the module.

    Examples
    --------
    >>> said = Estimate(name="level_db", value=1.0, low=0.5, high=1.5, unit="dB")
    >>> round(as_predicted(said).high, 2)
    1.52
    """
    limit = LEFT_OUT.get(one.name.partition(".")[0])
    if limit is None:
        return one
    down, up = (half_width(half / NINETY, [limit]) for half in (one.value - one.low, one.high - one.value))
    return replace(one, low=one.value - down, high=one.value + up)
