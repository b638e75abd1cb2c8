"""Knobs of one pickup pulled at once, beside the same switches drawn contact by contact as a netlist."""

from itertools import combinations

import numpy as np
import pytest

from polepiece.circuit import GROUND, JACK, PickupCircuit
from polepiece.errors import PolepieceError
from polepiece.guitar import Guitar, cautions, parse_guitar, position_named, positions_of, write_guitar
from polepiece.guitar.pulled_knobs import both_do
from polepiece.pickup import position_responses

HERTZ = np.geomspace(50.0, 15e3, 31)
JW = 2j * np.pi * HERTZ
PICKUPS = """
[[pickups]]
name = "neck"
position = "neck"
construction = "humbucker"
[[pickups]]
name = "bridge"
position = "bridge"
construction = "rod-single"
"""
KNOBS = ("split-screws", "split-slugs", "parallel", "out-of-phase", "phase")


def template(*knobs: str) -> Guitar:
    said = ", ".join(f'"{one}"' for one in knobs)
    return parse_guitar(
        f'[controls]\ntemplate = "one-volume-one-tone-three-way"\ntone_pot_kohm = "none"\npush_pull = [{said}]{PICKUPS}'
    )


def circuits() -> dict[str, PickupCircuit]:
    """Two unlike coils that share flux, and one coil; own capacitance across each of the two."""
    slug, screw, both = 3.9e3 + JW * 2.1, 4.2e3 + JW * 2.6, JW * 0.8
    pair = np.array([[slug, -both], [-both, screw]])
    return {
        "neck": PickupCircuit(impedance=pair, coil_capacitance=(90e-12, 110e-12)),
        "bridge": PickupCircuit(impedance=np.array([[6.1e3 + JW * 3.0]])),
    }


def switches(pulled: tuple[str, ...], on: str) -> Guitar:
    """The neck pickup's two coils and its knobs as a bench would draw them: every contact a piece of wire, or none.

    Slug coil from "top" to "s", screw coil from "t" to "foot". Not pulled, "parallel" has s and t at "link"; pulled, s
    at foot and t at top. A split ties link to top or to foot. "out-of-phase" exchanges the ends of the screw coil,
    "phase" the ends of it all.
    """
    wires = [("s", "foot"), ("t", "top")] if "parallel" in pulled else [("s", "link"), ("t", "link")]
    wires += [("link", "top")] * ("split-screws" in pulled) + [("link", "foot")] * ("split-slugs" in pulled)
    wires += [("top", GROUND), ("foot", "hot")] if "phase" in pulled else [("top", "hot"), ("foot", GROUND)]
    screws = ("foot", "t") if "out-of-phase" in pulled else ("t", "foot")
    parts = [
        'kind = "pickup", pickup = "neck", coil = "slugs", a = "top", b = "s"',
        f'kind = "pickup", pickup = "neck", coil = "screws", a = "{screws[0]}", b = "{screws[1]}"',
        f'kind = "pot", a = "hot", wiper = "{JACK}", b = "{GROUND}", resistance_kohm = 500',
        *(f'kind = "switch", a = "{a}", b = "{b}", closed = ["on"]' for a, b in wires),
    ]
    if (
        "parallel" in pulled
    ):  # a wire that ends at the open link is no net: a resistor beside it, in which nothing flows
        parts += [f'kind = "resistor", a = "{a}", b = "{b}", resistance_kohm = 1' for a, b in wires if a == "link"]
    if on == "both":
        parts.append(f'kind = "pickup", pickup = "bridge", a = "hot", b = "{GROUND}"')
    listed = "".join(f'{{ name = "{n}", {one} }},\n' for n, one in enumerate(parts))
    return parse_guitar(
        f'[controls]\ntemplate = "as-listed"\npositions = [{{ name = "on" }}]\nelements = [{listed}]{PICKUPS}'
    )


def response(guitar: Guitar, position: str) -> np.ndarray:
    at = position_named(guitar, position)
    (found,) = position_responses(guitar, at, [{name: circuits()[name] for name in at.on}], frequency=HERTZ)
    return np.concatenate([np.atleast_2d(one) for one in found.transfers])


def named(pulled: tuple[str, ...], on: str) -> str:
    said = " + ".join(pulled)
    return f"{on} ({said})" if on == "neck" else f"{on} ({'neck '}{said})"


