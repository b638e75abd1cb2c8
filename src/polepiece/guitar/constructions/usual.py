"""Defaults and sentences that several constructions share; common practice, no source."""

from polepiece.guitar.assumption import LOOK, Default
from polepiece.guitar.constructions.construction import MagnetsStay

MAGNET_TELLS = "look; a fridge magnet tells steel"
TWO_BARS_TELL = "two bars: long edges attract, or broad faces?"
NO_BASE_PLATE = Default("none", settle="look under it; a fridge magnet tells steel", words="no base plate")
NO_METAL_COVER = Default("none", settle=LOOK, words="no metal cover")
RODS_STAY = MagnetsStay(
    reason="rod magnets are the cores of the coil: the wire is wound on or round them, and pushing one out can "
    "kill it. Change height, pots, capacitor or cable; another grade means a new or rewound pickup",
    no_flip="its rods cannot be turned. For phase, swap the leads if the "
    'cover and base plate are not on them (wound = "reverse" in the guitar file), or have the rods recharged '
    "the other way.",
    in_the_drawer="its magnets are the rods in the coil: never push one out",
    on_the_page_of_grades="Rod magnets cannot be swapped: the wire is often wound straight on them. These numbers "
    "say what other rods would do in a new pickup or a rewind; they are no job for this one.",
)
