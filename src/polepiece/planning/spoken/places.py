"""Where something is heard: pickups, positions of the switch, strings, and how the guitar is played meanwhile."""

import re
from collections.abc import Iterator

from polepiece.guitar import Guitar
from polepiece.planning.spoken.tokens import joined, tokenise

NUMBERS = {
    "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8, "nine": 9,
    "1st": 1, "2nd": 2, "3rd": 3, "4th": 4, "5th": 5, "6th": 6, "7th": 7, "8th": 8, "9th": 9,
    "first": 1, "second": 2, "third": 3, "fourth": 4, "fifth": 5, "sixth": 6, "seventh": 7, "eighth": 8, "ninth": 9,
    **{str(n): n for n in range(1, 10)},
}  # fmt: skip
PICKUPS = {
    "neck": "neck", "bridge": "bridge", "middle": "middle", "front": "neck", "rear": "bridge",
    "center": "middle", "centre": "middle",
}  # fmt: skip
_BESIDE = {
    "back": "bridge",
    "lead": "bridge",
    "rhythm": "neck",
    "treble": "bridge",
    "bass": "neck",
    "mid": "middle",
    "top": "bridge",
}
_UNIT = r"(?:pickups?|humbuckers?|single coils?|pups?|pu)"
FIVE_WAY = {1: ("bridge",), 2: ("middle", "bridge"), 3: ("middle",), 4: ("neck", "middle"), 5: ("neck",)}
THREE_WAY = {1: ("bridge",), 2: ("neck", "bridge"), 3: ("neck",)}
_N = rf"(?:{'|'.join(sorted(NUMBERS, key=len, reverse=True))})"
_ORD = r"(?:1st|2nd|3rd|[4-9]th|first|second|third|fourth|fifth|sixth|seventh|eighth|ninth)"
_MORE = rf"(?:(?: ,)?(?: and| or| ,| to| \+| /)? {_N}\b)*"
_ROLL = r"(?:roll|rolls|rolled|rolling|turn|turns|turned|turning|back|backed|backing|bring)"
_WITH = r"(?:when |if |with |while |once )*(?:the |my |its )*(?:(?:neck|bridge|middle|tone|volume) )?"
_MANNER = re.compile(  # how it is played says nothing of how it sounds
    r"\b(?:play|pick|strum|hit|dig|pluck|bash|whack)(?:s|ed|ing)? (?:it |them |in |away "
    r"|the |my |strings? |very |too |so |really |a bit |quite )*(?:hard|harder|softly|soft|softer|gently|lightly"
    r"|light|loud|louder|loudly|fast|faster|strong|strongly|heavily|aggressively)\b"
    r"|\b(?:however|no matter how|how) (?:hard|soft|softly|gently|loud|light|lightly|fast) (?:i |you |we |he |she "
    r"|they )(?:play|pick|strum|hit|dig|pluck)(?:s| it| in| them)*\b"
)
_PULLED = r"(?:knobs?|pots?|switch) (?:is |are |being )?(?:pulled|out|lifted)(?: up| out| on)?"
_WHO = r"(?:i |you |we |he |is |the |my |guitar |it )*"

