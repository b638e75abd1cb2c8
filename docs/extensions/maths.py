"""Equations as MathML, made while the site is built: a browser draws them without a script and without a network."""

from typing import Any

from docutils import nodes
from latex2mathml.converter import convert
from sphinx.application import Sphinx
from sphinx.errors import ExtensionError


def mathml(latex: str, *, display: str) -> str:
    """Return an equation as MathML.

    Raises
    ------
    ExtensionError
        When a command of it is not known: it would stand on the page as it was typed.
    """
    try:
        made = convert(latex, display=display)
    except Exception as error:  # its errors have no base of their own
        raise ExtensionError(f"not an equation: {latex!r} ({type(error).__name__})") from error
    if "\\" in made:
        raise ExtensionError(f"a command that is not known in the equation {latex!r}: {made}")
    return str(made)


def _inline(translator: Any, node: nodes.math) -> None:
    translator.body.append(mathml(node.astext(), display="inline"))
    raise nodes.SkipNode


def _block(translator: Any, node: nodes.math_block) -> None:
    translator.body.append(f'<div class="math-block">{mathml(node.astext(), display="block")}</div>\n')
    raise nodes.SkipNode


def setup(app: Sphinx) -> dict[str, Any]:
    """Register the renderer."""
    app.add_html_math_renderer("mathml", (_inline, None), (_block, None))
    return {"parallel_read_safe": True, "parallel_write_safe": True}
