"""What a touch does to hum is told by rule: touch or its end, more or less of it, "until" and a denial turn it round.

That touched metal must never make hum worse is the rule of the trade (common practice, no source). No number is
involved. Where a sentence says that the touch changes nothing, it is plain hum.
"""

import pytest

from polepiece.guitar import read_guitar
from polepiece.planning import read_complaints, said_both, understanding
from polepiece.planning.spoken.tokens import joined, tokenise
from polepiece.planning.spoken.touching import BRINGS, HUMS, TAKES, touched
from tests.phrasings.test_phrasings import EXAMPLES

GUITAR = read_guitar(EXAMPLES / "two-humbuckers.guitar.toml")
SAID = {
    BRINGS: (
        "touching the bridge makes the buzzing worse", "there is no hum unless I touch the bridge",
        "only when I hold the strings it hums", "I never want hum when I touch the strings",
        "it hums more with my hand on the tailpiece", "it is quiet until I touch the strings, then it hums",
        "hum when touching strings, stops when let go", "hum up when hand on br",
        "I do not want the buzz to get louder when I touch the strings",
    ),
    TAKES: (
        "touching the bridge makes the buzzing go away", "it does not buzz when I touch, only when I let go",
        "hum gets louder as soon as my fingers leave the strings", "with my hand on the metal the hum halves",
        "hum when I am not touching anything", "hum dn when hand on br",
        "it is quiet when I touch the strings and noisy when I do not",
    ),
    HUMS: (
        "hum is the same whether I touch the strings or not", "touching the strings changes nothing, it hums",
        "the buzz does not stop when I touch the strings", "the buzz does not get worse when I touch the strings",
        "it should stop humming when I touch the strings",
    ),
}  # fmt: skip
NO_TOUCH = (
    "don't touch the bridge, it hums", "fix the hum without touching the bridge", "the neck is a touch dull and hums",
    "no touch response and some hiss",
)  # fmt: skip


@pytest.mark.parametrize("fault", SAID)
def test_what_a_touch_does_is_read_by_rule(fault: str) -> None:
    found = {}
    for said in SAID[fault]:
        told, _ = said_both([said], [], GUITAR)
        read = understanding(read_complaints(told or [], GUITAR), ())
        found[said] = ([one["fault"] for one in read["faults"]], read["complaints"])
    assert found == dict.fromkeys(SAID[fault], ([fault], []))


@pytest.mark.parametrize("said", NO_TOUCH)
def test_a_hand_that_is_kept_off_tells_nothing_of_hum(said: str) -> None:
    text = joined(tokenise(said))
    assert not [name for _, _, name in touched(text) if name != HUMS]


def test_of_two_touches_that_part_the_dangerous_one_holds() -> None:
    assert [one[2] for one in touched("hum stops when i hold the strings but gets louder when i touch the mic")] == [
        BRINGS
    ]
