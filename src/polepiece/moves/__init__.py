"""What a person can do to a guitar, in words and as a changed record; whether a bar fits."""

from polepiece.moves.by_hand import pickup_words, string_words
from polepiece.moves.changes import Change, Task, apply, parse_change, parse_changes
from polepiece.moves.fit import BarFit, SizeCheck, bar_fit, parse_bar_size
from polepiece.moves.heard_where import moved_between, positions_moved, positions_words
from polepiece.moves.kinds import KINDS
from polepiece.moves.lever_acts import rewire, with_pickup
from polepiece.moves.levers import LEVERS, ORDER
from polepiece.moves.spoken import HandWords, hand_words, move_words, plainly
