"""A phrase as plain tablature text: a line a string, the thin one on top, a column a step of time.

    tempo = 96
    step = 1/8
    ring = no

    touch|s-------h-------
    e|----------------
    B|----------5h7---
    G|------5/7-------
    D|--7~------------
    A|5--------x------
    E|----------------

Digits are frets, side by side one fret where that is 10 to 24 and else one each; ``h`` and ``p`` between two of them
hammer and pull, ``/`` and ``\\`` slide, ``b`` after one bends by two semitones and ``br`` lets go again, ``~`` sways,
``x`` is a string touched and not pressed, ``<12>`` a harmonic, ``.`` stops a string, ``|`` is a bar line and takes no
time. Above the strings ``touch|`` may say s, m or h (soft, medium, hard, from there on; with ``<`` or ``>`` in front
of it by even steps up or down to it), ``!`` (this stroke accented) and ``,`` (this stroke hardly touched), and
``mute|`` with m where the palm lies on them.
"""

import re
from dataclasses import dataclass, replace
from fractions import Fraction

from polepiece.errors import InputError
from polepiece.sound.dynamics import Dynamics
from polepiece.sound.phrase import Bend, Note, Phrase
from polepiece.sound.techniques import (
    back,
    bent,
    hammered,
    harmonic_at,
    plectrum,
    pulled,
    scratched,
    slid,
    strummed,
    swaying,
)
from polepiece.strings import MOST_STRINGS, PalmMute
from polepiece.typed_number import typed_number

LONGEST_TEXT = 64 * 1024  # characters
STRUM_GAP = 0.012  # s from string to string
TUNINGS = ("ebgdae", "ebgdad", "ebgdaeb", "dagdad", "gdae", "gdad", "gdaeb", "cgdaeb")  # usual ones, thin string first
LEAD, TAIL = 0.05, 1.5  # s before the first note, after the last step
SETTING = re.compile(r"^\s*(\w+)\s*=\s*(.+?)\s*$")
STAFF = re.compile(r"^\s*([^|\s]{0,8})\s*\|(.*)$")
FRET = r"0|1\d|2[0-4]|[1-9]"  # what is no fret from 10 to 24 is two notes: 00, 05 and 52 are
TOKEN = re.compile(rf"<(?P<harmonic>\d{{1,2}})>|(?P<fret>{FRET})(?P<after>br|b|~)?|(?P<mark>[xX.])|(?P<way>[hp/\\])")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Sign:
    """One sign on one string: at which step, and where in the text."""

    string: int
    step: int
    line: int
    column: int
    kind: str  # "fret", "harmonic", "scratch", "stop"
    fret: int = 0
    after: str = ""  # b, br, ~
    before: str = ""  # h, p, /, \ towards it from the note before


def tablature(text: str, name: str = "tablature") -> Phrase:
    """Return the phrase of a tablature (signs: common practice).

    Parameters
    ----------
    text : str
        See the module.
    name : str
        Of the phrase.

    Raises
    ------
    InputError
        Naming line and column: unequal lines, an unknown sign, a slide too far, nothing to play.
    """
    if len(text) > LONGEST_TEXT:
        raise InputError(f"{name} has {len(text)} characters; at most {LONGEST_TEXT} are read.")
    settings, staves = _parts(text, name)
    step = 60.0 / settings["tempo"] * 4.0 * settings["step"]
    signs: list[_Sign] = []
    dynamics = Dynamics()
    muted: set[int] = set()
    now = 0
    for staff in staves:
        strings, touches, mutes = _staff(staff, name)
        width, columns = _columns(strings, name)
        for number, (line, row) in enumerate(strings, start=1):
            signs += [replace(one, step=now + columns[one.step]) for one in _signs(row, number, line, name)]
        dynamics.add({now + columns.get(k, width): c for k, c in enumerate(touches) if c not in "-| "},
                     f"{name} line {staff[0][0]}: the touch above it")  # fmt: skip
        muted |= {now + columns[k] for k, c in enumerate(mutes) if c == "m" and k in columns}
        now += width
    notes = _notes(signs, step, dynamics, muted, ring=bool(settings["ring"]), end=now, name=name)
    if not notes:
        raise InputError(f"{name} holds no note.")
    return Phrase(name=name, notes=tuple(notes), duration=round(LEAD + now * step + TAIL, 3))


