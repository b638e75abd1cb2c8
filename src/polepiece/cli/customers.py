"""``polepiece customer``: who a job is for, what was agreed to, and erasing it."""

from datetime import date
from typing import TYPE_CHECKING, Annotated, Any

import typer

from polepiece.cli.console import console, table
from polepiece.cli.envelope import emit, plain_envelope
from polepiece.cli.options import Json, NotebookFile
from polepiece.errors import InputError

if TYPE_CHECKING:
    from polepiece.notebook import CustomerEntry

NAME = "customer"
app = typer.Typer(no_args_is_help=True, rich_markup_mode=None, add_completion=False)
Number = Annotated[int, typer.Argument(metavar="CUSTOMER", help="Number of the customer (polepiece customer list).")]


@app.callback()
def _main() -> None:
    """Keep who a job is for, with what was agreed to; erase it when it is asked for or not needed any more."""


@app.command()
def add(
    name: Annotated[str, typer.Argument(metavar="NAME", help="Can be erased, as contact and note can.")],
    agreed: Annotated[
        str, typer.Option("--agreed", metavar="TEXT", help="What for it may be kept; stays, so no names in it.")
    ],
    contact: Annotated[str, typer.Option("--contact", metavar="TEXT", help="Where the customer is reached.")] = "",
    note: Annotated[str, typer.Option("--note", metavar="TEXT", help="Anything else about the person.")] = "",
    on: Annotated[str | None, typer.Option("--on", metavar="DATE", help="When it was agreed to; today.")] = None,
    notebook: NotebookFile = None,
    json: Json = False,
) -> None:
    """Put a customer on record.

    Example: polepiece customer add "N. Invented" --agreed "to call when the guitar is ready" --contact "+00 123"
    """
    from polepiece.notebook import open_notebook

    with open_notebook(notebook) as book:
        made = book.add_customer(name, agreed=agreed, contact=contact, note=note, on=None if on is None else day_of(on))
    _tell("customer-add", made, f"customer {made.id} is on record: {agreed}, {made.agreed_on}", json=json)


@app.command(name="list")
def list_customers(notebook: NotebookFile = None, json: Json = False) -> None:
    """List the customers.

    Example: polepiece customer list
    """
    from polepiece.notebook import read_notebook

    with read_notebook(notebook) as book:
        found = book.customers()
    if json:
        emit(plain_envelope("customer-list", {"customers": [body_of(one) for one in found]}))
        return
    rows = [
        [str(one.id), one.name or f"erased: {one.why}", one.contact, f"{one.agreed} ({one.agreed_on})",
         ", ".join(map(str, one.jobs))]
        for one in found
    ]  # fmt: skip
    console().print(table("Customers", ("number", "name", "contact", "agreed to", "jobs"), rows, left=5))


@app.command(name="job")
def job_is_for(
    customer: Number,
    job: Annotated[str, typer.Argument(metavar="JOB", help="The shop's own number of the job, or which one it is.")],
    notebook: NotebookFile = None,
    json: Json = False,
) -> None:
    """Say that a job is for this customer.

    Example: polepiece customer job 12 31
    """
    from polepiece.notebook import open_notebook

    with open_notebook(notebook) as book:
        found = book.job_is_for(book.find_job(job).id, customer)
    _tell("customer-job", found, f"job {job} is for customer {customer}", json=json)


@app.command()
def erase(
    customer: Number,
    why: Annotated[str, typer.Option("--why", metavar="TEXT", help="Why, for the history; no names.")],
    notebook: NotebookFile = None,
    json: Json = False,
) -> None:
    """Erase name, contact and note of a customer for good; jobs and the history stay, and the chain stays whole.

    Copies made before still hold them; they are listed.

    Example: polepiece customer erase 12 --why "asked for it"
    """
    from polepiece.notebook import backups_of, open_notebook

    with open_notebook(notebook) as book:
        found = book.erase_customer(customer, why)
        copies = [str(one) for one in backups_of(book.path)]
    words = f"customer {customer} is erased. "
    if copies:
        words += "Copies that may still hold the name: " + ", ".join(copies) + ". "
    words += "So may copies that you made elsewhere; archives hold no customers."
    _tell("customer-erase", found, words, json=json, copies=copies)


def _tell(schema: str, customer: "CustomerEntry", words: str, *, json: bool, **more: Any) -> None:
    if json:
        emit(plain_envelope(schema, {"customer": body_of(customer), **more}))
    else:
        typer.echo(words)


def day_of(text: str) -> date:
    """Read a day."""
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise InputError(f"{text!r} is not a date; write 2026-03-03.") from None


def body_of(customer: "CustomerEntry") -> dict[str, Any]:
    """Return a customer as JSON values."""
    return {
        "id": customer.id, "uuid": customer.uuid, "name": customer.name, "contact": customer.contact,
        "note": customer.note, "agreed": customer.agreed, "agreed_on": customer.agreed_on.isoformat(),
        "jobs": list(customer.jobs), "why": customer.why,
        "erased": None if customer.erased is None else customer.erased.isoformat(),
    }  # fmt: skip
