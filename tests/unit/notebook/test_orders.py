"""Promises, quotes exact to the cent, what is due, and a stock that never goes below nothing in silence."""

from datetime import date
from decimal import Decimal
from pathlib import Path
from threading import Thread

import pytest
from hypothesis import given
from hypothesis import strategies as st

from polepiece.errors import InputError, NotebookError
from polepiece.guitar import Guitar
from polepiece.notebook import (
    Notebook,
    Part,
    Rate,
    backup_to,
    check_notebook,
    export_guitar,
    export_notebook,
    import_archive,
    import_guitar,
    merge_archive,
    open_notebook,
    owned_bars,
    restore,
)
from polepiece.notebook.money import quote_fault, quote_of
from tests.unit.notebook.conftest import Clock, NewPlace
from tests.unit.notebook.test_archive import lines_of, members_of, pack, with_lines

EUR = Rate(per_hour=Decimal("60"), currency="EUR")


def test_what_is_due_comes_in_the_order_of_its_days(notebook: Notebook, guitar: Guitar) -> None:
    entry = notebook.add_guitar(guitar)
    jobs = [notebook.open_job(entry.id, f"job {k}", number=str(100 + k)) for k in range(5)]
    notebook.promise(jobs[1].id, date(2026, 3, 20))
    notebook.promise(jobs[3].id, date(2026, 3, 9))
    notebook.promise(jobs[1].id, date(2026, 3, 1))  # it was moved: the last counts
    notebook.promise(jobs[4].id, date(2026, 2, 1))
    notebook.close_job(jobs[4].id, "done")
    assert [one.called for one in notebook.due()] == ["101", "103", "100", "102"]
    assert notebook.job(jobs[1].id).promised == date(2026, 3, 1)
    assert notebook.find_job("103").id == jobs[3].id
    with pytest.raises(NotebookError, match=r"no job '4' .*open are: 100, 101, 102, 103"):
        notebook.find_job("4")
    with pytest.raises(NotebookError, match="no job 999"):
        notebook.promise(999, date(2026, 3, 1))
    assert check_notebook(notebook.path).faults == ()


def test_a_quote_is_parts_and_minutes_at_the_rate(notebook: Notebook, guitar: Guitar) -> None:
    entry = notebook.add_guitar(guitar)
    job = notebook.open_job(entry.id, "muddy")
    bar = notebook.add_part(Part(kind="bar", grade="alnico-3", price=Decimal("9.95"), currency="EUR"))
    bare = notebook.add_part(Part(kind="pot"))
    with pytest.raises(InputError, match="no rate is set"):
        notebook.quote(job.id, parts=[bar.id], minutes=45)
    notebook.set_rate(EUR)
    made = notebook.quote(job.id, parts=[bar.id, bar.id], minutes=47.5).quote
    assert made is not None
    assert (made["total"], made["currency"]) == ("67.40", "EUR")  # 2 x 9.95 + 47.5 min
    notebook.set_rate(Rate(per_hour=Decimal("90"), currency="EUR"))
    assert notebook.job(job.id).quote == made  # what was quoted stays
    assert notebook.rate() == Rate(per_hour=Decimal("90"), currency="EUR")
    for parts, minutes, words in (
        ([bare.id], 0.0, "has no price in the drawer"), ([], -1.0, "allowed are 0"), ([], 1e5, "Are they hours"),
        ([], 0.0, "in one currency; here are none"), ([], None, "no change of a plan is chosen"),
    ):  # fmt: skip
        with pytest.raises(InputError, match=words):
            notebook.quote(job.id, parts=parts, minutes=minutes)
    notebook.set_rate(Rate(per_hour=Decimal("90"), currency="SEK"))
    with pytest.raises(InputError, match="here are EUR and SEK"):
        notebook.quote(job.id, parts=[bar.id], minutes=10)
    with pytest.raises(NotebookError, match="no part 999"):
        notebook.quote(job.id, parts=[999], minutes=1)
    assert notebook.job(job.id).quote == made


@pytest.mark.parametrize("chosen", ["neck: lowered by 1 mm, then strings in tune", "neck: lower=1mm"])
def test_the_minutes_are_those_of_the_chosen_change(notebook: Notebook, guitar: Guitar, chosen: str) -> None:
    from polepiece.moves import move_words

    entry = notebook.add_guitar(guitar)
    job = notebook.open_job(entry.id, "muddy")
    rows = [
        {"pickup": "neck", "change": ["lower=1mm"], "minutes": 5},
        {"pickup": "neck", "change": ["lower=1mm", "magnet=alnico-3"], "minutes": 50},
        {"pickup": "bridge", "change": ["lower=1mm"], "minutes": 7},
        {"pickup": None, "change": [], "minutes": 0},
    ]
    notebook.keep_plan(job.id, {"rows": rows})
    notebook.set_rate(EUR)
    said = chosen if "=" in chosen else f"neck: {move_words('lower=1mm')}, then more"
    notebook.choose(job.id, said)
    assert (notebook.quote(job.id).quote or {})["total"] == "5.00"
    notebook.choose(job.id, f"neck: {move_words('lower=1mm')}, {move_words('magnet=alnico-3')}")
    assert (notebook.quote(job.id).quote or {})["total"] == "50.00"


MONEY = st.decimals(0, 5000, places=2)


