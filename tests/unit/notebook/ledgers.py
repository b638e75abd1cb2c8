"""Ledgers drawn at random, and a plain count over their records to hold the notebook's tables against."""

import random
from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from polepiece.guitar import Guitar
from polepiece.measure import Claim, Entry, Ledger

KEYS = (("level_db", "dB"), ("bands_db.presence", "dB"), ("resonance_hz", "Hz"), ("pole_field_mt", "mT"))
GRADES = ("alnico-3", "alnico-5", "ceramic-8", "alnico-5-rough-cast")


def claim(draw: random.Random, middle: float) -> Claim:
    down, up = draw.uniform(0.2, 2.0), draw.uniform(0.2, 2.0)
    return Claim(value=middle, low=middle - down, high=middle + up, source="drawn")


def drawn_ledger(draw: random.Random, pickup: str, change: tuple[str, ...], day: int = 1) -> Ledger:
    """Some lines measured, some not, some not computed; every interval is lopsided."""
    entries = []
    for key, unit in draw.sample(KEYS, draw.randint(1, len(KEYS))):
        computed = claim(draw, draw.gauss(0.0, 3.0)) if draw.random() < 0.9 else None
        measured = claim(draw, draw.gauss(0.0, 3.0)) if draw.random() < 0.7 else None
        of = draw.choice(("difference", "after"))
        entries.append(Entry(key=key, words=key, unit=unit, of=of, computed=computed, measured=measured))  # type: ignore[arg-type]
    if draw.random() < 0.5:
        share = claim(draw, 0.7)
        entries.append(Entry(key="heard", words="the change", unit="thresholds", computed=claim(draw, 1.0), heard=share,
                             heard_word=draw.choice(("agrees", "disagrees"))))  # fmt: skip
    return Ledger(
        guitar="drawn", pickup=pickup, change=change, date=f"2026-03-{day:02d}", entries=tuple(entries),
        provenance={"version": "0", "constants": "none", "seed": 0, "draws": 0, "files": {}},
    )  # fmt: skip


def with_bar(guitar: Guitar, pickup: str, grade: str) -> Guitar:
    rough = grade.endswith("-rough-cast")
    old = guitar.pickup(pickup)
    magnet = replace(old.magnet, grade=grade.removesuffix("-rough-cast"), finish="rough-cast" if rough else "polished")
    moved = replace(old, magnet=magnet)
    return replace(guitar, pickups=tuple(moved if one.name == pickup else one for one in guitar.pickups))


def plain_count(records: Iterable[Mapping[str, Any]], within: Iterable[float]) -> dict[tuple[str, str], list[int]]:
    """Count by the definition, one ledger after another: total, below, then those within each multiple."""
    wanted = list(within)
    out: dict[tuple[str, str], list[int]] = {}
    for record in records:
        for line in record["entries"]:
            a, b = line["computed"], line["measured"]
            if a is None or b is None:
                continue
            apart = b["value"] - a["value"]
            mine = a["high"] - a["value"] if apart >= 0 else a["value"] - a["low"]
            theirs = b["value"] - b["low"] if apart >= 0 else b["high"] - b["value"]
            found = out.setdefault((line["key"], line["of"]), [0, 0, *(0 for _ in wanted)])
            found[0] += 1
            found[1] += apart < 0
            for k, one in enumerate(wanted):
                found[2 + k] += apart**2 <= one**2 * (mine**2 + theirs**2)
    return out
