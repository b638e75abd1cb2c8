"""Listening blind without a browser: what is offered tells nothing, what was begun stays, results to keep."""

import asyncio
import hashlib
import io
import json
import time
from collections.abc import Awaitable, Callable, Generator
from typing import Any

import numpy as np
import pytest
import soundfile
from nicegui import ui
from nicegui.testing import User
from scipy.stats import binomtest

from polepiece.app.hear.sounds import Wish
from polepiece.app.listen import booth, kept_trials, sitting
from polepiece.app.listen.forms import LeastForm
from polepiece.app.listen.told import outcome_lines, record
from polepiece.app.listen.work import Behinds, Presentations, present, ready
from polepiece.app.pages.listen import trial_of
from polepiece.app.server import shared
from polepiece.app.server.jobs import Progress
from polepiece.auditioning import behind_amount, behind_sides, behind_states
from polepiece.auditioning.differing import brighter
from polepiece.errors import ChangedMeanwhileError, InputError
from polepiece.guitar import read_guitar
from polepiece.measure import (
    BlindTrial,
    PreferenceTrial,
    ThresholdPlan,
    ThresholdTrial,
    Trial,
    TrialPlan,
    answers_csv,
    trial_reader,
    trial_slots,
)
from polepiece.sound import loudness_as_given, to_bytes
from tests.app.conftest import at_rest
from tests.cli.conftest import ROOT

Open = Callable[[str], Awaitable[User]]
ADDRESS = "/listen?guitar=1&pickup=neck&state=now&state=tone%3D4"
OF = {"pickup": "neck", "changes": ["tone=4"], "phrase": "open-chord", "chain": "cable", "states": ["now", "tone=4"]}
RATE, FAST = 8000, 48_000
SURE = 1e-5  # of 200 even guesses: over all that is seen a run fails by chance once in 10,000


class Done:
    """A job that is over at once."""

    progress = Progress(done=1, total=1, words="there")

    def __init__(self, result: Any) -> None:
        self._result = result

    def __await__(self) -> Generator[Any, None, Any]:
        return self._result
        yield


class Sounds:
    """In the place of the process that makes sounds: a second of silence behind every button."""

    def __init__(self) -> None:
        self.asked: list[tuple[Behinds, Trial]] = []

    def run(self, kind: str, behinds: Behinds, trial: Trial, **_: object) -> Done:
        assert kind in ("ready", "present")
        if kind == "ready":
            return Done(None)
        self.asked.append((behinds, trial))
        files = {slot: f"{trial.number}{slot}".encode() for slot in trial_slots(trial)}
        return Done(Presentations(files=files, sample_rate=RATE, frames=RATE))

    def close(self) -> None:
        """Nothing is open."""


def kept() -> list[kept_trials.KeptTrial]:
    return kept_trials.trials_in(shared.room().notebook, 1)


async def begun(page_of: Open) -> User:
    await page_of("/listen?guitar=1")
    shared.room().sounds = Sounds()  # type: ignore[assignment]
    user = await page_of(ADDRESS)
    await user.should_see("12 right or more: heard, at the 5 % level")  # before the first sound
    user.find(marker="trial-begin").click()
    await user.should_see("Trial 1 of 16")
    return user


async def test_two_hundred_presentations_tell_nothing_but_by_their_sound(page_of: Open) -> None:
    user = await page_of("/listen?guitar=1")
    rng = np.random.default_rng(3)
    before, after = rng.normal(0.0, 0.05, RATE), np.convolve(rng.normal(0.0, 0.05, RATE), [0.5, 0.5], "same")
    play = behind_sides(before, after, RATE, matched=True, rng=np.random.default_rng(4))
    plan, stand, told, names = TrialPlan(trials=200), booth.Booth(), {}, set()
    trial = BlindTrial(plan=plan, seed=11, date="2026-11-30")
    while not trial.over:
        made = Presentations(files={one: play(trial, one) for one in "ABX"}, sample_rate=RATE, frames=RATE)
        states = stand.offer(made)
        assert all((one.sounds["cable"].aligned, one.sounds["cable"].true) == (1.0, 1.0) for one in states)
        seen = {}
        for one in states:
            url = one.sounds["cable"].url
            asked = time.perf_counter()
            got = await user.http_client.get(url)
            took = time.perf_counter() - asked
            assert got.headers["cache-control"] == "no-store"
            digest, address = hashlib.sha256(got.content).hexdigest(), hashlib.sha256(url.encode()).hexdigest()
            seen[one.key] = (len(got.content), int(digest[:12], 16), int(address[:12], 16), took)
            names.add(url)
        is_b = trial.plays("X") == "after"
        for k, name in enumerate(("length", "hash", "address", "time")):
            near_b = abs(seen["X"][k] - seen["B"][k]) < abs(seen["X"][k] - seen["A"][k])
            told.setdefault(name, []).append(near_b == is_b)
        trial = trial.answered("A")
        last = states[0].sounds["cable"].url
    for name, right in told.items():
        assert binomtest(sum(right), 200).pvalue > SURE, (name, sum(right))
    assert len(names) == 600
    stand.leave()
    assert (await user.http_client.get(last)).status_code == 404


