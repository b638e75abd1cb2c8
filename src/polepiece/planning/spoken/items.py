"""Complaints of a sentence: one or denied, every one once, and in words what was understood."""

from dataclasses import dataclass, field

from polepiece.planning.complaint_word import Word
from polepiece.planning.spoken.targets import Target

STRENGTH_WORDS = {1: "slight", 2: "clear", 3: "strong"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """One complaint of a sentence, or one that is denied (``word`` None)."""

    word: Word | None
    text: str  # as it was said, slips mended
    target: Target = field(default_factory=Target)
    strength: int = 2
    sudden: bool = False
    strings: str = ""  # numbers that were named beside a word of tone
    side: str = ""  # numbers of the strings of "bass strings loud" and the like


def once(items: list[Item]) -> list[Item]:
    """Return every complaint once, the strongest way it was said."""
    out: dict[tuple[str, Target, str], Item] = {}
    for one in items:
        key = (one.word.name if one.word else one.text, one.target, "" if one.word else "denied")
        old = out.get(key)
        if old is None or one.strength > old.strength:
            out[key] = one
    named = {one.word.name for one in out.values() if one.word is not None and one.target.pickup is not None}
    return [  # "it distorts early, the bridge is too hot": the pickup is named with the second
        one for one in out.values()
        if one.word is None or one.target != Target() or one.word.name not in named or one.strings or one.side
    ]  # fmt: skip


def words_of(item: Item) -> str:
    """Return a complaint as what was understood: of which pickup, what, how strong, of which strings."""
    if item.word is None:
        return f'"{item.text}": nothing to do'
    name = item.word.name
    what = name if item.text == name else f'"{item.text}" as {name}'
    many = "s" if len(item.strings) > 1 else ""
    on = f", said of string{many} {', '.join(item.strings)}" if item.strings else ""
    fault = "the gate: " if item.word.kind == "fault" or item.sudden else ""
    sudden = "suddenly " if item.sudden else ""
    return f"{item.target.words}: {fault}{sudden}{what} ({STRENGTH_WORDS[item.strength]}){on}"
