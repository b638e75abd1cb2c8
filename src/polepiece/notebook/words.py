"""Entries of the journal in plain words, one line each."""

from collections.abc import Mapping

from polepiece.notebook.drawer import part_from
from polepiece.notebook.records import Part
from polepiece.notebook.schema import (
    BenchEndRow,
    BenchRow,
    BranchChoiceRow,
    CustomerRow,
    Entry,
    ErasureRow,
    JobCustomerRow,
    JobEventRow,
    JobRow,
    NoteRow,
    PartRow,
    PredictionRow,
    PromiseRow,
    QuoteRow,
    RetirementRow,
    SettingRow,
    SoundRow,
    StateRow,
    StockRow,
)

ACTS = {"entry": "came on record", "record": "recorded", "undo": "undone", "redo": "done again"}
EVENTS = {"plan": "kept a", "choice": "chosen:", "status": "status:", "closed": "closed:"}


def words_of(row: Entry, jobs: Mapping[int, int], benches: Mapping[int, str]) -> str:
    """Return what an entry says, without when, of which guitar and by whom.

    ``jobs`` holds which one each job is, from 1; ``benches`` their names.
    """
    match row:
        case StateRow():
            branch = f", as a branch after state {row.parent_id}" if row.branch else ""
            return f"state {row.id} {ACTS[row.act]}{branch}: {row.why}"
        case BranchChoiceRow():
            return f"gone on from state {row.state_id}: {row.why}"
        case PartRow():
            return f"part {row.id} into the drawer: {part_words(part_from(row.body))}"
        case RetirementRow():
            return f"part {row.part_id} left the drawer: {row.why}"
        case JobRow():
            number = f", number {row.number}" if row.number else ""
            customer = f", for {row.customer}" if row.customer else ""
            limits = f" (must not change: {row.constraints})" if row.constraints.strip() else ""
            return f"job {jobs[row.id]}{number}{customer} taken in: {row.complaints}{limits}"
        case JobEventRow():
            return f"job {jobs[row.job_id]} {EVENTS[row.what]} {row.words}"
        case PredictionRow():
            return f"prediction {row.id} kept for state {row.state_id}: {row.change}"
        case NoteRow():
            figures = "" if row.sort == "note" else f"{row.sort}: "
            return f"{figures}{row.text}"
        case SoundRow():
            return f"sound kept: {row.label} ({row.sha256[:12]})"
        case CustomerRow():
            return f"customer {row.id} on record, agreed on {row.consent_on} to: {row.consent_for}"
        case ErasureRow():
            return f"customer {row.customer_id} erased: {row.why}"
        case JobCustomerRow():
            return f"job {jobs[row.job_id]} is for customer {row.customer_id}"
        case PromiseRow():
            return f"job {jobs[row.job_id]} promised for {row.day}"
        case QuoteRow():
            return f"job {jobs[row.job_id]} quoted: {row.body['total']} {row.body['currency']}"
        case StockRow():
            return f"part {row.part_id}: {row.change:+d}, {row.why}"
        case SettingRow():
            return f"the {row.name} is now " + " ".join(str(one) for one in row.body.values())
        case BenchRow():
            return f"bench {row.name} writes with a token of its own from now on"
        case BenchEndRow():
            return f"bench {benches[row.bench_id]} writes no more: {row.why}"
        case _:
            return row.kind


def part_words(part: Part) -> str:
    """Return a part in one line, what is not known left out."""
    sizes = (part.length_mm, part.width_mm, part.thickness_mm)
    size = " x ".join("?" if one is None else f"{one:g}" for one in sizes) + " mm"
    price = "" if part.price is None else f"{part.price} {part.currency}"
    said = (
        part.kind,
        part.label,
        part.grade or "",
        "" if part.finish == "unknown" else part.finish.replace("-", " "),
        size if any(one is not None for one in sizes) else "",
        "" if part.gauss is None else f"{part.gauss:+g} gauss ({part.gauss_at})",
        "" if part.resistance_kohm is None else f"{part.resistance_kohm:g} kohm",
        "" if part.capacitance_nf is None else f"{part.capacitance_nf:g} nF",
        price,
    )
    return ", ".join(one for one in said if one)
