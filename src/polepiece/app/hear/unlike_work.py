"""Whether a recording can be of the pickup that is said, worked out in the process beside the server."""

from collections.abc import Callable

from polepiece.app.hear.sounds import Wish, bench_of
from polepiece.auditioning import unlike_words
from polepiece.bench import position_of
from polepiece.sound import condition_of, decode


def unlike_in(progress: Callable[[int, int, str], None], wish: Wish) -> str:
    """Return a sentence where the recording of a wish cannot be of its pickup as it was then; empty: it may be.

    The whole of it is looked at, as `polepiece hear` does.
    """
    assert wish.take is not None
    progress(0, 1, "comparing the recording with the pickup")
    whole, guitar = decode(wish.take.data, wish.take.name), wish.made_with or wish.guitar
    condition = condition_of(whole.samples, whole.sample_rate, name=wish.take.name)
    bench = bench_of(wish.seed).heard_in(position_of(guitar, wish.pickup, wish.heard))
    return unlike_words(condition, guitar, wish.pickup, bench=bench)
