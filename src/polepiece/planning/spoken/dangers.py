"""Faults that end the playing, a shock or a smell of burning: only a plain denial of one is a denial.

"I don't mind the tingle", "the last owner got a shock from it" and "no shock unless I touch the mic" tell of one. Where
it is in doubt the dangerous reading holds. Common practice, no source.
"""

import re

from polepiece.planning.fault import ELECTRICIAN
from polepiece.planning.faults import FAULTS

DANGERS = frozenset(one.words[0] for one in FAULTS if one.by == ELECTRICIAN)
_SOFTENED = re.compile(
    r"\b(?:unless|until|till|except|else|always|hardly|barely|rarely|seldom|every time"
    r"|but (?:me|him|her|us|this|when|if|once|only)|(?:no|not) (?:any )?more (?:electric )?(?:shock|tingl|zap)\w*"
    r"|please (?:no|not|never)|(?:want|wish|would like|should|must) (?:\w+ )?(?:no|not|never)|not (?:want|mind|bother)"
    r"|not (?:a )?(?:big |real )?(?:problem|worr\w+|matter))\b|\bplease$"
)


def is_told(fault: str, text: str, fine: str) -> bool:
    """Tell whether a fault is a danger and told, although it stands beside a denial or words of content, ``fine``.

    ``text`` is the whole that was said, in plain words; ``fine`` is "" where none stand there.
    """
    if fault not in DANGERS:
        return False
    liked = bool(fine) and not fine.startswith(("no ", "never "))  # "I can live with the tingle"
    return liked or _SOFTENED.search(text) is not None
