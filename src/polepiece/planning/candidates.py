"""Every lever that could serve, and the useful pairs: hundreds of candidates, each obeying the constraints.

Steps are those of a bench (common practice, no source): height in tenths of a millimetre, screws in quarter
turns, parts in the values that are sold.
"""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import product

from polepiece.errors import InputError
from polepiece.guitar import Guitar, Pickup, controls_of, tone_of, volume_of
from polepiece.materials import pickup_bars
from polepiece.moves import LEVERS, ORDER, Change, Task, apply, parse_changes
from polepiece.planning.constraints import Constraints, bar_name, refusal

SWAP_KEYS = ("magnet", "finish", "charge")
STEPS_MM = ("0.2", "0.3", "0.5", "0.8", "1")
TURNS = ("0.25", "0.5", "1")
VOLUMES, TONES, CABLES, SHUNTS, POTS, CAPS = (
    LEVERS[key].tries for key in ("volume", "tone", "cable", "shunt", "volume_pot", "tone_cap")
)
BLEEDS = tuple(one for one in LEVERS["bleed"].tries if one != "none")
_BESIDE_HEIGHT = ("cable=300pF", "cable=700pF", "tone=9", "tone=8", "tone=7", "volume_pot=250k", "volume=9")


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """One change or pair of changes on one pickup; ``also`` is done on another pickup at the same time."""

    pickup: str
    changes: tuple[Change, ...]
    tasks: tuple[Task, ...]
    also: tuple[str, tuple[Change, ...]] | None = None

    @property
    def swap(self) -> bool:
        """Whether the magnet changes; then it is judged at the same gap and with the gap re-set."""
        return any(one.key in SWAP_KEYS for one in self.changes)

    @property
    def bar(self) -> str | None:
        """The bar that goes in."""
        return next((bar_name(one) for one in self.changes if one.key in ("magnet", "finish")), None)

    @property
    def takes_out(self) -> bool:
        """Whether a control goes that a player has now."""
        return any(one.key == "tone_pot" and one.value is None for one in self.changes)

    @property
    def texts(self) -> tuple[str, ...]:
        """The changes as they are typed."""
        return tuple(one.text for one in self.changes)

    def act(self, guitar: Guitar) -> Guitar:
        """Return the guitar after it."""
        after = apply(guitar, self.pickup, self.changes)
        return after if self.also is None else apply(after, self.also[0], self.also[1])


@dataclass(frozen=True, slots=True, kw_only=True)
class Refusal:
    """Changes that are not offered, and why."""

    change: tuple[str, ...]
    reason: str
    pickup: str
    alike: int = 0  # how many more were refused for the same reason


@dataclass(frozen=True, slots=True, kw_only=True)
class Enumeration:
    """What was enumerated for one pickup."""

    candidates: tuple[Candidate, ...]
    refused: tuple[Refusal, ...]
    considered: int


def enumerate_candidates(
    guitar: Guitar,
    pickup: str,
    limits: Constraints,
    *,
    extra: Iterable[tuple[str, ...]] = (),
    phase: bool = False,
    partner: str | None = None,
    louder: str | None = None,
    without: tuple[str, ...] = (),
    beside: Iterable[str] = (),
) -> Enumeration:
    """Return every candidate for one pickup, and what was refused.

    Parameters
    ----------
    guitar : Guitar
        In the setting in which the complaint is heard.
    pickup : str
    limits : Constraints
        Obeyed, or the row is refused with the reason.
    extra : iterable of changes
        First moves of the complaint words that the steps above may not hold.
    phase : bool
        A phase complaint: flip is a candidate for nothing else.
    partner, louder : str, optional
        The other pickup of a mismatch and which of the two is louder; pairs "louder one down, other one up"
        are added, the partner is never moved alone.
    without : tuple of str
        Changes that start like one of these are no answer to the complaint (turning the volume up, say).
    beside : iterable of str
        Pickups that are on with it: their own volumes and tones are tried as well.
    """
    the_pickup = guitar.pickup(pickup)
    texts: dict[tuple[str, ...], None] = {}
    others = _beside(guitar, beside)
    for one in (*extra, *_singles(the_pickup), *_pairs(the_pickup), *others, *([("flip=yes",)] if phase else [])):
        if any(text.startswith(without) for text in one if without) or not _usual_set(guitar, one):
            continue
        texts.setdefault(tuple(sorted(one, key=lambda t: ORDER[t.partition("=")[0].rpartition(" ")[2]])))
    found: list[Candidate] = []
    refused: list[Refusal] = []
    for one in texts:
        made = _make(guitar, the_pickup.name, one, limits)
        if isinstance(made, Candidate):
            found.append(made)
        elif made is not None:
            refused.append(made)
    if partner is not None:
        down = louder is None or guitar.pickup(louder).name == the_pickup.name
        found += _two_pickups(guitar, the_pickup.name, guitar.pickup(partner).name, limits, down=down)
    if (stay := the_pickup.built.magnets_stay) is not None:
        refused.append(Refusal(change=("magnet=...",), pickup=the_pickup.name, reason=f"another grade: {stay.reason}"))
    return Enumeration(candidates=tuple(found), refused=_gathered(refused), considered=len(texts) + bool(partner) * 9)


