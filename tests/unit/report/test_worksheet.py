"""The work sheet: only what concerns the job is on it, its numbers are the bench's, and it opens anywhere.

Which caution belongs to which job is common practice, no source; numbers are held against `Bench` itself.
"""

import json
import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from polepiece.bench import coarse_bench, pole_tops, predict
from polepiece.errors import InputError, PolepieceError
from polepiece.guitar import Guitar, parse_guitar, read_guitar
from polepiece.moves import apply, parse_changes
from polepiece.report import WorkSheet, work_sheet, worksheet_html, worksheet_json, worksheet_pdf
from polepiece.report.worksheet.page import both_units, worksheet_document
from polepiece.report.worksheet.record import Blank

DEMO = Path(__file__).parents[3] / "examples" / "demo.guitar.toml"
OTHERS = """
name = "Three constructions (invented)"
[[pickups]]
name = "rods"
position = "bridge"
construction = "rod-single"
gap_bass_mm = 3.0
gap_treble_mm = 2.5
magnet.grade = "alnico-5"
[[pickups]]
name = "wide"
position = "middle"
construction = "two-bar-single"
magnet.grade = "alnico-5"
magnet.flipped = false
[[pickups]]
name = "covered"
position = "neck"
construction = "humbucker"
cover.material = "nickel-silver"
magnet.grade = "alnico-2"
magnet.charge = "in-place"
magnet.flipped = true
"""
Make = Callable[..., WorkSheet]


@pytest.fixture(scope="module")
def make() -> Make:
    """Make sheets on one bench; those of the same job once."""
    guitars = {"demo": read_guitar(DEMO), "others": parse_guitar(OTHERS)}
    bench, kept = coarse_bench(), {}

    def made(which: str, pickup: str, *changes: str, bars: tuple[str, ...] = ()) -> WorkSheet:
        key = (which, pickup, changes, bars)
        if key not in kept:
            kept[key] = work_sheet(guitars[which], pickup, parse_changes(changes), bench=bench, bars=bars, draws=8)
        return kept[key]

    return made


def words(sheet: WorkSheet) -> str:
    """Return every word of the bench part that is said to the person at work."""
    steps = [step.text for section in sheet.sections for step in section.steps]
    return " ".join([*steps, *sheet.cautions])


def keys(sheet: WorkSheet, section: str) -> set[str]:
    found = sheet.section(section)
    return set() if found is None else {one.key for one in (*found.blanks, *found.steps)}


# ------------------------------------------------------------------------------ only what concerns the job


def test_a_bar_swap_has_all_of_it(make: Make) -> None:
    sheet = make("demo", "neck", "magnet=alnico-3")
    assert {"recording", "gap_bass", "gap_treble", "dc_resistance", "isolation", "photo"} <= keys(sheet, "baseline")
    assert {"pole_gauss.screws", "pole_gauss.slugs", "screw_height"} <= keys(sheet, "baseline_strings")
    assert keys(sheet, "stops") == {"dc", "isolation", "force", "chips", "consent"}
    assert {"compass", "compass_rule", "mark", "way_round", "bought"} == keys(sheet, "marking")
    assert {"dc_resistance", "polarity", "phase.bridge", "squeal", "hum", "intonation"} <= keys(sheet, "after")
    assert sheet.fit is not None
    assert sheet.sections[0].key == "baseline"  # before anything is loosened


