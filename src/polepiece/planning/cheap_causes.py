"""The cheap causes to rule out before anything is bought or opened: settings, strings, cable, a pickup too close.

Rules and figures here are common practice, no source, unless a line says otherwise.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass

from polepiece.guitar import (
    Complaint,
    Guitar,
    Pickup,
    has_own_poles,
    pole_words,
    safe_gaps,
    string_gaps,
    tones_of,
    volumes_of,
)
from polepiece.moves import pickup_words, string_words
from polepiece.planning.complaints import spelled_out, sudden, word_of
from polepiece.planning.gate import BASIS

NEARER = 0.02e-3  # m; less than that reads the same on a ruler


@dataclass(frozen=True, slots=True, kw_only=True)
class Cause:
    """One cheap cause to rule out before anything is bought or opened."""

    cause: str
    check: str
    why: str
    basis: str = BASIS


_OLD = re.compile(r"old|unknown|month|year|dead|long|not known|no idea", re.IGNORECASE)


def cheap_causes(guitar: Guitar, complaints: Iterable[Complaint] = ()) -> tuple[Cause, ...]:
    """Return the cheap causes to rule out first, those that the complaint words point to before the others."""
    complaints = spelled_out(complaints, guitar)
    wanted: dict[str, None] = {}
    for one in complaints:
        wanted |= dict.fromkeys(word_of(sudden(one.word)[1]).causes)
    known = causes_of(guitar)
    found = (*_too_close(guitar, complaints), *_halves(guitar, complaints))
    return (*found, *(known[key] for key in wanted if key in known))


_ONE_STRING = re.compile(r"string \d+ (?:weak|loud)|(?:bass|treble) strings (?:weak|loud)|uneven")


def _halves(guitar: Guitar, complaints: Iterable[Complaint]) -> list[Cause]:
    """Return that a pickup of two halves may have one that is weak: strings of one half then stay behind together."""
    out: dict[str, Cause] = {}
    for one in complaints:
        pickup = guitar.pickup(one.pickup) if one.pickup is not None else None
        if pickup is None or not any(row.half for row in pickup.built.rows) or not _ONE_STRING.match(one.word):
            continue
        out[pickup.name] = Cause(
            cause=f"one half of the {pickup_words(pickup.name)} weaker than the other",
            check="ohmmeter across each half, its leads off: they agree within 10 %; gap and gauss under each half",
            why="a shorted turn, lost charge or a lower half is heard on its own strings alone",
        )
    return list(out.values())


def _apart(guitar: Guitar, pickup: Pickup, number: int, gap: float) -> str:
    """Return which string is how near to which pole."""
    far = f"{gap * 1e3:.1f} mm from"
    if has_own_poles(pickup, len(guitar.strings)):
        return f"{string_words(number)} string {far} its pole"
    return f"a string {far} {pole_words(number)}"


def _too_close(guitar: Guitar, complaints: Iterable[Complaint]) -> list[Cause]:
    """Return where a pickup stands nearer to a string than is ever planned; of those complained of, else of all."""
    named = {guitar.pickup(one.pickup).name for one in complaints if one.pickup is not None}
    out = []
    for pickup in guitar.pickups:
        if named and pickup.name not in named:
            continue
        near = [
            (number, gap, safe)
            for number, (gap, safe) in enumerate(zip(string_gaps(pickup), safe_gaps(pickup)), start=1)
            if gap < safe - NEARER
        ]
        if near:
            number, gap, safe = max(near, key=lambda one: one[2] - one[1])
            out.append(
                Cause(
                    cause=f"{pickup_words(pickup.name)} too close, {_apart(guitar, pickup, number, gap)} "
                    f"({safe * 1e3:.1f} is the least)",
                    check=f"lower it to {safe * 1e3:.1f} mm or more, string pressed at the last fret; hear it again",
                    why="nearer, the magnets pull the string out of tune and damp it",
                )
            )
    return out


def _turned_down(guitar: Guitar) -> str:
    """Return where the knobs stand, if one of them is below 10."""
    knobs = [(one.pickup, "volume", one.setting) for one in volumes_of(guitar)]
    knobs += [(one.pickup, "tone", one.setting) for one in tones_of(guitar)]
    if all(setting is None or setting >= 10 for _, _, setting in knobs):
        return ""
    return ", ".join(f"{owner} {word} {at:g}" if owner else f"{word} {at:g}" for owner, word, at in knobs)


def causes_of(guitar: Guitar) -> dict[str, Cause]:
    """Return the table of cheap causes that apply to this guitar by key."""
    c = guitar.controls
    assumed = {one.path for one in guitar.assumed}
    table = {
        "setup": Cause(
            cause="action, relief, nut and frets",
            check="relief and action at the last fret; does it buzz unplugged?",
            why="buzz and pull shorten notes more than any magnet",
        ),
        "amp": Cause(
            cause="amplifier settings",
            check="same complaint with tone controls level and less gain, and through another amplifier?",
            why="bass and presence before the drive outdo every lever of the guitar",
        ),
        "pick": Cause(
            cause="a worn or hard pick",
            check="try a fresh one and a softer one",
            why="the pick's edge is the first thing a hard attack comes from",
        ),
        "meter": Cause(
            cause="a reading that nobody took",
            check="ohmmeter across each pickup, leads off the pots; gaps of the outer strings",
            why="level differences are half faults and half heights",
        ),
        "spread": Cause(
            cause="pole spread and centring",
            check="pole spread 49-50 mm neck, 52-53 mm bridge against the strings; centre the ring",
            why="a string beside its pole drops out on bends",
        ),
        "charge": Cause(
            cause="a bar that has lost charge",
            check="gauss at the pole tops against another pickup of the kind",
            why="stacking, dragging on steel and larger magnets weaken a bar",
        ),
        "split": Cause(
            cause="split or parallel switch, or phase with the other pickup",
            check="ohmmeter at the jack in every switch position; tap test with both on",
            why="half a pickup and two out of phase both sound thin",
        ),
        "phase": Cause(
            cause="phase with the other pickup",
            check="is it nasal with both on only? tap test",
            why="nasal with both on is phase, not voicing",
        ),
    }
    if _OLD.search(guitar.string_age) or "string_age" in assumed:
        table["strings"] = Cause(
            cause=f"string age ({guitar.string_age})",
            check="fit a fresh set of the same kind, or compare with one",
            why="new strings change more than most swaps",
        )
    long_cable = c.cable_capacitance >= 700e-12
    if long_cable or any(path.startswith("controls.cable") for path in assumed):
        state = "long or coiled" if long_cable else "not measured"
        table["cable"] = Cause(
            cause=f"cable ({state}: {c.cable_capacitance * 1e12:.0f} pF)",
            check="play through one short cable",
            why="the cable sets the resonance together with the coil",
        )
    if c.volume_pot_measured is None or (c.tone_pot is not None and c.tone_pot_measured is None):
        table["pots"] = Cause(
            cause="real values of the pots",
            check="ohmmeter across the outer lugs, one end free",
            why="20 % off the marking is normal and moves the resonance",
        )
    if turned := _turned_down(guitar):
        table["settings"] = Cause(
            cause=f"controls at {turned}",
            check="hear it with both at 10",
            why="settings below 10 take level and top",
        )
    return table
