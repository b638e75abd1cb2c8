"""Work on a proof in a process of its own: plucks compared, the ledger made."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from polepiece.app.prove.verdict import thirds_words, verdict_words
from polepiece.arrays import FloatArray
from polepiece.bench import Bench, position_of, predict
from polepiece.evidence import Evidence, prove
from polepiece.guitar import Guitar
from polepiece.measure import Ledger, PluckComparison, Taken, compare_plucks, plucks_of, taken_from
from polepiece.moves import parse_changes
from polepiece.pickup import open_strings

Progress = Callable[[int, int, str], None]
File = tuple[str, bytes]  # name, and the whole file


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Proved:
    """A ledger, and the computed change of the response that is drawn beside the measured one."""

    ledger: Ledger
    frequency: FloatArray  # (f,) Hz
    change_db: FloatArray  # (f,)


def compare_takes(progress: Progress, guitar: Guitar, before: Sequence[File], after: Sequence[File]) -> PluckComparison:
    """Find the plucks of both sides and compare them, with the tuning and the wound strings of ``guitar``."""
    tuning, wound = open_strings(guitar)
    total = len(before) + len(after) + 1

    def read(files: Sequence[File], role: str, done: int) -> "list[Taken]":
        out = []
        for k, (name, data) in enumerate(files):
            progress(done + k, total, f"reading {name}")
            out.append(taken_from(data, name, role))
        return out

    takes = [plucks_of(read(before, "before", 0), tuning=tuning),
             plucks_of(read(after, "after", len(before)), tuning=tuning)]  # fmt: skip
    progress(total - 1, total, "comparing the plucks")
    return compare_plucks(*takes, tuning=tuning, wound=wound)


def make_ledger(
    progress: Progress, guitar: Guitar, pickup: str, changes: Sequence[str], evidence: Evidence, date: str,
    seed: int = 0, heard: "str | None" = None,
) -> Proved:  # fmt: skip
    """Set what was computed of a change beside what was measured and heard."""
    progress(0, 2, "computing what was to be expected")
    bench = Bench(seed=seed).heard_in(position_of(guitar, pickup, heard))
    parsed = parse_changes(changes)
    found = predict(guitar, pickup, parsed, seed=seed, bench=bench, position=heard)
    progress(1, 2, "setting it beside what was measured")
    ledger = prove(guitar, pickup, parsed, evidence, date=date, prediction=found, seed=seed, bench=bench)
    change = np.asarray(found.after.response_db - found.before.response_db)
    verdict = verdict_words(guitar, pickup, changes, evidence, found, bench, progress)
    thirds = thirds_words(evidence.plucks, found.before.frequency_hz, change)
    where = f"Computed and judged in the position {heard}." if heard else ""
    notes = [one for one in (verdict, thirds, where) if one]
    ledger = replace(ledger, notes=(*notes, *ledger.notes))
    return Proved(ledger=ledger, frequency=found.before.frequency_hz, change_db=change)