@pytest.mark.parametrize(
    ("job", "has", "has_not"),
    [
        (("demo", "neck", "magnet=alnico-3"), ("Magnets pinch", "Eye protection", "Wax:"), ("Solder burns",)),
        (("others", "covered", "magnet=alnico-3"), ("Magnets pinch", "Solder burns", "solder spots", "pry"), ()),
        (("demo", "neck", "lower=0.3mm"), ("Amplifier off",), ("Magnets pinch", "Solder", "Wax:", "Eye", "compass")),
        (("demo", "neck", "screw3=up 0.5 turn"), ("anticlockwise",), ("Magnets pinch", "Solder", "Wax:", "compass")),
        (
            ("demo", "bridge", "volume_pot=250k"),
            ("Solder burns",),
            ("Magnets", "Wax:", "bobbin screws", "compass", "Eye"),
        ),
        (
            ("demo", "bridge", "tone_cap=10nF"),
            ("Solder burns",),
            ("Magnets", "Wax:", "bobbin screws", "compass", "Eye"),
        ),
        (("demo", "bridge", "wiring=parallel"), ("Solder burns",), ("Magnets", "Wax:", "compass")),
        (("demo", "neck", "wiring=parallel"), ("Solder burns", "four-conductor lead first"), ("Magnets",)),
        (("demo", "bridge", "cover=brass"), ("Solder burns", "Wax:", "brass cover"), ("Magnets", "compass")),
        (("demo", "neck", "flip=yes"), ("Magnets pinch", "other pole"), ("Solder burns", "New bar")),
        (("demo", "neck", "charge=in-place"), ("Magnets pinch", "magnetiser"), ("Solder burns", "Slide the bar")),
        (("demo", "bridge", "cable=300pF"), (), ("Amplifier off", "Magnets", "Solder", "Wax:", "screw", "compass")),
        (("others", "rods", "lower_bass=0.5mm"), ("about 0.8 mm",), ("Magnets pinch", "bar ", "Solder", "compass")),
        (("others", "wide", "magnet=alnico-2"), ("SAME pole", "repel"), ("four bobbin screws",)),
    ],
    ids=lambda one: one[-1] if isinstance(one, tuple) and one and "=" in one[-1] else "",
)
def test_cautions_and_steps_belong_to_the_job(
    make: Make, job: tuple[str, ...], has: tuple[str, ...], has_not: tuple[str, ...]
) -> None:
    said = words(make(*job))
    assert [one for one in has if one not in said] == []
    assert [one for one in has_not if one in said] == []


def test_only_a_covered_pickup_warns_of_its_cover(make: Make) -> None:
    assert "cover" in keys(make("others", "covered", "magnet=alnico-3"), "stops")
    assert "cover" not in keys(make("demo", "neck", "magnet=alnico-3"), "stops")


def test_a_cable_needs_no_meter_on_the_guitar(make: Make) -> None:
    sheet = make("demo", "bridge", "cable=300pF")
    assert keys(sheet, "baseline") == {"recording", "strings"}
    assert sheet.section("stops") is None
    assert sheet.owner.consents == ()


def test_strings_go_on_before_heights_are_set_and_after_the_bar_is_closed_in(make: Make) -> None:
    order = [one.key for one in make("demo", "neck", "magnet=alnico-3", "lower=0.3mm").section("work").steps]  # type: ignore[union-attr]
    assert order.index("slide") < order.index("do_magnet") < order.index("snug") < order.index("restring")
    assert order.index("restring") < order.index("do_lower")


def test_consents_are_those_the_job_needs(make: Make) -> None:
    def asked(*job: str) -> set[str]:
        return {one.key for one in make(*job).owner.consents}

    assert asked("demo", "neck", "lower=0.3mm") == set()
    assert asked("demo", "bridge", "volume_pot=250k") == {"unsolder"}
    assert asked("demo", "neck", "magnet=alnico-3") == {"rewax"}  # charged outside: it goes back whole
    assert asked("others", "covered", "magnet=alnico-3") == {"unsolder", "rewax", "weaker"}
    assert "recharge" in asked("demo", "neck", "charge=in-place")


def test_compass_rule_is_the_right_way_round(make: Make) -> None:
    """A needle's north end is drawn to a south pole: the pole at geographic north is a magnetic south."""
    said = words(make("demo", "neck", "magnet=alnico-3"))
    assert "NORTH end points to the bar's SOUTH face" in said
    assert "geographic north" in said


def test_which_pole_is_said_only_where_the_file_says_it(make: Make) -> None:
    assert "the file does not say" in words(make("demo", "neck", "magnet=alnico-3"))
    said = words(make("others", "covered", "magnet=alnico-3"))
    assert "By the file the old bar has N to the screws" in said  # flipped: the easy axis points to the screws
    said = words(make("others", "wide", "magnet=alnico-2"))
    assert "By the file the old bar has N to the screws" in said  # as drawn: both bars point to them


