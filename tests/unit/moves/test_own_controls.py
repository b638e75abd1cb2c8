"""Moves of controls where there are several, and the positions of the switch in which they are heard."""

import pytest

from polepiece.errors import InputError
from polepiece.guitar import Guitar, parse_guitar, tone_of, volume_of
from polepiece.moves import apply, parse_change, parse_changes, positions_moved, positions_words
from polepiece.planning import parse_complaints
from polepiece.planning.jobs import default_pickup, jobs_of

PICKUPS = "\n".join(
    f'[[pickups]]\nname = "{place}"\nposition = "{place}"\nconstruction = "humbucker"' for place in ("neck", "bridge")
)


def two(controls: str = 'template = "two volumes, two tones, three-way"') -> Guitar:
    return parse_guitar(f"[controls]\n{controls}\n{PICKUPS}\n")


def after(guitar: Guitar, pickup: str, *texts: str) -> Guitar:
    return apply(guitar, pickup, parse_changes(texts))


def test_a_pickup_in_front_is_whose_control_it_is() -> None:
    change = parse_change("bridge volume=7")
    assert (change.key, change.of, change.value, change.text) == ("volume", "bridge", 7.0, "bridge volume=7")
    turned = after(two(), "neck", "bridge volume=7", "neck volume=9", "bridge tone_cap=10nF")
    assert [volume_of(turned, one).setting for one in ("neck", "bridge")] == [9.0, 7.0]
    assert [tone_of(turned, one).cap for one in ("neck", "bridge")] == [pytest.approx(22e-9), pytest.approx(10e-9)]


def test_without_one_it_is_that_of_the_pickup_worked_on_or_the_one_behind_the_switch() -> None:
    assert volume_of(after(two(), "bridge", "volume=4"), "bridge").setting == 4.0
    assert volume_of(after(two(), "bridge", "volume=4"), "neck").setting == 10.0
    plain = after(two('template = "one volume, one tone"'), "bridge", "volume=4")
    assert plain.controls.volume_setting == 4.0
    assert plain.controls.volumes == ()


def test_the_job_says_whose_it_is() -> None:
    assert parse_change("bridge volume=7").describe(two(), "neck").to == "bridge: volume at 7"
    assert parse_change("volume=7").describe(two("volume_setting = 9"), "neck").to == "volume at 7"


def test_a_pot_is_taken_out_of_one_pickup_and_put_back() -> None:
    out = after(two(), "neck", "bridge tone_pot=none")
    assert tone_of(out, "bridge") is None
    assert tone_of(out, "neck") is not None
    back = after(out, "bridge", "tone_pot=250k")
    assert tone_of(back, "bridge").pot == 250e3


def test_a_treble_bleed_of_all_is_taken_from_one() -> None:
    bled = two('template = "two volumes, two tones, three-way"\nbleed_cap_pf = 150')
    bare = after(bled, "bridge", "bleed=none")
    assert volume_of(bare, "bridge").bleed_cap is None
    assert volume_of(bare, "neck").bleed_cap == pytest.approx(150e-12)


def test_a_control_that_is_not_there_is_refused() -> None:
    with pytest.raises(InputError, match="volume is one for all pickups of this guitar; write volume=7"):
        after(two("volume_setting = 9"), "neck", "bridge volume=7")
    with pytest.raises(InputError, match="choose it with --pickup"):
        parse_change("bridge lower=0.5mm")
    with pytest.raises(InputError, match="there is no pickup called 'lead'"):
        after(two(), "neck", "lead volume=7")
    with pytest.raises(InputError, match="moved twice"):
        parse_changes(["bridge volume=7", "bridge volume=6"])
    only_neck = two(
        'template = "as-listed"\npositions = [{name = "both", on = ["neck", "bridge"]}]\ntones = [{pickup = "neck"}]'
    )
    with pytest.raises(InputError, match="bridge has no tone control of its own; there is one of: neck"):
        after(only_neck, "bridge", "tone=5")


def moved(guitar: Guitar, pickup: str, *texts: str) -> tuple[str, ...]:
    return positions_moved(guitar, pickup, parse_changes(texts))


def test_a_control_moves_the_positions_in_which_its_pickup_is_on() -> None:
    guitar = two()
    assert moved(guitar, "neck", "bridge volume=7") == ("both", "bridge")
    assert moved(guitar, "neck", "tone=7") == ("neck", "both")
    assert moved(guitar, "neck", "lower=0.3mm") == ("neck", "both")
    assert moved(guitar, "neck", "cable=300pF") == ("neck", "both", "bridge")
    assert moved(guitar, "neck", "selector=both") == ()
    shared = two('template = "one volume, one tone, three-way"')
    assert moved(shared, "neck", "volume=7") == ("neck", "both", "bridge")
    assert moved(shared, "neck", "lower=0.3mm", "bleed=150pF") == ("neck", "both")  # a bleed at 10 does nothing
    down = two('template = "one volume, one tone, three-way"\nvolume_setting = 7')
    assert moved(down, "neck", "bleed=150pF") == ("neck", "both", "bridge")


def test_words_for_them() -> None:
    guitar = two()
    assert positions_words(guitar, ("neck", "both", "bridge")) == "in every position"
    assert positions_words(guitar, ("neck", "both")) == "in the positions neck; both"
    assert positions_words(guitar, ("neck",)) == "in the position neck"
    assert positions_words(guitar, ()) == "in no position: it chooses one"


def test_a_push_pull_moves_only_what_is_not_pulled() -> None:
    guitar = two('template = "two volumes, two tones, three-way"\npush_pull = ["bridge: split-screws"]')
    assert moved(guitar, "bridge", "wiring=parallel") == ("both", "bridge")
    assert moved(guitar, "bridge", "volume=7") == (
        "both", "bridge", "both (bridge split-screws)", "bridge (split-screws)",
    )  # fmt: skip


def test_a_selector_goes_to_a_position_that_is_there() -> None:
    guitar = two('template = "two volumes, two tones, three-way"\npush_pull = ["bridge: split-screws"]')
    assert after(guitar, "neck", "selector=Bridge (split-screws)").controls.selector == "bridge (split-screws)"
    assert after(guitar, "neck", "selector=Both").controls.selector == "both"
    with pytest.raises(InputError, match="Its positions are: neck; both; bridge"):
        after(guitar, "neck", "selector=lead")


def test_a_complaint_with_the_volume_down_turns_down_the_pickup_that_it_is_about() -> None:
    (job,) = jobs_of(two(), parse_complaints(["bridge: dark when volume is down"]))
    assert [volume_of(job.base, one).setting for one in ("neck", "bridge")] == [10.0, 5.0]


def test_the_pickup_that_is_meant_is_the_one_that_the_selector_is_on() -> None:
    named = two('template = "as-listed"\nselector = "lead"\npositions = [{name = "lead", on = ["bridge"]}]')
    assert default_pickup(named).name == "bridge"