def _usual_set(guitar: Guitar, texts: tuple[str, ...]) -> bool:
    """Tell whether strings, where they change, go one gauge up or down; a set that is not of the list has no next."""
    wanted = [one.removeprefix("strings=") for one in texts if one.startswith("strings=")]
    sets = LEVERS["strings"].tries
    if not wanted:
        return True
    return guitar.string_set in sets and abs(sets.index(wanted[0]) - sets.index(guitar.string_set)) == 1


def _gathered(refused: Iterable[Refusal]) -> tuple[Refusal, ...]:
    """Name each reason once: a constraint by its name, a limit of the bench by its sentence without figures."""
    out: dict[str, Refusal] = {}
    for one in refused:
        head, _, tail = one.reason.partition(":")
        key = re.sub(r"[\d.]+", "#", tail or head) if "=" in head else head + " price" * ("no price" in tail)
        old = out.setdefault(key, one)
        if old is not one:
            out[key] = replace(old, alike=old.alike + one.alike + 1)
    return tuple(out.values())


def _make(guitar: Guitar, pickup: str, texts: tuple[str, ...], limits: Constraints) -> Candidate | Refusal | None:
    try:
        changes = parse_changes(texts)
        if any(_as_it_is(guitar, pickup, one) for one in changes):
            return None
        tasks: tuple[Task, ...] = ()
        if len(changes) == 1:
            task, after = changes[0].made(guitar, pickup)
            tasks = (task,)
        else:
            after = apply(guitar, pickup, changes)
        if after == guitar:
            return None
        tasks = tasks or tasks_of(guitar, pickup, changes)
    except InputError as error:
        return Refusal(change=texts, reason=str(error), pickup=pickup)
    reason = refusal(changes, tasks, limits, pickup)
    if reason is not None:
        return Refusal(change=texts, reason=reason, pickup=pickup)
    return Candidate(pickup=pickup, changes=changes, tasks=tasks)


def _as_it_is(guitar: Guitar, pickup: str, change: Change) -> bool:
    """Tell whether a part has the value already that is marked on it."""
    attr = LEVERS[change.key].attr
    if not attr or guitar.controls.elements:
        return False
    return bool(getattr(controls_of(guitar, change.of or pickup), attr) == change.value)


def tasks_of(guitar: Guitar, pickup: str, changes: tuple[Change, ...]) -> tuple[Task, ...]:
    """Return the job of each change, done one after the other in the order that keeps every gap safe.

    Raises
    ------
    InputError
        When they cannot be done in either order.
    """
    try:
        return _in_order(guitar, pickup, changes)
    except InputError:
        if len(changes) < 2:
            raise
        return tuple(reversed(_in_order(guitar, pickup, tuple(reversed(changes)))))


def _in_order(guitar: Guitar, pickup: str, changes: tuple[Change, ...]) -> tuple[Task, ...]:
    out = []
    for change in changes:
        task, guitar = change.made(guitar, pickup)
        out.append(task)
    return tuple(out)


def _two_pickups(guitar: Guitar, pickup: str, partner: str, limits: Constraints, *, down: bool) -> Iterator[Candidate]:
    """Yield one pickup down and the other up by the steps of a bench."""
    mine, theirs = ("lower", "raise") if down else ("raise", "lower")
    for here, there in product(("0.2", "0.3", "0.5"), repeat=2):
        one = _make(guitar, pickup, (f"{mine}={here}mm",), limits)
        other = _make(guitar, partner, (f"{theirs}={there}mm",), limits)
        if isinstance(one, Candidate) and isinstance(other, Candidate):
            yield replace(one, tasks=one.tasks + other.tasks, also=(partner, other.changes))


# ------------------------------------------------------------------------------------ the lists


def _bars(pickup: Pickup) -> list[tuple[str, ...]]:
    if not pickup.built.bars:
        return []
    bars = [(f"magnet={bar}",) for bar in (*pickup_bars.SOLD, "alnico-5-rough-cast")]
    magnet = pickup.magnet
    if magnet.grade.startswith("alnico"):
        other = "polished" if magnet.finish == "rough-cast" else "rough-cast"
        bars.append((f"finish={other}",))
    same = (f"magnet={magnet.grade}",), (f"magnet={magnet.grade}-rough-cast",)  # that is finish= or nothing
    return [one for one in bars if one not in same]


