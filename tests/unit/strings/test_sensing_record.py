"""What the coils take of a string's modes, against the integrals that it stands for, and what a record refuses."""

import numpy as np
import pytest

from polepiece.errors import InputError
from polepiece.strings import FluxRows, StringSensing
from tests.reference.gaussian_rows import gaussian_rows

LENGTH = 0.648


def law(**change):
    good = {"positions": [0.146, 0.164], "curvature": np.zeros(2), "third": np.zeros(2)}
    return FluxRows(**{**good, **change})


def test_a_row_with_a_gaussian_profile_takes_the_average_of_the_mode_under_it():
    # exp(-(k a)^2/2) is the Fourier transform of the profile; 24 nodes are exact to 1e-9 up to k a = 4
    record = gaussian_rows(positions=[0.146, 0.164], slope=[0.1, 0.2], across=[0.03, -0.01], aperture=[4e-3, 6e-3])
    number = np.array([1.0, 12.0, 60.0, 130.0])
    wave = number * np.pi / LENGTH
    shape = [np.sin(wave * x) * np.exp(-0.5 * (wave * a) ** 2) for x, a in ((0.146, 4e-3), (0.164, 6e-3))]
    towards, across = record.mode_shapes(number, LENGTH)
    assert towards[0] == pytest.approx(0.1 * shape[0] + 0.2 * shape[1], abs=1e-9)
    assert across[0] == pytest.approx(0.03 * shape[0] - 0.01 * shape[1], abs=1e-9)


def test_each_channel_takes_its_own_and_nothing_behind_the_fret():
    record = StringSensing(distance=[[0.1, 0.3], [0.2, 0.4]], towards=[[1.0, 2.0], [3.0, 4.0]])
    towards, across = record.mode_shapes([1.0, 2.0], 0.25)
    wave = np.array([1.0, 2.0]) * np.pi / 0.25
    assert towards == pytest.approx(np.stack([np.sin(0.1 * wave), 3.0 * np.sin(0.2 * wave)]))
    assert not np.any(across)
    assert record.channels == 2


def test_a_record_says_whether_its_law_is_straight_and_how_many_pickups_it_has():
    assert law().straight
    assert not law(curvature=[1.0, 0.0]).straight
    assert law(sideways_slope=[0.0, 1.0]).bends_sideways
    flux = law(group=[0, 1], third=[1.0, 0.0])
    record = gaussian_rows(positions=[0.15], slope=[0.1], flux=flux)
    assert (record.linear, record.groups, record.channels) == (False, 2, 1)
    assert (gaussian_rows(positions=[0.15], slope=[0.1]).groups) == 0


def test_a_record_is_read_only_and_refuses_what_cannot_be():
    record = gaussian_rows(positions=[0.15], slope=[0.1], flux=law())
    with pytest.raises(ValueError, match="read-only"):
        record.towards[0] = 1.0
    with pytest.raises(ValueError, match="read-only"):
        record.flux.third[0] = 1.0
    with pytest.raises(InputError, match="Are they in mm"):
        gaussian_rows(positions=[150.0], slope=[0.1])
    with pytest.raises(InputError, match="2 axes"):
        StringSensing(distance=[0.1, 0.2], towards=0.1)
    with pytest.raises(InputError, match="not finite"):
        law(third=np.array([np.nan, 0.0]))
    with pytest.raises(InputError, match="aperture"):
        law(aperture=5.0)
