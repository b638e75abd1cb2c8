"""A page as the header knows it."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where a page is, what it is called, and in a few words what it is for."""

    path: str
    title: str
    about: str
