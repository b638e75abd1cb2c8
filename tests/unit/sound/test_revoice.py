"""Re-voicing: identity, level, magnitude and phase of real networks, no pre-ringing, every rate."""

import numpy as np
import pytest
from scipy import signal

from polepiece.circuit import ControlCircuit, Load, PickupCircuit, loaded_response
from polepiece.errors import InputError
from polepiece.sound import PickupResponse, ratio_filter, revoice
from polepiece.sound.revoice import apply_filter, minimum_phase
from tests.reference.near import assert_near

GRID = np.geomspace(20.0, 24e3, 260)


def network(inductance=4.7, *, resistance=7600.0, capacitance=600e-12, load=200e3, gain=1.0, grid=GRID):
    """Second-order pickup with cable and controls (Zollner 5.5.4)."""
    s = 2j * np.pi * grid
    value = gain / (
        1.0 + resistance / load + s * (resistance * capacitance + inductance / load) + s**2 * inductance * capacitance
    )
    return PickupResponse(frequency=grid, value=value)


def response_of(taps, frequency, rate):
    return np.exp(-2j * np.pi * np.outer(frequency, np.arange(taps.size)) / rate) @ taps


OLD, NEW = network(4.7), network(3.6, resistance=6800.0)


@pytest.mark.parametrize("rate", [44100, 48000, 88200, 96000, 176400, 192000])
@pytest.mark.parametrize("channels", [1, 2])
def test_equal_responses_give_the_recording_back(rate, channels):
    sound = np.random.default_rng(1).standard_normal((rate // 2, channels)).squeeze()
    back = revoice(sound, sample_rate=rate, old=OLD, new=OLD)
    assert back.shape == sound.shape
    assert np.max(np.abs(back - sound)) < 1e-9


def test_a_pure_gain_is_exact_level_included():
    sound = np.random.default_rng(2).standard_normal(30000)
    louder = PickupResponse(frequency=OLD.frequency, value=1.7 * OLD.value)
    assert revoice(sound, sample_rate=48000, old=OLD, new=louder) == pytest.approx(1.7 * sound, abs=1e-9)


@pytest.mark.parametrize("rate", [44100, 48000, 96000, 192000])
def test_the_filter_has_magnitude_and_phase_of_the_ratio_of_two_networks(rate):
    # passive low-passes are minimum phase, so the phase must come out by itself; 0.05 dB from the floor of
    # -60 dB
    made = ratio_filter(OLD, NEW, sample_rate=rate)
    frequency = np.geomspace(40.0, 12e3, 60)
    error = response_of(made.taps, frequency, rate) / (NEW.at(frequency) / OLD.at(frequency))
    assert np.max(np.abs(20.0 * np.log10(np.abs(error)))) < 0.05
    assert np.max(np.abs(np.angle(error))) < np.radians(1.0)
    assert made.worst_error_db < 0.01
    assert made.largest_gain_db < 20.0


def test_the_minimum_phase_of_a_known_filter_is_that_filter():
    # a low-pass with all zeros inside the circle is its own minimum-phase version
    b, a = signal.butter(2, 0.2)
    b = np.convolve([1.0, 0.5], [1.0, 0.3]) * 0.1
    known = signal.lfilter(b, a, np.r_[1.0, np.zeros(4095)])
    magnitude = np.abs(np.fft.rfft(known))
    assert minimum_phase(magnitude) == pytest.approx(known, abs=1e-12)


def test_nothing_rings_before_an_attack():
    sound = np.zeros(48000)
    sound[20000] = 1.0
    changed = revoice(sound, sample_rate=48000, old=OLD, new=NEW)
    assert np.max(np.abs(changed[:20000])) < 1e-12  # round-off of the transforms only
    assert np.argmax(np.abs(changed)) - 20000 < 10


def test_there_and_back_is_the_recording():
    rng = np.random.default_rng(5)
    band = signal.butter(4, [80.0, 6000.0], "bandpass", fs=48000, output="sos")
    sound = signal.sosfilt(band, rng.standard_normal(96000))
    back = revoice(revoice(sound, sample_rate=48000, old=OLD, new=NEW), sample_rate=48000, old=NEW, new=OLD)
    assert np.std(back - sound) < 2e-3 * np.std(sound)  # the two floors differ: -54 dB


def test_where_the_old_response_has_no_energy_the_noise_is_not_pulled_up():
    dull = network(4.7, capacitance=20e-9)  # tone control shut: 50 dB down at 10 kHz
    made = ratio_filter(dull, NEW, sample_rate=48000, floor_db=-40.0)
    wanted = abs(NEW.at(20e3) / dull.at(20e3))
    assert 20.0 * np.log10(wanted) > 25.0
    assert abs(response_of(made.taps, np.array([20e3]), 48000)[0]) < wanted / 4.0
    assert made.regularised_db > 10.0
    # and where it has energy the ratio is met
    low = np.array([100.0, 500.0])
    met = np.abs(response_of(made.taps, low, 48000) * dull.at(low) / NEW.at(low))
    assert met == pytest.approx(1.0, rel=0.01)


def test_chunks_leave_no_seam():
    rng = np.random.default_rng(6)
    sound, taps = rng.standard_normal(200001), rng.standard_normal(3000) * np.exp(-np.arange(3000) / 300.0)
    assert_near(apply_filter(sound, taps), signal.oaconvolve(sound, taps)[:200001], 1e-10)


@pytest.mark.parametrize("count", [1, 2, 100, 65536, 61217, 61218])
def test_any_length_works(count):
    taps = ratio_filter(OLD, NEW, sample_rate=48000).taps
    sound = np.random.default_rng(count).standard_normal(count)
    expected = signal.fftconvolve(sound, taps)[:count]
    assert_near(apply_filter(sound, taps), expected, 1e-11)


def test_channels_are_alike_and_float32_stays():
    sound = np.random.default_rng(7).standard_normal((20000, 2)).astype(np.float32)
    both = revoice(sound, sample_rate=48000, old=OLD, new=NEW)
    assert both.dtype == np.float32
    left = revoice(sound[:, 0], sample_rate=48000, old=OLD, new=NEW)
    assert np.array_equal(both[:, 0], left)


def test_a_note_recorded_through_one_network_becomes_the_note_through_the_other():
    # the recordings are made without the module's filter: sines scaled by the two networks at their
    # frequencies
    rate, time = 48000, np.arange(48000) / 48000
    partials = [(110.0 * n, 1.0 / n) for n in range(1, 60)]

    def recorded(response):
        return sum(
            a * np.abs(response.at(f)) * np.cos(2 * np.pi * f * time + np.angle(response.at(f))) for f, a in partials
        )

    found = revoice(recorded(OLD), sample_rate=rate, old=OLD, new=NEW)
    settled = slice(8000, None)  # longer than the filter
    error = np.std(found[settled] - recorded(NEW)[settled]) / np.std(recorded(NEW)[settled])
    assert error < 10 ** (-60 / 20)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"sample_rate": 48.0}, "Is it in kHz"),
        ({"sample_rate": 8000.0}, "re-voicing works from"),
        ({"floor_db": 60.0}, "allowed are -160"),
        ({"new": network(grid=np.geomspace(30e3, 60e3, 20))}, "less than an octave"),
    ],
)
def test_what_cannot_work_is_refused(change, words):
    arguments = {"old": OLD, "new": NEW, "sample_rate": 48000.0, **change}
    with pytest.raises(InputError, match=words):
        ratio_filter(arguments.pop("old"), arguments.pop("new"), **arguments)


