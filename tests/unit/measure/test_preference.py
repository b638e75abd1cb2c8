"""Preferences: a published example of the model, balance of the design, circles, listeners that are simulated."""

import json
from collections import Counter
from itertools import combinations

import numpy as np
import pytest
from scipy.optimize import minimize
from scipy.stats import chi2

from polepiece.errors import InputError, MeasurementError
from polepiece.measure import result_of
from polepiece.measure.listening.bradley_terry import chance_of_no_preference, circles, consistency, fit_worths
from polepiece.measure.listening.pairs import cyclic_pairs, drawn_pairs
from polepiece.measure.listening.preference import PreferencePlan, PreferenceTrial

# Seven teams, thirteen games a pair: A. Agresti, Categorical Data Analysis (Wiley), the worked example of the model;
# wins of the row and the worths against the last team, both from memory.
GAMES = np.array(
    [
        [0, 7, 9, 7, 7, 9, 11],
        [6, 0, 7, 5, 11, 9, 9],
        [4, 6, 0, 7, 7, 8, 12],
        [6, 8, 6, 0, 6, 7, 10],
        [6, 2, 6, 7, 0, 7, 12],
        [4, 4, 5, 6, 6, 0, 6],
        [2, 4, 1, 3, 1, 7, 0],
    ],
    dtype=float,
)
PUBLISHED = (1.58, 1.44, 1.29, 1.25, 1.11, 0.68, 0.0)
STATES = ("alnico-2", "alnico-3", "alnico-5", "alnico-8", "ceramic-8")


def test_worths_of_the_published_example() -> None:
    found = fit_worths(GAMES)
    assert found.finite
    assert np.array(found.value) - found.value[-1] == pytest.approx(PUBLISHED, abs=0.005)  # two digits are printed
    assert all(low < value < high for low, value, high in zip(found.low, found.value, found.high))


def test_two_states_are_the_log_odds() -> None:
    """With two states the model is one rate: worth difference = log(wins / losses), in closed form."""
    found = fit_worths(np.array([[0.0, 12.0], [4.0, 0.0]]))
    assert found.value[0] - found.value[1] == pytest.approx(np.log(3.0), rel=1e-8)


def test_who_always_wins_has_no_finite_worth() -> None:
    found = fit_worths(np.triu(np.ones((4, 4)), 1))
    assert not found.finite
    assert list(found.value) == sorted(found.value, reverse=True)
    assert np.isfinite([*found.low, *found.high]).all()


def chosen(order: tuple[str, ...], circle: frozenset[tuple[str, str]] = frozenset()) -> list[str]:
    """Result in words of who always chooses the one further left in ``order``, but for pairs of ``circle``."""
    plan = PreferencePlan(states=tuple(sorted(order)), pairs=len(order) * (len(order) - 1), again=1)
    one = PreferenceTrial(plan=plan, seed=3, date="2026-11-30")
    while not one.over:
        first, second = one.plays("1"), one.plays("2")
        left = order.index(first) < order.index(second)
        one = one.answered("1" if (left or (first, second) in circle) and (second, first) not in circle else "2")
    return result_of(one)[0]


def test_which_worths_are_left_open_is_said() -> None:
    """Pairs that never fall the other way bound a worth on one side only; which side depends on the state."""
    said = "\n".join(chosen(("c", "a", "b")))
    assert said.startswith('Order by "preferred", chosen most often first: c, a, b. The states are')
    assert 'no upper bound to the worth of "c", which never lost, no lower' in said
    assert 'bound to the worth of "b", which never won. All' in said
    assert "2 logits" in said
    said = "\n".join(chosen(("a", "b", "c", "d"), circle=frozenset({("c", "a")})))
    assert 'no lower bound to the worth of "d", which never won. All' in said and "upper" not in said
    assert "Circle: a over b, b over c, c over a." in said
    said = "\n".join(chosen(tuple("abcdef"), circle=frozenset({("c", "a"), ("f", "d")})))
    assert "how far some stand above the rest" in said
    assert "bound" not in "\n".join(chosen(("a", "b", "c"), circle=frozenset({("c", "a")})))  # a circle of all


