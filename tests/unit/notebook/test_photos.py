"""Photos beside the notebook: kept under their hash, on the disk before their line, missed by the check when gone."""

import os
import random
from collections.abc import Callable
from pathlib import Path

import pytest

from polepiece.errors import InputError, NotebookError
from polepiece.guitar import Guitar
from polepiece.notebook import (
    Notebook,
    check_notebook,
    export_notebook,
    import_archive,
    keep_photo,
    open_notebook,
    photo_bytes,
    photo_called,
    photos,
    photos_folder,
    put_photo_away,
)

KINDS = {"jpg": b"\xff\xd8\xff\xe0", "png": b"\x89PNG\r\n\x1a\n", "webp": b"RIFF....WEBP"}


def test_photos_come_back_byte_for_byte_and_once(notebook: Notebook, guitar: Guitar) -> None:
    draw = random.Random(2)
    entry = notebook.add_guitar(guitar)
    job = notebook.open_job(entry.id, "neck: muddy")
    wanted = []
    for k in range(12):
        data = draw.choice(list(KINDS.values())) + draw.randbytes(draw.randint(0, 5000))
        kept = keep_photo(notebook, data, label=f"<b>{k}</b>", guitar_id=entry.id, job_id=job.id if k % 2 else None)
        wanted.append((kept.sha256, data))
        assert kept.file.is_file() and oct(kept.file.stat().st_mode)[-3:] == "600"  # only its owner's
    found = photos(notebook, entry.id)
    assert [(one.sha256, photo_bytes(one)) for one in found] == wanted
    assert [one.job for one in found] == [job.uuid if k % 2 else None for k in range(12)]
    again = keep_photo(notebook, wanted[0][1], label="again", guitar_id=entry.id)
    assert again.file == found[0].file
    assert len(list(photos_folder(notebook.path).iterdir())) == len({sha for sha, _ in wanted})
    assert check_notebook(notebook.path).faults == ()


@pytest.mark.parametrize("spoil", ["gone", "changed"])
def test_the_check_misses_a_photo(notebook: Notebook, guitar: Guitar, spoil: str) -> None:
    entry = notebook.add_guitar(guitar)
    kept = keep_photo(notebook, KINDS["png"] + b"x", label="bar", guitar_id=entry.id)
    if spoil == "gone":
        kept.file.unlink()
    else:
        kept.file.write_bytes(KINDS["png"] + b"y")
    (fault,) = check_notebook(notebook.path).faults
    assert f"entry {kept.id}: a photo" in fault
    with pytest.raises(NotebookError, match="photo 'bar'"):
        photo_bytes(kept)
    keep_photo(notebook, KINDS["png"] + b"x", label="bar", guitar_id=entry.id)  # the same photo again puts it right
    assert check_notebook(notebook.path).faults == ()


IN_ITS_PLACE: dict[str, Callable[[Path], object]] = {
    "a pipe": os.mkfifo,  # whoever reads it waits for ever
    "a link to what never ends": lambda file: file.symlink_to("/dev/zero"),
    "a folder": Path.mkdir,
    "a larger file": lambda file: (file.touch(), os.truncate(file, 2**40)),  # of nothing: it takes no room
}


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with names here")
@pytest.mark.parametrize("what", IN_ITS_PLACE)
def test_what_lies_in_the_place_of_a_photo_is_looked_at_before_it_is_read(
    notebook: Notebook, guitar: Guitar, tmp_path: Path, what: str
) -> None:
    entry = notebook.add_guitar(guitar)
    kept = keep_photo(notebook, KINDS["png"] + b"x", label="bar", guitar_id=entry.id)
    kept.file.unlink()
    IN_ITS_PLACE[what](kept.file)
    (fault,) = check_notebook(notebook.path).faults
    assert f"entry {kept.id}: a photo" in fault
    with pytest.raises(NotebookError, match="photo 'bar'"):
        photo_bytes(kept)
    with open_notebook(tmp_path / "other.sqlite") as other:
        import_archive(other, export_notebook(notebook, tmp_path / "all.zip"))
        assert len(photos(other)) == 1


def test_what_is_no_photo_and_no_job_of_this_guitar_is_refused(notebook: Notebook, guitar: Guitar) -> None:
    entry, other = notebook.add_guitar(guitar), notebook.add_guitar(guitar)
    job = notebook.open_job(other.id, "neck: muddy")
    for data in (b"", b"GIF89a", b"RIFF....WAVE", b"<svg onload=alert(1)>"):
        with pytest.raises(InputError, match="no JPEG, PNG or WebP"):
            keep_photo(notebook, data, label="x", guitar_id=entry.id)
    with pytest.raises(InputError, match="is not of guitar"):
        keep_photo(notebook, KINDS["jpg"], label="x", guitar_id=entry.id, job_id=job.id)
    assert not photos_folder(notebook.path).exists() and photos(notebook) == []


def test_a_folder_that_cannot_be_made_is_said_and_nothing_is_written(
    notebook: Notebook, guitar: Guitar, tmp_path: Path
) -> None:
    entry = notebook.add_guitar(guitar)
    photos_folder(notebook.path).write_text("in the way", encoding="utf-8")
    with pytest.raises(NotebookError, match="cannot be written"):
        keep_photo(notebook, KINDS["jpg"], label="x", guitar_id=entry.id)
    assert photos(notebook) == []


def test_what_is_put_away_is_out_of_sight_and_kept(notebook: Notebook, guitar: Guitar, tmp_path: Path) -> None:
    entry = notebook.add_guitar(guitar)
    one, two = (keep_photo(notebook, KINDS["png"] + bytes([k]), label=str(k), guitar_id=entry.id) for k in range(2))
    put_photo_away(notebook, one.id)
    assert [each.id for each in photos(notebook)] == [two.id]
    assert [each.id for each in photos(notebook, entry.id, put_away=True)] == [one.id, two.id]
    assert photo_called(notebook, one.file.name) is None
    with pytest.raises(NotebookError, match="put away already"):
        put_photo_away(notebook, one.id)
    with pytest.raises(NotebookError, match="no photo 9999"):
        put_photo_away(notebook, 9999)
    assert check_notebook(notebook.path).faults == ()
    with open_notebook(tmp_path / "other.sqlite") as other:  # it travels, and stays put away
        import_archive(other, export_notebook(notebook, tmp_path / "all.zip"))
        assert [each.sha256 for each in photos(other)] == [two.sha256]
        assert [each.sha256 for each in photos(other, put_away=True)] == [one.sha256, two.sha256]
        assert check_notebook(other.path).faults == ()
    put_photo_away(notebook, one.id, back=True)
    assert [each.id for each in photos(notebook)] == [one.id, two.id]
