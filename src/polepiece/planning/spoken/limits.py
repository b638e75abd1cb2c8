"""What must not be done, as it is said: "leave the bridge alone and buy nothing"; to fields of `Constraints`."""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from polepiece.errors import InputError
from polepiece.guitar import Guitar, grade_of
from polepiece.planning.spoken.places import PICKUPS
from polepiece.planning.spoken.tokens import joined, tokenise
from polepiece.planning.spoken.vocabulary import mended

Found = Mapping[str, object]
KEPT: dict[str, tuple[str, ...]] = {  # what is kept, as it is said; what that is in levers: constraints.KEPT_KEYS
    "pots": ("pots", "pot", "potentiometers", "potentiometer", "volume pot", "tone pot", "volume and tone pots"),
    "cable": ("cable", "cables", "lead", "cord"),
    "capacitor": ("capacitor", "capacitors", "cap", "caps", "tone cap"),
    "bar": ("magnet", "magnets", "bar", "bars", "bar magnet", "bar magnets"),
    "cover": ("cover", "covers"),
    "wiring": ("wiring", "leads", "harness", "connections"),
    "screws": ("screws", "screw", "pole screws", "pole pieces", "polepieces", "poles", "pole"),
    "height": ("height", "heights", "gap", "gaps", "pickup height", "pickup heights"),
    "electronics": ("electronics", "circuit", "controls"),
    "settings": ("knobs", "settings", "knob settings", "knob"),
}  # fmt: skip
_THING_OF = {said: thing for thing, names in KEPT.items() for said in names}
_THING = "|".join(sorted(map(re.escape, _THING_OF), key=len, reverse=True))
_THE = r"(?:the |my |its |his |her |their |any |these |those |old |original |existing |all |both )*"
_NUMBERS = {
    "a": 1.0, "an": 1.0, "one": 1.0, "two": 2.0, "three": 3.0, "four": 4.0, "five": 5.0, "ten": 10.0, "fifteen": 15.0,
    "twenty": 20.0, "thirty": 30.0, "half an": 0.5, "half a": 0.5, "a quarter of an": 0.25, "a couple of": 2.0,
}  # fmt: skip
_AMOUNT = (
    r"(?P<n>\d+(?:\.\d+)?|half an?|a quarter of an|a couple of|an?|one|two|three|four|five|ten|fifteen|twenty|thirty)"
)
_UNIT = r"(?P<unit>hours?|hrs?|h|minutes?|mins?|min)\b"
_NOT = r"(?:not|never|no need to|without|no)"
_MOST = (
    r"(?:under|below|less than|at most|max|maximum|maximum of|up to|no more than|not more than|within|not"
    r" over|not longer than|no longer than|inside|in)"
)
_MONEY = r"(?:€|\$|£|euros?|eur|dollars?|usd|bucks|pounds?|gbp|quid|chf|francs?)"
_LEVEL = r"(?:level|volume|output|loudness)"


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitsRead:
    """What a limit was understood as: fields of `Constraints`, and both halves in words."""

    text: str
    values: Found
    understood: tuple[str, ...] = ()
    not_used: tuple[str, ...] = ()
    slips: tuple[tuple[str, str], ...] = ()


def _flag(**values: object) -> Callable[[re.Match[str]], Found]:
    return lambda _: values


def _minutes(found: re.Match[str]) -> Found:
    number = _NUMBERS[found["n"]] if found["n"] in _NUMBERS else float(found["n"])
    return {"minutes": number * (60.0 if found["unit"].startswith("h") else 1.0)}


def _budget(found: re.Match[str]) -> Found:
    amount = float(found["n"])
    return {"budget": amount if amount else "none"}


def _kept(found: re.Match[str]) -> Found:
    words = re.split(r"\s*(?:,|\band\b|\bor\b|\bnor\b|\+)\s*", found["things"])
    plain = [re.sub(rf"^{_THE}", "", one).strip() for one in words]
    return {"keep": tuple(_THING_OF[one] for one in plain if one in _THING_OF)}


