"""Lines of the notebook's history without its numbers: for pages, where nobody goes by them."""

import re

from polepiece.moves import plainly

_PLAIN = tuple(
    (re.compile(rule), said)
    for rule, said in (
        (r", as a branch after state \d+", ", in another notebook"),
        (r"^state \d+ recorded: ", ""),
        (r"^state \d+ recorded, ", "recorded, "),
        (r"^state \d+ (?=came on record|undone|done again)", ""),
        (r"^gone on from state \d+: ", "another continuation: "),
        (r"^part \d+ (?=into the drawer|left the drawer)", ""),
        (r"^prediction \d+ kept for state \d+: ", "computed: "),
        (r"^(sound kept: .*) \([0-9a-f]{12}\)$", r"\1"),
        (r"\b(?:back to|again as in) state \d+ \((.*)\)", r"as after “\1”"),
        (r"(?<=\d) kohm\b", " kΩ"),
    )
)


def plain(words: str) -> str:
    """Return a line of the history in words alone: no number of a state, part or prediction, no hash.

    >>> plain("state 4 recorded: neck: lower_treble=0.2mm")
    'neck: lower treble 0.2 mm'
    >>> plain("state 5 undone: back to state 3 (a softer bar)")
    'undone: as after “a softer bar”'
    """
    for rule, said in _PLAIN:
        words = rule.sub(said, words)
    return plainly(words)
