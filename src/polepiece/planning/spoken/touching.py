"""Hum and a hand: whether noise comes or goes when metal is touched, told by what stands where, not by phrases.

A text of plain words is cut into clauses. A clause may tell a touch ("I hold the strings") or its end ("I let go"), and
a state: more noise, less, or the same. Together they say whether the touch brings the noise or takes it away;
"until" and "unless" turn that round, and so does a denial. Where two clauses part, the dangerous reading holds.
Common practice, no source: that touched metal must never make hum worse is the rule of the trade.
"""

import re
from dataclasses import dataclass

from polepiece.planning.fault import HUM

BRINGS, TAKES, HUMS = "buzz when touching the strings", "buzz stops when touching the strings", "hum"
_THE = r"(?:the |my |your |any |a |some |both |all |its )*"
_METAL = (
    r"(?:strings?|tremolo|trem|arm|bridge|metal|jack(?: plate)?|tailpiece|tail ?piece|hardware|knobs?|screws?"
    r"|poles?|pole pieces|cover"
    r"|tuners?|saddles?|plate|them|it|guitar|instrument|(?:some|any)thing(?: metal)?)"
)
_ON = rf"(?: {_THE}{_METAL}\b(?! pickup))?"
_HANDS = r"(?:hands?|fingers?|palms?|fingertips?|thumbs?|skin)"
_AFTER = (
    r"(?! (?:of|more|less|too|thin|dull|bright|weak|response|sensitiv\w*|pickup|pick guard|pickguard|scratchplate))"
)
_TOUCH = re.compile(
    rf"\b(?<!\ba )(?<!the )(?<!my )(?<!no )(?<!hot to )(?:touch(?:ing|ed|es)?|grab(?:bing|bed|s)?"
    rf"|gripp?(?:ing)?)\b{_ON}"
    rf"{_AFTER}|\b(?:hold(?:ing|s)?|rest(?:ing|s)?|leaning|lean) (?:on )?{_THE}{_METAL}\b"
    rf"|\b{_HANDS} (?:is |are |rests? |resting |go(?:es)? |firmly )*(?:on|touch\w*){_ON}{_AFTER}"
    rf"|\bground(?:ing)? myself{_ON}|\b(?:put|lay|place|rest)(?:ting|ing|s)? {_THE}{_HANDS} on{_ON}"
)
_END = re.compile(
    rf"\b(?:let(?:ting|s)? (?:{_THE}{_METAL} )?go|releas(?:e|es|ed|ing))(?: of)?{_ON}"
    rf"|\b(?:take|taking|lift|lifting|remove|removing|pull|pulling) {_THE}{_HANDS} ?(?:off|away|from)*(?: of)?{_ON}"
    rf"|\b{_HANDS} (?:is |are |come |comes )*(?:off|away)(?: of| from)?{_ON}|\b{_HANDS} leaves?{_ON}"
    rf"|\b(?:when|if|while|unless|am|i|you|are|is|with)(?: i| you)?(?: am| are)?(?: do)? not touch(?:ing|ed)?\b{_ON}"
    rf"|\bstop(?:ped|s)? touching{_ON}|\b(?:when|if) (?:i|you) (?:do|am) not\b(?! \w)|\b(?<!do )not touch(?:ed"
    rf"|ing){_ON}"
)
_NOISE = re.compile(rf"\b(?<!fret )(?:{HUM}|bz+|hiss(?:es|ing)?|60 cycle)\b")
_SAME = re.compile(
    r"\b(?:no matter|stays (?:put|on|there)|same|identical|unchanged|unaffected|regardless|whether"
    r"|no (?:difference|change|effect)|or not"
    r"|nothing changes|chang\w+ nothing|not (?:change|help|matter|affect)\w*|makes? no)\b"
)
_QUIET = re.compile(r"\b(?:quiet|silent|silence|fine|ok|okay|dead quiet)\b")
_LESS = re.compile(
    r"\b(?:stop(?:s|ped|ping)?|gone|go(?:es)? away|goes|went away|disappears?|vanish(?:es)?|dies|dead|ends?|kills?"
    r"|removes?|cures?|silences|clears?|quieter|less|weaker|down|dn|drops?|sinks?|calms?|subsides?|recedes?|falls?|fades?|halv\w+|away|better|lower"
    r"|quietens?|shuts up|reduces?|reduced|decreases?)\b"
)
_MORE = re.compile(
    r"\b(?:louder|worse|more|up|stronger|starts?|comes|begins?|appears?|rises?|grows?|sets in|doubles?|increases?"
    r"|makes?|causes?|gives?|higher|only)\b"
)
_NOT = re.compile(r"\b(?:not|no|never|nothing|without|hardly|barely)\b")
_WISH = re.compile(r"\b(?:want|wants|wish|would like|hate|need|please|should|stand|accept|tolerate)\b")
_CUT = re.compile(
    r"\s*(?P<stop>[,;:.!?])\s*|\b(?P<link>(?:(?:only|but|and|just|not|except|then|as|yet) )*"
    r"(?:when(?:ever)?|if|while|as soon as|once|until|till|unless|since|because|on(?= touch)|with|after|except"
    r"|as(?= (?:i|you|my|the)\b)|the (?:moment|second|instant)"
    r"|every time))\b|\b(?P<join>and|but|then|only|or(?! not))\b"
)
_ONLY, _NEXT = re.compile(r"\b(?:only|but|just|not)\b"), re.compile(r"\b(?:then|and)$")
_TURNS = re.compile(r"\b(?:until|till|unless|except(?: \w+)?)$")
_ORDER = re.compile(
    r"(?:^\s*(?:please |just |so )*(?:do not|never|not)|\bwithout)\s*$"
)  # "do not touch it" is no touch
_WORDS = (
    "touch touching touched grab grabbing hold holding hand hands finger fingers strings metal tailpiece hardware "
    "release leave until unless silent quieter louder halves vanishes disappears"
)


