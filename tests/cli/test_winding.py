"""`polepiece winding`: a coil, a batch, a target; what it prints, writes and refuses."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from typer.testing import CliRunner

from polepiece.bench import bench as bench_module
from polepiece.cli.commands import app
from polepiece.guitar import read_guitar, wound_turns
from polepiece.pickup.engine import COARSE
from tests.cli.conftest import DEMO, ask, strict
from tests.cli.test_surface import FIXTURES, lacks, shape

NECK = (str(DEMO), "--pickup", "neck")


@pytest.fixture(autouse=True)
def coarse(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setattr(bench_module, "Resolution", lambda: COARSE)
    yield


def said(*arguments: "str | Path") -> str:
    result = CliRunner().invoke(app, [*map(str, arguments)])
    assert result.exit_code == 0, result.output
    return result.output


def refused(*arguments: "str | Path") -> str:
    result = CliRunner().invoke(app, [*map(str, arguments)])
    assert result.exit_code == 2, result.output
    assert "Traceback" not in result.output
    return result.output


@pytest.fixture
def batch(tmp_path: Path) -> Path:
    rng, rows = np.random.default_rng(2), ["Name;R [kohm];L [H];test frequency [Hz]"]
    for k, (r, h) in enumerate(np.exp(rng.normal(0.0, 0.01, (60, 2)))):
        wrong = 1.29 if k % 12 == 5 else 1.0  # five coils off the next spool
        rows.append(f"A-{k + 1};{7.9 * r * wrong:.2f};{4.4 * h:.2f};1000".replace(".", ","))
    path = tmp_path / "coils.csv"
    path.write_text("\n".join(rows), encoding="utf-8")
    return path


def held(name: str, body: dict[str, Any]) -> None:
    """Hold an object against its fixture: keys may be added, none may go or change its kind."""
    fixture = strict((FIXTURES / f"{name}.json").read_text(encoding="utf-8"))
    assert not lacks(shape(fixture), shape(body))
    assert body["schema"] == fixture["schema"]


def test_a_coil_of_a_resistance_and_a_gauge_and_the_guitar_with_it(tmp_path: Path) -> None:
    new = tmp_path / "new.guitar.toml"
    body = ask("winding", "coil", *NECK, "-r", "8.0k", "-g", "43", "--write", new)
    held("winding-coil", body)
    (one,) = body["windings"]
    assert body["told"].startswith("8 kohm, AWG 43 on this bobbin:")
    assert f"{round(one['turns']['value'], -1):,.0f} turns a coil" in body["told"]
    assert one["turns"]["low"] < one["turns"]["value"] < one["turns"]["high"]
    written = read_guitar(new).pickup("neck")
    assert written.coils[0].wire_awg == 43 and written.resistance == 8000.0
    assert wound_turns(written)[0] == pytest.approx(one["turns"]["value"], rel=1e-6)
    assert body["electrical_of_the_first"]["resonance_hz"]["value"] > 1000.0


def test_counted_turns_are_written_as_turns(tmp_path: Path) -> None:
    new = tmp_path / "new.guitar.toml"
    ask("winding", "coil", *NECK, "-n", "4321", "-g", "42", "--quick", "--write", new)
    written = read_guitar(new).pickup("neck")
    assert wound_turns(written) == (4321.0, 4321.0) and written.resistance is None


def test_a_stock_bobbin_needs_no_guitar() -> None:
    stock = ("--construction", "rod-single", "--size", "outer_half_x_mm=8.4")
    told = said("winding", "coil", *stock, "-r", "6.2k", "--fill", "55%", "--quick")
    assert "6.2 kohm, a window filled to 55% on this bobbin: AWG 42" in told
    assert "90 %" in told


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("-r", "8k", "-g", "42"), "say which bobbin"),
        ((*NECK, "--construction", "humbucker", "-r", "8k", "-g", "42"), "say which bobbin"),
        ((*NECK, "--size", "top_mm=12", "-r", "8k", "-g", "42"), "--size belongs"),
        ((*NECK, "-r", "8k"), "two things at least"),
        ((*NECK, "-r", "8", "-g", "42"), "kohm"),
        ((*NECK, "-r", "8k", "-n", "10000", "-g", "42", "--quick"), "those of both coils"),
        ((*NECK, "-g", "42", "--fill", "x"), "fill is 'x'; write 92%"),
        ((*NECK, "-g", "42", "-l", "4.4", "--quick"), "leave one of them out"),
        ((*NECK, "-g", "42", "-n", "5000", "--build", "thin"), "single and heavy"),
        ((*NECK, "-g", "0.063", "-n", "5000"), "whole number"),
        (("--construction", "cigar", "-g", "42", "-n", "5000"), "construction"),
    ],
)
def test_what_a_coil_cannot_be_asked(arguments: tuple[str, ...], words: str) -> None:
    assert words in refused("winding", "coil", *arguments)


def test_a_batch_names_the_coils_off_another_spool(batch: Path, tmp_path: Path) -> None:
    chart = tmp_path / "coils.svg"
    body = ask("winding", "batch", batch, "--chart", chart)
    held("winding-batch", body)
    out = {one["name"]: one["causes"][0]["key"] for one in body["coils"] if one["stands_out"]}
    assert {f"A-{k + 1}": "wire" for k in range(5, 60, 12)}.items() <= out.items()
    assert "AWG 43 would be +29.1 %" in next(one for one in body["coils"] if one["stands_out"])["causes"][0]["words"]
    assert chart.read_text(encoding="utf-8").startswith("<svg")
    told = said("winding", "batch", batch)
    assert "60 coils:" in told and "A-6" in told and "A-7" not in told
    assert "A-7" in said("winding", "batch", batch, "--all")


def test_a_page_of_a_batch_is_as_long_for_any_number_of_coils(batch: Path, tmp_path: Path) -> None:
    head, *rows = batch.read_text(encoding="utf-8").splitlines()
    long = tmp_path / "long.csv"
    many = [f"{k}-{row}" for k in range(20) for row in rows]
    long.write_text("\n".join([head, *many]), encoding="utf-8")
    told = said("winding", "batch", long)
    assert "1200 coils" in told and "more stand out; --all lists them" in told
    assert len(told.splitlines()) < 160  # 40 coils of at most three lines, and the heads


def test_a_batch_is_refused_with_its_row_and_a_head_can_be_told(batch: Path, tmp_path: Path) -> None:
    assert "5 at least" in refused("winding", "batch", _cut(batch, tmp_path, 4))
    other = tmp_path / "other.csv"
    other.write_text(batch.read_text("utf-8").replace("R [kohm]", "Widerstand"), encoding="utf-8")
    assert "no column of direct resistance" in refused("winding", "batch", other)
    book = tmp_path / "n.sqlite"
    told = said("winding", "batch", other, "--column", "Widerstand=direct resistance kohm", "--notebook", book)
    assert "60 coils" in told
    assert "60 coils" in said("winding", "batch", other, "--notebook", book)  # kept


def _cut(path: Path, folder: Path, rows: int) -> Path:
    lines = path.read_text("utf-8").splitlines()[: rows + 1]
    out = folder / "short.csv"
    out.write_text("\n".join(lines), encoding="utf-8")
    return out


def test_a_target_is_met_and_told(tmp_path: Path) -> None:
    some = ("--grade", "alnico-5", "-g", "42", "-g", "43", "--draws", "8")
    body = ask("winding", "target", *NECK, "--resonance", "3k", *some)
    held("winding-target", body)
    best = body["found"][0]
    assert best["resonance_hz"] == pytest.approx(3000.0, rel=2e-3)  # a turn is 0.02 % of it
    assert f"{best['turns']:,.0f} turns a coil" in body["told"]
    told = said("winding", "target", *NECK, "--resonance", "3k", *some)
    assert "Nearest, for neck" in told and "as far as" in told


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((), "a curve or a resonance"), (("--resonance", "3.2"), "3.2 kHz"),
        (("--column", "a", "--resonance", "3k"), "--column"),
        (("--curve", "nowhere.csv"), "no such file"), (("--resonance", "3k", "-g", "30"), "40 to 46"),
    ],
)  # fmt: skip
def test_what_cannot_be_aimed_at(arguments: tuple[str, ...], words: str) -> None:
    assert words in refused("winding", "target", *NECK, *arguments)


@pytest.mark.parametrize("name", ["coil", "batch", "target"])
def test_help_has_an_example_and_json(name: str) -> None:
    told = " ".join(said("winding", name, "--help").split())
    assert f"Example: polepiece winding {name}" in told and "--json" in told
