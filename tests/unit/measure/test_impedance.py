"""Z(f) of recordings against the netlist they were made from and against closed forms; recordings that are wrong."""

from dataclasses import replace

import numpy as np
import pytest

from polepiece.arrays import ComplexArray, FloatArray
from polepiece.errors import InputError, MeasurementError
from polepiece.measure import (
    InterfaceInput,
    fit_coil,
    impedance_of,
    measured_pickup,
    one_sweep,
    ratio_of,
    sweep_for,
)
from tests.reference.measured_bench import Interface, impedance, record
from tests.unit.measure.conftest import Sitting


def test_both_calibrations_give_the_impedance_of_the_netlist(sitting: Sitting) -> None:
    at = sitting.ratios
    truth = impedance(sitting.device, at["pickup"].frequency)
    for other in (
        {"opened": at["open"], "bridged": at["bridged"]},
        {"opened": at["open"], "known": at["known"], "known_resistor": sitting.interface.known},
    ):
        found = impedance_of(at["pickup"], series_resistor=sitting.interface.series, **other)  # type: ignore[arg-type]
        chance = np.abs(found.impedance - truth) ** 2 / (2.0 * found.deviation**2)
        # a mean square of 1 in standard deviations is perfect and the method's own share makes it less where noise is
        # low; the noise is known from some ten windows (25 %)
        assert float(np.mean(chance)) < 1.6
        quiet = found.deviation < 1e-3 * np.abs(truth)
        assert quiet.mean() > 0.6
        assert np.max(np.abs(found.impedance / truth - 1.0)[quiet]) < 4e-3


def test_sweeps_differ_by_what_lies_between_them(sitting: Sitting) -> None:
    """Two estimates of one variance, each from the recording itself; 200 bands hold their ratio within 20 %."""
    for name in ("open", "bridged", "known"):
        assert 0.8 < sitting.ratios[name].scatter < 1.25


def test_bounds_hold_the_magnitude_where_they_say(sitting: Sitting) -> None:
    at = sitting.ratios
    found = impedance_of(
        at["pickup"], series_resistor=sitting.interface.series, tolerance=0.0, opened=at["open"], bridged=at["bridged"]
    )
    low, high = found.magnitude_interval
    truth = np.abs(impedance(sitting.device, found.frequency))
    inside = float(np.mean((low <= truth) & (truth <= high)))
    assert inside > 0.85  # 90 % of 200 points: 0.85 is 2.4 standard deviations under it


def closed_form(hertz: FloatArray, *, coil: tuple[float, float], capacitance: float) -> ComplexArray:
    jw = 2j * np.pi * hertz
    return np.asarray(1.0 / (1.0 / (coil[0] + jw * coil[1]) + jw * capacitance))


def played_through(
    z: "ComplexArray | None", signal: object, interface: Interface, *, bridged: bool = False, size: int, rate: int
) -> FloatArray:
    """Play through a divider computed as a formula, without any netlist and without noise."""
    sweep = one_sweep(signal) * 0.25  # type: ignore[arg-type]
    played = np.zeros(size)
    for k in range(signal.repeats):  # type: ignore[attr-defined]
        begin = round((signal.silence + k * signal.period) * rate)  # type: ignore[attr-defined]
        played[begin : begin + len(sweep)] = sweep
    hertz = np.fft.rfftfreq(size, 1.0 / rate)
    hang = 1.0 / interface.input_resistance + 2j * np.pi * hertz * interface.input_capacitance
    across = 1.0 / (hang + (0.0 if z is None else 1.0 / z))
    share = np.ones(len(hertz), dtype=complex) if bridged else across / (interface.series + across)
    spectrum = np.fft.rfft(played)
    return np.stack([played, np.fft.irfft(spectrum * share, size)], axis=1)


