"""From a complaint in words to a ranked plan."""

from polepiece.planning.answer import Answer, AnswerRow, answer_of, answer_row
from polepiece.planning.candidates import Candidate, Refusal, tasks_of
from polepiece.planning.complaint_words import WORDS, Word
from polepiece.planning.complaints import known_words, parse_complaint, parse_complaints
from polepiece.planning.constraints import Constraints, bar_name, parse_constraints
from polepiece.planning.gate import PHASE, Cause, Finding, fault_gate
from polepiece.planning.kept import read_plan
from polepiece.planning.plan import Plan, Row, make_plan, plan_json
from polepiece.planning.record import Bar
from polepiece.planning.words import hangs_on
