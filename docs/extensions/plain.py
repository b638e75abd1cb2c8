"""Plain text of a docstring or a help as Markdown that shows the same letters."""

import re

_MARKS = re.compile(r"([\\*_{}\[\]<>#|$~^])")


def escaped(text: str) -> str:
    """Return one line whose marks are shown as they are; what stands between backticks stays code."""
    parts = re.split(r"(``[^`]+``|`[^`]+`)", " ".join(text.split()))
    return "".join(part if k % 2 else _MARKS.sub(r"\\\1", part) for k, part in enumerate(parts))


def paragraphs(text: str) -> str:
    """Return paragraphs; one that begins with "Example: polepiece" is shown as it is typed."""
    shown = []
    for part in re.split(r"\n\s*\n", text.strip()):
        line = " ".join(part.split())
        found = re.match(r"Examples?: (polepiece .*)", line)
        shown.append(f"```text\n{found[1]}\n```" if found else escaped(line))
    return "\n\n".join(shown)
