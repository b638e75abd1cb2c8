"""The live process: one warm bench that answers quick questions, the newest of each lane only."""

import asyncio
import queue
import threading
from contextlib import suppress
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from typing import Any

from polepiece.app.server import processes, worker

Message = tuple[str, tuple[Any, ...]]
_Exchange = tuple[Message, "asyncio.Future[Any]"]


class Live:
    """Asks the live process; starts it when there is none (again, after it has died).

    Questions wait in lanes. A lane holds one question that has not been sent yet; a newer one takes its place and
    the older `ask` returns None. So a drag never queues up.
    """

    def __init__(self) -> None:
        self._work: queue.SimpleQueue[_Exchange | None] = queue.SimpleQueue()
        threading.Thread(target=self._hold_the_line, name="live", daemon=True).start()
        self._waiting: dict[str, tuple[Message, asyncio.Future[Any]]] = {}
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
            reply: asyncio.Future[Any] = asyncio.get_running_loop().create_future()
            self._work.put((message, reply))
            try:
                answer = await reply
            except Exception as error:
                answer = worker.Failure(error=error, known=True)
            if future.done():
                continue
            if isinstance(answer, worker.Failure):
                future.set_exception(answer.error)
            else:
                future.set_result(answer)

    async def warm(self) -> None:
        """Start the process and wait until it answers."""
        await self.ask("warm", "alive")

    # --- in the one thread that holds the line -----------------------------------------------------
    def _hold_the_line(self) -> None:
        while (one := self._work.get()) is not None:
            message, reply = one
            try:
                self._tell(reply, self._exchange(message))
            except Exception as error:
                self._tell(reply, worker.Failure(error=error, known=True))

    @staticmethod
    def _tell(reply: asyncio.Future[Any], answer: Any) -> None:
        with suppress(RuntimeError):  # the loop has ended: nobody waits any more
            reply.get_loop().call_soon_threadsafe(_settle, reply, answer)

    def _exchange(self, message: Message) -> Any:
        if self._closed:
            raise processes.WorkerDied("The server is going down.")
        if self._process is None or self._line is None or not self._process.is_alive():
            self._process, self._line = processes.start(worker.answer_questions, name="polepiece live")
        process, line = self._process, self._line
        if self._closed:  # while it was starting
            processes.end(process)
        try:
            line.send(message)
            return line.recv()
        except (EOFError, OSError):
            self._process = self._line = None
            raise processes.death_of(process, "computing this curve") from None

    def close(self) -> None:
        """End the process; whoever waits for an answer gets `WorkerDied`."""
        self._closed = True
        if self._process is not None:
            processes.end(self._process)
        self._work.put(None)


def _settle(reply: asyncio.Future[Any], answer: Any) -> None:
    if not reply.done():
        reply.set_result(answer)
