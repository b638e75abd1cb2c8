"""What must not be done, budget and prices of bars too: obeyed by every row, or it is refused with the reason."""

import difflib
import re
from collections.abc import Iterable
from dataclasses import dataclass, field, replace

from polepiece.errors import InputError
from polepiece.guitar import Guitar, grade_of
from polepiece.moves import KINDS, LEVERS, Change, Task
from polepiece.planning.spoken import LimitsRead, read_limits
from polepiece.typed_number import typed_number

KEPT_DB = 1.0  # "keep the output": the level may not fall by more; the level step that is heard
PARTS = ("bar", "pot", "capacitor", "resistor", "cable", "strings", "cover", "magnetiser", "input")
SMALL_PARTS = ("pot", "capacitor", "resistor", "cable", "strings", "bar")


@dataclass(frozen=True, slots=True, kw_only=True)
class Constraints:
    """What the owner asked for. ``owned`` None: nothing was said about bars."""

    keep_output: bool = False
    reversible_only: bool = False
    do_not_open: bool = False
    no_solder: bool = False
    keep_strings: bool = False
    budget: float | str | None = None  # a sum in the owner's money, "none" or "small"
    owned: tuple[str, ...] | None = None  # grades, "<grade>-rough-cast" for that finish
    magnetiser: bool = False
    prices: dict[str, float] = field(default_factory=dict)  # by part; nothing is invented
    leave: tuple[str, ...] = ()  # pickups that are left alone, by name or place
    only: tuple[str, ...] = ()  # the only pickups that may be touched
    keep: tuple[str, ...] = ()  # keys of `KEPT_KEYS`
    keep_in_phase: bool = False
    level_within: float | None = None  # dB either way
    not_louder: tuple[tuple[str, str], ...] = ()  # the first pickup never louder than the second
    minutes: float | None = None  # a job takes no longer
    balance_within: float | None = None  # dB between the pickup and every other
    not_less: tuple[
        str, ...
    ] = ()  # keys of quantities that may not fall by what is heard; "bridge:level" of one pickup
    not_more: tuple[str, ...] = ()  # the same, may not rise
    no_bars: tuple[str, ...] = ()  # families of bars that are not to be fitted: "ceramic"
    texts: tuple[str, ...] = ()  # as they were given
    readings: tuple[LimitsRead, ...] = ()  # what was understood of them, and what was not used


_FLAGS = {
    "keep-output": "keep_output", "keep-the-output": "keep_output", "keep-level": "keep_output",
    "reversible-only": "reversible_only", "reversible": "reversible_only",
    "do-not-open": "do_not_open", "dont-open": "do_not_open", "no-opening": "do_not_open",
    "no-solder": "no_solder", "no-soldering": "no_solder",
    "keep-strings": "keep_strings", "keep-the-strings": "keep_strings",
    "magnetiser": "magnetiser", "has-magnetiser": "magnetiser",
}  # fmt: skip
KEPT_KEYS: dict[str, tuple[str, ...]] = {  # what is kept: the levers that would change it
    "pots": ("volume_pot", "tone_pot"), "cable": ("cable",), "capacitor": ("tone_cap",),
    "bar": ("magnet", "finish", "charge", "flip"), "cover": ("cover",), "wiring": ("wiring", "tone_tap"),
    "screws": (*(k for k, lever in LEVERS.items() if lever.kind in ("screws", "orientation")), "body_down_screws_up"),
    "height": tuple(key for key, lever in LEVERS.items() if lever.kind == "height"),
    "electronics": ("volume_pot", "tone_pot", "tone_cap", "tone_tap", "bleed", "bleed_resistor", "shunt", "wiring"),
    "settings": ("volume", "tone", "selector"), "tone control": (),  # that goes only where the pot is taken out
}  # fmt: skip
_VALUES = ("budget", "owned", *(f"price-{part}" for part in PARTS))


