"""The whole chain: laws that hold whatever the numbers are, and the response surface against the full chain."""

from concurrent.futures import Executor, Future, ThreadPoolExecutor
from dataclasses import replace
from weakref import WeakValueDictionary

import numpy as np
import pytest

from polepiece.bench import Bench, compare_grades, difference, intervals, predict
from polepiece.bench.grades import replace_pickup
from polepiece.bench.intervals import drawn_strings
from polepiece.errors import InputError
from polepiece.geometry import Resolution
from polepiece.guitar import parse_guitar
from polepiece.guitar.spread import NOMINAL, Draw, draws
from polepiece.moves import apply, parse_changes
from polepiece.pickup import engine
from polepiece.pickup.anatomy import anatomy, magnet_law, magnet_material, steel_parts
from polepiece.pickup.grid import GRID
from polepiece.pickup.magnetised import magnetise
from polepiece.pickup.stringing import string_layout, string_rod

COARSE = Resolution(sectors=8, slice_height=2.2e-3, keeper_panel=4e-3, magnet_across=4, magnet_along=3, magnet_layers=2)

TEXT = """
name = "test"
[[pickups]]
name = "neck"
position = "neck"
construction = "humbucker"
[pickups.magnet]
grade = "alnico-5"
charge = "outside"
"""


@pytest.fixture(scope="module")
def guitar():
    return parse_guitar(TEXT)


@pytest.fixture(scope="module")
def bench(guitar):
    return Bench(resolution=COARSE)


def test_no_change_is_exactly_no_difference(guitar, bench):
    found = predict(guitar, "neck", [], bench=bench, draws=8)

    assert set(found.difference.values()) == {0.0}
    assert set(found.interval.values()) == {(0.0, 0.0)}


def test_two_like_guitars_on_two_benches_agree_exactly(guitar, bench):
    other = Bench(resolution=COARSE)

    assert set(difference(bench.state(guitar, "neck"), other.state(guitar, "neck")).values()) == {0.0}


def test_lowering_makes_it_quieter_and_raising_louder(guitar, bench):
    level = bench.state(guitar, "neck").level_db

    assert bench.state(apply(guitar, "neck", parse_changes(["lower=0.3mm"])), "neck").level_db < level
    assert bench.state(apply(guitar, "neck", parse_changes(["raise=0.3mm"])), "neck").level_db > level


def test_regap_gives_the_old_level_back(guitar, bench):
    before = bench.state(guitar, "neck")
    louder = apply(guitar, "neck", parse_changes(["magnet=alnico-8"]))

    again, lowered = bench.regap(before, louder, "neck")

    assert lowered > 0.0
    assert bench.state(again, "neck").level_db == pytest.approx(before.level_db, abs=0.01)


def test_flip_changes_no_number_of_one_pickup(guitar, bench):
    """Common practice, no source: a bar turned round changes combinations, never one pickup alone."""
    pickup = guitar.pickup("neck")
    flipped = replace_pickup(guitar, replace(pickup, magnet=replace(pickup.magnet, flipped=True)))

    found = difference(bench.state(guitar, "neck"), bench.state(flipped, "neck"))

    moved = {k: v for k, v in found.items() if not k.startswith("field_mt")}
    assert max(abs(v) for v in moved.values()) < 1e-4  # the two solutions differ by rounding of Newton's method


def test_in_place_is_louder_than_outside(guitar, bench):
    pickup = guitar.pickup("neck")
    recharged = replace_pickup(guitar, replace(pickup, magnet=replace(pickup.magnet, charge="in-place")))

    assert bench.state(recharged, "neck").level_db > bench.state(guitar, "neck").level_db


def test_screened_screw_is_near_the_exact_one(guitar):
    """Within 10 % of the screw's effect on its own string (5 % measured at full resolution)."""
    turned = apply(guitar, "neck", parse_changes(["screw3=up 0.5 turn"]))
    exact, quick = Bench(resolution=COARSE), Bench(resolution=COARSE, exact_screws=False)

    def own(b, g):
        s = b.state(g, "neck")
        return s.level_db + s.string_balance_db[2]

    wanted = own(exact, turned) - own(exact, guitar)

    assert own(quick, turned) - own(quick, guitar) == pytest.approx(wanted, rel=0.10)


