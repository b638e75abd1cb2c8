"""A small room: every image against its own sum, its reverberation against Eyring's, and the direct sound untouched."""

from dataclasses import replace
from itertools import product

import numpy as np
import pytest

from polepiece.errors import InputError
from polepiece.sound import InRoom, through_chain
from polepiece.sound.room import FINE, OCTAVES, SMALL_ROOM, SPEED, echoes, octave_weights, room_response

RATE = 48000


def test_echoes_are_the_images_one_by_one() -> None:
    room = replace(SMALL_ROOM, seconds=0.05)
    found = echoes(room, RATE)
    direct = np.linalg.norm(np.subtract(room.source, room.listener))
    left = np.sqrt(1.0 - room.absorption)
    slowly = np.zeros_like(found)
    for parity in product((0, 1), repeat=3):
        for order in product(range(-7, 8), repeat=3):
            place = [(1 - 2 * p) * s + 2 * m * long for p, m, s, long in zip(parity, order, room.source, room.size)]
            r = np.linalg.norm(np.subtract(place, room.listener))
            k = round((r - direct) / SPEED * RATE * FINE)
            if k < found.shape[1] and r < direct + SPEED * room.seconds:
                hits = [abs(m - p) for p, m in zip(parity, order)] + [abs(m) for m in order]
                walls = [0, 2, 4, 1, 3, 5]
                slowly[:, k] += direct / r * np.prod([left[w] ** h for w, h in zip(walls, hits)], axis=0)
    assert found == pytest.approx(slowly, rel=1e-9, abs=1e-12)
    assert found[:, 0] == pytest.approx(np.ones(len(OCTAVES)))


def test_the_tail_dies_as_eyring_says() -> None:
    """Within a factor of 1.7: the law is of a diffuse field, and a box that scatters nothing has paths that miss
    its soft walls."""
    room = SMALL_ROOM
    said = room.reverberation()
    for band, fine in enumerate(echoes(room, RATE)):
        energy = np.cumsum(fine[::-1] ** 2)[::-1]  # Schroeder 1965
        level = 10.0 * np.log10(energy / energy[0])
        time = np.arange(level.size) / (RATE * FINE)
        part = (time > 0.03) & (time < 0.25)
        fall = -np.polyfit(time[part], level[part], 1)[0]
        assert 0.9 < 60.0 / fall / said[band] < 1.7


def test_weights_add_up_to_one_and_the_direct_sound_stays() -> None:
    assert octave_weights(np.geomspace(10.0, 24e3, 400)).sum(axis=0) == pytest.approx(np.ones(400))
    taps = room_response(SMALL_ROOM, RATE)
    first = int(1.2e-3 * RATE)  # the floor's image comes 1.4 ms later
    assert taps[0] == pytest.approx(1.0, abs=0.02)
    assert np.max(np.abs(taps[1:first])) < 0.02  # what octaves without phase ring ahead of a reflection
    power = np.abs(np.fft.rfft(taps, 1 << 17)) ** 2
    reached = 10.0 * np.log10(np.mean(power[np.fft.rfftfreq(1 << 17, 1.0 / RATE) > 100.0]))
    assert 3.0 < reached < 10.0  # 1.5 m away a small room is louder than the box itself


def test_a_room_comes_last_and_nothing_clips() -> None:
    sound = np.zeros(RATE)
    sound[100] = 0.5
    dry = through_chain(sound, RATE, "clean")
    wet = through_chain(sound, RATE, "clean", loudspeaker=InRoom())
    taps = room_response(SMALL_ROOM, RATE)
    expected = np.convolve(dry, taps)[: sound.size]
    scale = float(wet @ expected / (expected @ expected))
    assert wet == pytest.approx(scale * expected, abs=1e-6 * np.max(np.abs(wet)))
    loud = through_chain(np.sign(np.sin(np.arange(RATE) * 0.02)) * 5.0, RATE, "driven", loudspeaker=InRoom())
    assert np.max(np.abs(loud)) <= 10.0 ** (-1.0 / 20.0)


@pytest.mark.parametrize(
    ("change", "said"),
    [({"source": (9.0, 1.0, 1.0)}, "not inside"), ({"walls": ("felt",) * 6}, "no absorption of 'felt'"),
     ({"seconds": 4.0}, "0.05 to 1 s")],
)  # fmt: skip
def test_rooms_that_cannot_be(change: dict[str, object], said: str) -> None:
    with pytest.raises(InputError, match=said):
        replace(SMALL_ROOM, **change)  # type: ignore[arg-type]
