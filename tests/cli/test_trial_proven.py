"""What was heard of a change goes into its ledger; what was heard of anything else does not."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import soundfile

from polepiece.measure import Ledger
from tests.cli.conftest import DEMO, ask
from tests.cli.test_trial import ASKED, brighter, listener, matching, odd, run

__all__ = ["listener"]  # a fixture of that file
PROVE = ("prove", "--pickup", "neck", "--date", "2026-11-30", "--draws", 8)
FEW = ("--trials", 5)


def proven(guitar: Path, change: str, record: Path) -> Ledger:
    name, *rest = PROVE
    return Ledger.from_dict(ask(name, guitar, *rest, "-c", change, "--heard", record)["ledger"])


def refused(guitar: Path, change: str, record: Path) -> str:
    name, *rest = PROVE
    return run(name, guitar, *rest, "-c", change, "--heard", record, code=2)


def test_a_trial_of_computed_sounds_counts_for_their_states_alone(
    tmp_path: Path, listener: Callable[..., None]
) -> None:
    """The same moves on a guitar with another cable are other sounds; so is another position, or another move."""
    guitar = tmp_path / "own.guitar.toml"
    words = DEMO.read_text(encoding="utf-8")
    guitar.write_text(words, encoding="utf-8")
    for name, kind, ear, more in (
        ("matched", "match", matching, ()), ("both", "match", matching, ("--position", "both")),
        ("driven", "odd", odd, ("--chain", "driven")),
    ):  # fmt: skip
        listener(tmp_path / name, ear)
        run("trial", "heard", guitar, *ASKED, "-c", "tone=4", "--kind", kind, *FEW, *more, "-o", tmp_path / name)
    matched, both, driven = (tmp_path / one / "trial.json" for one in ("matched", "both", "driven"))
    line = proven(guitar, "tone=4", matched)["heard"]
    assert line.heard is not None and line.heard.value == 1.0
    assert "computed sounds" in line.words
    assert any("driven" in one for one in proven(guitar, "tone=4", driven).notes)
    assert "heard in the position both" in refused(guitar, "tone=4", both)
    assert "is of tone=4" in refused(guitar, "tone=5", matched)
    guitar.write_text(words.replace("cable_pf = 500", "cable_pf = 900"), encoding="utf-8")
    assert "on another state of the guitar" in refused(guitar, "tone=4", matched)


def test_a_trial_of_own_takes_counts_whatever_is_known_of_the_guitar_by_now(
    tmp_path: Path, listener: Callable[..., None]
) -> None:
    rate = 48_000
    t = np.arange(2 * rate) / rate
    for name, power in (("before", 1), ("after", 2)):
        sound = sum(np.sin(2 * np.pi * 110 * k * t) * np.exp(-3 * t) / k**power for k in range(1, 30)) * 0.1
        soundfile.write(tmp_path / f"{name}.wav", np.concatenate([np.zeros(9600), sound]), rate, subtype="PCM_24")
    guitar, out = tmp_path / "own.guitar.toml", tmp_path / "heard"
    words = DEMO.read_text(encoding="utf-8")
    guitar.write_text(words, encoding="utf-8")
    listener(out, brighter)
    takes = ("--take", tmp_path / "before.wav", "--take", tmp_path / "after.wav")
    run("trial", "heard", guitar, *ASKED, "-c", "tone=4", *takes, "--kind", "pair", *FEW, "-o", out)
    guitar.write_text(words.replace("cable_pf = 500", "cable_pf = 900"), encoding="utf-8")
    line = proven(guitar, "tone=4", out / "trial.json")["heard"]
    assert line.heard is not None and "computed sounds" not in line.words
    assert line.heard.value == 0.0  # it took the brighter one for the one after, and that is before
    assert "is of tone=4" in refused(guitar, "tone=5", out / "trial.json")
