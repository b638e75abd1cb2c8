"""Values that are possible but unusual: asked about, not refused."""

from collections.abc import Iterator, Mapping
from decimal import Decimal
from operator import attrgetter

from polepiece.guitar.defaults import BASS_FROM, two_to_a_string
from polepiece.guitar.file import layout
from polepiece.guitar.file.layout import Keys, home_of
from polepiece.guitar.file.units import show
from polepiece.guitar.gaps import OVER_COVER, has_own_poles, over_cover, pole_words, safe_gaps, string_gaps
from polepiece.guitar.pulled_knobs import unsettled
from polepiece.guitar.records import Guitar, Pickup
from polepiece.guitar.switching import is_heard
from polepiece.guitar.windings import LEAST_FILL, fill, wound_turns
from polepiece.strings import note_frequency, tension

LONG: Mapping[str, tuple[float, float]] = {"scale_length": (600, 780)}  # baritones, seven strings and more
BASS: Mapping[str, tuple[float, float]] = {"scale_length": (760, 920), "poles.pole_spacing": (15, 20)}
"""Usual ranges of a bass in place of a guitar's, mm; by string 1 (common practice, no source)."""
LOWEST_OF_SIX = 70.0  # Hz; a dropped D2 lies above, a baritone's B1 below
USUAL_PULL = (25.0, 260.0)  # N, slack drop tunings to bass strings (common practice, no source)


def cautions(guitar: Guitar) -> tuple[str, ...]:
    """Return a sentence for each value of a guitar that a person should look at again.

    Gaps under the safe minimum, bass and treble that look swapped, values outside their usual range.
    Ranges are common practice, no source.
    """
    assumed = frozenset(one.path for one in guitar.assumed)  # nobody said them: a row of eight poles has a longer bar
    lowest = min((note_frequency(one) for one in guitar.tuning), default=LOWEST_OF_SIX)
    bass = min((one.diameter for one in guitar.strings), default=0.0) >= BASS_FROM
    other = BASS if bass else LONG if lowest < LOWEST_OF_SIX or len(guitar.strings) > 6 else {}
    found = [
        *_unusual(guitar, layout.GUITAR_KEYS, "", assumed, other),
        *_unusual(guitar.controls, layout.CONTROL_KEYS, "controls.", assumed, other),
    ]
    found += _pulls(guitar)
    found += _knobs(guitar)
    for place, pickup in enumerate(guitar.pickups):
        path = f"pickups[{place}]."
        keys = [*layout.PICKUP_KEYS, *layout.MAGNET_KEYS, *layout.POLE_KEYS]
        lacks = pickup.built.lacks
        two = two_to_a_string(pickup.poles.count, len(guitar.strings))
        apart = other.get("poles.pole_spacing", layout.parameter_of("poles.pole_spacing").usual or (0.0, 0.0))
        here = {**other, "poles.pole_spacing": (0.5 * apart[0], 0.5 * apart[1])} if two else other
        if pickup.magnet.constants is None:
            found += _unusual(pickup, tuple(key for key in keys if not key.attr.startswith(lacks)), path, assumed, here)
        found += [
            f"{path.rstrip('.')} {sentence}" for sentence in (
                *_gaps(pickup, len(guitar.strings)), *_winding(pickup), *_halves(pickup, len(guitar.strings)),
            )
        ]  # fmt: skip
    found += _phase(guitar)
    found += _silent(guitar)
    return tuple(found)


def _unusual(
    record: object, keys: Keys, path: str, assumed: frozenset[str], other: Mapping[str, tuple[float, float]]
) -> Iterator[str]:
    for key in keys:
        if key.usual is None or key.attr.startswith("_") or key.attr in ("gap_bass", "gap_treble"):
            continue
        value = attrgetter(key.attr)(record)
        if value is None or f"{path}{home_of(key.attr)}{key.name}" in assumed:
            continue
        bench = float(Decimal(repr(value)) / key.unit.factor)
        low, high = other.get(key.attr, key.usual)
        if not low <= bench <= high:
            hint = " Is that the treble bleed?" if key.attr == "tone_cap" and bench < low else ""
            usual = f"usual are {show(low)} to {show(high)} {key.unit.word}"
            yield f"{path}{home_of(key.attr)}{key.name} is {show(bench)} {key.unit.word}; {usual}.{hint}"


def _phase(guitar: Guitar) -> Iterator[str]:
    """Ask about pickups that would be out of phase with the first: bar or winding turned, but not both."""
    senses = [pickup.magnet.flipped == (pickup.wound == "reverse") for pickup in guitar.pickups]
    for place, (pickup, sense) in enumerate(zip(guitar.pickups, senses)):
        if sense == senses[0]:
            continue
        first = guitar.pickups[0].name
        if sense:  # this one is as usual: the first is not
            has = f"bar and winding alike, and {first} has one of them turned"
        elif pickup.magnet.flipped:
            has = "its bar turned and its winding the usual way"
        else:
            has = "its winding reversed and its bar the usual way"
        yield (
            f"pickups[{place}] has {has}: with {first} it is out of phase. A "
            'hum-cancelling pickup beside it has both: magnet.flipped = true and wound = "reverse".'
        )


