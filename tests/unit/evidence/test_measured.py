"""What a measurement tells replaces what was assumed: in the file, in the numbers, in the intervals."""

from dataclasses import replace

import numpy as np
import pytest

from polepiece.bench import Bench, impedance, predict
from polepiece.errors import GuitarFileError
from polepiece.evidence import with_measured
from polepiece.guitar import Guitar, known, parse_guitar, write_guitar
from polepiece.guitar.records import Measured
from polepiece.guitar.spread import draws
from polepiece.materials import catalogue
from polepiece.measure import Estimate, FileFact, MeasuredPickup
from polepiece.moves import apply, parse_changes

SHA = "ab" * 32


def record(resistance: float, inductance: float, capacitance: float, width: float = 0.01) -> MeasuredPickup:
    """A sweep that says so, each within ``width``."""

    def one(name: str, value: float, unit: str) -> Estimate:
        return Estimate(name=name, value=value, low=(1.0 - width) * value, high=(1.0 + width) * value, unit=unit)

    return MeasuredPickup(
        date="2026-11-27", temperature=20.0, method="open and bridged", series_resistor=1e5, tolerance=0.01,
        files=(FileFact(role="pickup", name="neck.wav", sha256=SHA),), frequency=np.array([100.0]),
        impedance=np.array([8e3 + 3e3j]), low=np.array([8e3]), high=np.array([9e3]),
        estimates=(one("resistance", resistance, "ohm"), one("inductance_120_hz", inductance, "H"),
                   one("capacitance", capacitance, "F")),
    )  # fmt: skip


@pytest.fixture(scope="module")
def told(guitar: Guitar, bench: Bench) -> Guitar:
    return with_measured(guitar, "neck", record(7900.0, 4.5, 120e-12), bench=bench)


def test_status_date_interval_and_hash_are_in_the_file(told: Guitar) -> None:
    again = parse_guitar(write_guitar(told))
    assert again == told
    by_key = {one.path.partition("].")[2]: one for one in again.measured}
    assert set(by_key) == {"resistance_kohm", "inductance_h", "capacitance_pf"}
    found = by_key["inductance_h"]
    assert (found.value, found.low, found.high) == (4.5, 4.455, 4.545)
    assert (found.date, found.method, found.files) == ("2026-11-27", "open and bridged", (SHA,))
    assert not {"pickups[0].inductance_h", "pickups[0].capacitance_pf"} & {one.path for one in again.assumed}


def test_the_model_has_the_measured_inductance(told: Guitar, guitar: Guitar, bench: Bench) -> None:
    assert bench.state(told, "neck").inductance_120hz_h == pytest.approx(4.5, rel=1e-3)  # four digits in the file
    bare = replace(told.pickup("neck"), capacitance=5e-12)  # so that Im Z / w is the coil's own inductance
    alone = replace(told, pickups=(bare, told.pickups[1]))
    assert impedance(alone, "neck", np.array([120.0]), bench=bench).inductance[0] == pytest.approx(4.5, rel=2e-3)
    assert bench.state(guitar, "neck").inductance_120hz_h > 5.0  # what it would have said


def test_the_next_bar_moves_the_inductance_as_the_steel_lets_it(told: Guitar, guitar: Guitar, bench: Bench) -> None:
    """Ferrite takes 12 % off the computed inductance, 9 to 12 % over the draws: less from steel of low permeability.

    A sweep far below the computed inductance speaks for such steel, and the next bar is computed with it.
    """
    swap = parse_changes(["magnet=ceramic-8"])
    ratio = {}
    for name, one in (("told", told), ("guitar", guitar)):
        after = apply(one, "neck", swap)
        ratio[name] = bench.state(after, "neck").inductance_120hz_h / bench.state(one, "neck").inductance_120hz_h
    sample = draws(200, 5)
    then, now = (
        np.array([x["inductance_120hz_h"] for x in bench.drawn(one, "neck", sample)])
        for one in (guitar, apply(guitar, "neck", swap))
    )
    like = np.abs(then / 4.5 - 1.0) < 0.1  # draws whose inductance happens to be about the measured one
    # 0.003: three quarters of what the steel's share of this inductance moves it by
    assert ratio["guitar"] + 0.003 < ratio["told"] < float((now / then).max())
    assert ratio["told"] < float(np.median((now / then)[like])) + 0.003  # the wire may have its share in it