def _grades(found: re.Match[str]) -> Found:
    bars, kind = [], ""
    for one in re.finditer(r"(alnico|ceramic)?\s*(\d)((?: rough cast| unoriented)?)", found["grades"]):
        kind = one[1] or kind
        try:
            grade, finish = grade_of(f"{kind} {one[2]}{one[3]}".replace(" rough cast", "-rough-cast").replace(" ", "-"))
        except InputError:
            continue
        bars.append(f"{grade}-rough-cast" if finish == "rough-cast" else grade)
    return {"owned": tuple(bars)} if bars else {}


def _louder(found: re.Match[str]) -> Found:
    return {"not_louder": ((found["a"], found["b"]),)}


def _quieter(found: re.Match[str]) -> Found:
    return {"not_louder": ((found["b"], found["a"]),)}


def _left(found: re.Match[str]) -> Found:
    return {"leave": (found["a"], *((found["b"],) if found["b"] else ()))}


_COLLECTED = _flag(do_not_open=True, reversible_only=True, no_solder=True)
_P, _Q = "(?P<a>{pickups})(?: pickup)?", "(?P<b>{pickups})(?: pickup)?"
_LIST = rf"{_THE}(?:{_THING})(?:\s*(?:,|and|or|nor|,? and)\s*{_THE}(?:{_THING})\b)*"
Rule = tuple[str, str, Callable[[re.Match[str]], Found]]  # how it is understood, pattern, what it sets
RULES: tuple[Rule, ...] = (
    ("the first pickup not louder than the"
     " second", rf"{_P} (?:\w+ ){{0,3}}?(?:not|no|never)(?: be| get| become| is)? (?:any )?louder than"
                rf" {_THE}{_Q}", _louder),
    ("the first pickup not louder than the"
     " second", rf"{_P} (?:\w+ ){{0,3}}?(?:not|never) (?:overpower|exceed|drown)(?: out)? {_THE}{_Q}", _louder),
    ("the second pickup not louder than the"
     " first", rf"{_P} (?:\w+ ){{0,3}}?(?:not|no|never)(?: be| get| become)? (?:any )?(?:quieter|weaker) than"
               rf" {_THE}{_Q}", _quieter),
    ("the first pickup not louder than the"
     " second", rf"{_P} (?:at most|no more than|not more than)? ?as loud as {_THE}{_Q}", _louder),
    ("level within so many dB", rf"(?:keep |hold )?{_THE}{_LEVEL}?(?: \w+){{0,4}}? ?{_MOST} (?:\+ ?/"
                        rf" ?)?(?P<n>\d+(?:\.\d+)?) ?(?:db|decibels?)(?: of (?:now|before"
                        rf"|it))?", lambda m: {"level_within": float(m["n"])}),
    ("level within so many dB", r"(?:\+ ?/? ?)?(?P<n>\d+(?:\.\d+)?) ?(?:db|decibels?) (?:at most|max|maximum"
                        r"|tolerance|of level|either way)", lambda m: {"level_within": float(m["n"])}),
    ("no longer than so long", rf"(?:nothing |no job |not )?(?:that )?(?:takes? |taking |which takes |lasting"
                        rf" )?(?:{_MOST}|more than|longer than|over|takes?) {_AMOUNT} {_UNIT}(?: of work| job|"
                        rf" each)?", _minutes),
    ("no longer than so long", rf"{_AMOUNT} {_UNIT}(?: at most| max| maximum| tops| or less| only| at the"
                        rf" most)?", _minutes),
    ("no longer than so long", r"(?P<n>half an) (?P<unit>hour)(?: at most| max| tops)?", _minutes),
    ("nothing to be bought", rf"(?:{_NOT} |i will not )(?:to )?(?:buy|buying|spend|spending|purchase|purchasing"
                        rf"|order|pay|paying)(?: for)?(?: anything| any| money| a (?:cent|penny)| new)*(?:"
                        rf" parts?)?", _flag(budget="none")),
    ("nothing to be bought", r"(?:buy|spend|purchase|order) (?:nothing|zero)|nothing (?:is )?(?:to be |to |i have to"
                        r" )?(?:bought|buy)|no (?:new |more |extra )?(?:parts?|purchases?|money|spending|shopping"
                        r"|cost|costs)|(?:for )?free(?: of charge)?(?: only| moves| things)?(?: only)?|(?:must "
                        r"|should )?costs? nothing|(?:zero|no) budget|without (?:buying|spending)(?: anything|"
                        r" money)?|use what i have", _flag(budget="none")),
    ("small parts only", r"(?:small|tight|low|little|tiny) (?:budget|money|parts only)|(?:keep it |on the |only"
                        r" )?cheap(?: only| parts| things)?|small parts only|not (?:too"
                        r" )?expensive", _flag(budget="small")),
    ("at most that sum", rf"(?:budget (?:of |is )?|spend |costs? |for |keep it )?(?:{_MOST}|budget|budget is|spend)"
                        rf" ?{_MONEY}? ?(?P<n>\d+(?:\.\d+)?)(?! ?(?:db|min|h\b|hour|hr|mm|%|turn|decibel)|\.?\d)"
                        rf" ?{_MONEY}?(?: at most| in total| all in)?", _budget),
    ("at most that sum", rf"(?P<n>\d+(?:\.\d+)?) ?{_MONEY}(?: at most| max| tops| maximum| or less| budget)?"
                        rf"|{_MONEY} ?(?P<m>\d+(?:\.\d+)?)(?: at most| max| tops| or"
                        rf" less)?", lambda m: {"budget": float(m["n"] or m["m"])}),
    ("an instrument to be kept as it is: reversible only, not opened, no"
     " soldering", r"(?:a |an |it is |very )*(?:collect[ai]ble|collector'?s?(?: piece| item)?|vintage|heirloom"
                   r"|museum piece|historic|valuable|antique|all original|original condition|rare)(?: guitar|"
                   r" pickups?| instrument)?", _COLLECTED),
    ("do not open the pickup", rf"{_NOT} (?:want to |to )?(?:open|opening|dismantle|dismantling|unwrap|disassemble"
                        rf"|disassembly|take (?:it |them )?apart|taking (?:it |them )?apart)(?: up)?(?: it| them|"
                        rf" anything)?(?: {_THE}pickups?)?(?: up| apart)?|(?:keep|leave) (?:it |them |{_THE}pickups?"
                        rf" )?(?:closed|sealed|shut|in one piece)", _flag(do_not_open=True)),
    ("no soldering", rf"(?:{_NOT} |i )?(?:can not|do not|will not|can't|{_NOT})(?: want to| like to| know how to|"
                     rf" like| any| a| use(?: a)?)* ?(?:solder(?:ing)?(?: iron)?|iron)(?: work| joints?)?"
                     rf"|solder(?:less| free)|no iron|(?:have )?no soldering iron", _flag(no_solder=True)),
    ("reversible only", r"(?:must |should |has to |only |fully |be |everything |all |it |strictly |completely"
                        r" )*reversible(?: only| changes| moves| mods| things)*|(?:only )?(?:things? |changes? |what"
                        r" |moves? )?(?:that )?(?:i |you |we )?(?:can )(?:all )?(?:be )?(?:undo|undone|reverse"
                        r"|reversed|put back|take back|go back|revert)|nothing (?:permanent|irreversible|that can"
                        r" not be undone)|no (?:permanent|irreversible) \w+|not permanent|must be undone|(?:able to"
                        r" )(?:put|go) (?:it )?back", _flag(reversible_only=True)),
    ("keep the output", rf"(?:keep|hold|same|preserve|maintain) {_THE}{_LEVEL}(?: up| as it is| the same)?|(?:{_NOT}"
                        rf" )(?:want to |to )?(?:lose|losing|drop|loss|loss of|less|lower|reduce|reducing"
                        rf"|sacrifice)(?: in| of)? ?(?:any |some |much )?{_THE}{_LEVEL}|(?:not|no) (?:get |be"
                        rf" )?quieter(?! than)|(?:stay|as|just as) (?:as )?loud(?: as (?:now|it is"
                        rf"|before))?", _flag(keep_output=True)),
    ("keep the strings", rf"(?:keep|leave|same) {_THE}strings(?: on| as they are| alone)?|(?:{_NOT} )(?:change "
                        rf"|changing |new |other |different |replace )*{_THE}(?:new |other |different )?strings?(?:"
                        rf" change| changes)?", _flag(keep_strings=True)),
    ("keep in phase", r"(?:keep|stay|stays|remain|leave|must be|must stay|hold)(?: it| them| both| the pickups)?(?:"
                      r" in)? phase(?: with (?:the )?\w+(?: pickup)?)?|in phase(?: with (?:the )?\w+(?: pickup)?)?"
                      r"|(?:not|no) (?:turn(?:ing)? |flip(?:ping)? |change |changing |reverse |out of )(?:the"
                      r" )?(?:phase|magnets?|polarity)|(?:keep|leave) the (?:phase|polarity)(?: alone| as it is)?|no"
                      r" flip(?:ping)?", _flag(keep_in_phase=True)),
    ("a magnetiser is at hand", r"(?:i |we )?(?:have|got|have got|own|there is|can use|with)? ?(?:a |the"
                        r" )?magneti[sz]er(?: at hand| here)?", _flag(magnetiser=True)),
    ("bars that are owned", r"(?:i |we )?(?:only )?(?:have|own|got|have got|there are|there is|bars?(?: at hand)?:?"
                        r"|in (?:the|my) drawer:?|use(?: only)?|only)(?: only)? (?P<grades>(?:an? |the |some |one "
                        r"|two |spare )*(?:alnico|ceramic) ?\d(?: rough cast| unoriented)?(?:(?: bars?)?(?: ,)?(?:"
                        r" and| or| ,)? (?:an? |the |some )*(?:alnico |ceramic )?\d(?: rough cast| unoriented)?\b(?!"
                        r" ?(?:db|min|mm)))*)(?: bars?| magnets?)?(?: at hand| here| in the drawer)?", _grades),
    ("nothing but that pickup", rf"(?:only|just) (?:touch |change |work on |do |treat |move |the )*{_P}(?: only)?(?!"
                        rf" louder|\w)", lambda m: {"only": (m["a"],)}),
    ("that pickup is left alone", rf"(?:leave|keep|{_NOT} (?:touch|touching|change|changing|move|moving|alter|do"
                        rf" anything to|mess with|modify|swap|work on|adjust|adjusting)|hands off|stay away from"
                        rf"|nothing (?:on|to)|spare) {_THE}{_P}(?: (?:and|or) {_THE}{_Q})?(?: alone| as it is| as is"
                        rf"| as they are| untouched| the way it is| stays)?", _left),
    ("that pickup is left alone", rf"{_P} (?:stays|must stay|is fine|should stay|remains|is to stay)(?: as it is| as"
                        rf" is| untouched| alone| where it is)?(?P<b>)", _left),
    ("that is kept", rf"(?:keep|leave|same|preserve|retain|(?:{_NOT} )(?:want to |to )?(?:(?:change|changing|touch"
                     rf"|touching|replace|replacing|swap|swapping|move|moving|turn|turning|remove|removing|adjust"
                     rf"|adjusting|alter|alter|take off|taking off|new|other|different|rewire|mess with) ?)?)"
                     rf" ?(?P<things>{_LIST})(?: swaps?| swapping| changes?| change| moves?| alone| as they are| as"
                     rf" it is| on| original| in place| stock| the same| where they are| where it is)?", _kept),
    ("that is kept", rf"(?P<things>{_LIST}) (?:stays?|must stay|remains?|should stay|stay original)(?: as (?:they"
                     rf" are|it is)| on| original| the same| in| put)*", _kept),
    ("the wiring is kept", r"(?:not|no) (?:re ?wire|re ?wiring)(?: it| anything)?", _flag(keep=("wiring",))),
    ("nothing here drills, routs or"
     " refinishes", r"(?:not|no|never|without) (?:any )?(?:drill(?:ing)?|rout(?:e|ing)|holes?|sand(?:ing)?"
                    r"|refinish(?:ing)?|carv(?:e|ing)|new holes|cutting|woodwork)(?: the body| the wood)?|keep the"
                    r" finish", _flag()),
    ("free moves only: nothing bought, opened or"
     " soldered", r"(?:only |just )?(?:adjustments?|screwdriver|set ?up)(?: only|"
                  r" work)?", _flag(budget="none", do_not_open=True, no_solder=True)),
)  # fmt: skip
_FILLER = frozenset(
    [
        "a",
        "an",
        "the",
        "and",
        "or",
        "but",
        "please",
        "i",
        "it",
        "is",
        "be",
        "to",
        "of",
        "my",
        "we",
        "you",
        "he",
        "she",
        "want",
        "would",
        "like",
        "should",
        "must",
        "can",
        "do",
        "not",
        "no",
        "only",
        "just",
        "with",
        "for",
        "that",
        "this",
        "any",
        "so",
        "keep",
        "in",
        "on",
        "at",
        "also",
        "then",
        "as",
        "are",
        "have",
        "has",
        "need",
        "needs",
        ",",
        ".",
        ";",
        ":",
        "!",
        "?",
        "(",
        ")",
        "/",
        "+",
        "will",
        "let",
        "us",
        "me",
        "please",
        "thanks",
    ]
)
_WORDS = frozenset(w for _, p, _ in RULES for w in re.findall(r"[a-z]{4,}", p)) | {
    w for n in _THING_OF for w in n.split()
}


