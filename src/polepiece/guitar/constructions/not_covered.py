"""Constructions that are refused by their name, each with the reason."""

REFUSED_CONSTRUCTIONS: dict[str, str] = {
    "three-ferrite-bars": "three ferrite bars share one magnetic circuit, which is not modelled yet",
}

_SYNONYMS = {"three-bar": "three-ferrite-bars", "three-bars": "three-ferrite-bars"}


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
