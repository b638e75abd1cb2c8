"""What grows: each axis asks the program for more of one thing and says how much work that is; used by growth.py.

An axis yields (what is asked, its size, work, runs): work is called in the run that is timed; what it needs first is
made before. Everything is solved anew: the disk cache is switched off by growth.py.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from polepiece.auditioning.playing import play
from polepiece.bench import Bench, coarse_bench
from polepiece.geometry import Resolution
from polepiece.guitar import Guitar, draws, read_guitar
from polepiece.moves import apply, parse_changes
from polepiece.pickup import anatomy, engine, magnet_for_sound, magnet_law, magnet_material, steel_parts, string_layout
from polepiece.pickup.grid import GRID
from polepiece.sound import PickupResponse, phrase, revoice

HUMBUCKER = Path(__file__).resolve().parent.parent / "examples" / "demo.guitar.toml"
RATE = 48000


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One size of one axis: ``work`` is what is timed."""

    what: str
    size: int
    work: Callable[[], object]
    runs: int = 1


def demo() -> tuple[Guitar, str]:
    """Return the guitar on which everything is asked, and its pickup."""
    return read_guitar(HUMBUCKER), "neck"


def _geometry(resolutions: list[Resolution], panels: bool) -> Iterator[Step]:
    guitar, name = demo()
    pickup = guitar.pickup(name)
    shape = anatomy(pickup)
    layout = string_layout(guitar, pickup, shape)
    law, steels = magnet_law(pickup.magnet, magnet_material(pickup.magnet)), steel_parts(pickup)
    sound = magnet_for_sound(pickup, magnet_material(pickup.magnet))
    for resolution in resolutions:
        model = engine.made_model(shape, layout, resolution)
        size = len(model.mesh.panel_corners if panels else model.mesh.cell_faces)
        state = engine.static_state(model, law, steels)
        yield Step(what="geometry", size=size, work=lambda r=resolution: engine.made_model(shape, layout, r))
        yield Step(what="one grade", size=size, runs=3, work=lambda m=model: engine.static_state(m, law, steels))
        yield Step(what="coils, 15 frequencies", size=size, runs=3,
                   work=lambda m=model, s=state: engine.coil_fields(m, s, steels, sound))  # fmt: skip
        del model, state


def panels(small: bool) -> Iterator[Step]:
    """More panels on poles and keeper; the bar's cells stay."""
    scales = (2.0, 1.4) if small else (2.0, 1.6, 1.25, 1.0, 0.8, 0.65)
    usual = Resolution()
    return _geometry(
        [
            replace(
                usual, sectors=2 * max(2, round(5 / s)), slice_height=s * usual.slice_height,
                cap_rings=max(1, round(4 / s)), keeper_panel=s * usual.keeper_panel,
            )
            for s in scales
        ], panels=True,
    )  # fmt: skip


def cells(small: bool) -> Iterator[Step]:
    """More cells in the bar; the steel's panels stay."""
    cuts = ((4, 2, 2), (5, 4, 2)) if small else ((4, 3, 2), (4, 6, 2), (5, 6, 4), (6, 8, 4), (8, 8, 6), (8, 12, 6))
    usual = Resolution()
    return _geometry(
        [replace(usual, magnet_across=a, magnet_along=b, magnet_layers=c) for a, b, c in cuts], panels=False
    )


def frequencies(small: bool) -> Iterator[Step]:
    """More frequencies at which coils and eddy currents are solved."""
    guitar, name = demo()
    pickup = guitar.pickup(name)
    solved = (coarse_bench() if small else Bench()).magnetised(guitar, pickup)
    steels, sound = steel_parts(pickup), magnet_for_sound(pickup, magnet_material(pickup.magnet))
    for count in (4, 16) if small else (4, 8, 15, 30, 60, 120):
        hertz = np.geomspace(20.0, 20e3, count)
        yield Step(what="coils", size=count, runs=3,
                   work=lambda f=hertz: engine.coil_fields(solved.model, solved.state, steels, sound, f))  # fmt: skip