async def test_one_that_is_given_up_stays_on_record(page_of: Open) -> None:
    user = await begun(page_of)
    await user.should_see("tone 4: not over yet")  # on record from its beginning
    user.find(marker="answer-A").click()
    await user.should_see("Trial 2 of 16")
    again = await page_of(ADDRESS)  # a reload
    await again.should_see("A trial is on: neck")
    again.find(marker="trial-resume").click()
    await again.should_see("Trial 2 of 16")
    again.find(marker="answer-B").click()
    await again.should_see("Trial 3 of 16")
    user.find(marker="answer-B").click()  # the tab of before
    await user.should_see("went on in another tab")
    again.find(marker="trial-give-up").click()
    await again.should_see("given up after 2 answers")
    (one,) = kept()
    assert one.given_up and one.trial.answers == ("A", "B") and not one.going
    notes = [note.text.rpartition(": ")[2] for note in shared.room().notebook.notes(1, sort="trial")]
    assert notes == ["begun", "answer 1", "answer 2", "given up after 2 answers"]


async def test_the_second_of_a_double_click_answers_nothing(page_of: Open, monkeypatch: pytest.MonkeyPatch) -> None:
    """New sounds are there at once; a press before they can have been heard is no answer to them, one after it is."""
    user = await begun(page_of)
    monkeypatch.setattr(sitting, "UNHEARD", 1.0)
    user.find(marker="answer-A").click()
    await until(lambda: len(shared.room().sounds.asked) == 2)  # type: ignore[attr-defined]
    user.find(marker="answer-A").click()
    await at_rest()
    assert kept()[-1].trial.answers == ("A",)
    await user.should_see("Trial 2 of 16")
    user.find(marker="answer-B").click()
    await user.should_see("Trial 3 of 16")
    assert kept()[-1].trial.answers == ("A", "B")


async def until(there: Callable[[], bool]) -> None:
    """Wait for something that comes by itself."""
    while not there():
        await asyncio.sleep(0.01)


async def test_only_one_is_on_at_a_time(page_of: Open) -> None:
    await page_of("/listen?guitar=1")
    book = shared.room().notebook
    first, second = (BlindTrial(plan=TrialPlan(), seed=seed, date="2026-11-30") for seed in (1, 2))
    kept_trials.keep_trial(book, 1, None, first, OF, "begun")
    with pytest.raises(ChangedMeanwhileError, match="another trial"):
        kept_trials.keep_trial(book, 1, None, second, OF, "begun")
    kept_trials.keep_trial(book, 1, None, first, OF, "given up", given_up=True)
    with pytest.raises(ChangedMeanwhileError):
        kept_trials.keep_trial(book, 1, None, first.answered("A"), OF, "answer 1")
    kept_trials.keep_trial(book, 1, None, second, OF, "begun")


async def test_the_rule_of_every_question_is_said_first_and_slips_are_named(page_of: Open) -> None:
    user = await page_of("/listen?guitar=1&pickup=neck&question=rank&state=now&state=tone%3D4&state=tone%3D7")
    await user.should_see("pairs of 3 states")
    user.find(marker="trial-pairs").trigger("enter", "many")
    await user.should_see("a whole number is needed")
    user = await page_of("/listen?guitar=1&pickup=neck&question=least")
    await user.should_see("It ends when the difference has turned 10 times")
    user = await page_of(ADDRESS)
    user.find(marker="trial-count").trigger("enter", "3")
    await user.should_see("3 trials cannot reach the 5 % level")
    user.find(marker="trial-count").trigger("enter", "16")
    user.find(marker="trial-part").trigger("enter", "2-90")
    user.find(marker="trial-begin").click()
    await user.should_see("the sound is over after 6.0 s")
    assert not kept()  # nothing was begun


class MadeHere(Sounds):
    """In the place of that process: its own work, here."""

    def run(self, kind: str, behinds: Behinds, trial: Trial, **_: object) -> Done:
        """As a job does, it fails when it is awaited."""
        self.asked.append((behinds, trial))
        work: Callable[..., Any] = {"ready": ready, "present": present}[kind]
        try:
            return Done(work(lambda *_: None, behinds, trial))
        except InputError as error:
            return Failed(error)


class Failed(Done):
    """A job that fails at once."""

    def __await__(self) -> Generator[Any, None, Any]:
        raise self._result
        yield


