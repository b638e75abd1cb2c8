"""What to measure before and after a job, and what the meter should say."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from math import hypot

from polepiece.bench import PoleTop, State
from polepiece.constants import GAUSS
from polepiece.guitar import Pickup, controls_of, key_of, string_gaps
from polepiece.report.worksheet.facts import Facts
from polepiece.report.worksheet.record import Blank, Interval
from polepiece.shown_number import true_minus

SAME_DC = 0.02  # a coil that reads further from its reading before is hurt (common practice, no source)
POT_SPREAD = 0.20  # tolerance printed on none and kept by most pots (common practice, no source)
CAP_SPREAD = 0.10  # of a film capacitor (common practice, no source)
GAP_READING = 0.1  # mm, how well a gap is read (common practice, no source)
SET_STEP = 0.05e-3  # m; a height is not set finer
GAP_HOW = "outer string pressed at the last fret, down to the pole top, not the cover"
PER_DEGREE = "add 0.4 % for every °C above 20 °C"


def before(facts: Facts) -> tuple[Blank, ...]:
    """Return the readings of the baseline, in the order in which they are taken."""
    state, spans = facts.states[0], facts.span_before
    out: list[Blank] = [_recording(), _strings(facts)]
    if facts.height_matters:
        out += [_gap(facts.pickup, "bass", facts), _gap(facts.pickup, "treble", facts)]
    if facts.coil_touched or facts.solder:
        out += [_whole(facts, spans), *_halves(facts), *_isolation(facts)]
    if facts.magnetic or facts.kinds & {"wiring", "cover"}:
        out += _inductances(state, spans)
    if facts.magnetic:
        out.append(_polarity(facts.pickup, facts))
    if facts.phase_matters:
        out += _phase(facts, after=False)
    out += list(_parts(facts, after=False))
    if facts.opens or facts.in_cavity:
        out.append(
            Blank(key="noises", label="hum, squeal as it came", how="amplifier at playing gain", words="note it")
        )
    return tuple(out)


def after(facts: Facts) -> tuple[Blank, ...]:
    """Return the readings of the check-out; how to take one is not said a second time."""
    said = {one.label: one.how for one in before(facts)}
    return tuple(replace(one, how="") if said.get(one.label) == one.how else one for one in _after(facts))


def _after(facts: Facts) -> tuple[Blank, ...]:
    state, spans = facts.states[1], facts.span_after
    out: list[Blank] = []
    if facts.coil_touched or facts.solder:
        out += [_whole_after(facts), *_halves(facts, back=True), *_isolation(facts)]
    if facts.magnetic or facts.kinds & {"wiring", "cover"}:
        out += _inductances(state, spans)
    if facts.magnetic:
        out.append(_polarity(facts.pickup_after, facts, back=True))
    if facts.phase_matters:
        out += _phase(facts, after=True)
    out += list(_parts(facts, after=True))
    if facts.height_matters:
        out += [
            _gap(facts.pickup_after, "bass", facts, moved=True),
            _gap(facts.pickup_after, "treble", facts, moved=True),
        ]
    if facts.opens and facts.screws and not _screws_turn(facts):
        out.append(Blank(key="screw_heights", label="screw heads above their bobbin", words="as before, each"))
    if facts.opens:
        out.append(Blank(key="squeal", label="squeal", how="amplifier at high gain, strings damped", words="none"))
    if facts.opens or facts.in_cavity:
        split = " and in every switch position" if facts.in_cavity else ""
        out.append(Blank(key="hum", label="hum", how=f"as before{split}", words="no more than before"))
    if facts.strings_off or facts.kinds & {"height", "screws", "magnet", "charge"}:
        out.append(Blank(key="intonation", label="intonation", how="tuner, open and at the 12th fret", words="in tune"))
    out.append(
        Blank(key="recording_after", label="recording after", how="as before: same place, same input level", words="")
    )
    return tuple(out)


def per_string(facts: Facts, *, done: bool) -> tuple[Blank, ...]:
    """Return what is read string by string: screw heights and gauss on every pole."""
    pickup = facts.pickup_after if done else facts.pickup
    out: list[Blank] = []
    if _screws_turn(facts):
        for k, gap in enumerate(string_gaps(pickup), start=1):
            out.append(
                Blank(
                    key="string_gap", label="gap, mm", unit="mm", expected=gap * 1e3, basis="computed", digits=2,
                    string=k,
                )
            )  # fmt: skip
    if facts.screws and (_screws_turn(facts) or (facts.opens and not done)):
        for attr in _screw_rows(facts):
            out += [_screw(facts, k, attr, done=done) for k in range(1, pickup.poles.count + 1)]
    for top in facts.tops_after if done else facts.tops:
        low, high = sorted(abs(one) for one in top.interval)
        out.append(
            Blank(
                key=f"pole_gauss.{top.row}", label=f"{top.row}, gauss{' (on the cover)' if top.on_cover else ''}",
                unit="gauss", expected=abs(top.flux_density) / GAUSS, digits=0, basis="computed",
                interval=(low / GAUSS, high / GAUSS), string=top.pole,
            )
        )  # fmt: skip
    return tuple(out)


def _screws_turn(facts: Facts) -> bool:
    before, after = facts.pickup.poles, facts.pickup_after.poles
    return any(getattr(before, attr) != getattr(after, attr) for attr in _screw_rows(facts))


def _screw_rows(facts: Facts) -> dict[str, str]:
    """Return the rows of screws by the field that turns them, each with its words " of the neck row"; first first."""
    first = facts.pickup.built.measured_row.pole.turned_by
    rows = {attr: f" of the {row} row" for row, attr in facts.pickup.screw_rows.items()} or {first: ""}
    return {first: rows[first], **rows} if facts.screws else {}


# ---------------------------------------------------------------------------------------- single blanks


def _recording() -> Blank:
    how = "same strings, pick, place, cable; note place, input level, knobs"
    return Blank(key="recording", label="recording before", how=how, words="file name, level, place")


def _strings(facts: Facts) -> Blank:
    age = facts.guitar.string_age
    told = facts.guitar.strings_called + (f", {age}" if age != "unknown" else ", age not known")
    return Blank(key="strings", label="strings on it, age", how="new strings change more than most swaps", words=told)


def _gap(pickup: Pickup, side: str, facts: Facts, *, moved: bool = False) -> Blank:
    value = 1e3 * ((pickup.gap_bass if side == "bass" else pickup.gap_treble) + (facts.reset if moved else 0.0))
    assumed = facts.assumed(f"gap_{side}")
    basis = "assumed" if assumed else "from the file"
    if moved:
        basis = "re-set to the old loudness" if abs(facts.reset) >= SET_STEP else "as planned"
    return Blank(
        key=f"gap_{side}", label=f"gap, {side} side", how=GAP_HOW, unit="mm", expected=value, digits=1, basis=basis,
        interval=None if assumed else (value - GAP_READING, value + GAP_READING),
    )  # fmt: skip


def _whole(facts: Facts, spans: dict[str, Interval]) -> Blank:
    pickup, ohm = facts.pickup, facts.states[0].dc_resistance_ohm
    measured = pickup.resistance is not None or bool(pickup.coil_resistances)
    low, high = spans["dc_resistance_ohm"]
    turns = pickup.coils[0].turns
    for one in facts.guitar.assumed:  # the draws hold the turns still; where they are a guess, the meter may differ
        of_turns = facts.assumed("coil.turns") and one.path.endswith(key_of("coil.turns"))
        if not measured and of_turns and one.low and one.high:
            low, high = (
                ohm - _rss(ohm - low, ohm - ohm * one.low / turns),
                ohm + _rss(high - ohm, ohm * one.high / turns - ohm),
            )
            break
    return Blank(
        key="dc_resistance", label="DC resistance, 20 °C", how=f"off the pots; {PER_DEGREE}; note the temperature",
        unit="kΩ", expected=ohm / 1e3, digits=2, interval=None if measured else (low / 1e3, high / 1e3),
        basis="from the file" if measured else "computed",
    )  # fmt: skip


def _rss(one: float, other: float) -> float:
    return float(hypot(one, other))


def _whole_after(facts: Facts) -> Blank:
    """Return the check of the coil: the same as before, unless it is connected otherwise."""
    now, then = (one.dc_resistance_ohm / 1e3 for one in facts.states)
    same = abs(then - now) < 1e-6
    return Blank(
        key="dc_resistance", label="DC resistance, same °C", unit="kΩ", expected=then, digits=2,
        interval=(then * (1.0 - SAME_DC), then * (1.0 + SAME_DC)),
        how="within 2 % of your reading before" if same else f"connected otherwise: {then / now:.2f} x your reading",
        basis="STOP outside",
    )  # fmt: skip


def _halves(facts: Facts, *, back: bool = False) -> Iterator[Blank]:
    """Yield the two coils, where both can be reached."""
    pickup = facts.pickup
    if len(pickup.coils) < 2:
        return
    lead = {"four-conductor": "at the lead", "unknown": "where four conductors come out"}.get(pickup.lead)
    if lead is None and not facts.opens:
        return
    where = lead or "once it is open, at the splice"
    for k, name in enumerate(pickup.built.coils):
        known = pickup.coil_resistances[k] / 1e3 if len(pickup.coil_resistances) == len(pickup.coils) else None
        yield Blank(
            key=("dc_slug", "dc_screw")[k], label=f"DC, {name}", unit="kΩ", expected=known, digits=2,
            how=where + ("; within 2 % of before" if back else ""), basis="from the file" if known else "",
            words="" if known else "within 10 % of the other",
        )  # fmt: skip


def _isolation(facts: Facts) -> Iterator[Blank]:
    if facts.pickup.base_plate is None and facts.pickup.cover is None:
        return
    plate = "base plate and cover" if facts.covered else "base plate"
    how = "ohmmeter, highest range"
    if facts.pickup.lead != "four-conductor":
        how += "; a braided lead links one end to the plate: part it first"
    yield Blank(key="isolation", label=f"coil to {plate}", how=how, words="open (no reading)")


def _inductances(state: State, spans: dict[str, Interval]) -> Iterator[Blank]:
    for key, label in (("inductance_120hz_h", "120 Hz"), ("inductance_1khz_h", "1 kHz")):
        yield Blank(
            key=key, label=f"inductance, {label}", unit="H", expected=getattr(state, key), interval=spans.get(key),
            how="if you have a meter: nothing connected", digits=2, basis="computed",
        )  # fmt: skip


def _polarity(pickup: Pickup, facts: Facts, *, back: bool = False) -> Blank:
    flipped = "flip" in facts.keys
    if back:
        words = "the other way round than before" if flipped else "as before"
        return Blank(key="polarity", label="polarity", how="compass, needle checked again, or gauss sign", words=words)
    words, how = pickup.built.polarity, f"compass over the {pickup.built.compass_over}"
    return Blank(key="polarity", label="polarity", how=how + ", or the sign of the gaussmeter", words=words)


def _phase(facts: Facts, *, after: bool) -> Iterator[Blank]:
    """Yield the phase with every other pickup: which it is now only a test tells, what the job does is computed."""
    for other in facts.partners:
        was, then = facts.found.both_on[other]
        words = "in phase or out: note it"
        if after:
            words = "as before" if was.in_phase == then.in_phase else "the other way than before"
        yield Blank(
            key=f"phase.{other}", label=f"phase with {other}", words=words,
            how="meter on DC mV, pull a screwdriver off each: both swing the same way",
        )  # fmt: skip


def _parts(facts: Facts, *, after: bool) -> Iterator[Blank]:
    """Yield the parts in the cavity that are exchanged, by their own meter readings."""
    controls = controls_of(facts.after if after else facts.guitar, facts.pickup.name)
    for key, label, value in (
        ("volume_pot", "volume pot", controls.volume_pot_measured or controls.volume_pot),
        ("tone_pot", "tone pot", controls.tone_pot_measured or controls.tone_pot),
    ):
        if key in facts.keys and value is not None:
            kohm = value / 1e3
            yield Blank(
                key=key, label=label, how="outer lugs, wires off", unit="kΩ", expected=kohm, digits=0,
                interval=((1 - POT_SPREAD) * kohm, (1 + POT_SPREAD) * kohm), basis="marked; 20 % either way is usual",
            )  # fmt: skip
    if "shunt" in facts.keys and controls.shunt_resistor is not None:
        kohm = controls.shunt_resistor / 1e3
        yield Blank(key="shunt", label="resistor", how="before it goes in", unit="kΩ", expected=kohm, digits=0)
    for key, label, farads in (
        ("tone_cap", "tone capacitor", controls.tone_cap),
        ("bleed", "bleed capacitor", controls.bleed_cap),
    ):
        if key in facts.keys and farads is not None:
            nano = farads * 1e9
            yield Blank(
                key=key, label=label, how="one leg free", unit="nF", expected=nano, digits=1 if nano >= 1.0 else 2,
                interval=((1 - CAP_SPREAD) * nano, (1 + CAP_SPREAD) * nano), basis="marked; 10 % either way is usual",
            )  # fmt: skip


def _screw(facts: Facts, number: int, attr: str, *, done: bool) -> Blank:
    """Return the height of one screw over its bobbin: only the move is known beforehand."""
    was, then = (getattr(one.poles, attr)[number - 1] for one in (facts.pickup, facts.pickup_after))
    row = _screw_rows(facts)[attr]
    moved = 1e3 * (then - was)
    words = ""
    if done:
        words = "as before" if abs(moved) < 1e-3 else true_minus(f"{moved:+.2f}")
    return Blank(
        key=attr.replace("raise", "height"), label=f"screw head{row}, mm", unit="mm", digits=2, string=number,
        words=words, how="above its bobbin",
    )  # fmt: skip


def middle_gauss(tops: Sequence[PoleTop]) -> float:
    """Return what a probe says over the middle of the first row, gauss without sign; 0 where there is none."""
    row = [abs(one.flux_density) for one in tops if one.row == tops[0].row]
    return row[(len(row) - 1) // 2] / GAUSS if row else 0.0