def test_samples_must_be_floating_point():
    with pytest.raises(InputError, match="full scale"):
        revoice(np.zeros(100, dtype=np.int16), sample_rate=48000, old=OLD, new=NEW)
    with pytest.raises(InputError, match="not empty"):
        revoice(np.zeros(0), sample_rate=48000, old=OLD, new=NEW)


POTS = {"volume_pot": 500e3, "tone_pot": 500e3, "tone_capacitor": 22e-9}


def lossy_circuit(grid, *, inductance, controls, cable):
    """A coil with eddy currents (semi-inductor) behind real controls and a cable."""
    w = 2.0 * np.pi * grid
    impedance = 7600.0 + 1j * w * inductance + 40.0 * np.sqrt(1j * w)
    pickup = PickupCircuit(impedance=impedance[None, None, :], capacitance=110e-12, controls=controls)
    load = Load(cable_capacitance=cable, input_resistance=1e6)
    return PickupResponse(frequency=grid, value=loaded_response(grid, pickup, load=load).transfer[0])


def test_the_phase_comes_out_for_whole_circuits_with_losses_tone_and_bleed():
    # every stage is passive: the ratio must be minimum phase; 1 degree is what the guess above 24 kHz leaves
    old = lossy_circuit(GRID, inductance=4.4, controls=ControlCircuit(**POTS, tone_setting=4.0), cable=700e-12)
    new = lossy_circuit(
        GRID,
        inductance=3.1,
        controls=ControlCircuit(**POTS, volume_setting=7.0, bleed_capacitor=1e-9, bleed_resistor=150e3),
        cable=400e-12,
    )
    made = ratio_filter(old, new, sample_rate=96000)
    frequency = np.geomspace(60.0, 8e3, 50)
    error = response_of(made.taps, frequency, 96000) / (new.at(frequency) / old.at(frequency))
    assert np.max(np.abs(20.0 * np.log10(np.abs(error)))) < 0.01
    assert np.max(np.abs(np.angle(error))) < np.radians(1.0)
