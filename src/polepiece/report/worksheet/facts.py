"""What a job is, read off the guitar before and after: which steps, readings and cautions concern it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from polepiece.bench import Bench, PoleTop, Prediction, State, pole_tops, predict
from polepiece.errors import InputError
from polepiece.guitar import BarWork, Guitar, Pickup, key_path
from polepiece.moves import KINDS, Change, Task, apply
from polepiece.planning import PHASE, fault_gate, tasks_of

PHASE_CURES = ("flip", "wiring", "charge")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Facts:
    """One job: the pickup before and after, its tasks, and what was computed for it."""

    guitar: Guitar
    after: Guitar
    pickup: Pickup
    changes: tuple[Change, ...]
    tasks: tuple[Task, ...]
    found: Prediction  # in the position that is heard
    states: tuple[State, State]  # before and after, of the pickup by itself: what meters read
    tops: tuple[PoleTop, ...]  # as it is; empty where no magnet is touched
    tops_after: tuple[PoleTop, ...]
    span_before: dict[str, tuple[float, float]]  # 90 % of the state itself, by dotted key
    span_after: dict[str, tuple[float, float]]

    @property
    def pickup_after(self) -> Pickup:
        """The pickup after the change, at the same height."""
        return self.after.pickup(self.pickup.name)

    @property
    def keys(self) -> set[str]:
        """The levers that are moved."""
        return {one.key for one in self.changes}

    @property
    def kinds(self) -> set[str]:
        """Their families."""
        return {one.kind for one in self.changes}

    @property
    def new_bar(self) -> bool:
        """Another bar goes in."""
        return bool(self.keys & {"magnet", "finish"})

    @property
    def bar_moves(self) -> bool:
        """The bar leaves its place."""
        return self.new_bar or "flip" in self.keys

    @property
    def bar_work(self) -> BarWork:
        """How the bar of this pickup is worked on; `apply` has refused it before where magnets stay."""
        work = self.pickup.built.bar_work
        assert work is not None, f"{self.pickup.construction} has no bar"
        return work

    @property
    def magnetic(self) -> bool:
        """The field of the pickup changes."""
        return self.bar_moves or "charge" in self.keys

    @property
    def opens(self) -> bool:
        """The pickup is opened."""
        return any(one.opens_pickup for one in self.tasks)

    @property
    def solder(self) -> bool:
        """Something is soldered."""
        return any(one.solder for one in self.tasks)

    @property
    def strings_off(self) -> bool:
        """The strings come off or are slackened."""
        return any(one.strings_off for one in self.tasks)

    @property
    def in_cavity(self) -> bool:
        """Parts in the control cavity are exchanged."""
        return any(KINDS[one].in_cavity for one in self.kinds)

    @property
    def lifts_out(self) -> bool:
        """The pickup leaves its ring or guard."""
        return self.opens or "orientation" in self.kinds or ("charge" in self.keys)

    @property
    def covered(self) -> bool:
        """The pickup has a cover before the job."""
        return self.pickup.cover is not None

    @property
    def on_guitar(self) -> bool:
        """Anything on the guitar itself is touched or turned with a tool."""
        return any(KINDS[one].on_guitar for one in self.kinds)

    @property
    def height_matters(self) -> bool:
        """Heights or screws are turned, or have to be set again."""
        return bool(self.kinds & {"height", "screws"}) or self.lifts_out or "strings" in self.kinds

    @property
    def coil_touched(self) -> bool:
        """Coil or its leads are moved, unsoldered or warmed, so that a meter must read them before and after."""
        return self.lifts_out or "wiring" in self.kinds

    @property
    def resets(self) -> bool:
        """The height is re-set to the old loudness: after another field, unless the height is part of the plan."""
        return self.magnetic and not self.kinds & {"height", "screws"} and self.found.lowered is not None

    @property
    def reset(self) -> float:
        """How far the pickup is lowered for that, m."""
        return self.found.lowered if self.resets and self.found.lowered is not None else 0.0

    @property
    def screws(self) -> bool:
        """The pickup has screws to turn."""
        return self.pickup.built.has_screws

    @property
    def partners(self) -> tuple[str, ...]:
        """The other pickups."""
        return tuple(one.name for one in self.guitar.pickups if one.name != self.pickup.name)

    @property
    def phase_matters(self) -> bool:
        """It can come out against another pickup."""
        touched = self.bar_moves or bool(self.kinds & {"wiring", "charge"}) or self.opens
        return bool(self.partners) and touched

    def assumed(self, attr: str) -> bool:
        """Tell whether a value of this pickup was assumed."""
        path = key_path(self.guitar.pickups.index(self.pickup), attr)
        return any(one.path == path for one in self.guitar.assumed)


def facts_of(
    guitar: Guitar, pickup: str, changes: Sequence[Change], *, draws: int, bench: Bench, position: str | None = None
) -> Facts:
    """Work out a job: what is heard in ``position`` (None: as usual), and what meters read of the pickup alone.

    Raises
    ------
    InputError
        When there is no change, a change cannot be made on this pickup, or a fault has to be mended first.
    """
    the_pickup = guitar.pickup(pickup)
    if not changes:
        raise InputError(
            f"no change is given for {the_pickup.name}; name what is to be done, for example magnet=alnico-3."
        )
    after = apply(guitar, the_pickup.name, changes)
    if replace(after, assumed=guitar.assumed) == guitar:
        given = ", ".join(one.text for one in changes)
        raise InputError(f"{given}: {the_pickup.name} is like that already; there is nothing to do.")
    tasks = tasks_of(guitar, the_pickup.name, tuple(changes))
    _refuse_faults(guitar, the_pickup, {one.key for one in changes})
    found = predict(guitar, the_pickup.name, changes, position=position, seed=bench.seed, draws=draws, bench=bench)
    alone = bench.heard_in(None)
    magnetic = bool({one.key for one in changes} & {"magnet", "finish", "flip", "charge"})
    return Facts(
        guitar=guitar, after=after, pickup=the_pickup, changes=tuple(changes), tasks=tasks, found=found,
        tops=pole_tops(guitar, the_pickup.name, draws=draws, bench=bench) if magnetic else (),
        tops_after=pole_tops(after, the_pickup.name, draws=draws, bench=bench) if magnetic else (),
        states=(alone.state(guitar, the_pickup.name), alone.state(after, the_pickup.name)),
        span_before=alone.span(guitar, the_pickup.name, draws=draws),
        span_after=alone.span(after, the_pickup.name, draws=draws),
    )  # fmt: skip


def _refuse_faults(guitar: Guitar, pickup: Pickup, keys: set[str]) -> None:
    """A swap for a dead coil helps nobody: a fault of this pickup, or of the guitar, stops the sheet."""
    for one in fault_gate(guitar, guitar.complaints):
        cure = one.fault == PHASE and keys & set(PHASE_CURES)
        if one.pickup in (None, pickup.name, pickup.position) and not cure:
            mend = f" Cure: {one.cure}." if one.cure else ""
            raise InputError(f"repair first: {one.fault} ({one.why}). Check: {one.check}.{mend}")