def test_what_is_measured_on_another_bar_is_read_there(told: Guitar, guitar: Guitar, bench: Bench) -> None:
    """The file after a swap still knows the sweep of the old bar: the same numbers as the change made of it."""
    swapped = parse_guitar(write_guitar(apply(told, "neck", parse_changes(["magnet=ceramic-8"]))))
    back = apply(swapped, "neck", parse_changes(["magnet=alnico-2"]))
    assert bench.state(back, "neck").inductance_120hz_h == pytest.approx(4.5, rel=1e-3)


def test_a_second_measurement_replaces_the_first(told: Guitar, bench: Bench) -> None:
    again = with_measured(told, "neck", record(7900.0, 4.2, 120e-12), bench=bench)
    assert len(again.measured) == 3
    assert again.measured[-2].computed == told.measured[1].computed  # the model alone, not the first measurement
    assert bench.state(again, "neck").inductance_120hz_h == pytest.approx(4.2, rel=1e-3)


def test_intervals_of_the_state_are_those_of_the_measurement(told: Guitar, guitar: Guitar, bench: Bench) -> None:
    """90 % of the draws lie within the 1 % either way that was measured: 0.5 % of it is left to chance."""
    span, wide = bench.span(told, "neck", draws=400), bench.span(guitar, "neck", draws=400)
    for key, value in (("inductance_120hz_h", 4.5), ("dc_resistance_ohm", 7900.0)):
        low, high = span[key]
        assert low == pytest.approx(0.99 * value, rel=3e-3)
        assert high == pytest.approx(1.01 * value, rel=3e-3)
    assert np.ptp(span["inductance_120hz_h"]) < 0.2 * np.ptp(wide["inductance_120hz_h"])
    assert np.ptp(span["resonance_hz"]) < 0.5 * np.ptp(wide["resonance_hz"])


def test_a_wider_measurement_gives_wider_intervals(guitar: Guitar, bench: Bench) -> None:
    widths = []
    for width in (0.01, 0.05):
        one = with_measured(guitar, "neck", record(7900.0, 4.5, 120e-12, width), bench=bench)
        widths.append(float(np.ptp(bench.span(one, "neck", draws=64)["resonance_hz"])))
    assert widths[1] > 1.2 * widths[0]


@pytest.mark.parametrize("number", [3, 11, 26])
def test_intervals_shrink_and_still_hold_the_truth(guitar: Guitar, bench: Bench, number: int) -> None:
    """A guitar is drawn from what is assumed, measured, and its next bar predicted: narrower, and still true.

    The truth is one of the draws of another seed; its inductance and capacitance are what the sweep says.
    """
    truth = Bench(seed=777).drawn(guitar, "neck", [_draw(number)])[0]
    measured = record(truth["dc_resistance_ohm"], truth["inductance_120hz_h"], _capacitance(guitar, number))
    learnt = with_measured(guitar, "neck", measured, bench=bench)
    before, after = (bench.span(one, "neck", draws=128)["resonance_hz"] for one in (guitar, learnt))
    assert np.ptp(after) < 0.6 * np.ptp(before)
    assert after[0] < truth["resonance_hz"] < after[1]


def _draw(number: int):  # type: ignore[no-untyped-def]
    from polepiece.guitar.spread import Draw

    return Draw(number=number, seed=777)


def _capacitance(guitar: Guitar, number: int) -> float:
    """What a sweep finds across the coils in series: the lead's and half of each coil's, as that draw has them."""
    from polepiece.pickup.electrics import LEAD_CAPACITANCE, coil_capacitances

    grown = _draw(number).factor("winding capacitance", 0.4, 2.5)
    a, b = (c * grown for c in coil_capacitances(guitar.pickup("neck")))
    return float(LEAD_CAPACITANCE + a * b / (a + b))


