"""Defaults that several constructions share; units of the guitar file, common practice, no source."""

from polepiece.guitar.assumption import LOOK, Default

SCREW_PITCH = Default(
    0.635,
    0.5,
    0.8,
    "count the turns over 5 mm of thread, or a thread gauge",
    words="0.635 mm a turn, 40 threads an inch; an M3 moves 0.5 mm",
)
SCREW_RAISE = Default(
    (0.0,) * 6,
    -0.5,
    0.5,
    "the gap of each string at its screw",
    words="0 mm each: the gaps were measured to the screws as they are",
)
STEEL = Default(
    "1010",
    settle="cannot be told at a bench; a fit to a measured inductance curve",
    words="low-carbon steel 1010",
)
TWO_BARS_TELL = "two bars: long edges attract, or broad faces?"
THROUGH_WIDTH = Default("width", settle=TWO_BARS_TELL)
NO_BASE_PLATE = Default("none", settle="look under it; a fridge magnet tells steel", words="no base plate")
NO_METAL_COVER = Default("none", settle=LOOK, words="no metal cover")
LONG_BAR = {  # of two and a half inches
    "magnet.length": Default(63.5, 57.0, 64.0),
    "magnet.width": Default(12.7, 12.4, 12.8),
    "magnet.thickness": Default(3.175, 3.05, 3.45),
    "magnet.magnetised_through": THROUGH_WIDTH,
}
