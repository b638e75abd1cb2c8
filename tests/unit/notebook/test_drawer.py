"""Parts come, are checked on the way in, and leave by an entry of their own."""

from decimal import Decimal
from typing import Any

import pytest

from polepiece.errors import InputError, NotebookError
from polepiece.guitar import Guitar, parse_guitar
from polepiece.notebook import Notebook, Part, owned_bars, part_fit, part_words, price_of

BAR = Part(
    kind="bar", label="from the old bridge pickup", grade="alnico-5", finish="rough-cast", length_mm=63.5,
    width_mm=12.7, thickness_mm=3.2, gauss=-410.0, gauss_at="end face, middle", price=Decimal("12.50"), currency="EUR",
    note="a chip at one corner",
)  # fmt: skip


def test_a_part_comes_back_exactly(notebook: Notebook) -> None:
    entry = notebook.add_part(BAR)
    assert notebook.parts() == [entry]
    assert entry.part == BAR
    assert entry.part.price == Decimal("12.50")
    assert str(entry.part.price) == "12.50"


def test_a_retired_part_is_gone_and_remembered(notebook: Notebook) -> None:
    entry = notebook.add_part(BAR)
    gone = notebook.retire_part(entry.id, "went into number 12")
    assert notebook.parts() == []
    assert notebook.parts(include_retired=True) == [gone]
    assert gone.retired is not None
    assert gone.retired > gone.at
    with pytest.raises(NotebookError, match=r"left the drawer already, at .*went into number 12"):
        notebook.retire_part(entry.id, "again")
    with pytest.raises(NotebookError, match="no part 99"):
        notebook.retire_part(99, "x")


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"kind": "blade"}, "kind is 'blade'; allowed are bar"),
        ({"length_mm": 2.5}, "in inches"),
        ({"thickness_mm": 0.125}, "in inches"),
        ({"gauss": 250.0}, "gauss_at"),
        ({"gauss": 12400.0, "gauss_at": "pole"}, "millitesla"),
        ({"length_mm": float("nan")}, "not a number"),
        ({"length_mm": -63.5}, "allowed is 3 to 120"),
        ({"resistance_kohm": 500_000.0}, "in ohm"),
        ({"capacitance_nf": 22_000.0}, "pF"),
        ({"price": Decimal("-1"), "currency": "EUR"}, "price is -1"),
        ({"price": Decimal("1"), "currency": "euro"}, "three capital letters"),
        ({"currency": "EUR"}, "without a price"),
        ({"label": "a\0b"}, "null"),
        ({"finish": "shiny"}, "polished, rough-cast"),
    ],
)
def test_a_slip_is_named(values: dict[str, Any], words: str) -> None:
    with pytest.raises(InputError, match=words):
        Part(**({"kind": "bar"} | values))


def test_all_faults_are_named_at_once() -> None:
    with pytest.raises(InputError, match=r"length_mm.*width_mm.*currency"):
        Part(kind="bar", length_mm=2.5, width_mm=0.5, currency="EUR")


def test_a_price_with_a_decimal_comma() -> None:
    assert price_of("12,50") == Decimal("12.50")
    assert price_of(None) is None
    with pytest.raises(InputError, match="write a number such as 12"):
        price_of("cheap")


def test_words_say_what_is_known_and_no_more() -> None:
    assert part_words(Part(kind="pot", resistance_kohm=480.0)) == "pot, 480 kohm"
    assert "63.5 x ? x 3.2 mm" in part_words(Part(kind="bar", length_mm=63.5, thickness_mm=3.2))
    assert "-410 gauss (end face, middle), 12.50 EUR" in part_words(BAR)


def test_owned_bars_are_a_constraint_of_a_plan(notebook: Notebook) -> None:
    notebook.add_part(BAR)
    notebook.add_part(Part(kind="bar", grade="alnico-3"))
    gone = notebook.add_part(Part(kind="bar", grade="ceramic-8"))
    notebook.add_part(Part(kind="bar", grade="unknown"))
    notebook.add_part(Part(kind="pot", resistance_kohm=500.0))
    notebook.retire_part(gone.id, "sold")
    assert owned_bars(notebook.parts(include_retired=True)) == ("alnico-3", "alnico-5-rough-cast")


def measured(guitar_text: str) -> Guitar:
    return parse_guitar(guitar_text)


MEASURED = """
[[pickups]]
name = "neck"
position = "neck"
construction = "humbucker"
[pickups.magnet]
grade = "alnico-2"
bar_length_mm = 63.5
bar_width_mm = 12.7
bar_thickness_mm = 3.2
"""


def test_a_bar_is_held_against_the_one_that_is_in() -> None:
    guitar = measured(MEASURED)
    size = {"length_mm": 63.5, "width_mm": 12.7}
    assert part_fit(Part(kind="bar", grade="alnico-3", thickness_mm=3.2, **size), guitar, "neck").verdict == "fits"
    thick = part_fit(Part(kind="bar", grade="ceramic-8", thickness_mm=4.0, **size), guitar, "neck")
    assert (thick.verdict, thick.short) == ("too large", "thickness")
    assert "tilt" in thick.words
    partly = part_fit(Part(kind="bar", grade="alnico-3", thickness_mm=3.2), guitar, "neck")
    assert partly.verdict == "measure first"
    assert "in part only" in partly.words
    assert part_fit(Part(kind="pot"), guitar, "neck").verdict == "not a bar"


def test_no_bar_goes_into_a_pickup_of_rods() -> None:
    guitar = parse_guitar(
        '[[pickups]]\nname = "a"\nposition = "neck"\nconstruction = "rod-single"\nmagnet.grade = "alnico-5"\n'
    )
    found = part_fit(Part(kind="bar", grade="alnico-3"), guitar, "a")
    assert found.verdict == "no bar here"
    assert "never push one out" in found.words