@pytest.mark.parametrize(
    ("coil", "capacitance"),
    [((7.8e3, 0.0), 0.0), ((210.0, 0.1), 25.33e-12), ((6.5e3, 2.6), 90e-12), ((0.0, 0.0), 0.0)],
    ids=["resistor", "air coil", "pickup", "capacitor"],
)
def test_parts_of_closed_form(coil: tuple[float, float], capacitance: float) -> None:
    """R, L and C without noise: what is left is the method's own error, held under its constant (1e-4 of q)."""
    signal = sweep_for(48000, duration=4.0)
    rate, size = 48000, round(signal.length * 48000)
    interface = Interface()
    hertz = np.maximum(np.fft.rfftfreq(size, 1.0 / rate), 1e-3)
    z = (
        closed_form(hertz, coil=coil, capacitance=capacitance)
        if coil != (0.0, 0.0)
        else 9e3 + 1 / (2j * np.pi * hertz * 22e-9)
    )
    options = {"size": size, "rate": rate}
    q = ratio_of(played_through(z, signal, interface, **options), signal, sample_rate=rate)
    qo = ratio_of(played_through(None, signal, interface, **options), signal, sample_rate=rate)
    qb = ratio_of(played_through(None, signal, interface, bridged=True, **options), signal, sample_rate=rate,
                  through=True)  # fmt: skip
    y = (q.ratio - qo.ratio) / (qb.ratio * interface.series)
    at = q.frequency
    true = (
        closed_form(at, coil=coil, capacitance=capacitance)
        if coil != (0.0, 0.0)
        else 9e3 + 1 / (2j * np.pi * at * 22e-9)
    )
    error = np.abs(y - 1.0 / true) * interface.series / np.abs(q.ratio)
    assert np.max(error) < 1e-4


def test_drift_polarity_and_another_rate_of_recording_do_not_matter(sitting: Sitting) -> None:
    from tests.reference.measured_bench import transfers

    signal = sitting.signal
    interface = replace(sitting.interface, drift=45e-6, turned=True)
    solved = transfers(sitting.device, interface)
    again = record("pickup", signal, interface, solved, np.random.default_rng(9))
    found = ratio_of(again, signal, sample_rate=48000)
    assert found.reversed_polarity
    assert found.drift == pytest.approx(45e-6, abs=2e-6)  # a sample over two periods of 4 s is 2.6e-6
    before = sitting.ratios["pickup"]
    assert np.median(np.abs(found.ratio / before.ratio - 1.0)) < 3e-4
    assert any("turned over" in note for note in found.notes)


def test_hum_is_seen_and_its_lines_carry_wider_bounds(sitting: Sitting) -> None:
    from tests.reference.measured_bench import transfers

    interface = replace(sitting.interface, hum=10.0 ** (-55.0 / 20.0))
    solved = transfers(sitting.device, interface)
    hummed = record("pickup", sitting.signal, interface, solved, np.random.default_rng(9))
    found = ratio_of(hummed, sitting.signal, sample_rate=48000)
    assert any("Hum of 50 Hz" in note for note in found.notes)
    on = int(np.argmin(np.abs(found.frequency - 150.0)))
    off = int(np.argmin(np.abs(found.frequency - 125.0)))
    relative = found.deviation / np.abs(found.ratio)
    assert relative[on] > 5.0 * relative[off]


def fault(samples: FloatArray, sitting: Sitting) -> str:
    with pytest.raises(MeasurementError) as caught:
        ratio_of(samples, sitting.signal, sample_rate=48000, where="take.wav")
    assert str(caught.value).startswith("take.wav: ")
    return str(caught.value)


def test_wrong_recordings_are_explained(sitting: Sitting) -> None:
    good = sitting.recordings["pickup"]
    assert "one channel" in fault(good[:, :1], sitting)
    assert "Exchange the leads" in fault(good[:, ::-1].copy(), sitting)
    clipped = np.clip(good * 6.0, -1.0, 1.0)
    assert "channel 1 clips" in fault(clipped, sitting)
    silent = good.copy()
    silent[:, 1] = 1e-7
    assert "channel 2 is silent" in fault(silent, sitting)
    time = np.arange(len(good)) / 48000.0
    humming = good.copy()
    humming[:, 1] += 0.5 * np.sin(2.0 * np.pi * 50.0 * time)
    assert "hum of 50 Hz" in fault(humming, sitting)


