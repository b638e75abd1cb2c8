"""A listening trial in words: what is asked, what an end says; its raw answers as a table. For terminal and page."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict
from typing import Any

from polepiece.errors import InputError, MeasurementError
from polepiece.measure.estimate import Estimate
from polepiece.measure.listening.blind import ANSWERS, SLOTS, BlindTrial
from polepiece.measure.listening.bradley_terry import WEAK_SD
from polepiece.measure.listening.preference import CHOICES, PreferenceTrial
from polepiece.measure.listening.threshold import BUTTONS, ThresholdTrial

Trial = BlindTrial | PreferenceTrial | ThresholdTrial
LISTENING_CAUTION = (
    "Headphones, a quiet room, the playback level turned down first. Rest your ears every ten minutes; stop when it "
    "is too loud or tires you."
)


def trial_reader(schema: object) -> "Callable[[Mapping[str, Any]], Trial]":
    """Return what reads a record of this schema.

    Raises
    ------
    MeasurementError
        When it is of no listening trial.
    """
    for kind, stem in ((BlindTrial, "blind-trial"), (PreferenceTrial, "preference"), (ThresholdTrial, "threshold")):
        if str(schema).startswith(f"polepiece/{stem}/"):
            return kind.from_dict
    raise MeasurementError(f"the record is a {schema!r:.60}; a listening trial of polepiece is read.")


def trial_slots(trial: Trial) -> tuple[str, ...]:
    """Return the buttons of a trial."""
    if isinstance(trial, BlindTrial):
        return SLOTS[trial.plan.kind]
    return CHOICES if isinstance(trial, PreferenceTrial) else BUTTONS


def trial_answers(trial: Trial) -> tuple[str, ...]:
    """Return what can be answered."""
    return ANSWERS[trial.plan.kind] if isinstance(trial, BlindTrial) else trial_slots(trial)


def trial_question(trial: Trial) -> str:
    """Return what is asked, short."""
    if isinstance(trial, BlindTrial):
        return trial.question
    if isinstance(trial, PreferenceTrial):
        return trial.plan.question
    return "Two of the three are the same. Which one is not?"


def result_of(trial: Trial) -> tuple[list[str], dict[str, Any]]:
    """Return the lines for a person, and the result as plain values.

    Raises
    ------
    InputError
        Before the end; and when a staircase bounds nothing.
    """
    if isinstance(trial, BlindTrial):
        return _blind(trial)
    if isinstance(trial, PreferenceTrial):
        return _preference(trial)
    found = trial.outcome()
    name = trial.plan.quantity
    lines = [
        f"The least difference of {name} that you hear on this gear: {_number(found)} {found.unit} "
        f"(90 % {found.low:.2g} to {found.high:.2g}), heard in half of the trials beyond guessing; "
        f"{len(trial.answers)} answers.",
        "It is of this listener, this gear, this phrase and this day.",
    ]
    return lines, {"quantity": name, "least": asdict(found), "answers": len(trial.answers)}


def _number(one: Estimate) -> str:
    return f"{one.value:.2g}"


def _percent(one: Estimate) -> str:
    return f"{100 * one.value:.0f} % (90 % {100 * one.low:.0f} to {100 * one.high:.0f})"


def _blind(trial: Any) -> tuple[list[str], dict[str, Any]]:
    out, plan = trial.outcome(), trial.plan
    sure = "It was heard" if out.heard else "It was not shown to be heard"
    lines = [
        f"{sure}: {out.right} of {out.trials} right; guessing does as well in {100 * out.chance:.2g} % of such trials.",
        f"Heard in {_percent(out.detected)} of the presentations, what guessing gives taken off."
        if out.detected.high > 0.0
        else f"Fewer were right than guessing gives ({plan.guess * out.trials:.3g} of {out.trials}), by more than luck "
        "often does: nothing speaks for its being heard. Were answers mixed up?",
        f"Rule, stated before the first sound: {plan.stopping_rule}",
    ]
    if not out.heard:
        lines.append("Not shown is not the same as not there: more trials, or a quieter room, can show less.")
    body = asdict(out) | {"rule": plan.stopping_rule, "kind": plan.kind, "sounds": plan.sounds}
    return lines, body


def _preference(trial: Any) -> tuple[list[str], dict[str, Any]]:
    out, plan = trial.outcome(), trial.plan
    word = plan.attribute or "preferred"
    place = {name: k for k, name in enumerate(plan.states)}
    told = "The states are told apart" if out.chance <= 0.05 else "The states are not told apart"
    lines = [
        f'Order by "{word}", chosen most often first: {", ".join(out.order)}. {told}: coins set them as far apart in '
        f"{100 * out.chance:.2g} % of such sessions.",
        "Worth in logits against the mean, with its 90 % interval:",
    ]
    for name in out.order:
        k = place[name]
        w = out.worths
        lines.append(f"  {name}: {w.value[k]:+.1f} ({w.low[k]:+.1f} to {w.high[k]:+.1f})")
    if not out.worths.finite:
        lines.append(_unbounded(plan.states, out.wins))
    for a, b, c in out.circles:
        lines.append(f"Circle: {a} over {b}, {b} over {c}, {c} over {a}.")
    if out.own is not None:
        lines.append(f"Pairs that came again were answered as the first time in {_percent(out.own)}.")
    lines.append(f"Of two equal sounds you chose the {'first' if out.same == '1' else 'second'}.")
    return lines, asdict(out) | {"states": list(plan.states), "attribute": plan.attribute}


def _quoted(name: str) -> str:
    return f'"{name}"'


def _unbounded(states: Sequence[str], wins: Sequence[Sequence[int]]) -> str:
    """Return which worths the choices alone leave open, and what stands in for them."""
    never_lost = [name for k, name in enumerate(states) if not any(row[k] for row in wins)]
    never_won = [name for name, row in zip(states, wins) if not any(row)]
    said = [
        f"no {end} bound to the worth of {' and '.join(map(_quoted, names))}, which never {word}"
        for names, end, word in ((never_lost, "upper", "lost"), (never_won, "lower", "won"))
        if names
    ]
    open_ends = ", ".join(said) or "no bound to how far some stand above the rest, to which they never lost"
    return (
        f"From these pairs alone there is {open_ends}. All worths here lean on an assumption: that states spread by "
        f"about {WEAK_SD:g} logits."
    )


def answers_csv(trial: Trial) -> str:
    """Return the raw answers, one a line, with what was played; told only of a trial that is over.

    Raises
    ------
    InputError
        Before the end.
    """
    if not trial.over:
        raise InputError("the trial goes on; what was played is told after its end.")
    one: Any = type(trial)(plan=trial.plan, seed=trial.seed, date=trial.date)  # type: ignore[arg-type]
    slots = trial_slots(trial)
    more = ["difference"] if isinstance(trial, ThresholdTrial) else []
    lines = [",".join(["number", *(f"button_{slot}" for slot in slots), *more, "answer"])]
    for number, answer in enumerate(trial.answers, start=1):
        played = [one.plays(slot) for slot in slots]
        if isinstance(trial, ThresholdTrial):
            played = [side for side, _ in played] + [f"{one.differences()[-1]:.6g}"]
        elif isinstance(trial, PreferenceTrial):
            played = ['"' + name.replace('"', '""') + '"' for name in played]
        lines.append(",".join([str(number), *played, answer]))
        one = one.answered(answer)
    return "\n".join(lines) + "\n"
