"""Likenesses and idioms: "like a telephone", "wrapped in a blanket", "my ears bleed", "every note dies at once".

Common practice, no source. What a sound is likened to names the complaint by the kind of thing it is: what muffles,
what one speaks through, what stings. A likeness counts only behind a word of likeness ("like", "through", "under"),
not where somebody says what they do or have: "I keep it in a box", "through a tube amp".
"""

import re
from functools import cache

from polepiece.planning.complaint_word import listed
from polepiece.planning.spoken.dynamic_words import BENDS, DOWN, PAIR, UNEVEN

THINGS: dict[str, tuple[str, ...]] = {  # complaint word to what it is likened to; "s" is added
    "dull": listed(
        """sock, earmuffs, ear muffs, ear defenders, helmet, blanket, duvet, quilt, pillow, towel, curtain,
        cushion, mattress, coat, carpet, rug, cloth, cotton,
        cotton wool, wool, scarf, jumper, sweater, hat, bag, glove, door, wall of wood, next room,
        another room, other room,
        room next door, water, wet blanket, foam, felt, cupboard, closet, wardrobe, lid, ear plug, earplug, sponge,
        fingers in my ears, hand on mouth, hand over the mouth, hand over my mouth, hand in front of the mouth"""
    ),
    "muddy": listed(
        "blob, goo, dough, swamp, soup, porridge, mud, treacle, syrup, sludge, gravy, custard, stew, "
        "quicksand, fog, bog"
    ),
    "nasal": listed(
        """telephone, phone, megaphone, tin can, can, pipe, tube, bucket, box, cardboard box, shoebox, shoe box, cold,
        peg on its nose, kazoo, duck, bottle, cheap speaker, small speaker, toilet roll, toilet, traffic cone,
        am radio, radio, transistor radio, intercom, walkie talkie, tannoy"""
    ),
    "piercing": listed(
        """knife, knives, needle, razor, razor blade, drill, dentist, dentist drill, dentist is drill, ice pick,
        nails on a board, nails on a chalkboard, nails on a blackboard, fingernails on a blackboard, broken glass,
        siren, laser, scalpel, dagger"""
    ),
    "harsh": listed("sandpaper, saw, saw blade, grinder, angle grinder, cutlery, barbed wire, razor wire, metal plate"),
    "fizzy": listed(
        """bee, wasp, mosquito, mosquitoes, fly, flies, insect, swarm, swarm of bees, hornet, frying pan, bacon,
        bees in a jar, bee in a jar, bee in a can, bees in a can, electric razor, shaver"""
    ),
    "thin": listed("wire, toy, toy guitar, paper, matchbox, ukulele, tin foil, foil, tin, egg slicer, music box"),
    "boomy": listed("foghorn, tuba, thunder, cave, barrel, bass drum, cathedral"),
    "loose": listed("rubber band, elastic, jelly, pudding, wet noodle, washing line, clothes line, wet string"),
    "weak": listed("whisper, mouse"),
}
_LIKE = (
    r"(?:like|(?:turn|go|chang)\w* (?:in)?to|(?:has |have )?bec[oa]m\w*|is (?:just |all |pure )?an?|are(?: just"
    r"| all| pure| like)?|there is"
    r"|as if|as though|through|under|beneath|underneath|behind|inside|in|into|wrapped (?:up )?in|covered (?:in|"
    r"with|by)|from)"
)
_BETWEEN = (
    r"(?: (?:a|an|the|some|i|am|wearing|my|its|it|is|was|he|she|coming|comes|played|playing|heard|hearing"
    r"|talking|singing|from|out|somebody|someone|they|hung|left|put|threw|draped|had|"
    r"of|through|under|behind|inside|in|into|wrapped|up|covered|with|by|having|has|being|lot|big|thick|wet|old|cheap|"
    r"small|closed|mouth|mouthful|full|heavy|two|plastic|angry)){0,8}?"
)
_NO_THING = (  # what makes another thing of it
    r"(?! (?:amps?|amplifiers?|combos?|heads?|cabs?|cabinets?|preamps?|mics?|microphones?|days?|nights?|rooms?|joints?"
    r"|solder)\b| in (?:the |my )?(?:jack|socket|pots?|switch|cavity|guitar|amp)\b)"
)
_DOES = re.compile(
    r"\b(?:(?:i|we)(?: \w+){0,2}? (?:play|plug|keep|kept|store|put|run|ran|record|use|practi[sc]e|sit|stand)\w*"
    r"|(?:guitar|amp|amplifier|instrument) (?:is|was|lives?|stands?|sits?))(?: \w+){0,4}$"
)
_EARS = (
    r"(?:the |my |your |his |her |our |in |into |on |at |through |off |inner )*(?:ears?|eardrums?|head|brain|teeth)\b"
)
_PAIN = (
    r"(?:hurt|pain|ache|bleed|bit|rip|kill|stab|pierc|tear|slic|assault|attack|drill|shred|tak|scratch|go right|"
    r"goes right|goes straight|cut)\w*"
)
_SOON = (
    r"(?:at once|(?:too |very |so |quite |rather |really )?(?:soon|quick|quickly|fast|early)|immediately|instantly|"
    r"(?:straight|right) away|in no time|in an instant|before (?:it|they) should|before their time|after "
    r"(?:only |just |about |less than |barely )*(?:a |one |two |half a |the )*(?:short |brief |little )*"
    r"(?:seconds?|moments?|times?|instant|while)(?! (?:of|to|the|we|i)\b))"
)
_BREAKS = r"(?:breaks? up|distorts?|clips?|overdrives?|overloads?|saturates?)"
_SAME = r"(?:same|equal|even|identical|alike)"
_LEVELS = r"(?:volumes?|levels?|outputs?|loudness)"
_DOWN = r"(?:turn|roll|back|bring|volume)(?:ed|ing|s)?(?: \w+){0,4}? (?:down|off|back|lower)\b"
_TOP = r"(?:treble|highs?|high end|top|top end|sparkle|presence|brightness)"
_NOTES = r"(?:notes?|chords?|sound|it|strings?|everything|tones?)"
_ENDS = r"(?:die|dies|dying|stop|stops|end|ends|disappear|disappears|vanish|vanishes|gone|over|decays?|fades?|run out)"

