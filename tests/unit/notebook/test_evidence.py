"""Predictions know who computed them; sounds lie under their own hash; the log says everything in order."""

import hashlib
import io

import numpy as np
import pytest
import soundfile

from polepiece.errors import InputError, NotebookError
from polepiece.guitar import Guitar
from polepiece.notebook import Notebook, Part


def wav(level: float = 0.1) -> bytes:
    out = io.BytesIO()
    soundfile.write(out, np.full(480, level, dtype=np.float32), 48_000, format="WAV")
    return out.getvalue()


def test_a_prediction_keeps_its_provenance(notebook: Notebook, guitar: Guitar) -> None:
    entry = notebook.add_guitar(guitar)
    result = {"version": "0.0.9", "constants": "sha256:old", "seed": 7, "difference": {"level_db": -0.73}}
    number = notebook.keep_prediction(entry.state_id, "magnet=alnico-3", result)
    bare = notebook.keep_prediction(entry.state_id, "lower=1mm", {"x": 1e-300}, seed=3)
    first, second = notebook.predictions(entry.id)
    assert (first.id, second.id) == (number, bare)
    assert first.result == result
    assert first.provenance == {"version": "0.0.9", "constants": "sha256:old", "seed": 7}  # as the result says
    assert second.provenance["seed"] == 3
    assert str(second.provenance["constants"]).startswith("sha256:")
    with pytest.raises(NotebookError, match="no state 99"):
        notebook.keep_prediction(99, "x", {})


def test_a_result_that_is_changed_afterwards_does_not_change_the_notebook(notebook: Notebook, guitar: Guitar) -> None:
    entry = notebook.add_guitar(guitar)
    result: dict[str, object] = {"level": 1}
    notebook.keep_prediction(entry.state_id, "x", result)
    result["level"] = 2
    assert notebook.predictions(entry.id)[0].result == {"level": 1}


def test_a_sound_lies_under_its_hash_once(notebook: Notebook, guitar: Guitar) -> None:
    entry = notebook.add_guitar(guitar)
    data = wav()
    digest = notebook.keep_sound(data, label="before", kind="wav", guitar_id=entry.id)
    assert digest == hashlib.sha256(data).hexdigest()
    assert notebook.keep_sound(data, label="the same again", kind="wav", state_id=entry.state_id) == digest
    assert notebook.sound(digest) == data
    first, second = notebook.sounds(entry.id)  # a state names its guitar
    assert (first.label, second.label) == ("before", "the same again")
    assert (first.sha256, first.size, first.kind) == (digest, len(data), "wav")
    assert second.state_id == entry.state_id
    with notebook._engine.connect() as connection:
        assert connection.exec_driver_sql("SELECT count(*) FROM recordings").scalar_one() == 1


def test_a_damaged_sound_is_not_returned(notebook: Notebook) -> None:
    digest = notebook.keep_sound(wav(), label="x", kind="wav")
    with notebook._engine.execution_options(write=True).begin() as connection:  # a disk that turned some bits
        on, nothing = (" ON recordings", r"'\x00'") if connection.dialect.name == "postgresql" else ("", "x'00'")
        connection.exec_driver_sql(f"DROP TRIGGER recordings_no_update{on}")
        connection.exec_driver_sql(f"UPDATE recordings SET data = {nothing}")
    with pytest.raises(NotebookError, match="is damaged"):
        notebook.sound(digest)
    with pytest.raises(NotebookError, match="no sound"):
        notebook.sound("0" * 64)


@pytest.mark.parametrize(
    ("data", "kind", "words"),
    [
        (b"RIFF", "wav", "not a WAV file"),
        (b"RIFF0000WAVE", "flac", "not a FLAC file"),
        (b"OggS", "ogg", "kept are wav and flac"),
        (b"", "wav", "not a WAV file"),
    ],
)
def test_what_is_no_sound_is_refused(notebook: Notebook, data: bytes, kind: str, words: str) -> None:
    with pytest.raises(InputError, match=words):
        notebook.keep_sound(data, label="x", kind=kind)  # type: ignore[arg-type]
    assert notebook.sounds() == []


