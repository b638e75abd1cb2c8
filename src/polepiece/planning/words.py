"""Sentences of the plan, made from the numbers, so that a sign can never contradict them."""

from collections.abc import Iterable, Mapping

import numpy as np

from polepiece.bench import QUANTITIES, STROKES, State, threshold_of, threshold_source
from polepiece.guitar import Assumption, Guitar, Pickup
from polepiece.moves import KINDS
from polepiece.pickup import charge_lost, comes_back_whole
from polepiece.planning.candidates import Candidate, Refusal
from polepiece.planning.scoring import Score

FEWEST = 5  # rows that a plan usually shows at least
_LEVELS = {"low": 0, "medium": 1, "high": 2}
NO_BAR = "n/a"


def moved_words(key: str, value: float) -> str:
    """Return one change in words, such as "level 1.2 dB down"; the sign of ``value`` is the direction."""
    quantity = QUANTITIES[key]
    way = "up" if value > 0 else "down"
    return f"{quantity.words} {abs(value):.1f} {quantity.unit} {way}"


def _listed(keys: Iterable[str], moved: Mapping[str, float]) -> str:
    return ", ".join(moved_words(key, moved[key]) for key in keys if abs(moved[key]) >= 0.05)


def heard_words(judged: Score, heard: str) -> str:
    """Return what can be said of hearing it."""
    if heard == "no":
        return f"Not likely to be heard: {STROKES}."
    if heard == "maybe":
        return "May be heard side by side, level-matched; not the next day."
    return "Likely to be heard."


def why(
    judged: Score, heard: str, *, use: str, lowered: float | None, other_use_harms: bool, notes: Iterable[str] = ()
) -> str:
    """Return the reason of a row.

    Parameters
    ----------
    judged : Score
        Of the state that the row is judged by.
    heard : str
        From `scoring.likely_heard`.
    use : str
        "" for a move, "as it is" or "re-set" for a bar.
    lowered : float or None
        How far the pickup is lowered beside a bar, m.
    other_use_harms : bool
        The bar would make the complaint worse with the gap left as it is.
    notes : iterable of str
        Sentences to append.
    """
    good = _listed(judged.better, judged.moved)
    bad = _listed(judged.worse, judged.moved)
    parts = []
    if good:
        parts.append(f"Wanted: {good}.")
    elif judged.best is not None and abs(judged.moved[judged.best]) >= 0.05:
        parts.append(f"A little of what is wanted: {moved_words(judged.best, judged.moved[judged.best])}.")
    if bad:
        parts.append(f"Not wanted: {bad}.")
    if use == "re-set":
        parts.append(f"Judged with the gap re-set to the old level: {gap_words(lowered)}.")
        if other_use_harms:
            only = "lowered" if (lowered or 0.0) > 0 else "re-set"
            parts.append(f"Only if {only} to match: at the old gap it makes the complaint worse.")
    elif use == "as it is":
        parts.append("Judged with the gap left as it is; the change of level is part of the answer.")
    parts.append(heard_words(judged, heard))
    return " ".join([*parts, *notes])


def gap_words(lowered: float | None) -> str:
    """Return how the height is re-set beside a bar."""
    if not lowered:
        return "no move is needed"
    return f"the pickup {abs(lowered) * 1e3:.2f} mm {'further from' if lowered > 0 else 'nearer to'} the strings"


_TRIED, _NO_HELP = "Benches also try: ", ". Computed here, it does not help."


def few_words(shown: int, rest: int, refused: Iterable[Refusal]) -> str:
    """Return why a plan shows fewer rows than usual, "do nothing" among them; empty where it shows enough."""
    if shown >= FEWEST:
        return ""
    gone = sum(1 + one.alike for one in refused)
    parts = [f"{shown} rows only" if shown > 1 else "Nothing but doing nothing is shown"]
    if gone:
        parts.append(f"{gone} moves were refused, for the reasons listed")
    if rest:
        parts.append(
            f"{rest} more point the right way, but are variants of a row that is shown, pairs no better than one of "
            "their halves, or too little to be heard"
        )
    else:
        parts.append("no other move points the right way")
    return f"{': '.join([parts[0], '; '.join(parts[1:])])}."


def unhelpful_words(done: str) -> str:
    """Return where a bench's first move and the computation part."""
    return f"{_TRIED}{done}{_NO_HELP}"


