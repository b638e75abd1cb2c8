"""``polepiece trial``: listeners that measure the files as a person hears them, answers that are kept."""

import csv
import json
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import soundfile
import typer
from typer.testing import CliRunner

from polepiece.cli import trial_session
from polepiece.cli.commands import app
from polepiece.notebook import open_notebook
from tests.cli.conftest import DEMO, strict

ASKED = ("-p", "neck", "--phrase", "single-notes-low")


def spectrum(file: Path) -> "np.ndarray[tuple[int], np.dtype[np.float64]]":
    """Levels of the octaves 125 Hz to 8 kHz of a file, dB."""
    sound, rate = soundfile.read(file)
    power = np.abs(np.fft.rfft(sound)) ** 2
    frequency = np.fft.rfftfreq(len(sound), 1.0 / rate)
    edges = 125.0 * 2.0 ** (np.arange(8) - 0.5)
    return np.array([10.0 * np.log10(power[(a <= frequency) & (frequency < b)].sum()) for a, b in pairwise(edges)])


def matching(folder: Path) -> str:
    a, b, x = (spectrum(folder / f"{slot}.wav") for slot in "ABX")
    return "A" if np.abs(x - a).max() < np.abs(x - b).max() else "B"


def odd(folder: Path) -> str:
    heard = {slot: spectrum(folder / f"{slot}.wav") for slot in "123"}
    apart = {slot: min(np.abs(heard[slot] - heard[one]).max() for one in "123" if one != slot) for slot in "123"}
    return max(apart, key=lambda slot: apart[slot])


def brighter(folder: Path) -> str:
    return max("12", key=lambda slot: spectrum(folder / f"{slot}.wav")[-2])


@pytest.fixture
def listener(monkeypatch: pytest.MonkeyPatch) -> Callable[..., None]:
    """Put a listener in the place of the prompt; ``most`` answers, then input ends."""

    def sit(folder: Path, ear: Callable[[Path], str], most: int = 1000) -> None:
        left = [most]

        def prompt(words: str, **_: object) -> str:
            if not left[0]:
                raise typer.Abort
            left[0] -= 1
            assert (folder / trial_session.RECORD).exists(), "the plan is on the disk before the first sound"
            return ear(folder)

        monkeypatch.setattr(trial_session.typer, "prompt", prompt)

    return sit


def run(*arguments: object, code: int = 0) -> str:
    result = CliRunner().invoke(app, [*map(str, arguments)])
    assert result.exit_code == code, result.output
    return result.output


