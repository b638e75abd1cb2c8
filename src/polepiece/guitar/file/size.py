"""How large a guitar file may be, judged before it is read: the reader of TOML takes the square of some sizes.

A thousand names joined by points take it seconds; a guitar file has four. One pass over the text, each character once.
"""

import re

LARGEST = 1024 * 1024  # bytes
LONGEST_WORD = 3_000  # characters of a name or number: Python stops at 4,300 digits, which is 3,570 in hexadecimal
LONGEST_LINE = 20_000  # characters: a list of everything that can be listed has a few thousand
MOST_PARTS = 16  # names joined by points in one key
MOST_DEPTH = 16  # lists and tables inside one another
MOST_MARKS = 10_000  # keys, tables, items of lists: a file that says everything of three pickups has about a thousand

_TOKENS = re.compile(
    r"""\#[^\n]*+                                               # a comment
    | \"{3} (?:[^"\\]|\\.|"(?!""))*+ (?:\"{3,5}|\Z)             # strings, whole or to the end of the file
    | '{3} (?:[^']|'(?!''))*+ (?:'{3,5}|\Z)
    | "(?:[^"\\\n]|\\[^\n])*+"?
    | '[^'\n]*+'?
    | [A-Za-z0-9_+-]++                                          # a bare word or number, or its piece between points
    | [\[\]{}=.,\n]
    """,
    re.VERBOSE | re.DOTALL,
)


def size_fault(text: str) -> str | None:
    """Return why a text is too large in some way to be a guitar file, or None."""
    if len(text) > LARGEST:
        return "is larger than 1 MiB; a guitar file has a few kilobytes."
    for number, words in enumerate(text.split("\n"), start=1):
        if len(words) > LONGEST_LINE:
            return f"line {number} has {len(words)} characters; at most {LONGEST_LINE} are read. Is a line end missing?"
    depth = parts = marks = 0
    line = 1
    for token in _TOKENS.finditer(text):
        mark = token[0]
        if mark == "\n":
            line, parts = line + 1, 0
        elif mark == ".":
            parts += 1
            if parts >= MOST_PARTS:
                return f"line {line} joins more than {MOST_PARTS} names by points; a key has four at most."
        elif mark in "[]{}=,":
            parts = 0
            marks += mark in "=,["
            depth += 1 if mark in "[{" else -1 if mark in "]}" else 0
            if depth > MOST_DEPTH:
                return f"line {line} has more than {MOST_DEPTH} lists or tables inside one another. Is a bracket open?"
        elif mark[0] in "\"'":
            line += mark.count("\n")
        elif len(mark) > LONGEST_WORD and mark[0] != "#":
            size = f"{len(mark)} characters; at most {LONGEST_WORD} are read"
            return f"line {line}: a number is too long, or a name: {size}."
        if marks > MOST_MARKS:
            return f"has more than {MOST_MARKS} keys and values; a guitar has some hundred."
    return None
