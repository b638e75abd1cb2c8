"""Prove without a browser: what is brought is kept, a reload finds it, the ledger stands in the notebook."""

import asyncio
import json
from collections.abc import Awaitable, Callable
from dataclasses import replace

import pytest
from nicegui.testing import User

from polepiece.app.pages.prove import ProveView
from polepiece.app.prove import proofs
from polepiece.app.prove.proofs import Proof, direct_in, evidence_of, poles_in, proof_of
from polepiece.app.server import shared
from polepiece.app.server.desk import Desk
from polepiece.app.sheet import log as sheet_log
from polepiece.app.sheet.choice import opened
from polepiece.app.sheet.log import SheetKey
from polepiece.app.sheet.shelf import asked
from polepiece.errors import ChangedMeanwhileError, InputError
from polepiece.evidence import states_heard
from polepiece.measure import BlindTrial, Ledger, TrialPlan
from polepiece.moves import apply, parse_changes
from tests.unit.measure.test_record import RECORD

Open = Callable[[str], Awaitable[User]]
PLUCKED = {
    "schema": "polepiece/pluck-comparison/1",
    "files": [{"role": "before", "name": "b.wav", "sha256": "ab" * 32}],
    "estimates": [{"name": "level_db", "value": -1.0, "low": -1.5, "high": -0.5, "unit": "dB", "least": 0.5}],
    "notes": ["The gain may have been changed."],
}
ADDRESS = "/prove?guitar=1&pickup=neck&change=magnet%3Dalnico-3"


def key() -> SheetKey:
    state = shared.room().notebook.states(1)[-1]
    return SheetKey(guitar_id=1, state=state.uuid, pickup="neck", changes=("magnet=alnico-3",))


def keep(entry: str, value: object) -> None:
    book = shared.room().notebook
    proofs.keep(book, key(), book.states(1)[-1].id, entry, value, "a test")


def finished(trial: BlindTrial, *, right: bool) -> BlindTrial:
    while not trial.over:
        answer = "B" if (trial.plays("X") == "after") == right else "A"
        trial = trial.answered(answer)
    return trial


# ------------------------------------------------------------------------------------------- readings of a sheet


def test_meters_are_read_off_the_sheet() -> None:
    entries = {
        "baseline.dc_resistance": "7.82", "baseline.temperature": "25", "after.dc_resistance": "7,80 kΩ",
        "after.temperature": "20",
        "baseline_strings.pole_gauss.screws.3": "-380", "baseline_strings.pole_gauss.screws.4": "41 mT",
        "baseline_strings.pole_gauss.screws.5": "weak",
    }  # fmt: skip
    before, after = direct_in(entries, "before"), direct_in(entries, "after")
    assert before is not None and after is not None
    assert before.at_20.value == pytest.approx(7820.0 / (1.0 + 0.00393 * 5.0), rel=1e-3)  # copper, IEC 60028
    assert after.at_20.value == pytest.approx(7800.0)
    poles = {one.pole: one for one in poles_in(entries, "before")}
    assert set(poles) == {3, 4}
    assert (poles[3].flux_density, poles[3].signed, poles[3].row) == (pytest.approx(-0.038), True, "screws")
    assert poles_in(entries, "after") == ()


# ------------------------------------------------------------------------------------------------- blind trials


def test_one_temperature_is_that_of_both_readings() -> None:
    entries = {"baseline.dc_resistance": "7.82", "baseline.temperature": "28", "after.dc_resistance": "7.82"}
    before, after = direct_in(entries, "before"), direct_in(entries, "after")
    assert before is not None and after is not None
    assert before.at_20.value == after.at_20.value  # no change of 3 % out of a temperature that was not noted


async def test_a_trial_that_another_tab_has_gone_on_with_is_not_overwritten(page_of: Open) -> None:
    await page_of(ADDRESS)
    trial = BlindTrial(plan=TrialPlan(trials=8), seed=3, date="2026-11-27")
    keep("trial", trial.answered("A").to_dict())
    desk = Desk.at("1", "neck")
    view = object.__new__(ProveView)  # one tab, without what it shows
    view.what, view.proof = asked(1, desk.state.id, "neck", ["magnet=alnico-3"], ""), Proof(key())
    with pytest.raises(ChangedMeanwhileError, match="another tab"):
        await view._keep_trial(trial.answered("B"), "arpeggio", "", "an answer to a trial as it was")
    with pytest.raises(ChangedMeanwhileError, match="another tab"):
        await view._keep_trial(
            BlindTrial(plan=trial.plan, seed=9, date=trial.date), "arpeggio", "", "another one begun"
        )
    await view._keep_trial(trial.answered("A").answered("B"), "arpeggio", "", "the next answer")
    there = proof_of(shared.room().notebook, key()).trial
    assert there is not None and there.answers == ("A", "B")


