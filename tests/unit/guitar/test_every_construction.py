"""What every construction must answer: reading and writing, strings over poles of another number, drawing, words."""

import re

import numpy as np
import pytest

from polepiece.app.guitar.drawing import scene
from polepiece.app.guitar.levers import wirings_of
from polepiece.bench import Bench
from polepiece.bench.pole_tops import pole_places
from polepiece.errors import GuitarFileError, InputError
from polepiece.geometry import cut
from polepiece.guitar import Guitar, drawn_pole_tops, parse_guitar, string_gaps, write_guitar
from polepiece.guitar.constructions import CONSTRUCTIONS, Construction, construction_of
from polepiece.guitar.file.unusual import cautions
from polepiece.moves import apply, bar_fit, parse_changes
from polepiece.pickup import anatomy, string_places
from polepiece.pickup.engine import COARSE
from polepiece.planning import make_plan
from polepiece.planning.complaints import parse_complaints
from polepiece.report import pickup_drawing, work_sheet
from tests.unit.planning.double_bench import DoubleBench

EACH = pytest.mark.parametrize("one", CONSTRUCTIONS, ids=[one.slug for one in CONSTRUCTIONS])


def shortest(construction: str, more: str = "") -> Guitar:
    head = f'[[pickups]]\nname = "p"\nposition = "neck"\nconstruction = "{construction}"\n'
    return parse_guitar(f'{head}magnet.grade = "alnico-5"\n{more}')


@EACH
def test_what_is_written_is_read_again(one: Construction) -> None:
    guitar = shortest(one.slug)
    assert parse_guitar(write_guitar(guitar)) == guitar
    for word in one.also:
        assert shortest(word.upper().replace("-", " ")) == guitar, "words of the trade, as people type them"


@EACH
@pytest.mark.parametrize("poles", [4, 5, 7, 8])
def test_it_takes_other_numbers_of_poles(one: Construction, poles: int) -> None:
    if poles % 2 and any(row.half for row in one.rows):
        with pytest.raises(GuitarFileError, match="needs an even number of them"):
            shortest(one.slug, f"poles.pole_count = {poles}\n")
        return
    guitar = shortest(one.slug, f"poles.pole_count = {poles}\n")
    pickup = guitar.pickup("p")
    shape = anatomy(pickup)
    assert len(shape.pole_y) == len(drawn_pole_tops(pickup)) == len(string_gaps(pickup)) == poles
    for bar in shape.assembly.bars:
        assert not bar.is_blade or bar.y_max > shape.pole_y[0], "a blade reaches under the outer strings"
    y, height = string_places(guitar, pickup)
    assert len(y) == len(guitar.strings) == 6
    assert (height > shape.top).all()


@EACH
def test_it_is_drawn(one: Construction) -> None:
    guitar = shortest(one.slug)
    side, top, words = pickup_drawing(guitar, "p")
    assert one.words in words and side.count("<rect") > 3 and "<svg" in top
    steel = [box for box in scene(guitar, "p", None)["body"] if box["kind"].startswith("steel")]
    blades = sum(bar.is_blade for bar in anatomy(guitar.pickup("p")).assembly.bars)
    assert len(steel) >= blades
    left, top_edge, wide, tall = map(float, re.findall(r'viewBox="([^"]+)"', top)[0].split())
    for bar in anatomy(guitar.pickup("p")).assembly.bars:
        assert left <= 1e3 * bar.x_min and 1e3 * bar.x_max <= left + wide, "nothing is cut off"
        assert top_edge <= -1e3 * bar.y_max and -1e3 * bar.y_min <= top_edge + tall
        lowest = scene(guitar, "p", None)["low"]
        assert lowest <= 1e3 * bar.z_min + 5e-3, "to a hundredth of a millimetre"


@EACH
def test_its_coils_have_names_for_every_wiring(one: Construction) -> None:
    offered = wirings_of(shortest(one.slug).pickup("p"))
    assert tuple(offered) == one.wirings
    for wiring, words in offered.items():
        split = one.coil_left_by(wiring)
        assert bool(split) == wiring.startswith("split")
        assert not split or split in words or "of the first row" in words or "of the second row" in words
    assert len(set(offered.values())) == len(offered)
    if len(one.coils) == 2:
        assert {one.coil_left_by("split-slugs"), one.coil_left_by("split-screws")} == set(one.coils)


@EACH
def test_a_bar_turned_turns_every_magnet(one: Construction) -> None:
    guitar = shortest(one.slug, "magnet.flipped = false\n")
    before = anatomy(guitar.pickup("p")).assembly.magnets
    if one.magnets_stay is not None:
        with pytest.raises(InputError, match="has no bar"):
            bar_fit(guitar, "p", "alnico-5")
        return
    turned = apply(guitar, "p", parse_changes(["flip=yes"])).pickup("p")
    assert [m.sign for m in anatomy(turned).assembly.magnets] == [-m.sign for m in before]
    assert one.pole_shown(turned.magnet, turned.poles) != one.pole_shown(guitar.pickup("p").magnet, turned.poles)
    assert bar_fit(guitar, "p", "alnico-5").bars == one.bars


@EACH
def test_its_usual_sheets_fit_it(one: Construction) -> None:
    """A metal alone is enough for a base plate and a cover: the sizes of the construction clear its parts."""
    guitar = shortest(one.slug, 'base_plate = "brass"\ncover = "brass"\n')
    assert guitar.pickup("p").cover is not None
    assert not [said for said in cautions(guitar) if "overlap" in said]