def _silent(guitar: Guitar) -> Iterator[str]:
    """Ask about a pickup that is on in no position: a netlist or a list of positions without it."""
    for place, pickup in enumerate(guitar.pickups):
        if not is_heard(guitar, pickup.name):
            yield f"pickups[{place}] is on in no position of the switch: nothing done to it is heard. Is it left out?"


def _winding(pickup: Pickup) -> Iterator[str]:
    """Ask about a window that its wire leaves more than three quarters empty."""
    for coil, turns in zip(pickup.coils, wound_turns(pickup)):
        share = fill(coil, turns)
        if 0.0 < share < LEAST_FILL:
            yield (
                f"has {turns:.0f} turns of AWG {coil.wire_awg} in one coil, which fill {share:.0%} of its window. Are "
                "resistance and gauge right, and is the winding as large as its sizes say?"
            )
            return


def _halves(pickup: Pickup, strings: int) -> Iterator[str]:
    """Ask about an odd number of strings over two halves: made with a string more under one of them, as a rule."""
    if strings % 2 and any(row.half for row in pickup.built.rows):
        yield (
            f"has two halves of as many rods each, and string {strings // 2 + 1} of {strings} lies over both. Is one "
            "half longer than the other? Such a pickup is not computed: what is said of that string is not of yours."
        )


def _pulls(guitar: Guitar) -> Iterator[str]:
    """Strings that hang slack or pull harder than any in use: a wrong note, or thick and thin the other way round."""
    for place, one in enumerate(guitar.strings):
        if one.unit_mass is None or one.pitch is None:
            continue
        pull = tension(unit_mass=one.unit_mass, frequency=one.pitch, length=guitar.scale_length)
        low, high = USUAL_PULL
        if not low <= pull <= high:
            yield (
                f"strings[{place}] at {show(one.pitch)} Hz is pulled with {pull:.0f} N; usual are {low:.0f} to "
                f"{high:.0f} N. Is tuning listed from string 1, the thin one?"
            )


def _knobs(guitar: Guitar) -> Iterator[str]:
    """Ask what several knobs of one pickup do when they are pulled at once, where the file does not say it."""
    for pickup, pulled, done in unsettled(guitar.controls.push_pull):
        both = " + ".join(pulled)
        taken = "silent, and is no position" if done == () else "nothing yet" if done is None else " + ".join(done)
        yield (
            f"controls.push_pull has {' and '.join(pulled)} for {pickup}: pulled at once they are taken as {taken}. "
            f'Which it is, an ohmmeter at the jack tells; say it: "{pickup}: {both} = parallel", or = silent.'
        )


def _gaps(pickup: Pickup, strings: int) -> Iterator[str]:
    if pickup.gap_treble > pickup.gap_bass:
        yield (
            f"has a larger gap on the treble side ({pickup.gap_treble * 1e3:.3g} mm) than on the bass side "
            f"({pickup.gap_bass * 1e3:.3g} mm). Are bass and treble swapped?"
        )
    for number, height in enumerate(over_cover(pickup), start=1):
        if height < OVER_COVER - 1e-9:
            who = f"string {number}" if has_own_poles(pickup, strings) else "a string"
            yield (
                f"has {who} {height * 1e3:.3g} mm over its cover: it would touch. Was its gap measured from the cover?"
            )
            return
    near = [
        (number, gap, safe)
        for number, (gap, safe) in enumerate(zip(string_gaps(pickup), safe_gaps(pickup)), start=1)
        if gap < safe - 1e-9
    ]
    if near:
        cover = " Was it measured to the cover?" if pickup.cover is not None else ""
        numbers, many = _listed([str(number) for number, _, _ in near]), "s" if len(near) > 1 else ""
        own = has_own_poles(pickup, strings)
        who = f"string{many} {numbers} at" if own else "strings at"
        gaps, safes = (_span([one[at] for one in near]) for at in (1, 2))
        poles = "its pole" if len(near) == 1 else "their poles"
        poles = poles if own else pole_words(numbers)
        yield (
            f"has {who} {gaps} mm from {poles}; under {safes} mm they are pulled or touch. "
            f"Was it measured with the string pressed at the last fret?{cover}"
        )


def _listed(words: list[str]) -> str:
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


def _span(metres: list[float]) -> str:
    """Return lengths in mm, from the least to the most."""
    low, high = (f"{one * 1e3:.3g}" for one in (min(metres), max(metres)))
    return low if low == high else f"{low} to {high}"
