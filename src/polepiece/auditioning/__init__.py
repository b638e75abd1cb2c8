"""States of a guitar made audible, beside one another."""

from polepiece.auditioning.comparing import Compared, Comparison, compare
from polepiece.auditioning.describing import (
    EXCERPT_S,
    LISTENING_DB_SPL,
    Described,
    check_listening_level,
    describe,
    describe_pair,
    loudest_stretch,
)
from polepiece.auditioning.differing import largest_difference, resonance_lowered
from polepiece.auditioning.fitting_pickup import unlike_words
from polepiece.auditioning.hearing import Heard, driven, hear, through
from polepiece.auditioning.own_takes import OwnTakes, own_takes
from polepiece.auditioning.played_part import PlayedPart, part_in
from polepiece.auditioning.playing import SAMPLE_RATE, Audition, audition
from polepiece.auditioning.trade_words import CHAINS, KINDS, TradeWord, trade_words, trade_words_between, words_of
from polepiece.auditioning.trial_sounds import (
    Behind,
    behind_amount,
    behind_difference,
    behind_sides,
    behind_states,
    state_sounds,
)
from polepiece.auditioning.what_is_played import phrase_for