@given(st.lists(MONEY, max_size=6), st.floats(0, 5000), st.decimals(0, 500, places=2))
def test_the_total_is_its_lines_to_the_cent(prices: list[Decimal], minutes: float, per_hour: Decimal) -> None:
    """The sum in whole cents, against integers; work is right to half a cent. What is made is what an archive takes."""
    parts = [("x", Part(kind="bar", price=one, currency="EUR")) for one in prices]
    if not parts and not minutes:
        return
    made = quote_of(parts, minutes, Rate(per_hour=per_hour, currency="EUR"))
    cents = [int(Decimal(str(one["sum"])) * 100) for one in made["lines"]]  # type: ignore[attr-defined]
    assert int(Decimal(str(made["total"])) * 100) == sum(cents)
    assert sum(cents[: len(prices)]) == sum(int(one * 100) for one in prices)
    if minutes:
        assert abs(cents[-1] - float(per_hour) * 100 * minutes / 60) <= 0.5 + 1e-6 * abs(cents[-1])  # float's own error
    assert quote_fault(made) is None


# --- stock ------------------------------------------------------------------------------------------
def test_using_a_part_takes_one_and_never_below_none(notebook: Notebook) -> None:
    bar = notebook.add_part(Part(kind="bar", grade="alnico-3"))
    assert bar.count == 1
    assert notebook.count_part(bar.id, 3, "two more came").count == 3
    for left in (2, 1, 0):
        assert notebook.use_part(bar.id, "job 117").count == left
    with pytest.raises(NotebookError, match=r"there are 0: none is left to take.*shop stock"):
        notebook.use_part(bar.id, "job 118")
    assert owned_bars(notebook.parts()) == ()
    notebook.count_part(bar.id, 1, "found one")
    assert owned_bars(notebook.parts()) == ("alnico-3",)
    for wrong in (-1, 10_001):
        with pytest.raises(InputError, match="allowed are 0 to"):
            notebook.count_part(bar.id, wrong, "x")
    notebook.retire_part(bar.id, "sold")
    with pytest.raises(NotebookError, match="left the drawer"):
        notebook.use_part(bar.id, "x")
    assert "part 1: -1, job 117" in [one.words for one in notebook.log()]
    assert check_notebook(notebook.path).faults == ()


def test_of_the_last_one_two_benches_get_one(notebook: Notebook) -> None:
    pot = notebook.add_part(Part(kind="pot"))
    notebook.count_part(pot.id, 5, "counted")
    took: list[str] = []
    said: list[str] = []

    def bench(name: str) -> None:
        with open_notebook(notebook.path) as mine:
            for _ in range(4):
                try:
                    mine.use_part(pot.id, name)
                    took.append(name)
                except NotebookError as error:
                    said.append(str(error))

    benches = [Thread(target=bench, args=(str(k),)) for k in range(3)]
    for one in benches:
        one.start()
    for one in benches:
        one.join()
    assert (len(took), len(said)) == (5, 7)
    assert all("none is left" in one for one in said)
    assert notebook.parts()[0].count == 0


def test_what_two_notebooks_took_is_said_after_the_merge(
    notebook: Notebook, new_place: NewPlace, tmp_path: Path
) -> None:
    pot = notebook.add_part(Part(kind="pot"))
    restore(there := new_place("away.sqlite"), backup_to(notebook.path, tmp_path / "copy.sqlite"))
    with open_notebook(there, clock=Clock()) as away:
        away.use_part(pot.id, "there")
        notebook.use_part(pot.id, "here")
        merge_archive(notebook, export_notebook(away, tmp_path / "all.zip"))
    assert notebook.parts()[0].count == -1
    with pytest.raises(NotebookError, match="there are -1"):
        notebook.use_part(pot.id, "x")


def test_orders_go_through_archives_and_forged_ones_do_not(
    notebook: Notebook, guitar: Guitar, new_place: NewPlace, tmp_path: Path
) -> None:
    entry = notebook.add_guitar(guitar)
    job = notebook.open_job(entry.id, "muddy", number="117")
    notebook.set_rate(EUR)
    notebook.promise(job.id, date(2026, 3, 9))
    notebook.quote(job.id, minutes=30)
    pot = notebook.add_part(Part(kind="pot"))
    notebook.count_part(pot.id, 4, "counted")
    path = export_notebook(notebook, tmp_path / "all.zip")
    with open_notebook(new_place("other.sqlite")) as other:
        import_archive(other, path)
        assert other.due()[0].promised == date(2026, 3, 9)
        assert other.due()[0].quote == notebook.job(job.id).quote
        assert other.parts()[0].count == 4
        assert other.rate() is None  # the shop's own
    members = members_of(export_guitar(notebook, entry.id, tmp_path / "one.zip"))
    lines = lines_of(members)
    place = {one["kind"]: k for k, one in enumerate(lines)}
    quote = lines[place["quote"]]["quote"]
    with open_notebook(new_place("third.sqlite")) as third:
        for kind, field, wrong in (
            *(("promise", "day", one) for one in ("2026-02-30", "20260309", "x" * 500, 7, None)),
            *(("quote", "quote", quote | one) for one in (
                {"total": "0.01"}, {"total": "NaN"}, {"currency": "euro"}, {"minutes": -1}, {"lines": []}, {"more": 1},
                {"lines": [{"words": "a\u202eb", "sum": "30.00"}]}, {"lines": [{"words": "x", "sum": "1E+999999"}]},
            )),
            ("quote", "quote", []),
        ):  # fmt: skip
            changed = [dict(one) for one in lines]
            changed[place[kind]][field] = wrong
            with pytest.raises(NotebookError, match=field):
                import_guitar(third, pack(tmp_path / "forged.zip", with_lines(members, changed)))
        assert third.log() == []