def test_a_change_that_is_there_is_heard_by_who_measures(tmp_path: Path, listener: Callable[..., None]) -> None:
    """tone at 4 takes decibels of the top: a listener who compares octaves is right every time."""
    out = tmp_path / "listening"
    ask = ("trial", "heard", DEMO, *ASKED, "-c", "tone=4", "--sequential", "--trials", 40, "-o", out)
    listener(out, matching, most=3)
    assert "Stopped" in run(*ask, code=1)
    kept = json.loads((out / "trial.json").read_text(encoding="utf-8"))
    assert len(kept["answers"]) == 3
    listener(out, matching)
    said = run(*ask)
    assert "It was heard" in said and "100 % (90 %" in said
    assert not list(out.glob("*.wav"))
    assert "is over" in run(*ask, code=2)
    assert "something else" in run(*ask[:-4], "--trials", 30, "-o", out, code=2)
    body = strict(run("trial", "result", out / "trial.json", "--json"))
    assert body["result"]["heard"] is True and body["of"]["changes"] == ["tone=4"]
    run("trial", "result", out / "trial.json", "--csv", tmp_path / "a.csv")
    with (tmp_path / "a.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [one["answer"] == ("A" if one["button_X"] == "before" else "B") for one in rows] == [True] * len(rows)


def test_files_of_a_presentation_tell_nothing_else(tmp_path: Path, listener: Callable[..., None]) -> None:
    """With a level that is all of the change taken out, lengths, times, peaks and bytes do not say which is which."""
    out, right = tmp_path / "listening", []

    def snoop(folder: Path) -> str:
        files = {slot: (folder / f"{slot}.wav").read_bytes() for slot in "ABX"}
        assert len(set(files.values())) == 3
        frames = {slot: soundfile.info(folder / f"{slot}.wav").frames for slot in "ABX"}
        assert len(set(frames.values())) == 1
        near = min("AB", key=lambda slot: abs(len(files[slot]) - len(files["X"])))
        right.append(near)
        return near

    listener(out, snoop)
    run("trial", "heard", DEMO, *ASKED, "-c", "tone=4", "--trials", 40, "-o", out)
    body = strict(run("trial", "result", out / "trial.json", "--json"))
    assert 8 <= body["result"]["right"] <= 32  # 20 expected of 40; outside by a chance of 1 in 5,000


def test_states_are_ranked_by_who_measures(tmp_path: Path, listener: Callable[..., None]) -> None:
    out = tmp_path / "listening"
    listener(out, brighter)
    states = ("-s", "tone=2", "-s", "tone=5", "-s", "volume=7; tone=3")
    rule = ("--word", "brighter", "--pairs", 12, "--again", 2, "--part", "0.5-2.5")
    said = run("trial", "rank", DEMO, *ASKED, *states, *rule, "-o", out)
    assert 'Order by "brighter"' in said
    assert said.index("  as it is:") < said.index("  tone=5:") < said.index("  tone=2:")
    whole = strict(run("trial", "result", out / "trial.json", "--json"))
    body = whole["result"]
    assert whole["of"]["part"] == "0.5-2.5"
    assert body["order"][0] == "as it is" and body["circles"] == []
    assert body["own"]["value"] == 1.0


@pytest.mark.parametrize("quantity", ["level", "brightness"])
def test_the_least_difference_of_a_measuring_listener(
    tmp_path: Path, listener: Callable[..., None], quantity: str
) -> None:
    """A listener whose ear has 1 dB of noise: the threshold lies between a fifth of it and five times it."""
    out, rng = tmp_path / "listening", np.random.default_rng(1)

    def ear(folder: Path) -> str:
        heard = {slot: spectrum(folder / f"{slot}.wav")[-3:].mean() + rng.normal(0.0, 1.0) for slot in "123"}
        middle = np.median(list(heard.values()))
        return max(heard, key=lambda slot: abs(heard[slot] - middle))

    listener(out, ear)
    run("trial", "least", DEMO, *ASKED, "--quantity", quantity, "-o", out)
    least = strict(run("trial", "result", out / "trial.json", "--json"))["result"]["least"]
    assert 0.2 < least["value"] < 5.0 and least["unit"] == "dB"


def test_own_takes_are_aligned(tmp_path: Path, listener: Callable[..., None]) -> None:
    """One pluck, recorded 0.4 s later the second time and duller: heard; not by its place in time."""
    rate, rng = 48000, np.random.default_rng(2)
    t = np.arange(2 * rate) / rate
    tone = sum(np.sin(2 * np.pi * 110 * k * t) * np.exp(-3 * t) / k for k in range(1, 30)) * 0.1
    dull = sum(np.sin(2 * np.pi * 110 * k * t) * np.exp(-3 * t) / k**2 for k in range(1, 30)) * 0.1
    for name, sound, wait in (("before", tone, 0.3), ("after", dull, 0.7)):
        take = np.concatenate([np.zeros(round(wait * rate)), sound]) + 1e-5 * rng.normal(
            size=round(wait * rate) + len(t)
        )
        soundfile.write(tmp_path / f"{name}.wav", take, rate, subtype="PCM_24")
    out = tmp_path / "listening"
    starts: list[float] = []

    def ear(folder: Path) -> str:
        for slot in "123":
            sound, _ = soundfile.read(folder / f"{slot}.wav")
            starts.append(float(np.argmax(np.abs(sound) > 0.05 * np.abs(sound).max())) / rate)
        return odd(folder)

    listener(out, ear)
    takes = ("--take", tmp_path / "before.wav", "--take", tmp_path / "after.wav")
    said = run("trial", "heard", DEMO, *ASKED, "-c", "tone=4", *takes, "--kind", "odd", "--trials", 6, "-o", out)
    assert "It was heard" in said
    assert max(starts) - min(starts) < 0.01  # 10 ms, a hop and a half of the onset's own grid


def test_a_trial_that_is_given_up_stays_in_the_notebook(tmp_path: Path, listener: Callable[..., None]) -> None:
    from polepiece.guitar import read_guitar

    book, out = tmp_path / "shop.sqlite", tmp_path / "listening"
    with open_notebook(book) as notebook:
        notebook.add_guitar(read_guitar(DEMO), name="invented")
    listener(out, odd, most=1)
    ask = (
        "trial",
        "heard",
        DEMO,
        *ASKED,
        "-c",
        "tone=4",
        "--kind",
        "odd",
        "--keep",
        "invented",
        "--notebook",
        book,
        "-o",
        out,
    )
    run(*ask, code=1)
    assert "1 of 16 trials are answered; the result is told after the last" in run(
        "trial", "result", out / "trial.json", code=2
    )
    table = ("--csv", tmp_path / "a.csv")
    assert "what was played is told after its end" in run("trial", "result", out / "trial.json", *table, code=2)
    assert not (tmp_path / "a.csv").exists()
    with open_notebook(book) as notebook:
        notes = notebook.notes(1, sort="trial")
    assert [one.text.rpartition(": ")[2] for one in notes] == ["begun", "stopped after 1 answer"]


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (("--kind", "triangle"), "match, pair, odd"),
        (("--take", "one.wav"), "give it twice"),
        (("--trials", "3"), "5 at least"),
        (("--notebook", "x.sqlite"), "belongs to --keep"),
        (("--part", "2-90"), "the sound is over after 5.0 s"),
        (("--part", "two"), "such as 1.5-4"),
    ],
)
def test_what_cannot_be_is_refused(tmp_path: Path, more: tuple[str, ...], said: str) -> None:
    assert said in run("trial", "heard", DEMO, *ASKED, "-c", "tone=4", "-o", tmp_path / "x", *more, code=2)


