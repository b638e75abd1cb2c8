"""Peak memory of a command with all its processes, from the kernel's own account (Linux)."""

import subprocess
import time
from collections.abc import Iterator
from pathlib import Path

EVERY = 0.03  # s between looks


def peak_gibibytes(arguments: list[str], environment: dict[str, str]) -> float:
    """Return the largest sum of proportional set sizes (pages shared by n processes count 1/n) seen, GiB."""
    command = subprocess.Popen(
        arguments, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )  # fmt: skip
    most = 0
    while command.poll() is None:
        most = max(most, sum(_size(one) for one in _family(command.pid)))
        time.sleep(EVERY)
    if command.returncode != 0:
        raise RuntimeError(f"{' '.join(arguments)} left with {command.returncode}")
    return most / 2**20


def _family(process: int) -> Iterator[int]:
    yield process
    for listed in Path(f"/proc/{process}/task").glob("*/children"):
        try:
            children = listed.read_text().split()
        except OSError:
            continue
        for child in children:
            yield from _family(int(child))


def _size(process: int) -> int:
    """KiB; 0 for a process that is gone."""
    try:
        lines = Path(f"/proc/{process}/smaps_rollup").read_text().splitlines()
    except OSError:
        return 0
    return next((int(line.split()[1]) for line in lines if line.startswith("Pss:")), 0)
