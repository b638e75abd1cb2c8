"""Tab in a shell: what the shell is told to do completes commands, commands of commands and options."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

BASH = """
source <(polepiece --show-completion)
tab() {
  COMP_WORDS=("$@"); COMP_CWORD=$(($# - 1)); COMPREPLY=()
  _polepiece_completion polepiece; echo "${COMPREPLY[*]}"
}
"""
ZSH = """
compdef() { : }
_arguments() { print -r -- "$@" }
source <(polepiece --show-completion)
tab() { words=("$@"); CURRENT=$#; _polepiece_completion }
"""  # what compinit and zle would do, without them
ASKED = """
tab polepiece pl; echo --
tab polepiece notebook re; echo --
tab polepiece plan --dr; echo --
tab polepiece measure impedance --resi; echo --
tab polepiece nothing-of-the-kind x
"""


@pytest.mark.parametrize(("shell", "functions"), [("bash", BASH), ("zsh", ZSH)])
def test_the_shell_completes_what_is_typed(tmp_path: Path, shell: str, functions: str) -> None:
    if shutil.which(shell) is None:
        pytest.skip(f"{shell} is not installed")
    program = tmp_path / "polepiece"
    program.write_text(f'#!/bin/sh\nexec {sys.executable} -m polepiece "$@"\n', encoding="utf-8")
    program.chmod(0o755)
    done = subprocess.run(
        [shell, *(["-f"] if shell == "zsh" else ["--norc"]), "-c", functions + ASKED], capture_output=True, text=True,
        env=os.environ | {"PATH": f"{tmp_path}{os.pathsep}{os.environ['PATH']}"}, timeout=240, check=False,
    )  # fmt: skip
    plan, notebook, option, deep, nothing = done.stdout.split("--\n", 4)
    assert "plan" in plan and "predict" not in plan, done.stderr
    assert "restore" in notebook and "rescue" in notebook and "check" not in notebook
    assert "--draws" in option and "--why" not in option
    assert "--resistor" in deep and "--open" not in deep
    assert nothing.strip() in ("", "_files") and "Traceback" not in done.stderr
