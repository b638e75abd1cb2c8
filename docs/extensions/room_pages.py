"""One page a room: what its front door hands out, with signatures and docstrings as they stand in the source.

Docstrings here are plain text with equations in it (|Z|, a * b), no markup: the usual tool for such pages reads them as
reStructuredText, finds a hundred errors and takes 30 s of processor for what takes 3 here. What a docstring says is
shown letter by letter, wrapped on a narrow screen.
"""

import importlib
import inspect
import pkgutil
import re
import typing
from types import ModuleType
from typing import Any

from plain import escaped

import polepiece

NO_DOORS = ("app", "cli")  # the page and the command line: nothing to call
ORPHAN = (
    "---\norphan: true\n---\n\n"  # not in the list beside every page: the hundreds of names would be copied into each
)
INDEX = """# Python

What each room hands out at its front door, made from the source each time this site is built. `polepiece` itself is
where to begin; [Architecture](../../development/architecture.md) says which room does what. SI units, unless a name
wears another.

"""


def room_pages() -> dict[str, str]:
    """Return the pages by the name of their file, the package itself first."""
    names = [one.name for one in pkgutil.iter_modules(polepiece.__path__) if one.ispkg and one.name not in NO_DOORS]
    rooms = [polepiece, *(importlib.import_module(f"polepiece.{name}") for name in ("errors", *names))]
    pages = {f"{_short(room)}.md": ORPHAN + room_page(room) for room in rooms}
    return {"index.md": INDEX + "\n".join(map(_in_one_line, rooms)) + "\n", **pages}


def _short(room: ModuleType) -> str:
    return room.__name__.rpartition(".")[2]


def _in_one_line(room: ModuleType) -> str:
    first = (room.__doc__ or "").partition("\n")[0]
    return f"- [`{room.__name__}`]({_short(room)}.md): {escaped(first)}"


def names_of(room: ModuleType) -> list[str]:
    """Return what a front door hands out."""
    names = getattr(room, "__all__", None) or [name for name in vars(room) if not name.startswith("_")]
    here = [name for name in names if _is_ours(getattr(room, name))]
    return sorted(here, key=lambda name: (name.lower(), name))


def _is_ours(thing: Any) -> bool:
    if inspect.ismodule(thing) or thing is Any:
        return False
    return str(getattr(thing, "__module__", "polepiece")).startswith(("polepiece", "typing"))


def room_page(room: ModuleType) -> str:
    """Return the page of a room."""
    head = [f"# {room.__name__}", _text(inspect.getdoc(room) or "")]
    return "\n\n".join([*head, *(_entry(room, name) for name in names_of(room))]) + "\n"


def _entry(room: ModuleType, name: str) -> str:
    thing = getattr(room, name)
    whole = getattr(thing, "__module__", room.__name__)
    if inspect.isclass(thing):
        parts = [f"## {name}", _signature(thing, f"class {name}"), _text(_own_doc(thing))]
        parts += [_member(thing, key) for key in _methods(thing)]
    elif callable(thing) and hasattr(thing, "__name__"):
        parts = [f"## {name}", _signature(thing, f"def {name}"), _text(inspect.getdoc(thing) or "")]
    else:
        return f"## {name}\n\n{_value(thing)}"
    return "\n\n".join(part for part in [*parts, f"Defined in `{whole}`."] if part)


def _own_doc(thing: type) -> str:
    doc = inspect.cleandoc(thing.__doc__ or "")
    return "" if doc.startswith(f"{thing.__name__}(") else doc  # what `dataclass` writes where nothing was written


def _methods(thing: type) -> list[str]:
    return [
        key
        for key, value in vars(thing).items()
        if not key.startswith("_")
        and (inspect.isfunction(value) or isinstance(value, property | classmethod | staticmethod))
        and (value.__doc__ or "").strip()
    ]


def _member(thing: type, key: str) -> str:
    value = vars(thing)[key]
    if isinstance(value, property):
        return f"`{key}`\n: {escaped(inspect.cleandoc(value.__doc__ or ''))}"
    function = getattr(value, "__func__", value)
    return f"`{key}{_arguments(function)}`\n: {escaped(inspect.cleandoc(function.__doc__ or ''))}"


def _arguments(thing: Any) -> str:
    try:
        found = inspect.signature(thing)
    except (TypeError, ValueError):
        return "(...)"
    plain = [
        one.replace(default=inspect.Parameter.empty if one.default is one.empty else _Shown(one.default))
        for one in found.parameters.values()
    ]
    text = str(found.replace(parameters=plain))
    text = re.sub(
        r"(?:numpy\.)?ndarray\[tuple\[(?:typing\.)?Any, \.\.\.\], (?:numpy\.)?dtype\[(?:numpy\.)?(\w+)\]\]",
        r"ndarray[\1]",
        text,
    )
    text = re.sub(r"\bForwardRef\('([^']+)'\)|<class '([^']+)'>", r"\1\2", text)
    return re.sub(r"\b(?:polepiece|numpy|collections|pathlib|typing|_?abc|decimal)(?:\.\w+)*\.(?=\w)", "", text)


class _Shown:
    """A default as it is shown: short, without an address in memory."""

    def __init__(self, value: Any) -> None:
        text = repr(value)
        self.text = "..." if " at 0x" in text or len(text) > 40 or "\n" in text else text

    def __repr__(self) -> str:
        return self.text


def _signature(thing: Any, head: str) -> str:
    text = head + _arguments(thing)
    if len(text) > 100:
        text = re.sub(r"(?<=[(,]) ?(?=[*\w]+: |\*,)", "\n    ", text)
    return f"```python\n{text}\n```"


def _value(thing: Any) -> str:
    if typing.get_origin(thing) is not None:
        return f"One of: {escaped(str(thing).replace('typing.', ''))}"
    text = " ".join(repr(thing).split())
    shown = text if len(text) <= 200 and " at 0x" not in text else f"a {type(thing).__name__} of {_size(thing)}"
    return f"`{shown.replace('`', '')}`"


def _size(thing: Any) -> str:
    return str(len(thing)) if hasattr(thing, "__len__") else "one value"


def _text(doc: str) -> str:
    """Return a docstring: its first paragraph as words, the rest letter by letter."""
    first, _, rest = inspect.cleandoc(doc).partition("\n\n")
    if not rest.strip():
        return escaped(first)
    return f"{escaped(first)}\n\n````{{container}} docstring\n```text\n{rest.rstrip()}\n```\n````"