def unhelpful_together(sentences: Iterable[str]) -> list[str]:
    """Return sentences with those of `unhelpful_words` put into one, where the first of them stood."""
    out: list[str] = []
    done: list[str] = []
    for one in sentences:
        if not (one.startswith(_TRIED) and one.endswith(_NO_HELP)):
            out.append(one)
            continue
        done.append(one.removeprefix(_TRIED).removesuffix(_NO_HELP))
        if len(done) == 1:
            place = len(out)
            out.append(one)
        else:
            out[place] = f"{_TRIED}{'; or '.join(done)}. Computed here, none of it helps."
    return out


def threshold_words(judged: Score, before: State) -> tuple[float, str, str]:
    """Return threshold, its unit and its source for the quantity that decides the row."""
    key = judged.best or "level"
    return threshold_of(key, before), QUANTITIES[key].unit, threshold_source(key)


def strings_of(before: State, after: State, judged: Score) -> tuple[int, ...]:
    """Return the strings on which it acts: those whose own level moves by 0.3 dB; all, where a band does."""
    a, b = (s.level_db + np.asarray(s.string_balance_db) for s in (before, after))
    strings = tuple(n + 1 for n, move in enumerate(abs(b - a)) if move >= 0.3)
    bands = any(abs(judged.moved.get(k, 0.0)) >= 0.3 for k in ("lows", "mids", "highs", "presence"))
    return tuple(range(1, len(a) + 1)) if bands else strings


def fit_words(candidate: Candidate, pickup: Pickup) -> str:
    """Return what to check of the size of a bar; other moves fit."""
    if candidate.bar is None:
        return NO_BAR
    magnet = pickup.magnet
    sizes = " x ".join(f"{one * 1e3:.1f}" for one in (magnet.length, magnet.width, magnet.thickness))
    words = f"computed for {sizes} mm; measure the old bar with a plastic caliper"
    if candidate.bar.startswith("ceramic"):
        words += "; ferrite bars are often thicker: bobbins tilt, the cover may not seat"
    if "rough-cast" in candidate.bar:
        words += "; rough cast is thicker and uneven"
    if magnet.length < 60e-3:
        words += "; a short bar: centre it, check the outer strings"
    return words


def risk_of(candidate: Candidate) -> str:
    """Return the highest of the risks."""
    risks = [task.risk for task in candidate.tasks] or ["low"]
    return max(risks, key=lambda one: _LEVELS.get(one.split(":")[0].split(",")[0], 0))


def way_back(candidate: Candidate) -> str:
    """Return the way back of every task, each once."""
    return "; ".join(dict.fromkeys(task.way_back for task in candidate.tasks)) or "nothing to undo"


def hangs_on(candidate: Candidate, guitar: Guitar) -> Assumption | None:
    """Return the assumed value that matters most to these changes, or None where nothing they need is assumed."""
    place = guitar.pickups.index(guitar.pickup(candidate.pickup))
    here = f"pickups[{place}]."
    mine = [one for one in guitar.assumed if one.path.startswith((here, "controls.")) or "[" not in one.path]
    for task in candidate.tasks:
        for stem in KINDS[task.kind].hangs_on:
            for one in mine:
                if stem in one.path:
                    return one
    return None


def loss_words(pickup: Pickup) -> str:
    """Return what the old bar loses once it is out: the computed share of its field."""
    share = f"{100.0 * charge_lost(pickup):.0f} %"
    if pickup.magnet.charge == "in-place":
        return f"The old bar was charged in place and does not come back whole once it is out: {share} of its field go."
    most = "up to " if pickup.magnet.grade == "unknown" else ""
    return (
        f"The old bar may have been charged in place; then it does not come back whole once it is out: {most}"
        f"{share} of its field go."
    )


def notes_of(candidate: Candidate, pickup: Pickup) -> tuple[str, ...]:
    """Return cautions that belong beside the reason."""
    out = []
    bar = candidate.bar or ""
    if bar == "alnico-5-unoriented":
        out.append("Unoriented: no constants are published; all of this follows from the assumption.")
    if "rough-cast" in bar:
        out.append("Rough cast is computed as a slightly larger contact gap and smaller section, nothing else.")
    if candidate.bar and pickup.magnet.constants is None and not comes_back_whole(pickup):
        out.append(loss_words(pickup))
    if candidate.bar and not any(one.key == "charge" for one in candidate.changes):
        out.append("The bar comes charged outside.")
    return tuple(out)
