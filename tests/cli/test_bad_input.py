"""What goes wrong is one paragraph on stderr, exit code 2, and nothing half done."""

import os
from pathlib import Path

import numpy as np
import pytest
import soundfile
from typer.testing import CliRunner

from polepiece.cli.commands import app
from polepiece.cli.lines import parse_charge, parse_frequencies, parse_line
from polepiece.errors import InputError
from tests.cli.conftest import DEMO


def refused(*arguments: "str | Path") -> str:
    """Run a command that must be refused; return what it says."""
    result = CliRunner().invoke(app, [str(one) for one in arguments])
    assert result.exit_code == 2, result.output
    assert result.stdout == ""
    assert "Traceback" not in result.stderr
    assert "\n\n" not in result.stderr.strip()  # one paragraph
    return result.stderr


FIELD = ("--pickup", "neck", "--line", "x=0,y=0,z=17")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("this is = not toml [", "is not TOML"),
        ("", "is empty"),
        ('name = "x"\n[[pickup]]\nname = "a"\n', "pickups"),  # the nearest known key
        ('[[pickups]]\nname="a"\nposition="neck"\nconstruction="humbucker"\ngap_bass_mm=nan\n', "gap_bass_mm"),
        ('[[pickups]]\nname="a"\nposition="neck"\nconstruction="stacked-coils"\n', "construction"),
        (
            '[[pickups]]\nname="a"\nposition="neck"\nconstruction="humbucker"\n[pickups.magnet]\nbar_width=25\n',
            "overlap",
        ),
    ],
)
def test_a_bad_guitar_file(text: str, words: str, tmp_path: Path) -> None:
    path = tmp_path / "bad.guitar.toml"
    path.write_text(text, encoding="utf-8")
    assert words in refused("field", path, *FIELD)


def test_a_guitar_file_over_a_megabyte(tmp_path: Path) -> None:
    path = tmp_path / "large.guitar.toml"
    path.write_bytes(b"#" * (1024 * 1024 + 1))
    assert "larger than 1 MiB" in refused("field", path, *FIELD)


def test_a_guitar_file_that_is_not_there(tmp_path: Path) -> None:
    assert "no such file" in refused("strings", tmp_path / "none.toml")


def test_a_folder_or_bytes_instead_of_a_guitar_file(tmp_path: Path) -> None:
    assert "folder" in refused("strings", tmp_path)
    (tmp_path / "x.toml").write_bytes(bytes(range(256)))
    assert "UTF-8" in refused("strings", tmp_path / "x.toml")


def test_the_pickup_must_be_said_where_there_are_two() -> None:
    assert "neck, bridge" in refused("strings", DEMO)
    assert "it has: neck, bridge" in refused("strings", DEMO, "-p", "middle")


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ("height=0.5mm", "reads both ways"),
        ("magnet=alnico-33", "alnico-3"),
        ("lower=0.5", "mm"),
        ("nonsense", "key=value"),
        ("magnet", "key=value"),
        ("raise=5mm", "nothing is planned"),
    ],
)
def test_a_change_that_cannot_be(change: str, words: str) -> None:
    assert words in refused("predict", DEMO, "-p", "neck", "--change", change)


def test_every_bad_change_is_reported_at_once() -> None:
    text = refused("predict", DEMO, "-p", "neck", "-c", "heigth=1", "-c", "magnet=alnico-33")
    assert "heigth" in text
    assert "alnico-33" in text


@pytest.mark.parametrize(
    ("complaint", "words"), [("neck: muuudy", "muddy"), ("middle: muddy", "middle"), ("neck:", "no complaint")]
)
def test_a_complaint_that_is_not_known(complaint: str, words: str) -> None:
    assert words in refused("plan", DEMO, "--complaint", complaint)


def test_a_constraint_that_is_not_known() -> None:
    assert "keep-output" in refused("plan", DEMO, "--constraint", "kep-outptus")


def test_unknown_options_and_commands() -> None:
    for arguments in (["field", str(DEMO), "--lines", "x"], ["fields"], ["grades", str(DEMO), "--draws", "many"]):
        result = CliRunner().invoke(app, arguments)
        assert result.exit_code == 2
        assert "Traceback" not in result.stderr


@pytest.mark.parametrize(
    "line",
    [("grades", DEMO, "-p", "neck"), ("plan", DEMO), ("predict", DEMO, "-p", "neck", "-c", "magnet=alnico-3")],
    ids=lambda line: line[0],
)
def test_too_few_draws_are_refused_before_the_work(line: tuple[str, ...], monkeypatch: pytest.MonkeyPatch) -> None:
    def solved(*_: object) -> None:
        raise AssertionError("a state was solved before the number of draws was looked at")

    monkeypatch.setattr("polepiece.bench.bench.Bench.state", solved)

    assert "8 to 2000" in refused(*line, "--draws", "3")


