"""What is told of another guitar, another time or another person, or only set against something: no complaint.

Common practice, no source. "My old one was harsh, this one is woolly" complains of one thing; "it used to be tight"
alone complains that it is tight no more.
"""

import re

_WHO = r"(?:guy|owner|player|guitarist|man|person|bloke|one|friend|mate|brother|dad|teacher|luthier|shop|seller|dealer)"
_THING = r"(?:guitars?|bass|basses|instrument|ones?|pickups?|set|axe|amp|rig)"
_ELSEWHERE = re.compile(
    rf"\b(?:my|the|his|her|our|all|any|some)? ?(?:other|old|previous|former|last|first|original|second) {_THING}\b"
    rf"(?! (?:up|down|louder)\b)"
    rf"|\b(?:\w+ )?(?:friend|mate|brother|buddy|teacher|bandmate|colleague|neighbour) is (?:\w+ ){{0,2}}?{_THING}\b"
    r"|\b(?:the|my|a) (?:last|other|previous) customer\b|\b(?:customer|owner|player) before(?: this| him| that)?\b"
    rf"|\bthe (?:\w+ )?{_WHO} (?:before me|i bought it (?:from|off)|who had it|who owned it)\b"
    rf"|\b(?:my|the|a) (?:friend|mate|brother|teacher|previous owner|last owner|former owner|seller|shop)"
    rf"(?= (?:says|said|finds|found|thinks|thought|called|calls|had|heard|claims))"
    r"|\bwho says\b|\bsome (?:people|folk|players) (?:say|find|call)\b"
)
_PAST = re.compile(r"\bused to (?:be|sound|have)\b|\b(?:was|were) once\b|\bonce (?:was|were)\b|\bin the past\b")
_PREFERENCE = re.compile(
    r"\b(?:rather|better|sooner) (?:have it )?(?:(?:a bit|a little|too|slightly|somewhat) )?\w+ than (?:too )?\w+"
)
REPHRASED = (  # what turns round what is said, put plainly
    (
        r"\b(?:it is |its )?not (?:the |my )?\w+ (?:pickup )?(?:that|which|who) ([^,;.]+?) ?,? but (?:rather )?"
        r"((?:the |my )\w+)",
        r"\2 \1",
    ),
    (
        r"\b(?:could not|can not|couldn't|couldnt|can't) (?:be|get|sound)(?: any)? "
        r"(?!happier|better|worse|more)(\w+?)(?:er)\b",
        r"is far \1er",
    ),
    (r"\b(?:shocked|shocking(?:ly)?) (?=(?:how|that|at|to|thin|dull|bright|loud|weak|bad)\b)", ""),
)


def asides(text: str) -> list[tuple[int, int, str]]:
    """Return start, end and kind, "aside" or "past", of what is told of something else in a text of plain words."""
    found = [(one.start(), one.end(), "aside") for one in _ELSEWHERE.finditer(text)]
    found += [(one.start(), one.end(), "past") for one in _PAST.finditer(text)]
    return [*found, *((one.start(), one.end(), "whole") for one in _PREFERENCE.finditer(text))]
