"""What ``polepiece hear`` says of the sounds that it made: in words, and as JSON."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from polepiece.cli.console import table
from polepiece.cli.trade_lines import trade_body

if TYPE_CHECKING:
    from rich.table import Table

    from polepiece.auditioning import Audition, Comparison, Described, TradeWord
    from polepiece.errors import PolepieceError

PIECES = {"before": "before.wav", "after": "after.wav", "after_true_level": "after-true-level.wav"}

LOUD_DB = 20.0  # from here on the noise of a recording is worth a word (common practice, no source)


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """The sounds of one phrase or recording, their files, and the numbers of each state but the first."""

    found: "Comparison"
    files: Sequence[str]
    described: "Sequence[Sequence[Described]]"
    again: Sequence[str] = ()  # files of an earlier run that were written again


def as_body(
    made: Sequence[Made], folder: Path, *, listening_db: float, faults: "Mapping[str, PolepieceError]",
    words: "Sequence[Sequence[TradeWord]]" = (),
) -> dict[str, Any]:  # fmt: skip
    """Return all that was made; the first recording and state stand by themselves too, all are in ``sounds``.

    ``words`` of the trade: of each state but the first, the same for every recording.
    """
    sounds = [_state(one, k) for one in made for k in range(1, len(one.found.states))]
    for number, one in enumerate(sounds if words else ()):
        one["trade_words"] = trade_body(words[number % len(words)])
    first = made[0].found
    return {
        **{key: value for key, value in sounds[0].items() if key not in ("filter", "described")},
        "pickup": first.pickup,
        "sample_rate_hz": first.sample_rate,
        "folder": str(folder),
        "source": first.kind,
        "driven": first.chain == "driven",
        "chain": first.chain or None,
        "loudspeaker": first.loudspeaker or None,
        "listening_db_spl": listening_db,
        "sounds": sounds,
        "written_again": [name for one in made for name in one.again],
        "failed": [{"recording": name, "error": str(error)} for name, error in faults.items()],
    }


def audition_body(heard: "Audition", folder: Path) -> dict[str, Any]:
    """Return a pair that is held in memory in the same shape."""
    alignment = heard.alignment
    return {
        "pickup": heard.pickup,
        "change": [one.text for one in heard.changes],
        "level_difference_db": alignment.level_difference_db,
        "alignment_gain_db": alignment.alignment_gain_db,
        "clean_level_difference_db": heard.clean_level_difference_db,
        "loudness_before_lufs": alignment.before_lufs,
        "loudness_after_lufs": alignment.after_lufs,
        "aligned_lufs": alignment.aligned_lufs,
        "sample_rate_hz": heard.sample_rate,
        "folder": str(folder),
        "files": dict(PIECES),
        "source": heard.source,
        "phrase": heard.phrase,
        "driven": heard.driven,
        "note": alignment.note,
    }


def _state(made: Made, state: int) -> dict[str, Any]:
    found, files = made.found, made.files
    one, difference = found.states[state], found.difference_db(state)
    given = one.filter
    return {
        "phrase": found.played,
        "duration_s": found.duration,
        "change": [move.text for move in one.changes],
        "level_difference_db": difference,
        "alignment_gain_db": -difference,
        "clean_level_difference_db": found.clean_difference_db(state),
        "predicted": _predicted(found, state),
        "loudness_before_lufs": found.states[0].loudness_lufs,
        "loudness_after_lufs": one.loudness_lufs,
        "aligned_lufs": found.states[0].loudness_lufs + found.levels.aligned_gain_db[0],
        "files": {"before": files[0], "after": files[2 * state - 1], "after_true_level": files[2 * state]},
        "note": _note(found),
        "recording": _condition(found),
        "described": {row.key: _described(row) for row in made.described[state - 1]},
        "filter": None
        if given is None
        else {
            "largest_gain_db": given.largest_gain_db,
            "worst_error_db": given.worst_error_db,
            "regularised_db": given.regularised_db,
        },
    }


def _predicted(found: "Comparison", state: int) -> dict[str, Any] | None:
    """Return what the closed form says of a phrase: small strokes, straight flux law; None for a recording."""
    before, after = found.states[0].predicted, found.states[state].predicted
    if before is None or after is None:
        return None
    import numpy as np

    was = before.third_octave_db
    sounds = np.isfinite(was) & np.isfinite(after.third_octave_db)  # a band that nothing is played in has no level
    return {
        "clean_level_difference_db": found.predicted_difference_db(state),
        "curved_law_adds_db": {"before": found.curved_db(0), "after": found.curved_db(state)},
        "third_octave_hz": after.middle,
        "third_octave_difference_db": np.where(sounds, after.third_octave_db - np.where(sounds, was, 0.0), np.nan),
        "third_octave_before_db": np.where(sounds, was, np.nan),
    }


def _condition(found: "Comparison") -> dict[str, Any] | None:
    """Return what was found wrong with a recording; None for a phrase."""
    if found.condition is None:
        return None
    one = found.condition
    facts = {key: value for key, value in asdict(one).items() if key != "spectrum"}
    return facts | {"driven": one.driven, "squashed": one.squashed, "noisy": one.noisy, "words": list(one.words)}


def _note(found: "Comparison") -> str:
    lowered = found.levels.lowered_db
    if lowered <= 0.0:
        return ""
    return f"All sounds are {lowered:.1f} dB quieter than -23 LUFS so that no peak passes -1 dBFS."


def words(made: Made) -> list[str]:
    """Say what was made and what the alignment hides."""
    found, files = made.found, made.files
    through = f", {found.chain} chain, loudspeaker: {found.loudspeaker}" if found.chain else ""
    out = [f"{found.pickup}: {found.played} ({found.kind}, {found.duration:.1f} s{through})."]
    for k in range(1, len(found.states)):
        difference = found.difference_db(k)
        way = "louder" if difference > 0.0 else "quieter"
        moves = ", ".join(one.text for one in found.states[k].changes)
        out.append(
            f"{moves}: really {abs(difference):.1f} dB {way} than before (BS.1770); {files[2 * k - 1]} hides that "
            f"with a gain of {-difference + 0.0:+.1f} dB, {files[2 * k]} does not."
        )
        expected, curved = found.predicted_difference_db(k), (found.curved_db(0), found.curved_db(k))
        if expected is not None and curved[0] is not None and curved[1] is not None:
            out.append(
                f"Predicted for small strokes of this phrase: {expected:+.1f} dB; strokes of this size add "
                f"{curved[0]:+.1f} dB before and {curved[1]:+.1f} dB after (curved flux law; noise and glide, if on)."
            )
        if found.chain:
            out.append(f"In front of the chain the difference is {found.clean_difference_db(k):+.1f} dB.")
        given = found.states[k].filter
        if given is not None and given.largest_gain_db > LOUD_DB:
            out.append(f"The recording is raised by up to {given.largest_gain_db:.0f} dB there; so is its noise.")
    condition = () if found.condition is None else found.condition.words
    return [*out, *([_note(found)] if _note(found) else []), *(f"{found.played}: {line}" for line in condition)]


def tables(made: Made, *, listening_db: float, seconds: float) -> "list[Table]":
    """Return the numbers before and after of each state, with the thresholds that are published."""
    out = []
    for state, rows in enumerate(made.described, start=1):
        moves = ", ".join(one.text for one in made.found.states[state].changes)
        stretch = f"the loudest {min(made.found.duration, seconds):.1f} s"
        title = f"{moves}: {stretch}, before at {listening_db:g} dB SPL (assumed)"
        cells = [
            (row.name, _number(row.before, row.unit), _number(row.after, row.unit),
             _number(row.difference, row.difference_unit, sign="+"), _number(row.threshold, row.difference_unit))
            for row in rows
        ]  # fmt: skip
        out.append(table(title, ("", "before", "after", "difference", "just noticed from"), cells))
    return out


def notes(made: Made) -> list[str]:
    """Return why a number is missing, each reason once."""
    return list(dict.fromkeys(row.note for rows in made.described for row in rows if row.note))


def fault_words(faults: "Mapping[str, PolepieceError]", all_: int) -> str:
    """Say which recordings could not be used."""
    each = (str(error) if name in str(error) else f"{name}: {error}" for name, error in faults.items())
    lines = "\n".join(dict.fromkeys(each))
    return f"{len(faults)} of {all_} recordings could not be used; nothing was written for them:\n{lines}"


def _number(value: float | None, unit: str, *, sign: str = "") -> str | None:
    digits = {"sone": 2, "acum": 2, "phon": 1, "dB": 1, "%": 0, "Hz": 0}[unit]
    return None if value is None else f"{round(value, digits) + 0.0:{sign}.{digits}f} {unit}"


def _described(row: "Described") -> dict[str, Any]:
    return {key: value for key, value in asdict(row).items() if key != "key"}
