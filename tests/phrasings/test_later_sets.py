"""A fifth to eighth set of sayings, each written down with its answer before it was run, by the fourth's strict rule.

Players and customers of many kinds speak: with slips, likenesses, understatement, other people's words, limits beside
a complaint. At first sight 76, 72 and 66 of a hundred, then 45 of sixty, were read as written down. Of these 360
expected answers fifteen were found narrower than a bench would have them, or wrong, and widened. What a saying needs
that is neither understood nor computed is expected to be refused.

The ninth to eleventh set (460) were written down in plain words, "dark on the neck", the ninth before the tables were
read, and each first reading was judged by hand against that: 127 of 152 (84 %), 103 of 153 (67 %) and 110 of 157
(70 %) were right at first sight, each set after the causes of the one before were mended. The rows hold the reading
that was judged right after that, so they hold what was reached, and are no proof of what an unseen saying does.

The twelfth (409 in four lists: players' own words, notes of a bench, denials and dangers, then 60 of all kinds in other
words after the first three had been mended) was written before the tables were read and judged by hand in the same way:
at first sight 87 of 117, 34 of 113, 66 of 119, then 22 of 60. It holds what was judged right after mending.
"""

import pytest

from polepiece.errors import InputError
from polepiece.planning import parse_constraints, read_complaints, said_both, understanding
from tests.phrasings.test_phrasings import example_of
from tests.phrasings.test_third_set import gathered, rows, unmatched
from tests.tables import every

SETS = ("fifth_hundred.tsv", "sixth_hundred.tsv", "seventh_hundred.tsv", "eighth_sixty.tsv")
SETS += tuple(f"{one}_hundred_and_fifty.tsv" for one in ("ninth", "tenth", "eleventh"))
SETS += ("twelfth_four_hundred.tsv",)
STILL_MISREAD = {  # or refused although a bench would understand
    "too much pick click on the bridge",
    "neck not clean, many mud",
    "stay below the neck's volume with the bridge",
    "I want neither more bass nor less treble, just more volume",
    "louder yet not harsher bridge",
    "when flipping from bridge to neck it gets way louder",
    "position 1 ice pick, 5 mud",
    "harch and tiny bridge",
    "Middle pickup is pulling my strings, sounds chorusy on the low E",
    "the pickup make a noise of bee",
}


def fields_of(limits: object) -> list[str]:
    names = [one for one in limits.__dataclass_fields__ if one not in ("texts", "readings", "prices")]  # type: ignore[attr-defined]
    return sorted(f"{key} = {getattr(limits, key)!r}" for key in names if getattr(limits, key) not in (False, None, ()))


def misread(row: list[str]) -> str:
    """Return what of a saying is not as it was expected; "" where all is."""
    said, example, complaints, faults, wanted = ([*row, "", "", ""])[:5]
    guitar = example_of(example)
    told, kept = said_both([said], [], guitar)
    try:
        readings = read_complaints(told or [], guitar) if told else ()
    except InputError as error:
        if complaints or faults:
            return f"refused: {error}"
        readings, kept = (), [said] if wanted else kept
    try:
        limits = parse_constraints(kept, guitar)
    except InputError as error:
        return f"limit refused: {error}"
    found = understanding(readings, limits.readings)
    broken = [(str(one["pickup"] or ""), str(one["fault"]), ()) for one in found["faults"]]
    if "hollow" in complaints and not any("hollow" in one["word"] for one in found["complaints"]):  # the gate has it
        complaints, faults = "", complaints
    wrong = [unmatched(complaints, gathered(found["complaints"])), unmatched(faults, broken)]
    if fields_of(limits) != sorted(filter(None, wanted.split("; "))):
        wrong.append(f"limits: {fields_of(limits)}")
    return "; ".join(filter(None, wrong))


ROWS = [row for one in SETS for row in rows(one)]


@every(row for row in ROWS if row[0] not in STILL_MISREAD)
def test_a_saying_of_a_later_set_is_understood(row: list[str]) -> None:
    assert not misread(row)


@pytest.mark.xfail(strict=True, reason="known, and not mended")
@pytest.mark.parametrize("row", [row for row in ROWS if row[0] in STILL_MISREAD], ids=lambda row: row[0])
def test_a_saying_of_a_later_set_that_is_still_misread(row: list[str]) -> None:
    assert not misread(row)


def test_what_is_still_misread_stands_in_a_set() -> None:
    assert {row[0] for row in ROWS} >= STILL_MISREAD
