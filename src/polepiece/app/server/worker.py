"""What runs in the processes beside the server: questions answered at once, and long work.

Imported in every worker, so nothing of the page is imported here.
"""

import os
import signal
import time
import warnings
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from multiprocessing.connection import Connection
from typing import Any, Protocol

from polepiece.app.guitar.grade_sheets import every_grade
from polepiece.app.hear.sounds import describe_sounds, make_sound
from polepiece.app.hear.trade_work import say_trade_words
from polepiece.app.hear.unlike_work import unlike_in
from polepiece.app.listen.work import present, reach, ready
from polepiece.app.prove.sweep_work import measure_sweep
from polepiece.app.prove.work import compare_takes, make_ledger
from polepiece.app.sheet.work import make_pdf, make_sheet
from polepiece.app.winding.work import aim_winding, work_out_coil
from polepiece.auditioning import Audition, audition
from polepiece.bench import (
    Bench,
    Ear,
    Grades,
    HangsOn,
    NearBench,
    Prediction,
    State,
    compare_grades,
    half_a_turn_up,
    hangs_on,
    heard_by,
    most_common,
    position_heard,
    position_of,
    predict,
)
from polepiece.errors import PolepieceError
from polepiece.guitar import Complaint, Guitar
from polepiece.moves import parse_changes
from polepiece.pickup import anatomy, string_places
from polepiece.planning import Constraints, Plan, make_plan
from polepiece.trade import JudgedCell, trade_verdicts


class Progress(Protocol):
    """Says how far a work is; ``told`` is what it found so far, a sentence each."""

    def __call__(self, done: int, total: int, words: str, told: Sequence[str] = ()) -> None: ...


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Answer:
    """The state of one pickup as far as it can be told at once."""

    state: State | None  # None: this geometry has never been solved, so nothing can be said yet
    exact: bool  # False: each screw taken over a pickup whose screws all stand like it, until the exact one is there
    seconds: float
    turned: bool = False  # `Desk.turned` makes it exact: seconds the first time, less than one after that


@dataclass(frozen=True, slots=True, kw_only=True)
class Failure:
    """What went wrong in a worker, as it travels back."""

    error: BaseException
    known: bool  # one of ours: its words are for people


# ---------------------------------------------------------------------------------------------- at once


class LiveBenches:
    """The benches of the live process, and which geometries they can answer for without long work.

    ``heard`` names a position of the switches; None: each pickup where it is usually heard.
    """

    def __init__(self) -> None:
        self.exact, self.quick = Bench(), NearBench()
        self.ready: set[object] = set()

    def state(self, guitar: Guitar, pickup: str, solved: bool = False, heard: str | None = None) -> Answer:
        """Return the state, if it takes no new geometry; ``solved`` tells that one is on the disk by now."""
        begun = time.perf_counter()
        at = position_of(guitar, pickup, heard)
        on = [guitar.pickup(one) for one in position_heard(guitar, guitar.pickup(pickup).name, at).on]
        keys = [_geometry(guitar, one.name) for one in on]
        found: State | None = None
        exact = solved or all(key in self.ready for key in keys)
        if exact:
            found = self.exact.heard_in(at).state(guitar, guitar.pickup(pickup).name)
            self.ready.update(keys)
        elif all(key in self.ready or self._can_screen(guitar, one.name) for key, one in zip(keys, on)):
            found = self.quick.heard_in(at).state(guitar, guitar.pickup(pickup).name)
        stands = [key in self.ready or len(set(one.poles.screw_raise)) > 1 for key, one in zip(keys, on)]
        turned = not exact and all(stands)  # by exchange: no job
        return Answer(state=found, exact=exact, seconds=time.perf_counter() - begun, turned=turned)

    def turned(self, guitar: Guitar, pickup: str, heard: str | None = None) -> Answer:
        """Return the exact state of a pickup some of whose screws stand alone, from the one whose screws stand alike.

        The first one on a geometry takes some three seconds, each further one half of one.
        """
        begun = time.perf_counter()
        found = self._at(guitar, pickup, heard).state(guitar, guitar.pickup(pickup).name)
        return Answer(state=found, exact=True, seconds=time.perf_counter() - begun)

    def interval(
        self, before: Guitar, after: Guitar, pickup: str, heard: str | None = None
    ) -> dict[str, tuple[float, float]]:
        """Return the 90 % intervals of after minus before; both geometries are on the disk by now."""
        return self._at(before, pickup, heard).interval(before, after, pickup)

    def span(self, guitar: Guitar, pickup: str, heard: str | None = None) -> dict[str, tuple[float, float]]:
        """Return the 90 % intervals of one state itself."""
        return self._at(guitar, pickup, heard).span(guitar, pickup)

    def regap(self, before: Guitar, after: Guitar, pickup: str, heard: str | None = None) -> float:
        """Return how far to lower ``after`` (negative: raise) for the level of ``before``, m, within what is safe."""
        bench = self._at(before, pickup, heard)
        return bench.regap(bench.state(before, pickup), after, pickup)[1]

    def _at(self, guitar: Guitar, pickup: str, heard: str | None) -> Bench:
        return self.exact.heard_in(position_of(guitar, pickup, heard))

    def _can_screen(self, guitar: Guitar, pickup: str) -> bool:
        """Tell whether this pickup was solved with its screws alike, as most stand and higher: then it is near them."""
        heights, *rest = _geometry(guitar, pickup)
        assert isinstance(heights, tuple)
        if not heights:
            return False
        up, *_ = _geometry(half_a_turn_up(guitar, pickup), pickup)
        return all((one, *rest) in self.ready for one in ((most_common(heights),) * len(heights), up))


