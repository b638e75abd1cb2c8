"""Laws that every net of passive parts keeps: another nodal analysis agrees, it takes power, it works both ways."""

import numpy as np
from hypothesis import assume, given
from hypothesis import strategies as st

from polepiece.circuit import GROUND, JACK, Capacitor, Coils, Inductor, Net, Part, Resistor, solve_net
from tests.reference import circuit_elements as plain
from tests.reference.net_as_network import as_network
from tests.reference.nodal import port_impedance, transfers

HERTZ = np.geomspace(20, 20e3, 7)
JW = 2j * np.pi * HERTZ
ROUNDING = 1e-9  # of the largest: two orders of elimination of at most nine unknowns, values over eight decades
NODES = (GROUND, JACK, "a", "b", "c", "d")


@st.composite
def nets(draw: st.DrawFn, *, inductors: bool = False) -> Net:
    """Nets of resistors, capacitors, contacts and pickups of one or two coils; a resistor holds every node."""
    parts: list[Part] = []
    size = st.floats(0.0, 1.0)

    def two() -> tuple[str, str]:
        a, b = draw(st.lists(st.sampled_from(NODES), min_size=2, max_size=2, unique=True))
        return a, b

    for number in range(draw(st.integers(1, 2))):
        count = draw(st.integers(1, 2))
        ohm = np.array([2e3 + 8e3 * draw(size) for _ in range(count)])
        own = np.array([0.5 + 4.0 * draw(size) for _ in range(count)])
        henry = np.diag(own)
        if count == 2:
            henry[0, 1] = henry[1, 0] = (1.8 * draw(size) - 0.9) * np.sqrt(own[0] * own[1])
        parts.append(
            Coils(
                name=f"p{number}", ends=tuple(two() for _ in range(count)),
                impedance=plain.coil_impedance(HERTZ, ohm, henry),
            )
        )  # fmt: skip
    for number in range(draw(st.integers(0, 4))):
        a, b = two()
        parts.append(Resistor(name=f"r{number}", a=a, b=b, value=draw(st.sampled_from([0.0, np.inf, 1e3, 82e3, 5e5]))))
    for number in range(draw(st.integers(0, 4))):
        a, b = two()
        parts.append(Capacitor(name=f"c{number}", a=a, b=b, value=draw(st.sampled_from([0.0, 4e-11, 1e-9, 2.2e-8]))))
    if inductors:
        a, b = two()
        parts.append(Inductor(name="l", a=a, b=b, value=0.1 + draw(size)))
    for place, node in enumerate(NODES[1:], start=1):
        held = draw(st.sampled_from(NODES[:place]))
        parts.append(Resistor(name=f"t{node}", a=held, b=node, value=10.0 ** (3.0 + 3.0 * draw(size))))
    return Net(parts=tuple(parts))


def _has_a_loop_of_contacts(net: Net) -> bool:
    """Whether contacts close a loop: what runs round it is anything, and the plain matrix has no inverse."""
    group = {node: node for node in NODES}
    for part in net.parts:
        if isinstance(part, Resistor) and np.all(part.value == 0.0):
            a, b = group[part.a], group[part.b]
            if a == b:
                return True
            group = {node: a if one == b else one for node, one in group.items()}
    return False


def _solved(net: Net) -> tuple[np.ndarray, np.ndarray]:
    assume(not _has_a_loop_of_contacts(net))
    network = as_network(net)
    return transfers(network, HERTZ, JACK), port_impedance(network, HERTZ, JACK)


@given(nets())
def test_another_nodal_analysis_agrees(net: Net) -> None:
    gains, behind = _solved(net)
    found = solve_net(net, HERTZ)
    assert np.max(np.abs(np.concatenate(found.transfers) - gains)) <= ROUNDING * max(1.0, np.max(np.abs(gains)))
    assert np.max(np.abs(found.impedance - behind)) <= ROUNDING * max(1.0, np.max(np.abs(behind)))


@given(nets(inductors=True))
def test_it_agrees_with_inductors_without_loss(net: Net) -> None:
    gains, behind = _solved(net)
    found = solve_net(net, HERTZ)
    assume(np.any(found.impedance))  # a contact across jack and inductor: the plain matrix has no digits left there
    assert np.max(np.abs(np.concatenate(found.transfers) - gains)) <= ROUNDING * max(1.0, np.max(np.abs(gains)))
    assert np.max(np.abs(found.impedance - behind)) <= ROUNDING * max(1.0, np.max(np.abs(behind)))


@given(nets())
def test_the_jack_takes_power_and_gives_none(net: Net) -> None:
    behind = solve_net(net, HERTZ).impedance
    assert np.all(behind.real >= -ROUNDING * np.abs(behind))


@given(nets(), st.floats(10.0, 1e6))
def test_a_load_at_the_jack_is_a_resistor_in_the_net(net: Net, ohm: float) -> None:
    """Thevenin: what the net gives into a load follows from what it gives into nothing and the impedance behind."""
    loaded = solve_net(Net(parts=(*net.parts, Resistor(name="load", a=JACK, b=GROUND, value=ohm))), HERTZ)
    bare = solve_net(net, HERTZ)
    for one, other in zip(loaded.transfers, bare.transfers):
        np.testing.assert_allclose(one, other / (1.0 + bare.impedance / ohm), rtol=0, atol=ROUNDING)


@given(nets())
def test_leads_exchanged_turn_the_sign(net: Net) -> None:
    first = next(part for part in net.parts if isinstance(part, Coils))
    back = Coils(name=first.name, ends=tuple((b, a) for a, b in first.ends), impedance=first.impedance)
    turned = Net(parts=tuple(back if part is first else part for part in net.parts))
    one, other = solve_net(net, HERTZ), solve_net(turned, HERTZ)
    np.testing.assert_allclose(one.transfers[0], -other.transfers[0], rtol=0, atol=ROUNDING)
    np.testing.assert_allclose(one.impedance, other.impedance, rtol=ROUNDING, atol=ROUNDING)