def strings(small: bool) -> Iterator[Step]:
    """More strings over one pickup: its geometry with their tables, a state, and an interval of 64 draws."""
    guitar, name = demo()
    for count in (2, 6) if small else (2, 3, 4, 6, 8, 12):
        strung = replace(guitar, strings=tuple((guitar.strings * 2)[:count]))
        pickup = strung.pickup(name)
        shape = anatomy(pickup)
        layout = string_layout(strung, pickup, shape)
        fresh = engine.COARSE if small else Resolution()
        yield Step(what="geometry", size=count, work=lambda s=shape, w=layout, r=fresh: engine.made_model(s, w, r))
        engine.pickup_model(shape, layout, fresh)
        bench = Bench(resolution=fresh)
        bench.magnetised(strung, pickup)
        yield Step(what="a state", size=count, work=lambda b=bench, g=strung: b.state(g, name))
        bench.moves(pickup, bench.magnetised(strung, pickup))
        many = draws(8 if small else 64, 0)
        yield Step(what="64 draws", size=count, work=lambda b=bench, g=strung, m=many: b.drawn(g, name, m))


def drawn(small: bool) -> Iterator[Step]:
    """More draws behind an interval."""
    guitar, name = demo()
    bench = coarse_bench() if small else Bench()
    bench.drawn(guitar, name, draws(8, 1))
    for count in (8, 16) if small else (16, 32, 64, 128, 256, 512, 1024):
        yield Step(what="an interval", size=count, work=lambda n=count: bench.drawn(guitar, name, draws(n, 0)))


def candidates(small: bool) -> Iterator[Step]:
    """More states of one pickup, as a plan asks for them: other gaps, and other values of a pot."""
    guitar, name = demo()
    bench = coarse_bench() if small else Bench()
    bench.state(guitar, name)
    number = 0
    for count in (2, 4) if small else (4, 8, 16, 32, 64, 128, 256):
        gaps, pots = [], []
        for _ in range(count):
            number += 1
            gaps.append(apply(guitar, name, parse_changes([f"lower={0.001 * number:.3f}mm"])))
            pots.append(apply(guitar, name, parse_changes([f"volume_pot={200 + number}k"])))
        for what, many in (("other gaps", gaps), ("other pots", pots)):
            yield Step(what=what, size=count, work=lambda m=many: [bench.state(one, name) for one in m])


def samples(small: bool) -> Iterator[Step]:
    """More samples of sound: a recording re-voiced, a phrase rendered; thousands of samples."""
    guitar, name = demo()
    bench = coarse_bench() if small else Bench()
    value = bench.switched(guitar, guitar.pickup(name)).response.transfers[0].sum(axis=0)
    old = PickupResponse(frequency=GRID, value=value)
    new = PickupResponse(frequency=GRID, value=0.9 * value)
    noise = np.random.default_rng(0)
    made = phrase("open-chord")
    play(guitar, name, made, bench=bench)
    for seconds in (5, 10) if small else (5, 10, 20, 40, 80, 110):
        sound = noise.standard_normal(seconds * RATE)
        yield Step(what="re-voicing", size=seconds * RATE // 1000, runs=2,
                   work=lambda s=sound: revoice(s, sample_rate=RATE, old=old, new=new))  # fmt: skip
        times = max(1, round(seconds / made.duration))
        notes = tuple(replace(one, onset=one.onset + k * made.duration) for k in range(times) for one in made.notes)
        long = replace(made, notes=notes, duration=times * made.duration)
        yield Step(what="rendering a phrase", size=round(long.duration * RATE / 1000),
                   work=lambda p=long: play(guitar, name, p, bench=bench))  # fmt: skip


AXES: dict[str, Callable[[bool], Iterator[Step]]] = {
    "panels": panels, "cells": cells, "frequencies": frequencies, "strings": strings, "draws": drawn,
    "candidates": candidates, "samples, thousands": samples,
}  # fmt: skip
