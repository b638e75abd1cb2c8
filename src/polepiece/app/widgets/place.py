"""A page as the header knows it."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where a page is, what it is called, and in a few words what it is for."""

    path: str
    title: str
    about: str
    in_job: bool = False  # a step of a job: in the strip of the header, with a tick once it is done
    linked: bool = True  # in the header; otherwise a page leads to it
    needs_guitar: bool = True  # shows one that is on record; with none, the Bench is opened instead