def read_limits(text: str, guitar: Guitar | None = None) -> LimitsRead:
    """Read limits as they are said; ``values`` is empty and ``understood`` too where nothing is known.

    Parameters
    ----------
    text : str
        Such as "leave the bridge alone, no soldering, under 20".
    guitar : Guitar, optional
        The names of its pickups.
    """
    names = {} if guitar is None else {one.name.lower(): one.name for one in guitar.pickups}
    known = dict(PICKUPS) | names
    tokens = tuple(mended(one, _WORDS | frozenset(known)) for one in tokenise(text))
    said = joined(tokens)
    pickups = "|".join(sorted(map(re.escape, known), key=len, reverse=True))
    found: list[tuple[int, int, str, Found]] = []
    for words, pattern, act in RULES:
        whole = re.compile(rf"(?<!\w)(?:{pattern.replace('{pickups}', pickups)})(?!\w)")
        found += [(one.start(), one.end(), words, act(one)) for one in whole.finditer(said) if one[0].strip()]
    found.sort(key=lambda one: (one[0] - one[1], one[0]))
    free = [True] * len(said)
    values: dict[str, object] = {}
    understood = [f'"{one.typed}" read as "{one.word}"' for one in tokens if one.slip]
    taken = []
    for start, end, words, sets in found:
        if all(free[start:end]):
            free[start:end] = [False] * (end - start)
            taken.append((start, end, words, sets))
    for start, end, words, sets in sorted(taken, key=lambda one: one[0]):
        understood.append(f'"{said[start:end].strip()}": {words}')
        _merge(values, {key: _named(value, known) for key, value in sets.items()})
    slips = tuple((one.typed, one.word) for one in tokens if one.slip)
    left = "".join(c if ok else "|" for c, ok in zip(said, free))
    return LimitsRead(
        text=text, values=values, understood=tuple(understood if taken else ()), not_used=_unused(left), slips=slips
    )


def _merge(values: dict[str, object], more: Found) -> None:
    for key, value in more.items():
        old = values.get(key)
        values[key] = (
            tuple(dict.fromkeys((*old, *value))) if isinstance(old, tuple) and isinstance(value, tuple) else value
        )


def _named(value: object, known: Mapping[str, str]) -> object:
    """Return pickups by their names."""
    if isinstance(value, tuple):
        return tuple(_named(one, known) for one in value)
    return known.get(value, value) if isinstance(value, str) else value


def _unused(text: str) -> tuple[str, ...]:
    """Return what was left over, words that carry nothing taken off its ends."""
    out = []
    for run in text.split("|"):
        words = run.split()
        while words and words[0] in _FILLER:
            words = words[1:]
        while words and words[-1] in _FILLER:
            words = words[:-1]
        if words:
            out.append(" ".join(words))
    return tuple(out)
