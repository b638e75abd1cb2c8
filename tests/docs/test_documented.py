"""Everything a person can type, press or be told is documented, and everything that is shown is as it is typed.

Each message says which page wants what. The pages of commands and rooms are made from the source, so that an option is
documented by its help; a command, a lever, a page and an exit code want words of their own.
"""

import ast
import re
import shlex
from collections.abc import Callable
from typing import Any

import pytest

import polepiece
from polepiece import errors
from polepiece.app.pages import PAGES
from polepiece.guitar import parse_guitar
from polepiece.moves import LEVERS
from polepiece.planning import FAULTS, WORDS
from polepiece.planning.spoken import RULES
from tests.docs.pages import DOCS, ROOT, Block, blocks, pages, words_of

Tree = Callable[[], list[tuple[tuple[str, ...], Any]]]
SOURCE = ROOT / "src" / "polepiece"
LINK = re.compile(r"!?\[[^\]\n]*\]\((?!https?:|mailto:|#)([^)\s#]*)(?:#[^)\s]*)?\)")
NO_WORK = {"November"}  # words before a year that are no author
FOLDERS = ("tutorial", "how-to", "reference", "explanation", "theory")


def page(name: str) -> str:
    """Return the text of a page of docs/."""
    return (DOCS / name).read_text(encoding="utf-8")


# ------------------------------------------------------------------------------- what there is, is documented


def test_every_option_and_argument_has_a_help_of_words(tree: Tree) -> None:
    mute = [
        f"{' '.join(path)}: {one.opts[-1]}"
        for path, command in tree()
        for one in command.params
        if len((getattr(one, "help", None) or "").split()) < 2
    ]
    assert not mute, f"no help, so that it is not documented (help=... in its typer.Option): {mute}"


def test_every_command_says_what_it_does(tree: Tree) -> None:
    mute = [" ".join(path) for path, command in tree() if len((command.help or "").split()) < 4]
    assert not mute, f"a docstring is what documents it: {mute}"


def test_every_command_is_shown_on_a_page_written_by_hand(tree: Tree) -> None:
    told = "\n".join(words_of(folder) for folder in FOLDERS)
    lost = [
        " ".join(path)
        for path, command in tree()
        if not getattr(command, "commands", {}) and " ".join(path) not in told
    ]
    assert not lost, (
        f"show it where it is used, on a page in docs/how-to (a new page there is taken up by itself): {lost}"
    )


def test_every_lever_stands_in_the_table_of_moves() -> None:
    text = page("reference/changes.md")
    lost = [key for key in LEVERS if f"`{key}`" not in text and not _spanned(key, text)]
    assert not lost, f"a row of docs/reference/changes.md (key, example, what it does): {lost}"


def _spanned(key: str, text: str) -> bool:
    """Tell whether a numbered key lies within "`neck_screw1` to `bridge_screw12`"."""
    order = list(LEVERS)
    spans = re.findall(r"`(\w+\d)` to `(\w+\d)`", text)
    return any(order.index(low) <= order.index(key) <= order.index(high) for low, high in spans)


def test_every_complaint_fault_and_limit_stands_on_the_page_of_words() -> None:
    text = page("reference/complaints.md")
    lost = [
        one.name
        for one in (*(word for word in WORDS if word.kind != "fault"), *FAULTS)
        if f"**{one.name}**" not in text
    ]
    lost += [rule.words for rule in RULES if rule.words.replace("|", "/") not in text]
    assert not lost, f"run scripts/write_complaints_page.py: {lost}"


def test_every_page_of_the_browser_is_told_of() -> None:
    text = page("reference/page.md")
    lost = [one.PAGE.title for one in PAGES if f"| {one.PAGE.title} | `{one.PAGE.path}` |" not in text]
    assert not lost, f"a row of the table in docs/reference/page.md, | title | `path` | what it is for |: {lost}"


