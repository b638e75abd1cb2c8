"""`check` and `new`: a guitar is entered, looked over, and called by file, number or name."""

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from polepiece.bench import HangsOn, Share
from polepiece.cli.commands import app
from polepiece.guitar import OF_CONTROLS, Guitar, read_guitar
from polepiece.notebook import open_notebook
from tests.cli.conftest import DEMO, ask
from tests.cli.test_surface import against

MINE = ("--name", "Mine", "-p", "neck construction=humbucker magnet=alnico II gap_bass=5/64 resistance=7,8k")


@pytest.fixture(autouse=True)
def own_notebook(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("POLEPIECE_NOTEBOOK", str(tmp_path / "notebook.sqlite"))
    monkeypatch.chdir(tmp_path)
    return tmp_path / "notebook.sqlite"


def run(*words: "str | Path", typed: str | None = None) -> Result:
    return CliRunner().invoke(app, [str(one) for one in words], input=typed)


def test_a_guitar_by_options_is_written_kept_and_used_by_its_name(own_notebook: Path) -> None:
    made = run("new", "mine.guitar.toml", *MINE, "--control", "tone_cap=.022", "--strings", "tens", "--keep")
    assert made.exit_code == 0, made.output
    guitar = read_guitar("mine.guitar.toml")
    assert (guitar.name, guitar.pickups[0].magnet.grade, guitar.string_set) == ("Mine", "alnico-2", "10-46")
    with open_notebook(own_notebook) as book:
        assert book.guitar(1) == guitar
    for called in ("Mine", "mi", "1", "mine.guitar.toml", "./mine.guitar.toml"):
        assert ask("check", called, "--quick")["name"] == "Mine"
    again = run("new", "mine.guitar.toml", *MINE)
    assert again.exit_code == 2
    assert "--replace" in again.output
    assert run("new", "mine.guitar.toml", *MINE, "--replace").exit_code == 0


def test_asked_in_the_terminal_every_question_may_stay_open() -> None:
    controls = [""] * sum(not one.more for one in OF_CONTROLS)
    # name, strings, tuning, scale | place, construction, magnet, gaps, resistance, cover, plate | one more? | controls
    typed = "\n".join(["Asked", "", "", "", "3", "1", "", "19", "", "", "3", "", "n", *controls, "1.9", ""])
    made = run("new", "asked.guitar.toml", typed=typed)
    assert made.exit_code == 0, made.output
    assert "gap at the thickest string is 19 mm" in made.output  # said at once, and asked again
    (pickup,) = read_guitar("asked.guitar.toml").pickups
    assert (pickup.position, pickup.gap_bass) == ("bridge", pytest.approx(1.9e-3))
    assert pickup.cover is not None and pickup.cover.material == "brass"  # the third of its words


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("x.guitar.toml", "-p", "neck magnet=A5"), "says no construction"),
        (("x.guitar.toml", "-p", "neck construction=humbucker warmth=3"), "there is no 'warmth'"),
        (("x.guitar.toml", "-p", "neck construction=single coil"), "which may mean"),
        (  # as it was typed: nobody wrote a file
            ("x.guitar.toml", "-p", "neck construction=humbucker resistance=7800"),
            "neck pickup: DC resistance is 7800 kohm; pickups lie between 1 and 30 kohm. If that is ohm: that is 7.8",
        ),
        (("x.guitar.toml", "-p", "neck construction=humbucker gap_bass=-2"), "neck pickup: gap at the thickest string"),
        (("x.txt", "-p", "neck construction=humbucker"), "ends in .guitar.toml"),
        (("x.guitar.toml", "-p", "neck construction=humbucker", "--control", "tone_cap"), "KEY=VALUE"),
    ],
)
def test_slips_of_new_are_named_and_nothing_is_written(words: tuple[str, ...], said: str, tmp_path: Path) -> None:
    made = run("new", *words)
    assert made.exit_code == 2
    assert said in made.output
    assert not list(tmp_path.glob("x*"))


def test_check_lists_faults_and_says_no() -> None:
    Path("bad.guitar.toml").write_text(
        '[[pickups]]\nname = "a"\nposition = "neck"\nconstruction = "humbucker"\ngap_bass_mm = 25\ncolour = "red"\n'
    )
    said = run("check", "bad.guitar.toml")
    assert said.exit_code == 1
    assert "2 faults" in said.output
    assert "gap at the thickest string" in said.output
    assert ask("check", "bad.guitar.toml")["usable"] is False
    assert run("check", "none.guitar.toml").exit_code == 2


