"""What a plan is: rows with everything a bench asks of them, bars to have, and the same as JSON values."""

from collections.abc import Iterable
from dataclasses import asdict, dataclass, field

from polepiece.bench import HEARD_WORDS, nested
from polepiece.guitar import Complaint
from polepiece.planning.candidates import Refusal
from polepiece.planning.cheap_causes import Cause
from polepiece.planning.gate import Finding
from polepiece.planning.positions import Position
from polepiece.planning.spoken import LimitsRead, Reading

Numbers = dict[str, float]
Interval = dict[str, tuple[float, float]]


@dataclass(frozen=True, kw_only=True)
class Row:
    """One change with everything a bench asks of it; rank 1 is tried first."""

    rank: int
    complaint: str
    change: tuple[str, ...]
    also: tuple[str, tuple[str, ...]] | None  # another pickup and what is done there
    kind: str
    pickup: str
    direction: str
    to: str
    then: str | None  # height move beside a bar, to get the old level back
    use: str  # "" for a move; "as it is" or "re-set" for a bar
    free: bool
    reversible: bool
    effect: Numbers  # after minus before at the same gap, by dotted key
    effect_at_old_level: Numbers | None  # bars: gap re-set; moves: None
    interval: Interval  # 90 % of ``effect``; empty for rows that are not shown
    interval_at_old_level: Interval
    better: tuple[str, ...]
    worse: tuple[str, ...]
    unchanged: tuple[str, ...]
    strings: tuple[int, ...]
    likely_heard: str
    threshold: float
    threshold_unit: str
    threshold_source: str
    fit: str
    minutes: int
    cost: str
    way_back: str
    risk: str
    why: str
    hangs_on: str | None
    settle: str | None
    score: float
    decides: str | None  # the quantity behind likely_heard
    other_positions: tuple[Position, ...] = ()  # both on, split; empty for rows that are not shown
    position: str = ""  # of the switch, in which it is judged
    heard_in: tuple[str, ...] = ()  # positions of the switch that it moves; empty where there is one, or not shown
    done: str = ""  # by hand, for one row: "neck pickup, bass side down 0.8 mm"
    done_in_full: str = ""  # the same in a sentence, with the gaps before and after
    heard: str = ""  # likely, maybe, hardly, no (`bench.heard_scale`)
    moved: Numbers = field(default_factory=dict)  # every quantity in its unit, as the row is judged
    loses: tuple[str, ...] = ()  # what gets worse that is no quantity of sound: a control that is gone, hum, balance
    parted: str = ""  # where the trade says something that was not found here

    @property
    def moves(self) -> tuple[str, ...]:
        """What is done on its pickup, the height move beside a bar included."""
        return self.change if self.then is None else (*self.change, self.then)


@dataclass(frozen=True, kw_only=True)
class Bar:
    """A bar to have on the bench, and its place in the order of trying."""

    order: int
    pickup: str
    grade: str
    change: tuple[str, ...]
    then: str | None
    score: float
    why: str
    heard: str = ""  # likely, maybe, hardly, no; what is not heard is to be tried on a bench, and no advice

    @property
    def heard_words(self) -> str:
        """That it is not heard, after a comma; nothing for one that is."""
        return f", {HEARD_WORDS[self.heard]}" if self.heard in ("hardly", "no") else ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Understood:
    """One sentence of the person who asks: what was understood of it, and what was not used."""

    text: str
    understood: tuple[str, ...] = ()
    not_used: tuple[str, ...] = ()

    @property
    def words(self) -> str:
        """It in one line."""
        left = f"; not used: {', '.join(self.not_used)}" if self.not_used else ""
        return f"understood: {'; '.join(self.understood) or 'nothing'}{left}"


def understood_of(readings: Iterable[Reading | LimitsRead]) -> tuple[Understood, ...]:
    """Return the records of what was read."""
    return tuple(Understood(text=one.text, understood=one.understood, not_used=one.not_used) for one in readings)


@dataclass(frozen=True, kw_only=True)
class Plan:
    """The answer to complaints; with ``verdict`` "repair-first" there is no row but a phase cure."""

    verdict: str  # "plan" or "repair-first"
    complaints: tuple[Complaint, ...]
    repair_first: tuple[Finding, ...]
    cheap_causes: tuple[Cause, ...]
    advice: tuple[str, ...]  # first free move in words, and what is not computed
    constraints: tuple[str, ...]
    rows: tuple[Row, ...]
    rest: tuple[Row, ...]  # everything else that helps, without intervals
    refused: tuple[Refusal, ...]
    bars_to_have: tuple[Bar, ...]
    considered: int
    few: str = ""  # why fewer rows than usual are shown; empty where there are enough
    said: tuple[Understood, ...] = ()  # what was typed, what was understood of it, and what was not used
    parted: tuple[str, ...] = ()  # first moves of a bench that do not help here

    @property
    def bars_advised(self) -> tuple[Bar, ...]:
        """The bars to have that are heard: advice."""
        return tuple(one for one in self.bars_to_have if not one.heard_words)

    @property
    def bars_only_fitted(self) -> tuple[Bar, ...]:
        """The bars to have that benches fit and that are hardly heard or not: nobody opens a pickup for one alone."""
        return tuple(one for one in self.bars_to_have if one.heard_words)


ONLY_FITTED = "Benches fit these too; as computed nobody opens it for one alone"
"""What is said of bars that are in the list by practice and are not heard."""


def plan_json(plan: Plan, *, everything: bool = False) -> dict[str, object]:
    """Return a plan as plain JSON values; with ``everything`` the rows that are not shown come under "rest"."""
    body: dict[str, object] = {
        "verdict": plan.verdict,
        "complaints": [
            {"word": c.word, "pickup": c.pickup, "strength": c.strength, "position": c.position}
            for c in plan.complaints
        ],
        "repair_first": [asdict(one) for one in plan.repair_first],
        "cheap_causes": [asdict(one) for one in plan.cheap_causes],
        "advice": list(plan.advice),
        "constraints": list(plan.constraints),
        "rows": [row_json(one) for one in plan.rows],
        "refused": [{**asdict(one), "change": list(one.change)} for one in plan.refused],
        "bars_to_have": [{**asdict(one), "change": list(one.change)} for one in plan.bars_to_have],
        "considered": plan.considered,
        "few": plan.few or None,
        "said": [
            {**asdict(one), "understood": list(one.understood), "not_used": list(one.not_used)} for one in plan.said
        ],
        "parted": list(plan.parted),
    }
    if everything:
        body["rest"] = [row_json(one) for one in plan.rest]
    return body


def row_json(row: Row) -> dict[str, object]:
    """Return one row as plain JSON values: effects nested as in a prediction, intervals by dotted key."""
    body = asdict(row)
    for key in ("effect", "effect_at_old_level"):
        effect = body[key]
        body[key] = None if effect is None else nested(effect)
    for key in ("interval", "interval_at_old_level"):
        body[key] = {name: list(pair) for name, pair in body[key].items()}
    for key in ("change", "better", "worse", "unchanged", "strings", "heard_in", "loses"):
        body[key] = list(body[key])
    body["also"] = None if row.also is None else {"pickup": row.also[0], "change": list(row.also[1])}
    body["other_positions"] = [
        {**asdict(one), "pickups": list(one.pickups), "difference": nested(dict(one.difference))}
        for one in row.other_positions
    ]
    body["threshold_db"] = row.threshold if row.threshold_unit == "dB" else None
    return body