def _parts(text: str, name: str) -> tuple[dict[str, float], list[list[tuple[int, str, str]]]]:
    """Return the settings and the staves, each a list of (line number, label, row)."""
    settings: dict[str, float] = {"tempo": 100.0, "step": 0.125, "ring": 0.0}
    staves: list[list[tuple[int, str, str]]] = [[]]
    for number, raw in enumerate(text.splitlines(), start=1):
        line = raw.partition("#")[0].rstrip() if not STAFF.match(raw) or raw.lstrip().startswith("#") else raw.rstrip()
        if not line.strip():
            staves.append([])
        elif found := STAFF.match(line):
            staves[-1].append((number, found[1], found[2]))
        elif found := SETTING.match(line):
            settings[found[1].lower()] = _setting(found[1].lower(), found[2], f"{name} line {number}")
        else:
            raise InputError(
                f"{name} line {number}: {line.strip()!r:.40} is no setting (tempo = 96) and no string (e|--3--)."
            )
    return settings, [one for one in staves if one]


def _setting(key: str, value: str, where: str) -> float:
    if key == "ring" and value in ("yes", "no"):
        return float(value == "yes")
    try:
        if key == "tempo" and 20.0 <= (found := float(typed_number(value))) <= 400.0:
            return found
        if key == "step" and Fraction(1, 64) <= (share := Fraction(value)) <= 1:
            return float(share)
    except (InputError, ValueError, ZeroDivisionError):
        pass
    allowed = {"tempo": "20 to 400 quarters a minute", "step": "1/64 to 1/1", "ring": "yes or no"}
    if key not in allowed:
        raise InputError(f"{where}: there is no setting {key!r}; there are {', '.join(allowed)}.")
    raise InputError(f"{where}: {key} is {value!r:.30}; allowed is {allowed[key]}.")


def _staff(staff: list[tuple[int, str, str]], name: str) -> tuple[list[tuple[int, str]], str, str]:
    strings = [(line, row) for line, label, row in staff if label not in ("touch", "mute")]
    above = {label: row for _, label, row in staff if label in ("touch", "mute")}
    line = staff[0][0]
    if not 1 <= len(strings) <= MOST_STRINGS:
        raise InputError(f"{name} line {line}: {len(strings)} strings; 1 to {MOST_STRINGS} are read.")
    names = "".join(label for _, label, _ in staff if label not in ("touch", "mute")).casefold()
    if names[::-1] in TUNINGS and names not in TUNINGS:
        raise InputError(
            f"{name} line {line}: the strings run from the thick one down to the thin one; the thin one stands on top. "
            "Turn their lines round."
        )
    long = {len(row) for _, row in strings}
    if len(long) != 1:
        raise InputError(
            f"{name} line {line}: the lines of these strings have {', '.join(map(str, sorted(long)))} columns; make "
            "them equally long, a dash for every step without a note."
        )
    return strings, above.get("touch", ""), above.get("mute", "")


def _columns(strings: list[tuple[int, str]], name: str) -> tuple[int, dict[int, int]]:
    """Return how many steps there are and the step of every column; bar lines take none."""
    rows = [row for _, row in strings]
    steps: dict[int, int] = {}
    count = 0
    for k in range(len(rows[0])):
        bars = [row[k] == "|" for row in rows]
        if any(bars) and not all(bars):
            raise InputError(f"{name} line {strings[bars.index(False)][0]}: a bar line is missing in column {k + 1}.")
        steps[k] = count
        count += not any(bars)
    return count, steps