def test_likeliest_worths_and_intervals_are_those_of_a_general_minimiser() -> None:
    """Twelve drawn tables; scipy's BFGS on the same likelihood, to its own tolerance; ends: chi-square 2.7055."""
    rng = np.random.default_rng(0)
    tried = 0
    for _ in range(12):
        m = int(rng.integers(3, 8))
        games = np.triu(rng.integers(1, 6, (m, m)), 1)
        won = rng.binomial(games, 0.5)
        wins = np.asarray(won + (games - won).T, dtype=float)
        found = fit_worths(wins)
        if not found.finite:
            continue
        tried += 1

        def unlikely(worth: np.ndarray, wins: np.ndarray = wins) -> float:  # type: ignore[type-arg]
            return float((wins * np.log1p(np.exp(worth[None, :] - worth[:, None]))).sum())

        free = minimize(unlikely, np.zeros(m), options={"gtol": 1e-8})
        assert free.x - free.x.mean() == pytest.approx(found.value, abs=1e-5)
        for end in (found.low[0], found.high[0]):
            held = minimize(
                lambda rest, end=end, unlikely=unlikely: unlikely(
                    np.concatenate([[end], rest - rest.mean() - end / len(rest)])
                ),
                free.x[1:],
                options={"gtol": 1e-8},
            )
            assert 2.0 * (held.fun - free.fun) == pytest.approx(chi2.ppf(0.90, 1), abs=1e-3)
    assert tried >= 6


def test_states_that_never_met_are_refused() -> None:
    apart = np.zeros((4, 4))
    apart[0, 1] = apart[2, 3] = 1.0
    with pytest.raises(InputError, match="never compared"):
        fit_worths(apart)
    with pytest.raises(InputError, match="square"):
        fit_worths(np.ones((3, 3)))


def test_circles_and_kendalls_coefficient() -> None:
    """Three in a circle have the most circles there can be: 0; an order has none: 1 (Kendall and Babington Smith)."""
    ring = np.array([[0, 1, 0], [0, 0, 1], [1, 0, 0]])
    assert circles(ring) == [(0, 1, 2)]
    assert circles(ring.T) == [(0, 2, 1)]
    assert consistency(ring) == 0.0
    order = np.triu(np.ones((6, 6)), 1)
    assert (circles(order), consistency(order)) == ([], 1.0)
    turned = order.copy()
    turned[0, 5], turned[5, 0] = 0.0, 1.0  # last over first: a circle with each of the four between
    assert len(circles(turned)) == 4
    assert consistency(turned) == pytest.approx(1.0 - 24.0 * 4 / (6**3 - 4 * 6))
    assert consistency(2 * order) is None


def test_the_chance_of_no_preference_is_exact_for_two_states() -> None:
    """12 of 16 either way by coins: 2 x 2517 / 65536 (binomial table); 4 standard deviations of 10,000 draws."""
    found = chance_of_no_preference(np.array([[0.0, 12.0], [4.0, 0.0]]), seed=2)
    assert found == pytest.approx(2 * 2517 / 65536, abs=4.0 * np.sqrt(0.0768 * 0.9232 / 10_000))


@pytest.mark.parametrize("states", range(3, 10))
def test_every_state_stands_equally_often(states: int) -> None:
    for most in (states, 2 * states, 40):
        pairs = cyclic_pairs(states, most)
        assert len(set(pairs)) == len(pairs) <= most or most > states * (states - 1)
        count = Counter(one for pair in pairs for one in pair)
        assert len(set(count.values())) == 1
        assert set(count) == set(range(states))
    whole = states * (states - 1) // 2
    assert len(cyclic_pairs(states, 2 * whole + 1)) == 2 * whole
    firsts = Counter(a for a, _ in cyclic_pairs(states, 2 * whole))
    assert set(firsts.values()) == {states - 1}


@pytest.mark.parametrize("seed", range(20))
def test_sessions_hold_repeats_turned_and_one_pair_of_equals(seed: int) -> None:
    played = drawn_pairs(6, 15, 4, seed)
    new = [one for one in played if one.why == "new"]
    assert {frozenset((a.first, a.second)) for a in new} == {frozenset(c) for c in combinations(range(6), 2)}
    for one in (p for p in played if p.why == "again"):
        first = next(p for p in new if {p.first, p.second} == {one.first, one.second})
        assert (first.first, first.second) == (one.second, one.first)
        assert played.index(one) > played.index(first) + 1
    (same,) = [p for p in played if p.why == "same"]
    assert same.first == same.second and played[0].why == "new"


