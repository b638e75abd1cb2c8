"""Errors and warnings that polepiece raises on purpose.

A message says where, what was given, what is allowed and the likely slip.
"""


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


class ChangedMeanwhileError(NotebookError):
    """A guitar is not in the state any more that a record was made from; nothing was written."""


class ResolutionWarning(UserWarning):
    """A result that may be poor because a mesh or a grid is too coarse for the question."""