def _singles(pickup: Pickup) -> Iterator[tuple[str, ...]]:
    for way, side, step in product(("lower", "raise"), ("", "_bass", "_treble"), STEPS_MM):
        yield (f"{way}{side}={step}mm",)
    yield from ((f"tilt={side} up {step}mm",) for side, step in product(("treble", "bass"), STEPS_MM[:4]))
    if pickup.built.has_screws:
        for way, turn in product(("up", "down"), TURNS):
            yield (f"screws={way} {turn} turn",)
            yield from ((f"screw{n}={way} {turn} turn",) for n in range(1, pickup.poles.count + 1))
        yield from ((f"body_down_screws_up={step}mm",) for step in STEPS_MM)
        yield from _other_rows(pickup)
    for bar in _bars(pickup):
        yield bar
        yield (*bar, "charge=in-place")
    yield from ((f"charge={one}",) for one in ("in-place", "80%", "60%"))
    if pickup.cover is not None:
        yield ("cover=off",)
    elif pickup.built.takes_metal_cover:
        yield from ((f"cover={metal}",) for metal in ("nickel-silver", "brass"))
    if len(wirings := pickup.built.wirings) > 1:
        yield from ((f"wiring={one}",) for one in wirings if one != "out-of-phase")
    if pickup.built.screws_on_one_side:
        yield (f"screws_face={'bridge' if pickup.screws_face == 'neck' else 'neck'}",)
    yield from _tried()


def _other_rows(pickup: Pickup) -> Iterator[tuple[str, ...]]:
    """Yield what is done to the row of screws that gaps are not taken to, where there is one."""
    for row, attr in pickup.screw_rows.items():
        if attr != pickup.built.measured_row.pole.turned_by:
            for way, turn in product(("up", "down"), TURNS):
                yield (f"{row}_screws={way} {turn} turn",)
                yield from ((f"{row}_screw{n}={way} {turn} turn",) for n in range(1, pickup.poles.count + 1))


def _tried() -> Iterator[tuple[str, ...]]:
    for lever in LEVERS.values():
        yield from ((f"{lever.key}={value}",) for value in lever.tries)


def _beside(guitar: Guitar, names: Iterable[str]) -> Iterator[tuple[str, ...]]:
    """Yield the settings of what other pickups have of their own."""
    for name in names:
        for key, owned in (("volume", volume_of(guitar, name)), ("tone", tone_of(guitar, name))):
            if owned is not None and owned.pickup == name:
                yield from ((f"{name} {key}={value}",) for value in LEVERS[key].tries)


def _pairs(pickup: Pickup) -> Iterator[tuple[str, ...]]:
    bars = _bars(pickup)
    middle = ("0.3", "0.5", "0.8")
    for low, high in product(middle, ("0.2", "0.3", "0.5")):  # tilt with one side further than the other
        if low == high:
            continue  # that is tilt=
        yield (f"lower_bass={low}mm", f"raise_treble={high}mm")
        yield (f"lower_treble={low}mm", f"raise_bass={high}mm")
    if pickup.built.has_screws:
        for way, side, step in product(("lower", "raise"), ("", "_bass", "_treble"), middle):
            yield from (
                (f"{way}{side}={step}mm", f"screws={s} {t} turn") for s, t in product(("up", "down"), TURNS[:2])
            )
        for turn in TURNS:
            yield (f"screw5=down {turn} turn", f"screw6=down {turn} turn")
            yield (f"screw1=down {turn} turn", f"screw2=down {turn} turn")
            yield (f"screw1=up {turn} turn", f"screw2=up {turn} turn")
        for bar, way in product(bars, ("up 0.5 turn", "down 0.5 turn")):
            yield (*bar, f"screws={way}")
    for bar, side in product(bars, ("lower_bass=0.3mm", "lower_treble=0.3mm")):  # tilt beside the re-set height
        yield (*bar, side)
    for bar, part in product(bars, ("cable=300pF", "cable=700pF", "volume_pot=250k", "volume_pot=500k", "tone=8")):
        yield (*bar, part)
    for side, step in product(("lower", "lower_bass", "lower_treble", "raise", "raise_treble"), ("0.3", "0.5")):
        yield from ((f"{side}={step}mm", part) for part in _BESIDE_HEIGHT)
    yield from ((f"tone_cap={cap}", f"volume_pot={pot}") for cap, pot in product(CAPS, POTS))
    yield from ((f"tone_cap={cap}", f"tone={tone}") for cap, tone in product(CAPS[:4], TONES[1::2]))
    yield from ((f"volume_pot={pot}", f"cable={cable}") for pot, cable in product(POTS, CABLES))
    yield from ((f"bleed={bleed}", f"bleed_resistor={r}") for bleed, r in product(BLEEDS, ("100k", "150k", "220k")))
    yield from ((f"bleed={bleed}", f"volume={at}") for bleed, at in product(BLEEDS[:2], VOLUMES))
    yield from ((f"shunt={shunt}", f"cable={cable}") for shunt, cable in product(SHUNTS[2:], CABLES[:3]))