def _geometry(guitar: Guitar, pickup: str) -> tuple[object, ...]:
    """Return what the long solution of a pickup depends on, its screws' heights first."""
    the_pickup = guitar.pickup(pickup)
    shape = anatomy(the_pickup)
    rods = tuple(rod for rod in shape.assembly.rods if rod.part != "screws")
    y, _ = string_places(guitar, the_pickup)
    rest = (rods, shape.assembly.bars, shape.assembly.magnets, shape.coils, shape.plates, tuple(map(float, y)))
    return (the_pickup.poles.screw_raise, *rest)


def answer_questions(line: Connection) -> None:
    """Answer (question, arguments) until the line closes: the main loop of the live process."""
    _settle_down()
    desk = LiveBenches()
    questions: dict[str, Callable[..., object]] = {
        "state": desk.state,
        "turned": desk.turned,
        "interval": desk.interval,
        "span": desk.span,
        "regap": desk.regap,
        "alive": lambda: True,
    }
    while True:
        try:
            name, arguments = line.recv()
        except (EOFError, OSError):
            return
        reply: object
        try:
            reply = questions[name](*arguments)
        except Exception as error:
            reply = _failure(error)
        try:
            line.send(reply)
        except (BrokenPipeError, OSError):
            return


# -------------------------------------------------------------------------------------------- long work


def _solve(progress: Progress, guitar: Guitar, pickup: str, heard: str | None = None) -> State:
    """Solve a geometry and keep it on disk; the state comes with it."""
    progress(0, 1, "solving the magnets, steel and coils of this geometry")
    return Bench().heard_in(position_of(guitar, pickup, heard)).state(guitar, pickup)


def _grades(
    progress: Progress, guitar: Guitar, pickup: str, seed: int = 0, heard: str | None = None
) -> tuple[Grades, tuple[JudgedCell, ...]]:
    bench = Bench(seed=seed, exact_screws=False)
    found = compare_grades(
        guitar, pickup, seed=seed, bench=bench, position=heard,
        progress=lambda done, of: progress(done, of, "computing every grade"),
    )  # fmt: skip
    progress(0, 0, "setting beside what the trade says")
    return found, trade_verdicts(guitar, found, bench=bench)


