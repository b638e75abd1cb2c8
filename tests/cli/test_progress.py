"""Lines of progress come in order, and none comes after the work has ended."""

import pytest

from polepiece.cli import progress


@pytest.fixture
def lines(monkeypatch: pytest.MonkeyPatch) -> progress._Lines:
    monkeypatch.setattr(progress, "AFTER", 1e3)  # its timer never fires by itself here
    monkeypatch.setattr(progress, "EVERY", -1e9)  # a line each step
    made = progress._Lines("working")
    made._next = 0.0
    return made


def test_the_first_line_does_not_come_behind_a_later_one(
    lines: progress._Lines, capsys: pytest.CaptureFixture[str]
) -> None:
    lines.step(3, 9)
    lines._timer.function(*lines._timer.args)  # the timer fires now
    lines.step(2, 9)
    lines.step(5, 9)
    lines.close()
    assert capsys.readouterr().err == "working ... 3 of 9\nworking ... 5 of 9\n"


def test_nothing_is_said_after_the_end(lines: progress._Lines, capsys: pytest.CaptureFixture[str]) -> None:
    lines.close()
    lines._timer.function(*lines._timer.args)
    lines.step(5, 9)
    assert capsys.readouterr().err == ""
