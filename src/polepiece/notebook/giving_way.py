"""While a notebook's server is waited for, the event loop serves the others.

Pages and buttons read the notebook where they stand, in plain functions. On a file that takes no time worth naming; a
server that does not answer would hold every visitor for as long as one of them waits. Here each step of a task runs in
a greenlet, out of which the connection to a server hands the loop back (`postgres.Patient`) as soon as its
answer is not there at once. What is there at once is read without giving way, so that a button's work is still one act.
"""

import asyncio
from collections.abc import Callable, Coroutine
from types import coroutine
from typing import Any

from sqlalchemy.util.concurrency import greenlet_spawn


def give_way(loop: asyncio.AbstractEventLoop) -> None:
    """Have every task that this loop begins from now on give way where it waits for the notebook's server."""
    loop.set_task_factory(_made)


def _made(loop: asyncio.AbstractEventLoop, coro: Any, **more: Any) -> "asyncio.Task[Any]":
    task = asyncio.Task(_stepped(coro), loop=loop, **more)
    task.add_done_callback(lambda _: coro.close())  # one that was cancelled before it began
    return task


async def _stepped(coro: Coroutine[Any, Any, Any]) -> Any:
    """Do what the coroutine does, each step of it in a greenlet."""
    act, given = coro.send, None
    while True:
        over, found = await greenlet_spawn(_step, act, given)
        if over:
            return found
        try:
            act, given = coro.send, await _passed_on(found)
        except BaseException as error:
            act, given = coro.throw, error


def _step(act: Callable[[Any], Any], given: Any) -> tuple[bool, Any]:
    try:
        return False, act(given)
    except StopIteration as end:
        return True, end.value


@coroutine
def _passed_on(awaited: Any) -> Any:
    """Hand to the task what the coroutine waits for."""
    return (yield awaited)