def test_every_error_and_exit_code_is_told_of() -> None:
    text = page("reference/messages.md")
    kinds = [
        name
        for name, one in vars(errors).items()
        if isinstance(one, type) and issubclass(one, errors.PolepieceError | Warning)
    ]
    assert len(kinds) >= 10
    lost = [name for name in kinds if f"`{name}`" not in text]
    assert not lost, f"a row of docs/reference/messages.md: {lost}"
    codes = {
        str(code) for path in (SOURCE / "cli").glob("*.py") for code in _exit_codes(ast.parse(path.read_text("utf-8")))
    }
    assert codes >= {"1", "2", "130"}
    assert all(f"| {code} |" in text for code in codes | {"0"}), (codes, "docs/reference/messages.md")


def _exit_codes(tree: ast.Module) -> list[int]:
    """Return the exit codes that a module names: typer.Exit(1), or a constant of the module in its place."""
    named = {
        target.id: one.value.value
        for one in tree.body
        if isinstance(one, ast.Assign) and isinstance(one.value, ast.Constant) and isinstance(one.value.value, int)
        for target in one.targets
        if isinstance(target, ast.Name)
    }
    found = [named[name] for name in ("STOPPED",) if name in named]
    for one in ast.walk(tree):
        if isinstance(one, ast.Call) and ast.unparse(one.func) == "typer.Exit" and one.args:
            given = one.args[0]
            found.append(int(given.value) if isinstance(given, ast.Constant) else int(named[ast.unparse(given)]))  # type: ignore[arg-type]
    return found


def test_every_setting_of_the_environment_is_told_of() -> None:
    named = {one for path in SOURCE.rglob("*.py") for one in re.findall(r"POLEPIECE_[A-Z_]+", path.read_text("utf-8"))}
    assert len(named) >= 5
    text = page("reference/folders.md")
    assert not {one for one in named if f"`{one}`" not in text}, "a row of docs/reference/folders.md"


def test_every_room_has_its_page_of_theory_or_of_reference() -> None:
    told = "\n".join(words_of(folder) for folder in FOLDERS)
    rooms = [path.parent.name for path in SOURCE.glob("*/__init__.py")]
    lost = [room for room in rooms if f"`{room}/" not in told and f"`src/polepiece/{room}/" not in told]
    assert not lost, f"a page that says `{lost[0]}/...` where what it computes is told of: {lost}"


# ------------------------------------------------------------------------------- what is shown, is as it is typed


def shown_commands() -> list[tuple[str, str]]:
    """Return (where, line) of every command line that a page shows."""
    found = []
    for block in blocks():
        if block.language in ("", "text", "console", "sh", "bash"):
            for number, line in enumerate(re.sub(r"\\\n\s*", " ", block.text).splitlines()):
                told = line.removeprefix("$ ").strip()
                if told.startswith("polepiece ") and "COMMAND" not in told:
                    found.append((f"{block.page.relative_to(ROOT)}:{block.line + number}", told))
    return found


def test_every_shown_command_is_as_it_is_typed(tree: Tree) -> None:
    shown = shown_commands()
    assert len(shown) > 60
    root = tree()[0][1]
    wrong = [f"{where}: {line}: {why}" for where, line in shown if (why := refused(root, line))]
    assert not wrong, "\n".join(wrong)


def refused(root: Any, line: str) -> str:
    """Return why a line would not be taken; what it names need not be there."""
    words = shlex.split(line.partition(" > ")[0].partition(" | ")[0], comments=True)[1:]
    command, name = root, "polepiece"
    while getattr(command, "commands", {}):
        if not words:
            return "a command is missing"
        if words[0].startswith("-") and command is root:
            words = words[2:] if words[0] == "--constants" else words[1:]
            if not words:
                return ""
            continue
        name = words.pop(0)
        if name not in command.commands:
            return f"there is no command {name!r}"
        command = command.commands[name]
    options = {key: one for one in command.params for key in (*one.opts, *one.secondary_opts) if key.startswith("-")}
    options |= {"--help": None, "-h": None}
    given, rest = [], list(words)
    while rest:
        word = rest.pop(0)
        key, equals, _ = word.partition("=")
        if word.startswith("-") and not re.fullmatch(r"-\d.*", word):
            if key not in options:
                return f"{name} has no option {key}"
            if options[key] is not None and not options[key].is_flag and not equals:
                if not rest:
                    return f"{key} wants a value"
                rest.pop(0)
        else:
            given.append(word)
    taken = [one for one in command.params if one.param_type_name == "argument"]
    if "--help" in words or "-h" in words:
        return ""
    if len(given) < sum(one.required for one in taken):
        return f"{name} wants {[one.name for one in taken if one.required]}"
    if len(given) > len(taken) and not any(one.nargs < 0 for one in taken):
        return f"{name} takes {len(taken)} words and is given {given}"
    return ""


