"""Constructions that are refused by their name, each with the reason."""

REFUSED_CONSTRUCTIONS: dict[str, str] = {
    "blade": "blades are one long pole, which is not modelled yet",
    "two-adjustable-rows": "two rows of screws need a keeper on both sides, which is not modelled yet",
    "small-humbucker": "its bar, keeper and coils are laid out differently, which is not modelled yet",
    "twin-blade": "twin blades in a single-coil size are one long pole each, and are not modelled yet",
    "three-ferrite-bars": "three ferrite bars share one magnetic circuit, which is not modelled yet",
}

_SYNONYMS = {
    "blades": "blade",
    "rail": "blade",
    "rails": "blade",
    "two-screw-rows": "two-adjustable-rows",
    "twelve-screws": "two-adjustable-rows",
    "mini-humbucker": "small-humbucker",
    "twin-blades": "twin-blade",
    "three-bar": "three-ferrite-bars",
    "three-bars": "three-ferrite-bars",
}


def refusal(raw: object) -> str:
    """Return why a construction is refused by its name, or nothing when it is not such a one."""
    if not isinstance(raw, str):
        return ""
    word = raw.strip().lower().replace("_", "-").replace(" ", "-")
    reason = REFUSED_CONSTRUCTIONS.get(_SYNONYMS.get(word, word))
    return f'is "{raw}", which this version does not cover: {reason}.' if reason else ""
