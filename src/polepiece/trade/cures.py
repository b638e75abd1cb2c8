"""Which bars benches fit against a complaint: common practice, no source.

Nothing here enters a computed number or an order; a plan says beside it what was computed. Reputations are of bars in
full-size humbuckers, and mix how they were charged.
"""

from collections.abc import Mapping

CURES: Mapping[str, tuple[str, ...]] = {  # by the name of a complaint word
    "muddy": ("alnico-5", "alnico-3"),
    "boomy": ("alnico-3", "alnico-4"),
    "loose": ("alnico-5", "alnico-8", "ceramic-8"),
    "woolly": ("alnico-5", "alnico-8"),
    "piercing": ("alnico-2", "alnico-4", "alnico-5-unoriented", "alnico-5-rough-cast"),
    "harsh": ("alnico-2", "alnico-4", "alnico-5-rough-cast"),
    "dull": ("alnico-5", "alnico-8"),
    "too hot": ("alnico-2", "alnico-3"),
    "weak": ("alnico-5", "alnico-8", "ceramic-8"),
    "thin": ("alnico-2", "alnico-8"),
}


def cures_of(word: str, present: str) -> tuple[str, ...]:
    """Return the bars that benches fit against a complaint, without the one that is in; empty where nothing is said.

    Parameters
    ----------
    word : str
        Name of a complaint word.
    present : str
        Grade in the pickup, as in the guitar file.
    """
    return tuple(one for one in CURES.get(word, ()) if one != present)