# ----------------------------------------------------------------------------------------------- refusals


@pytest.mark.parametrize(
    ("job", "reason"),
    [
        (("others", "rods", "magnet=alnico-3"), "rod magnets are the cores"),
        (("others", "rods", "flip=yes"), "rods cannot be turned"),
        (("others", "rods", "screw1=up 0.5 turn"), "no pole screws"),
        (("others", "wide", "wiring=parallel"), "needs two"),
        (("demo", "neck", "magnet=alnico-2"), "like that already"),
        (("demo", "neck", "raise=2mm"), "nothing is planned"),
        (("demo", "neck"), "no change is given"),
        (("demo", "nowhere", "lower=0.3mm"), "no pickup called"),
    ],
)
def test_what_does_not_apply_is_refused(make: Make, job: tuple[str, ...], reason: str) -> None:
    with pytest.raises(InputError, match=reason):
        make(*job)


def test_bars_and_sizes_are_for_jobs_with_a_bar(make: Make) -> None:
    with pytest.raises(InputError, match="no bar goes in"):
        make("demo", "neck", "lower=0.3mm", bars=("alnico-4",))
    with pytest.raises(InputError, match="bar size"):
        work_sheet(read_guitar(DEMO), "neck", parse_changes(["lower=0.3mm"]), bar_size=(0.0635, 0.0127, 0.0032))


def test_a_fault_comes_first(make: Make) -> None:
    dead = replace(read_guitar(DEMO), symptoms=("suddenly thin and humming",))
    with pytest.raises(InputError, match="repair first"):
        work_sheet(dead, "neck", parse_changes(["magnet=alnico-3"]))


# ------------------------------------------------------------------------------------------------ numbers


def test_numbers_are_those_of_the_bench(make: Make) -> None:
    guitar = read_guitar(DEMO)
    bench = coarse_bench()
    after = apply(guitar, "neck", parse_changes(["magnet=alnico-3"]))
    sheet = make("demo", "neck", "magnet=alnico-3")
    for section, one in (("baseline", guitar), ("after", after)):
        state, span = bench.state(one, "neck"), bench.span(one, "neck", draws=8)
        blanks = {blank.key: blank for blank in sheet.section(section).blanks}  # type: ignore[union-attr]
        assert blanks["dc_resistance"].expected == pytest.approx(state.dc_resistance_ohm / 1e3, rel=1e-12)
        # two benches may start the same state from different ones: it is solved to 1e-8 of the charge
        assert blanks["inductance_120hz_h"].expected == pytest.approx(state.inductance_120hz_h, rel=1e-9)
        assert blanks["inductance_120hz_h"].interval == span["inductance_120hz_h"]
        tops = [abs(1e4 * top.flux_density) for top in pole_tops(one, "neck", draws=8, bench=bench)]
        read = [b.expected for b in sheet.section(f"{section}_strings").blanks if b.key.startswith("pole_gauss")]  # type: ignore[union-attr]
        assert read == pytest.approx(tops, rel=1e-9)  # 1 T = 10 000 G
    level = bench.state(after, "neck").level_db - bench.state(guitar, "neck").level_db
    assert sheet.effects[0].change == pytest.approx(level, abs=1e-12)
    assert sheet.effects[0].interval == bench.interval(guitar, after, "neck", draws=8)["level_db"]


def test_dc_must_stay_within_two_percent_or_as_connected(make: Make) -> None:
    same = next(b for b in make("demo", "neck", "magnet=alnico-3").section("after").blanks if b.key == "dc_resistance")  # type: ignore[union-attr]
    assert same.interval == pytest.approx((7.9 * 0.98, 7.9 * 1.02))
    quarter = next(
        b for b in make("demo", "bridge", "wiring=parallel").section("after").blanks if b.key == "dc_resistance"
    )  # type: ignore[union-attr]
    assert quarter.expected == pytest.approx(8.3 / 4.0, rel=0.02)  # two almost equal coils in parallel, Ohm's law