def test_check_says_what_looks_odd_and_what_is_assumed_by_what_it_is() -> None:
    Path("odd.guitar.toml").write_text(DEMO.read_text().replace("gap_treble_mm = 2.2", "gap_treble_mm = 3.4"))
    said = run("check", "odd.guitar.toml", "--quick")
    assert said.exit_code == 0
    assert "Look at this again: neck pickup has a larger gap on the treble side" in said.output
    assert "way the magnet was charged" in said.output
    assert "_mm" not in said.output
    assert "more assumed values; --assumed lists them" in said.output
    assert "keeper length" in run("check", "odd.guitar.toml", "--quick", "--assumed").output


def hung(pickup: str, *shares: tuple[str, str, float]) -> HangsOn:
    return HangsOn(
        pickup=pickup, spread={"level": (-1.0, 1.0)},
        shares=tuple(
            Share(
                words=words, settle=settle, path="controls.cable_pf" if words == "cable" else "", share=share,
                first={"level": share}, total={"level": share}, moves={"level": 4.0 * share}, most="level",
            )
            for words, settle, share in shares
        ),
    )  # fmt: skip


def test_check_shows_first_what_a_measurement_settles_most(monkeypatch: pytest.MonkeyPatch) -> None:
    known = {
        "neck": hung("neck", ("cable", "capacitance meter", 0.5), ("steel of the strings", "", 0.3)),
        "bridge": hung("bridge", ("cable", "capacitance meter", 0.4), ("turns of the coils", "LCR meter", 0.2)),
    }
    monkeypatch.setattr("polepiece.bench.known_hangs_on", lambda _, name: known[name])
    body = ask("check", DEMO)
    assert [(one["words"], one["share"]) for one in body["measure_first"]] == [
        ("cable", 0.5),
        ("turns of the coils", 0.2),
    ]
    assert body["measure_first"][0]["moves_db"] == 2.0
    assert [one["words"] for one in body["not_settled_at_a_bench"]] == ["steel of the strings"]
    said = run("check", DEMO).output
    assert "Measure these first" in said
    assert "bridge pickup: turns of the coils" in said
    assert "Nothing at the bench settles: neck pickup: steel of the strings 30 %." in said


def test_objects_have_the_keys_that_others_script_against(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("polepiece.bench.known_hangs_on", lambda _, name: hung(name))
    against("check", ask("check", DEMO))
    against("new", ask("new", "mine.guitar.toml", *MINE))


def test_check_finds_it_once_and_predict_says_it(monkeypatch: pytest.MonkeyPatch) -> None:
    asked = []

    def found(_: Guitar, name: str, **more: object) -> HangsOn:
        asked.append(name)
        return hung(name, ("cable", "capacitance meter", 0.5))

    monkeypatch.setattr("polepiece.bench.known_hangs_on", lambda *_: None)
    monkeypatch.setattr("polepiece.bench.hangs_on", found)
    assert ask("check", DEMO, "--pickup", "neck")["measure_first"][0]["words"] == "cable"
    assert asked == ["neck"]
    one = ("predict", DEMO, "-p", "neck", "-c", "volume_pot=250k", "--draws", "8")
    assert f"polepiece check {DEMO} finds it" in run(*one).output
    monkeypatch.setattr(
        "polepiece.bench.known_hangs_on", lambda _, name: hung(name, ("cable", "capacitance meter", 0.5))
    )
    assert "Measure this first: cable, on which 50 % of the spread" in run(*one).output
    assert ask(*one)["measure_first"][0]["settle"] == "capacitance meter"


def test_a_name_that_fits_nothing_lists_what_is_on_record(own_notebook: Path) -> None:
    nothing = run("strings", "Red")
    assert nothing.exit_code == 2
    assert "there is no notebook yet" in nothing.output
    assert not own_notebook.exists()  # none is made for asking
    with open_notebook(own_notebook) as book:
        book.add_guitar(read_guitar(DEMO), name="Red one")
        book.add_guitar(read_guitar(DEMO), name="Red two")
    said = run("check", "Blue", "--quick").output
    assert "1: Red one; 2: Red two" in said
    assert "may be any of several" in run("check", "red", "--quick").output
    assert run("check", "2", "--quick").exit_code == 0
    Path("Red one").write_text(DEMO.read_text())
    both = run("check", "Red one", "--quick")
    assert both.exit_code == 2
    assert "write ./Red one" in both.output
    assert run("check", "./Red one", "--quick").exit_code == 0
    Path("guitar").write_text(DEMO.read_text())
    assert json.loads(run("check", "guitar", "--quick", "--json").stdout)["usable"] is True
