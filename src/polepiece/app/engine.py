"""The live process: one warm bench that answers quick questions, the newest of each lane only."""

import asyncio
import contextlib
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from typing import Any

from polepiece.app import processes, worker


class Live:
    """Asks the live process; starts it when there is none (again, after it has died).

    Questions wait in lanes. A lane holds one question that has not been sent yet; a newer one takes its place and
    the older `ask` returns None. So a drag never queues up.
    """

    def __init__(self) -> None:
        self._thread = ThreadPoolExecutor(max_workers=1, thread_name_prefix="live")
        self._waiting: dict[str, tuple[tuple[str, tuple[Any, ...]], asyncio.Future[Any]]] = {}
        self._pump: asyncio.Task[None] | None = None
        self._process: BaseProcess | None = None
        self._line: Connection | None = None
        self._closed = False

    async def ask(self, lane: str, question: str, *arguments: Any) -> Any:
        """Return the answer, or None when a newer question of the same lane came before this one was sent.

        Raises
        ------
        PolepieceError
            What the question itself raised there, or `WorkerDied`.
        """
        future: asyncio.Future[Any] = asyncio.get_running_loop().create_future()
        older = self._waiting.pop(lane, None)
        if older is not None and not older[1].done():
            older[1].set_result(None)
        self._waiting[lane] = ((question, arguments), future)
        if self._pump is None or self._pump.done():
            self._pump = asyncio.get_running_loop().create_task(self._send_all())
        return await future

    async def _send_all(self) -> None:
        while self._waiting:
            lane = next(iter(self._waiting))
            message, future = self._waiting.pop(lane)
            if future.done():
                continue
            try:
                reply = await self._in_thread(self._exchange, message)
            except Exception as error:
                if not future.done():
                    future.set_exception(error)
                continue
            if future.done():
                continue
            if isinstance(reply, worker.Failure):
                future.set_exception(reply.error)
            else:
                future.set_result(reply)

    async def _in_thread(self, work: Callable[..., Any], *arguments: Any) -> Any:
        return await asyncio.get_running_loop().run_in_executor(self._thread, work, *arguments)

    async def warm(self) -> None:
        """Start the process and wait until it answers."""
        await self.ask("warm", "alive")

    # in the one thread that holds the line
    def _exchange(self, message: tuple[str, tuple[Any, ...]]) -> Any:
        if self._closed:
            raise processes.WorkerDied("The server is going down.")
        if self._process is None or self._line is None or not self._process.is_alive():
            self._process, self._line = processes.start(worker.answer_questions, name="polepiece live")
        try:
            self._line.send(message)
            return self._line.recv()
        except (EOFError, OSError):
            dead, self._process, self._line = self._process, None, None
            raise processes.death_of(dead, "computing this curve") from None

    def close(self) -> None:
        """End the process."""
        self._closed = True
        if self._process is not None and self._line is not None:
            with contextlib.suppress(OSError):
                processes.end(self._process, self._line)
        self._thread.shutdown(wait=False, cancel_futures=True)