@dataclass(slots=True)
class _Clause:
    start: int
    end: int
    link: str
    text: str
    touch: int = 0  # +1 a touch, -1 its end, 0 none of both
    at: tuple[int, int] = (0, 0)
    state: int | None = None  # +1 more noise, -1 less, 0 the same; None: nothing is said
    told: tuple[int, int] = (0, 0)


def known_words() -> tuple[str, ...]:
    """Return the words by which a touch is told."""
    return tuple(_WORDS.split())


def touched(text: str) -> list[tuple[int, int, str]]:
    """Return start, end and name of the fault that a touch tells in a text of plain words; [] where it tells none."""
    clauses = [_read(one) for one in _clauses(text)]
    if not any(one.touch for one in clauses) or not (_NOISE.search(text) or _QUIET.search(text)):
        return []
    ways, spans = [], []
    for place, one in enumerate(clauses):
        if not one.touch:
            continue
        told = _told(clauses, place)
        if told is None or told.state is None:
            continue
        state = told.state
        if told is not one and _ONLY.search(one.link) and _answered(clauses, place):
            state = -state  # "not when I touch, only when I let go"
        if _TURNS.search(one.link) and told is not one:
            state = -state
        ways.append(one.touch * state)
        spans += [one.at, told.told]
        first = min(place, clauses.index(told))
        before = clauses[first - 1] if first else one
        if before.state is not None and not before.touch and before.link not in (".", ";"):
            spans.append(before.told)  # "it hums, and when I touch the strings it stops"
    if not ways:
        return []
    start, end = min(one[0] for one in spans), max(one[1] for one in spans)
    later = [one.told for one in clauses if one.state is not None and one.start >= end and _NEXT.search(one.link)]
    end = max([end, *(one[1] for one in later[:1])])
    return [(start, end, BRINGS if 1 in ways else TAKES if -1 in ways else HUMS)]


def _clauses(text: str) -> list[_Clause]:
    out: list[_Clause] = []
    start, link = 0, ""
    for one in _CUT.finditer(text):
        out.append(_Clause(start=start, end=one.start(), link=link, text=text[start : one.start()]))
        found = one["link"] or one["join"] or ""
        blank = not out[-1].text.strip()
        link = f"{link} {found}".strip() if blank and found else found or one["stop"]
        if blank:
            out.pop()
        start = one.end()
    out.append(_Clause(start=start, end=len(text), link=link, text=text[start:]))
    return [one for one in out if one.text.strip()]


def _read(one: _Clause) -> _Clause:
    whole = f"{one.link.split(' ')[-1]} {one.text}" if one.link else one.text
    shift = one.start - (len(whole) - len(one.text))
    for way, pattern in ((-1, _END), (1, _TOUCH)):
        found = pattern.search(whole)
        if found and not _ORDER.search(whole[: found.start()]):
            one.touch = way
            one.at = max(shift + found.start(), one.start), shift + found.end()
            whole = whole[: found.start()] + " " * len(found[0]) + whole[found.end() :]
            break
    noise, wished = _NOISE.search(whole), _WISH.search(whole)
    for state, pattern in ((0, _SAME), (-1, _QUIET), (-1, _LESS), (1, _MORE)):
        found = pattern.search(whole)
        if found is None or (state == 1 and not noise and found[0] in ("only", "makes", "make", "gives", "give")):
            continue
        denied = _NOT.search(whole[: found.start()])
        if denied and state == 1 and noise and noise.start() > denied.end():
            break  # "makes no hum"
        one.state = state if not denied else 1 if pattern is _QUIET or (wished and state == 1) else 0
        if wished and one.state == -1:
            one.state = 0  # "it should stop": it does not
        _place(one, shift, *(each for each in (found, denied, noise) if each))
        return one
    if noise:
        denied = _NOT.search(whole[: noise.start()])
        one.state = -1 if denied and not wished else 1
        _place(one, shift, *(each for each in (noise, denied, wished) if each))
    return one


def _place(one: _Clause, shift: int, *found: re.Match[str]) -> None:
    one.told = max(shift + min(each.start() for each in found), one.start), shift + max(each.end() for each in found)


def _told(clauses: list[_Clause], place: int) -> _Clause | None:
    """Return the clause that tells what happens at a touch: its own, else the one before, else the one behind."""
    one = clauses[place]
    if one.state is not None:
        return one
    before = [each for each in clauses[:place] if each.state is not None]
    behind = [each for each in clauses[place + 1 :] if each.state is not None and not each.touch]
    first = one.link in ("", ".", ";", "and", "then", ",") or (behind and not before)
    found = (behind[:1] or before[-1:]) if first else (before[-1:] or behind[:1])
    return found[0] if found else None


def _answered(clauses: list[_Clause], place: int) -> bool:
    """Tell whether another touch was spoken of before this one."""
    return any(one.touch for one in clauses[:place])
