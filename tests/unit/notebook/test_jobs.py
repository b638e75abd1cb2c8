"""A job is taken in, planned, decided and closed; every step is an entry and none replaces another."""

import threading

import pytest

from polepiece.errors import ChangedMeanwhileError, InputError, NotebookError
from polepiece.guitar import Guitar
from polepiece.notebook import JobEntry, Notebook, check_notebook, open_notebook, pass_of, written_for

PLAN = {"verdict": "plan", "rows": [{"rank": 1, "effect": {"level_db": -0.7}}, {"rank": 2}]}


def test_a_job_from_words_to_outcome(notebook: Notebook, guitar: Guitar) -> None:
    entry = notebook.add_guitar(guitar)
    job = notebook.open_job(entry.id, "neck: muddy, strong", "keep-output", customer="a customer", number="2026-117")
    assert (job.status, job.state_id, job.plan, job.closed) == ("open", entry.state_id, None, None)
    assert notebook.keep_plan(job.id, PLAN).plan == PLAN
    assert notebook.set_status(job.id, "waiting for the bar").status == "waiting for the bar"
    assert notebook.choose(job.id, "magnet=alnico-3").change == "magnet=alnico-3"
    closed = notebook.close_job(job.id, "clearer; customer content")
    assert (closed.status, closed.outcome) == ("closed", "clearer; customer content")
    assert notebook.job(job.id) == closed
    assert notebook.jobs() == notebook.jobs(entry.id) == [closed]


def test_the_last_plan_and_choice_count_and_the_first_stay_in_the_log(notebook: Notebook, guitar: Guitar) -> None:
    entry = notebook.add_guitar(guitar)
    job = notebook.open_job(entry.id, "muddy")
    notebook.keep_plan(job.id, PLAN)
    notebook.keep_plan(job.id, {"verdict": "repair-first", "rows": []})
    notebook.choose(job.id, "lower=0.5mm")
    now = notebook.choose(job.id, "lower=1mm")
    assert (now.plan, now.change) == ({"verdict": "repair-first", "rows": []}, "lower=1mm")
    said = " / ".join(one.words for one in notebook.log(entry.id))
    assert "plan with 2 rows" in said
    assert "repair first" in said
    assert "lower=0.5mm" in said


def test_a_closed_job_stays_closed(notebook: Notebook, guitar: Guitar) -> None:
    job = notebook.open_job(notebook.add_guitar(guitar).id, "muddy")
    notebook.close_job(job.id, "no improvement")
    for act in (
        lambda: notebook.keep_plan(job.id, PLAN),
        lambda: notebook.choose(job.id, "x"),
        lambda: notebook.set_status(job.id, "x"),
        lambda: notebook.close_job(job.id, "again"),
    ):
        with pytest.raises(NotebookError, match=r"is closed \(no improvement\)"):
            act()


def test_a_job_belongs_to_the_state_the_guitar_was_in(notebook: Notebook, guitar: Guitar) -> None:
    entry = notebook.add_guitar(guitar)
    after = notebook.record(entry.id, guitar, why="restrung")
    assert notebook.open_job(entry.id, "dull").state_id == after.id


def test_what_cannot_be_kept_is_refused(notebook: Notebook, guitar: Guitar) -> None:
    entry = notebook.add_guitar(guitar)
    with pytest.raises(InputError, match="complaints is empty"):
        notebook.open_job(entry.id, " ")
    job = notebook.open_job(entry.id, "muddy")
    with pytest.raises(InputError, match="strict JSON"):
        notebook.keep_plan(job.id, {"level_db": float("nan")})
    with pytest.raises(InputError, match="JSON object"):
        notebook.keep_plan(job.id, [1])  # type: ignore[arg-type]
    with pytest.raises(InputError, match="close_job"):
        notebook.set_status(job.id, "Closed")
    with pytest.raises(NotebookError, match="no job 99"):
        notebook.choose(99, "x")
    assert notebook.job(job.id).status == "open"


def test_jobs_are_counted_from_one_whatever_else_is_in_the_notebook(notebook: Notebook, guitar: Guitar) -> None:
    """A clerk numbers jobs as they come in; entries of other kinds between them do not count."""
    entry = notebook.add_guitar(guitar)
    notebook.write_note(entry.id, "came in a soft case")
    first = notebook.open_job(entry.id, "muddy")
    notebook.keep_plan(first.id, PLAN)
    second = notebook.open_job(entry.id, "dull", number="2026-118")
    third = notebook.open_job(notebook.add_guitar(guitar, name="another").id, "thin")
    assert [one.called for one in notebook.jobs()] == ["1", "2026-118", "3"]
    assert [first.place, second.place, third.place, notebook.job(third.id).place] == [1, 2, 3, 3]
    said = [one.words for one in notebook.log() if one.words.startswith("job")]
    assert [words[:6] for words in said] == ["job 1 ", "job 1 ", "job 2,", "job 3 "]
    notebook.close_job(third.id, "content")
    with pytest.raises(NotebookError, match="job 3 is closed"):
        notebook.set_status(third.id, "again")


def test_two_benches_that_answer_one_job_in_the_same_second(notebook: Notebook, guitar: Guitar) -> None:
    """Both have seen the same job; one choice is kept, and whoever comes second is told by whom, and what."""
    job = notebook.open_job(notebook.add_guitar(guitar).id, "E string boomy", number="Б-7")
    tokens = {name: notebook.add_bench(name)[1] for name in ("north", "север")}
    ready, ends = threading.Barrier(2), dict[str, object]()

    def answer(name: str) -> None:
        with open_notebook(notebook.path) as book, written_for(pass_of(tokens[name])):
            seen = book.job(job.id)
            ready.wait()
            try:
                ends[name] = book.choose(seen.id, f"lower=1mm, says {name}", expect=seen.last)
            except ChangedMeanwhileError as error:
                ends[name] = error

    threads = [threading.Thread(target=answer, args=(name,)) for name in tokens]
    for one in threads:
        one.start()
    for one in threads:
        one.join()
    (first,) = [name for name, end in ends.items() if isinstance(end, JobEntry)]
    (second,) = [name for name in tokens if name != first]
    assert isinstance(ends[second], ChangedMeanwhileError)
    assert f"says {first}" in str(ends[second]) and f"by {first}" in str(ends[second])
    now = notebook.job(job.id)
    assert now.change == f"lower=1mm, says {first}"
    with written_for(pass_of(tokens[second])):  # having looked again, it may
        assert notebook.choose(job.id, "both agree", expect=now.last).change == "both agree"
    assert check_notebook(notebook.path).faults == ()
