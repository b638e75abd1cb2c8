"""The same study on a real cluster of this machine (scheduler and workers are processes that talk over loopback)."""

import os
import signal
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pyarrow.parquet as pq
import pytest

from polepiece.errors import InputError
from polepiece.guitar import read_guitar
from polepiece.study import Cluster, PartsFolder, parse_axis, plan_study, run_study

distributed = pytest.importorskip("distributed")
DEMO = read_guitar(Path(__file__).parents[3] / "examples" / "demo.guitar.toml")


@pytest.fixture
def cluster() -> Iterator[Any]:
    """Two workers of one thread, each watched by a nanny that starts another when it is killed."""
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, host="127.0.0.1", dashboard_address=None
    ) as found:
        yield found


def test_a_worker_that_is_killed_half_way_loses_and_doubles_nothing(tmp_path: Path, cluster: Any) -> None:
    """One of two is killed as the first chunk comes in: the scheduler gives its chunks to the others."""
    axes = [parse_axis(one, DEMO, 0) for one in ("lower=0..0.9mm:10", "cable=300pF/as-is", "volume=7/as-is")]
    plan, path = plan_study(DEMO, "neck", axes, coarse=True, chunk_rows=2), tmp_path / "s.parquet"
    parts, workers = PartsFolder(path, plan), Cluster(cluster.scheduler_address)
    killed: list[int] = []

    def kill(done: int, of: int) -> None:
        if done and not killed:
            killed.append(cluster.workers[0].process.pid)
            os.kill(killed[0], signal.SIGKILL)

    try:
        assert workers.size == 2
        assert run_study(plan, parts, workers, progress=kill) == plan.count == 40
    finally:
        workers.close()
    assert killed
    parts.finish()
    rows = pq.read_table(path).to_pylist()
    assert [row["candidate"] for row in rows] == list(range(40))
    levels = [row["level_db"] for row in rows]
    assert len(set(levels)) == 40  # each one of its own
    first = [row["level_db"] for row in rows if (row["cable"], row["volume"]) == ("as-is", "as-is")]
    assert first == sorted(first, reverse=True)  # lower is softer


def test_nobody_there_is_said_with_what_to_start() -> None:
    with pytest.raises(InputError, match="dask scheduler"):
        Cluster("tcp://127.0.0.1:9", timeout_s=0.3)
