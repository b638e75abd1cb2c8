"""Entry point of the ``polepiece`` command; light, so that Ctrl-C is quiet from the first moment on."""

import _thread
import atexit
import gc
import os
import signal
import sys
import threading
from collections.abc import Callable
from contextlib import suppress
from types import FrameType

AGAIN = 0.01  # s
SELDOM = 50_000  # objects made between two collections: what is imported is no garbage, and 0.1 s went into looking
STOPPED = 130  # exit code of a command stopped by Ctrl-C: 128 + SIGINT, as shells have it
COMPILER = "llvmlite.binding"  # the modules that hand pointers to the compiler's own library


def run() -> None:
    """Run the command line; Ctrl-C is exit code 130 without a traceback, whatever was going on."""
    asked: list[int] = []

    def interrupt(number: int, frame: FrameType | None) -> None:
        asked.append(number)
        caller = _caller_of_the_compiler(frame)
        if caller is None:
            raise KeyboardInterrupt
        _stop_in(caller)

    def lost(what: "sys.UnraisableHookArgs") -> None:
        """An interrupt inside a callback of the compiler is otherwise printed and forgotten: it is sent again."""
        if not asked or not issubclass(what.exc_type, KeyboardInterrupt):
            sys.__unraisablehook__(what)
            return
        again = threading.Timer(AGAIN, _thread.interrupt_main)  # from where nothing swallows it, or once more
        again.daemon = True
        again.start()

    os.environ.setdefault("OMP_WAIT_POLICY", "PASSIVE")  # threads that wait leave their core to the other process
    gc.set_threshold(SELDOM)
    leaving: list[int] = []
    atexit.register(_leave, leaving)  # what is registered first has its turn last
    try:
        signal.signal(signal.SIGINT, interrupt)
        sys.unraisablehook = lost
        from polepiece.cli.commands import app

        code = _done(app)
        signal.signal(signal.SIGINT, signal.SIG_IGN)  # all is written; a late Ctrl-C must not spoil the exit code
    except KeyboardInterrupt:
        _stop()
    except Exception:  # what an interrupt inside compiled code or its compiler turns into
        if asked:
            _stop()
        raise
    if code == STOPPED:
        _stop()
    if code is None or isinstance(code, int):
        leaving.append(code or 0)
    sys.exit(code)


def _caller_of_the_compiler(frame: FrameType | None) -> FrameType | None:
    """Return who called the compiler's own library, where ``frame`` is inside of it; None where it is not.

    What has just been given away there (a module that was linked into another) is noted one line later: an interrupt
    between the two has both freed, which ends the process with a segmentation fault.
    """
    caller = None
    while frame is not None:
        if str(frame.f_globals.get("__name__")).startswith(COMPILER):
            caller = frame.f_back
        frame = frame.f_back
    return caller


def _stop_in(frame: FrameType) -> None:
    """Have ``KeyboardInterrupt`` raised as soon as a frame that waits for another goes on."""

    def goes_on(*_: object) -> None:
        sys.settrace(None)
        raise KeyboardInterrupt

    frame.f_trace = goes_on
    sys.settrace(lambda *_: None)  # of frames made from now on: none is followed


def _done(app: Callable[..., object]) -> "int | str | None":
    """Run the commands; return the exit code."""
    try:
        app(prog_name="polepiece")
    except SystemExit as leaving:
        return leaving.code
    return 0


def _leave(code: list[int]) -> None:
    """End at once when all is done and all exit handlers have run: to take every module apart takes 0.3 s more."""
    if code:
        with suppress(OSError):  # a pipe whose reader is gone: the interpreter says what it says of that
            sys.stdout.flush()
            sys.stderr.flush()
            os._exit(code[0])


def _stop() -> None:
    """Leave with 130 now: after an interrupt inside ``exec`` of a text CPython would kill itself at exit."""
    if "polepiece.cli.second" in sys.modules:
        sys.modules["polepiece.cli.second"].end_processes()
    for stream in (sys.stdout, sys.stderr):
        with suppress(OSError):
            stream.flush()
    os._exit(STOPPED)
