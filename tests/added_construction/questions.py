"""What the tool must know of a construction that is one file: asked in a process that has `two_ferrite_single`.

Numbers here follow from the sizes in that file, or are held against one another; no physics is judged.
"""

import json
from pathlib import Path

import httpx
import pytest
from nicegui import core

from polepiece.app.guitar.drawing import scene
from polepiece.app.widgets.readout import gaps_of
from polepiece.bench import Bench, pole_tops, predict
from polepiece.bench.pole_tops import pole_places
from polepiece.errors import InputError
from polepiece.geometry import MagnetBox
from polepiece.guitar import Guitar, drawn_pole_tops, guitar_schema, parse_guitar, string_gaps, write_guitar
from polepiece.guitar.file.unusual import cautions
from polepiece.moves import apply, bar_fit, parse_change, parse_changes
from polepiece.notebook.fits import part_fit
from polepiece.notebook.records import Part
from polepiece.pickup import anatomy
from polepiece.pickup.engine import COARSE
from polepiece.planning import fault_gate, make_plan
from polepiece.planning.complaints import parse_complaints
from polepiece.report import WorkSheet, pickup_drawing, work_sheet, worksheet_html
from tests.app import conftest as page
from tests.unit.planning.double_bench import DoubleBench

SLUG = "two-ferrite-single"
TEXT = f"""
name = "Fifth construction (invented)"
[[pickups]]
name = "middle"
position = "middle"
construction = "{SLUG}"
magnet.grade = "ceramic-8"
magnet.charge = "outside"
magnet.flipped = false
gap_bass_mm = 2.6
gap_treble_mm = 2.2
[[pickups]]
name = "bridge"
position = "bridge"
construction = "rod-single"
magnet.grade = "alnico-5"
magnet.charge = "outside"
"""


@pytest.fixture(scope="module")
def guitar() -> Guitar:
    return parse_guitar(TEXT)


@pytest.fixture(scope="module")
def sheet(guitar: Guitar) -> WorkSheet:
    """The sheet of a bar swap, on the coarse mesh: its words are asked for."""
    bench = Bench(resolution=COARSE, exact_screws=False)
    return work_sheet(guitar, "middle", parse_changes(["magnet=ceramic-5"]), bench=bench, draws=8)


def test_the_guitar_file_reads_checks_and_writes_it(guitar: Guitar) -> None:
    pickup = guitar.pickup("middle")
    assert (pickup.construction, pickup.magnet.width) == (SLUG, 9e-3)
    assert parse_guitar(write_guitar(guitar)) == guitar
    assert cautions(guitar) == ()
    assert SLUG in json.dumps(guitar_schema())
    with pytest.raises(InputError, match=f"is not a part of a {SLUG}"):
        parse_guitar(TEXT.replace("magnet.flipped", "screws.screw_top_mm = 12\nmagnet.flipped", 1))
    with pytest.raises(InputError, match=f"a {SLUG} has 1"):
        parse_guitar(TEXT.replace("magnet.flipped", "coils = [{turns = 1}, {turns = 2}]\nmagnet.flipped", 1))
    with pytest.raises(InputError, match=f"is a {SLUG} with one coil; parallel needs two"):
        parse_guitar(TEXT.replace("magnet.flipped", 'wiring = "parallel"\nmagnet.flipped', 1))
    with pytest.raises(InputError, match="coil that overlaps the bar"):
        parse_guitar(TEXT.replace("magnet.flipped", "magnet.bar_thickness_mm = 8\nmagnet.flipped", 1))


def test_it_has_two_bars_like_poles_to_its_slugs(guitar: Guitar) -> None:
    left, right = anatomy(guitar.pickup("middle")).assembly.magnets
    assert isinstance(left, MagnetBox) and isinstance(right, MagnetBox)
    assert (left.easy, left.sign, right.sign) == (0, 1.0, -1.0)
    radius, air = 2.4e-3, 0.1e-3
    assert (left.x_max, right.x_min) == (pytest.approx(-radius - air), pytest.approx(radius + air))
    assert {rod.part for rod in anatomy(guitar.pickup("middle")).assembly.rods} == {"slugs"}


def test_pole_tops_have_one_answer(guitar: Guitar) -> None:
    pickup = guitar.pickup("middle")
    top = 17e-3
    assert drawn_pole_tops(pickup) == (top,) * 6
    assert anatomy(pickup).top == top
    assert {(one.row, one.face) for one in pole_places(pickup)} == {("slugs", top)}
    assert scene(guitar, "middle", None)["tops"] == [17.0, 17.0]
    assert gaps_of(pickup, 6) == pytest.approx(string_gaps(pickup), abs=1e-12)  # rounding


