"""The record round-trips; its values reach a guitar file; files that are no recordings are explained."""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from polepiece.errors import InputError, MeasurementError
from polepiece.evidence import measured_keys, with_measured
from polepiece.guitar import parse_guitar, read_guitar, write_guitar
from polepiece.measure import (
    Estimate,
    FileFact,
    MeasuredPickup,
    beside,
    description_of,
    read_signal,
    read_taken,
    sweep_for,
)
from polepiece.sound import write

DEMO = Path(__file__).parents[3] / "examples" / "demo.guitar.toml"


def estimate(name: str, value: float, unit: str, *, told: bool = True) -> Estimate:
    return Estimate(name=name, value=value, low=0.99 * value, high=1.01 * value, unit=unit, told=told)


RECORD = MeasuredPickup(
    date="2026-11-25", temperature=18.5, method="open and bridged", series_resistor=1e5, tolerance=0.01,
    files=(FileFact(role="pickup", name="neck.wav", sha256="ab" * 32),), frequency=np.array([100.0, 1e3]),
    impedance=np.array([8e3 + 3e3j, 1e4 + 2.5e4j]), low=np.array([8.4e3, 2.6e4]), high=np.array([8.7e3, 2.8e4]),
    estimates=(estimate("resistance", 7812.34, "ohm"), estimate("inductance_120_hz", 4.567, "H"),
               estimate("capacitance", 131.2e-12, "F")), notes=("a note",),
)  # fmt: skip


def test_a_record_goes_through_json_and_back() -> None:
    again = MeasuredPickup.from_dict(json.loads(json.dumps(RECORD.to_dict(), allow_nan=False)))
    assert again.to_dict() == RECORD.to_dict()
    assert np.array_equal(again.impedance, RECORD.impedance)
    assert not again.impedance.flags.writeable


def test_damaged_records_say_what_is_missing() -> None:
    body = RECORD.to_dict()
    with pytest.raises(MeasurementError, match="lacks 'files'"):
        MeasuredPickup.from_dict({k: v for k, v in body.items() if k != "files"})
    with pytest.raises(MeasurementError, match="is read"):
        MeasuredPickup.from_dict({**body, "schema": "other/1"})
    with pytest.raises(MeasurementError, match="damaged"):
        MeasuredPickup.from_dict({**body, "frequency_hz": ["x"]})
    with pytest.raises(InputError, match="write 2026-11-25"):
        replace(RECORD, date="25.11.2026")


def test_values_reach_the_guitar_file_and_are_assumed_no_more() -> None:
    guitar = read_guitar(DEMO)
    moved = with_measured(guitar, "neck", RECORD)
    pickup = moved.pickup("neck")
    assert (pickup.resistance, pickup.temperature, pickup.inductance) == (
        pytest.approx(7812.0),
        18.5,
        pytest.approx(4.567),
    )
    assert pickup.capacitance == pytest.approx(131.2e-12)
    gone = {one.path for one in guitar.assumed} - {one.path for one in moved.assumed}
    assert any(path.endswith("capacitance_pf") for path in gone)
    assert parse_guitar(write_guitar(moved)).pickup("neck").capacitance == pytest.approx(131.2e-12)
    assert moved.pickup("bridge") == guitar.pickup("bridge")


def test_what_was_not_told_is_not_handed_over() -> None:
    vague = replace(RECORD, estimates=(*RECORD.estimates[:2], estimate("capacitance", 1e-10, "F", told=False)))
    assert set(measured_keys(vague)) == {"resistance_kohm", "inductance_h", "temperature_c"}


def test_the_description_beside_a_signal(tmp_path: Path) -> None:
    signal = sweep_for(96000, duration=5.0)
    wav = tmp_path / "sweep.wav"
    with pytest.raises(InputError, match="no such file"):
        read_signal(wav)
    beside(wav).write_text(description_of(signal))
    assert read_signal(wav) == signal == read_signal(beside(wav))
    for bad in ("{}", "not json", '{"schema": "polepiece/sweep-signal/1"}', "[1]", "[" * 60_000,
                description_of(signal).replace('"repeats": 3', '"repeats": 1'),
                description_of(signal).replace('"repeats": 3', '"repeats": "x"')):  # fmt: skip
        beside(wav).write_text(bad)
        with pytest.raises(InputError, match=r"sweep\.wav\.json"):
            read_signal(wav)


def test_garbage_is_no_recording(tmp_path: Path) -> None:
    bad = tmp_path / "take.wav"
    bad.write_bytes(np.random.default_rng(0).bytes(4000))
    with pytest.raises(MeasurementError, match=r"take\.wav"):
        read_taken(bad, "pickup")
    write(tmp_path / "mono.wav", 0.1 * np.sin(np.arange(48000)), 48000)
    taken = read_taken(tmp_path / "mono.wav", "pickup")
    assert taken.samples.shape == (48000, 1)
    assert len(taken.fact.sha256) == 64
    assert taken.fact.name == "mono.wav"


def test_a_record_without_correlations_stays_readable() -> None:
    """As they were written before they were kept."""
    body = RECORD.to_dict()
    del body["together"]
    old = MeasuredPickup.from_dict(body)
    assert old.together == ()
    assert old.correlation("resistance", "capacitance") == 0.0
    assert old["resistance"] == RECORD["resistance"]
    tied = replace(old, together=(("resistance", "capacitance", -0.9),))
    again = MeasuredPickup.from_dict(json.loads(json.dumps(tied.to_dict())))
    assert again.correlation("capacitance", "resistance") == -0.9
