"""Progress on stderr: silent for half a second, then a bar on a terminal or a line now and then elsewhere."""

import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

AFTER, EVERY = 0.5, 2.0  # s

Report = Callable[[int, int], None]


class TimeLeft:
    """How long the rest takes at the pace so far; what was done before the first look counts as no work."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._first: tuple[float, int] | None = None

    def words(self, done: int, total: int) -> str:
        """Return ", 3 min left"; nothing while no pace is known."""
        now = self._clock()
        if self._first is None:
            self._first = (now, done)
        began, before = self._first
        if done <= before or done >= total:
            return ""
        return f", {spoken_time((now - began) / (done - before) * (total - done))} left"


def spoken_time(seconds: float) -> str:
    """Return a stretch of time as it is said: 40 s, 12 min, 3 h 20 min, 2 days 4 h.

    >>> [spoken_time(one) for one in (40, 700, 12_000, 187_000)]
    ['40 s', '12 min', '3 h 20 min', '2 days 4 h']
    """
    if seconds < 90:
        return f"{max(round(seconds), 1)} s"
    minutes = round(seconds / 60)
    if minutes < 120:
        return f"{minutes} min"
    hours, rest = divmod(minutes, 60)
    return f"{hours} h {rest} min" if hours < 48 else f"{hours // 24} days {hours % 24} h"


class _Lines:
    """Plain lines, for logs and pipes; never fewer done than in the line before, and none after the end."""

    def __init__(self, label: str, left: TimeLeft | None = None) -> None:
        self._label, self._next, self._left = label, time.monotonic() + AFTER, left
        self._shown, self._closed = -1, False
        self._lock = threading.Lock()
        self._timer = threading.Timer(AFTER, self._say, args=(0, ""))
        self._timer.daemon = True
        self._timer.start()

    def _say(self, done: int, words: str) -> None:
        with self._lock:
            if self._closed or done <= self._shown:
                return
            sys.stderr.write(f"{self._label} ...{words}\n")
            sys.stderr.flush()
            self._shown, self._next = done, time.monotonic() + EVERY

    def say(self, text: str) -> None:
        """Write one line beside the progress."""
        with self._lock:
            sys.stderr.write(f"{text}\n")
            sys.stderr.flush()

    def step(self, done: int, total: int) -> None:
        more = "" if self._left is None else self._left.words(done, total)
        if time.monotonic() >= self._next and done:
            self._say(done, f" {done} of {total}{more}")

    def close(self) -> None:
        self._timer.cancel()
        with self._lock:
            self._closed = True


class _Bar:
    """A bar on a terminal; made when half a second has gone."""

    def __init__(self, label: str, left: TimeLeft | None = None) -> None:
        self._label, self._bar, self._task, self._total = label, None, None, None
        self._left = left
        self._closed = False
        self._lock = threading.Lock()
        self._timer = threading.Timer(AFTER, self._show)
        self._timer.daemon = True
        self._timer.start()

    _bar: Any
    _task: Any
    _total: int | None

    def _show(self) -> None:
        from rich.console import Console
        from rich.progress import BarColumn, MofNCompleteColumn, Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

        with self._lock:
            if self._closed:
                return
            columns = (SpinnerColumn(), TextColumn("{task.description}"), BarColumn(), TimeElapsedColumn())
            self._bar = Progress(*columns, MofNCompleteColumn(), console=Console(stderr=True), transient=True)
            self._task = self._bar.add_task(self._label, total=self._total)
            self._bar.start()

    def say(self, text: str) -> None:
        """Write one line above the bar."""
        with self._lock:
            if self._bar is not None:
                self._bar.console.print(text, markup=False, highlight=False, soft_wrap=True)
            else:
                sys.stderr.write(f"{text}\n")
                sys.stderr.flush()

    def step(self, done: int, total: int) -> None:
        self._total = total
        more = "" if self._left is None else self._left.words(done, total)
        if self._bar is not None:
            self._bar.update(self._task, completed=done, total=total, description=f"{self._label}{more}")

    def close(self) -> None:
        self._timer.cancel()
        with self._lock:
            self._closed = True
            if self._bar is not None:
                self._bar.stop()


@contextmanager
def working(label: str) -> Iterator[Report]:
    """Show that ``label`` is being done; yields a function to call with (done, all)."""
    with working_aloud(label) as (step, _):
        yield step


@contextmanager
def working_aloud(label: str, *, time_left: bool = False) -> Iterator[tuple[Report, Callable[[str], None]]]:
    """As `working`; yields a second function that writes a line on stderr as soon as there is something to say.

    ``time_left`` says how long the rest takes at the pace so far.
    """
    left = TimeLeft() if time_left else None
    shown: _Bar | _Lines = _Bar(label, left) if sys.stderr.isatty() else _Lines(label, left)
    try:
        yield shown.step, shown.say
    finally:
        shown.close()