async def test_a_sweep_is_not_written_into_a_pickup_with_another_bar(page_of: Open) -> None:
    user = await page_of(ADDRESS)
    keep("impedance.after", RECORD.to_dict())
    user = await page_of(ADDRESS)
    user.find(marker="learn").click()
    await user.should_see("Record the change on its work sheet")
    assert len(shared.room().notebook.states(1)) == 1
    book = shared.room().notebook
    book.record(1, apply(book.guitar(1), "neck", parse_changes(["magnet=alnico-3"])), why="made")
    again = await page_of(f"{ADDRESS}&state=1")
    again.find(marker="learn").click()
    await again.should_see("Recorded as a new state", retries=2400)
    assert any(one.path.endswith("inductance_h") for one in book.guitar(1).measured)


# -------------------------------------------------------------------------------------------------- the page


async def test_without_a_change_one_is_chosen(page_of: Open) -> None:
    user = await page_of("/prove?guitar=1&pickup=neck")
    await user.should_see("A proof is of one change that was made")
    await user.should_see("make a plan and choose a row")


async def test_a_change_that_has_its_sheet_is_listed_once(page_of: Open) -> None:
    book = shared.room().notebook
    job = book.open_job(1, "neck: muddy")
    book.keep_plan(job.id, {"rows": [{"pickup": "neck", "change": ["magnet=alnico-3"], "rank": 1}], "rest": []})
    job = book.choose(job.id, "neck: bar of Alnico 3")

    async def listed() -> list[str]:
        page = await page_of("/prove?guitar=1&pickup=neck")
        return [str(one.props["href"]) for one in page.find("neck: bar of Alnico 3").elements]

    assert await listed() == [f"/prove?guitar=1&job={job.id}"]
    of_job = replace(key(), job=job.uuid)
    sheet_log.write(book, of_job, book.states(1)[-1].id, "baseline.dc_resistance", "7.9", label="DC resistance")
    (address,) = await listed()
    assert f"job={job.id}" in address and "state=" in address
    user = await page_of("/prove?guitar=1&pickup=neck")
    await user.should_see("job 1: neck: muddy")
    desk = Desk.at("1", "neck")
    named = opened(desk, state="", job="", changes=["magnet=alnico-3"])  # without its job: the sheet that is there
    assert named is not None and named.key == of_job


async def test_a_rule_is_said_before_a_trial_and_a_slip_in_it(page_of: Open) -> None:
    user = await page_of(ADDRESS)
    await user.should_see("12 right or more: heard, at the 5 % level")  # 12 of 16: binomial tables
    user.find(marker="trial-count").trigger("enter", "3")
    await user.should_see("3 trials cannot reach the 5 % level")
    user.find(marker="trial-count").trigger("enter", "many")
    await user.should_see("a whole number is needed")


async def test_a_trial_of_listen_is_what_was_heard(page_of: Open) -> None:
    """Two trials on Listen, one given up: taken, the last counts in the ledger and the other is told beside it."""
    user = await page_of(ADDRESS)
    await user.should_not_see(marker="take-trial")
    book, plan = shared.room().notebook, TrialPlan(trials=8, sounds="recorded")
    before = book.guitar(1)
    of = {
        "pickup": "neck",
        "changes": ["as it is → Alnico 3"],
        "phrase": "",
        "states": ["now", "x"],
        "takes": ["a", "b"],
        **states_heard(before, apply(before, "neck", parse_changes(["magnet=alnico-3"]))),
    }
    given_up = BlindTrial(plan=plan, seed=5, date="2026-11-29").answered("A")
    heard = finished(BlindTrial(plan=plan, seed=6, date="2026-11-30"), right=True)
    for trial, gone in ((given_up, True), (heard, False)):
        book.write_note(
            1, "a trial", sort="trial", body=trial.to_dict() | {"of": of} | ({"given_up": True} if gone else {})
        )
    other = finished(BlindTrial(plan=plan, seed=7, date="2026-11-30"), right=False)
    book.write_note(1, "of another pickup", sort="trial", body=other.to_dict() | {"of": of | {"pickup": "bridge"}})
    for seed, elsewhere in ((8, {"after": "a"}), (9, {"position": "both"})):
        there = finished(BlindTrial(plan=plan, seed=seed, date="2026-11-30"), right=True)
        of_them = of | elsewhere | {"changes": [f"as it is → {seed}"]}
        book.write_note(1, "of others", sort="trial", body=there.to_dict() | {"of": of_them})
    user = await page_of(ADDRESS)
    await user.should_see("are not offered: as it is → 8; as it is → 9")
    (taker,) = user.find(marker="take-trial").elements
    assert not any("→ 8" in str(one) or "→ 9" in str(one) for one in taker.props.values())
    user.find(marker="take-trial").trigger("choose", "as it is → Alnico 3")
    await user.should_see("It was heard: 8 of 8 right")
    await user.should_not_see(marker="take-trial")
    found = proof_of(book, key())
    evidence = evidence_of(found, {})
    assert evidence.trial == heard and evidence.trial.plan.sounds == "recorded"
    assert "1 given up" in found.trial_words()[0]