@pytest.mark.parametrize("number", [5, 17])
def test_predictions_of_the_next_bar_are_narrower_and_true(guitar: Guitar, bench: Bench, number: int) -> None:
    """The pickup with ferrite in it, predicted from a sweep with alnico 2 in it."""
    swapped = apply(guitar, "neck", parse_changes(["magnet=ceramic-8"]))
    other = Bench(seed=777)
    was, will = (other.drawn(one, "neck", [_draw(number)])[0] for one in (guitar, swapped))
    measured = record(was["dc_resistance_ohm"], was["inductance_120hz_h"], _capacitance(guitar, number))
    learnt = apply(with_measured(guitar, "neck", measured, bench=bench), "neck", parse_changes(["magnet=ceramic-8"]))
    for key, left in (("resonance_hz", 0.6), ("inductance_120hz_h", 0.4)):
        wide, narrow = (bench.span(one, "neck", draws=128)[key] for one in (swapped, learnt))
        assert np.ptp(narrow) < left * np.ptp(wide)
        assert narrow[0] < will[key] < narrow[1]


def test_a_measured_field_narrows_the_level(guitar: Guitar, bench: Bench) -> None:
    """The bridge's bar may be charged either way; read at its poles, the field is known within 4 %."""
    entry = Measured(
        path="pickups[1].magnet.measured_gauss", value=400.0, low=384.0, high=416.0, computed=380.0, date="2026-11-27"
    )
    pickup = guitar.pickup("bridge")
    read = replace(pickup, magnet=replace(pickup.magnet, measured_gauss=(400.0,) * 6))
    learnt = replace(guitar, pickups=(guitar.pickups[0], read), measured=(entry,))
    swap = parse_changes(["magnet=alnico-2"])
    wide, narrow = (predict(one, "bridge", swap, draws=64, bench=bench).interval for one in (guitar, learnt))
    assert np.ptp(narrow["level_db"]) < 0.7 * np.ptp(wide["level_db"])
    gone = apply(learnt, "bridge", swap)
    assert gone.measured == ()  # the readings went with their bar
    drawn = bench.span(learnt, "bridge", draws=64)["field_mt.6"]
    nominal = bench.state(learnt, "bridge").field_mt[5] * 400.0 / 380.0
    assert drawn[0] < nominal < drawn[1]


def test_a_height_keeps_what_was_measured(told: Guitar) -> None:
    assert apply(told, "neck", parse_changes(["lower=0.3mm"])).measured == told.measured


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        ('path = "pickups[0].gap_bass_mm"\nvalue = 1\nlow = 1\nhigh = 1\ndate = "2026-11-27"', "must be pickups"),
        ('path = "pickups[3].inductance_h"\nvalue = 1\nlow = 1\nhigh = 1\ndate = "2026-11-27"', "must be pickups"),
        ('path = "pickups[0].inductance_h"\nvalue = 2\nlow = 3\nhigh = 4\ndate = "2026-11-27"', "must rise"),
        ('path = "pickups[0].inductance_h"\nvalue = 2\nlow = 2\nhigh = 2\ndate = "27.11.2026"', "write 2026-11-25"),
        ('path = "pickups[0].inductance_h"\nvalue = 2\nlow = 2\nhigh = 2', "date is missing"),
        ('path = "pickups[0].resistance_kohm"\nvalue = 8\nlow = 7\nhigh = 9\ndate = "2026-11-27"', "take this entry"),
    ],
)
def test_faults_of_the_file_are_named(lines: str, words: str) -> None:
    text = '[[pickups]]\nname = "p"\nposition = "neck"\nconstruction = "humbucker"\nresistance_kohm = 7.5\n'
    with pytest.raises(GuitarFileError, match=words):
        parse_guitar(f"{text}magnet.grade = 'alnico-2'\n[[measured]]\n{lines}\n")


def test_what_one_resistor_moves_is_drawn_together(guitar: Guitar, bench: Bench) -> None:
    """Closed form: with L and C moved oppositely by one resistor, LC and the resonance with nothing connected stay."""
    alike = (("resistance", "inductance_120_hz", 0.99), ("resistance", "capacitance", -0.99),
             ("inductance_120_hz", "capacitance", -0.99))  # fmt: skip
    spans = {}
    sample = draws(200, 3)
    for name, together in (("alone", ()), ("together", alike)):
        one = with_measured(guitar, "neck", replace(record(7900.0, 4.5, 120e-12, 0.05), together=together), bench=bench)
        assert parse_guitar(write_guitar(one)) == one
        pickup = one.pickup("neck")
        factors = np.array([[known.drawn_factor(one, pickup, key, draw) for key in known.SWEPT] for draw in sample])
        spans[name] = np.std(np.log(factors[:, 1] * factors[:, 2]))
        sizes = np.std(np.log(factors), axis=0)
        assert sizes == pytest.approx([0.05 / 1.645] * 3, rel=0.15)  # 200 draws: 5 % one standard deviation
        assert np.corrcoef(np.log(factors[:, 0]), np.log(factors[:, 1]))[0, 1] == pytest.approx(
            0.99 if together else 0.0, abs=0.2 if not together else 0.02
        )
    assert spans["together"] == pytest.approx(spans["alone"] * np.sqrt(1.0 - 0.99), rel=0.25)


