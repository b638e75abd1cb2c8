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
from polepiece.auditioning.hearing import Heard, driven, hear, through
from polepiece.auditioning.playing import Audition, audition
from polepiece.auditioning.trade_words import CHAINS, KINDS, TradeWord, trade_words, words_of