SETTINGS: tuple[tuple[str, str], ...] = (
    ("volume down", r"(?:when |if |with |once )?(?:the |my )?(?:guitar )?volume (?:is |gets )?(?:lowered|reduced"
                    r"|lower|halved|decreased)"),
    ("clean", r"(?:with |at |on |in )?(?:a )?(?:low|little|no|less) gain"),
    (
        "volume down",
        r"(?:when|if|as|once|after) (?:i |you |it is |is )*(?:turn|turning|turned|roll|rolling|rolled|back"
        r"|backed)(?: it)? (?:down|off|back)\b"
        r"(?! (?:the )?tone)",
    ),
    ("loud", r"(?:at|on|with) (?:a )?(?:high|full|stage|gig|loud|band|concert|rehearsal)(?: er)? (?:volume|level)s?"),
    ("loud", r"(?:when |if )?(?:i |it is )?(?:played |play |playing |turned |crank it )(?:up )?(?:loud|up loud"
             r"|up)\b"),
    ("loud", r"(?:when|whenever|if|as soon as|once|every time) (?:i |you |we )*(?:turn|crank) (?:it |the amp |the gain "
             r"|the volume )?up(?: loud| high| the (?:amp|gain|volume))?\b(?! the| my)"),
    ("volume down", rf"(?:when |if |with |once |as |after )?{_WHO}{_ROLL} (?:off |down |back )?{_WHO}volume(?: knob|"
                    rf" pot| control)?(?: is)?(?: down| off| back)?(?: a bit| a little)?"),
    ("volume down", rf"(?:when |if |with |once |as )?{_WHO}volume (?:knob |pot |control )?(?:is )?(?:turned |rolled "
                    rf"|backed )?(?:down|off|back)(?: a bit)?"),
    ("volume down", r"(?:when |if |with |at )?(?:the |my )?(?:guitar )?volume (?:knob |pot )?(?:is )?(?:on|at|below"
                    r"|under|to) (?:[1-8](?:\.\d)?|half|five|seven|three|four|six)\b"),
    ("volume down", r"(?:when |if )(?:i |it is |is )?(?:turned|rolled|backed|rolling|turn it|roll it|roll) (?:down"
                    r"|off|back|it off|it back)(?! (?:the )?tone)"),
    ("volume down", r"(?:when|if|as|once|after) (?:i |you |we )*(?:turn|turning|roll|rolling|back|backing) "
                    r"(?:the |my )?(?:guitar|instrument|bass)(?: volume)? (?:down|off|back)\b"
                    r"(?: to \d+| a bit| a little)?"),
    ("volume down", r"at (?:the |a )?(?:guitar )?volume (?:of )?(?:[1-8](?:\.\d)?|half|three|four|five|six|seven)\b"),
    ("volume down", r"at (?:lower|low|reduced|half) (?:guitar )?volume(?:s| settings?)?"),
    ("volume down", r"^(?:turned|rolled|backed) (?:down|off|back)(?: to \d+)?"),
    ("tone down", rf"(?:when |if |with |once |as )?{_WHO}{_ROLL} (?:off |down |back )?{_WHO}tone(?: knob| pot|"
                  rf" control)?(?: is)?(?: down| off| back)?"),
    ("tone down", r"(?:when |if |with )?(?:the |my )?tone (?:knob |pot |control )?(?:is )?(?:turned |rolled |backed"
                  r" )?(?:down|off|back)\b"),
    ("split", rf"{_WITH}(?:split|tap|coil split|coil tap) {_PULLED}"),
    ("pulled", rf"{_WITH}(?:phase |push pull |pull |push |series )?{_PULLED}"),
    ("split", r"(?:when |if |in |with |while |on )?(?:the |it is |i )?(?:coil )?(?:split|splitting|tapped|coil tap"
              r"|coil tapped|single coil mode|coil splitted)(?: mode| position| sound| it| on| setting)?(?! does| is"
              r" stuck)"),
    ("both on", r"(?:with |when |if |in )?both (?:pickups )?(?:are )?(?:switched |turned )?(?:on\b(?! the)|together"
                r"|combined|at once|in parallel)"),
    ("both on", r"with both(?: pickups)?(?! are| sound)"),
    ("both on", r"(?:when )?(?:used |played |on |pickups |both |them |two |bridge |neck |middle |sound |sounds )+"
                r"(?:together|combined)|^together|^combined"),
    ("both on", r"(?:in |with )?(?:the )?(?:switch |selector |toggle )?(?:in )?(?:the )?(?:middle|centre|center)"
                r" (?:position|setting|of the switch)"),
    ("all on", r"(?:with |when )?all (?:three |pickups )+(?:are )?on"),
    ("between", r"(?:in |the )*(?:in between|inbetween|between|notch)(?: positions?| sounds?| settings?)"),
    ("gain", r"(?:with|under|at|on|when using|through|into) (?:a |the |some |too much |lots of |heavy |high |more"
             r" )*(?:gain|distortion|overdrive|drive|fuzz|driven amp|dirt|crunch)(?: on| channel| sounds?)?"),
    ("gain", r"(?:when |if )?(?:it is |i am )?(?:overdriven|distorted|driven hard|cranked|high gain)(?: channel|"
             r" amp| sounds?| settings?)?"),
    ("clean", r"(?:when |on |with |through |in |playing |played )*(?:a |the )?clean(?: channel| amp| sounds?| tones?"
              r"| settings?)?"),
)  # fmt: skip
_CHANGED = (
    r"(?:put|added|changed?|swapped|swap|replaced|fitted|installed|put in|put on|rewired|cleaned|moved|got|bought)"
)
_SINCE = "|".join(
    rf"(?:since|after|ever since) {_WHO}(?:(?:have |had |was |were |been )*{_CHANGED} )?(?:the |my |a |an |new |other "
    rf"|different |in |on |of |old |longer |shorter |set |\d+\w* )*(?:\w+ )?(?P<{key}>{said})(?: (?:change|swap"
    rf"|job|{_CHANGED}))?(?: (?:was|were|got|are|been) "
    rf"{_CHANGED})?(?: in| on)?\b"
    for key, said in (
        ("pots", r"(?:volume |tone )?(?:pots?|potentiometers?)"), ("cable", r"cables?|lead|cord"),
        ("strings", r"strings?|set|flat ?wounds?|round ?wounds?|flats|nickels"), ("wiring", r"wiring"
        r"|re ?wir(?:e|ing)|rewire|switch|harness|electronics"),
        ("capacitor", r"cap(?:acitor)?s?"),
        ("magnet", r"magnets?|bars?"), ("amplifier", r"amp(?:lifier)?|tubes|valves|speakers?|pedals?"),
        ("setup", r"set ?up|refret|nut"),
    )
)  # fmt: skip
_SINCE_CHANGED = re.compile(rf"\b(?:{_SINCE})")
_SETTINGS = tuple((name, re.compile(rf"\b{pattern}(?!\w)")) for name, pattern in SETTINGS)
_POSITION = re.compile(
    rf"\b(?:switch |selector |pickup )?(?:positions?|pos|settings?) ({_N}\b{_MORE})|\b({_ORD}(?:(?: and| or"
    rf"| ,) {_ORD})*) (?:positions?|pos)\b"
)
_BARE = re.compile(r"(?:^|(?<=, )|(?<=but ))[1-5](?: (?:and|or|\+|/) [1-5])+(?= (?:is|are|sounds?|seems?)\b)")
_STRING_LISTS = (
    re.compile(
        rf"(?:^|(?<=, )|(?<=and )|(?<=but )|(?<=the ))({_ORD})(?= (?:is|are|too|weak|loud|quiet|jumps|sticks"
        rf"|flubs|flaps|rings|dies|farts|sounds|pops|drops"
        rf"|booms|far|way|much)\b)"
    ),
    re.compile(rf"\b(?:strings?|string number|string no) ({_N}\b{_MORE})"),
    re.compile(rf"\b({_ORD}(?:(?: and| or| ,) {_ORD})*) strings?\b"),
    re.compile(rf"\b(?:plain|wound|unwound) ({_ORD})\b"),
)
LOW_E, HIGH_E = "low|bottom|thick|fat|big|lowest|deep|thickest", "high|top|thin|little|skinny|highest|treble|thinnest"
_OVER = r"(?:strings?|pole pieces?|polepieces?|poles?|screws?)"  # a pole is spoken of for the string over it
_TWO = r"(?:two|2|pair of)"
_GROUPS: tuple[tuple[str, str], ...] = (  # how they are said, and which they are: see `_group`
    (r"(?:bass|low|lower|wound|thick|thicker|bottom|heavy|deep|bottom three|low three|bass side)"
     r" (?:strings?|notes?|ones|e a and d|three strings)(?! e)", "bass"),
    (r"(?:treble|high|higher|plain|thin|thinner|upper|top|unwound|top three|high three) (?:strings?|notes?|ones"
     r"|three strings)(?! e)", "treble"),
    (r"strings of (?:the )?(?:bass|bas)", "bass"),
    (r"strings of (?:the )?treble", "treble"),
    (r"bass side", "bass"),
    (r"treble side", "treble"),
    (rf"(?:middle|inner|centre|center) (?:two {_OVER}|strings|poles|pole pieces|screws)", "middle"),
    (rf"(?:outer|outside|outermost) (?:two {_OVER}|strings|poles|pole pieces|screws)", "outer"),
    (rf"(?:{_TWO} (?:top|high|upper|treble|thin|thinnest|highest|skinniest)|(?:thinnest|highest|skinniest) {_TWO}) "
     rf"{_OVER}", "top two"),
    (rf"(?:{_TWO} (?:bottom|low|lower|bass|thick|thickest|lowest|fattest)|(?:thickest|lowest|fattest) {_TWO}) "
     rf"{_OVER}", "bottom two"),
    (rf"(?:thinnest|skinniest|lightest|highest) {_OVER}", "thinnest"),
    (rf"(?:thickest|fattest|heaviest|lowest) {_OVER}", "thickest"),
    (r"(?:top|high|upper|treble|thin) two strings", "top two"),
    (r"(?:bottom|low|lower|bass) two strings", "bottom two"),
    (r"(?:both )?e strings(?! are both)", "e"),
)  # fmt: skip
Span = tuple[int, int, str, str]  # start and end in the text, kind, value