async def test_what_cannot_be_heard_is_refused_before_a_plan_is_fixed(page_of: Open) -> None:
    """A move to where it stands: no trial is on record, and another can be planned at once."""
    await page_of("/listen?guitar=1")
    shared.room().sounds = MadeHere()  # type: ignore[assignment]
    user = await page_of("/listen?guitar=1&pickup=neck&state=now&state=tone%3D10")
    user.find(marker="trial-begin").click()
    await user.should_see("one and the same sound: there is nothing else to hear", retries=600)
    assert not kept()
    shared.room().sounds = Sounds()  # type: ignore[assignment]
    user.find(marker="trial-begin").click()  # it can be pressed again
    await user.should_see("Trial 1 of 16")


class Reaches(Sounds):
    """The same; a resonance goes 30 % lower on this guitar."""

    def run(self, kind: str, *asked: Any, **_: object) -> Done:
        assert kind == "reach" and asked[1] == "resonance"
        return Done(30.0)


async def test_a_staircase_of_resonance_begins_within_what_the_guitar_can_do(page_of: Open) -> None:
    """From 20 %, so that one wrong answer asks for the 30 that it can; not from 40."""
    await page_of("/listen?guitar=1")
    shared.room().sounds = Reaches()  # type: ignore[assignment]
    form = LeastForm()
    form.set.values["quantity"] = "resonance"
    behinds = Behinds(
        wishes=(Wish(guitar=read_guitar(ROOT / "examples" / "demo.guitar.toml"), pickup="neck", phrase="open-chord"),)
    )
    trial = await trial_of(form, 3, "2026-11-30", behinds)
    assert isinstance(trial, ThresholdTrial) and trial.plan.first == 20.0
    form.set.values["quantity"] = "level"  # nothing is asked of the guitar
    assert (await trial_of(form, 3, "2026-11-30", behinds)).plan == ThresholdPlan(quantity="level")


async def test_ears_rest_after_ten_minutes(page_of: Open, monkeypatch: pytest.MonkeyPatch) -> None:
    now = [0.0]
    monkeypatch.setattr(sitting, "monotonic", lambda: now[0])
    user = await begun(page_of)
    await user.should_not_see("rest your ears for two")
    now[0] = 601.0
    user.find(marker="answer-A").click()
    await user.should_see("rest your ears for two")
    user.find(marker="rested").click()
    await user.should_not_see("rest your ears for two")
    await at_rest()


def test_a_record_that_is_taken_away_is_read_again() -> None:
    trial: Trial = BlindTrial(plan=TrialPlan(trials=8), seed=3, date="2026-11-30")
    while not trial.over:
        assert isinstance(trial, BlindTrial)
        trial = trial.answered("B" if trial.plays("X") == "after" else "A")
    body = json.loads(record(trial, OF))
    assert trial_reader(body["schema"])(body) == trial and body["of"]["changes"] == ["tone=4"]
    assert outcome_lines(trial)[0].startswith("It was heard: 8 of 8 right")
    assert answers_csv(trial).count("\n") == 9


class HeardSounds(Sounds):
    """In the place of the process that makes sounds: noise that the trial's own rules make differ."""

    def __init__(self) -> None:
        super().__init__()
        rng = np.random.default_rng(8)
        self._noise = rng.normal(0.0, 0.05, RATE)
        self._rng = np.random.default_rng(9)

    def run(self, kind: str, behinds: Behinds, trial: Trial, **_: object) -> Done:
        assert kind in ("ready", "present")
        if isinstance(trial, PreferenceTrial):
            dull = {name: brighter(self._noise, RATE, -4.0 * k) for k, name in enumerate(trial.plan.states)}
            play = behind_states(dull, RATE, rng=self._rng)
        else:
            play = behind_amount(self._noise, lambda _: self._noise, RATE, rng=self._rng)
        files = {slot: play(trial, slot) for slot in trial_slots(trial)}
        return Done(Presentations(files=files, sample_rate=RATE, frames=RATE))


async def heard(user: User) -> dict[str, np.ndarray]:
    """What the buttons of the player play, by button: a listener has no more than that."""
    (player,) = user.find(marker="blind-player").elements
    out = {}
    for one in player.props["states"]:
        got = await user.http_client.get(one["sounds"]["cable"]["url"])
        out[one["key"]], _ = soundfile.read(io.BytesIO(got.content))
    return out