def test_gaps_before_are_the_file_and_after_as_planned(make: Make) -> None:
    pairs = {
        was.key: (was.expected, then.expected) for was, then in make("demo", "neck", "lower=0.3mm").owner.before_after
    }
    assert pairs["gap_bass"] == (pytest.approx(2.6), pytest.approx(2.9))
    assert pairs["gap_treble"] == (pytest.approx(2.2), pytest.approx(2.5))


def test_bars_are_ordered_ferrite_last_and_the_chosen_one_is_among_them(make: Make) -> None:
    bars = make("demo", "neck", "magnet=alnico-3", bars=("ceramic-8", "alnico-4")).bars
    assert [one.order for one in bars] == [1, 2, 3]
    assert bars[-1].name == "ceramic-8"
    assert [one.name for one in bars if one.chosen] == ["alnico-3"]
    assert abs(bars[0].level_db) <= abs(bars[1].level_db)


def test_both_units_agree_exactly() -> None:
    assert both_units(63.5e-3, (1, 2)) == ("63.5", "2.50")
    assert both_units(3.175e-3, (2, 3)) == ("3.18", "0.125")  # half up, as people round
    assert both_units(0.160 * 25.4e-3, (3, 3)) == ("4.064", "0.160")


# -------------------------------------------------------------------------------------------------- pages


def test_page_asks_nothing_of_the_outside_and_every_field_has_a_name(make: Make) -> None:
    page = worksheet_html(make("demo", "neck", "magnet=alnico-3", bars=("ceramic-8", "alnico-4")))
    assert not re.search(r"(?:https?:)?//|url\(|@import|<script|<img|<iframe", page)
    fields = re.findall(r"<input[^>]*>", page)
    assert len(fields) > 60
    assert all("aria-label=" in one for one in fields if 'type="text"' in one)
    assert all(
        re.search(r"<label><input type=\"checkbox\">", line)
        for line in page.splitlines()
        if "checkbox" in line and "<li" in line
    )
    ids = re.findall(r'\bid="([^"]+)"', page)
    assert len(ids) == len(set(ids))


def test_text_from_outside_cannot_become_markup() -> None:
    hostile: Guitar = replace(read_guitar(DEMO), name="<script>alert(1)</script>")
    sheet = work_sheet(hostile, "neck", parse_changes(["cable=300pF"]), customer="<b>&", job='"><img src=x>', draws=8)
    page = worksheet_html(sheet)
    assert "<script>" not in page
    assert "<img" not in page
    assert "&lt;b&gt;&amp;" in page


def test_every_figure_is_of_the_position_that_is_asked_for() -> None:
    """Effects, levels of bars and the height of the old level; meters read the pickup by itself."""
    guitar, bench = read_guitar(DEMO.with_name("two-volumes.guitar.toml")), coarse_bench()
    changes = parse_changes(["magnet=alnico-4"])

    def sheet(position: str | None) -> WorkSheet:
        return work_sheet(guitar, "bridge", changes, bench=bench, bars=["alnico-2"], position=position, draws=8)

    alone, split = sheet(None), sheet("bridge (split-screws)")
    told = predict(guitar, "bridge", changes, bench=bench, position=split.position, draws=8)
    level = {one.key: one.change for one in split.effects}["level_db"]
    assert level == told.difference["level_db"] != {one.key: one.change for one in alone.effects}["level_db"]
    own = {one.name: one.level_db for one in split.bars}
    assert own["alnico-4"] == pytest.approx(level, abs=1e-9)  # the same difference, taken twice
    assert own["alnico-2"] != {one.name: one.level_db for one in alone.bars}["alnico-2"]

    def meters(one: WorkSheet) -> list[Blank]:
        here = [blank for key in ("baseline", "after") for blank in one.section(key).blanks]  # type: ignore[union-attr]
        return [blank for blank in here if not blank.key.startswith("gap")]  # re-set to a level that is heard

    assert meters(split) == meters(alone)
    assert split.position_words.startswith(
        "Heard in the position bridge (split-screws); the change moves what is heard"
    )
    page = worksheet_html(split)
    assert page.count("eard in the position bridge (split-screws)") == 2, "the bench's sheet and the owner's"
    assert alone.position == "bridge"
    with pytest.raises(InputError, match="bridge is not on in the position neck"):
        sheet("neck")