def spans(text: str, guitar: Guitar | None) -> Iterator[Span]:
    """Yield everything that names a place or a way to play in a text of plain words."""
    for name, pattern in _SETTINGS:
        yield from ((one.start(), one.end(), "setting", name) for one in pattern.finditer(text) if one[0])
    yield from ((one.start(), one.end(), "whole", "how it is played") for one in _MANNER.finditer(text))
    for one in _SINCE_CHANGED.finditer(text):
        yield one.start(), one.end(), "setting", f"since:{one.lastgroup}"
    if guitar is not None and len(guitar.pickups) == 2 and all(one.position != "middle" for one in guitar.pickups):
        middle = re.finditer(
            r"\b(?:(?:in|on|at) )?(?:the )?(?:(?<=in )|(?<=on )|(?<=at )|(?<=the ))(?:middle|centre|center)\b(?!"
            r" pickup| strings?| ?:)",
            text,
        )
        yield from ((one.start(), one.end(), "setting", "both on") for one in middle)
    for found in _POSITION.finditer(text):
        yield found.start(), found.end(), "position", _numbers(found[1] or found[2])
    if guitar is not None and len(guitar.pickups) > 2:
        yield from ((one.start(), one.end(), "position", _numbers(one[0])) for one in _BARE.finditer(text))
    for pattern in _STRING_LISTS:
        yield from ((one.start(), one.end(), "string", _numbers(one[1])) for one in pattern.finditer(text))
    for said, group in _GROUPS:
        numbers = _group(group, guitar)
        yield from ((one.start(), one.end(), "string", numbers) for one in re.finditer(rf"\b(?:{said})\b", text))
    yield from _letters(text, tuned(guitar))
    yield from _pickups(text, guitar)


