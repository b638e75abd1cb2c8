"""Pooled constants in the draws: a bar's constants go together as many benches say, its charge as they say.

Draws are 2000; a share of their variance scatters by 2 / sqrt(4000), 3 % of it, and clipping at 2.5 takes 4 % away.
"""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from polepiece.bench.intervals import CONSTANTS, MagnetMoves, _root
from polepiece.guitar import draws, read_guitar
from polepiece.materials import PooledConstants, constants_hash, constants_words, published_hash
from polepiece.pickup.anatomy import magnet_law
from polepiece.which_constants import VARIABLE

DEMO = Path(__file__).parents[3] / "examples" / "demo.guitar.toml"
SIGMAS = 1.6449


@pytest.mark.parametrize("seed", range(4))
def test_constants_go_together_as_their_correlations_say(seed: int) -> None:
    """What all four do to the field has the variance s' C s of correlated deviates, not that of independent ones."""
    random = np.random.default_rng(seed)
    axes = random.standard_normal((4, 4))
    covariance = axes @ axes.T + 0.1 * np.eye(4)
    spread = np.sqrt(np.diag(covariance))
    together = covariance / np.outer(spread, spread)
    size = 1e-3 * random.standard_normal(4)  # of the field, by one end of each constant
    table = np.ones((1, 1, 1))
    ends = {key: (-one * table, one * table) for key, one in zip(CONSTANTS, size)}
    root = _root(tuple(map(tuple, together.tolist())))
    moves = MagnetMoves(ends=ends, in_place=None, grades=(), coils={}, table=table, together=root)
    magnet = read_guitar(DEMO).pickup("neck").magnet
    moved = np.array([moves.at(one, magnet).item() for one in draws(2000, seed)])
    wanted = size @ together @ size / SIGMAS**2
    assert moved.var() == pytest.approx(wanted, rel=0.15)  # three times 3 %, and the 4 % of clipping
    alone = np.array([replace(moves, together=None).at(one, magnet).item() for one in draws(2000, seed)])
    assert alone.var() == pytest.approx(size @ size / SIGMAS**2, rel=0.15)
    assert abs(wanted / (size @ size / SIGMAS**2) - 1.0) > 0.3  # the case tells the two apart


def test_a_pooled_charge_moves_bars_charged_outside_and_no_others(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "pooled.json"
    record = PooledConstants(
        date="2026-04-01", benches=3, readings=30, published=published_hash(), charge=(0.95, 0.9, 1.0)
    )
    file.write_text(json.dumps(record.to_dict()), encoding="utf-8")
    magnet = read_guitar(DEMO).pickup("neck").magnet
    outside, in_place = (replace(magnet, charge=one) for one in ("outside", "in-place"))
    table = np.ones((1, 1, 1))
    moves = MagnetMoves(ends={}, in_place=None, grades=(), coils={}, table=table)
    before = constants_hash()
    assert (magnet_law(outside).charge, constants_words()) == (1.0, "published")
    monkeypatch.setenv(VARIABLE, str(file))
    assert constants_words() == "pooled, 2026-04-01: 30 readings of 3 benches" and constants_hash() != before
    assert PooledConstants.from_dict(record.to_dict()) == record
    assert (magnet_law(outside).charge, magnet_law(in_place).charge) == (0.95, "in-place")
    moved = np.array([np.sum(moves.at(one, outside)) for one in draws(2000, 0)])
    assert np.quantile(1.0 + moved, [0.05, 0.95]) == pytest.approx([0.9 / 0.95, 1.0 / 0.95], abs=0.006)
    assert all(np.all(moves.at(one, in_place) == 0.0) for one in draws(20, 0))
    monkeypatch.setenv(VARIABLE, "published")
    assert constants_hash() == before


@pytest.mark.parametrize(
    ("spoil", "words"),
    [(lambda one: one | {"schema": "x"}, "is read"), (lambda one: one | {"charge": [1, 2, 0.5]}, "no range"),
     (lambda one: {key: value for key, value in one.items() if key != "steel"}, "damaged")],
)  # fmt: skip
def test_a_damaged_record_is_refused_in_words(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, spoil: object, words: str
) -> None:
    record = PooledConstants(date="2026-04-01", benches=3, readings=30, published=published_hash()).to_dict()
    file = tmp_path / "pooled.json"
    file.write_text(json.dumps(spoil(record)), encoding="utf-8")  # type: ignore[operator]
    monkeypatch.setenv(VARIABLE, str(file))
    with pytest.raises(ValueError, match=words):
        constants_hash()
    monkeypatch.setenv(VARIABLE, str(tmp_path / "gone.json"))
    with pytest.raises(ValueError, match="there is no such file"):
        constants_hash()