# ------------------------------------------------------------------------------- grammars of options


def test_a_line_has_both_ends() -> None:
    points = parse_line("x=-25:25:1,y=5,z=17")
    assert len(points) == 51
    assert points[0] == (-25.0, 5.0, 17.0)
    assert points[-1] == (25.0, 5.0, 17.0)
    assert [p[2] for p in parse_line("x=0,y=0,z=10:12:0.5")] == [10.0, 10.5, 11.0, 11.5, 12.0]
    assert [p[0] for p in parse_line("z=1, X=2:0:-1, y=0")] == [2.0, 1.0, 0.0]
    assert [p[0] for p in parse_line("x=0:10:4,y=0,z=1")] == [0.0, 4.0, 8.0, 10.0]  # both ends, a short last step
    assert parse_line("x=3:3:1,y=0,z=1") == [(3.0, 0.0, 1.0)]


def test_two_ranges_make_a_grid() -> None:
    assert len(parse_line("x=0:2:1,y=-1:1:1,z=17")) == 9


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("x=0,y=0", "z is missing"),
        ("x=0,y=5,5,z=17", "decimal comma"),
        ("x=0,y=0,z=17,x=1", "given twice"),
        ("x=0:10,y=0,z=1", "start:stop:step"),
        ("x=0:10:-1,y=0,z=1", "does not lead"),
        ("x=0:10:0,y=0,z=1", "does not lead"),
        ("x=a,y=0,z=1", "not a number"),
        ("x=nan,y=0,z=1", "not a finite number"),
        ("w=1,y=0,z=1", "no axis 'w'"),
        ("x=0:100:0.0000001,y=0,z=1", "points"),
        ("x=0:1e9:1,y=0,z=1", "1000 mm"),
        ("", "has no axis"),
    ],
)
def test_a_line_that_is_not_one(line: str, words: str) -> None:
    with pytest.raises(InputError, match=words):
        parse_line(line)


def test_frequencies() -> None:
    assert parse_frequencies("0,100,1000") == [0.0, 100.0, 1000.0]
    assert parse_frequencies("1k, 2.5kHz,50 Hz") == [1000.0, 2500.0, 50.0]
    for bad, words in (
        ("-1", "outside"),
        ("30000", "outside"),
        ("a", "not a frequency"),
        ("", "not a frequency"),
        ("nan", "not a frequency"),
    ):
        with pytest.raises(InputError, match=words):
            parse_frequencies(bad)


def test_charge() -> None:
    assert parse_charge(None) is None
    assert parse_charge("in_place") == "in-place"
    assert parse_charge("0,7") == 0.7
    assert parse_charge("70%") == pytest.approx(0.7)
    for bad in ("70", "0", "-0.5", "full", "nan"):
        with pytest.raises(InputError, match="--charge is"):
            parse_charge(bad)


# ------------------------------------------------------------------------------------- sound files


def sound(path: Path, samples: np.ndarray, rate: int = 48000, **options: str) -> Path:
    soundfile.write(path, samples, rate, **options)
    return path