def _signs(row: str, string: int, line: int, name: str) -> list[_Sign]:
    out: list[_Sign] = []
    at, way = 0, ""
    while at < len(row):
        if row[at] in "-| ":
            at += 1
            continue
        found = TOKEN.match(row, at)
        if found is None:
            raise InputError(
                f"{name} line {line} column {at + 1}: {row[at]!r} is not read; see the signs in the how-to."
            )
        if found["way"]:
            way = found["way"]
        elif found["mark"]:
            if way:
                raise InputError(
                    f"{name} line {line} column {at + 1}: {way!r} leads to {row[at]!r}, where no fret is pressed; "
                    "write the fret that it goes to, or leave it out."
                )
            kind = "stop" if found["mark"] == "." else "scratch"
            out.append(_Sign(string=string, step=at, line=line, column=at + 1, kind=kind))
            way = ""
        else:
            kind = "harmonic" if found["harmonic"] else "fret"
            fret = int(found["harmonic"] or found["fret"])
            out.append(_Sign(string=string, step=at, line=line, column=at + 1, kind=kind, fret=fret,
                             after=found["after"] or "", before=way))  # fmt: skip
            way = ""
        at = found.end()
    if way:
        raise InputError(
            f"{name} line {line} column {len(row.rstrip('-| '))}: {way!r} leads to no note on this string; write the "
            "fret that it goes to, or leave it out."
        )
    return out


def _notes(
    signs: list[_Sign], step: float, dynamics: Dynamics, muted: set[int], *, ring: bool, end: int, name: str
) -> list[Note]:
    """Return the notes; a sign ends the one before it on its string, without ``ring`` any later note does."""
    out: list[Note] = []
    moments = sorted({one.step for one in signs if one.kind != "stop"})
    order = {at: k for k, at in enumerate(moments)}
    for at in moments:
        strength = dynamics.displacement(at)
        together = []
        for one in (sign for sign in signs if sign.step == at and sign.kind != "stop"):
            mine = sorted((s for s in signs if s.string == one.string), key=lambda s: s.step)
            before = [s for s in mine if s.step < at]
            after = [s for s in mine if s.step > at]
            later = [s.step for s in after]
            if not ring:
                later += [k for k in moments if k > at]
            length = (min(later) - at) * step if later else (end - at) * step + TAIL
            try:
                note = _note(
                    one, before[-1] if before else None, after[0] if after else None, at * step, length, strength
                )
            except InputError as error:
                raise InputError(f"{name} line {one.line} column {one.column}: {error}") from None
            if at in muted and note.mute is None:
                note = replace(note, mute=PalmMute())
            if order[at] % 2 and not one.before:
                note = replace(note, pluck=back(note.pluck))
            together.append(note)
        out += strummed(together, gap=STRUM_GAP, upward=False, number=1000 + at) if len(together) > 1 else together
    return out


def _note(
    one: _Sign, before: "_Sign | None", after: "_Sign | None", onset: float, length: float, strength: float
) -> Note:
    mute: PalmMute | None = None
    bend: Bend | None = None
    pluck = plectrum(strength)
    fret = one.fret
    if one.kind == "scratch":
        pluck, mute = scratched(strength)
    elif one.kind == "harmonic":
        mute, fret = harmonic_at(one.fret), 0
    elif one.before == "h" or (one.before in "/\\" and one.before):
        pluck = hammered(strength if one.before == "h" else 0.5 * strength, one.fret)
    elif one.before == "p":
        pluck = pulled(strength, max(one.fret, before.fret if before else 0))
    if after is not None and after.before in ("/", "\\") and one.kind == "fret":
        bend = slid(after.fret - one.fret, length)
    elif one.after:
        bend = swaying(length) if one.after == "~" else bent(2.0, length, release=one.after == "br")
    return Note(string=one.string, fret=fret, onset=LEAD + onset, duration=max(length, 0.02), pluck=pluck, mute=mute,
                bend=bend)  # fmt: skip
