"""What the server's own window says of a refusal in words: its line, without the way through the program to it."""

import logging

from polepiece.errors import PolepieceError

LOGGERS = ("nicegui", "uvicorn.error")


class InOneLine(logging.Filter):
    """Leaves the traceback away where an error is one of ours; any other is a fault of the program, and keeps it."""

    def filter(self, record: logging.LogRecord) -> bool:
        """Shorten the record; all of them are let through."""
        error = record.exc_info[1] if record.exc_info else None
        if isinstance(error, PolepieceError):
            record.msg, record.args, record.exc_info, record.exc_text = str(error), (), None, None
        return True


def say_in_one_line() -> None:
    """Have the loggers of the server do so; once a process."""
    for name in LOGGERS:
        logger = logging.getLogger(name)
        if not any(isinstance(one, InOneLine) for one in logger.filters):
            logger.addFilter(InOneLine())
