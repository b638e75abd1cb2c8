"""polepiece: from a complaint about an electric guitar to a computed, audible plan.

>>> from polepiece import read_guitar, predict, parse_changes  # doctest: +SKIP

Every verb below is looked up on first use, so that ``import polepiece`` stays quick.
"""

import importlib
from typing import TYPE_CHECKING, Any

__version__ = "0.2.0"

if TYPE_CHECKING:
    from polepiece.auditioning import Audition as Audition
    from polepiece.auditioning import audition as audition
    from polepiece.auditioning import audition as hear  # noqa: F401
    from polepiece.bench import Bench as Bench
    from polepiece.bench import compare_grades as compare_grades
    from polepiece.bench import compare_grades as grades  # noqa: F401
    from polepiece.bench import field as field
    from polepiece.bench import impedance as impedance
    from polepiece.bench import pickup_state as pickup_state
    from polepiece.bench import strings as string_readings  # noqa: F401
    from polepiece.bench.predict import predict as predict
    from polepiece.errors import GuitarFileError as GuitarFileError
    from polepiece.errors import InputError as InputError
    from polepiece.errors import MeasurementError as MeasurementError
    from polepiece.errors import PolepieceError as PolepieceError
    from polepiece.evidence import prove as prove
    from polepiece.guitar import guitar_schema as guitar_schema
    from polepiece.guitar import parse_guitar as parse_guitar
    from polepiece.guitar import positions_of as positions_of
    from polepiece.guitar import read_guitar as read_guitar
    from polepiece.guitar import write_guitar as write_guitar
    from polepiece.moves import apply as apply
    from polepiece.moves import parse_change as parse_change
    from polepiece.moves import parse_changes as parse_changes
    from polepiece.moves import positions_moved as positions_moved
    from polepiece.notebook import open_notebook as open_notebook
    from polepiece.planning import make_plan as make_plan
    from polepiece.planning import make_plan as plan  # noqa: F401
    from polepiece.planning import parse_complaints as parse_complaints
    from polepiece.planning import parse_constraints as parse_constraints
    from polepiece.planning import plan_json as plan_json
    from polepiece.report import guitar_report as guitar_report
    from polepiece.report import work_sheet as work_sheet
    from polepiece.report import worksheet_html as worksheet_html
    from polepiece.report import worksheet_pdf as worksheet_pdf

_ROOMS = {
    "errors": ("GuitarFileError", "InputError", "MeasurementError", "PolepieceError"),
    "guitar": ("guitar_schema", "parse_guitar", "positions_of", "read_guitar", "write_guitar"),
    "moves": ("apply", "parse_change", "parse_changes", "positions_moved"),
    "bench": ("Bench", "compare_grades", "field", "impedance", "pickup_state", "predict"),
    "evidence": ("prove",),
    "planning": ("make_plan", "parse_complaints", "parse_constraints", "plan_json"),
    "auditioning": ("Audition", "audition"),
    "notebook": ("open_notebook",),
    "report": ("guitar_report", "work_sheet", "worksheet_html", "worksheet_pdf"),
}
_OTHER_NAMES = {  # a verb as the command line has it: where it is, and its name there
    "grades": ("bench", "compare_grades"),
    "hear": ("auditioning", "audition"),
    "plan": ("planning", "make_plan"),
    "string_readings": ("bench", "strings"),
}
_PLACES = {name: (room, name) for room, names in _ROOMS.items() for name in names} | _OTHER_NAMES

__all__ = sorted(_PLACES)  # noqa: PLE0605


def __getattr__(name: str) -> Any:
    if name not in _PLACES:
        raise AttributeError(f"module 'polepiece' has no attribute {name!r}")
    room, there = _PLACES[name]
    globals()[name] = value = getattr(importlib.import_module(f"polepiece.{room}"), there)
    return value


def __dir__() -> list[str]:
    return sorted({*globals(), *_PLACES})
