"""Strings near a cover: refused in a bench's words before anything is computed under it."""

import threading
from pathlib import Path

import pytest
from typer.testing import CliRunner

from polepiece.bench import Bench
from polepiece.cli.commands import app
from polepiece.coil.sheets import Sheets
from polepiece.errors import InputError
from polepiece.guitar import Guitar, parse_guitar, safe_gaps, string_gaps
from polepiece.guitar.file.unusual import cautions
from polepiece.guitar.gaps import OVER_COVER, over_cover
from polepiece.moves import apply, parse_changes
from polepiece.pickup.engine import COARSE

HIGH = '[pickups.cover]\nmaterial = "brass"\nz_mm = 18.6\nthickness_mm = 0.4\n'  # 1.8 mm over the rods' tops


def rods(more: str, treble: float = 2.5, bass: float = 3.2) -> Guitar:
    head = 'name = "G"\n[[pickups]]\nname = "p"\nposition = "bridge"\nconstruction = "rod-single"\n'
    return parse_guitar(f"{head}gap_treble_mm = {treble}\ngap_bass_mm = {bass}\n{more}")


def test_safe_gaps_count_the_cover() -> None:
    bare, covered = rods("").pickups[0], rods(HIGH).pickups[0]
    assert safe_gaps(bare)[0] == pytest.approx(2.0e-3)
    assert safe_gaps(covered)[0] == pytest.approx(1.8e-3 + OVER_COVER)
    lowest = [gap - safe for gap, safe in zip(string_gaps(covered), safe_gaps(covered))]
    assert lowest[0] == pytest.approx(over_cover(covered)[0] - OVER_COVER)  # the treble side meets the cover first


def test_a_move_that_would_touch_is_refused_and_one_short_of_it_is_solved() -> None:
    with pytest.raises(InputError, match=r"raise=0\.4mm: string 1 of p would touch the cover.*0\.3 mm over it"):
        apply(rods(HIGH), "p", parse_changes(["raise=0.4mm"]))
    moved = apply(rods(HIGH), "p", parse_changes(["raise=0.2mm"]))
    assert min(over_cover(moved.pickups[0])) == pytest.approx(OVER_COVER)
    assert (
        Bench(resolution=COARSE).state(moved, "p").level_db > Bench(resolution=COARSE).state(rods(HIGH), "p").level_db
    )


def test_a_cover_is_not_put_on_into_the_strings() -> None:
    with pytest.raises(InputError, match="cover=brass: string 1 of p would touch the cover"):
        apply(rods("", treble=1.4), "p", parse_changes(["cover=brass"]))


def test_a_guitar_whose_strings_lie_in_its_cover_is_asked_about_and_not_computed() -> None:
    low = rods(HIGH, treble=1.6)
    assert any("string 1 -0.2 mm over its cover" in one for one in cautions(low))
    with pytest.raises(InputError, match=r"string 1 would touch the cover of p.*were they measured from the cover"):
        Bench(resolution=COARSE).state(low, "p")


def test_the_commands_say_so(tmp_path: Path) -> None:
    path = tmp_path / "low.guitar.toml"
    path.write_text(
        'name = "G"\n[[pickups]]\nname = "p"\nposition = "bridge"\nconstruction = "rod-single"\n'
        f"gap_treble_mm = 1.6\ngap_bass_mm = 3.2\n{HIGH}"
    )
    for command in (["predict", "--change", "tone=3"], ["grades"], ["plan", "--complaint", "p: dull"]):
        found = CliRunner().invoke(app, [command[0], str(path), *command[1:]])
        assert found.exit_code == 2 and "would touch" in found.output, command


def test_kernels_that_have_threads_of_their_own_are_called_from_one_thread(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The work queue of numba ends the process when two threads are in it; where that is, is no choice of ours."""
    whose: list[threading.Thread] = []
    potential = Sheets.potential
    monkeypatch.setenv("POLEPIECE_CACHE", "")

    def seen(sheets: Sheets, points: object) -> object:
        whose.append(threading.current_thread())
        return potential(sheets, points)  # type: ignore[arg-type]

    monkeypatch.setattr(Sheets, "potential", seen)
    Bench(resolution=COARSE).state(rods(HIGH.replace("18.6", "18.7")), "p")
    assert len(whose) > 1
    assert set(whose) == {threading.current_thread()}
