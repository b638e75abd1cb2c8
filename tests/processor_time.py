"""Processor seconds of every test, its children's included: `python -m pytest -p tests.processor_time ...`.

The wall clock of a busy machine says little of what a test costs. What is counted is what this process and all that it
started (commands, servers, browsers, whole trees of them) have used before and after a test, set-up and tear-down
included; a process that leaves its parents on purpose (a database's) is not seen once it has. The end of the run has
a table by file and one of the dearest tests; with `-n` it sums over the workers. `--write-seconds` puts those of the
files that were run into `tests/seconds.json`, by which the long ones are handed out first.
"""

import json
import os
from collections import Counter
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest

from tests.distribution import LONG, SECONDS

TICKS = os.sysconf("SC_CLK_TCK") if hasattr(os, "sysconf") else 100
SHOWN = 40
KEY = "processor_seconds"
LEAST = 4.0  # s: what takes less is left to how many tests a file has


def used(root: int) -> float:
    """Return processor seconds (s) of a process and of its descendants, ended and waited for or still there."""
    own: dict[int, int] = {}
    below: dict[int, list[int]] = {}
    for folder in Path("/proc").iterdir():
        if not folder.name.isdigit():
            continue
        try:
            fields = (folder / "stat").read_text(encoding="utf-8", errors="replace").rpartition(")")[2].split()
        except OSError:  # it ended meanwhile
            continue
        own[int(folder.name)] = sum(map(int, fields[11:15]))  # utime, stime, cutime, cstime
        below.setdefault(int(fields[1]), []).append(int(folder.name))
    total, waiting = 0, [root]
    while waiting:
        one = waiting.pop()
        total += own.get(one, 0)
        waiting += below.get(one, [])
    return total / TICKS


_BEGUN = pytest.StashKey[float]()


@pytest.hookimpl(wrapper=True, tryfirst=True)
def pytest_runtest_protocol(item: pytest.Item) -> Iterator[None]:
    """Have the last report of a test carry what it used."""
    item.stash[_BEGUN] = used(os.getpid())
    return (yield)


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item, call: pytest.CallInfo[Any]) -> Iterator[Any]:
    """Write it on the report of the tear-down, which goes from a worker to the one who counts."""
    report = yield
    if call.when == "teardown":
        spent = max(
            0.0, used(os.getpid()) - item.stash[_BEGUN]
        )  # below 0 where a server that is killed takes its own along
        report.user_properties.append((KEY, spent))
    return report


def pytest_addoption(parser: pytest.Parser) -> None:
    """Have the option that writes down what was measured."""
    parser.addoption("--write-seconds", action="store_true", help="write tests/seconds.json anew, for the files run")


def renewed(before: dict[str, float], files: Mapping[str, float]) -> dict[str, float]:
    """Return seconds of the long files, the longest first: those of this run, and of others that are still there."""
    root = Path(__file__).parents[1]
    kept = {name: value for name, value in before.items() if name not in files and (root / name).is_file()}
    now = kept | {name: float(round(value)) for name, value in files.items() if value >= LEAST}
    return dict(sorted(now.items(), key=lambda one: (-one[1], one[0])))


def pytest_terminal_summary(terminalreporter: Any, config: pytest.Config) -> None:
    """Print both tables."""
    tests: dict[str, float] = {}
    files: Counter[str] = Counter()
    for reports in terminalreporter.stats.values():
        for report in reports:
            for name, value in getattr(report, "user_properties", ()):
                if name == KEY:
                    tests[report.nodeid] = value
    for nodeid, value in tests.items():
        files[nodeid.partition("::")[0]] += value
    if config.getoption("--write-seconds"):
        written = json.dumps(renewed(LONG, files), indent=1) + "\n"
        SECONDS.write_text(written, encoding="utf-8")
    terminalreporter.section(f"processor seconds: {sum(files.values()):.1f}")
    for found in (files, Counter(tests)):
        for name, value in found.most_common(SHOWN):
            terminalreporter.line(f"{value:8.2f} {name}")
        terminalreporter.line("")
