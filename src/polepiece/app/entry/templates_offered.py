"""The circuits that a guitar can have: those templates whose controls and switch its pickups fit."""

from collections.abc import Mapping

from polepiece.guitar import Guitar


def offered(guitar: Guitar) -> Mapping[str, str]:
    """Return the templates that fit a guitar with their words."""
    return {}
