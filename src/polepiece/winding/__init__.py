"""What a winder asks: turns, wire, resistance, inductance, fill, resonance, each from the others; batches; targets."""

from polepiece.winding.bobbin import Bobbin, stock_bobbin
from polepiece.winding.electrical import Electrical, electrical, per_turn
from polepiece.winding.knowns import Knowns
from polepiece.winding.solve import CoilFound, PerTurn, Value, laying_words, solve
