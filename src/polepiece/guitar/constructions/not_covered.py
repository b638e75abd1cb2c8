"""Constructions that are refused by their name, each with the reason and the next best step."""

REFUSED_CONSTRUCTIONS: dict[str, str] = {
    "three-ferrite-bars": "three ferrite bars share one magnetic circuit, which is not modelled yet; next best: "
    "two-bar-slugs or two-bar-single, with the pole tops read by a gauss meter (magnet.measured_gauss)",
    "stacked-coils": "two coils one above the other round the same poles are not modelled yet; next best: rod-single "
    "with the upper coil's sizes, and the inductance and resistance measured across both",
    "piezo": "it has neither magnet nor coil, so nothing here speaks of it; leave it out of the file",
}

_SYNONYMS = {
    "three-bar": "three-ferrite-bars", "three-bars": "three-ferrite-bars", "stacked": "stacked-coils",
    "stacked-humbucker": "stacked-coils", "stack": "stacked-coils", "piezo-saddle": "piezo", "bridge-piezo": "piezo",
}  # fmt: skip


def steel_sheet(part: str) -> str:
    """Return why a base plate or cover ("base plate") of steel is refused, and the next best step."""
    best = {
        "base plate": 'next best: under rods construction = "plate-rod-single", whose plate_* keys are such a plate; '
        'under anything else "none", with inductance_h measured',
        "cover": 'next best: "none", with inductance_h and the pole tops (magnet.measured_gauss) measured under it',
    }[part]
    return f"a steel {part} carries flux; this version covers non-magnetic sheets only; {best}."


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
