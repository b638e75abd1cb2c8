"""The answer first: what is printed of a plan, on doubles of the bench with explicit numbers."""

import re
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import pytest

from polepiece.bench import QUANTITIES
from polepiece.cli.answer_lines import WIDTH, WORDS, answer_lines
from polepiece.planning import Plan, Row, answer_of, answer_row, plan_json, read_plan
from polepiece.planning.answer import worth_saying
from polepiece.planning.answer_rows import better_of, interval_of, is_bar, worse_of
from polepiece.planning.said import once_said
from polepiece.planning.words import unhelpful_words
from tests.unit.planning.double_bench import DoubleBench, guitar
from tests.unit.planning.test_candidates import RODS
from tests.unit.planning.test_plan import made, plain

GOLDEN = Path(__file__).with_name("answers")
CASES = {
    "muddy": (("neck: muddy",), ()),
    "piercing": (("bridge: piercing",), ()),
    "uneven": (("neck: uneven strings",), ()),
    "weak, not opened": (("neck: weak",), ("do-not-open",)),
    "two jobs": (("neck: dull, strong", "bridge: too hot"), ()),
    "rods": (("neck: piercing",), ()),
    "not computed": (("neck: stiff",), ()),
    "repair": (("neck: thin and humming",), ()),
}
PLANS = [name for name in CASES if name != "repair"]
HAND = (  # what a hand does: a side, a screw, a part or a knob, and which way or what value
    r"\b(up|down) [\d.]+ mm|turns? (up|down), (anti)?clockwise|instead of|taken out|\bat [\d.]+"
    r"|(soldered on|taken off)|split|wired|recharged|turned round|across|\b\d+-\d+\b|rough"
)


@lru_cache(maxsize=len(CASES))
def plan(name: str) -> Plan:
    complaints, limits = CASES[name]
    if name == "rods":
        return made(complaints, limits, guitar(RODS), DoubleBench())
    return plain(complaints, limits)


def lines(name: str) -> list[str]:
    return answer_lines(plan(name), assumed=57)


def rows(name: str) -> list[Row]:
    return worth_saying(plan(name))


@pytest.mark.parametrize("name", CASES)
def test_an_answer_fits_a_terminal_and_is_read_in_a_minute(name: str) -> None:
    assert max(map(len, lines(name))) <= WIDTH == 80
    assert len(" ".join(lines(name)).split()) <= WORDS == 250


@pytest.mark.parametrize("name", CASES)
def test_no_key_of_the_file_and_no_hertz_stands_in_an_answer(name: str) -> None:
    text = "\n".join(lines(name))
    assert not re.search(r"\w=\w|pickups\[|\bHz\b|_(mm|db|pf)\b|\b(lower|raise)_(bass|treble)", text)


@pytest.mark.parametrize("name", PLANS)
def test_every_row_names_its_pickup_and_a_movement_of_the_hand(name: str) -> None:
    names = [f"{one.name} pickup" for one in guitar().pickups]
    for row in (*plan(name).rows, *plan(name).rest):
        if row.change:
            for text in (row.done, row.done_in_full):
                assert re.search(HAND, text), text
            own = any(one in row.done for one in names)
            assert own or "(all pickups)" in row.done or name == "rods", row.done


@pytest.mark.parametrize("name", PLANS)
def test_every_row_has_one_interval_that_holds_its_figure(name: str) -> None:
    assert rows(name)
    for row in rows(name):
        shown = interval_of(row)
        assert shown is not None
        key, value, span = shown
        assert span is not None
        assert span[0] <= value <= span[1]
        get = answer_row(row).get
        assert len(re.findall(r"\([+-][\d.]+ to [+-][\d.]+\)", get)) == 1, get
        assert f"{value:+.1f}" in get, "the sign of the figure is that of the change"
        assert QUANTITIES[key].short in get


@pytest.mark.parametrize("name", PLANS)
def test_words_go_the_way_of_the_figures(name: str) -> None:
    for row in (*plan(name).rows, *plan(name).rest):
        for key, words in zip((key for key in row.worse if key != "level"), worse_of(row)):
            if not any("against the" in one for one in row.loses):
                assert words == QUANTITIES[key].beside_words(row.moved[key])
        for key in row.better:
            up, down = (QUANTITIES[key].beside_words(sign * abs(row.moved[key])) for sign in (1, -1))
            assert up != down
            assert (up if row.moved[key] < 0 else down) not in better_of(row), "never the opposite"


def test_wanted_is_said_as_wanted() -> None:
    """Muddy: the wound strings are to step back. Weak: louder. The words say so."""
    assert "The wound strings step back by" in answer_of(plan("muddy")).start
    assert re.search(r"\. [\d.]+ dB louder \(", answer_of(plan("weak, not opened")).start)


