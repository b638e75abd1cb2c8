"""Hear without a browser: what is offered, what is refused, and how a recording is kept."""

import asyncio
import hashlib
from collections.abc import Awaitable, Callable
from dataclasses import replace

import numpy as np
import pytest
from nicegui import ui
from nicegui.testing import User

from polepiece.app.hear.sounds import HANDS, Speaker, Wish
from polepiece.app.hear.states import grade_words, move_words
from polepiece.app.pages import hear
from polepiece.app.server import shared
from polepiece.app.widgets.controls import Choice, Text
from polepiece.guitar import read_guitar
from polepiece.sound import to_bytes
from tests.cli.conftest import DEMO

Open = Callable[[str], Awaitable[User]]
SOUND = 0.3 * np.random.default_rng(1).standard_normal(96_000).clip(-3, 3)


async def drop(user: User, name: str, data: bytes) -> None:
    """Drop a file on the page."""
    (upload,) = user.find(marker="recording").elements
    await upload.handle_uploads([ui.upload.SmallFileUpload(name, "audio/wav", data)])


async def test_states_of_the_address_are_listed(page_of: Open) -> None:
    user = await page_of("/hear?state=now&state=grade:alnico-8@outside;lower=0.4mm&state=tone=8")
    await user.should_see("Alnico 8, charged outside, down 0.4 mm")
    await user.should_see("tone 8")
    await user.should_see("1 to 9 choose")


async def test_a_state_that_cannot_be_is_said_and_the_others_stay(page_of: Open) -> None:
    user = await page_of("/hear?state=now&state=magnet=unobtainium&state=was:999&state=lower=90mm")
    await user.should_see("unobtainium")
    await user.should_see("no state 999 on record")
    await user.should_see("as it is")


async def test_typed_moves_are_read_by_the_rules_of_the_command_line(page_of: Open) -> None:
    user = await page_of("/hear?state=now")
    user.find(marker="add-moves").trigger("enter", "height=1mm")
    await user.should_see("reads both ways")
    user.find(marker="add-moves").trigger("enter", "lower=0.5mm, tone=8")
    await user.should_see("down 0.5 mm, tone 8")


async def test_a_state_is_told_in_numbers_beside_the_first(page_of: Open) -> None:
    user = await page_of("/hear?state=now&state=tone=2")
    (choice,) = user.find(marker="numbers-of").elements
    assert isinstance(choice, Choice)
    for _ in range(2400):
        if choice.props["options"]:
            break
        await asyncio.sleep(0.1)
    assert choice.props["options"] == [["tone=2", "tone 2"]]
    user.find(marker="numbers").click()
    await user.should_see("sharpness, equally loud (DIN 45692)", retries=2400)
    await user.should_see("In words of the trade")
    await user.should_see("drive full")
    await user.should_see("warmer")  # a tone control turned down; held to rendered sound in the room of auditioning
    cells = [
        str(one.text)
        for one in sorted(user.find(kind=Text).elements, key=lambda one: one.id)
        if str(one.text).endswith((" Hz", " %"))
    ]
    before, after = (float(one.removesuffix(" Hz")) for one in cells if one.endswith(" Hz") and one[0].isdigit())
    assert after < 0.9 * before  # the tone control takes the highs away


async def test_a_recording_is_kept_under_its_hash(page_of: Open) -> None:
    user = await page_of("/hear?state=now")
    data = to_bytes(SOUND, 48_000, container="FLAC")
    await drop(user, "my take.flac", data)
    await user.should_see("magnitude, minimum phase")
    (kept,) = shared.room().notebook.sounds()
    assert kept.sha256 == hashlib.sha256(data).hexdigest()
    assert kept.label == "my take, 2.0 s"
    assert shared.room().notebook.sound(kept.sha256) == data
    again = await page_of(f"/hear?state=now&take={kept.sha256}")
    (source,) = again.find(marker="source").elements
    assert isinstance(source, Choice)
    assert source.value == f"take:{kept.sha256}"
    assert [source.value, "recording: my take, 2.0 s"] in source.props["options"]


async def test_what_is_no_recording_is_said_in_a_paragraph(page_of: Open) -> None:
    user = await page_of("/hear?state=now")
    await drop(user, "holiday.wav", b"GIF89a" + bytes(500))
    await user.should_see("holiday.wav: this is not sound that can be read")
    assert not shared.room().notebook.sounds()


