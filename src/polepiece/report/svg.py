"""Small pieces of SVG as text; colours come from the page's style sheet through classes."""

from collections.abc import Iterable
from html import escape


def number(value: float) -> str:
    """Return a coordinate, short."""
    return f"{value:.2f}".rstrip("0").rstrip(".") if "." in f"{value:.2f}" else f"{value:.2f}"


def tag(name: str, text: str = "", **attributes: "str | float") -> str:
    """Return an element; ``cls`` is its class, underscores in names become hyphens, ``text`` is escaped."""
    return element(name, [escape(text)] if text else [], **attributes)


def element(name: str, children: Iterable[str], **attributes: "str | float") -> str:
    """Return an element around finished children."""
    words = []
    for key, value in attributes.items():
        shown = number(value) if isinstance(value, float) else escape(str(value), quote=True)
        words.append(f'{"class" if key == "cls" else key.replace("_", "-")}="{shown}"')
    inside = "".join(children)
    return f"<{' '.join([name, *words])}>{inside}</{name}>" if inside else f"<{' '.join([name, *words])}/>"


def rectangle(x: float, y: float, width: float, height: float, cls: str, radius: float = 0.0) -> str:
    """Return a rectangle."""
    return tag("rect", x=float(x), y=float(y), width=float(width), height=float(height), cls=cls, rx=float(radius))


def line(x1: float, y1: float, x2: float, y2: float, cls: str) -> str:
    """Return a line."""
    return tag("line", x1=float(x1), y1=float(y1), x2=float(x2), y2=float(y2), cls=cls)


def label(x: float, y: float, text: str, cls: str, anchor: str = "middle") -> str:
    """Return a text."""
    return tag("text", text, x=float(x), y=float(y), cls=cls, text_anchor=anchor)