@pytest.mark.parametrize(
    "line",
    [
        "polepiece nothing",
        "polepiece plan",
        "polepiece check a b",
        "polepiece check a --nothing",
        "polepiece plan a --why",
    ],
)
def test_a_line_that_is_not_as_it_is_typed_is_found(tree: Tree, line: str) -> None:
    assert refused(tree()[0][1], line)


def test_every_link_of_the_papers_leads_to_a_file() -> None:
    """As on a page of the repository itself; the site's own links are followed in test_site.py."""
    lost = []
    for path in pages():
        text = re.sub(r"```.*?```|`[^`\n]*`", "", path.read_text(encoding="utf-8"), flags=re.DOTALL)
        for link in LINK.findall(text):
            there = (path.parent / link).resolve() if not link.startswith("/") else DOCS / link[1:]
            made = re.search(r"docs/(?:reference/(?:commands|rooms)|development)/[\w-]+\.md$", there.as_posix())
            if link and not there.exists() and not made:
                lost.append(f"{path.relative_to(ROOT)}: {link}")
    assert not lost, "\n".join(lost)


def test_every_picture_is_used() -> None:
    told = "\n".join(path.read_text(encoding="utf-8") for path in pages())
    pictures = [one for one in DOCS.rglob("*") if one.suffix in (".png", ".svg", ".jpg", ".webp")]
    assert len(pictures) >= 9
    unused = [
        str(one.relative_to(ROOT))
        for one in pictures
        if f"{one.parent.name}/{one.name}" not in told and f"]({one.name})" not in told
    ]
    assert not unused, f"show it on a page, or delete it: {unused}"


def test_the_version_is_said_once_for_all() -> None:
    project = (ROOT / "pyproject.toml").read_text(encoding="utf-8")
    assert polepiece.__version__ in project or 'dynamic = ["version"]' in project


TOML = [one for one in blocks() if one.language == "toml"]


@pytest.mark.parametrize("block", TOML, ids=lambda one: one.where)
def test_what_is_shown_of_a_guitar_file_can_be_read(block: Block) -> None:
    """As it stands, with the pickups that it names where it shows none."""
    text = block.text
    if "[[pickups]]" not in text:
        named = [one for one in ("neck", "bridge") if f'"{one}' in text]
        built = 'construction = "humbucker"\nmagnet.grade = "alnico-5"\n'
        text += "".join(f'\n[[pickups]]\nname = "{one}"\nposition = "{one}"\n{built}' for one in named)
    assert parse_guitar(text).pickups


def test_every_work_that_a_page_of_theory_names_is_in_the_list() -> None:
    listed = page("references.md")
    work = re.compile(r"\b([A-Z][a-zé]+)(?:, [A-Z][a-z]+)*(?: and [A-Z][a-z]+| et al\.)? (1[89]\d\d|20[0-3]\d)\b")
    pages_of = sorted((DOCS / "theory").glob("*.md"))
    found = {(path.name, *one) for path in pages_of for one in work.findall(path.read_text(encoding="utf-8"))}
    lost = sorted(one for one in found if one[1] not in listed and one[1] not in NO_WORK)
    assert len(found) >= 15 and not lost, f"a row of docs/references.md: {lost}"
