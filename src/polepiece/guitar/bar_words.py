"""Bars in plain words."""


def grade_words(slug: str) -> str:
    """Return a grade as it is spoken: "Alnico 5, rough cast"."""
    name, rough = slug.removesuffix("-rough-cast"), slug.endswith("-rough-cast")
    name, plain = name.removesuffix("-unoriented"), name.endswith("-unoriented")
    family, _, number = name.partition("-")
    return f"{family.capitalize()} {number}".strip() + (", rough cast" if rough else "") + (
        ", unoriented" if plain else ""
    )  # fmt: skip


def charge_words(how: str) -> str:
    """Return how a bar is charged, in words."""
    named = {"outside": "charged outside", "in-place": "charged in place", "unknown": "charge not known"}
    if how in named:
        return named[how]
    try:
        return f"{float(how):.0%} charged"
    except ValueError:
        return how