def test_nobody_is_asked_what_cannot_be_heard(tmp_path: Path, listener: Callable[..., None]) -> None:
    """A move to where it stands, twice the same take, a take that is louder alone."""
    said = run("trial", "heard", DEMO, *ASKED, "-c", "tone=10", "-o", tmp_path / "one", code=2)
    assert "one and the same sound: there is nothing else to hear" in said
    assert not (tmp_path / "one").exists()  # no trial was begun
    ranked = ("trial", "rank", DEMO, *ASKED, "-s", "tone=4", "-s", "tone=10", "-o", tmp_path / "ranked")
    assert '"as it is" and "tone=10" are one and the same sound: there is nothing' in run(*ranked, code=2)
    rng = np.random.default_rng(4)
    ring = 0.1 * rng.normal(size=96_000) * np.exp(-3.0 * np.arange(96_000) / 48_000)
    for name, gain in (("before", 1.0), ("after", 2.0)):
        soundfile.write(
            tmp_path / f"{name}.wav", gain * np.concatenate([np.zeros(9600), ring]), 48_000, subtype="FLOAT"
        )
    takes = ("--take", tmp_path / "before.wav", "--take", tmp_path / "after.wav")
    ask = ("trial", "heard", DEMO, *ASKED, "-c", "tone=4", *takes)
    assert "but for their level (+6 dB), which is taken out" in run(*ask, "-o", tmp_path / "two", code=2)
    listener(tmp_path / "three", matching, most=1)
    assert "Stopped" in run(*ask, "--true-level", "-o", tmp_path / "three", code=1)


def test_a_trial_goes_on_with_the_sounds_of_its_beginning_or_not(tmp_path: Path, listener: Callable[..., None]) -> None:
    """Half of the answers to one sound and half to another would be one result of neither."""
    guitar, out = tmp_path / "own.guitar.toml", tmp_path / "listening"
    words = DEMO.read_text(encoding="utf-8")
    guitar.write_text(words, encoding="utf-8")
    ask = ("trial", "heard", guitar, *ASKED, "-c", "tone=4", "-o", out)
    listener(out, matching, most=1)
    assert "Stopped" in run(*ask, code=1)
    before = (out / "trial.json").read_bytes()
    assert "would not be those of its beginning" in run(*ask, "--position", "both", code=2)
    assert words.count("cable_pf = 500") == 1
    guitar.write_text(words.replace("cable_pf = 500", "cable_pf = 900"), encoding="utf-8")
    assert "would not be those of its beginning" in run(*ask, code=2)
    assert (out / "trial.json").read_bytes() == before
    guitar.write_text(words, encoding="utf-8")
    listener(out, matching)
    assert "It was heard: 16 of 16" in run(*ask)


def test_a_record_of_something_else_is_named(tmp_path: Path) -> None:
    (tmp_path / "x.json").write_text('{"schema": "polepiece/ledger/1"}', encoding="utf-8")
    assert "listening trial" in run("trial", "result", tmp_path / "x.json", code=2)
