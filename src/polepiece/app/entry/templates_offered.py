"""The circuits that a guitar can have: those templates that its reader takes with the pickups it has."""

from collections.abc import Mapping

from polepiece.guitar import Guitar, Parameter, circuit_words, key_of, with_value

TEMPLATE = "controls.template"
LISTED = "as-listed"  # needs tables of its own, which are written into the file by hand


def offered(guitar: Guitar, line: Parameter, chosen: str) -> Mapping[str, str]:
    """Return the templates that fit a guitar, with their words; ``chosen`` is among them whatever it is.

    Parameters
    ----------
    guitar : Guitar
    line : Parameter
        Of the template: its words are tried one by one.
    chosen : str
        What is answered now, "" where it is not known.
    """
    fits = [one for one in line.choices if one != LISTED and with_value(guitar, key_of(TEMPLATE), one) is not None]
    kept = [chosen] if chosen and chosen not in fits else []
    return {one: circuit_words(one) for one in (*fits, *kept)}
