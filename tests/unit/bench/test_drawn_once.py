"""Draws of strings over a pickup are made once, whatever is moved beside it."""

from collections import Counter

import pytest

from polepiece.bench import Bench
from polepiece.bench import bench as module
from polepiece.bench.h2_spread import h2_interval
from polepiece.guitar import draws, parse_guitar
from polepiece.moves import apply, parse_changes
from polepiece.pickup.engine import COARSE

THREE = 'name = "three"\n[controls]\ntemplate = "one-volume-one-tone-five-way"\n' + "".join(
    f'[[pickups]]\nname = "{p}"\nposition = "{p}"\nconstruction = "rod-single"\n' for p in ("neck", "middle", "bridge")
)


def test_what_a_move_does_not_touch_is_drawn_once(monkeypatch: pytest.MonkeyPatch) -> None:
    made: Counter[str] = Counter()
    original = module.drawn_strings

    def counted(guitar, pickup, *rest):  # type: ignore[no-untyped-def]
        made[pickup.name] += 1
        return original(guitar, pickup, *rest)

    monkeypatch.setattr(module, "drawn_strings", counted)
    guitar, bench = parse_guitar(THREE), Bench(resolution=COARSE)
    both = bench.heard_in(("neck", "middle"))
    moved = [apply(guitar, "neck", parse_changes([one])) for one in ("lower=0.3mm", "tone=4", "lower=0.5mm")]
    found = [both.interval(guitar, one, "neck", draws=8) for one in moved]
    assert made == {"neck": 3, "middle": 1}  # as it is, lowered twice; the tone moves no string, nothing the middle
    fresh = Bench(resolution=COARSE).heard_in(("neck", "middle")).interval(guitar, moved[2], "neck", draws=8)
    assert found[2] == fresh  # what is kept is what would be made
    made.clear()
    for one in moved:
        h2_interval(guitar, one, "neck", bench=bench, count=8)
    assert made == {"neck": 6}  # nearer and further: as it is, and lowered twice


def test_draws_in_blocks_are_the_draws(monkeypatch: pytest.MonkeyPatch) -> None:
    guitar, sample = parse_guitar(THREE), draws(12, 3)
    whole = Bench(resolution=COARSE).drawn(guitar, "neck", sample)
    sizes: list[int] = []
    original = module.drawn_numbers

    def counted(*arguments):  # type: ignore[no-untyped-def]
        sizes.append(len(arguments[-1]))
        return original(*arguments)

    monkeypatch.setattr(module, "drawn_numbers", counted)
    monkeypatch.setattr(module, "BLOCK", 5)
    parts = Bench(resolution=COARSE).drawn(guitar, "neck", sample)
    assert sizes == [5, 5, 2]
    for one, other in zip(whole, parts, strict=True):
        assert one == pytest.approx(
            other, rel=1e-3, abs=1e-3
        )  # solved together to 1e-5 of the largest: `string_system`
