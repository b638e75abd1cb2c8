"""Turned screws by exchange against the same pickup solved anew, through the whole chain."""

from dataclasses import replace

import numpy as np
import pytest

from polepiece.bench import Bench
from polepiece.coil import induction, sheets
from polepiece.geometry import Resolution
from polepiece.guitar import Guitar, parse_guitar
from polepiece.moves import apply, parse_changes
from polepiece.pickup import engine, turning
from polepiece.pickup.anatomy import anatomy
from polepiece.pickup.magnetised import Magnetised, magnetise

COARSE = Resolution(  # laws that hold on any mesh: every pickup here is solved twice
    sectors=4, slice_height=5.2e-3, cap_rings=1, keeper_panel=8e-3, magnet_across=2, magnet_along=2, magnet_layers=2
)
TEXT = """
name = "test"
[[pickups]]
name = "neck"
position = "neck"
construction = "{}"
[pickups.magnet]
grade = "alnico-5"
charge = "outside"
"""


@pytest.fixture(autouse=True)
def _no_disk(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("POLEPIECE_CACHE", "")


@pytest.fixture
def all_modes(monkeypatch: pytest.MonkeyPatch) -> None:
    """The bases of magnets and sheets for alternating fields uncut, so that rounding is left between two ways."""
    monkeypatch.setattr(induction, "BASIS_CUT", 1e-9)
    monkeypatch.setattr(sheets, "BASIS_CUT", 1e-5)
    turning.forget()
    engine.pickup_model.cache_clear()
    yield
    turning.forget()
    engine.pickup_model.cache_clear()


def changed(guitar: Guitar, changes: list[str]) -> Guitar:
    return apply(guitar, "neck", parse_changes(changes))


def anew(guitar: Guitar, found: Magnetised) -> Magnetised:
    """The same pickup without exchange."""
    model = engine.made_model(found.model.anatomy, found.model.layout, COARSE)
    return magnetise(model, guitar.pickup("neck"))


def apart(found: np.ndarray, known: np.ndarray) -> float:
    return float(np.abs(found - known).max() / np.abs(known).max())


@pytest.mark.parametrize(
    ("construction", "changes"),
    [
        ("humbucker", ["screw3=up 0.5 turn"]),
        ("humbucker", ["screw1=down 1 turn"]),
        ("humbucker", ["screw2=up 1 turn", "screw6=down 0.5 turn"]),
        ("two-bar-single", ["screw4=up 0.5 turn"]),
    ],
)
def test_the_chain_is_that_of_the_pickup_solved_anew(all_modes: None, construction: str, changes: list[str]) -> None:
    """Field, coils' field, L(f), and every string's sensitivity and pull: 1e-6, Newton's tolerance being 1e-8."""
    guitar, bench = parse_guitar(TEXT.format(construction)), Bench(resolution=COARSE)
    bench.magnetised(guitar, guitar.pickup("neck"))
    after = changed(guitar, changes)
    found = bench.magnetised(after, after.pickup("neck"))
    assert found.model.kin is not None
    known = anew(after, found)
    assert known.model.kin is None
    assert apart(found.pickup_table, known.pickup_table) < 1e-6
    assert apart(found.coil_table, known.coil_table) < 1e-6
    basis = 5e-6  # which of the sheets' currents are cut away
    assert apart(found.coils.fields.inductance, known.coils.fields.inductance) < basis
    ours, theirs = (bench.sensed(after, after.pickup("neck"), one) for one in (found, known))
    for name in ("sensitivity", "second", "force"):
        assert apart(getattr(ours, name), getattr(theirs, name)) < 1e-6, name
    one, two = (bench.eddy(after, after.pickup("neck"), m, s) for m, s in ((found, ours), (known, theirs)))
    assert apart(one, two) < 1e-6


def test_with_the_basis_cut_both_ways_leave_out_as_little() -> None:
    """What the cut basis leaves out of L is stated as about 2e-4: the exchange may be no further from the uncut L."""
    guitar, bench = parse_guitar(TEXT.format("humbucker")), Bench(resolution=COARSE)
    bench.magnetised(guitar, guitar.pickup("neck"))
    after = changed(guitar, ["screw3=up 0.5 turn"])
    found = bench.magnetised(after, after.pickup("neck"))
    cut_off, known = found.coils.fields.inductance, anew(after, found).coils.fields.inductance
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(induction, "BASIS_CUT", 1e-9)
        uncut = anew(after, found).coils.fields.inductance
    assert apart(cut_off, uncut) < 1.5 * apart(known, uncut) < 1e-3


@pytest.mark.parametrize(("screws", "exchanged"), [("2", 1), ("1 2 4", 3), ("1 2 4 5", 2)])
def test_the_first_turned_guitar_has_a_mirrored_kin_made_for_it(all_modes: None, screws: str, exchanged: int) -> None:
    """However many of six screws are turned: no more than one of each pair differs from some mirrored pickup."""
    guitar, bench = parse_guitar(TEXT.format("humbucker")), Bench(resolution=COARSE)
    crooked = changed(guitar, [f"screw{one}=down 1 turn" for one in screws.split()])
    found = bench.magnetised(crooked, crooked.pickup("neck"))
    assert found.model.kin is not None
    kin = found.model.kin.model.anatomy
    assert kin.assembly.is_mirrored()
    assert turning.turned_rods(found.model.anatomy, kin) == exchanged
    assert apart(found.pickup_table, anew(crooked, found).pickup_table) < 1e-6


def test_the_same_turned_guitar_is_not_made_a_second_time() -> None:
    """Another grade in a pickup whose screws stand at unlike heights asks for the same geometry."""
    turning.forget()
    guitar, bench = parse_guitar(TEXT.format("humbucker")), Bench(resolution=COARSE)
    crooked = changed(guitar, ["screw2=up 0.5 turn"])
    other = changed(crooked, ["magnet=alnico-2"])
    one, two = (bench.magnetised(g, g.pickup("neck")) for g in (crooked, other))
    assert one is not two
    assert two.model is one.model


def test_the_nearest_mirrored_pickup_keeps_the_screw_that_most_others_are_like() -> None:
    guitar = parse_guitar(TEXT.format("humbucker"))
    straight = anatomy(guitar.pickup("neck"))
    for changes in (["screw3=up 0.5 turn"], ["screw1=up 1 turn", "screw5=down 1 turn"]):
        crooked = anatomy(changed(guitar, changes).pickup("neck"))
        assert turning.nearest_mirrored(crooked) == straight
        assert turning.turned_rods(crooked, straight) == len(changes)


def test_an_odd_pole_has_no_mirrored_kin_and_other_bars_are_no_kin() -> None:
    shape = anatomy(parse_guitar(TEXT.format("humbucker")).pickup("neck"))
    lone = replace(shape.assembly, rods=shape.assembly.rods[1:])
    assert turning.nearest_mirrored(replace(shape, assembly=lone)) is None
    flipped = replace(shape.assembly, magnets=tuple(replace(m, sign=-1.0) for m in shape.assembly.magnets))
    assert turning.turned_rods(replace(shape, assembly=flipped), shape) == float("inf")


def test_a_bench_keeps_few_turned_geometries() -> None:
    guitar, bench = parse_guitar(TEXT.format("humbucker")), Bench(resolution=COARSE)
    bench.magnetised(guitar, guitar.pickup("neck"))
    for k in range(1, 7):
        after = changed(guitar, [f"screw{k}=up 0.5 turn"])
        bench.magnetised(after, after.pickup("neck"))
    kept = [m for m in bench._magnetised.values() if m.model.kin is not None]
    assert 0 < len(kept) <= 4


@pytest.mark.parametrize(("construction", "even"), [("humbucker", False), ("two-bar-single", True)])
def test_a_turned_screw_starts_from_its_mirrored_kin(construction: str, even: bool) -> None:
    """The start is the kin's state: a screw half a turn up moves no potential by more than a few per cent of the most.

    Between two bars all of it is even in x, and the network has one node for two.
    """
    guitar, bench = parse_guitar(TEXT.format(construction)), Bench(resolution=COARSE)
    before = bench.magnetised(guitar, guitar.pickup("neck"))
    after = changed(guitar, ["screw3=up 0.5 turn"])
    found = bench.magnetised(after, after.pickup("neck"))
    kin = found.model.kin
    assert kin is not None and kin.model is before.model
    assert apart(kin.start(before.state).potential, found.state.potential) < 0.15  # that of the screw itself
    factors = found.model.factors
    assert (factors.like is not None) == even
    assert (len(factors.network) < 0.6 * factors.mesh.nodes) == even
    assert apart(found.pickup_table, anew(after, found).pickup_table) < 1e-6  # Newton stops at 1e-8 of the charge