def test_head_is_one_line_and_optional() -> None:
    guitar, changes = read_guitar(DEMO), parse_changes(["cable=300pF"])
    sheet = work_sheet(guitar, "neck", changes, customer="  A.\n Player ", job=" ", draws=8)
    assert (sheet.customer, sheet.job) == ("A. Player", None)
    with pytest.raises(InputError, match="at most 80"):
        work_sheet(guitar, "neck", changes, job="9" * 81, draws=8)


def test_no_price_is_invented(make: Make) -> None:
    page = worksheet_html(make("others", "covered", "magnet=alnico-3"))
    assert not re.search(r"[$€£]|\bUSD\b|\bEUR\b", page)


def test_json_is_plain_and_whole(make: Make) -> None:
    sheet = make("demo", "neck", "magnet=alnico-3")
    body = json.loads(json.dumps(worksheet_json(sheet), default=float))
    assert body["changes"] == ["magnet=alnico-3"]
    assert [one["key"] for one in body["sections"]] == [one.key for one in sheet.sections]
    assert body["fit"]["checks"][0]["dimension"] == "length"


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize(
    ("job", "bars"),
    [
        (("demo", "neck", "magnet=alnico-3"), ("alnico-4", "ceramic-8")),
        (("others", "covered", "magnet=alnico-3"), ()),
        (("demo", "bridge", "wiring=parallel"), ()),
        (("demo", "bridge", "cable=300pF"), ()),
    ],
)
def test_owner_has_exactly_the_last_page(make: Make, job: tuple[str, ...], bars: tuple[str, ...], paper: str) -> None:
    pytest.importorskip("weasyprint")
    document = worksheet_document(make(*job, bars=bars), paper=paper)  # type: ignore[arg-type]
    starts = [number for number, page in enumerate(document.pages, start=1) if "owner" in page.anchors]
    assert starts == [len(document.pages)]
    assert len(document.pages) - 1 <= 3


def test_owner_page_of_the_longest_job_stays_one(make: Make) -> None:
    pytest.importorskip("weasyprint")
    job = (
        "magnet=alnico-3",
        "charge=in-place",
        "lower=0.3mm",
        "screws=up 0.25 turn",
        "volume_pot=250k",
        "tone_cap=10nF",
    )
    document = worksheet_document(make("others", "covered", *job), paper="letter")
    assert [k for k, page in enumerate(document.pages, start=1) if "owner" in page.anchors] == [len(document.pages)]


def test_pdf_is_one_and_its_absence_says_what_to_install(make: Make, monkeypatch: pytest.MonkeyPatch) -> None:
    sheet = make("demo", "bridge", "cable=300pF")
    pytest.importorskip("weasyprint")
    assert worksheet_pdf(sheet).startswith(b"%PDF-")
    monkeypatch.setitem(__import__("sys").modules, "weasyprint", None)
    with pytest.raises(PolepieceError, match=r"pip install \"polepiece\[pdf\]\""):
        worksheet_pdf(sheet)


def test_strings_that_move_against_one_another_are_on_the_sheet_and_told(make: Make) -> None:
    tilted = make("others", "rods", "tilt=bass up 0.5mm")
    moved = {one.key: one.change for one in tilted.effects if one.key.startswith("string_balance_db.")}
    assert moved["string_balance_db.6"] > 0.0 > moved["string_balance_db.1"]  # the bass side came nearer
    assert any(one.startswith("Strings against one another: 1st string −") for one in tilted.owner.heard)
    even = make("others", "rods", "tone_cap=10nF")  # a part of the circuit: all strings alike
    assert not [one for one in even.effects if one.key.startswith("string_balance_db.")]


def test_no_key_of_the_file_is_on_a_sheet(make: Make) -> None:
    for which, pickup, change in (("others", "rods", "lower=0.3mm"), ("others", "wide", "tone_cap=10nF")):
        for what, settle in make(which, pickup, change).hangs_on:
            assert not re.search(r"\w_\w|\[|\bfile\b", f"{what} {settle}")
