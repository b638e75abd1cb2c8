"""All commands; every one is a file of its own. Errors become exit codes here.

Exit codes: 0 done, 1 the answer is no, 2 bad input, 130 stopped by Ctrl-C.
"""

import errno
from typing import Annotated, Any

import typer
from typer.core import TyperGroup

from polepiece.cli import (
    archive,
    benches,
    check,
    customers,
    demo,
    drawer,
    field,
    grades,
    hear,
    impedance,
    learned,
    log,
    measure,
    measure_plucks,
    new,
    notebook,
    plan,
    pool,
    predict,
    prove,
    serve,
    shop,
    strings,
    sweep,
    trial,
    winding,
    worksheet,
)
from polepiece.errors import PolepieceError


class Commands(TyperGroup):
    """Commands whose errors are one paragraph on stderr."""

    def invoke(self, ctx: Any) -> Any:
        """Run a command; what the caller can mend becomes exit code 2."""
        try:
            return super().invoke(ctx)
        except PolepieceError as error:
            fail(str(error))
        except USAGE as error:
            raise _in_one_paragraph(error) from None
        except OSError as error:
            if error.errno == errno.EPIPE:
                raise
            place = f"{error.filename}: " if error.filename else ""
            fail(f"{place}{error.strerror or error}. Is the disk full, or the folder not yours to write in?")

    def make_context(self, *args: Any, **more: Any) -> Any:
        """Read the options that stand in front of the command."""
        try:
            return super().make_context(*args, **more)
        except USAGE as error:
            raise _in_one_paragraph(error) from None


USAGE: type[Exception] = typer.BadParameter.__mro__[1]  # wrong options of every kind; it has no public name here


def _in_one_paragraph(error: Any) -> Exception:
    """Say what is wrong with the options, as every other error is said; a call for help stays one."""
    if type(error).__name__ == "NoArgsIsHelpError":
        return error  # type: ignore[no-any-return]
    command = error.ctx.command_path if error.ctx is not None else "polepiece"
    words = str(error.format_message()).replace("Value error, ", "").replace("Input should", "it should").rstrip(".")
    end = "" if words.endswith("?") else "."
    typer.echo(f"polepiece: {words}{end} {command} --help shows how it is written.", err=True)
    return typer.Exit(2)


def fail(message: str) -> None:
    """Print one paragraph on stderr and leave with exit code 2."""
    typer.echo(f"polepiece: {message}", err=True)
    raise typer.Exit(2)


app = typer.Typer(
    cls=Commands,
    name="polepiece",
    no_args_is_help=True,
    add_completion=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 110},
    epilog="Begin with: polepiece demo. Every command has --help with an example, and --json.",
)


def _version(wanted: bool) -> None:
    if wanted:
        from polepiece import __version__

        typer.echo(f"polepiece {__version__}")
        raise typer.Exit


@app.callback()
def _main(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Show the version.")
    ] = False,
    constants: Annotated[
        str | None,
        typer.Option(
            "--constants", metavar="WHICH",
            help="published (default), pooled (what `polepiece pool` made of the notebook), or a file of such.",
        ),
    ] = None,
) -> None:  # fmt: skip
    """From a complaint about an electric guitar to a ranked, computed, audible plan for its pickups."""
    pool.use_constants(constants)


for module in (
    demo,
    new,
    check,
    plan,
    predict,
    grades,
    hear,
    prove,
    pool,
    field,
    impedance,
    strings,
    log,
    drawer,
    worksheet,
    sweep,
    serve,
):
    app.command(name=module.NAME)(module.command)
measure.app.command(name="plucks")(measure_plucks.plucks)
measure.app.command(name="transfer")(measure_plucks.transfer)
app.add_typer(measure.app, name=measure.NAME)
app.add_typer(trial.app, name=trial.NAME)
app.add_typer(winding.app, name=winding.NAME)
app.add_typer(notebook.app, name=notebook.NAME)
app.add_typer(learned.app, name=learned.NAME)
app.add_typer(benches.app, name=benches.NAME)
app.add_typer(customers.app, name=customers.NAME)
app.add_typer(shop.app, name=shop.NAME)
app.command(name="export")(archive.export)
app.command(name="import")(archive.import_archive)