def bad_sounds(folder: Path) -> dict[str, Path]:
    """Make one file for each way in which audio can be useless."""
    tone = 0.1 * np.sin(np.arange(48000) * 0.05)
    (folder / "garbage.wav").write_bytes(np.random.default_rng(1).bytes(5000))
    (folder / "empty.wav").write_bytes(b"")
    (folder / "text.wav").write_text("not sound", encoding="utf-8")
    whole = sound(folder / "whole.wav", tone).read_bytes()
    (folder / "cut.wav").write_bytes(whole[: len(whole) // 2])
    holes = tone.copy()
    holes[100] = np.nan
    return {
        "garbage": folder / "garbage.wav",
        "empty": folder / "empty.wav",
        "text": folder / "text.wav",
        "cut": folder / "cut.wav",
        "header alone": sound(folder / "zero.wav", np.zeros(0)),
        "twelve channels": sound(folder / "twelve.wav", np.tile(tone[:, None], (1, 12))),
        "8 kHz": sound(folder / "slow.wav", tone, 8000),
        "NaN": sound(folder / "nan.wav", holes, subtype="FLOAT"),
        "silence": sound(folder / "silent.wav", np.zeros(48000)),
        "too short": sound(folder / "short.wav", tone[:4800]),
        "missing": folder / "missing.wav",
    }


KINDS = (
    "garbage", "empty", "text", "cut", "header alone", "twelve channels", "8 kHz", "NaN", "silence", "too short",
    "missing",
)  # fmt: skip


@pytest.mark.parametrize("kind", KINDS)
def test_audio_that_cannot_be_used(kind: str, tmp_path: Path) -> None:
    path = bad_sounds(tmp_path)[kind]
    out = tmp_path / "out"
    text = refused("hear", DEMO, "-p", "neck", "-c", "tone=5", "--recording", path, "--out", out)
    assert path.name in text or kind == "too short"
    assert not out.exists()  # what was made for the command is gone


def test_a_chain_or_loudspeaker_that_is_not_there(tmp_path: Path) -> None:
    start = ("hear", DEMO, "-p", "neck", "-c", "tone=5", "--out", tmp_path / "out")
    assert "clean, edge, driven" in refused(*start, "--chain", "loud")
    assert "one of them" in refused(*start, "--driven", "--chain", "edge")
    assert "no such file" in refused(*start, "--chain", "edge", "--loudspeaker", "nothing.wav")
    long = sound(tmp_path / "take.wav", 0.1 * np.sin(np.arange(48000 * 3) * 0.05))
    assert "Is it a recording" in refused(*start, "--chain", "edge", "--loudspeaker", long)
    assert "Is it in mV" in refused(*start, "--recording", long, "--chain", "edge", "--full-scale", "800")
    assert "holds no move" in refused(*start, "--also", " ; ")
    assert not (tmp_path / "out").exists()


def test_a_disk_that_is_too_small_is_found_before_the_work(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = sound(tmp_path / "take.wav", 0.1 * np.sin(np.arange(96000) * 0.05))
    monkeypatch.setattr("shutil.disk_usage", lambda _: type("Usage", (), {"free": 3 * 96000 * 3 - 1}))
    text = refused("hear", DEMO, "-p", "neck", "-c", "tone=5", "--recording", path, "--out", tmp_path / "out")
    assert "GB left" in text
    assert not (tmp_path / "out").exists()


def test_an_unknown_phrase(tmp_path: Path) -> None:
    assert "arpeggio" in refused("hear", DEMO, "-p", "neck", "-c", "tone=5", "--phrase", "riff", "-o", tmp_path / "o")


def test_an_input_is_never_overwritten(tmp_path: Path) -> None:
    path = sound(tmp_path / "before.wav", 0.1 * np.sin(np.arange(48000) * 0.05))
    held = path.read_bytes()
    assert "input" in refused("hear", DEMO, "-p", "neck", "-c", "tone=5", "--recording", path, "--out", tmp_path)
    assert path.read_bytes() == held
    assert os.listdir(tmp_path) == ["before.wav"]


def test_a_file_where_the_folder_should_be(tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("x", encoding="utf-8")
    text = refused("hear", DEMO, "-p", "neck", "-c", "tone=5", "--out", tmp_path / "taken")
    assert "choose another folder" in text


@pytest.mark.skipif(hasattr(os, "geteuid") and os.geteuid() == 0, reason="root may write to a read-only folder")
def test_a_read_only_folder(tmp_path: Path) -> None:
    tmp_path.chmod(0o500)
    try:
        text = refused("hear", DEMO, "-p", "neck", "-c", "tone=5", "--out", tmp_path)
        assert "choose another folder" in text
        assert "choose another folder" in refused("demo", "--out", tmp_path / "new")
    finally:
        tmp_path.chmod(0o700)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--versio",), "No such option: --versio"),
        (("explode",), "No such command 'explode'"),
        (("measure", "explode"), "No such command 'explode'"),
        (("field", DEMO), "Missing option '--line'"),
        (("field", DEMO, "--line", "x=0,y=0,z=1", "--source", "foo"), "'foo' is not one of 'magnet', 'coil'"),
        (("grades", DEMO, "--draws", "many"), "it should be a valid integer"),
        (("measure", "dcr", "-5"), "No such option: -5"),
        (("drawer", "add", "bar", "--gauss", "nan"), "it is not a finite number"),
    ],
)
def test_wrong_options_are_one_paragraph_too(arguments: tuple["str | Path", ...], words: str) -> None:
    text = refused(*arguments)
    assert words in text
    assert text.startswith("polepiece: ")
    assert "--help shows how it is written" in text


@pytest.mark.parametrize("command", ["predict", "hear", "grades", "plan"])
def test_a_guitar_that_is_turned_down_is_said_to_be_silent(command: str, tmp_path: Path) -> None:
    more: tuple[str | Path, ...] = ("-p", "neck")
    file = tmp_path / "down.guitar.toml"
    file.write_text(DEMO.read_text(encoding="utf-8").replace("[controls]", "[controls]\nvolume_setting = 0"))
    if command == "plan":
        more = ("--complaint", "neck: muddy")
    elif command in ("predict", "hear"):
        file, more = DEMO, (*more, "-c", "volume=0")
    if command == "hear":
        more = (*more, "--out", tmp_path / "out")
    assert "silent" in refused(command, file, *more)
    assert not (tmp_path / "out").exists()