def test_it_is_predicted_with_its_field(guitar: Guitar) -> None:
    bench = Bench(resolution=COARSE)
    found = predict(guitar, "middle", parse_changes(["lower=0.5mm"]), draws=8, bench=bench)
    assert found.difference["level_db"] < 0.0
    assert 0.5 < found.before.inductance_120hz_h < 20.0  # of pickups: 1 to 10, twice that on either side
    tops = pole_tops(guitar, "middle", draws=8, bench=bench)
    assert len(tops) == 6 and all(one.flux_density > 0.0 for one in tops), "north poles at the slugs, north up"


def test_the_gate_knows_what_it_reads(guitar: Guitar) -> None:
    low = parse_guitar(TEXT.replace("magnet.flipped", "resistance_kohm = 2.4\nmagnet.flipped", 1))
    (found,) = fault_gate(low, ())
    assert found.why == f"2.4 kohm is about half of what a {SLUG} reads"
    assert fault_gate(guitar, ()) == ()


def test_the_levers_know_it(guitar: Guitar) -> None:
    task = parse_change("magnet=ceramic-5").describe(guitar, "middle")
    assert task.cost == "two bars"
    assert task.risk.endswith("both bars with like poles to the slugs")
    assert apply(guitar, "middle", [parse_change("flip=yes")]).pickup("middle").magnet.flipped
    for wrong, words in (
        ("screws=up 0.5 turn", "has no pole screws"),
        ("screws_face=bridge", "looks alike both ways round"),
        ("wiring=parallel", "parallel needs two"),
    ):
        with pytest.raises(InputError, match=f"{SLUG}.*{words}"):
            apply(guitar, "middle", [parse_change(wrong)])
    fit = bar_fit(guitar, "middle", "ceramic-8", size=(62e-3, 12e-3, 5e-3))
    assert fit.bars == 2
    assert fit.checks[1].words.endswith("too wide: it stands out under the coil, take another bar")
    assert "takes 2, of one kind" in part_fit(Part(kind="bar", grade="ceramic-8"), guitar, "middle").words


def test_the_plan_moves_what_it_has(guitar: Guitar) -> None:
    plan = make_plan(guitar, DoubleBench(), parse_complaints(["middle: piercing"], guitar))
    assert plan.verdict == "plan"
    changes = [text for row in (*plan.rows, *plan.rest) for text in row.change]
    assert any(one.startswith("lower") for one in changes)
    assert any(one.startswith("magnet=") for one in changes)
    assert not [one for one in changes if one.startswith(("screw", "wiring", "body_down"))]


def test_the_sheet_speaks_of_slugs_and_of_two_bars(guitar: Guitar, sheet: WorkSheet) -> None:
    said = {step.key: step.text for section in sheet.sections for step in section.steps}
    assert said["loosen"].endswith("slugs stay in the coil.")
    assert said["two_bars"] == "Both bars show the SAME pole to the slugs."
    assert said["do_magnet"].startswith("New bars in with no force")
    assert said["snug"].startswith("Bars sit firmly")
    assert "By the file the old bar has N to the slugs" in said["way_round"], "as its tops read: north, field up"
    assert "an arrow on the edge that faces the slugs" in said["mark"]
    everything = worksheet_html(sheet)
    assert "Original bars (2) returned" in everything and "side to the slugs" in everything
    assert "compass over the slugs" in everything
    bench_part = " ".join([*said.values(), *sheet.cautions])
    assert "screws through" not in bench_part and "to the screws" not in bench_part and "keeper" not in said["loosen"]
    assert sheet.fit is not None and sheet.fit.bars == 2


def test_it_is_drawn(guitar: Guitar) -> None:
    side, top, words = pickup_drawing(guitar, "middle")
    assert words.startswith(f"Middle pickup, {SLUG}: 2 bars, each 62.0 x 9.0 x 5.0 mm")
    assert "screws face" not in words
    assert side.count("north") >= 2 and top.count("<circle") == 6
    seen = scene(guitar, "middle", None)
    assert seen["screws"] == [] and "from the bridge." in seen["words"]
    assert [one["pole"] for one in seen["body"] if one["kind"] == "magnet"] == ["N", "S"]


async def test_its_page_opens(guitar: Guitar, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = tmp_path / "fifth.guitar.toml"
    file.write_text(TEXT, encoding="utf-8")
    monkeypatch.setattr(page, "DEMO", file)
    async with page.application(tmp_path / "notebook.sqlite"):
        transport = httpx.ASGITransport(core.app)
        async with httpx.AsyncClient(transport=transport, base_url="http://test") as client:
            user = page.Patient(client)
            await user.open("/guitar?pickup=middle")
            await user.should_see("middle pickup, two ferrite single")
            await user.should_not_see("Pole screws")
            await user.should_not_see(marker="lever-wiring")
            await user.open("/grades?pickup=middle")
            await user.should_not_see("Rod magnets cannot be swapped")
