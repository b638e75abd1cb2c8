"""Numbers as people read them: the one writer of signs, for every command, page, sheet and file.

Pages and paper have the true minus; a terminal and what programs read have the hyphen. No minus stands before a zero
that was rounded to.

>>> signed(-1.26), signed(0.04), plain_signed(-0.04), number(-0.04)
('−1.3', '0.0', '+0.0', '0.0')
"""

MINUS = "\u2212"


def rounded(value: float, digits: int) -> float:
    """Return ``value`` with so many decimals, and no negative zero."""
    return round(value, digits) + 0.0


def true_minus(figures: str) -> str:
    """Return figures (nothing else) with true minus signs."""
    return figures.replace("-", MINUS)


def minus_in_words(words: str) -> str:
    """Return a sentence whose numbers, each behind a space or bracket, have true minus signs; hyphens in words stay."""
    return words.replace(" -", f" {MINUS}").replace("(-", f"({MINUS}").replace(f" {MINUS}> ", " → ")


def number(value: float, digits: int = 1) -> str:
    """Return a number with so many decimals, and a sign only where it is negative."""
    return true_minus(f"{rounded(value, digits):.{digits}f}")


def signed(value: float, digits: int = 1) -> str:
    """Return a difference with its sign; none before a zero."""
    shown = rounded(value, digits)
    return f"{shown:.{digits}f}" if shown == 0.0 else true_minus(f"{shown:+.{digits}f}")


def plain_signed(value: float, digits: int = 1) -> str:
    """Return a difference with its sign for a terminal: a hyphen, and a plus before a zero."""
    return f"{rounded(value, digits):+.{digits}f}"
