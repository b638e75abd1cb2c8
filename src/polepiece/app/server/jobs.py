"""Long work in processes of its own: progress in words, a stop that stops, and at most so many at once."""

import asyncio
import logging
import os
import threading
from collections.abc import Callable, Coroutine, Generator
from dataclasses import dataclass
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from typing import Any

from polepiece.app.server import processes, worker
from polepiece.errors import PolepieceError

LOG = logging.getLogger(__name__)
AT_ONCE = max(1, (os.cpu_count() or 2) - 1)  # jobs that compute; one processor stays for the live process

WORDS = {
    "solve": "solving a geometry", "grades": "computing the grades", "plan": "making the plan",
    "hear": "making the sounds", "sound": "making a sound",
    "unlike": "comparing the recording with the pickup",
    "describe": "describing the sounds", "trade words": "playing both through the drives",
    "present": "making the sounds of a trial", "ready": "making the sounds of a trial",
    "reach": "looking how far it goes", "every grade": "computing every grade",
    "plucks": "listening for plucks", "sweep": "measuring the sweep", "proof": "making the ledger",
    "predict": "predicting", "coil": "working out the coil", "winding target": "searching windings",
    "work sheet": "working out the sheet", "work sheet as PDF": "laying out the PDF",
}  # fmt: skip