def test_calibrations_that_do_not_suffice_or_belong_together(sitting: Sitting) -> None:
    at = sitting.ratios
    with pytest.raises(InputError, match="do not suffice"):
        impedance_of(at["pickup"], series_resistor=1e5, opened=at["open"])
    with pytest.raises(InputError, match="without calibration the input's resistance"):
        impedance_of(at["pickup"], series_resistor=1e5)
    with pytest.raises(InputError, match="both its recording and its ohms"):
        impedance_of(at["pickup"], series_resistor=1e5, opened=at["open"], known=at["known"])
    with pytest.raises(InputError, match="100 kohm is 100e3"):
        impedance_of(at["pickup"], series_resistor=50.0, opened=at["open"], bridged=at["bridged"])
    with pytest.raises(InputError, match=r"1 % is 0\.01"):
        impedance_of(at["pickup"], series_resistor=1e5, tolerance=1.0, opened=at["open"], bridged=at["bridged"])
    with pytest.raises(MeasurementError, match="less than nothing"):
        impedance_of(at["open"], series_resistor=1e5, opened=at["pickup"], bridged=at["bridged"])
    other = replace(at["open"], frequency=at["open"].frequency * 2.0)
    with pytest.raises(InputError, match="different sample rates"):
        impedance_of(at["pickup"], series_resistor=1e5, opened=other, bridged=at["bridged"])


def test_without_calibration_the_bounds_are_wide_and_hold(sitting: Sitting) -> None:
    from tests.reference.measured_bench import transfers

    equal = replace(sitting.interface, gains=(0.8, 0.81))
    solved = transfers(sitting.device, equal)
    made = record("pickup", sitting.signal, equal, solved, np.random.default_rng(4))
    found = impedance_of(
        ratio_of(made, sitting.signal, sample_rate=48000), series_resistor=equal.series,
        interface=InterfaceInput(resistance=1e6, capacitance=200e-12, capacitance_tolerance=0.3),
    )  # fmt: skip
    low, high = found.magnitude_interval
    truth = np.abs(impedance(sitting.device, found.frequency))
    audible = found.frequency < 3e3
    assert np.mean(((low <= truth) & (truth <= high))[audible]) > 0.9
    assert np.median((high - low)[audible] / truth[audible]) > 0.05
    assert any("Without calibration" in note for note in found.notes)


def test_inputs_of_unequal_gain_are_not_taken_for_exchanged_leads(sitting: Sitting) -> None:
    """Nothing connected divides by 1.1 only, so a pickup channel 4 dB more sensitive carries more: no fault."""
    louder = sitting.recordings["open"].copy()
    louder[:, 0] *= 0.63
    found = ratio_of(louder, sitting.signal, sample_rate=48000)
    assert float(np.median(np.abs(found.ratio))) < 1.0


def test_an_offset_of_the_inputs_is_no_noise(sitting: Sitting) -> None:
    """Direct current is below what is read: 5 % of full scale on either input leaves the ratio where it was."""
    found = ratio_of(sitting.recordings["pickup"] + np.array([0.05, -0.03]), sitting.signal, sample_rate=48000)
    before = sitting.ratios["pickup"]
    assert np.max(np.abs(found.ratio / before.ratio - 1.0)) < 1e-4  # what the ratio is computed to
    assert found.notes == before.notes


