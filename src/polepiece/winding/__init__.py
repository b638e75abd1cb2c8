"""What a winder asks: turns, wire, resistance, inductance, fill, resonance, each from the others; batches; targets."""

from polepiece.winding.batch import Batch, CoilJudged, half_spread, judge
from polepiece.winding.bobbin import Bobbin, stock_bobbin
from polepiece.winding.causes import bridged
from polepiece.winding.electrical import Electrical, electrical, per_turn
from polepiece.winding.knowns import Knowns
from polepiece.winding.search import Found, search
from polepiece.winding.solve import CoilFound, PerTurn, Value, laying_words, solve
from polepiece.winding.target import Target, target_curve
from polepiece.winding.typed import typed_build, typed_knowns, typed_target, typed_value
from polepiece.winding.words import (
    FOUND_HEADS,
    FOUND_NOTE,
    HEADS,
    MOST_LISTED,
    OUT_HEADS,
    SPREAD_HEADS,
    batch_sentence,
    bobbin_words,
    found_row,
    found_sentence,
    outlier_row,
    rows,
    sentence,
    spread_row,
)