def test_response_surface_of_the_draws_against_the_full_chain(guitar, bench):
    """The error of a drawn level stays within 10 % of the 90 % interval's width (the stated limit)."""
    pickup = guitar.pickup("neck")
    magnetised = bench.magnetised(guitar, pickup)
    moves = bench.moves(pickup, magnetised)
    sample = draws(24, seed=3)
    base, _ = drawn_strings(guitar, pickup, magnetised, None, [NOMINAL])
    surface, _ = drawn_strings(guitar, pickup, magnetised, moves, sample)
    ratio = 20 * np.log10(np.abs(surface / base).mean(axis=(0, 1)))
    width = np.quantile(ratio, 0.95) - np.quantile(ratio, 0.05)
    errors = []
    for k, draw in enumerate(sample[:6]):
        exact = _full(bench, guitar, draw)
        still, _ = drawn_strings(guitar, pickup, exact, None, [_StringsOnly(number=draw.number, seed=draw.seed)])
        errors.append(20 * np.log10(np.abs(still[:, :, 0] / base[:, :, 0]).mean()) - ratio[k])

    # the recoil permeability also moves the coil's field, which the draw of L carries: statics alone here
    assert np.max(np.abs(errors)) < 0.10 * width


class _StringsOnly(Draw):
    """A draw of strings and heights; the magnet has been solved for it."""


def _full(bench, guitar, draw):
    """The pickup solved again with the draw's own magnet constants and gap; coils as in the nominal pickup."""
    pickup = guitar.pickup("neck")
    name = f"bar {pickup.magnet.grade} {pickup.magnet.constants}"
    material = magnet_material(pickup.magnet)
    values = {}
    for key in ("remanence", "coercivity", "energy_product", "recoil_permeability"):
        low, high = material.spread[key]
        values[key] = draw.value(f"{name} {key}", getattr(material, key), low, high)
    gap = draw.value("gap", pickup.magnet.bar_to_pole_gap, 0.02e-3, 0.2e-3)
    moved = replace(pickup, magnet=replace(pickup.magnet, bar_to_pole_gap=max(gap, 0.0)))
    nominal = bench.magnetised(guitar, pickup)
    model = engine.field_model(anatomy(moved), nominal.model.layout, COARSE)  # statics alone are looked at
    law = magnet_law(moved.magnet, material.with_constants(**values, limit=True))
    state = engine.static_state(model, law, steel_parts(moved))
    return replace(nominal, state=state, pickup_table=engine.pickup_table(model, state))


def test_draws_are_the_same_for_what_stays_in_the_guitar(guitar):
    one, two = Draw(number=5, seed=1), Draw(number=5, seed=1)

    assert string_rod(guitar.strings[0], one) == string_rod(guitar.strings[0], two)
    assert string_rod(guitar.strings[0], one) != string_rod(guitar.strings[0], Draw(number=6, seed=1))


def test_too_few_draws_are_refused():
    with pytest.raises(InputError, match="8 to 2000"):
        draws(3, seed=0)


def test_a_draw_of_steel_lies_between_its_solved_ends(guitar, bench):
    """The factors on L at the ends of the steel's spread (10 to 500) are solved, not chosen; 0 is exactly nominal."""
    pickup = guitar.pickup("neck")
    moves = bench.moves(pickup, bench.magnetised(guitar, pickup))
    low, high = (np.exp(end) for end in moves.coils["reversible"])

    assert 0.5 < low[0, 0, 0].real < 0.8
    assert 1.0 < high[0, 0, 0].real < 1.1
    assert moves.coil_at(NOMINAL).at(GRID) == pytest.approx(np.ones_like(low))


def test_ends_of_the_steel_at_few_frequencies_are_those_at_all_samples(guitar, bench, monkeypatch):
    """Stated at END_SAMPLES: within 4 % of the largest factor, in logarithms (the limit for a surface is 10 %)."""
    pickup = guitar.pickup("neck")
    coarse = engine.pickup_model(anatomy(pickup), bench.magnetised(guitar, pickup).model.layout, engine.COARSE)
    state = magnetise(coarse, pickup, with_coils=False).state
    few = intervals.coil_ends(pickup, coarse, state)
    monkeypatch.setattr(intervals, "END_SAMPLES", engine.SAMPLES)

    every = intervals.coil_ends(pickup, coarse, state)

    for key, ends in every.items():
        for found, wanted in zip(few[key], ends):
            assert np.max(np.abs(found - wanted)) < 0.045 * np.max(np.abs(wanted))


class _Announced(Executor):
    """Hands over nothing, and knows what was asked."""

    def __init__(self):
        self.asked = []

    def submit(self, fn, /, *args, **kwargs):
        self.asked.append((fn, args))
        return Future()