@pytest.mark.parametrize("name", PLANS)
def test_heard_is_the_scale_of_the_threshold_that_decides(name: str) -> None:
    for row in rows(name):
        if row.decides is None:
            continue
        size = abs(row.moved[row.decides]) / row.threshold
        bounds = {"likely": (2.0, 99.0), "maybe": (1.0, 99.0), "hardly": (0.5, 1.0), "no": (0.0, 0.5)}
        low, high = bounds[row.heard]
        assert low <= size < high
        assert {"yes": ("likely",), "maybe": ("maybe",), "no": ("hardly", "no")}[row.likely_heard].count(row.heard)


@pytest.mark.parametrize("name", PLANS)
def test_a_bar_that_is_not_heard_is_no_row_and_is_said_once(name: str) -> None:
    answer = answer_of(plan(name))
    shown = {row.rank for row in answer.rows}
    bars = [row for row in (*plan(name).rows, *plan(name).rest) if is_bar(row)]
    assert not any(row.rank in shown and row.heard in ("hardly", "no") for row in bars)
    if answer.bars:
        assert not any(row.rank in shown for row in bars), "the sentence and the rows agree"


def test_where_the_best_bar_is_not_heard_the_answer_says_so() -> None:
    text = answer_of(plan("uneven")).bars
    assert text == "No bar is worth opening the neck pickup for: none helps."
    assert any(one.startswith('Benches fit Alnico 5 or Alnico 3 against "muddy"') for one in plan("muddy").parted)


def test_a_bar_among_the_rows_that_is_hardly_heard_becomes_a_sentence() -> None:
    found = plan("two jobs")
    rows = tuple(replace(row, heard="hardly") if is_bar(row) else row for row in found.rows)
    assert any(map(is_bar, rows))
    answer = answer_of(replace(found, rows=rows, rest=()))
    bars = {row.rank for row in rows if is_bar(row)}
    assert not bars & {row.rank for row in answer.rows}
    assert re.fullmatch(
        r"No bar is worth opening .* for(; the best, .*, is hardly heard, even side by side|: benches fit .*)?\.",
        answer.bars,
    )


def test_what_benches_fit_instead_stays_beside_a_bar_that_is_shown_however_short_the_answer() -> None:
    found = plan("two jobs")
    (bar, *_) = (row for row in found.rows if is_bar(row))
    cures = 'Benches fit Alnico 2 against "piercing"; computed, it is not heard.'
    row, others = replace(bar, heard="likely", rank=1), "Benches also try: that."
    found = replace(found, rows=(row,), rest=(), parted=(others, cures))
    assert cures in answer_of(found, asides=0).parted
    no_bar = replace(found, rows=tuple(row for row in plan("two jobs").rows if not is_bar(row)))
    assert cures not in answer_of(no_bar, asides=0).parted


def test_nothing_is_soldered_for_what_is_hardly_heard_but_a_cable_is_tried() -> None:
    found = plan("muddy")
    cable = next(row for row in (*found.rows, *found.rest) if row.change[:1] and row.change[0].startswith("cable="))
    for minutes, kept in ((1, True), (20, False)):
        row = replace(cable, minutes=minutes, heard="hardly")
        assert (row in worth_saying(replace(found, rows=(row,)))) is kept


def test_too_many_words_cost_rows_and_not_the_first_sentence() -> None:
    found = plan("muddy")
    wordy = replace(found, rows=tuple(replace(row, done=row.done + ", slowly" * 40) for row in found.rows))
    printed = answer_lines(wordy)
    assert len(" ".join(printed).split()) <= WORDS
    assert " ".join(printed).count(" min, ") < " ".join(answer_lines(found)).count(" min, ")
    assert printed[2].startswith("Start here: ")


def test_with_do_not_open_nothing_is_said_of_bars() -> None:
    assert answer_of(plan("weak, not opened")).bars == ""


def test_the_balance_and_a_control_that_is_gone_are_said() -> None:
    first = rows("muddy")[0]
    assert re.fullmatch(r"[\d.]+ dB quieter against the bridge pickup", first.loses[0])
    assert first.loses[0] in answer_of(plan("muddy")).start
    gone = [row for name in PLANS for row in (*plan(name).rows, *plan(name).rest) if "tone_pot=none" in row.change]
    assert gone
    assert all("no tone control any more" in row.loses for row in gone)


def test_the_rows_are_alternatives_and_one_row_is_not_called_so() -> None:
    assert "alternatives, not a sum" in answer_of(plan("muddy")).order
    assert "alternatives" not in answer_of(plan("uneven")).order


def test_trade_and_computation_part_in_one_sentence() -> None:
    """A bench turns the screws up against mud; on this double that does nothing good."""
    answer = answer_of(plan("muddy"))
    (said,) = answer.parted
    assert answer.bars.startswith(
        'No bar is worth opening the neck pickup for: benches fit Alnico 5 or Alnico 3 against "muddy"; computed, '
    )
    assert said == (
        "Benches also try: neck pickup, all screws half a turn up, anticlockwise. Computed here, it does not help."
    )


def test_what_is_told_a_customer_has_no_brackets() -> None:
    answer = answer_of(plan("muddy"))
    assert "(" in answer.start
    assert not re.search(r"[()]| [.,:]|  ", answer.told)
    assert answer.told.startswith("Start here: bass side of the neck pickup down")


