"""How limits are said: patterns of plain words, and the fields of `Constraints` that each sets.

`{pickups}` in a pattern stands for the names of the guitar's pickups.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass

from polepiece.errors import InputError
from polepiece.guitar import grade_of
from polepiece.planning.spoken.limit_sounds import MADE, MADE_PLAIN, QUIET, SOUND_LIST, THE, Values, become, sounds

EVERY = "*"  # every pickup
KEPT: dict[str, tuple[str, ...]] = {  # what is kept, as it is said; what that is in levers: constraints.KEPT_KEYS
    "pots": ("pots", "pot", "potentiometers", "potentiometer", "volume pot", "tone pot", "volume and tone pots"),
    "cable": ("cable", "cables", "lead", "cord"),
    "capacitor": ("capacitor", "capacitors", "cap", "caps", "tone cap", "tone capacitor"),
    "bar": ("magnet", "magnets", "bar", "bars", "bar magnet", "bar magnets"),
    "cover": ("cover", "covers"),
    "wiring": ("wiring", "leads", "harness", "connections", "switching"),
    "screws": ("screws", "screw", "pole screws", "pole pieces", "polepieces", "poles", "pole"),
    "height": ("height", "heights", "gap", "gaps", "pickup height", "pickup heights"),
    "electronics": ("electronics", "electrics", "circuit", "circuits", "controls"),
    "settings": ("knobs", "settings", "knob settings", "knob"),
}  # fmt: skip
THING_OF = {said: thing for thing, names in KEPT.items() for said in names}
_NUMBERS = {
    "a": 1.0, "an": 1.0, "one": 1.0, "two": 2.0, "three": 3.0, "four": 4.0, "five": 5.0, "ten": 10.0, "fifteen": 15.0,
    "twenty": 20.0, "thirty": 30.0, "forty": 40.0, "fifty": 50.0, "sixty": 60.0, "ninety": 90.0, "hundred": 100.0,
    "half an": 0.5, "half a": 0.5, "a quarter of an": 0.25, "quarter of an": 0.25, "three quarters of an": 0.75,
    "a couple of": 2.0,
}  # fmt: skip

# ---------------------------------------------------------------- pieces of patterns

_NOT = (
    r"(?:not|never|no|without|nothing|no need)"
    r"(?: (?:want|like|wish|willing|keen|prepared|happy|comfortable|need|have|intend|plan|going|allowed|able|to"
    r"|be|please|ever|really|any|should"
    r"|must|you|more))*"
)
_MOST = (
    r"(?:under|below|less than|at most|max|maximum|maximum of|up to|no more than|not more than|within|not over"
    r"|not longer than|no longer than|cheaper than|not exceed|inside|by|by at most|of at most)"
)
_AMOUNT = rf"(?P<n>\d+(?:\.\d+)?|{'|'.join(sorted(_NUMBERS, key=len, reverse=True))})"
_TIME = r"(?P<unit>hours?|hrs?|h|minutes?|mins?|min)\b"
_MONEY = r"(?:€|\$|£|euros?|eur|dollars?|usd|bucks|pounds?|gbp|quid|chf|francs?)"
_NUMBER = r"(?P<n>\d+(?:\.\d+)?|ten|fifteen|twenty|thirty|forty|fifty|sixty|ninety|(?<=a )hundred)"
_NO_UNIT = r"(?! ?(?:db|min|h\b|hour|hr|mm|%|turn|decibel|percent)|\.?\d)"
_DB = r"(?:\+ ?/ ?)?(?P<n>\d+(?:\.\d+)?) ?(?:db|decibels?)"
_LEVEL = r"(?:level|volume|output|loudness)"
_A, _B = r"(?P<a>{pickups})(?: pickup)?", r"(?P<b>{pickups})(?: pickup)?"
_WORDS = r"(?:\w+ ){0,3}?"
_IT = r"(?:it|them|anything|that|{the}pickups?|{the}guitar)".replace("{the}", THE)
_THING = "|".join(sorted(map(re.escape, THING_OF), key=len, reverse=True))
_THINGS = rf"(?P<things>{THE}(?:{_THING})\b(?: ?(?:,|and|or|nor|, and) {THE}(?:{_THING})\b)*)"
_CHANGE = (
    r"(?:change|changing|touch|touching|replace|replacing|swap|swapping|move|moving|turn|turning|remove"
    r"|removing|adjust|adjusting|alter|altering"
    r"|modify|modifying|take off|taking off|take|mess with|work on|do anything to"
    r"|tamper with)"
)
_GRADE = r"(?:alnico|ceramic) ?\d(?: rough cast| unoriented)?"
_MORE_GRADES = (
    r"(?:(?: bars?| magnets?)?(?: ,)?(?: and| or| ,| \+)? (?:an? |the |some )*(?:alnico |ceramic )?\d"
    r"(?: rough cast| unoriented)?\b(?! ?(?:db|min|mm)))*"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """One limit: what it is, how it is said, and what it sets."""

    words: str
    said: tuple[str, ...]
    sets: Callable[[re.Match[str]], Values]


def _always(**values: object) -> Callable[[re.Match[str]], Values]:
    return lambda _: values


def _number(said: str) -> float:
    return _NUMBERS[said] if said in _NUMBERS else float(said)


def _minutes(found: re.Match[str]) -> Values:
    number = _number(found["n"]) + (0.5 if found.groupdict().get("half") else 0.0)
    return {"minutes": number * (60.0 if found["unit"].startswith("h") else 1.0)}


def _budget(found: re.Match[str]) -> Values:
    return {"budget": _number(found["n"]) or "none"}


def _kept(found: re.Match[str]) -> Values:
    names = re.split(r"\s*(?:,|\band\b|\bor\b|\bnor\b)\s*", found["things"])
    plain = [re.sub(rf"^{THE}", "", one).strip() for one in names]
    return {"keep": tuple(THING_OF[one] for one in plain if one in THING_OF)}


def _grades(found: re.Match[str]) -> Values:
    bars, kind = [], ""
    for one in re.finditer(r"(alnico|ceramic)?\s*(\d)((?: rough cast| unoriented)?)", found["grades"]):
        kind = one[1] or kind
        text = f"{kind} {one[2]}{one[3]}".replace(" rough cast", "-rough-cast").replace(" ", "-")
        try:
            grade, finish = grade_of(text)
        except InputError:
            continue
        bars.append(f"{grade}-rough-cast" if finish == "rough-cast" else grade)
    return {"owned": tuple(bars)} if bars else {}


def _left(found: re.Match[str]) -> Values:
    return {"leave": tuple(one for one in (found["a"], found.groupdict().get("b")) if one)}


def _louder(found: re.Match[str]) -> Values:
    return {"not_louder": ((found["a"], found["b"]),)}


def _quieter(found: re.Match[str]) -> Values:
    return {"not_louder": ((found["b"], found["a"]),)}


def _within(found: re.Match[str]) -> Values:
    return {"level_within": float(found["n"])}


_BECOME = (
    r"(?:(?:make|making|let|letting|get|getting|become|becoming|be|being|sound|sounding|go"
    rf"|going)(?: {_IT})?(?: get| be| become)? ?|any )*"
)


RULES: tuple[Rule, ...] = (
    Rule(words="the first pickup not louder than the second", sets=_louder, said=(
        rf"{_A} {_WORDS}(?:not|no|never)(?: be| get| become| is)?(?: any)? louder than {THE}{_B}",
        rf"{_A} {_WORDS}(?:not|never) (?:overpower|exceed|drown|overwhelm)(?: out)? {THE}{_B}",
        rf"{_A} (?:{_WORDS}(?:at most|no more than|not more than) )?as loud as {THE}{_B}",
        rf"(?:not let |keep |make sure ){THE}{_A} (?:be |get |become |quieter than |below )(?:louder than"
        rf" )?{THE}{_B}",
    )),
    Rule(words="the second pickup not louder than the first", sets=_quieter, said=(
        rf"{_A} {_WORDS}(?:not|no|never)(?: be| get| become| is)?(?: any)? (?:quieter|weaker|softer) than {THE}{_B}",
        rf"{_A} {_WORDS}(?:at least|no less than|not less than) (?:as )?loud (?:as|than) {THE}{_B}",
    )),
    Rule(words="level within so many dB", sets=_within, said=(
        rf"(?:keep |hold )?{THE}{_LEVEL}(?: \w+){{0,4}}? {_MOST} {_DB}(?: of (?:now|before|it))?",
        rf"(?:{_NOT} )?{_MOST} {_DB}(?: of (?:now|before|it|{_LEVEL}(?: change)?))?(?: quieter| louder| or|change)*",
        rf"{THE}{_LEVEL} (?:\w+ ){{0,2}}?not (?:\w+ ){{0,3}}?(?:by )?more than {_DB}",
        rf"{_DB}(?: at most| max| maximum| tolerance| of level| either way)?",
    )),
    Rule(
        words="pickups within so many dB of one another",
        sets=lambda found: {"balance_within": float(found["n"])},
        said=(
            rf"(?:keep |hold )?{THE}pickups? (?:\w+ ){{0,3}}?(?:equally loud|balanced|as loud as each other|level"
            rf"|matched|the same (?:level|volume)|equal)(?: \w+){{0,2}}? (?:within|to within"
            rf"|{_MOST}) {_DB}(?: of each other)?",
            rf"{THE}(?:pickups?|{_A} and {THE}{_B}) (?:\w+ ){{0,3}}?{_MOST} {_DB} of (?:each other|one another)",
            rf"(?:keep |hold )?{THE}(?:balance|step|difference)(?: in \w+)? (?:between|of) {THE}pickups? "
            rf"(?:\w+ ){{0,3}}?{_MOST} {_DB}",
        ),
    ),
    Rule(words="no less of that", sets=lambda found: {"not_less": sounds(found)}, said=(
        rf"{_NOT} (?:lose|losing|loss of|loss in|less|cut|cutting|sacrifice|sacrificing|at the (?:expense|cost"
        rf"|price) of|hurt|hurting|kill|killing|give up|take away|reduce|reducing) "
        rf"(?:any |some |much |more |of )*(?!{THE}(?:level|volume|output|loudness)\b){SOUND_LIST}",
        rf"(?:keep|hold|preserve|retain) (?:all )?(?!{THE}(?:level|volume|output|loudness)\b){SOUND_LIST}"
        r"(?: as (?:they are|it is|now)| up)?",
    )),
    Rule(words="no more of that", sets=lambda found: {"not_more": sounds(found)}, said=(
        rf"{_NOT} (?:add|adding|gain|gaining|more|increase|increasing|raise|raising|extra|boost)"
        rf"(?: any| some| of| in)* ?{SOUND_LIST}",
    )),
    Rule(words="that pickup not quieter", sets=lambda found: {"not_less": (f"{found['a']}:level",)}, said=(
        rf"{_A} (?:must |should |may |can |is to |has to )*{_NOT} (?:lose|drop|get|become|be|go)(?: in| any| much"
        rf"| get)* ?(?:{_LEVEL}|quieter|weaker|softer)(?! than {THE}(?:{{pickups}}))",
    )),
    Rule(words="it may not become that", sets=become, said=(
        rf"(?:{_A} )?(?:must |should |may |can |is to |has to )*{_NOT} {_BECOME}(?P<made>{'|'.join(MADE)})\b"
        r"(?: than (?:now|before|it is|it was))?(?! than| or)",
        rf"(?:{_A} )?(?:must |should |may |can |is to |has to )+{_NOT} (?:become |get |be |turn |sound |go )+(?:too )?"
        rf"(?P<made>{'|'.join(MADE_PLAIN)})\b",
        rf"{_NOT} (?:make|let|get|turn) {_IT} (?:too |get |become |sound |be )*"
        rf"(?P<made>{'|'.join((*MADE, *MADE_PLAIN))})\b",
        rf"(?<=^)(?:please )?(?:no|not) (?:too )?(?P<made>{'|'.join(MADE_PLAIN)})\b(?: please)?$",
        rf"without (?:it |them )?(?:getting|becoming|making {_IT}|sounding|turning|going|being) (?:too )?"
        rf"(?P<made>{'|'.join(MADE_PLAIN)})\b",
        rf"{_NOT} (?:make|let|get|have) {THE}{_A} (?:get |become |be |go |sound |any )*"
        rf"(?P<made>{'|'.join((*MADE, *QUIET))})\b(?: than (?:now|before|it is|it was))?(?! than| or)",
    )),
    Rule(words="the tone control stays", sets=_always(keep=("tone control",)), said=(
        rf"{THE}tone (?:control|knob|pot)? ?(?:has to|must|should|needs to|is to|still)(?: still)? "
        r"(?:keep |stay |be )*(?:work|works|working|there|usable|function|functioning|in)",
        rf"(?:i |we |he |she |they )?(?:need|want|use|keep)(?: to keep| to have)? {THE}tone (?:control|knob)",
        rf"{_NOT} (?:remove|take out|lose|disconnect|bypass)(?:ing)? {THE}tone (?:control|knob|pot)",
    )),
    Rule(words="no ferrite bar", sets=_always(no_bars=("ceramic",)), said=(
        r"(?:no|not|never|without)(?: any| want| like| use| a)* (?:ceramics?|ferrites?)(?: bars?| magnets?)?",
        r"(?:only|just) alnicos?(?: bars?| magnets?)?(?! \d)|alnicos?(?: bars?| magnets?)? only",
    )),
    Rule(words="no alnico bar", sets=_always(no_bars=("alnico",)), said=(
        r"(?:no|not|never|without)(?: any| want| like| use| a)* alnicos?(?: bars?| magnets?)?(?! \d)",
        r"(?:only|just) (?:ceramics?|ferrites?)(?: bars?| magnets?)?(?! \d)",
    )),
    Rule(words="no longer than so long", sets=_minutes, said=(
        rf"(?:{_NOT} )?(?:job )?(?:that |which )?(?:takes? |taking |lasting )?(?:{_MOST}|more than|longer than"
        rf"|over|takes?|in)"
        rf" {_AMOUNT} {_TIME}(?: of work| job| each)?",
        rf"{_AMOUNT} {_TIME}(?P<half> and a half)?(?: at most| at the most| max| maximum| tops| or less| only)?",
    )),
    Rule(words="nothing to be bought", sets=_always(budget="none"), said=(
        r"refuse to (?:buy|spend|pay)(?: for)?(?: anything| any| money| more)*",
        rf"{_NOT} (?:buy|buying|spend|spending|purchase|purchasing|order|ordering|pay|paying)(?: for)?"
        r"(?: anything| any| money| a cent| a penny| new)*(?: parts?)?",
        r"(?:buy|spend|purchase|order) (?:nothing|zero)|nothing (?:is )?(?:to be |to |i have to )?(?:bought|buy)",
        r"no (?:new |more |extra )?(?:parts?|purchases?|money|spending|shopping|costs?)(?: to spend)?|(?:zero"
        r"|no|0) budget",
        r"(?:must |should |it has to |has to |be |for )*free(?: of charge)?(?: only| moves| things)*",
        rf"(?:it |that |this )?(?:must |should |may |can )*{_NOT} costs? (?:anything|a thing|any money|a cent|a penny)",
        r"(?:must |should )?costs? nothing|nothing (?:that )?costs?(?: me)?(?: any| anything)?(?: money)?"
        r"|(?:am |is )?broke|use what i have|(?:nothing|no) new(?: parts)?",
    )),
    Rule(words="small parts only", sets=_always(budget="small"), said=(
        r"(?:small|tight|low|little|tiny|limited) (?:budget|money)|small parts only|not (?:too )?expensive",
        r"(?:keep it |on the |only "
        r"|as )?(?<!sounds )(?<!sound )(?<!sounding )(?<!is )(?<!seems )cheap(?:ly)?(?: only| parts| things"
        r"| as possible)?",
        r"(?:spend |pay |cost )?(?:as |very )?little (?:money )?as possible",
    )),
    Rule(words="at most that sum", sets=_budget, said=(
        rf"(?:budget (?:of |is )?|spend |costs? |for |keep it )?(?:{_MOST}|budget|budget is|spend) ?{_MONEY}?"
        rf" ?{_NUMBER}"
        rf"{_NO_UNIT} ?{_MONEY}?(?: at most| in total| all in)?",
        rf"{_NUMBER} ?{_MONEY}(?: at most| max| tops| maximum| or less| budget)?",
        rf"nothing (?:that |which )?(?:costs? |is )?(?:more than|over|above"
        rf"|dearer than) ?{_MONEY}? ?{_NUMBER}{_NO_UNIT}"
        rf" ?{_MONEY}?",
        rf"{_NOT} (?:pay|spend|cost|paying|spending)(?: more than| over)? ?{_MONEY}? ?{_NUMBER}{_NO_UNIT} ?{_MONEY}?",
        rf"{_MONEY} ?{_NUMBER}{_NO_UNIT}(?: at most| max| tops| or less)?",
    )),
    Rule(
        words="an instrument to be kept as it is: reversible only, not opened, no soldering",
        sets=_always(do_not_open=True, reversible_only=True, no_solder=True),
        said=(
            r"(?:a |an |it is |very |is )*(?:collect[ai]ble|collector(?: is|'s|s)?(?: piece| item| guitar)?"
            r"|vintage|heirloom"
            r"|museum piece|historic|historical|valuable|antique|rare|irreplaceable)(?: guitar| pickups?|"
            r" instrument| item)?",
            r"(?:keep (?:it |everything )?)?(?:all |fully |in )?original(?: condition)?",
        ),
    ),
    Rule(words="do not open the pickup", sets=_always(do_not_open=True), said=(
        rf"{_NOT} (?:open|opening|dismantle|dismantling|unwrap|unwrapping|disassemble|disassembly)(?: up)?(?:"
        rf" {_IT})?(?: up)?",
        rf"{_IT} (?:must |should |may |can |is to )*(?:not|never) be (?:opened|unwrapped|taken apart|dismantled)",
        rf"(?:or|nor)(?: to)? open(?:ing)?(?: {_IT})?",
        rf"{_NOT} (?:take|taking|pull|pulling)(?: {_IT})? apart",
        rf"(?:keep|leave|stays?|remains?)(?: {_IT})? (?:closed|sealed|shut|in one piece|unopened)",
        rf"{_IT} (?:must |should )?(?:stays?|remains?) (?:closed|sealed|shut|in one piece|unopened)",
    )),
    Rule(words="no soldering", sets=_always(no_solder=True), said=(
        rf"(?:i )?(?:can not|{_NOT})(?: want to| know how to| use| a| own| good at)* ?(?:solder(?:ing|ed)?)(?: iron)?"
        r"(?: work| joints?)?",
        rf"{_NOT} (?:\w+ ){{0,2}}?(?:at |with )?solder(?:ing)?",
        r"solder(?:less| free)|no iron|(?:hate|bad at) soldering",
        r"solder(?:ing)? (?:is )?(?:out of the question|not an option|not possible|forbidden|ruled out)",
    )),
    Rule(words="reversible only", sets=_always(reversible_only=True), said=(
        rf"{_NOT} (?:change|do|make|alter|modify) (?:anything |any |changes |it )*permanent(?:ly)?(?: changes?)?",
        r"(?:grandpa|granddad|grandfather|grandma|dad|father|mother|uncle|late \w+)(?:'s"
        r"| is)? (?:old )?(?:guitar|bass)",
        r"(?:must |should |has to |only |fully |be |everything |all |it |strictly |completely )*reversible"
        r"(?: only| changes| moves| mods| things)*",
        r"(?:only )?(?:things? |changes? |what |moves? )?(?:that |which )?(?:i |you |we |it )?can (?:all )?(?:be )?"
        r"(?:undo|undone|reverse|reversed|put back|taken back|go back|revert)",
        rf"{_NOT} (?:permanent|irreversible)(?: \w+)?|must be undone|(?:able to )?(?:put|go|change) (?:it )?back",
        r"(?:able to )?(?:undo|reverse) (?:it|everything|them|that)",
        r"nothing (?:that )?can not be undone|easy to undo|(?:only )?undo ?able(?: changes| mods| moves| only)*",
    )),
    Rule(words="keep the output", sets=_always(keep_output=True), said=(
        rf"(?:keep|hold|same|preserve|maintain|retain) {THE}(?:same )?{_LEVEL}(?: up| as it is| the same| as now)*",
        rf"unless (?:that |it |this )?costs? (?:any |me |some )*{THE}{_LEVEL}",
        rf"{_NOT} (?:lose|losing|drop|loss|loss of|less|lower|reduce|reducing|sacrifice|give up)(?: in| of)? ?"
        rf"(?:any |some |much )?{THE}{_LEVEL}",
        r"(?:not|no|never) (?:make it |make them |get |be |become )?(?:any )?(?:quieter|weaker)(?! than| or)",
        rf"{_LEVEL} (?:must |should |has to |is to |may )?(?:stays?|remains?|not drop|not fall|be kept|not suffer)"
        r"(?: the same| as it is| up| where it is)*",
        rf"{_LEVEL} (?:stays |kept |remains )?(?:as it is|as now|the same|unchanged)",
        r"(?:stays?|as|just as) (?:as )?loud(?: as (?:now|it is|before))?(?! as)",
    )),
    Rule(words="keep the strings", sets=_always(keep_strings=True), said=(
        rf"(?:keep|leave|same|like) {THE}(?:same )?(?:strings|gauge)(?: on| as they are| alone)?",
        rf"(?:keep|leave|stay with|stick to|stick with) {THE}\d+ \d+(?:s)?(?: set| strings| gauge)?",
        rf"{THE}strings (?:must )?(?:stay|remain)(?: on)?",
        rf"{_NOT} (?:change |changing |new |other |different |replace |swap |swapping )*{THE}(?:new |other"
        rf" )?strings?"
        r"(?: changes?)?",
    )),
    Rule(words="keep in phase", sets=_always(keep_in_phase=True), said=(
        r"(?:keep|stays?|remain|leave|must be|must stay|hold|be)(?: it| them| both| the pickups)?(?: in)? phase"
        r"(?: with (?:the )?\w+(?: pickup)?)?",
        r"in phase(?: with (?:the )?\w+(?: pickup)?)?|(?:keep|leave) the (?:phase|polarity)(?: alone| as it is)?",
        rf"{_NOT} (?:turn|turning|flip|flipping|change|changing|reverse|reversing|out of) (?:the )?(?:phase"
        rf"|magnets?|polarity)",
        r"no flip(?:ping)?|not flip (?:it|them)",
    )),
    Rule(words="a magnetiser is at hand", sets=_always(magnetiser=True), said=(
        r"(?:i |we )?(?:have|got|have got|own|there is|can use|with)? ?(?:a |the )?magneti[sz]er(?: at hand| here)?",
    )),
    Rule(words="the hum cancels as before", sets=_always(keep=("wiring",)), said=(
        r"(?:keep|must keep|stays?|remain|preserve|still)? ?(?:the |it )*hum ?(?:cancel(?:l)?ing|bucking)"
        r"(?: as it is| as before)?",
        r"hum (?:must|should|may) (?:not|never) (?:come back|return|come|appear|be (?:there|back))",
        r"(?:not|no|never|without)(?: make it| get| more| any| want| let it)* (?:hum|more hum|extra hum|humming)",
    )),
    Rule(
        words="only bars that are owned; name them to have them tried, owned=alnico-3", sets=_always(owned=()),
        said=(
            r"(?:only )?(?:use|with|using|try|from) (?:only )?(?:the |my )*(?:bars?|magnets?)(?: that)? (?:i|we) "
            r"(?:have|own|have got|already have)",
            r"(?:only )?(?:the |my )?own (?:bars|magnets)(?: only)?|(?:only )?(?:bars|magnets) from (?:the|my) drawer",
        ),
    ),
    Rule(words="bars that are owned", sets=_grades, said=(
        r"(?:i |we )?(?:only )?(?:have|has|own|owns|got|have got|there are|there is|bars?(?: at hand)?|in (?:the|my)"
        r" drawer|use|only)"
        rf"(?: :)?(?: only)? (?P<grades>(?:an? |the |some |one |two |spare )*{_GRADE}{_MORE_GRADES})(?: bars?|"
        rf" magnets?)?"
        r"(?: at hand| here| in the drawer)?",
    )),
    Rule(words="nothing but that pickup", sets=lambda found: {"only": (found["a"],)}, said=(
        rf"(?:touch|change|work on|do|treat|move|adjust) {THE}{_A} (?:only|alone)(?! louder|\w)",
        rf"(?:only|just) (?:touch |change |work on |do |treat |move |adjust )?{THE}{_A}(?: only)?(?! louder|\w)",
        rf"(?:{_NOT} (?:touch|change|move) anything|nothing) (?:but|except|besides) {THE}{_A}(?: may be \w+|"
        rf" is to be \w+)?",
    )),
    Rule(words="every pickup is left alone", sets=_always(leave=(EVERY,)), said=(
        rf"(?:leave|keep|{_NOT} {_CHANGE}) (?:both|all|either|any of|all of|the|my)(?: the| my| of the)?(?<!the"
        rf" the) ?pickups?"
        r"(?: alone| as they are| untouched| themselves)",
        rf"{_NOT} {_CHANGE} (?:both|either|any|any of the|the|my) ?pickups?",
    )),
    Rule(words="that pickup is left alone", sets=_left, said=(
        rf"(?:leave|keep|{_NOT} {_CHANGE}|hands off|stay away from|nothing (?:on|to)|spare) {THE}{_A}"
        rf"(?: (?:and|or) {THE}{_B})?(?: alone| as it is| as is| as they are| untouched| the way it is| be)?",
        rf"(?:like|love|happy with) {THE}{_A}(?: ?,| so| and| but| please| do)* {_NOT} {_CHANGE} it",
        rf"{_A} (?:stays|must stay|is fine|should stay|remains|is to stay|is perfect|is good)"
        r"(?: as it is| as is| untouched| alone| where it is| the way it is)?",
        rf"{THE}{_A} (?:must|should|may) not (?:be )?(?:touched|changed|moved)",
    )),
    Rule(words="the heights are kept", sets=_always(keep=("height",)), said=(
        rf"{_NOT} (?:raise|raising|lower|lowering|move|moving|adjust|adjusting)(?: or (?:raise|lower|raising"
        rf"|lowering))? "
        rf"{THE}(?:pickups?|them)(?: up| down| or)*",
        rf"{_NOT} (?:height|gap) (?:changes?|adjustments?)",
    )),
    Rule(words="that is kept", sets=_kept, said=(
        rf"(?:keep|leave|same|preserve|retain|like) {_THINGS}(?: alone| as they are| as it is| on| original| in"
        rf" place| stock"
        r"| the same| where they are| where it is)*",
        rf"{_NOT} (?:{_CHANGE}|new|other|different|changes? (?:to|of|in)|work on|replacement)? ?{_THINGS}"
        r"(?: swaps?| swapping| changes?| moves?| off| out| up| replacement| work)*",
        rf"{_THINGS} (?:is|are) original(?: ?,| so| and| please)* (?:keep|leave) (?:it|them)(?: in| on| alone)?",
        rf"{_THINGS} (?:must |should |has to |have to |needs? to )?(?:stays?|remains?|is to stay|are to stay)"
        r"(?: as they are| as it is| on| original| the same| in| put)*",
    )),
    Rule(words="the wiring is kept", sets=_always(keep=("wiring",)), said=(rf"{_NOT} (?:re ?wire|re ?wiring)(?:"
                        rf" {_IT})?",)),
    Rule(words="nothing here drills, routs or refinishes", sets=_always(), said=(
        rf"{_NOT} (?:drill(?:ing)?|rout(?:e|ing)|(?:new )?holes?|sand(?:ing)?|refinish(?:ing)?|carv(?:e|ing)|cutting"
        r"|woodwork)(?: the body| the wood| holes?)?",
        r"keep the finish",
    )),
    Rule(
        words="heights only: nothing bought, opened, soldered or screwed at the poles",
        sets=_always(budget="none", do_not_open=True, no_solder=True, keep=("screws",)),
        said=(
            rf"{THE}(?:pickup )?heights? only",
            rf"(?:only|just|nothing but) {THE}(?:pickup )?(?:heights?|gaps?)(?: (?:adjustments?|changes?|may"
            rf"|can|be|is|are|to"
            r"|changed|adjusted|touched|allowed))*",
            r"(?:only|just) (?:raise|raising|lower|lowering)(?: (?:and|or) (?:raise|raising|lower"
            r"|lowering))?(?: it| them"
            r"| the pickups?)?",
        ),
    ),
    Rule(
        words="free moves only: nothing bought, opened or soldered",
        sets=_always(budget="none", do_not_open=True, no_solder=True),
        said=(r"(?:only |just )?(?:adjustments?|screwdriver|set ?up|setting up)(?: only| work| moves)?",),
    ),
)  # fmt: skip
