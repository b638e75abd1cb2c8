"""What ``polepiece hear`` says of the sounds that it made: in words, and as JSON."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from polepiece.voicing import Audition, Comparison

PIECES = {"before": "before.wav", "after": "after.wav", "after_true_level": "after-true-level.wav"}

Made = Sequence[tuple["Comparison", Sequence[str]]]


def as_body(made: Made, folder: Path) -> dict[str, Any]:
    """Return all that was made; the first recording and state stand by themselves too, all are in ``sounds``."""
    sounds = [_state(found, files, k) for found, files in made for k in range(1, len(found.states))]
    first = made[0][0]
    return {
        **{key: value for key, value in sounds[0].items() if key != "filter"},
        "pickup": first.pickup,
        "sample_rate_hz": first.sample_rate,
        "folder": str(folder),
        "source": first.kind,
        "driven": first.chain == "driven",
        "chain": first.chain or None,
        "loudspeaker": first.loudspeaker or None,
        "sounds": sounds,
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


def _state(found: "Comparison", files: Sequence[str], state: int) -> dict[str, Any]:
    one, difference = found.states[state], found.difference_db(state)
    given = one.filter
    return {
        "phrase": found.played,
        "duration_s": found.duration,
        "change": [move.text for move in one.changes],
        "level_difference_db": difference,
        "alignment_gain_db": -difference,
        "clean_level_difference_db": found.clean_difference_db(state),
        "loudness_before_lufs": found.states[0].loudness_lufs,
        "loudness_after_lufs": one.loudness_lufs,
        "aligned_lufs": found.states[0].loudness_lufs + found.levels.aligned_gain_db[0],
        "files": {"before": files[0], "after": files[2 * state - 1], "after_true_level": files[2 * state]},
        "note": _note(found),
        "filter": None
        if given is None
        else {
            "largest_gain_db": given.largest_gain_db,
            "worst_error_db": given.worst_error_db,
            "regularised_db": given.regularised_db,
        },
    }


def _note(found: "Comparison") -> str:
    lowered = found.levels.lowered_db
    if lowered <= 0.0:
        return ""
    return f"All sounds are {lowered:.1f} dB quieter than -23 LUFS so that no peak passes -1 dBFS."


def words(found: "Comparison", files: Sequence[str]) -> list[str]:
    """Say what was made and what the alignment hides."""
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
        if found.chain:
            out.append(f"In front of the chain the difference is {found.clean_difference_db(k):+.1f} dB.")
        given = found.states[k].filter
        if given is not None and given.largest_gain_db > LOUD_DB:
            out.append(f"The recording is raised by up to {given.largest_gain_db:.0f} dB there; so is its noise.")
    return [*out, *([_note(found)] if _note(found) else [])]


LOUD_DB = 20.0  # from here on the noise of a recording is worth a word (common practice, no source)
