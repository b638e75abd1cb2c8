"""Templates of the trade and positions of the switch; what a file may not say of them."""

import pytest

from polepiece.errors import GuitarFileError, InputError
from polepiece.guitar import (
    Guitar,
    parse_guitar,
    position_named,
    position_with,
    positions_of,
    tones_of,
    usual_position,
    volumes_of,
    write_guitar,
)

PLACES = ("neck", "middle", "bridge")


def guitar(controls: str, *places: str, construction: str = "humbucker", more: str = "") -> Guitar:
    pickups = [f'[[pickups]]\nname = "{at}"\nposition = "{at}"\nconstruction = "{construction}"' for at in places]
    return parse_guitar(f"[controls]\n{controls}\n{more}\n" + "\n".join(pickups) + "\n")


def two(controls: str, more: str = "") -> Guitar:
    return guitar(controls, "neck", "bridge", more=more)


def said(one: Guitar) -> list[tuple[str, tuple[str, ...], str]]:
    return [(at.name, at.on, at.how) for at in positions_of(one)]


def test_a_file_without_a_template_is_as_it_always_was() -> None:
    old = two("volume_setting = 8")
    assert [at.name for at in positions_of(old)] == ["neck", "bridge", "both"]
    assert position_named(old, "neck+bridge").on == ("neck", "bridge")
    assert [one.pickup for one in (*volumes_of(old), *tones_of(old))] == [None, None]
    assert volumes_of(old)[0].setting == 8.0


@pytest.mark.parametrize(
    ("template", "places", "positions"),
    [
        ("two volumes, two tones, three-way", ("neck", "bridge"), ["neck", "both", "bridge"]),
        ("one volume, one tone, three-way", PLACES, ["neck", "middle", "bridge"]),
        ("one volume, one tone, four-way", ("neck", "bridge"), ["neck", "both", "bridge", "both in series"]),
        ("one volume, two tones, five-way", PLACES,
         ["neck", "neck+middle", "middle", "middle+bridge", "bridge"]),
        ("two volumes, one tone", ("neck", "bridge"), ["both"]),
        ("one volume", ("bridge",), ["bridge"]),
        ("one volume, one tone, rotary", ("neck", "bridge"), ["neck", "bridge", "both"]),
    ],
)  # fmt: skip
def test_a_template_names_its_positions(template: str, places: tuple[str, ...], positions: list[str]) -> None:
    one = guitar(f'template = "{template}"', *places)
    assert [at.name for at in positions_of(one)] == positions
    assert parse_guitar(write_guitar(one)) == one


def test_a_template_gives_every_pickup_its_controls() -> None:
    whose = two('template = "two volumes, one tone"')
    assert [one.pickup for one in volumes_of(whose)] == ["neck", "bridge"]
    assert [one.pickup for one in tones_of(whose)] == [None]
    five = guitar('template = "one volume, two tones, five-way"', *PLACES)
    assert [one.pickup for one in volumes_of(five)] == [None]
    assert [one.pickup for one in tones_of(five)] == ["neck", "middle"]
    bare = two('template = "one volume"')
    assert tones_of(bare) == ()


def test_what_is_listed_comes_on_top_of_what_is_said_for_all() -> None:
    one = two(
        'template = "two volumes, two tones, three-way"\nvolume_pot_kohm = 300\ntone_cap_nf = 22',
        '[[controls.volumes]]\npickup = "bridge"\npot_kohm = 500\nwired = "independent"\n'
        '[[controls.tones]]\npickup = "neck"\ncap_nf = 15',
    )
    assert [(v.pickup, v.pot, v.wired) for v in volumes_of(one)] == [
        ("neck", 300e3, "usual"), ("bridge", 500e3, "independent"),
    ]  # fmt: skip
    assert [t.cap for t in tones_of(one)] == [pytest.approx(15e-9), pytest.approx(22e-9)]
    assert parse_guitar(write_guitar(one)) == one


def test_words_for_places_are_read_in_any_letters() -> None:
    one = two('selector = "Both"', '[[complaints]]\nword = "thin"\nposition = "ALL "')
    assert (one.controls.selector, one.complaints[0].position) == ("both", "all")


def test_a_pulled_knob_is_another_position() -> None:
    one = guitar('template = "one volume"\npush_pull = ["bridge: split-screws", "bridge: parallel"]', "bridge")
    assert [(at.name, at.wirings) for at in positions_of(one)] == [
        ("bridge", {}), ("bridge (split-screws)", {"bridge": "split-screws"}),
        ("bridge (parallel)", {"bridge": "parallel"}), ("bridge (split-screws + parallel)", {"bridge": "parallel"}),
    ]  # fmt: skip


LISTED = """
[[controls.positions]]
name = "lead"
on = ["bridge"]
[[controls.positions]]
name = "all against one another"
on = ["bridge", "neck"]
how = "series-out-of-phase"
coils = ["neck: split-slugs"]
"""


def test_positions_are_spelled_out() -> None:
    one = two('template = "one volume, one tone"\nselector = "lead"', LISTED)
    assert said(one) == [
        ("lead", ("bridge",), "parallel"), ("all against one another", ("bridge", "neck"), "series-out-of-phase"),
    ]  # fmt: skip
    against = positions_of(one)[1]
    assert (against.series, against.turned, against.wirings) == (True, {"neck"}, {"neck": "split-slugs"})
    assert position_named(one, "Lead").name == "lead"
    assert usual_position(one, "bridge").name == "lead"
    assert usual_position(one, "neck").name == "all against one another"
    assert parse_guitar(write_guitar(one)) == one


