"""A recorded sweep that is dropped on Prove: measured from its bytes, without a terminal."""

from collections.abc import Awaitable, Callable
from dataclasses import replace

import numpy as np
import pytest
from nicegui import ui
from nicegui.testing import User

from polepiece.app.hear.behind import CALIBRATION_LABEL, kept_recordings
from polepiece.app.prove import proofs
from polepiece.app.prove.sweep_bench import MISSING, SweepBench
from polepiece.app.prove.sweep_work import Bench, File, measure_sweep
from polepiece.app.server import shared
from polepiece.app.server.desk import Desk
from polepiece.app.sheet.log import SheetKey
from polepiece.arrays import ComplexArray, FloatArray
from polepiece.errors import InputError, MeasurementError
from polepiece.measure import excitation, sweep_for
from polepiece.measure.estimate import named
from polepiece.sound import to_bytes
from tests.app.conftest import at_rest

RATE = 44_100
SERIES, ACROSS, CABLE = 100e3, 1e6, 220e-12  # ohm, ohm, F: resistor, input of the interface, input and cable
COIL = {"resistance": 7.9e3, "inductance": 3.2, "capacitance": 130e-12}
ADDRESS = "/prove?guitar=1&pickup=neck&change=magnet%3Dalnico-3"


def side_by_side(*admittances: ComplexArray) -> ComplexArray:
    return 1.0 / sum(admittances, np.zeros_like(admittances[0]))


def recorded(name: str, *, coil: bool = False, bridged: bool = False, seed: int = 5, cable: float = CABLE) -> File:
    """Source and pickup side of a coil of R, L and C behind a resistor, in closed form; bridged: both on the source.

    Every ``seed`` is noise of another take.
    """
    played = 0.5 * excitation(sweep_for(RATE))
    frequency = np.fft.rfftfreq(len(played), 1.0 / RATE)
    s = 2j * np.pi * np.maximum(frequency, 1e-3)
    input_ = np.full_like(s, 1.0 / ACROSS) + s * cable
    device = 1.0 / (COIL["resistance"] + s * COIL["inductance"]) + s * COIL["capacitance"]
    there = side_by_side(input_, device) if coil else 1.0 / input_
    behind: FloatArray = np.fft.irfft(np.fft.rfft(played) * (1.0 if bridged else there / (there + SERIES)), len(played))
    noise = np.random.default_rng(seed).normal(0.0, 1e-5, (len(played), 2))
    return name, to_bytes(np.stack([played, behind], axis=1) + noise, RATE, container="WAV")


def test_resistance_and_inductance_are_found_again() -> None:
    files = {"open": recorded("open.wav"), "bridged": recorded("clip.wav", bridged=True)}
    files["pickup"] = recorded("neck.wav", coil=True)
    told: list[str] = []
    found = measure_sweep(
        lambda *said: told.append(said[2]), files, Bench(resistor=SERIES, temperature=21.0), "2026-11-30"
    )
    for name, value in (("resistance", COIL["resistance"]), ("inductance_120_hz", COIL["inductance"])):
        one = named(found.estimates, name)
        assert one.low <= value <= one.high
        assert one.high - one.low < 0.06 * value  # limits of the resistor, 1 % to both sides, and what noise leaves
    assert found.temperature == 21.0
    assert [one.role for one in found.files] == ["open", "bridged", "pickup"]
    assert told[-1] == "fitting the coil"


def test_a_recording_of_the_pickup_is_needed() -> None:
    with pytest.raises(InputError, match="with the pickup connected"):
        measure_sweep(lambda *_: None, {}, Bench(resistor=SERIES), "2026-11-30")


async def test_calibrations_are_found_again_and_are_nothing_to_play(page_of: Callable[[str], Awaitable[User]]) -> None:
    await page_of(ADDRESS)
    book = shared.room().notebook
    state = book.states(1)[-1]
    key = SheetKey(guitar_id=1, state=state.uuid, pickup="neck", changes=("magnet=alnico-3",))
    files = {"open": recorded("open.wav"), "bridged": recorded("clip.wav", bridged=True)}
    for role, (name, data) in files.items():
        label = f"{CALIBRATION_LABEL}{name}"
        digest = book.keep_sound(data, label=label, kind="wav", state_id=state.id)
        proofs.keep(book, key, state.id, f"calibration.{role}", {"sha256": digest, "name": name}, "given")
    proofs.keep(book, key, state.id, "sweep-bench.resistor", "330", "typed")
    user = await page_of(ADDRESS)  # as after a reload, or on another day
    await user.should_see("with nothing connected: open.wav")
    await user.should_see("with the resistor bridged: clip.wav")

    async def keep(*_: object) -> None:
        raise AssertionError("reading changes nothing")

    there, bench = SweepBench(proofs.proof_of(book, key), keep, state.id).read()
    assert there == files
    assert (bench.resistor, bench.input_resistance) == (330e3, None)
    assert kept_recordings(Desk.at("1", "neck")) == []
    user.find(marker="drop-open").click()
    await user.should_not_see("with nothing connected: open.wav")
    assert set(proofs.proof_of(book, key).calibrations) == {"bridged"}


async def given(user: User, mark: str, file: File) -> None:
    (upload,) = user.find(marker=mark).elements
    await upload.handle_uploads([ui.upload.SmallFileUpload(file[0], "audio/wav", file[1])])
    await at_rest()


async def test_what_is_missing_is_said_beside_its_field_in_the_fold_that_opens(
    page_of: Callable[[str], Awaitable[User]],
) -> None:
    user = await page_of(ADDRESS)
    (fold,) = [
        one for one in user.find(kind=ui.element).elements if one.tag == "details" and "sweep-open" in marks(one)
    ]
    assert not fold.props["open"]
    await given(user, "sweep-before", ("neck.wav", b"not looked at"))
    await user.should_see("which is open now")
    await user.should_see(MISSING)
    assert fold.props["open"]
    user.find(marker="sweep-input").trigger("enter", "1")
    await user.should_not_see(MISSING)


def marks(box: ui.element) -> set[str]:
    return {mark for one in box.descendants() for mark in one._markers}


def test_a_cable_of_no_capacitance_is_refused_with_the_field_that_says_it() -> None:
    """Of the usual input and cable 50 to 350 pF would be taken off, and less than nothing is left of the winding's."""
    swept = {"pickup": recorded("neck.wav", coil=True, cable=0.0)}
    bench = Bench(resistor=SERIES, input_resistance=ACROSS)
    with pytest.raises(MeasurementError, match=r"no pickup's impedance.*under Calibration say it"):
        measure_sweep(lambda *_: None, swept, bench, "2026-11-30")
    found = measure_sweep(lambda *_: None, swept, replace(bench, input_capacitance=0.0), "2026-11-30")
    one = named(found.estimates, "inductance_120_hz")
    assert one.low <= COIL["inductance"] <= one.high


async def test_the_page_asks_for_what_it_needs_and_hands_out_the_tone(
    page_of: Callable[[str], Awaitable[User]],
) -> None:
    user = await page_of(ADDRESS)
    await user.should_see("save the tone to play (WAV)")
    await user.should_see("Nothing is proven yet")
    await user.should_not_see("polepiece measure impedance")  # no terminal is needed
