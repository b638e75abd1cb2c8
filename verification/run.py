"""Compute every study and write docs/accuracy.md: ``python -m verification.run [--only NAME] [--renew] [--list]``.

With ``--only`` no page is written, but with ``--renew``: then the studies that are named are made anew on the page, and
the others stay as they were, each marked as not run.

A new study is a function that yields rows, registered with `verification.registry.study`, in a module named below.
The exit code is 1 when a figure falls outside its tolerance.
"""

import argparse
import importlib
import sys
from pathlib import Path

from verification.registry import STUDIES, Row, Study

MODULES = (
    "statics",
    "coils",
    "sizes",
    "constructions",
    "drawn",
    "strings",
    "convergence",
    "measured",
    "other_laws",
    "plucks",
    "learning",
    "pooled",
    "sheets",
    "long_parts",
    "one_pole",
    "string_sets",
    "listeners",
)
PAGE = Path(__file__).parents[1] / "docs" / "accuracy.md"
HEAD = """# How accurate the engine is

Written by `python -m verification.run`; do not edit. Every figure is computed at the resolution that the tool uses
by default and stands beside its reference; PASS and FAIL are computed from the tolerance in the same row, and what
falls short is listed first. The finite-element reference and its own accuracy are described in
`tests/reference/fem/README.md`. A dash means that the figure is stated and not judged.
"""


def percent(value: "float | None") -> str:
    """Return a fraction in per cent."""
    return "" if value is None else f"{100.0 * value:+.2f} %"


def lines_of(study: Study, rows: list[Row]) -> list[str]:
    """Return one study as Markdown."""
    out = [f"## {study.title}", "", study.about, ""]
    out += ["| case | quantity | polepiece | reference | error | tolerance | |", "|---|---|---|---|---|---|---|"]
    for row in rows:
        bound = "" if row.tolerance is None else f"{100.0 * row.tolerance:g} %"
        out.append(
            f"| {row.case} | {row.quantity} | {row.found} | {row.reference} | {percent(row.error)} | {bound} "
            f"| {row.verdict} |"
        )
    return [*out, ""]


def summary(results: "dict[str, list[Row]]") -> list[str]:
    """Return the table of worst errors and the list of what falls short."""
    out = ["| study | figures judged | outside tolerance | largest share of a tolerance |", "|---|---|---|---|"]
    short = []
    for name, rows in results.items():
        judged = [row for row in rows if row.verdict != "-"]
        failed = [row for row in judged if row.verdict == "FAIL"]
        share = max((abs(row.error or 0.0) / (row.tolerance or 1.0) for row in judged), default=0.0)
        out.append(f"| {STUDIES[name].title} | {len(judged)} | {len(failed)} | {100 * share:.0f} % |")
        short += [
            f"- {STUDIES[name].title}: {row.case}, {row.quantity}: {percent(row.error)} against "
            f"{100 * (row.tolerance or 0.0):g} %"
            for row in failed
        ]
    return [*out, "", "## What falls short", "", *(short or ["Nothing."]), ""]


EARLIER = "*Not run with the others: figures of an earlier tree.*"


def body_of(title: str, page: str) -> str:
    """Return a study's part of an earlier page, without its heading; empty where it had none."""
    rest = page.partition(f"\n## {title}\n")[2]
    return rest.partition("\n## ")[0].strip().replace(EARLIER, "").strip()


def kept(title: str, page: str) -> list[str]:
    """Return a study's part of an earlier page, marked as such; nothing where it had none."""
    body = body_of(title, page)
    return [f"## {title}", "", EARLIER, "", body, ""] if body else []


def rows_of(body: str) -> list[Row]:
    """Return the rows of a study's part of a page: what `lines_of` wrote."""

    def fraction(cell: str) -> "float | None":
        return float(cell.removesuffix(" %")) / 100.0 if cell else None

    out = []
    for line in body.splitlines():
        cells = [one.strip() for one in line.strip().removeprefix("| ").removesuffix(" |").split(" | ")]  # |L| is one
        if len(cells) == 7 and cells[6] in ("PASS", "FAIL", "-"):
            case, quantity, found, reference, error, tolerance, _ = cells
            out.append(
                Row(case=case, quantity=quantity, found=found, reference=reference, error=fraction(error),
                    tolerance=fraction(tolerance))
            )  # fmt: skip
    return out


def main(arguments: "list[str] | None" = None) -> int:
    """Run the studies and return the exit code."""
    for module in MODULES:
        importlib.import_module(f"verification.{module}")
    parser = argparse.ArgumentParser(description="Compare the engine with references; write docs/accuracy.md.")
    parser.add_argument("--only", choices=sorted(STUDIES), action="append", help="run this study, write no page")
    parser.add_argument("--renew", action="store_true", help="with --only: renew these studies on the page")
    parser.add_argument("--list", action="store_true", help="name the studies and stop")
    chosen = parser.parse_args(arguments)
    if chosen.list:
        print("\n".join(f"{name}: {item.title}" for name, item in STUDIES.items()))
        return 0
    results: dict[str, list[Row]] = {}
    for name in chosen.only or STUDIES:
        print(f"{name} ...", file=sys.stderr, flush=True)
        results[name] = list(STUDIES[name].compute())
        for row in results[name]:
            figures = f"{row.found} ({row.reference}) {percent(row.error)}"
            print(f"{row.verdict:4s} {name}: {row.case}: {row.quantity}: {figures}")
    if chosen.renew or not chosen.only:
        page = PAGE.read_text() if PAGE.exists() else ""
        earlier = {name: rows_of(body_of(item.title, page)) for name, item in STUDIES.items()}
        known = {name: results.get(name) or earlier[name] for name in STUDIES}
        text = [HEAD, *summary({name: rows for name, rows in known.items() if rows})]
        for name, item in STUDIES.items():
            text += lines_of(item, results[name]) if name in results else kept(item.title, page)
        PAGE.parent.mkdir(exist_ok=True)
        PAGE.write_text("\n".join(text).rstrip() + "\n")
        print(f"wrote {PAGE}", file=sys.stderr)
    return int(any(row.verdict == "FAIL" for rows in results.values() for row in rows))


if __name__ == "__main__":
    sys.exit(main())
