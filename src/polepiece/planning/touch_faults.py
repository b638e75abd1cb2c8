"""Faults that a touch tells: a shock, hum that comes or goes with a hand. Common practice, no source."""

from polepiece.planning.fault import ELECTRICIAN, SOLDERER, Fault

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
