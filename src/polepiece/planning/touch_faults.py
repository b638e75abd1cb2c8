"""Faults that a touch tells: a shock, hum that comes or goes with a hand. Common practice, no source."""

from polepiece.planning.fault import ELECTRICIAN, FEW, SOLDERER, Fault

_BODY = r"(?:lips?|mouth|tongue|hands?|fingers?|fingertips?|arms?|hairs?|elbow|chin|nose|feet|foot)"
_FELT = (
    r"(?:sting(?:s|ing)?|prick(?:s|ing)?|twitch(?:es|ed|ing)?|jerk(?:s|ed|ing)?|numb|cramps?|current|spark(?:s|ed)?)"
)
_LIVE = r"(?:strings?|bridge|mic|microphone|metal|jack|guitar|amp|plug|tailpiece)"
"""A part of the body, what current does to it, and what it comes from: together they are a shock."""

TOUCH_FAULTS: tuple[Fault, ...] = (
    Fault(
        key="shock",
        name="a shock from the strings",
        said=(
            r"(?:electric )?shock(?:s|ed)?\b(?! wave)(?! (?:how|that|at|to)\b)",
            r"tingl(?:e|es|ing)|zap(?:s|ped|ping)?",
            r"electrocuted?",
            r"electric(?:ity|ally)",
            r"(?:electric(?:al)? )?prickl(?:e|es|ing)",
            r"(?:strings?|bridge|mic|microphone|metal|jack|guitar) (?:bites?|bit|stings?|stung|nips?|hits?|gets?|got) "
            r"(?:me|him|her|us|my (?:lips?|fingers?|hands?))\b",
            r"(?:bitten|stung|hit|kicked|knocked|zapped) (?:by|from|off) (?:the |my |a )*(?:strings?|bridge|mic"
            r"|microphone"
            r"|metal|jack|guitar|amp)\b",
            r"electric(?:al)? (?:kick|kicks|bite|bites|prick|pricks|sting|stings|feeling|jolt|buzz)",
            r"(?:get|gets|got|feel|felt|gave me|gives me) (?:a |little |small |light |an |nasty |good )*"
            r"(?:kick|bite|prick|sting|zap|belt|whack|wallop|thump|jab|poke|hit)s?"
            r" (?:from|when|off|through)",
            r"jolt(?:s|ed)?",
            r"tickl(?:e|es|ing)",
            r"pins and needles",
            rf"{_FELT} (?:\w+ ){{0,6}}?{_BODY}\b(?= .*\b{_LIVE}\b)|\b{_LIVE}\b (?:\w+ ){{0,6}}?{_BODY} {FEW}{_FELT}\b",
            rf"{_LIVE} (?:\w+ ){{0,4}}?{_FELT} (?:\w+ ){{0,3}}?{_BODY}\b|{_LIVE} {FEW}{_BODY} (?:a )?{_FELT}\b",
            rf"{_BODY} {FEW}{_FELT} (?:\w+ ){{0,4}}?{_LIVE}\b",
            rf"buzz(?:es|ing)? {FEW}(?:in|into|through|up) (?:my |the )*{_BODY}\b",
            r"sparks? (?:\w+ ){0,3}?(?:between|from|off|to|at) (?:\w+ ){0,3}?(?:strings?|mic|microphone"
            r"|guitar|me|my)\b",
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
        said=(),  # `spoken.touching` tells it by rule
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
        said=(),
        words=("buzz stops when touching the strings",),
        means="the strings are grounded and the cavity is not shielded: you are the shield",
        check="shield of the cavity and of the leads, and whether the room or a dimmer makes it",
        cure="shield the cavity, braid to ground at one place",
        by=SOLDERER,
    ),
)