def test_what_is_announced_for_screws_at_unlike_heights_is_what_is_asked_for(guitar, monkeypatch):
    crooked = apply(guitar, "neck", parse_changes(["screw3=up 0.5 turn"]))
    other = _Announced()
    screening = Bench(resolution=COARSE, exact_screws=False, executor=other)
    monkeypatch.setattr(engine, "_IN_MEMORY", WeakValueDictionary())  # whatever other benches still hold
    engine.pickup_model.cache_clear()

    screening.solve_ahead(crooked, "neck", interval=True)
    screening.interval(crooked, crooked, "neck", draws=8)

    assert len(other.asked) == 3  # a geometry for each height, and the ends of the interval
    assert not engine._COMING
    assert not screening._coming


def test_what_is_in_memory_is_not_announced(guitar, bench):
    bench.state(guitar, "neck")
    other = _Announced()

    Bench(resolution=COARSE, executor=other).solve_ahead(guitar, "neck")

    assert not other.asked


def test_what_another_process_solves_is_what_this_one_would_have(guitar):
    """A thread stands in for the process: the way of the results is the same, the arithmetic is deterministic."""
    slugs = ("alnico-2", "alnico-5-rough-cast")
    alone = compare_grades(guitar, "neck", slugs=slugs, draws=8, bench=Bench(resolution=COARSE))
    engine.pickup_model.cache_clear()

    with ThreadPoolExecutor(1) as executor:
        shared = compare_grades(guitar, "neck", slugs=slugs, draws=8, bench=Bench(resolution=COARSE, executor=executor))

    for one, other in zip(alone.results, shared.results, strict=True):
        assert other.difference == one.difference
        assert other.interval == one.interval


def test_a_model_for_fields_alone_has_the_fields_of_the_full_one(guitar, bench):
    """What intervals are solved on: only replies to strings and slopes across them are left out."""
    pickup = guitar.pickup("neck")
    layout = bench.magnetised(guitar, pickup).model.layout
    full, lean = (make(anatomy(pickup), layout, COARSE) for make in (engine.pickup_model, engine.field_model))
    law = magnet_law(pickup.magnet, magnet_material(pickup.magnet))
    one, two = (engine.static_state(m, law, steel_parts(pickup)) for m in (full, lean))

    assert np.array_equal(engine.pickup_table(lean, two), engine.pickup_table(full, one))
    assert np.array_equal(lean.system.network, full.system.network)
    assert lean.factors.probe_reply.size == 0 and full.factors.probe_reply.size > 0


class _Busy(_Announced):
    """Another process that has begun the first thing it was asked for and nothing else."""

    def submit(self, fn, /, *args, **kwargs):
        coming = super().submit(fn, *args, **kwargs)
        if len(self.asked) == 1:
            coming.set_running_or_notify_cancel()
        return coming


def test_moves_are_solved_here_while_the_other_process_makes_the_geometry(guitar):
    pickup = guitar.pickup("neck")
    other = replace(pickup, magnet=replace(pickup.magnet, finish="rough-cast"))
    rough = replace_pickup(guitar, other)
    busy = Bench(resolution=COARSE, executor=_Busy())
    engine.pickup_model.cache_clear()
    busy.solve_ahead(rough, "neck", state=True, interval=True)
    (waiting,) = busy._coming.values()

    busy.meanwhile(rough, "neck")

    assert waiting.cancelled()
    (found,) = busy._coming.values()
    layout = string_layout(rough, other, anatomy(other))
    assert np.array_equal(found.result(0).table, intervals.magnet_moves(other, layout).table)
    engine._COMING.clear()


def test_a_stored_geometry_that_is_not_whole_is_made_anew(guitar, tmp_path, monkeypatch):
    monkeypatch.setenv("POLEPIECE_CACHE", str(tmp_path))
    pickup = guitar.pickup("neck")
    shape = anatomy(pickup)
    layout = Bench(resolution=COARSE).magnetised(guitar, pickup).model.layout
    wanted = engine.made_model(shape, layout, COARSE)
    for path in tmp_path.glob("*.npz"):
        with np.load(path) as stored:
            kept = {name: stored[name] for name in stored.files if name != "f_network"}
        np.savez(path, **kept)

    found = engine.made_model(shape, layout, COARSE)

    assert np.array_equal(found.factors.network, wanted.factors.network)