async def test_a_staircase_is_gone_through_by_who_hears_half_a_decibel(page_of: Open) -> None:
    """The three-sound staircase on the page, to its end: the least difference told is that of the ear."""
    await page_of("/listen?guitar=1")
    shared.room().sounds = HeardSounds()  # type: ignore[assignment]
    user = await page_of("/listen?guitar=1&pickup=neck&question=least")
    user.find(marker="trial-begin").click()
    ear = np.random.default_rng(5)
    for number in range(1, 200):
        await user.should_see(f"Trial {number}. ")
        level = {key: 20.0 * np.log10(np.std(one)) for key, one in (await heard(user)).items()}
        odd = max(level, key=lambda key: abs(level[key] - np.median(list(level.values()))))
        apart = abs(level[odd] - np.median(list(level.values())))
        user.find(marker=f"answer-{odd if apart > 0.5 else ear.choice(list('123'))}").click()
        await at_rest()
        if kept()[-1].trial.over:
            break
    trial = kept()[-1].trial
    assert isinstance(trial, ThresholdTrial) and trial.over and number < 120
    least = trial.outcome()
    assert 0.25 < least.value < 1.0  # an ear that hears 0.5 dB always and less never: within a factor of two
    await user.should_see("dB")


async def test_preferences_are_gone_through_by_who_likes_it_bright(page_of: Open) -> None:
    await page_of("/listen?guitar=1")
    shared.room().sounds = HeardSounds()  # type: ignore[assignment]
    user = await page_of("/listen?guitar=1&pickup=neck&question=rank&state=now&state=tone%3D4&state=tone%3D7")
    user.find(marker="trial-begin").click()
    for number in range(1, 60):
        await user.should_see(f"Trial {number}. ")
        high = {key: np.std(np.diff(one)) / np.std(one) for key, one in (await heard(user)).items()}
        user.find(marker=f"answer-{max(high, key=lambda key: high[key])}").click()
        await at_rest()
        if kept()[-1].trial.over:
            break
    trial = kept()[-1].trial
    assert isinstance(trial, PreferenceTrial) and trial.over
    assert trial.outcome().order == trial.plan.states  # each state is 4 dB duller than the one before


def plucked(wait: float, power: float) -> bytes:
    """Three plucked tones as a WAV, ``wait`` s into it; the greater ``power``, the duller."""
    rng, t = np.random.default_rng(round(10 * wait)), np.arange(FAST) / FAST
    sound = 1e-5 * rng.standard_normal(round((3.2 + wait) * FAST))
    for k in range(3):
        f, many = 110.0 * (k + 2), range(1, 16)
        tone = sum(np.sin(2 * np.pi * f * n * t + n) * np.exp(-(6 + n) * t) * (1 - t) / n**power for n in many)
        at = round((wait + k) * FAST)
        sound[at : at + t.size] += 0.05 * np.asarray(tone)[: sound.size - at]
    return to_bytes(sound, FAST, container="WAV")


async def test_own_takes_are_aligned_and_heard_blind(page_of: Open) -> None:
    """Two files dropped: what is presented are they, equally loud, begun together; the record says recorded."""
    user = await begun_with_takes(page_of)
    asked = shared.room().sounds.asked[-1]  # type: ignore[attr-defined]
    made = present(lambda *_: None, *asked)
    heard = {slot: soundfile.read(io.BytesIO(data))[0] for slot, data in made.files.items()}
    trial = asked[1]
    same = "B" if trial.plays("X") == "after" else "A"
    other = "A" if same == "B" else "B"
    apart = {slot: float(np.std(heard[slot] - heard["X"])) for slot in "AB"}
    assert apart[same] < 1e-6 < 1e-3 * apart[other]  # two dithers of 24 bit
    begins = [int(np.argmax(np.abs(one) > 0.2 * np.abs(one).max())) for one in heard.values()]
    assert max(begins) - min(begins) < 0.003 * FAST
    loud = [loudness_as_given(one, FAST, "one") for one in heard.values()]
    assert max(loud) - min(loud) <= 0.1  # dB: what is promised
    user.find(marker="answer-A").click()
    await user.should_see("Trial 2 of 16")
    (one,) = kept()
    assert one.trial.plan.sounds == "recorded" and one.of["takes"][0].startswith("first, take before")
    again = await page_of(ADDRESS)
    again.find(marker="trial-resume").click()
    await again.should_see("Trial 2 of 16")
    assert shared.room().sounds.asked[-1][0] == asked[0]  # type: ignore[attr-defined]


async def begun_with_takes(page_of: Open) -> User:
    await page_of("/listen?guitar=1")
    shared.room().sounds = Sounds()  # type: ignore[assignment]
    user = await page_of(ADDRESS)
    user.find(marker="trial-sounds").trigger("choose", "recorded")
    user.find(marker="trial-begin").click()
    await user.should_see("no take before and after is chosen")
    for side, name, wait, power in (("before", "first", 0.4, 1.0), ("after", "second", 0.9, 2.0)):
        (upload,) = user.find(marker=f"take-file-{side}").elements
        await upload.handle_uploads([ui.upload.SmallFileUpload(f"{name}.wav", "audio/wav", plucked(wait, power))])
    await user.should_see("3 strokes each, at most")
    user.find(marker="trial-begin").click()
    await user.should_see("Trial 1 of 16")
    return user