def parse_constraints(texts: Iterable[str], guitar: Guitar | None = None) -> Constraints:
    """Read constraints such as "keep-output", "leave the bridge alone", "owned=alnico-3", "under 20, no solder".

    Parameters
    ----------
    texts : iterable of str
    guitar : Guitar, optional
        Whose pickups are named in them.

    Raises
    ------
    InputError
        With one line for each that is not understood, with the nearest known.
    """
    texts = tuple(texts)
    values: dict[str, object] = {}
    prices: dict[str, float] = {}
    readings, faults = [], []
    for text in texts:
        key, equals, value = (part.strip() for part in text.partition("="))
        key = re.sub(r"[\s_]+", "-", key.lower().replace("'", ""))
        try:
            if not equals and key in _FLAGS:
                values[_FLAGS[key]] = True
            elif equals and key == "owned":
                values["owned"] = tuple(_bar(one) for one in re.split(r"[,;\s]+", value) if one)
            elif equals and key == "budget":
                values["budget"] = _budget(value)
            elif equals and key.removeprefix("price-") in PARTS and key.startswith("price-"):
                prices[key.removeprefix("price-")] = _amount(value, text)
            elif equals or not (said := read_limits(text, guitar)).understood:
                faults.append(_unknown(text, key))
            else:
                readings.append(said)
                for name, one in said.values.items():
                    old = values.get(name)
                    both = isinstance(old, tuple) and isinstance(one, tuple)
                    values[name] = (*old, *one) if both else one  # type: ignore[misc]
        except InputError as error:
            faults.append(f"{text}: {error}")
    if faults:
        raise InputError("\n".join(faults))
    return Constraints(**values, prices=prices, texts=texts, readings=tuple(readings))  # type: ignore[arg-type]


def of_guitar(limits: Constraints, guitar: Guitar) -> Constraints:
    """Return constraints with their pickups by name.

    Raises
    ------
    InputError
        When a pickup is named that the guitar does not have.
    """
    name = {
        one: guitar.pickup(one).name
        for one in {*limits.leave, *limits.only, *(n for p in limits.not_louder for n in p)}
    }
    return replace(
        limits, leave=tuple(name[one] for one in limits.leave), only=tuple(name[one] for one in limits.only),
        not_louder=tuple((name[a], name[b]) for a, b in limits.not_louder),
    )  # fmt: skip


def _unknown(text: str, key: str) -> str:
    close = difflib.get_close_matches(key, [*_FLAGS, *_VALUES], n=1, cutoff=0.5)
    shown = close[0] + ("=..." if close[0] in _VALUES else "") if close else ""
    hint = f"the nearest is {shown}" if close else "known are keep-output, reversible-only, do-not-open, no-solder"
    return f'"{text}" is not a constraint that is known; {hint}.'


def _bar(text: str) -> str:
    grade, finish = grade_of(text)
    return f"{grade}-rough-cast" if finish == "rough-cast" else grade


_CURRENCY = re.compile(r"^(?:[A-Za-z]{3}|[€$£])\s*|\s*(?:[A-Za-z]{3}|[€$£])$")  # all amounts are of one currency


def _budget(value: str) -> float | str:
    word = value.lower()
    if word in ("none", "nothing", "free", "0"):
        return "none"
    return "small" if word in ("small", "low") else _amount(value, f"budget={value}")


def _amount(value: str, text: str) -> float:
    try:
        amount = float(typed_number(_CURRENCY.sub("", value.strip())))
    except InputError as error:
        raise InputError(f"needs an amount of money as a plain number, or none, or small: {error}.") from None
    if not 0.0 <= amount < 1e6:
        raise InputError(f"{text} lies outside 0 to a million.")
    return amount


def parts_of(changes: Iterable[Change], tasks: Iterable[Task], constraints: Constraints) -> tuple[str, ...]:
    """Return the parts to buy; bars that are owned, and a magnetiser that is there, are none."""
    parts = []
    for change, task in zip(changes, tasks):
        if change.key in ("magnet", "finish"):
            if constraints.owned is None or bar_name(change) not in constraints.owned:
                parts += ["bar"] * (2 if task.cost == "two bars" else 1)
        elif change.key == "charge":
            parts += [] if constraints.magnetiser else ["magnetiser"]
        elif change.key == "cover":
            parts += [] if change.value == "off" else ["cover"]
        elif task.cost != "none" and not (change.key in ("tone_pot", "bleed") and change.value is None):
            word = task.cost.split()[-1]
            parts.append("strings" if word == "set" else word)
    return tuple(parts)


