"""Newton's steps: behind a factor of the whole, of an earlier step, or of bodies each for itself: one answer."""

import numpy as np
import pytest

from polepiece.errors import ConvergenceError
from polepiece.magnetics.newton import TOLERANCE, Newton, Own, apart

BODIES, EACH = 4, 12
NODES = BODIES * EACH


def law(h: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """A magnet's curve with a knee: 1e5 A/m at no field, steep at -5e4 A/m."""
    t = (h + 5e4) / 2e4
    return 1e5 * np.tanh(t) + 2.0 * h, 1e5 / 2e4 / np.cosh(t) ** 2 + 2.0


def each_for_itself(one: Newton) -> list[Own]:
    return apart(one.network, one.a, one.b, one.area, one.length, body=np.repeat(np.arange(BODIES), EACH))


def problem(coupling: float) -> Newton:
    """Four bodies, each a chain of nodes; ``coupling``: what they are to each other in the network."""
    rng = np.random.default_rng(5)
    root = rng.standard_normal((NODES, NODES)) / NODES
    body = np.repeat(np.arange(BODIES), EACH)
    same = body[:, None] == body
    network = root @ root.T
    network = np.where(same, network, coupling * network) + np.diag(np.full(NODES, 0.05))
    a = np.array([k for k in range(NODES - 1) if body[k] == body[k + 1]])
    area, length = np.full(len(a), 1e-5), np.full(len(a), 1e-3)
    return Newton(network, a, a + 1, area, length)


@pytest.mark.parametrize("coupling", [0.1, 1.0])
@pytest.mark.parametrize("start", [0.0, 30.0])
def test_bodies_each_for_itself_come_to_the_answer_of_the_whole(coupling: float, start: float) -> None:
    whole, parts = problem(coupling), problem(coupling)
    parts.apart = each_for_itself(parts)
    guess = start * np.sin(np.arange(NODES))
    known, found = (one.solve(guess, law) for one in (whole, parts))
    # what stops Newton is a residual: potentials differ by that over the smallest stiffness, some hundred times it
    np.testing.assert_allclose(found[0], known[0], rtol=0.0, atol=1e3 * TOLERANCE * np.abs(known[0]).max())
    h = (found[0][parts.a] - found[0][parts.b]) / parts.length
    wrong = parts.network @ found[0] - parts.charge(law(h)[0])
    charge = np.bincount(parts.b, np.abs(law(h)[0]) * parts.area, NODES)
    assert np.linalg.norm(wrong) <= TOLERANCE * np.linalg.norm(charge)


def test_a_whole_is_factorised_once_where_steps_are_alike(monkeypatch: pytest.MonkeyPatch) -> None:
    """From a state near the answer: one factor, and conjugate gradients behind it."""
    one = problem(1.0)
    answer = one.solve(np.zeros(NODES), law)[0]
    again, made = problem(1.0), []
    factorised = again.factorised
    monkeypatch.setattr(again, "factorised", lambda weight: made.append(1) or factorised(weight))
    _, _, _, steps = again.solve(answer * 1.05, law)
    assert steps > 1
    assert len(made) == 1


def test_bodies_that_act_on_each_other_are_factorised_as_a_whole() -> None:
    """All but the same potential everywhere in the network: bodies alone are no help, and are given up."""
    one = problem(1.0)
    one.network = one.network + 100.0 * np.ones((NODES, NODES))
    one.apart = each_for_itself(one)
    rng = np.random.default_rng(1)
    wrong, slope = rng.standard_normal(NODES), np.full(len(one.a), 3.0)
    found = one.move(wrong, slope)
    weight = slope * one.area / one.length
    jacobian = one.network.copy()
    for a, b, w in zip(one.a, one.b, weight):
        jacobian[[a, b], [a, b]] += w
        jacobian[[a, b], [b, a]] -= w
    assert np.linalg.norm(jacobian @ found - wrong) <= 0.02 * np.linalg.norm(wrong)  # FORCING


@pytest.mark.parametrize("size", [1.0, 1e-12, 1e12])
def test_a_network_that_single_precision_cannot_hold_is_solved_in_double(size: float) -> None:
    """A condition of 1e10: more than the seven digits of a single number, less than the sixteen of a double one."""
    one = problem(1.0)
    one.network = one.network * 1e-10 + np.ones((NODES, NODES))
    rng = np.random.default_rng(2)
    wrong, slope = size * rng.standard_normal(NODES), np.zeros(len(one.a))
    found = one.move(wrong, slope)
    assert np.linalg.norm(one.network @ found - wrong) <= 0.02 * np.linalg.norm(wrong)  # FORCING


def test_a_network_that_is_not_positive_definite_is_refused() -> None:
    one = problem(1.0)
    one.network = -one.network
    with pytest.raises(ConvergenceError, match="not positive definite"):
        one.move(np.ones(NODES), np.zeros(len(one.a)))
