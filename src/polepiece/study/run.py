"""The loop of a study: chunks to workers, their rows to the folder of parts; what is there is not done again."""

from collections.abc import Callable
from concurrent.futures import FIRST_COMPLETED, Future, wait

from polepiece.errors import PolepieceError
from polepiece.study.kept_parts import PartsFolder
from polepiece.study.plan import StudyPlan
from polepiece.study.worker import Rows, compute_chunk
from polepiece.study.workers import Workers

AHEAD = 2  # chunks that wait for each worker, so that none is idle while rows are written
TRIES = 4  # of one chunk whose worker is lost


class Lost(PolepieceError):
    """A chunk ended its worker again and again."""


def run_study(
    plan: StudyPlan, parts: PartsFolder, workers: Workers, *,
    progress: Callable[[int, int], object] = lambda done, of: None,
) -> int:  # fmt: skip
    """Compute all chunks that are not there yet, and return how many candidates were computed.

    A chunk whose worker is lost is handed over again; its rows are kept once, whole, under its number, whoever
    brings them and how often.

    Parameters
    ----------
    plan : StudyPlan
    parts : PartsFolder
    workers : Workers
    progress : callable
        Called with candidates that are done, and all.

    Raises
    ------
    Lost
        When one chunk ended its worker `TRIES` times.
    PolepieceError
        When a worker refuses, as with other constants.
    """
    there = parts.finished()
    todo = iter([k for k in range(plan.chunks) if k not in there])
    size = [plan.starts[k + 1] - plan.starts[k] for k in range(plan.chunks)]
    done, made, tries = sum(size[k] for k in there), 0, dict[int, int]()
    pending: dict[Future[Rows], int] = {}

    def hand_over(chunk: int) -> None:
        pending[workers.submit(compute_chunk, plan.setup, *plan.candidates(chunk))] = chunk

    progress(done, plan.count)
    while True:
        while len(pending) < AHEAD * workers.size and (chunk := next(todo, None)) is not None:
            hand_over(chunk)
        if not pending:
            return made
        for future in wait(pending, return_when=FIRST_COMPLETED).done:
            chunk = pending.pop(future)
            error = future.exception() if not future.cancelled() else None
            if future.cancelled() or (error is not None and workers.is_lost(error)):
                tries[chunk] = tries.get(chunk, 0) + 1
                if tries[chunk] >= TRIES:
                    raise Lost(_lost(plan, chunk, error))
                hand_over(chunk)
                continue
            parts.keep(chunk, future.result())
            done, made = done + size[chunk], made + size[chunk]
            progress(done, plan.count)


def _lost(plan: StudyPlan, chunk: int, error: BaseException | None) -> str:
    first = plan.candidates(chunk)[1][0]
    said = ", ".join(f"{axis.key}={one}" for axis, one in zip(plan.setup.axes, first))
    return (
        f"chunk {chunk} ended its worker {TRIES} times ({type(error).__name__}); it begins with {said}. Is there "
        "memory enough (some 0.7 GB a worker)? What is done stays: the same command goes on."
    )
