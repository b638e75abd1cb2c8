"""What people say of a guitar, read by a small grammar: tokens, marks, segments, items."""

from polepiece.planning.spoken.dynamic_words import louder_than
from polepiece.planning.spoken.items import Item
from polepiece.planning.spoken.limit_rules import RULES
from polepiece.planning.spoken.limits import LimitsRead, read_limits, said_apart
from polepiece.planning.spoken.reading import Reading, read
from polepiece.planning.spoken.tokens import plain