def test_nothing_heard_is_no_place_to_start() -> None:
    found = plan("muddy")
    quiet = replace(found, rows=tuple(replace(one, heard="hardly") for one in found.rows if not is_bar(one)))
    assert answer_of(quiet).start.startswith("Nothing here is likely to be heard. The nearest: bass side")


def test_nothing_that_helps_is_said_and_what_to_look_at() -> None:
    found = plan("muddy")
    empty = replace(found, rows=tuple(one for one in found.rows if not one.change), rest=())
    answer = answer_of(empty)
    assert answer.rows == ()
    assert answer.start.startswith("Nothing that can be changed here helps")
    assert answer.rule_out.startswith("Rule out first: ")
    assert answer.bars == answer.order == ""


def test_a_repair_comes_first_with_its_check_and_no_rows() -> None:
    answer = answer_of(plan("repair"))
    assert answer.start == "Repair first; no voicing before that."
    assert answer.rows == ()
    assert all("Check: " in one for one in answer.repair)
    assert answer.repair


@pytest.mark.parametrize("name", CASES)
def test_a_plan_that_was_kept_gives_the_same_answer(name: str) -> None:
    assert answer_of(read_plan(plan_json(plan(name), everything=True))) == answer_of(plan(name))


def test_a_plan_kept_before_there_were_words_still_answers() -> None:
    body = plan_json(plan("muddy"), everything=True)
    for row in (*body["rows"], *body["rest"]):  # type: ignore[misc]
        for key in ("done", "done_in_full", "heard", "moved", "loses", "parted"):
            del row[key]
    old = answer_of(read_plan(body))
    assert old.start.startswith("Start here: bass side down 1 mm. 5 minutes, free.")
    assert [one.heard for one in old.rows] == [one.heard for one in answer_of(plan("muddy")).rows]
    assert old.rows[0].get == answer_of(plan("muddy")).rows[0].get


@pytest.mark.parametrize("name", ["muddy", "uneven"])
def test_golden_answers(name: str) -> None:
    """The whole answer as it is printed; ``python -m tests.unit.planning.test_answer`` writes them anew."""
    assert (GOLDEN / f"{name}.txt").read_text(encoding="utf-8") == "\n".join(lines(name)) + "\n"


if __name__ == "__main__":
    GOLDEN.mkdir(exist_ok=True)
    for golden in ("muddy", "uneven"):
        (GOLDEN / f"{golden}.txt").write_text("\n".join(lines(golden)) + "\n", encoding="utf-8")


def test_a_saying_of_the_trade_stands_once_whatever_its_figures() -> None:
    longer = "People call a longer cable darker; computed here, the resonance goes down and with it presence"
    other = 'Benches fit Alnico 2 against "piercing"; computed, it makes it worse.'
    assert once_said([f"{longer} +1.2 dB.", other, f"{longer} +1.8 dB."]) == [f"{longer} +1.2 dB.", other]


def test_what_is_not_heard_is_not_said_to_be_worth_playing() -> None:
    found = plan("muddy")
    row = replace(found.rows[0], heard="no", likely_heard="no")
    quiet = answer_of(replace(found, rows=(row,), rest=()))
    assert "play it" not in quiet.order
    assert "not worth doing" in quiet.order


def test_a_row_that_moves_nothing_that_is_shown_is_no_row() -> None:
    found = plan("muddy")
    row = found.rows[0]
    key = QUANTITIES[row.decides].number
    still = replace(
        row, heard="no", likely_heard="no", moved={**row.moved, row.decides: 0.0},
        effect={**row.effect, key: 0.0}, interval={**row.interval, key: (0.0, 0.0)},
    )  # fmt: skip
    answer = answer_of(replace(found, rows=(still,), rest=()))
    assert not answer.rows
    assert answer.start.startswith("Nothing that can be changed here helps")


def test_a_loss_in_figures_is_said_once_and_as_a_loss() -> None:
    found = plan("muddy")
    row = found.rows[0]
    lost = replace(
        row, decides="pull", better=("pull",), worse=("level",), moved={"pull": -0.2, "level": -3.6}, loses=(),
        effect={"level_db": -3.6}, interval={"level_db": (-3.8, -3.3)},
    )  # fmt: skip
    assert answer_row(lost).get == "a little less pull on the strings; worse: level -3.6 dB (-3.8 to -3.3)"
    assert answer_row(lost).worse == ""
    start = answer_of(replace(found, rows=(lost,), rest=())).start
    assert "worse: 3.6 dB quieter" in start
    assert "Worse: quieter" not in start


def test_what_benches_try_in_vain_is_one_sentence() -> None:
    tried = tuple(unhelpful_words(f"bridge pickup, {side} side down 0.3 mm") for side in ("bass", "treble"))
    answer = answer_of(replace(plan("muddy"), parted=tried))
    assert answer.parted[0] == (
        "Benches also try: bridge pickup, bass side down 0.3 mm; or bridge pickup, treble side down 0.3 mm. "
        "Computed here, none of it helps."
    )
    assert not any("Benches also try" in one for one in answer.parted[1:])