def test_what_clipped_ahead_of_full_scale_is_refused(sitting: Sitting) -> None:
    """Flat tops at any level; a file made quieter after it had clipped looks the same."""
    good = sitting.recordings["pickup"]
    assert "channel 1 clips" in fault(np.clip(good, -0.9 * good.max(), 0.9 * good.max()), sitting)
    assert "channel 1 clips" in fault(np.clip(good, -1.0, 0.95 * good.max()), sitting)  # one side only
    sixteen = np.rint(good * 32768.0) / 32768.0  # the steps of 16 bits are no flat tops
    assert ratio_of(sixteen, sitting.signal, sample_rate=48000).sweeps == 3


def test_one_input_recorded_twice_is_said(sitting: Sitting) -> None:
    assert "both channels are the same" in fault(sitting.recordings["pickup"][:, [0, 0]], sitting)


def test_two_takes_in_one_file_are_said(sitting: Sitting) -> None:
    good = sitting.recordings["pickup"]
    found = ratio_of(np.concatenate([good, good[: len(good) // 3], good]), sitting.signal, sample_rate=48000)
    assert found.sweeps == 3
    assert any(note.startswith("4 more sweeps than the signal has") for note in found.notes), found.notes


def test_lost_samples_are_said(sitting: Sitting) -> None:
    """Three sweeps of 3 s, 1000 samples gone in the second and in the third: no two end a period apart."""
    good = sitting.recordings["pickup"]
    parts = good[: 6 * 48000], good[6 * 48000 + 1000 : 10 * 48000], good[10 * 48000 + 1000 :]
    shorter = fault(np.concatenate(parts), sitting)
    assert "not 4 s apart" in shorter and "samples lost" in shorter


def test_exchanged_calibrations_and_touched_knobs_are_explained(sitting: Sitting) -> None:
    at = sitting.ratios

    def words(pickup: str, opened: str, bridged: str, gain: float = 1.0) -> str:
        given = {name: at[name] for name in (pickup, opened, bridged)}
        clip = replace(given[bridged], ratio=given[bridged].ratio / gain)
        with pytest.raises((MeasurementError, InputError)) as caught:
            impedance_of(given[pickup], series_resistor=1e5, opened=given[opened], bridged=clip)
        return str(caught.value)

    assert "exchanged" in words("pickup", "bridged", "open") and "over frequency" in words("pickup", "bridged", "open")
    assert "over frequency" in words("bridged", "open", "pickup")
    assert "same file" in words("pickup", "pickup", "bridged")
    assert "cannot be" in words("pickup", "open", "bridged", gain=0.5)  # 6 dB down between the two calibrations


@pytest.mark.parametrize("gain_db", [1.0, 3.0])
def test_a_knob_turned_before_the_pickup_is_no_pickup(sitting: Sitting, gain_db: float) -> None:
    """The open recording no longer fits: near the resonance what is left is nothing a coil can have."""
    at = sitting.ratios
    turned = replace(at["pickup"], ratio=at["pickup"].ratio / 10.0 ** (gain_db / 20.0))
    with pytest.raises(MeasurementError, match="gain knobs"):
        spectrum = impedance_of(turned, series_resistor=1e5, opened=at["open"], bridged=at["bridged"])
        fit = fit_coil(spectrum)
        measured_pickup(
            spectrum, fit, date="2026-11-28", temperature=20.0, series_resistor=1e5, tolerance=0.01, files=()
        )


def test_a_wrong_resistor_is_questioned(sitting: Sitting) -> None:
    """10k typed for 100k: a tenth of everything; the multimeter contradicts it."""
    at = sitting.ratios
    wrong = impedance_of(at["pickup"], series_resistor=1e4, opened=at["open"], bridged=at["bridged"])
    assert any("Is the series resistor what was given?" in note for note in wrong.notes)
    meter = (sitting.device.resistance, 40.0)
    assert any("The multimeter reads 7.8 kohm" in note for note in fit_coil(wrong, resistance=meter).notes)
    right = impedance_of(at["pickup"], series_resistor=1e5, opened=at["open"], bridged=at["bridged"])
    assert not any("multimeter" in note for note in fit_coil(right, resistance=meter).notes)
    assert not any("Is the series resistor" in note for note in right.notes)
