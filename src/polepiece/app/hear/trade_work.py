"""Words of the trade between two states that are heard, worked out in a process beside the server."""

from collections.abc import Callable

from polepiece.app.hear.sounds import Wish, bench_of
from polepiece.auditioning import TradeWord, trade_words_between


def say_trade_words(progress: Callable[[int, int, str], None], first: Wish, other: Wish) -> tuple[TradeWord, ...]:
    """Return the quantities behind words of the trade, of the state ``other`` beside ``first``."""
    progress(0, 0, "playing both through the drives")
    return trade_words_between(
        first.guitar, other.guitar, first.pickup, position=other.heard or first.heard, bench=bench_of(first.seed)
    )
