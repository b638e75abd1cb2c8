"""What was assumed is said without a key of the file, of every construction."""

import re

import pytest

from polepiece.guitar import CONSTRUCTIONS, Guitar, assumed_words, parse_guitar, what_is

KEY = re.compile(r"_|\b(\w+) \w+ of (the|its) \1s?\b|\b[xyz]\b|\b(mm|kohm|pf|nf|awg)\b")


def guitar_with(construction: str, strings: str = "") -> Guitar:
    return parse_guitar(
        f'name = "x"\n{strings}\n[[pickups]]\nname = "p"\nposition = "middle"\nconstruction = "{construction}"\n'
    )


@pytest.mark.parametrize("construction", [one.slug for one in CONSTRUCTIONS])
def test_no_key_stands_in_what_is_assumed(construction: str) -> None:
    for one in guitar_with(construction).assumed:
        assert not KEY.search(assumed_words(one.path)), one.path
        assert not re.search(r"\w_\w", one.settle), one.settle  # nothing to type where a page says it


@pytest.mark.parametrize("construction", [one.slug for one in CONSTRUCTIONS])
def test_of_one_pickup_nobody_assumes_which_is_meant(construction: str) -> None:
    assert "controls.selector" not in [one.path for one in guitar_with(construction).assumed]


def test_where_there_are_several_it_is_assumed() -> None:
    both = parse_guitar(
        'name = "x"\n' + "".join(
            f'[[pickups]]\nname = "{place}"\nposition = "{place}"\nconstruction = "humbucker"\n'
            for place in ("neck", "bridge")
        )
    )  # fmt: skip
    assert "controls.selector" in [one.path for one in both.assumed]


def test_which_half_faces_the_neck_is_asked_of_a_split_pickup_without_screws() -> None:
    split = guitar_with("split-rods")
    facing = [one for one in split.assumed if one.path.endswith("screws_face")]
    assert [assumed_words(one.path, split) for one in facing] == ["which way its half under the thick strings faces"]


@pytest.mark.parametrize("construction", [one.slug for one in CONSTRUCTIONS])
def test_only_what_a_pickup_has_is_said_to_face(construction: str) -> None:
    guitar = guitar_with(construction)
    (built,) = (one.built for one in guitar.pickups)
    said = [
        say(one.path, guitar) for one in guitar.assumed if one.path.endswith("screws_face")
        for say in (assumed_words, what_is)
    ]  # fmt: skip
    assert len(said) == 2 * built.can_face
    for words in said:
        assert ("screws" in words) is built.has_screws and ("half" in words) is any(row.half for row in built.rows)
