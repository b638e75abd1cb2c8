"""Started as a person starts it: exit codes, clean stdout, Ctrl-C, a closed pipe."""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.cli.conftest import DEMO, REFERENCE, strict

Started = Callable[..., "subprocess.CompletedProcess[str]"]


def test_json_is_all_there_is_on_stdout(started: Started) -> None:
    result = started("field", REFERENCE, "--line", "x=0:4:2,y=5,z=17", "--json")
    assert result.returncode == 0
    assert result.stdout.count("\n") == 1
    assert strict(result.stdout)["pickup"] == "reference"


def test_bad_input_is_two_without_traceback(started: Started, tmp_path: Path) -> None:
    result = started("field", tmp_path / "none.toml", "--line", "x=0,y=0,z=1", "--json")
    assert result.returncode == 2
    assert result.stdout == ""
    assert "Traceback" not in result.stderr


def test_version_and_no_arguments(started: Started) -> None:
    assert started("--version").stdout.startswith("polepiece ")
    assert started().returncode == 2


def loaded(process: int, library: str) -> None:
    """Wait until a process has loaded a compiled library; a second where the system does not tell."""
    for _ in range(12_000):  # two minutes
        try:
            if library in Path(f"/proc/{process}/maps").read_text():
                return
        except FileNotFoundError:
            time.sleep(1.0)
            return
        time.sleep(0.01)
    raise AssertionError(f"{library} was not loaded")


@pytest.mark.skipif(os.name == "nt", reason="Windows has no SIGINT to send to one process")
@pytest.mark.parametrize("after", ["at once", "at work", "while it compiles"])
def test_control_c_leaves_nothing_behind(after: str, tmp_path: Path) -> None:
    out = tmp_path / "out"
    command = [sys.executable, "-m", "polepiece", "demo", "--out", str(out)]
    environment = dict(os.environ)
    if after == "while it compiles":  # nothing is compiled yet: an interrupt may fall into the compiler's callbacks
        environment |= {"NUMBA_CACHE_DIR": str(tmp_path / "compiled"), "POLEPIECE_CACHE": ""}
    process = subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True, env=environment
    )
    try:
        if after == "at once":
            loaded(process.pid, "numpy")  # in the middle of its imports
        else:
            assert process.stderr is not None
            assert process.stderr.readline()  # the first line of progress
        if after == "while it compiles":
            loaded(process.pid, "llvmlite")
            time.sleep(1.0)  # wherever that is on this machine: no moment may be a bad one
        process.send_signal(signal.SIGINT)
        _, errors = process.communicate(timeout=240)
    finally:
        process.kill()
    assert "Traceback" not in errors
    assert process.returncode == 130, errors
    assert not out.exists()


LINKED = """
import os, signal, sys
import llvmlite.binding as llvm
import numba, typer
from polepiece.cli import main
from types import SimpleNamespace
linker = llvm.linker
link, app = linker.ffi.lib.LLVMPY_LinkModules, typer.Typer()
def stopped(*modules):  # Ctrl-C while one module is linked into another: Python hears of it when that is done
    code = link(*modules)
    os.kill(os.getpid(), signal.SIGINT)
    return code
@app.command()
def compiles():
    lib = SimpleNamespace(LLVMPY_LinkModules=stopped)
    linker.ffi = SimpleNamespace(OutputString=linker.ffi.OutputString, lib=lib)
    numba.njit(lambda x: x * x)(2.0)
    print("compiled all the same")
done = main._done
main._done = lambda _: done(app)
sys.argv[1:] = []
main.run()
"""


@pytest.mark.skipif(os.name == "nt", reason="Windows has no SIGINT to send to one process")
def test_control_c_inside_the_compilers_library_ends_what_was_begun_there() -> None:
    """What was linked into another module is freed with it; left half way it was freed twice: exit code -11."""
    result = subprocess.run([sys.executable, "-c", LINKED], capture_output=True, text=True, timeout=300, check=False)
    assert (result.returncode, result.stdout) == (130, ""), result.stderr
    assert "Traceback" not in result.stderr


LATE = """
import atexit, os, signal, sys
from polepiece.cli import main
sys.argv[1:] = {arguments!r}
done = main._done
def stopped():
    sys.stderr.write("stopped late")
    os.kill(os.getpid(), signal.SIGINT)
def late(app):  # the moment after the commands have returned, or an exit handler of theirs
    code = done(app)
    atexit.register(stopped) if {when!r} == "at exit" else stopped()
    return code
main._done = late
main.run()
"""


@pytest.mark.skipif(os.name == "nt", reason="Windows has no SIGINT to send to one process")
@pytest.mark.parametrize(("when", "code"), [("at exit", 0), ("as it ends", 130)])
def test_control_c_when_all_is_written_spoils_nothing(when: str, code: int) -> None:
    arguments = ["field", str(REFERENCE), "--line", "x=0,y=5,z=17", "--json"]
    text = LATE.format(arguments=arguments, when=when)
    result = subprocess.run([sys.executable, "-c", text], capture_output=True, text=True, timeout=300, check=False)
    assert result.returncode == code  # never the signal itself
    assert strict(result.stdout)["pickup"] == "reference"
    assert result.stderr.endswith("stopped late")  # exit handlers have their turn; no traceback, no KeyboardInterrupt


@pytest.mark.skipif(os.name == "nt", reason="needs a pipe that closes")
def test_a_closed_pipe_is_no_traceback() -> None:
    command = f'"{sys.executable}" -m polepiece strings "{DEMO}" -p neck | true'
    result = subprocess.run(["bash", "-c", command], capture_output=True, text=True, timeout=300, check=False)
    assert "Traceback" not in result.stderr
