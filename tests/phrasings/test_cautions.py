"""What needs a caution is never read as tone, nor as its harmless opposite; a denial is never read as a complaint.

From the rule of the trade that touched metal which makes hum worse, and any shock, ends the playing (common practice,
no source). No number is involved.
"""

import pytest

from polepiece.errors import InputError
from polepiece.planning import read_complaints, understanding
from polepiece.planning.spoken.limits import said_apart
from tests.phrasings.test_phrasings import example_of
from tests.tables import every

GUITAR = example_of("two-humbuckers")
SHOCK, TOUCH, UNTOUCHED = "shock", "buzz when touching the strings", "buzz stops when touching the strings"
SAID = {
    "tingle on my lips from the mic when holding the guitar": SHOCK,
    "feel a tickle of electricity when I touch the mic": SHOCK,
    "little electric kicks from the bridge": SHOCK,
    "strings bite me electrically": SHOCK,
    "the bridge is live": SHOCK,
    "does not shock me unless I touch the mic": SHOCK,
    "it doesn't always shock me": SHOCK,
    "hardly ever a shock from the strings": SHOCK,
    "no one else gets a shock from the strings, only me": SHOCK,
    "never had a problem with shocks until today": SHOCK,
    "I don't mind the tingle from the strings": SHOCK,
    "the previous owner says the strings shocked him": SHOCK,
    "the last customer got a shock from it": SHOCK,
    "who says a tingle from the strings is harmless": SHOCK,
    "my other guitar does not shock me but this one does": SHOCK,
    "no more shocks please": SHOCK,
    "noise goes when I let go of the strings": TOUCH,
    "the buzz stops as soon as I take my hands off the strings": TOUCH,
    "no hum until I touch the strings": TOUCH,
    "silent until I touch the bridge": TOUCH,
    "buzz increases when I grab the strings": TOUCH,
    "noise comes when I let go of the strings": UNTOUCHED,
    "the buzz is louder with my hands off the strings": UNTOUCHED,
    "buzzing stops when hand is on the strings": UNTOUCHED,
    "hums unless I touch the strings": UNTOUCHED,
    "sparks at the jack": "smell of burning",
    "no hum until I touch the bridge": TOUCH,
    "buzzing louder with hands on the strings": TOUCH,
    "the amp smokes": "smell of burning",
    "it smells hot": "smell of burning",
    "the pickup is hot to the touch": "smell of burning",
}
NOTHING = (  # to do for what is named last
    ("I don't mind the brightness", "dull"), ("I do not need more bass", "thin"),
    ("don't make it brighter", "piercing"), ("nothing harsh about it", "harsh"), ("it is not the highs", "dull"),
    ("it isn't the bridge", "boomy"), ("the lows do not disappear", "thin"),
)  # fmt: skip


@every(SAID.items())
def test_a_fault_with_a_caution_is_read_as_that_fault(said: str, fault: str) -> None:
    found = understanding(read_complaints([said], GUITAR), ())
    assert [one["fault"] for one in found["faults"]] == [fault]
    assert not found["complaints"]


@every(SAID.items())
def test_a_fault_with_a_caution_is_never_taken_for_a_limit(said: str, fault: str) -> None:
    complaint, limits = said_apart(said, GUITAR)
    assert fault == UNTOUCHED or (complaint and not limits)


@pytest.mark.parametrize(
    "said",
    (
        "no shock from the strings", "never had a problem with shocks", "not once did it shock me",
        "the strings do not tingle any more", "nothing smells hot",
    ),
)  # fmt: skip
def test_a_plain_denial_of_a_danger_is_a_denial(said: str) -> None:
    assert not understanding(read_complaints([said], GUITAR), ())["faults"]


def test_what_is_not_out_of_the_ordinary_is_no_dead_pickup() -> None:
    with pytest.raises(InputError, match="not a complaint word"):
        read_complaints(["nothing out of the ordinary"], GUITAR)


@pytest.mark.parametrize("said", ("touching the strings makes no difference to the hum", "a smoking tone, but thin"))
def test_what_only_sounds_like_a_fault_with_a_caution_is_none(said: str) -> None:
    found = understanding(read_complaints([said], GUITAR), ())
    assert not {one["fault"] for one in found["faults"]} & {TOUCH, SHOCK, "smell of burning"}


@pytest.mark.parametrize("said, word", NOTHING)
def test_a_denial_is_no_complaint(said: str, word: str) -> None:
    try:
        found = understanding(read_complaints([said], GUITAR), ())
    except InputError:
        return
    assert word not in [one["word"] for one in found["complaints"]]
