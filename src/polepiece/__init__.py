"""polepiece: from a complaint about an electric guitar to a computed, audible plan.

>>> from polepiece import read_guitar, predict, parse_changes  # doctest: +SKIP

The verbs below are looked up on first use, so that ``import polepiece`` stays quick. ``strings`` is the package of
string physics; called like a function it is the verb ``polepiece strings`` (``string_readings``).
"""

import importlib
import sys
from types import ModuleType
from typing import TYPE_CHECKING, Any

__version__ = "0.1.0"

if TYPE_CHECKING:
    from polepiece.errors import GuitarFileError, InputError, MeasurementError, PolepieceError
    from polepiece.notebook import open_notebook
    from polepiece.report import guitar_report, work_sheet, worksheet_html, worksheet_pdf
    from polepiece.voicing import (
        Bench,
        apply,
        compare_grades,
        field,
        guitar_schema,
        impedance,
        make_plan,
        parse_change,
        parse_changes,
        parse_complaints,
        parse_constraints,
        parse_guitar,
        pickup_state,
        plan_json,
        read_guitar,
        write_guitar,
    )
    from polepiece.voicing import compare_grades as grades
    from polepiece.voicing import make_plan as plan
    from polepiece.voicing import strings as string_readings
    from polepiece.voicing.auditioning import Audition, audition
    from polepiece.voicing.auditioning import audition as hear
    from polepiece.voicing.predict import predict
    from polepiece.voicing.proof import prove

_VERBS = {
    "polepiece.voicing": {
        name: name
        for name in (
            "Audition", "Bench", "apply", "audition", "compare_grades", "field", "guitar_schema", "impedance",
            "make_plan", "parse_change", "parse_changes", "parse_complaints", "parse_constraints",
            "parse_guitar", "pickup_state", "plan_json", "predict", "prove",
            "read_guitar", "write_guitar",
        )
    }
    | {"hear": "audition", "grades": "compare_grades", "plan": "make_plan", "string_readings": "strings"},
    "polepiece.errors": {n: n for n in ("GuitarFileError", "InputError", "MeasurementError", "PolepieceError")},
    "polepiece.notebook": {"open_notebook": "open_notebook"},
    "polepiece.report": {n: n for n in ("guitar_report", "work_sheet", "worksheet_html", "worksheet_pdf")},
}  # fmt: skip

__all__ = [
    "Audition",
    "Bench",
    "GuitarFileError",
    "InputError",
    "MeasurementError",
    "PolepieceError",
    "apply",
    "audition",
    "compare_grades",
    "field",
    "grades",
    "guitar_report",
    "guitar_schema",
    "hear",
    "impedance",
    "make_plan",
    "open_notebook",
    "parse_change",
    "parse_changes",
    "parse_complaints",
    "parse_constraints",
    "parse_guitar",
    "pickup_state",
    "plan",
    "plan_json",
    "predict",
    "prove",
    "read_guitar",
    "string_readings",
    "work_sheet",
    "worksheet_html",
    "worksheet_pdf",
    "write_guitar",
]


def __getattr__(name: str) -> Any:
    if name == "strings":
        return importlib.import_module("polepiece.strings")
    for module, names in _VERBS.items():
        if name in names:
            value = getattr(importlib.import_module(module), names[name])
            globals()[name] = value
            return value
    raise AttributeError(f"module 'polepiece' has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted({*globals(), *(name for names in _VERBS.values() for name in names), "strings"})


class _StringsPackage(ModuleType):
    """The package ``polepiece.strings``, which can also be called as the verb of that name."""

    def __call__(self, *arguments: Any, **options: Any) -> Any:
        return __getattr__("string_readings")(*arguments, **options)


class _Package(ModuleType):
    """The package itself: makes ``strings`` callable when the import machinery hangs it here."""

    def __setattr__(self, name: str, value: Any) -> None:
        if name == "strings" and isinstance(value, ModuleType):
            value.__class__ = _StringsPackage
        super().__setattr__(name, value)


sys.modules[__name__].__class__ = _Package