IDIOMS: tuple[tuple[str, str], ...] = (
    ("piercing", rf"{_PAIN}(?: \w+)? {_EARS}(?: (?:off|bleed|hurt|ring|apart))?"),
    ("piercing", rf"ear {_PAIN}"),
    (PAIR, r"(?:the two|pickups|they|both) (?:do|are) not balanced?\b"),
    (
        "no sustain",
        r"(?:notes?|strings?|chords?) (?:die|fade|decay|end|stop)s? (?:away |off )?(?:when|while|as) "
        r"(?:i |you |they )*(?:hold|held|sustain|let|ring)\w*(?: a note| them| it| notes)?",
    ),
    ("piercing", r"makes? (?:me|you|us|people|everybody|everyone) (?:wince|cringe|flinch|squint)"),
    ("too hot", r"(?:can not get (?:it|this|that|a|the sound) to|does not|do not|will not|never|refuses to) clean up"),
    (
        BENDS,
        r"(?:bend(?:s|ing)?|bent)\b (?:\w+ ){0,5}?(?:drop|fade|die|quiet|weak|lose|disappear|vanish|cut)\w*"
        r"(?: out| off| away| (?:in )?(?:volume|level))*",
    ),
    (
        BENDS,
        r"(?:drop|fade|die|disappear|vanish|cut|get quiet|lose volume)(?:s|e?d)?(?: out| off| away| in volume)* "
        r"(?:on|when|with|during|in|while) (?:\w+ ){0,3}?(?:bend(?:s|ing)?|bent)\b",
    ),
    (PAIR, rf"(?:badly|poorly|not|ill) (?:well )?match(?:ed)?(?: \w+){{0,2}}? {_LEVELS}"),
    (
        "warbling",
        r"(?:pull|dragg?)(?:s|ed|ing)? (?:\w+ ){0,2}?(?:sharp|flat|out of tune|by the (?:magnets?|pickups?))",
    ),
    ("piercing", r"(?:strip|peel)(?:s|ing)? (?:the )?(?:paint|wallpaper|varnish)"),
    (
        "piercing",
        r"(?:take|melt|rattle|cut|loosen|blow|rip)(?:s|ing)? (?:the |my |your |off |out )*(?:enamel|fillings|teeth"
        r"|face|head|ears?)(?: off| out)?",
    ),
    ("weak", r"(?:never|not) (?:breaks?|breaking) up(?! too)"),
    (UNEVEN, rf"{_LEVELS} (?:\w+ ){{0,6}}?(?:from )?string to string"),
    (PAIR, r"(?:to match|to balance with|to keep up with) (?:the )?(?:neck|bridge|middle|other)(?: pickup)?"),
    ("piercing", r"(?:head ?ache|migraine|tinnitus|ear fatigue|fatiguing|tiring to listen|hard on the ears)"),
    ("too hot", rf"{_BREAKS} (?:\w+ ){{0,3}}?(?:early|soon|easily|quickly|fast)"),
    (
        PAIR,
        rf"(?:{_SAME} )?{_LEVELS} (?:of (?:the |my |both )*(?:pickups|both|two) )?(?:\w+ )?(?:not |un)"
        rf"(?: ?the)? ?{_SAME}",
    ),
    (PAIR, rf"(?:at |have |of |with )(?:the |an )?{_SAME} {_LEVELS}"),
    (PAIR, rf"(?:worlds|miles|far|way|too far) apart(?! from)(?: in {_LEVELS})?|apart in {_LEVELS}"),
    ("piercing", rf"{_EARS} (?:\w+ )?(?:hurt|hurts|bleed|bleeds|bleeding|ache|aches|aching|are ringing)\b"),
    (PAIR, rf"(?:pickups|both|two|them) (?:\w+ ){{0,3}}?(?:{_SAME} (?:in )?{_LEVELS}|equally loud)"),
    (PAIR, r"not (?:\w+ )?(?:equally loud|as loud as each other)"),
    (UNEVEN, rf"{_LEVELS} (?:\w+ )?(?:differs?|varies|vary|(?:is|are) (?:very )?different) (?:\w+ ){{0,3}}?strings?"),
    (
        PAIR,
        rf"{_LEVELS} (?:\w+ )?(?:differs?|differ a lot|(?:is|are) (?:very |so )?different)"
        r"(?! \w+ (?:the )?strings?)",
    ),
    ("weak", r"half (?:the |my |of the )*(?:sound|bass|tone) (?:is |just )*(?:gone|missing|lost|disappears|vanishes)"),
    (
        "weak",
        r"not (?:\w+ )?(?:driv|push|hit)(?:e|ing)? (?:the |my )?(?:amp|front end|pedals?|tubes|valves|fuzz)"
        r"(?: (?:\w+ )?enough)?",
    ),
    (
        "weak",
        r"(?:need|have|got|must) (?:to )?(?:crank|turn up|turn|dime|open) (?:the |my )?(?:amp|volume|gain|it)(?: \w+)?"
        r"(?: up)? (?:\w+ )?to (?:hear|get)(?: anything| something| it)?",
    ),
    (
        DOWN,
        rf"(?<!is )(?<!have )(?<!has )(?<!hear )(?:no|without|avoid|not lose|not losing) (?:any |the |my |loss of "
        rf"|losing )+{_TOP} (?:when|as|if|with|while) (?:\w+ ){{0,3}}?{_DOWN}",
    ),
    (
        "weak",
        r"(?:can not|will not|hard to|refuses to) (?:get |make |let |push |drive |force )?(?:the |my |an |it |to )*"
        r"(?:amp |amplifier |valves |tubes |front end |it )*(?:to |into )*(?:break up|breaking up|distort|distortion"
        r"|overdrive|saturate|clip)",
    ),
    ("no sustain", rf"{_NOTES} (?:\w+ )?(?:just )?(?:{_ENDS})(?: away| out| off| down)? {_SOON}"),
)


@cache
def _patterns() -> tuple[tuple[str, re.Pattern[str]], ...]:
    out = []
    for word, things in THINGS.items():
        named = "|".join(sorted(map(re.escape, things), key=len, reverse=True))
        out.append((word, re.compile(rf"\b{_LIKE}{_BETWEEN} (?:{named})(?:e?s)?(?!\w){_NO_THING}")))
    return (*out, *((word, re.compile(rf"\b{said}(?!\w)")) for word, said in IDIOMS))


def likenesses(text: str) -> list[tuple[int, int, str]]:
    """Return start, end and complaint word of every likeness in a text of plain words."""
    found = ((one, word) for word, pattern in _patterns() for one in pattern.finditer(text))
    return [(one.start(), one.end(), word) for one, word in found if not _DOES.search(text[: one.start()].rstrip())]
