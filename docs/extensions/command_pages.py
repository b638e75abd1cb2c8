"""One page a command, from the tree of commands itself: usage, what it does, an example, arguments and options."""

from collections.abc import Iterator
from typing import Any, Literal, get_args, get_origin

from plain import escaped, paragraphs
from typer.main import get_command

from polepiece.cli.commands import app

INDEX = """# Commands

Made from the commands themselves each time this site is built; `polepiece COMMAND --help` prints the same. Before the
command may stand

{own}

{commands}

```{{toctree}}
:hidden:

{names}
```
"""


def command_pages() -> dict[str, str]:
    """Return the pages by the name of their file: the tool itself, then each command with its subcommands."""
    root = get_command(app)
    names = list(root.commands)  # type: ignore[attr-defined]
    return {
        "index.md": INDEX.format(own=_options(root), commands=_list_of(root), names="\n".join(names)),
        **{
            f"{name}.md": "\n".join(
                _section(command, path, level=len(path) - 1)
                for path, command in walk(root.commands[name], ("polepiece", name))  # type: ignore[attr-defined]
            )
            for name in names
        },
    }


def walk(command: Any, path: tuple[str, ...]) -> Iterator[tuple[tuple[str, ...], Any]]:
    """Yield a command and all below it, each with the words that call it."""
    yield path, command
    for name, below in getattr(command, "commands", {}).items():
        yield from walk(below, (*path, name))


def _list_of(root: Any) -> str:
    told = ((name, escaped(one.get_short_help_str(200))) for name, one in root.commands.items())
    return "\n".join(f"- [`{name}`]({name}.md): {words}" for name, words in told)


def _section(command: Any, path: tuple[str, ...], *, level: int) -> str:
    given = [one for one in command.params if one.param_type_name == "argument"]
    words = " ".join(path)
    usage = " ".join([words, *(["[OPTIONS]"] if len(given) < len(command.params) else []), *map(_usage, given)])
    if getattr(command, "commands", {}):
        usage += " COMMAND ..."
    parts = [f"{'#' * level} {words}", f"```text\n{usage}\n```", paragraphs(command.help or "")]
    parts += ["\n".join(_line(f"`{_metavar(one)}`", one) for one in given), _options(command)]
    return "\n\n".join(part for part in parts if part) + "\n"


def _options(command: Any) -> str:
    return "\n".join(_line(_names(one), one) for one in command.params if one.param_type_name == "option")


def _usage(argument: Any) -> str:
    name = _metavar(argument)
    name = f"{name}..." if argument.nargs != 1 else name
    return name if argument.required else f"[{name}]"


def _metavar(one: Any) -> str:
    kind = one.type_descriptor.annotation
    choices = get_args(kind) if get_origin(kind) is Literal else ()
    return str(one.metavar or "|".join(choices) or one.name.upper())


def _names(option: Any) -> str:
    value = "" if option.is_flag else f" {_metavar(option)}"
    return ", ".join(f"`{name}{value}`" for name in (*option.opts, *option.secondary_opts))


def _line(names: str, one: Any) -> str:
    notes = []
    if one.param_type_name == "option" and one.required:
        notes.append("needed")
    several = one.multiple if one.param_type_name == "option" else one.nargs != 1
    if several and "repeatable" not in (one.help or ""):
        notes.append("repeatable")
    if type(one.default) in (int, float, str) and one.default != "":
        notes.append(f"`{one.default}` where not given")
    return f"- {names}: {escaped(one.help or '')}" + (f" ({'; '.join(notes)})" if notes else "")
