"""Links from a page to a file of the repository: a paper at its root has a page here, anything else is named as code.

On a page of the repository such a link opens the file; a site alone does not have it. That the file is there is held by
`tests/docs/test_links.py`.
"""

import re
from typing import Any

from papers import PAPERS
from sphinx.application import Sphinx

OUTSIDE = re.compile(r"\[([^\]\n]+)\]\(((?:\.\./)+)([^)\s#]+)(#[^)\s]*)?\)")


def setup(app: Sphinx) -> dict[str, Any]:
    """Rewrite each page as it is read."""
    app.connect("source-read", _read)
    return {"parallel_read_safe": True, "parallel_write_safe": True}


def _read(_app: Sphinx, docname: str, source: list[str]) -> None:
    depth = docname.count("/") + 1  # as many steps up lead from the page out of docs/

    def rewritten(found: re.Match[str]) -> str:
        words, steps, path, anchor = found.groups()
        if steps.count("/") < depth:
            return found[0]
        if path in PAPERS:
            return f"[{words}](/development/{PAPERS[path]}.md{anchor or ''})"
        return f"{words} (`{path}`)" if words.strip("`") != path else f"`{path}`"

    source[0] = OUTSIDE.sub(rewritten, source[0])