async def test_a_trial_counts_in_the_position_that_it_was_heard_in(page_of: Open) -> None:
    await page_of(ADDRESS)
    usual, both = (BlindTrial(plan=TrialPlan(trials=8), seed=seed, date="2026-11-27") for seed in (3, 4))
    usual, both = finished(usual, right=True), finished(both, right=False)
    keep("trial", usual.to_dict())
    keep("trial", both.to_dict() | {"position": "both"})
    found = proof_of(shared.room().notebook, key())
    assert found.heard_in == "both"
    assert evidence_of(found, {}).trial == usual
    assert evidence_of(found, {}, "both").trial == both
    assert evidence_of(found, {}, "bridge").trial is None


async def test_what_is_kept_is_found_again_and_given_to_the_ledger(page_of: Open) -> None:
    await page_of(ADDRESS)
    record = RECORD.to_dict()
    trial = finished(BlindTrial(plan=TrialPlan(trials=8), seed=3, date="2026-11-27"), right=True)
    keep("impedance.before", record)
    keep("trial", trial.to_dict())
    keep("plucks", PLUCKED)
    keep("impedance.after", {"schema": "something else"})  # of a later version, or damaged
    found = proof_of(shared.room().notebook, key())
    assert set(found.impedance) == {"before"}
    evidence = evidence_of(found, {})
    assert evidence.impedance_before is not None and evidence.impedance_after is None
    assert evidence.trial is not None and evidence.trial.outcome().right == 8
    assert [one.name for one in evidence.plucks] == ["level_db"]
    again = await page_of(ADDRESS)
    await again.should_see("It was heard: 8 of 8 right")
    await again.should_see("least to show")
    await again.should_see("Sweep before")
    assert evidence.files == {"before: b.wav": "ab" * 32}
    assert "The gain may have been changed." in evidence.notes
    begun = BlindTrial(plan=TrialPlan(trials=8), seed=4, date="2026-11-27")
    keep("trial", begun.to_dict() | {"phrase": "arpeggio"})
    going = proof_of(shared.room().notebook, key())
    assert (going.trial, going.phrase) == (begun, "arpeggio")
    assert evidence_of(going, {}).trial == trial  # what is not over yet does not count
    keep("trial", None)
    given_up = proof_of(shared.room().notebook, key())
    assert (given_up.trial, given_up.given_up) == (trial, 1)  # the last that was ended stands again
    assert "1 given up" in given_up.trial_words()[0]
    keep("trial", finished(begun, right=False).to_dict())
    assert "8 of 8 right; 1 given up" in proof_of(shared.room().notebook, key()).trial_words()[0]
    keep("plucks", {"schema": "polepiece/pickup-transfer/1", "estimates": []})  # of something else: passed over
    assert proof_of(shared.room().notebook, key()).plucks == PLUCKED
    with pytest.raises(InputError, match="no entry"):
        found.put("other", 1)


async def test_the_ledger_is_made_kept_and_found_after_a_reload(page_of: Open) -> None:
    user = await page_of(ADDRESS)
    keep("plucks", PLUCKED)
    user = await page_of(ADDRESS)
    await user.should_see("Nothing is proven yet")
    user.find(marker="make-ledger").click()
    await user.should_see("Over all ledgers of this notebook", retries=2400)
    (note,) = shared.room().notebook.ledgers(1)
    ledger = Ledger.from_dict(note.body or {})
    line = ledger["level_db"]
    assert line.measured is not None and line.measured.value == -1.0
    assert line.computed is not None and line.computed.low <= line.computed.value <= line.computed.high
    again = await page_of(ADDRESS)
    await again.should_see("least to show")
    await again.should_see(line.word)
    assert json.dumps(ledger.to_dict(), allow_nan=False)


async def test_a_file_that_is_no_record_is_refused_in_words(page_of: Open) -> None:
    from polepiece.app.prove.sweeps_card import record_in
    from polepiece.errors import MeasurementError

    await page_of(ADDRESS)
    for data, words in ((b"\xff\xfe", "not JSON"), (b"[" * 100_000, "not JSON"), (b"[1]", "not the record"),
                        (b'{"schema": "x"}', "is read")):  # fmt: skip
        with pytest.raises(MeasurementError, match=words):
            record_in(data, "sweep.json")
    await asyncio.sleep(0)