def _numbers(text: str) -> str:
    words = re.findall(_N, text)
    ends = re.fullmatch(rf"({_N}) (?:to|through) ({_N})", text.strip())
    if ends:  # "strings 1 to 3"
        first, last = sorted((NUMBERS[ends[1]], NUMBERS[ends[2]]))
        words = [str(one) for one in range(first, last + 1)]
    return "".join(dict.fromkeys(str(NUMBERS[one]) for one in words))


def sides(guitar: Guitar | None) -> tuple[str, str]:
    """Return the numbers of the bass and of the treble strings: wound and plain, or halves where all are alike."""
    if guitar is None:
        return "456", "123"
    count = len(guitar.strings)
    wound = [one.core_diameter < one.diameter for one in guitar.strings]
    if all(wound) or not any(wound):
        wound = [number > (count + 1) // 2 for number in range(1, count + 1)]
    bass = "".join(str(number) for number, is_wound in enumerate(wound, start=1) if is_wound)
    return bass, "".join(str(number) for number in range(1, count + 1) if str(number) not in bass)


def _group(group: str, guitar: Guitar | None) -> str:
    """Return the numbers of the strings of a group."""
    count = 6 if guitar is None else len(guitar.strings)
    bass, treble = sides(guitar)
    middle = "".join(map(str, range((count + 1) // 2, count // 2 + 2)))
    numbers = tuned(guitar).get("e", (1, count))
    return {
        "bass": bass, "treble": treble, "middle": middle, "outer": f"{count}1", "top two": "12",
        "bottom two": f"{count - 1}{count}", "thinnest": "1", "thickest": f"{count}", "e": "".join(map(str, numbers)),
    }[group]  # fmt: skip


def tuned(guitar: Guitar | None) -> dict[str, tuple[int, ...]]:
    """Return the numbers of the strings of each letter ("f#" is one too), string 1 first."""
    notes = ("E4", "B3", "G3", "D3", "A2", "E2") if guitar is None else guitar.tuning[:9]
    out: dict[str, tuple[int, ...]] = {}
    for number, note in enumerate(notes, start=1):
        letter = note.rstrip("0123456789-").lower()
        out[letter] = (*out.get(letter, ()), number)
    return out


def _letters(text: str, tuned: dict[str, tuple[int, ...]]) -> Iterator[Span]:
    for name, numbers in tuned.items():
        letter = name if len(name) == 1 else f"{name[0]} ?(?:sharp|#)" if name[1] == "#" else f"{name[0]} ?(?:flat|b)"
        low, high = str(numbers[-1]), str(numbers[0])
        for side, value in ((LOW_E, low), (HIGH_E, high)):
            yield from (
                (one.start(), one.end(), "string", value)
                for one in re.finditer(rf"\b(?:{side}) {letter}(?!\w)(?: strings?| notes?)?(?! \w+ {_UNIT})", text)
                if letter != "a" or one[0].endswith(("string", "strings"))
            )
        alone = rf"\b{letter}(?!\w)(?: strings?\b)?" if letter != "a" else (
            r"\ba(?: strings?\b)|(?<=^)a(?= (?:jumps|sticks|booms|drops|stands|is|rings|disappears|vanishes|and"
            r" [bdeg] strings?))|(?<=the )a(?= (?:is|and|,|booms|jumps|sticks|drops|strings?))"
        )  # fmt: skip
        yield from ((one.start(), one.end(), "string", "".join(map(str, numbers))) for one in re.finditer(alone, text))


def _pickups(text: str, guitar: Guitar | None) -> Iterator[Span]:
    names = dict(PICKUPS)
    if guitar is not None:
        names |= {joined(tokenise(one.name)): one.name for one in guitar.pickups}
    one_of = "|".join(sorted(map(re.escape, names), key=len, reverse=True))
    for found in re.finditer(
        rf"\b(?:{one_of})(?: \+ (?:{one_of}))+\b", text
    ):  # "neck+middle": a position of the switch
        yield found.start(), found.end(), "setting", "plus:" + ",".join(names[one] for one in found[0].split(" + "))
    for found in re.finditer(
        rf"\b({one_of}) and (?:the )?({one_of}) (?:pickups? )?(?:together|combined|both on)\b", text
    ):
        yield found.start(), found.end(), "setting", f"plus:{names[found[1]]},{names[found[2]]}"
    for found in re.finditer(rf"\b(?:near|close to|over|towards) (?:the )?(?:{one_of})\b(?! {_UNIT})", text):
        yield found.start(), found.end(), "whole", "where it is plucked"
    several = f"(?:the |my )?({one_of})(?: {_UNIT})?"
    for found in re.finditer(rf"(?<!phase )(?<!level )(?<!match )(?<!compared )(?<!balance )\bwith {several}\b", text):
        before = [
            one for one in re.findall(rf"\b(?:{one_of})\b", text[: found.start()]) if names[one] != names[found[1]]
        ]
        if before and not re.match(r" (?:is|are|being|very|too|fine|ok|good)\b", text[found.end() :]):
            yield found.start(), found.end(), "setting", f"plus:{names[before[-1]]},{names[found[1]]}"
    for said, name in names.items():
        if len(said) > 2 or len(names) == len(PICKUPS):
            pattern = rf"\b{re.escape(said)}\b(?: {_UNIT})?"
        else:
            pattern = rf"\b{re.escape(said)}\b(?= ?:)"
        yield from ((one.start(), one.end(), "pickup", name) for one in re.finditer(pattern, text))
    for said, name in _BESIDE.items():
        unit = f"(?:{_UNIT}|one)" if said in ("back", "lead", "rhythm") else _UNIT
        yield from ((one.start(), one.end(), "pickup", name) for one in re.finditer(rf"\b{said} {unit}\b", text))
    yield from _by_kind(text, guitar)
    several = (
        rf"\b(?:both|all|all three|all the|all of the|every|each|either)(?: of)?(?: the| my)?(?: {_UNIT})\b(?!"
        rf" on\b)|\bboth\b|\ball\b(?= ?:)|\ball three\b(?= (?:are|sound|too|very|so|have)\b)"
        rf"|(?<=neither )(?:pickup|of the pickups|of them)\b"
    )
    for one in re.finditer(several, text):
        label = one[0].startswith("all") and text[one.end() :].lstrip().startswith(":")
        yield one.start(), one.end(), "several", "all:" if label else "all"


def _by_kind(text: str, guitar: Guitar | None) -> Iterator[Span]:
    """Yield "the humbucker" and "the single coils" of a guitar that has both; "the bass" of a bass is no pickup."""
    if guitar is None:
        return
    if guitar.tuning and guitar.tuning[0][-1:] in "0123":  # its thinnest string is under a guitar's
        yield from (
            (one.start(), one.end(), "whole", "bass")
            for one in re.finditer(r"(?:on|of|in) (?:the|my|this|a) bass\b|\bmy bass\b|^(?:the )?bass(?= is\b)", text)
        )
    kinds = {
        r"humbuckers?": [one.name for one in guitar.pickups if len(one.coils) == 2],
        r"single(?: coil)?s?(?: coils)?": [one.name for one in guitar.pickups if len(one.coils) == 1],
    }
    if not all(kinds.values()):
        return
    for said, names in kinds.items():
        for one in re.finditer(rf"\b(?:the |my )?{said}\b(?! mode| sound)", text):
            kind = ("pickup", names[0]) if len(names) == 1 else ("several", ",".join(names))
            yield one.start(), one.end(), *kind