def _plan(
    progress: Progress,
    guitar: Guitar,
    complaints: "Sequence[Complaint] | None" = None,
    constraints: "Constraints | None" = None,
    seed: int = 0,
    heard: str | None = None,
    ear: Ear | None = None,
) -> Plan:
    bench = Bench(seed=seed, exact_screws=False)
    told: list[str] = []
    reached = 0, 0

    def tell(*sentences: str) -> None:
        told.extend(sentences)
        progress(*reached, "trying every move", told)

    def count(done: int, of: int) -> None:
        nonlocal reached
        reached = done, of
        tell()

    with heard_by(ear):
        return make_plan(guitar, bench, complaints, constraints, position=heard, progress=count, tell=tell)


def _hear(progress: Progress, guitar: Guitar, pickup: str, changes: Sequence[str], **options: Any) -> Audition:
    progress(0, 0, "making the sounds")
    return audition(guitar, pickup, parse_changes(changes), **options)


def _predict(progress: Progress, guitar: Guitar, pickup: str, changes: Sequence[str], seed: int = 0) -> Prediction:
    progress(0, 0, "predicting")
    return predict(guitar, pickup, parse_changes(changes), seed=seed)


def _hangs_on(progress: Progress, guitar: Guitar, pickup: str) -> HangsOn:
    """Find what the numbers of a pickup hang on; it is kept on disk."""
    return hangs_on(guitar, pickup, progress=lambda done, of: progress(done, of, "finding out what to measure first"))


def _sleep(progress: Progress, seconds: float) -> str:
    """Count tenths of a second; for tests of stopping."""
    count = round(10 * seconds)
    for k in range(count):
        progress(k, count, "waiting")
        time.sleep(0.1)
    return "rested"


def _fall(progress: Progress) -> None:
    """Die as a process does that the system has killed; for tests of that."""
    os._exit(9)


WORK: Mapping[str, Callable[..., Any]] = {
    "solve": _solve, "hangs on": _hangs_on, "grades": _grades, "plan": _plan, "hear": _hear, "predict": _predict,
    "sleep": _sleep, "fall": _fall, "sound": make_sound, "describe": describe_sounds, "trade words": say_trade_words,
    "unlike": unlike_in, "present": present, "ready": ready, "reach": reach, "every grade": every_grade,
    "plucks": compare_takes, "sweep": measure_sweep, "proof": make_ledger,
    "coil": work_out_coil, "winding target": aim_winding,
    "work sheet": make_sheet, "work sheet as PDF": make_pdf,
}  # fmt: skip


def do_work(line: Connection) -> None:
    """Do one piece of work after the other until the line closes.

    Each comes as (kind, arguments, options); back go ("progress", done, all, words, sentences told) and at last
    ("done", result or `Failure`).
    """
    _settle_down()
    last, told_there = [0.0], [0]

    def progress(done: int, total: int, words: str, told: Sequence[str] = ()) -> None:
        now = time.monotonic()
        if now - last[0] >= 0.1 or done in (0, total) or len(told) != told_there[0]:
            last[0], told_there[0] = now, len(told)
            line.send(("progress", done, total, words, tuple(told)))

    while True:
        try:
            kind, arguments, options = line.recv()
        except (EOFError, OSError):
            return
        try:
            result = WORK[kind](progress, *arguments, **options)
        except (BrokenPipeError, EOFError):
            return
        except Exception as error:
            result = _failure(error)
        try:
            line.send(("done", result))
        except (BrokenPipeError, OSError):
            return


def _failure(error: Exception) -> Failure:
    if isinstance(error, PolepieceError):
        return Failure(error=error, known=True)
    return Failure(error=RuntimeError(f"{type(error).__name__}: {error}"), known=False)


def _settle_down() -> None:
    """Leave Ctrl-C to the server, which then ends this process; let a poor mesh not print."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, _go)
    warnings.simplefilter("ignore")


def _go(*_: object) -> None:
    """End as a process does that was not killed: numba's lock is given back, and nobody warns of a leaked one."""
    raise SystemExit(0)
