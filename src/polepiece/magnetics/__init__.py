"""Magnets, steel and their fields."""

from polepiece.magnetics import cache, cholesky
from polepiece.magnetics.charge import (
    MagnetLaw,
    MagnetState,
    Start,
    SteelCurve,
    solve_state,
)
from polepiece.magnetics.core import factorise
from polepiece.magnetics.core import forget as forget_core
from polepiece.magnetics.elements import Elements
from polepiece.magnetics.exchange import Product, Seen, exchange, unfolded
from polepiece.magnetics.exchange_network import Even, place
from polepiece.magnetics.folding import across_plane, fold, unfolding
from polepiece.magnetics.match import Match
from polepiece.magnetics.pairs import Pairs, Parts
from polepiece.magnetics.parity import Whole, whole
from polepiece.magnetics.reluctance import Factors, Linear
from polepiece.magnetics.reply import laplacian