SETTLED = [pulled for count in (2, 3) for pulled in combinations(KNOBS, count) if both_do(pulled)]


@pytest.mark.parametrize("pulled", SETTLED, ids=" + ".join)
def test_knobs_of_one_pickup_do_what_their_contacts_do(pulled):
    guitar = template(*(f"neck: {one}" for one in pulled))
    for on in ("neck", "both"):
        if on == "neck" and "phase" in pulled:
            continue
        found, drawn = response(guitar, named(pulled, on)), response(switches(pulled, on), "on")
        # two eliminations of the same circuit; the largest value, because a shorted coil gives rounding alone
        np.testing.assert_allclose(found, drawn, atol=1e-9 * np.abs(drawn).max(), err_msg=on)


def test_both_splits_short_the_pickup_and_are_no_position():
    pulled = ("split-screws", "split-slugs")
    guitar = template(*(f"neck: {one}" for one in pulled))
    assert both_do(pulled) == () and named(pulled, "neck") not in [one.name for one in positions_of(guitar)]
    with pytest.raises(PolepieceError, match="no pickup reaches the jack"):
        switches(pulled, "neck")
    assert any("they are taken as silent" in one for one in cautions(guitar))


def test_what_has_no_word_is_left_out_and_said():
    guitar = template("neck: parallel", "neck: series")
    assert named(("parallel", "series"), "neck") not in [one.name for one in positions_of(guitar)]
    assert any("they are taken as nothing yet" in one for one in cautions(guitar))


def test_the_file_says_what_both_do():
    """A split that takes a coil off its leads instead of shorting it: pulled with "parallel" one coil is left."""
    said = "neck: split-screws + parallel = split-screws"
    guitar = template("neck: split-screws", "neck: parallel", said)
    both = position_named(guitar, "neck (split-screws + parallel)")
    assert both.wirings == {"neck": "split-screws"}
    assert not any("pulled at once" in one for one in cautions(guitar))
    assert parse_guitar(write_guitar(guitar)) == guitar
    silent = template("neck: split-screws", "neck: parallel", said.replace("= split-screws", "= silent"))
    assert [one.name for one in positions_of(silent)][-1] == "both (neck parallel)"


def test_leads_exchanged_are_heard_beside_another_pickup_only():
    guitar = template("neck: phase", "bridge: phase")
    assert [one.name for one in positions_of(guitar)][3:] == [
        "both (neck phase)", "both (bridge phase)", "both (neck phase, bridge phase)",
    ]  # fmt: skip
    plain, one, other, back = (response(guitar, name) for name in (
        "both", "both (neck phase)", "both (bridge phase)", "both (neck phase, bridge phase)"))  # fmt: skip
    # rounding of one elimination; the neck's two coils come first
    np.testing.assert_allclose(one, plain * np.array([[-1], [-1], [1]]), rtol=1e-9)
    np.testing.assert_allclose(other, plain * np.array([[1], [1], [-1]]), rtol=1e-9)
    np.testing.assert_allclose(back, -plain, rtol=1e-9)


@pytest.mark.parametrize(
    ("knobs", "said"),
    [
        (("neck: parallel", "neck: parallel"), "said already; keep one of them"),
        (("neck: parallel + phase",), "what several knobs do together is written"),
        (("neck: parallel + phase = ",), "what several knobs do together is written"),
        (("neck: parallel", "neck: parallel + split-slugs = parallel"), 'no knob does "neck: split-slugs"'),
        (("neck: parallel + parallel = parallel",), "names a knob twice"),
        (
            ("neck: split-slugs", "neck: parallel", "neck: parallel + split-slugs = series + parallel"),
            "one way to join",
        ),
        (("bridge: out-of-phase",), 'To exchange its leads write "bridge: phase"'),
        (("bridge: split",), 'with one coil. To exchange its leads write "bridge: phase"'),
        (("middle: phase",), 'is of "middle"; this guitar has: neck, bridge'),
        (("neck: phse",), "Did you mean phase"),
    ],
)
def test_what_cannot_be_is_said(knobs, said):
    with pytest.raises(PolepieceError, match=said.replace("+", r"\+")):
        template(*knobs)