class Stopped(PolepieceError):
    """A job was stopped by the person who had started it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Progress:
    """How far a job is. ``total`` 0: not known."""

    done: int
    total: int
    words: str
    told: tuple[str, ...] = ()  # what was found so far, a sentence each


OnProgress = Callable[[Progress], None]


class Job:
    """One running job; await it for its result."""

    def __init__(self, kind: str, on_progress: "OnProgress | None") -> None:
        self.kind = kind
        self.progress = Progress(done=0, total=0, words="waiting for another job to end")
        self._on_progress = on_progress
        self._loop = asyncio.get_running_loop()
        self._result: asyncio.Future[Any] = self._loop.create_future()
        self._result.add_done_callback(lambda one: one.cancelled() or one.exception())  # nobody need await it
        self._process: BaseProcess | None = None
        self._ending: threading.Thread | None = None
        self._kept = False  # its process goes on to the next job

    @property
    def running(self) -> bool:
        """True until it has a result or was stopped."""
        return not self._result.done()

    def __await__(self) -> Generator[Any, None, Any]:
        return asyncio.shield(self._result).__await__()

    def stop(self) -> None:
        """Stop it now; whoever awaits it gets `Stopped`."""
        self._finish(Stopped(f"Stopped while {WORDS.get(self.kind, 'working')}. Nothing was changed."))

    def _finish(self, outcome: Any) -> None:
        if self._result.done():
            return
        if isinstance(outcome, BaseException):
            self._result.set_exception(outcome)
        else:
            self._result.set_result(outcome)
        if self._process is not None and not self._kept:
            self._ending = threading.Thread(target=processes.end, args=(self._process,), daemon=True)
            self._ending.start()

    def _tell(self, progress: Progress) -> None:
        """Say how far it is; a page that can no longer show it (its tab is closed) does not stop the work."""
        self.progress = progress
        if self._on_progress is not None and self.running:
            try:
                self._on_progress(progress)
            except Exception:
                LOG.exception("the progress of %s could not be shown", self.kind)
                self._on_progress = None

    # from the thread that listens to the process
    def _listen(self, process: BaseProcess, line: Connection) -> tuple[Any, bool]:
        """Return the outcome, and whether the process itself has told it, so that it lives and is free."""
        try:
            while True:
                message = line.recv()
                if message[0] == "progress":
                    _, done, total, words, told = message
                    self._call(self._tell, Progress(done=done, total=total, words=words, told=told))
                    continue
                outcome = message[1]
                return outcome.error if isinstance(outcome, worker.Failure) else outcome, True
        except (EOFError, OSError, TypeError):  # TypeError: the line was closed under recv
            return processes.death_of(process, WORDS.get(self.kind, "working")), False
        except Exception as error:  # an answer that cannot be unpacked: the job ends, whatever it is
            return error, False

    def _call(self, what: Callable[[Any], None], argument: Any) -> None:
        if not self._loop.is_closed():
            self._loop.call_soon_threadsafe(what, argument)


class Waiting:
    """An answer that is on its way; await it. `stop` gives up the waiting, not what is at work on it."""

    def __init__(self, answer: Coroutine[Any, Any, Any], words: str) -> None:
        self.progress = Progress(done=0, total=0, words=words)
        self._task = asyncio.get_running_loop().create_task(answer)
        self._given_up = False

    def __await__(self) -> Generator[Any, None, Any]:
        return self._outcome().__await__()

    async def _outcome(self) -> Any:
        try:
            return await self._task
        except asyncio.CancelledError:
            if self._given_up:
                raise Stopped(f"Stopped while {self.progress.words}. Nothing was changed.") from None
            raise

    def stop(self) -> None:
        """Give it up; whoever awaits it gets `Stopped`."""
        if not self._task.done():
            self._given_up = True
            self._task.cancel()


class Jobs:
    """Starts jobs and knows those that run.

    Parameters
    ----------
    at_once : how many run together.
    warm : a process goes on to the next job, with all that it has solved in memory; one that is stopped is ended.
    """

    def __init__(self, at_once: int = AT_ONCE, *, warm: bool = False) -> None:
        self.at_once, self.warm = at_once, warm
        self._free: list[tuple[BaseProcess, Connection]] = []
        self._queue: list[tuple[Job, tuple[Any, ...]]] = []
        self._running: list[Job] = []

    def run(self, kind: str, *arguments: Any, on_progress: "OnProgress | None" = None, **options: Any) -> Job:
        """Start the work ``kind`` of `worker.WORK`, or queue it behind the jobs that run.

        Parameters
        ----------
        kind : str
        *arguments, **options
            Of the work, after its progress.
        on_progress : callable, optional
            Called in the server's loop with a `Progress`.
        """
        if kind not in worker.WORK:
            raise KeyError(kind)
        job = Job(kind, on_progress)
        self._queue.append((job, (kind, arguments, options)))
        job._result.add_done_callback(lambda _: self._ended(job))
        self._start_next()
        return job

    def _ended(self, job: Job) -> None:
        if job in self._running:
            self._running.remove(job)
        self._start_next()

    def _start_next(self) -> None:
        self._queue = [one for one in self._queue if one[0].running]
        while self._queue and len(self._running) < self.at_once:
            job, arguments = self._queue.pop(0)
            self._running.append(job)
            job._tell(Progress(done=0, total=0, words="starting"))
            threading.Thread(target=self._begin, args=(job, arguments), name=f"job {job.kind}", daemon=True).start()

    def _begin(self, job: Job, work: tuple[Any, ...]) -> None:
        try:
            process, line = self._at_work(work)
        except Exception as error:  # no more processes, no memory: the job ends and the next one has its turn
            words = f"{WORDS.get(job.kind, job.kind)} could not begin ({error}). Close other programs and try again."
            job._call(job._finish, processes.WorkerDied(words[0].upper() + words[1:]))
            return
        job._process = process
        if not job.running:  # stopped while it was starting
            processes.end(process)
            return
        outcome, free = job._listen(process, line)
        if self.warm and free:
            job._kept = True
            self._free.append((process, line))
        job._call(job._finish, outcome)

    def _at_work(self, work: tuple[Any, ...]) -> tuple[BaseProcess, Connection]:
        """Give the work to a warm process, or to a new one."""
        while self._free:
            process, line = self._free.pop()
            try:
                line.send(work)
                return process, line
            except OSError:  # it died while it was idle
                processes.end(process)
        process, line = processes.start(worker.do_work, name="polepiece at work")
        line.send(work)
        return process, line

    def close(self) -> None:
        """Stop everything."""
        self._queue.clear()
        for process, line in self._free:
            line.close()  # it leaves its loop
            processes.end(process)
        for job in list(self._running):
            job.stop()
            if job._ending is not None:
                job._ending.join()