def test_a_name_or_the_pickups_choose_a_position() -> None:
    five = guitar('template = "one volume, two tones, five-way"', *PLACES, construction="rod-single")
    assert position_named(five, "bridge + middle").name == "middle+bridge"
    with pytest.raises(InputError, match=r"position 'neck\+bridge' is none of this guitar's switch. Its positions are"):
        position_named(five, "neck+bridge")
    assert position_with(five, ["neck", "bridge"]).on == ("neck", "bridge")  # asked for all the same: made up


@pytest.mark.parametrize(
    ("controls", "more", "places", "match"),
    [
        ('template = "two volumes, two tones, three-way"', "", ("neck",),
         r'controls.template is "two volumes two tones three way"; that needs 2 pickups, and this guitar has 1'),
        ('template = "one volume, two tones, five-way"', "", ("neck", "bridge"), "that switch needs 3 pickups"),
        ('template = "one volume, two tones, six-way"', "", PLACES, "Did you mean one-volume-two-tones-five-way"),
        ('template = "as-listed"', "", ("neck",), r"as-listed needs positions: \[\[controls.positions\]\]"),
        ('selector = "lead"', "", ("neck", "bridge"),
         r'(?s)controls.selector is "lead".*this guitar has neck and bridge'),
        ('push_pull = ["lead: parallel"]', "", ("neck",), r'push_pull\[0\] is of "lead"; this guitar has: neck'),
        ('push_pull = ["neck parallel"]', "", ("neck",), "write the pickup and how its coils are joined"),
        ('push_pull = ["neck: tapped"]', "", ("neck",), "say which coil stays on: split-screws or split-slugs"),
        ('push_pull = ["neck: coil tap"]', "", ("neck",), "split-screws or split-slugs"),
        ('push_pull = ["neck: paralel"]', "", ("neck",), "Did you mean parallel"),
        ("", '[[controls.positions]]\nname = "lead"\non = ["brigde"]', ("neck", "bridge"),
         r'positions\[0\].on names "brigde"; this guitar has: neck, bridge'),
        ("", '[[controls.positions]]\non = ["bridge"]', ("neck", "bridge"), r"positions\[0\].name is missing"),
        ("", '[[controls.positions]]\nname = "a"\non = ["neck"]\nhow = "series"', ("neck",), "needs two pickups"),
        ("", '[[controls.positions]]\nname = "a"', ("neck",), r'on is missing: .*on = \["neck"\]'),
        ("", '[[controls.positions]]\nname = "a"\non = ["neck"]\n[[controls.positions]]\nname = "A"\non = ["neck"]',
         ("neck",), "every position needs a name of its own"),
        ("", '[[controls.volumes]]\npickup = "lead"', ("neck",),
         r'volumes\[0\].pickup is "lead"; this guitar has: neck'),
        ("", '[[controls.volumes]]\npickup = "neck"', ("neck", "bridge"), 'Otherwise write template = "as-listed"'),
        ('template = "two volumes"', '[[controls.volumes]]\npickup = "neck"\n[[controls.volumes]]\npickup = "neck"',
         ("neck", "bridge"), r"volumes\[1\] is one more for neck"),
        ("", '[[controls.parts]]\nplace = "across"', ("neck",), "has neither a resistor nor a capacitor"),
        ("", '[[controls.parts]]\nresistor_kohm = 220', ("neck",), r"parts\[0\].place is missing"),
        ("", '[[controls.tones]]\ncap_nf = -5', ("neck",), r"cap_nf is -5 nF; tone capacitors lie between 0.5 and 220"),
        ("", 'controls.volumes = 3', ("neck",), r"must be a list of tables, \[\[controls.volumes\]\]"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_where_it_stands(
    controls: str, more: str, places: tuple[str, ...], match: str
) -> None:
    if more.startswith("controls.volumes"):
        controls, more = "volumes = 3", ""
    with pytest.raises(GuitarFileError, match=match):
        guitar(controls, *places, more=more)


def test_a_single_coil_has_no_split_to_pull() -> None:
    with pytest.raises(GuitarFileError, match="is a rod-single with one coil"):
        guitar('push_pull = ["neck: split-screws"]', "neck", construction="rod-single")


def test_a_two_conductor_lead_has_no_wires_for_a_split() -> None:
    text = (
        '[controls]\npush_pull = ["neck: split-screws"]\n[[pickups]]\nname = "neck"\nposition = "neck"\n'
        'construction = "humbucker"\nlead = "two-conductor"\n'
    )
    with pytest.raises(GuitarFileError, match=r"push_pull\[0\] is .*neck has a two-conductor lead"):
        parse_guitar(text)
    assert len(positions_of(parse_guitar(text.replace("two-conductor", "four-conductor")))) == 2


def test_a_complaint_names_a_position_that_is_there() -> None:
    text = 'template = "two volumes, two tones, three-way"'
    heard = two(text, '[[complaints]]\nword = "thin"\nposition = "both"')
    assert heard.complaints[0].position == "both"
    with pytest.raises(GuitarFileError, match=r'complaints\[0\].position is "middle\+lead"'):
        two(text, '[[complaints]]\nword = "thin"\nposition = "middle+lead"')
