"""Errors and warnings that polepiece raises on purpose.

A message says where, what was given, what is allowed and the likely slip.
"""

import re

_TURNS = re.compile("[\u202a-\u202e\u2066-\u2069]")  # embeddings, overrides, isolates of Unicode annex 9


class PolepieceError(Exception):
    """Base of every error that polepiece raises on purpose."""


class InputError(PolepieceError, ValueError):
    """A value given by the caller is outside what is allowed."""


class GuitarFileError(InputError):
    """A guitar file has faults; ``faults`` lists them all, one sentence or paragraph each."""

    def __init__(self, faults: "list[str] | str", *, where: str = "") -> None:
        self.faults = [faults] if isinstance(faults, str) else list(faults)
        self.where = where
        head = f"{where}: " if where else ""
        super().__init__("\n".join(head + fault for fault in self.faults))


class ConvergenceError(PolepieceError):
    """An iteration did not converge; ``residuals`` holds its history."""

    def __init__(self, message: str, residuals: "list[float] | None" = None) -> None:
        self.residuals = list(residuals or [])
        super().__init__(message)


class MeasurementError(PolepieceError):
    """A recording or reading cannot be used; the message says why."""


class NotebookError(PolepieceError):
    """The notebook cannot be read or written; the message says why."""


class DamagedNotebookError(NotebookError):
    """A notebook does not hold what was written into it; the message says what is wrong and what can be done."""


class ReadOnlyNotebookError(NotebookError):
    """A notebook can be read and not written to; the message says why."""


class LostConnectionError(NotebookError):
    """The server of a notebook does not answer; the message says what is known of what was being written."""


class ChangedMeanwhileError(NotebookError):
    """A guitar, or a job, is not any more what a record was made from; nothing was written."""


class ResolutionWarning(UserWarning):
    """A result that may be poor because a mesh or a grid is too coarse for the question."""


def hidden_turn(text: str) -> str | None:
    """Return what is wrong with a text that turns the direction of what is written after it, or None.

    "lower 0.5 mm" beside such a name would read backwards. Letters that run from right to left need none of these.
    """
    found = _TURNS.search(text)
    if found is None:
        return None
    return f"holds an invisible character that turns writing round (U+{ord(found[0]):04X}); delete it"