def bar_name(change: Change) -> str:
    """Return the bar that a swap puts in, with its finish where it is rough cast."""
    if change.key == "finish":
        return f"finish {change.value}"
    grade, finish = change.value
    return f"{grade}-rough-cast" if finish == "rough-cast" else str(grade)


def refusal(
    changes: tuple[Change, ...], tasks: tuple[Task, ...], limits: Constraints, pickup: str | None = None
) -> str | None:
    """Return why these changes on ``pickup`` break a constraint, or None when they do not."""
    names = {"strings": "other strings", "string_wrap": "other strings"}
    kept = {key: thing for thing in limits.keep for key in KEPT_KEYS[thing]}
    minutes = sum(task.minutes for task in tasks)
    if limits.minutes is not None and minutes > limits.minutes:
        return f"at most {limits.minutes:g} minutes: {', '.join(one.text for one in changes)} takes {minutes}"
    for change, task in zip(changes, tasks):
        if pickup is not None and not KINDS[task.kind].shared:
            if pickup in limits.leave:
                return f"leave {pickup} alone: {change.text} would move it"
            if limits.only and pickup not in limits.only:
                return f"only {' and '.join(limits.only)}: {change.text} would be on {pickup}"
        if change.key == "tone_pot" and change.value is None and "tone control" in limits.keep:
            return f"keep the tone control: {change.text} takes it out"
        if change.key == "magnet" and change.value[0].startswith(limits.no_bars or ("-",)):
            return f"no {' or '.join(limits.no_bars)} bar: {change.text} is one"
        if change.key in kept:
            return f"keep the {kept[change.key]}: {change.text} changes it"
        if limits.keep_in_phase and change.key == "flip":
            return f"keep in phase: {change.text} turns the phase"
        if limits.reversible_only and not task.reversible:
            return f"reversible only: {change.text} cannot be undone whole ({task.way_back})"
        if limits.do_not_open and task.opens_pickup:
            return f"do not open: {change.text} means opening the pickup"
        if limits.no_solder and task.solder:
            return f"no solder: {change.text} means soldering"
        if limits.keep_strings and change.key in names:
            return f"keep the strings: {change.text} means {names[change.key]}"
        if change.key == "magnet" and limits.owned is not None and bar_name(change) not in limits.owned:
            return f"only bars that are owned: {bar_name(change)} is not among {', '.join(limits.owned) or 'them'}"
        if change.key == "finish" and limits.owned is not None:
            return f"only bars that are owned: a {change.value} bar of this grade is not said to be"
        if change.key == "charge" and not limits.magnetiser:
            return f"{change.text} needs a magnetiser; nobody has said that there is one (magnetiser)"
    return _money(parts_of(changes, tasks, limits), limits)


def _money(parts: tuple[str, ...], limits: Constraints) -> str | None:
    if limits.budget is None or not parts:
        return None
    listed = ", ".join(parts)
    if limits.budget == "none":
        return f"budget none: needs {listed}"
    if limits.budget == "small":
        large = [one for one in parts if one not in SMALL_PARTS]
        return f"budget small: needs {', '.join(large or parts)}" if large or len(parts) > 2 else None
    unknown = sorted({one for one in parts if one not in limits.prices})
    if unknown:
        return f"budget {limits.budget:g}: no price is known of {', '.join(unknown)}; give price-{unknown[0]}=..."
    total = sum(limits.prices[one] for one in parts)
    assert isinstance(limits.budget, float)
    return f"budget {limits.budget:g}: {listed} cost {total:g}" if total > limits.budget else None


def cost_words(parts: tuple[str, ...], limits: Constraints) -> str:
    """Return the cost in words; a sum only where the owner gave every price."""
    if not parts:
        return "none"
    listed = ", ".join(f"{parts.count(one)} x {one}" if parts.count(one) > 1 else one for one in dict.fromkeys(parts))
    if all(one in limits.prices for one in parts):
        return f"{listed}: {sum(limits.prices[one] for one in parts):g} (your prices)"
    return listed
