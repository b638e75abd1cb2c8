"""What may not be lost or gained as it is said, "no less treble", "not darker": quantities and their way."""

import re
from collections.abc import Mapping

Values = Mapping[str, object]
THE = (
    r"(?:the |my |its |his |her |their |any |these |those |old |original |existing |present |stock |own |long |short "
    r"|all |both )*"
)
SOUNDS: dict[str, tuple[str, ...]] = {  # what may not be lost or gained, as it is said: keys of quantities
    "level": ("level", "volume", "output", "loudness"), "lows": ("lows", "low end", "bass", "bottom", "bottom end"),
    "mids": ("mids", "mid range", "midrange", "middle"), "wound": ("wound strings",),
    "highs": ("highs", "high end", "treble", "top", "top end", "brightness", "brilliance", "sparkle"),
    "presence": ("presence", "bite", "attack", "clarity"),
}  # fmt: skip
_SOUND_OF = {said: key for key, names in SOUNDS.items() for said in names}
_SOUND = "|".join(sorted(map(re.escape, _SOUND_OF), key=len, reverse=True))
SOUND_LIST = rf"(?P<sounds>{THE}(?:{_SOUND})\b(?: ?(?:,|and|or|nor) {THE}(?:{_SOUND})\b)*)"
MADE: dict[str, tuple[str, str]] = {  # an adjective that it may not become: the quantity and its way
    "louder": ("level", "more"), "hotter": ("level", "more"),  # quieter: `keep_output`
    "brighter": ("highs", "more"), "darker": ("highs", "less"), "duller": ("highs", "less"),
    "harsher": ("presence", "more"), "thinner": ("lows", "less"), "bassier": ("lows", "more"),
    "boomier": ("lows", "more"), "muddier": ("lows", "more"), "shriller": ("presence", "more"),
    "fizzier": ("presence", "more"),
}  # fmt: skip
MADE_PLAIN = {
    "loud": ("level", "more"), "bright": ("highs", "more"), "dark": ("highs", "less"), "dull": ("highs", "less"),
    "harsh": ("presence", "more"), "shrill": ("presence", "more"), "thin": ("lows", "less"), "boomy": ("lows", "more"),
    "fizzy": ("presence", "more"), "piercing": ("presence", "more"), "muddy": ("lows", "more"),
    "weak": ("level", "less"), "quiet": ("level", "less"),
}  # fmt: skip
QUIET = ("quieter", "weaker", "softer")  # by themselves: `keep_output`


def sounds(found: re.Match[str]) -> tuple[str, ...]:
    names = re.split(r"\s*(?:,|\band\b|\bor\b|\bnor\b)\s*", found["sounds"])
    keys = [_SOUND_OF.get(re.sub(rf"^{THE}", "", one).strip(), "") for one in names]
    both = [two for one in keys for two in ((one, "presence") if one == "highs" else (one,))]
    return tuple(dict.fromkeys(one for one in both if one))


def become(found: re.Match[str]) -> Values:
    key, way = ("level", "less") if found["made"] in QUIET else (MADE | MADE_PLAIN)[found["made"]]
    keys = (key, "presence") if key == "highs" else (key,)
    pickup = found.groupdict().get("a")
    return {f"not_{way}": tuple(f"{pickup}:{one}" if pickup else one for one in keys)}
