"""Where stuff is: shapes of parts, and their mesh."""

from polepiece.geometry.cutting import cut
from polepiece.geometry.mesh import Mesh, Resolution
from polepiece.geometry.passage import passage_permeances
from polepiece.geometry.shapes import (
    Assembly,
    MagnetBox,
    MagnetRod,
    Section,
    SteelBar,
    SteelRod,
)