def listened(worth: dict[str, float], plan: PreferencePlan, seed: int) -> PreferenceTrial:
    """A listener who chooses by the model."""
    rng = np.random.default_rng([seed, 7])
    one = PreferenceTrial(plan=plan, seed=seed, date="2026-11-30")
    while not one.over:
        apart = worth[one.plays("1")] - worth[one.plays("2")]
        one = one.answered("1" if rng.random() < 1.0 / (1.0 + np.exp(-apart)) else "2")
    return one


def test_worths_of_simulated_listeners_are_held() -> None:
    """24 listeners with five worths each; 120 intervals of 90 %: 82 % is 3 standard deviations below."""
    held = []
    for seed in range(24):
        true = np.random.default_rng(seed).normal(0.0, 1.0, 5)
        true -= true.mean()
        out = listened(dict(zip(STATES, true)), PreferencePlan(states=STATES, pairs=10, again=3), seed).outcome()
        held += [low <= one <= high for low, one, high in zip(out.worths.low, true, out.worths.high)]
    assert np.mean(held) >= 0.82


def test_a_listener_who_knows_is_understood() -> None:
    sure = {name: 9.0 * k for k, name in enumerate(STATES)}
    plan = PreferencePlan(states=STATES, attribute="brighter", pairs=20, again=5)
    out = listened(sure, plan, 1).outcome()
    assert out.order == STATES[::-1]
    assert out.circles == ()
    assert out.own is not None and out.own.value == 1.0
    assert max(out.chance, plan.least_chance) < 0.01


def test_one_round_of_five_cannot_show_a_preference() -> None:
    """Of the 2^10 ways that coins fall 5! are an order: 11.7 %, so that even a sure listener shows nothing by it."""
    plan = PreferencePlan(states=STATES, pairs=10, again=0)
    assert plan.least_chance == pytest.approx(120 / 1024, abs=4.0 * np.sqrt(0.117 * 0.883 / 10_000))
    assert "11." in plan.stopping_rule or "12." in plan.stopping_rule
    out = listened({name: 9.0 * k for k, name in enumerate(STATES)}, plan, 1).outcome()
    assert (out.consistency, out.own) == (1.0, None)


def test_a_coin_prefers_nothing() -> None:
    """30 coins: a p-value below 5 % in 1.5 of them on average, and in 7 or more by a chance below 1 in 1,000."""
    plan = PreferencePlan(states=STATES, pairs=10, again=2)
    assert sum(listened(dict.fromkeys(STATES, 0.0), plan, seed).outcome().chance < 0.05 for seed in range(30)) < 7


def test_the_record_comes_back_and_reproduces() -> None:
    plan = PreferencePlan(states=STATES, attribute="tighter", pairs=10, again=3)
    one = listened(dict.fromkeys(STATES, 0.0), plan, 4)
    back = PreferenceTrial.from_dict(json.loads(json.dumps(one.to_dict())))
    assert back == one
    assert back.outcome() == one.outcome()
    with pytest.raises(MeasurementError, match="lacks 'seed'"):
        PreferenceTrial.from_dict({k: v for k, v in one.to_dict().items() if k != "seed"})


def test_nothing_is_told_before_the_end_and_nothing_added_after() -> None:
    plan = PreferencePlan(states=STATES, pairs=5, again=0)
    one = PreferenceTrial(plan=plan, seed=3, date="2026-11-30").answered("1")
    with pytest.raises(InputError, match="after the last"):
        one.outcome()
    with pytest.raises(InputError, match="Answer 1 or 2"):
        one.answered("3")
    while not one.over:
        one = one.answered("2")
    with pytest.raises(InputError, match="new session"):
        one.answered("1")


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"states": ("a", "a", "b")}, "same name"),
        ({"states": ("a", "b")}, "3 to 9"),
        ({"states": STATES, "pairs": 4}, "one round"),
        ({"states": STATES, "pairs": 5, "again": 5}, "0 to 4"),
        ({"states": STATES, "attribute": "x" * 61}, "at most 60"),
    ],
)
def test_plans_that_cannot_be(given: dict[str, object], said: str) -> None:
    with pytest.raises(InputError, match=said):
        PreferencePlan(**given)  # type: ignore[arg-type]