def test_notes_are_lines_with_or_without_figures(notebook: Notebook, guitar: Guitar) -> None:
    entry = notebook.add_guitar(guitar)
    notebook.write_note(None, "shop closed in August")
    line = notebook.write_note(
        entry.id, "DC at the jack", state_id=entry.state_id, sort="measurement", body={"resistance_kohm": 7.91}
    )
    assert notebook.notes(entry.id) == [line]
    assert line.body == {"resistance_kohm": 7.91}
    assert [one.text for one in notebook.notes()] == ["shop closed in August", "DC at the jack"]
    assert notebook.notes(sort="trial") == []
    other = notebook.add_guitar(guitar)
    with pytest.raises(NotebookError, match="no state"):
        notebook.write_note(other.id, "wrong guitar", state_id=entry.state_id)
    with pytest.raises(InputError, match="sort is 'gossip'"):
        notebook.write_note(None, "x", sort="gossip")  # type: ignore[arg-type]


def test_the_log_tells_all_of_it_in_order(notebook: Notebook, guitar: Guitar) -> None:
    entry = notebook.add_guitar(guitar, why="came in muddy")
    part = notebook.add_part(Part(kind="bar", grade="alnico-3"))
    job = notebook.open_job(entry.id, "neck: muddy", "no solder", number="117")
    notebook.keep_prediction(entry.state_id, "lower=0.5mm", {})
    notebook.keep_sound(wav(), label="before, clean", kind="wav", guitar_id=entry.id)
    notebook.record(entry.id, guitar, why="neck lowered")
    notebook.undo(entry.id)
    notebook.redo(entry.id)
    notebook.write_note(entry.id, "phase checked", sort="measurement")
    notebook.retire_part(part.id, "sold")
    notebook.close_job(job.id, "content")
    lines = notebook.log()
    wanted = (
        "came on record: came in muddy", "into the drawer: bar, alnico-3", "number 117 taken in: neck: muddy (must",
        "lower=0.5mm", "before, clean", "recorded: neck lowered", "undone: back to state", "done again: again as in",
        "measurement: phase checked", "left the drawer: sold", "closed: content",
    )  # fmt: skip
    assert len(lines) == len(wanted)
    assert all(words in line.words for words, line in zip(wanted, lines))
    assert [one.at for one in lines] == sorted(one.at for one in lines)
    assert [one.id for one in notebook.log(entry.id)] == [one.id for one in lines if one.guitar_id == entry.id]
    assert {one.guitar for one in lines} == {None, entry.name}
    assert notebook.log(last=3) == lines[-3:]
    assert notebook.log(entry.id, last=1) == lines[-1:]
    assert notebook.log(last=99) == lines


def test_a_ledger_is_a_swap_with_its_record(notebook: Notebook, guitar: Guitar) -> None:
    entry = notebook.add_guitar(guitar)
    lines = [{"judged": {"word": word}} for word in ("agrees", "agrees", "disagrees", "not measured")]
    record = {"schema": "polepiece/ledger/1", "change": ["magnet=alnico-3"], "pickup": "neck", "entries": lines}
    kept = notebook.keep_ledger(entry.id, record, state_id=entry.state_id)
    notebook.write_note(entry.id, "made", sort="swap", body={"schema": "something else"})
    assert notebook.ledgers(entry.id) == [kept]
    assert kept.text == "proof of magnet=alnico-3 on neck; agrees: 2, disagrees: 1"
    again = notebook.keep_ledger(entry.id, record, state_id=entry.state_id)
    other = notebook.keep_ledger(entry.id, record | {"change": ["tone=3"]}, state_id=entry.state_id)
    assert notebook.ledgers(entry.id) == [kept, again, other]
    assert notebook.ledgers(entry.id, last=True) == [again, other]
    for wrong in ({}, {"schema": "other/1"}, {"schema": "polepiece/ledger/1", "change": "x"}):
        with pytest.raises(InputError, match="ledger"):
            notebook.keep_ledger(entry.id, wrong)
    assert len(notebook.notes(entry.id)) == 4
