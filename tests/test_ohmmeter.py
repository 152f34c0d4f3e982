"""The ohmmeter: exact bounds, polarity, switch states, what is cold or charged, and values of any size."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from math import inf, isfinite, isinf, isnan

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from netdiff.circuit import Circuit, Part, Run
from netdiff.electrical import Interval, Ohmmeter, Unreadable
from netdiff.electrical.resistive import Network
from tests.random_circuits import RESISTOR
from tests.texts import model

HEAD = 'stock "T"\nground chassis\n'


def meter(text: str, state: str = "rest") -> Ohmmeter:
    return Ohmmeter(model(HEAD + text).circuit(frozenset()), state)


def about(ohms: Interval, nominal: float, low: float | None = None, high: float | None = None) -> None:
    assert ohms.nominal == pytest.approx(nominal, rel=1e-6)
    if low is not None and high is not None:
        assert (ohms.low, ohms.high) == pytest.approx((low, high), rel=1e-6)


# --- laws

edges = st.lists(
    st.tuples(st.integers(0, 5), st.integers(0, 5), st.floats(1e-3, 1e6)).filter(lambda edge: edge[0] != edge[1]),
    min_size=1,
    max_size=7,
)


def circuit(rows: Sequence[tuple[int, int, float]], tolerance: float = 0.1) -> Circuit:
    """Resistors between the lugs of six one-lug posts, here plain net names."""
    parts, runs = {}, []
    for number, (a, b, ohms) in enumerate(rows, 1):
        name = f"R{number}"
        parts[name] = Part(name, RESISTOR, value=ohms, tolerance=tolerance)
        runs += [Run(f"{name}.1", f"n{a}" if a else "chassis"), Run(f"{name}.2", f"n{b}" if b else "chassis")]
    return Circuit("t", "t.stock", parts=parts, runs=tuple(runs))


@settings(max_examples=60, deadline=None)
@given(edges, st.sampled_from([0.01, 0.1, 0.5]))
def test_the_bounds_are_those_of_all_corners(rows: list[tuple[int, int, float]], tolerance: float) -> None:
    """Rayleigh: the least reading is that of all least values, the greatest that of all greatest, and no corner, of
    which there are two to the number of parts, lies outside."""
    whole = Ohmmeter(circuit(rows, tolerance))
    points = [where for where in ("n1", "n2", "n3") if whole.has(where)]
    for a in points:
        bound = whole.between(a)
        seen = []
        for corner in itertools.product((1 - tolerance, 1 + tolerance), repeat=len(rows)):
            at = circuit([(x, y, ohms * k) for (x, y, ohms), k in zip(rows, corner, strict=True)], 0.0)
            seen.append(Ohmmeter(at).between(a).nominal)
        if isinf(bound.nominal):
            assert all(isinf(one) for one in seen) and isinf(bound.low) and isinf(bound.high)
        else:
            assert min(seen) == pytest.approx(bound.low, rel=1e-9)
            assert max(seen) == pytest.approx(bound.high, rel=1e-9)


@settings(max_examples=100, deadline=None)
@given(edges, st.integers(0, 6), st.floats(1.0, 1e3))
def test_a_resistance_that_rises_lowers_no_reading(rows: list[tuple[int, int, float]], which: int, by: float) -> None:
    which %= len(rows)
    risen = [(a, b, ohms * by if n == which else ohms) for n, (a, b, ohms) in enumerate(rows)]
    before, after = Network(6, rows, 0), Network(6, risen, 0)
    for a, b in itertools.combinations(range(6), 2):
        assert after.between(a, b) >= before.between(a, b) * (1 - 1e-12)


@settings(max_examples=100, deadline=None)
@given(edges)
def test_a_reading_is_the_same_with_the_leads_exchanged_and_all_at_once(rows: list[tuple[int, int, float]]) -> None:
    network = Network(6, rows, 0)
    chart = network.to_ground()
    for a in range(6):
        assert chart[a] == pytest.approx(network.between(a, 0), rel=1e-9)
        for b in range(a):
            assert network.between(a, b) == pytest.approx(network.between(b, a), rel=1e-12)


@settings(max_examples=100, deadline=None)
@given(edges, st.integers(0, 5), st.integers(0, 5))
def test_potentials_lie_between_the_leads(rows: list[tuple[int, int, float]], a: int, b: int) -> None:
    network = Network(6, rows, 0)
    if a == b or not network.joined(a, b):
        return
    heights = network.potentials(a, b, range(6))
    assert heights[a] == pytest.approx(1.0) and heights[b] == pytest.approx(0.0, abs=1e-9)
    assert all(one is None or -1e-9 <= one <= 1 + 1e-9 for one in heights)


# --- values of any size


@pytest.mark.parametrize("size", [1e-15, 1e-9, 1.0, 1e9, 1e15])
def test_values_of_any_size_come_out_with_their_digits(size: float) -> None:
    rows = [(1, 2, size), (2, 0, 2 * size), (1, 0, 1e15), (2, 3, 1e-15), (3, 0, 1e15)]
    got = Network(4, rows, 0).between(2, 0)
    expected = 1 / (1 / (2 * size) + 1 / (size + 1e15) + 1 / (1e-15 + 1e15))
    assert got == pytest.approx(expected, rel=1e-12)


def test_a_loop_of_no_resistance_reads_nothing_and_breaks_nothing() -> None:
    reads = meter(
        "R1 resistor 0\nR2 resistor 0\nR3 resistor 1k\na -- R1 -- b\na -- R2 -- b\nb -- R3 -- chassis\nnet a\nnet b\n"
    )
    assert reads.between("a", "b") == Interval(0, 0, 0)
    about(reads.between("a"), 1000, 800, 1200)


def test_a_floating_network_reads_open_to_ground_and_true_within() -> None:
    reads = meter("R1 resistor 1k 10%\nnet a\nnet b\na -- R1 -- b\n")
    assert reads.between("a").open
    about(reads.between("a", "b"), 1000, 900, 1100)


def test_nothing_ever_is_not_a_number() -> None:
    reads = meter(
        "R1 resistor 1u\nR2 resistor 1000T\nnet a\na -- R1 -- chassis\na -- R2 -- chassis\n".replace(
            "1u", "0.000001"
        ).replace("1000T", "1000000M")
    )
    for value in reads.between("a"):
        assert not isnan(value) and isfinite(value)


def test_a_point_that_is_none_of_the_circuit_is_told() -> None:
    with pytest.raises(Unreadable, match=r"R9\.1"):
        meter("R1 resistor 1k\nchassis -- R1 -- chassis\n").between("R9.1")


def test_a_state_that_is_none_is_told() -> None:
    with pytest.raises(KeyError):
        meter("R1 resistor 1k\nchassis -- R1 -- chassis\n", "sending")


# --- what parts are to a meter


def test_capacitors_are_open_and_the_time_to_charge_them_is_told() -> None:
    reads = meter("C1 electrolytic 16u 450V\nR1 resistor 10k\nnet b+\nb+ -- C1.+/- -- chassis\nb+ -- R1 -- chassis\n")
    got = reads.read("b+")
    about(got.ohms, 10e3)
    assert got.seconds == pytest.approx(5 * 16e-6 * 10e3, rel=1e-2)
    open_ = meter("C1 electrolytic 16u 450V\nnet b+\nb+ -- C1.+/- -- chassis\n").read("b+")
    assert open_.ohms.open and open_.seconds == pytest.approx(5 * 16e-6 * 1e6, rel=1e-2)


def test_a_diode_conducts_with_the_positive_lead_at_its_anode() -> None:
    text = "CR1 rectifier 450V 100mA\nR1 resistor 1k 10%\nnet a\nchassis -- R1 -- CR1.k\nCR1.a -- a\n"
    forward = meter(text).read("a")
    assert forward.ohms.low == pytest.approx(900, rel=1e-3) and forward.through == ("CR1",)
    assert isinf(forward.ohms.high), "a low range may not open a junction at all"
    assert meter(text).between("chassis", "a").nominal == inf


def test_a_bridge_conducts_both_ways_from_its_minus_to_its_plus() -> None:
    text = "CR1 bridge 60V 300mA\nnet p\nnet n\nCR1.+ -- p\nCR1.- -- n\nR1 resistor 10\nCR1.ac1 -- R1 -- CR1.ac2\n"
    reads = meter(text)
    assert reads.between("n", "p").nominal < 5000
    assert reads.between("p", "n").open or reads.between("p", "n").nominal == inf


def test_two_diodes_in_series_over_a_floating_joint_conduct() -> None:
    text = "CR1 diode silicon 1000V 1A\nCR2 diode silicon 1000V 1A\nnet a\na -- CR1.a/k -- CR2.a/k -- chassis\n"
    assert meter(text).between("a").nominal < 1e5
    assert meter(text).between("chassis", "a").nominal == inf


def test_contacts_switches_and_plug_in_parts_are_as_the_state_has_them() -> None:
    text = (
        "S1 switch-spdt at 1\nR1 resistor 100 1%\nR2 resistor 200 1%\nJ1 jack-2\nV1 tube 0D3\nnet a\n"
        "S1.c -- a\nS1.1 -- R1 -- chassis\nS1.2 -- R2 -- J1.tip\nJ1.sleeve -- chassis\n"
        "net x\nV1.3 -- x\nV1.7 -- chassis\n"
        "state other: S1 at 2, J1 closed, V1 out, power off\n"
    )
    about(meter(text).between("a"), 100)
    about(meter(text, "other").between("a"), 200)
    assert meter(text).between("x") == Interval(0, 0, 0), "the jumper in the base of a regulator carries the circuit"
    assert meter(text, "other").between("x").open


def test_cold_heaters_and_lamps_are_far_below_their_hot_resistance() -> None:
    text = "V1 tube 6V6GT\nDS1 lamp 6.3V 150mA\nnet a\nnet b\nV1.h1 -- a\nV1.h2 -- b\nnet c\nDS1.1 -- c\nDS1.2 -- b\n"
    heater = meter(text).between("a", "b")
    assert 14 / 8.5 <= heater.low < heater.nominal < heater.high <= 14 / 5
    assert meter(text).between("c", "b").nominal == pytest.approx(4.2, rel=0.01)
    assert meter(text).between("a").open, "between the electrodes of a cold tube there is nothing"


def test_the_tap_of_a_rectifiers_heater_is_at_its_share() -> None:
    text = "V1 tube 35Z5GT\nnet a\nnet t\nnet b\nV1.2 -- a\nV1.3 -- t\nV1.7 -- b\n"
    reads = meter(text)
    assert reads.between("a", "t").nominal / reads.between("a", "b").nominal == pytest.approx(7.5 / 35)


def test_potentiometers_stand_in_the_middle_and_their_arm_has_its_travel() -> None:
    reads = meter("R1 potentiometer 100k 10%\nnet arm\nR1.cw -- chassis\nR1.arm -- arm\n")
    arm = reads.between("arm")
    assert arm.nominal == pytest.approx(50e3) and arm.low < 45e3 and arm.high > 55e3


def test_windings_coils_meters_and_fuses() -> None:
    text = (
        "T1 transformer\nwinding T1 1 -- 2 -- 3, 800Vac, 120ohm\nL1 choke 8H 100mA 200ohm\nK1 relay-spst 24V 300ohm\n"
        "M1 meter 1mA 50ohm\nF1 fuse 3A 250V\nnet a\nT1.1 -- a\nT1.2 -- chassis\nL1.1 -- chassis\nK1.coil1 -- chassis\n"
        "M1.+ -- chassis\nF1.1 -- chassis\n"
    )
    reads = meter(text)
    about(reads.between("a"), 60, 51, 69)
    about(reads.between("T1.3"), 60)
    about(reads.between("L1.2"), 200)
    about(reads.between("K1.coil2"), 300, 270, 330)
    about(reads.between("M1.-"), 50)
    assert reads.between("F1.2") == Interval(0, 0, 0)


def test_a_thing_that_nobody_identified_makes_a_reading_doubtful() -> None:
    from netdiff.comparison.merged import as_found
    from tests.texts import compared

    stock = HEAD + "R1 resistor 1k\nnet a\na -- R1 -- chassis\n"
    found = 'found "u" of "t.stock"\ntraced R1 ?A1\n?A1 unknown\na -- R1 -- chassis\n?A1.x -- a\n?A1.y -- chassis\n'
    got = Ohmmeter(as_found(compared(stock, found))).read("a")
    assert got.doubtful == ("?A1",)
    about(got.ohms, 1000)
