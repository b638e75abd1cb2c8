"""A study from its first chunk to its table: rows as the bench says, goes on after a kill, nothing lost or doubled."""

import json
import os
import signal
from collections.abc import Callable, Iterator
from concurrent.futures import BrokenExecutor, Future
from pathlib import Path
from typing import Any

import pyarrow.parquet as pq
import pytest

from polepiece.bench import coarse_bench
from polepiece.cli.worker_processes import WorkerProcesses
from polepiece.errors import InputError, MeasurementError
from polepiece.guitar import draws, position_named, read_guitar
from polepiece.moves import apply, parse_changes
from polepiece.study import Lost, PartsFolder, StudyPlan, columns_of, parse_axis, plan_study, run_study

EXAMPLES = Path(__file__).parents[3] / "examples"
DEMO = read_guitar(EXAMPLES / "demo.guitar.toml")
USUAL = ("volume=0/7/as-is", "lower=0..0.6mm:2", "magnet=alnico-5/as-is", "cable=300pF/as-is")


def planned(*texts: str, rows: int = 5, **more: Any) -> StudyPlan:
    axes = [parse_axis(one, DEMO, 0) for one in texts or USUAL]
    return plan_study(DEMO, "neck", axes, coarse=True, chunk_rows=rows, **more)


class Here:
    """Workers that are this process; ``spoil`` may lose a call before or after its work."""

    size = 2

    def __init__(self, spoil: Callable[[int], str] = lambda _: "") -> None:
        self.calls, self.spoil = 0, spoil

    def submit(self, call: Callable[..., Any], /, *arguments: Any) -> "Future[Any]":
        self.calls += 1
        future: Future[Any] = Future()
        how = self.spoil(self.calls)
        if how == "stop":
            raise KeyboardInterrupt
        if how == "lost":
            future.set_exception(BrokenExecutor("gone"))
        else:
            future.set_result(call(*arguments))
        return future

    def is_lost(self, error: BaseException) -> bool:
        return isinstance(error, BrokenExecutor)

    def close(self) -> None:
        pass


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The table of an undisturbed run."""
    path = tmp_path_factory.mktemp("whole") / "all.parquet"
    plan = planned()
    parts = PartsFolder(path, plan)
    assert run_study(plan, parts, Here()) == plan.count == 24
    parts.finish()
    return path


def rows_of(path: Path) -> list[dict[str, Any]]:
    return sorted(pq.read_table(path).to_pylist(), key=lambda row: row["candidate"])


def test_rows_say_what_the_bench_says(whole: Path) -> None:
    """Together and alone differ by the order of sums, 1e-12."""
    bench = coarse_bench()
    for row in rows_of(whole):
        texts = [
            f"lower={row['lower_mm']}mm" if row["lower_mm"] else "",
            *(f"{key}={row[key]}" if row[key] != "as-is" else "" for key in ("magnet", "volume", "cable")),
        ]
        guitar = apply(DEMO, "neck", parse_changes(one for one in texts if one))
        try:
            state = bench.state(guitar, "neck")
        except MeasurementError as error:
            assert row["refused"] == str(error)
            assert row["level_db"] is None
            continue
        assert row["refused"] is None
        assert row["level_db"] == pytest.approx(state.level_db, abs=1e-9)
        assert row["bands_presence_db"] == pytest.approx(state.bands_db["presence"], abs=1e-9)
        assert (row["resonance_hz"] is None) == (state.resonance_hz is None)
        assert row["resonance_hz"] is None or row["resonance_hz"] == pytest.approx(state.resonance_hz, rel=1e-9)
        assert row["field_3_mt"] == pytest.approx(state.field_mt[2], rel=1e-9)
        known = [row[name] for name in ("dc_resistance_ohm", "h2_6_db", "string_balance_1_db", "bands_own_lows_db")]
        numbers = state.numbers()
        said = [numbers[key] for key in ("dc_resistance_ohm", "h2_db.6", "string_balance_db.1", "bands_own_db.lows")]
        assert known == pytest.approx(said, rel=1e-9)


def test_every_number_of_a_state_has_its_column() -> None:
    state, columns = coarse_bench().state(DEMO, "neck").numbers(), columns_of(planned().setup)
    assert set(state) <= {one.key for one in columns}
    assert len({one.name for one in columns}) == len(columns)


def test_a_turn_of_the_selector_is_heard_where_it_is_turned_to(tmp_path: Path) -> None:
    plan, path = planned("selector=neck+bridge/as-is"), tmp_path / "s.parquet"
    parts, bench = PartsFolder(path, plan), coarse_bench()
    run_study(plan, parts, Here())
    parts.finish()
    both, alone = rows_of(path)
    assert alone["level_db"] == pytest.approx(bench.state(DEMO, "neck").level_db, abs=1e-9)
    there = bench.heard_in(position_named(DEMO, "neck+bridge"))
    assert both["level_db"] == pytest.approx(there.state(DEMO, "neck").level_db, abs=1e-9)
    assert both["level_db"] != pytest.approx(alone["level_db"], abs=0.01)


def test_the_table_says_how_it_was_made(whole: Path) -> None:
    schema = pq.read_schema(whole)
    told = json.loads(schema.metadata[b"polepiece_sweep"])
    assert told["guitar_toml"].startswith("name = ") or "[[pickups]]" in told["guitar_toml"]
    assert told["constants"].startswith("sha256:")
    assert (told["seed"], told["design"], told["mesh"], told["count"]) == (0, "grid", "coarse", 24)
    assert {"version", "commit", "guitar_sha256", "position", "axes", "columns"} <= set(told)
    assert set(told["columns"]) == set(schema.names)
    assert schema.field("level_db").metadata[b"meaning"].startswith(b"level of the stated stroke")


def test_a_run_that_was_stopped_goes_on_where_it_was(tmp_path: Path, whole: Path) -> None:
    plan, path = planned(), tmp_path / "s.parquet"
    with pytest.raises(KeyboardInterrupt):
        run_study(plan, PartsFolder(path, plan), Here(lambda call: "stop" if call == 5 else ""))
    kept = PartsFolder(path, plan).finished()
    assert 0 < len(kept) < plan.chunks
    halves = sorted((path.parent / "s.parquet.parts").glob("*.parquet"))
    halves[0].write_bytes(halves[0].read_bytes()[:900])  # a disk that lost the end of one
    (halves[0].parent / "00000099.parquet.new").write_bytes(b"half")  # killed while it wrote
    seen: list[tuple[int, int]] = []
    parts, again = PartsFolder(path, plan), Here()
    made = run_study(plan, parts, again, progress=lambda a, b: seen.append((a, b)))
    assert again.calls == plan.chunks - len(kept) + 1
    assert 0 < made < plan.count
    assert seen[0] == (plan.count - made, plan.count)
    assert seen[-1] == (plan.count, plan.count)
    parts.finish()
    assert rows_of(path) == rows_of(whole)
    assert not parts.folder.exists()


def test_calls_that_are_lost_are_done_again_and_once(tmp_path: Path, whole: Path) -> None:
    plan, path = planned(), tmp_path / "s.parquet"
    parts = PartsFolder(path, plan)
    workers = Here(lambda call: "lost" if call in (1, 2, 5, 9) else "")
    run_study(plan, parts, workers)
    parts.finish()
    assert workers.calls > plan.chunks
    assert rows_of(path) == rows_of(whole)


def test_a_chunk_that_always_ends_its_worker_is_named(tmp_path: Path) -> None:
    plan = planned()
    with pytest.raises(Lost, match=r"chunk \d+ ended its worker 4 times.*begins with magnet="):
        run_study(plan, PartsFolder(tmp_path / "s.parquet", plan), Here(lambda _: "lost"))


def test_parts_of_another_study_are_not_mixed_in(tmp_path: Path) -> None:
    plan, path = planned(), tmp_path / "s.parquet"
    parts = PartsFolder(path, plan)
    with pytest.raises(InputError, match="parts are missing"):
        parts.finish()
    with pytest.raises(InputError, match="another sweep"):
        PartsFolder(path, planned(seed=1))
    assert PartsFolder(path, planned(seed=1), replace=True).finished() == frozenset()


def test_a_worker_with_other_constants_refuses(tmp_path: Path) -> None:
    from dataclasses import replace

    plan = planned()
    other = replace(plan, setup=replace(plan.setup, constants="sha256:other"))
    with pytest.raises(InputError, match="a worker has polepiece"):
        run_study(other, PartsFolder(tmp_path / "s.parquet", other), Here())


def test_possible_guitars_are_rows_of_their_candidate(tmp_path: Path) -> None:
    plan, path = planned("cable=300pF/as-is", "resistance_kohm=7.6/8.1", draws=8), tmp_path / "s.parquet"
    parts = PartsFolder(path, plan)
    run_study(plan, parts, Here())
    parts.finish()
    rows = rows_of(path)
    assert [row["draw"] for row in rows] == list(range(9)) * 4
    first, other = (
        next(
            row
            for row in rows
            if row["cable"] == "as-is" and row["pickups_0_resistance_kohm"] == read and row["draw"] == 5
        )
        for read in (7.6, 8.1)
    )
    at = {one.key: value for one, value in zip(plan.setup.axes, plan.design.values(first["candidate"]))}
    guitar = plan.setup.filed(tuple(at[one.key] for one in plan.setup.axes))
    found = coarse_bench().drawn(guitar, "neck", draws(8, 0))[4]
    assert first["level_db"] == pytest.approx(found["level_db"], abs=1e-9)
    assert other["level_db"] > first["level_db"] + 0.1  # more turns of the same wire


@pytest.fixture
def processes() -> Iterator[WorkerProcesses]:
    two = WorkerProcesses(2)
    yield two
    two.close()


def test_a_process_that_is_killed_half_way_loses_and_doubles_nothing(
    tmp_path: Path, whole: Path, processes: WorkerProcesses
) -> None:
    """One of two is killed as the first chunk comes in: its calls are handed over again."""
    plan, path = planned(), tmp_path / "s.parquet"
    parts, killed = PartsFolder(path, plan), []

    def kill(done: int, of: int) -> None:
        if done and not killed:
            killed.append(processes.pids[0])
            os.kill(killed[0], signal.SIGKILL)

    run_study(plan, parts, processes, progress=kill)
    assert killed
    assert killed[0] not in processes.pids
    parts.finish()
    found, known = rows_of(path), rows_of(whole)
    assert len(found) == len(known)
    for one, other in zip(found, known):  # a process begins near what it has solved: Newton stops at 1e-8 of the charge
        figures = [key for key, value in other.items() if isinstance(value, float)]
        assert [one[key] for key in figures] == pytest.approx([other[key] for key in figures], rel=1e-6)
        assert {key: one[key] for key in other if key not in figures} == {
            k: other[k] for k in other if k not in figures
        }