def test_entries_of_different_recordings_are_independent(guitar: Guitar, bench: Bench) -> None:
    alike = (("resistance", "inductance_120_hz", 0.99),)
    told = with_measured(guitar, "neck", replace(record(7900.0, 4.5, 120e-12), together=alike), bench=bench)
    again = tuple(
        replace(one, files=("cd" * 32,)) if one.path.endswith("resistance_kohm") else one for one in told.measured
    )
    pairs = {}
    for name, entries in (("one", told.measured), ("two", again)):
        one = replace(told, measured=entries)
        pickup = one.pickup("neck")
        pairs[name] = [
            [known.drawn_factor(one, pickup, key, draw) for draw in draws(200, 3)]
            for key in (known.RESISTANCE, known.INDUCTANCE)
        ]
    assert np.corrcoef(*pairs["one"])[0, 1] > 0.97
    assert abs(np.corrcoef(*pairs["two"])[0, 1]) < 0.2


def test_at_one_resistance_thin_wire_has_fewer_turns(
    guitar: Guitar, bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    """R = turns x length x ohms a metre: turns are as wide as the wire is, L goes with their square, EMF with them.

    In a difference of two states of one pickup the turns go out of the level.
    """
    wire = catalogue.wire(42, "single")
    thick, thin = (one / wire.resistance_per_metre() for one in wire.resistance_spread)
    unit, sample = guitar.pickup("neck"), draws(400, 2)
    turns = np.array([known.drawn_turns(guitar, unit, draw) for draw in sample])
    low, high = np.quantile(turns, [0.05, 0.95])
    assert (low, high) == pytest.approx((1.0 / thin, 1.0 / thick), rel=0.02)
    some = sample[:40]
    swap = apply(guitar, "neck", parse_changes(["magnet=alnico-3"]))
    here, there = (bench.drawn(one, "neck", some) for one in (guitar, swap))
    monkeypatch.setattr("polepiece.bench.bench.drawn_turns", lambda *_: 1.0)
    still = Bench()
    same, same_swapped = (still.drawn(one, "neck", some) for one in (guitar, swap))

    def moved(key: str, a: list[dict[str, float]], b: list[dict[str, float]]) -> np.ndarray:
        return np.array([two[key] - one[key] for one, two in zip(a, b)])

    in_db = 20.0 * np.log10(turns[:40])
    # towards the resonance, which comes down with more turns, the response rises: some hundredths more than the EMF
    assert np.polyfit(in_db, moved("level_db", same, here), 1)[0] == pytest.approx(1.1, abs=0.15)
    grown = np.array([b["inductance_120hz_h"] / a["inductance_120hz_h"] for a, b in zip(same, here)])
    assert grown == pytest.approx(turns[:40] ** 2, rel=1e-9)
    paired = moved("level_db", here, there) - moved("level_db", same, same_swapped)
    assert np.max(np.abs(paired)) < 0.01


def test_turns_that_were_assumed_are_spread_as_assumed() -> None:
    """Without a resistance the file's default of 5000 turns stands for 4600 to 5600."""
    guitar = parse_guitar('[[pickups]]\nname = "neck"\nposition = "neck"\nconstruction = "humbucker"\n')
    turns = [known.drawn_turns(guitar, guitar.pickup("neck"), draw) for draw in draws(400, 2)]
    assert np.quantile(turns, [0.05, 0.95]) == pytest.approx([4600.0 / 5000.0, 5600.0 / 5000.0], rel=0.02)


def test_a_resistance_that_was_typed_is_a_multimeters(guitar: Guitar, bench: Bench) -> None:
    low, high = bench.span(guitar, "neck", draws=400)["dc_resistance_ohm"]
    assert (low, high) == pytest.approx((0.991 * 7900.0, 1.009 * 7900.0), rel=2e-3)  # 1 % limits: 0.9 % of them
