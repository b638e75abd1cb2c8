"""The bars to try in one opening, and their order: the safest first.

Order: what fits without a question before what has to be measured, alnico before ferrite where alnico sat, the
smaller step of level first. So the first bar cannot do much harm, and the last one is tried with practised hands.
"""

from collections.abc import Iterable

from polepiece.bench import Bench, pole_tops
from polepiece.errors import InputError
from polepiece.moves import BarFit, Change, apply, bar_fit, parse_change
from polepiece.planning import bar_name
from polepiece.report.worksheet.facts import Facts
from polepiece.report.worksheet.readings import middle_gauss
from polepiece.report.worksheet.record import BarTrial

_FIT_ORDER = ("fits", "shim", "measure first", "too large")


def chosen_bar(facts: Facts) -> Change | None:
    """Return the change that puts another bar in, or None."""
    return next((one for one in facts.changes if one.key in ("magnet", "finish")), None)


def fit_of(facts: Facts, size: tuple[float, float, float] | None) -> BarFit | None:
    """Return the fit of the bar that goes in, or None where none does."""
    if not facts.new_bar:
        return None
    magnet = facts.pickup_after.magnet
    return bar_fit(facts.guitar, facts.pickup.name, magnet.grade, finish=magnet.finish, size=size)


def trials(
    facts: Facts, bars: Iterable[str], *, draws: int, bench: Bench, size: tuple[float, float, float] | None
) -> tuple[BarTrial, ...]:
    """Return the bars in the order of trying; ``bars`` are grades, "alnico-5-rough-cast" for that finish.

    Raises
    ------
    InputError
        When bars are named for a job in which no bar goes in, or one is not known.
    """
    names = list(bars)
    own = chosen_bar(facts)
    if own is None:
        if names:
            raise InputError(
                f"bars to try are {', '.join(names)}, but no bar goes in with "
                f"{', '.join(one.text for one in facts.changes)}; leave them out or add magnet=..."
            )
        return ()
    moves = {_named(facts, own): own}
    for name in names:
        change = parse_change(f"magnet={name}")
        moves.setdefault(_named(facts, change), change)
    here = facts.pickup.magnet
    moves = {name: one for name, one in moves.items() if name != bar_slug(here.grade, here.finish)}
    others = [one for one in facts.changes if one is not own and one.key not in ("magnet", "finish")]
    after = {name: apply(facts.guitar, facts.pickup.name, [one, *others]) for name, one in moves.items()}
    spans = bench.intervals(facts.guitar, after, facts.pickup.name, count=draws)
    found = []
    for name, change in moves.items():
        pickup = after[name].pickup(facts.pickup.name)
        fit = bar_fit(
            facts.guitar, facts.pickup.name, pickup.magnet.grade, finish=pickup.magnet.finish,
            size=size if change is own else None,
        )  # fmt: skip
        level = bench.level(after[name], pickup.name) - facts.found.before.level_db
        found.append(
            BarTrial(
                order=0, name=name, chosen=change is own, level_db=level, interval=spans[name]["level_db"],
                reset=_reset(facts, bench, after[name], level), fit=fit, why=_why(fit, facts, level),
                pole_gauss=middle_gauss(pole_tops(after[name], pickup.name, draws=8, bench=bench)),
            )
        )  # fmt: skip
    found.sort(key=lambda one: (_FIT_ORDER.index(one.fit.verdict), _other_family(one.fit, facts), abs(one.level_db)))
    return tuple(
        BarTrial(
            order=k, name=one.name, chosen=one.chosen, level_db=one.level_db, interval=one.interval, reset=one.reset,
            fit=one.fit, why=one.why, pole_gauss=one.pole_gauss,
        )
        for k, one in enumerate(found, start=1)
    )  # fmt: skip


def _named(facts: Facts, change: Change) -> str:
    if change.key == "finish":
        return bar_slug(facts.pickup.magnet.grade, change.value)
    return bar_name(change)


def bar_slug(grade: str, finish: str) -> str:
    """Return how a bar is called in a change: its grade, and "-rough-cast" for that finish."""
    return f"{grade}-rough-cast" if finish == "rough-cast" else grade


def _other_family(fit: BarFit, facts: Facts) -> bool:
    return fit.grade.startswith("ceramic") and not facts.pickup.magnet.grade.startswith("ceramic")


def _reset(facts: Facts, bench: Bench, guitar: object, level: float) -> str:
    if abs(level) < 0.05:
        return "none"
    _, moved = bench.regap(facts.found.before, guitar, facts.pickup.name)  # type: ignore[arg-type]
    if abs(moved) < 0.05e-3:
        return "none"
    return f"{'lower' if moved > 0 else 'raise'} {abs(moved) * 1e3:.1f} mm"


def _why(fit: BarFit, facts: Facts, level: float) -> str:
    step = "small step" if abs(level) < 1.0 else "clear step" if abs(level) < 2.5 else "large step"
    family = "; ferrite where alnico sat: often too thick, turns hard" if _other_family(fit, facts) else ""
    return f"{step} of level{family}"
