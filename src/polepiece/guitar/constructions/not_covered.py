"""Constructions that are refused by their name, each with the reason and the next best step."""

REFUSED_CONSTRUCTIONS: dict[str, str] = {
    "stacked-coils": "two coils one above the other round the same poles are not modelled yet; next best: rod-single "
    "with the upper coil's sizes, and the inductance and resistance measured across both",
    "piezo": "it has neither magnet nor coil, so nothing here speaks of it; leave it out of the file",
}

_SYNONYMS = {
    "stacked": "stacked-coils",
    "stacked-humbucker": "stacked-coils", "stack": "stacked-coils", "piezo-saddle": "piezo", "bridge-piezo": "piezo",
}  # fmt: skip


def as_word(raw: str) -> str:
    """Return what a person typed as names are spelt here."""
    return raw.strip().lower().replace("_", "-").replace(" ", "-")


def refusal(raw: object) -> str:
    """Return why a construction is refused by its name, or nothing when it is not such a one."""
    if not isinstance(raw, str):
        return ""
    word = as_word(raw)
    reason = REFUSED_CONSTRUCTIONS.get(_SYNONYMS.get(word, word))
    return f'is "{raw}", which this version does not cover: {reason}.' if reason else ""