async def test_too_large_is_refused_by_the_server(page_of: Open, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(hear, "LARGEST", 1000)
    user = await page_of("/hear?state=now")
    await drop(user, "long.flac", to_bytes(SOUND, 48_000, container="FLAC"))
    await user.should_see("Cut out the part you want to hear")
    assert not shared.room().notebook.sounds()


async def test_clipping_of_a_recording_is_said(page_of: Open) -> None:
    user = await page_of("/hear?state=now")
    await drop(user, "hot.wav", to_bytes((4.0 * SOUND).clip(-1.0, 1.0 - 2.0**-23), 48_000, container="WAV"))
    await user.should_see("Re-voicing is not valid there")


async def test_what_is_no_impulse_response_is_said(page_of: Open) -> None:
    user = await page_of("/hear?state=now")
    (upload,) = user.find(marker="own-speaker").elements
    for data, words in (
        (to_bytes(np.tile(SOUND, 2), 48_000), "Is it a recording?"),
        (to_bytes(np.stack([SOUND[:4800], SOUND[4800:9600]], axis=1), 48_000), "2 unlike channels"),
        (b"GIF89a" + bytes(500), "this is not sound that can be read"),
    ):
        await upload.handle_uploads([ui.upload.SmallFileUpload("box.flac", "audio/flac", data)])
        await user.should_see(words)
    assert not shared.room().notebook.sounds()


async def test_a_loudspeaker_is_kept_and_is_no_recording(page_of: Open) -> None:
    user = await page_of("/hear?state=now&tone=edge")
    (upload,) = user.find(marker="own-speaker").elements
    data = to_bytes(SOUND[:2400], 48_000)
    await upload.handle_uploads([ui.upload.SmallFileUpload("my box.flac", "audio/flac", data)])
    (speakers,) = user.find(marker="speaker").elements
    (source,) = user.find(marker="source").elements
    assert isinstance(speakers, Choice)
    assert isinstance(source, Choice)
    for _ in range(12_000):  # it is decoded and kept beside the page
        if speakers.value != "closed-box":
            break
        await asyncio.sleep(0.02)
    (kept,) = shared.room().notebook.sounds()
    assert speakers.value == kept.sha256
    assert [kept.sha256, "my box, 50 ms"] in speakers.props["options"]
    assert not [one for one in source.props["options"] if one[0].startswith("take:")]


async def test_a_recording_that_cannot_be_of_the_pickup_is_said_in_the_words_of_the_command(page_of: Open) -> None:
    """White noise, tilted up by some 9 dB an octave: no coil with its cable gives that."""
    user = await page_of("/hear?state=now")
    sharp = np.diff(SOUND, prepend=0.0)
    await drop(user, "piezo.flac", to_bytes(sharp * 0.5 / np.abs(sharp).max(), 48_000))
    await user.should_see("Unlike this pickup: from 4.5–8.9 kHz it has", retries=2400)
    await user.should_see("than any of four phrases played on neck as the file has it")


async def test_the_part_of_a_long_recording_is_said(page_of: Open) -> None:
    user = await page_of("/hear?state=now")
    await drop(user, "long.flac", to_bytes(np.tile(SOUND[:48_000], 40), 48_000))
    await user.should_see("Played are 30.0 s of 40.0 s, from second 0 on")


async def test_one_goes_through_a_long_recording_part_by_part(page_of: Open) -> None:
    user = await page_of("/hear?state=now")
    await drop(user, "long.flac", to_bytes(np.tile(SOUND[:48_000], 61)[: 60 * 48_000 + 24_000], 48_000))
    await user.should_see("Played are 30.0 s of 60.5 s, from second 0 on")
    (before,), (later,) = user.find(marker="part-before").elements, user.find(marker="part-next").elements
    assert "disabled" in before.props
    user.find(marker="part-next").click()
    await user.should_see("Played are 30.0 s of 60.5 s, from second 30 on")
    user.find(marker="part-next").click()  # half a second is left: too short for a part of its own
    await user.should_see("Played are 1.0 s of 60.5 s, from second 59.5 on")
    assert "disabled" in later.props
    user.find(marker="part-before").click()
    await user.should_see("Played are 30.0 s of 60.5 s, from second 29.5 on")
    assert "disabled" not in before.props


async def test_a_sound_that_is_gone_is_no_page(page_of: Open) -> None:
    user = await page_of("/hear?state=now")
    for path in ("/sound/" + "0" * 40 + "/clean.flac", "/sound/../../etc/clean.flac", "/sound/x/clean.flac"):
        assert (await user.http_client.get(path)).status_code == 404


@pytest.mark.parametrize(
    ("move", "words"),
    [
        ("lower_bass=1mm", "bass side down 1 mm"),
        ("screw5=down 1 turn", "screw of the 5th string one turn down, clockwise"),
        ("tone_pot=none", "tone pot taken out"), ("bridge:raise=0.3mm", "bridge: up 0.3 mm"),
        ("magnet=alnico-5-rough-cast", "bar of Alnico 5, rough cast"), ("tone_cap=22nF", "tone cap 22 nF"),
    ],
)  # fmt: skip
def test_moves_in_words(move: str, words: str) -> None:
    assert move_words(move) == words


def test_grades_in_words() -> None:
    assert grade_words("alnico-5-unoriented") == "Alnico 5, unoriented"
    assert grade_words("alnico-5-7") == "Alnico 5-7"
    assert grade_words("ceramic-8") == "Ceramic 8"


async def test_hand_and_room_are_chosen_and_of_the_name_of_a_sound(page_of: Open) -> None:
    user = await page_of("/hear?state=now&hand=bare&room=small")
    for mark, chosen in (("hand", "bare"), ("room", "small")):
        (one,) = user.find(kind=Choice, marker=mark).elements
        assert one.value == chosen
    guitar = read_guitar(DEMO)
    plain = Wish(guitar=guitar, pickup="neck", phrase="open-chord", tone="clean")
    keys = {one.key for one in (plain, replace(plain, hand="bare"), replace(plain, speaker=Speaker(in_room=True)))}
    assert len(keys) == 3
    assert set(HANDS) >= {"lively", "bare"}
