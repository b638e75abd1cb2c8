"""Defaults that several constructions share and the lines of the parameters do not say; common practice, no source."""

from polepiece.guitar.assumption import LOOK, Default

MAGNET_TELLS = "look; a fridge magnet tells steel"
TWO_BARS_TELL = "two bars: long edges attract, or broad faces?"
NO_BASE_PLATE = Default("none", settle="look under it; a fridge magnet tells steel", words="no base plate")
NO_METAL_COVER = Default("none", settle=LOOK, words="no metal cover")
