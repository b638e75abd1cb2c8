"""Laws of windings: what is read has room for its wire, what has none is refused with a slip, no gauge is forgotten."""

import re

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from polepiece.errors import GuitarFileError
from polepiece.guitar import Guitar, known, parse_guitar
from polepiece.guitar.constructions import SLUGS
from polepiece.guitar.gauges import assumed_gauges
from polepiece.guitar.spread import draws, ninety_ends
from polepiece.guitar.windings import LEAST_FILL, USUAL_GAUGES, fill
from polepiece.pickup.electrics import turns

SLIPS = re.compile(
    r"in series\?|both coils|kohm where ohm is meant|ohm where kohm is meant|AWG [\d or]+ would fit|larger than these"
)
OHMS = st.floats(1.0, 30.0, allow_subnormal=False)


def file_of(construction: str, kohm: float, gauge: int | None, wiring: str = "series") -> str:
    wire = "" if gauge is None else f"coil.wire_awg = {gauge}\n"
    wired = f'wiring = "{wiring}"\n' if construction == "humbucker" else ""
    return (
        f'[[pickups]]\nname = "p"\nposition = "neck"\nconstruction = "{construction}"\nresistance_kohm = {kohm!r}\n'
        f"{wired}{wire}"
    )


@given(
    st.sampled_from(SLUGS), OHMS, st.none() | st.integers(40, 46),
    st.sampled_from(["series", "parallel", "split-slugs", "split-screws", "out-of-phase"]),
)  # fmt: skip
def test_a_winding_has_room_or_is_refused_with_a_slip(
    construction: str, kohm: float, gauge: int | None, wiring: str
) -> None:
    try:
        pickup = parse_guitar(file_of(construction, kohm, gauge, wiring)).pickup("p")
    except GuitarFileError as refused:
        assert SLIPS.search(str(refused)), str(refused)
        return
    shares = [fill(coil, n, thinnest=True) for coil, n in zip(pickup.coils, turns(pickup))]
    assert max(shares) <= 0.84  # random close packing of discs, arXiv:2404.02316


@given(st.sampled_from(SLUGS), OHMS)
def test_the_draws_have_every_usual_gauge_that_fits(construction: str, kohm: float) -> None:
    """A usual gauge that may be typed, and fills a quarter of the window, is one that a silent file may have."""
    try:
        silent = parse_guitar(file_of(construction, kohm, None))
    except GuitarFileError:
        return  # no usual gauge fits: the first law has it
    allowed = set()
    for gauge in USUAL_GAUGES:
        try:
            typed = parse_guitar(file_of(construction, kohm, gauge)).pickup("p")
        except GuitarFileError:
            continue
        if min(fill(coil, n) for coil, n in zip(typed.coils, turns(typed))) >= LEAST_FILL:
            allowed.add(gauge)
    assert allowed <= set(assumed_gauges(silent, silent.pickup("p")))


@given(st.sampled_from(SLUGS), OHMS, st.integers(0, 1000))
def test_the_true_turns_lie_in_the_interval(construction: str, kohm: float, seed: int) -> None:
    """Inductance goes as turns squared: 90 % of the pickups of all gauges that fit lie in the silent file's interval.

    400 draws hold 90 % +- 1.5 % (one standard deviation) of 400 others that are +- 1.5 % themselves: 84 % is three.
    """
    try:
        silent = parse_guitar(file_of(construction, kohm, None))
    except GuitarFileError:
        return
    gauges = assumed_gauges(silent, silent.pickup("p"))
    low, high = ninety_ends(inductances(silent, seed))
    inside = []
    for gauge in gauges:
        true = parse_guitar(file_of(construction, kohm, gauge))
        assert low <= turns(true.pickup("p"))[0] ** 2 <= high
        found = inductances(true, seed + 5000)
        inside += list((low <= found) & (found <= high))
    assert np.mean(inside) >= 0.84


def inductances(guitar: Guitar, seed: int) -> np.ndarray:
    """Return the turns squared of 400 draws: the inductance but for one factor."""
    pickup = guitar.pickup("p")
    each = [known.drawn_turns(guitar, pickup, draw) for draw in draws(400, seed)]
    return (turns(pickup)[0] * np.array(each)) ** 2
