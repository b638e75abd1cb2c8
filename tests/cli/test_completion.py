"""The shell completes commands and options."""

from collections.abc import Callable
from typing import Any

import pytest


@pytest.mark.parametrize(("typed", "wanted"), [("polepiece pl", "plan"), ("polepiece plan --com", "--complaint")])
def test_bash_completes(
    started: Callable[..., Any], monkeypatch: pytest.MonkeyPatch, typed: str, wanted: str
) -> None:  # fmt: skip
    monkeypatch.setenv("_POLEPIECE_COMPLETE", "complete_bash")
    monkeypatch.setenv("COMP_WORDS", typed)
    monkeypatch.setenv("COMP_CWORD", str(typed.count(" ")))
    assert wanted in started().stdout.split()
