"""Faults that a touch tells: a shock, hum that comes or goes with a hand. Common practice, no source."""

from polepiece.planning.fault import ELECTRICIAN, FEW, FEW0, HUM, OFF, SOLDERER, STOPS, TOUCH, Fault

TOUCH_FAULTS: tuple[Fault, ...] = (
    Fault(
        key="shock",
        name="a shock from the strings",
        said=(
            r"(?:electric )?shock(?:s|ed)?\b(?! wave)",
            r"tingl(?:e|es|ing)|zap(?:s|ped|ping)?",
            r"electrocuted?",
            r"electric(?:ity|ally)",
            r"electric(?:al)? (?:kick|kicks|bite|bites|prick|pricks|sting|stings|feeling|jolt|buzz)",
            r"(?:get|gets|got|feel|felt) (?:a |little |small |light |an )*(?:kick|bite|prick|sting|zap)s?"
            r" (?:from|when|off|through)",
            r"jolt(?:s|ed)?",
            r"tickl(?:e|es|ing)",
            r"pins and needles",
            r"(?:strings?|bridge|metal|guitar|jack|mic|microphone) (?:is |are |seems? |feels? )*(?:live\b(?!ly)|charged"
            r"|under (?:voltage|current))",
        ),
        words=("shock",),
        means="the earth of the mains or of the amplifier is at fault",
        check="play nothing; earth of the outlet and of the amplifier, with an insulation tester",
        cure="mend the mains earth; the guitar is not at fault",
        by=ELECTRICIAN,
        caution="danger to life: unplug, touch no other metal, no microphone",
    ),
    Fault(
        key="touch",
        name="buzz when the strings are touched",
        said=(
            rf"{HUM} {FEW0}(?:when|if|while|as soon as|once) (?:(?!not)\w+ ){{0,2}}?{TOUCH}\b",
            rf"{HUM} (?:\w+ )?(?:{STOPS}|goes|ends)(?: (?:away|off))? (?:\w+ )?(?:when|if|once|as soon as) (?:\w+ )"
            rf"{{0,3}}?(?:let go|not {TOUCH}|{OFF}|take my hands?)(?: (?:off|of|the|strings?|bridge|them))*",
            rf"(?:not|no|never|without) {FEW}{HUM} {FEW}(?:until|unless|till) {FEW}{TOUCH}\b",
            rf"(?:quiet|silent|fine|ok) (?:until|unless|till) {FEW}{TOUCH}\b",
            rf"{TOUCH} {FEW}(?:makes?|causes?|gives?|starts?) (?!no |not |any |little |hardly ){FEW}{HUM}",
            rf"{HUM} (?:\w+ ){{0,2}}?(?:louder|worse|more|stronger) (?:\w+ )?with {TOUCH}\b",
            rf"{HUM} (?:\w+ ){{0,2}}?(?:louder|worse|more|stronger) with (?:\w+ ){{0,2}}?(?:hands?|fingers?) on\b",
            rf"{TOUCH} (?:\w+ ){{0,2}}?{HUM} (?:(?!not|no)\w+ ){{0,2}}?(?:louder|worse|more|starts?|begins?)\b",
            rf"(?:when|if|once|whenever) (?:\w+ )?{TOUCH} ,? ?(?:it |there is |i get )?(?:a )?{HUM}",
        ),
        words=("buzz when touching the strings",),
        means="the strings are not on ground, or the earth of the amplifier is missing",
        check="ohmmeter from strings to the sleeve of the jack: under an ohm; polarity of the jack; earth of the"
        " amplifier",
        cure="ground wire of the bridge, jack the right way round",
        caution="do not play until the earth of the outlet has been looked at: touched metal must never make it worse",
    ),
    Fault(
        key="untouched",
        name="buzz that stops when the strings are touched",
        said=(
            rf"{HUM} {FEW}{STOPS} {FEW}{TOUCH}\b",
            rf"{HUM} {FEW}(?:until|unless|till|except when) {FEW}{TOUCH}\b",
            rf"{HUM} {FEW}(?:with|when|if|unless) (?:my |the |i |take )*{OFF}",
            rf"{HUM} {FEW0}(?:when|if|unless) (?:\w+ ){{0,3}}?(?:let go|not {TOUCH}|hands? off|take my hands?)\b",
            rf"{TOUCH} {FEW}{STOPS} {FEW}{HUM}",
            rf"(?:when|if|once|as soon as) (?:\w+ ){{0,2}}?(?:let go|not {TOUCH}|take my hands?)\b(?: of| off)?"
            rf"(?: the strings?| them)?,? (?:\w+ ){{0,2}}?{HUM}",
            rf"{STOPS} when (?:\w+ ){{0,2}}?{TOUCH}\b",
            rf"{TOUCH} (?:\w+ ){{0,2}}?{HUM} (?:\w+ )?{STOPS}",
        ),
        words=("buzz stops when touching the strings",),
        means="the strings are grounded and the cavity is not shielded: you are the shield",
        check="shield of the cavity and of the leads, and whether the room or a dimmer makes it",
        cure="shield the cavity, braid to ground at one place",
        by=SOLDERER,
    ),
)