def test_a_second_row_of_screws_is_turned_by_itself() -> None:
    more = "screws.second_screw_raise = 0.5\n"
    rods = anatomy(shortest("two-screw-rows", more).pickup("p")).assembly.rods
    tops = {rod.part: rod.sections[-1].top for rod in rods}
    assert tops["second screws"] - tops["screws"] == pytest.approx(0.5e-3, abs=1e-12)
    faces = {one.row: one.face for one in pole_places(shortest("two-screw-rows", more).pickup("p"))}
    assert faces == pytest.approx(tops, abs=1e-12), "a probe lies on each as it is turned"
    with pytest.raises(GuitarFileError, match="second_screw_raise is not a part of a humbucker"):
        shortest("humbucker", more)


def test_each_row_of_screws_is_one_body_with_its_own_keeper() -> None:
    mesh = cut(anatomy(shortest("two-screw-rows").pickup("p")).assembly, COARSE)
    keeper = mesh.edge_part == mesh.parts.index("keeper")
    side = np.sign(mesh.node_position[:, 0])
    for part, at in (("screws", -1.0), ("second screws", 1.0)):
        own = np.unique(mesh.node_body[mesh.edge_a[mesh.edge_part == mesh.parts.index(part)]])
        beside = np.unique(mesh.node_body[mesh.edge_a[keeper & (side[mesh.edge_a] == at)]])
        assert len(own) == 1 and own.tolist() == beside.tolist()


def test_a_blade_does_not_go_through_a_cover() -> None:
    with pytest.raises(GuitarFileError, match="cover that overlaps the blades"):
        shortest("twin-blade", 'cover = {material = "brass", z_mm = 12}\n')
    with pytest.raises(GuitarFileError, match="blades and bar that overlap"):
        shortest("twin-blade", "magnet.bar_width_mm = 14\n")
    with pytest.raises(GuitarFileError, match="blades that overlap the coil"):
        shortest("blade-single", "blades.blade_thickness_mm = 6\n")


@pytest.mark.parametrize("slug", ["two-screw-rows", "blade-single", "split-rods", "side-bar-single"])
def test_a_plan_moves_what_it_has(slug: str) -> None:
    one = construction_of(slug)
    more = 'poles.pole_count = 6\nmagnet.charge = "outside"\nmagnet.flipped = false\n'  # six: what the double can
    guitar = shortest(one.slug, more)
    plan = make_plan(guitar, DoubleBench(), parse_complaints(["p: piercing"], guitar))
    changes = [text for row in (*plan.rows, *plan.rest) for text in row.change]
    assert plan.verdict == "plan" and any(text.startswith("lower") for text in changes)
    assert any(text.startswith("magnet=") for text in changes) == (one.magnets_stay is None)
    assert one.has_screws or not any(text.startswith("screw") for text in changes)
    assert len(one.wirings) > 1 or not any(text.startswith("wiring") for text in changes)


def test_the_sheet_of_a_twin_blade_speaks_of_blades() -> None:
    guitar, bench = shortest("twin-blade"), Bench(resolution=COARSE, exact_screws=False)
    sheet = work_sheet(guitar, "p", parse_changes(["magnet=ceramic-5"]), bench=bench, draws=8)
    said = {step.key: step.text for section in sheet.sections for step in section.steps}
    assert said["slide"].endswith("the blades stay in their coils.")
    assert "touch both blades" in said["do_magnet"] and "faces the bridge" in said["mark"]
    asked = {blank.key: blank.label for section in sheet.sections for blank in section.blanks}
    assert asked["dc_slug"] == "DC, bridge-side coil" and asked["dc_screw"] == "DC, neck-side coil"
    assert not any("screw coil" in text or "slug" in text for text in (*said.values(), *asked.values()))


BASS = "".join(f"[[strings]]\ngauge = {gauge}\n" for gauge in ("0.045", "0.065", "0.085", "0.105"))


def test_the_halves_of_a_split_pickup_are_each_round_their_own_rods() -> None:
    pickup = shortest("split-rods", BASS).pickup("p")
    shape = anatomy(pickup)
    assert (len(shape.coils), len(shape.assembly.magnets)) == (2, 8)
    for coil, sign in zip(shape.coils, (1.0, -1.0)):
        own = [m for m in shape.assembly.magnets if coil.encloses(m.x, m.y)]
        assert [m.sign for m in own] == [sign] * 4
        assert {m.y > 0.0 for m in own} == {sign > 0.0}
    assert {(one.pole, one.x > 0.0) for one in pole_places(pickup)} == {(k, k <= 4) for k in range(1, 9)}


def test_the_halves_of_a_split_pickup_are_in_phase_and_cancel_hum() -> None:
    """In series the second coil is subtracted: what its strings give it has to be of the other sign."""
    guitar = shortest("split-rods", f'magnet.charge = "in-place"\n{BASS}')
    pickup, bench = guitar.pickup("p"), Bench(resolution=COARSE)
    first, second = bench.sensed(guitar, pickup, bench.magnetised(guitar, pickup)).sensitivity.T
    series = first - second
    assert (series * series[0] > 0.0).all()
    assert (abs(second[:2]) < 0.1 * abs(first[:2])).all(), "the other half is 20 mm and two strings away"
    assert (abs(first[2:]) < 0.1 * abs(second[2:])).all()
    state = bench.state(guitar, "p")
    assert state.hum_cancelling and state.hum_db < -60.0, "two equal coils"
    alone = abs(first - second)
    assert alone.max() / alone.min() < 3.0, "four strings, .045 to .105"
