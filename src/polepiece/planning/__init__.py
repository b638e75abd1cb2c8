"""From a complaint in words to a ranked plan."""

from polepiece.planning.answer import Answer, answer_of
from polepiece.planning.answer_rows import AnswerRow, answer_row, cost_of, interval_of
from polepiece.planning.candidates import Candidate, Refusal, tasks_of
from polepiece.planning.cheap_causes import Cause
from polepiece.planning.complaint_word import Word
from polepiece.planning.complaint_words import WORDS
from polepiece.planning.complaints import (
    complaints_of,
    known_words,
    parse_complaint,
    parse_complaints,
    read_complaint,
    read_complaints,
)
from polepiece.planning.constraints import Constraints, bar_name, parse_constraints
from polepiece.planning.drawer_set import RULE as DRAWER_RULE
from polepiece.planning.drawer_set import DrawerSet, Voice, drawer_set
from polepiece.planning.fault import Fault
from polepiece.planning.faults import FAULTS, PHASE
from polepiece.planning.gate import Finding, fault_gate
from polepiece.planning.kept import read_plan
from polepiece.planning.plan import Plan, Row, make_plan, plan_json
from polepiece.planning.record import ONLY_FITTED, Bar, Understood, understood_of
from polepiece.planning.understanding import said_both, understanding
from polepiece.planning.words import hangs_on
