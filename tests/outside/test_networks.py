"""Published worked examples of networks, typed as netlists and read with the ohmmeter and the voltmeter.

Sources: DOE Fundamentals Handbook, Electrical Science, vol. 2 (h1011v1): DOE. Kuphaldt, Lessons In Electric Circuits,
vol. I: LEC. US Navy, NEETS module 1, as re-told on a public page: NEETS (that it is the origin is from memory).
"""

from __future__ import annotations

import pytest

from netdiff.electrical import Ohmmeter, Operating, operate
from tests.texts import model


def stock(resistors: str, wires: str, nets: str = "", more: str = "") -> str:
    """``resistors`` is ``R1 100, R2 250``; ``wires`` chains, one a comma; every bare word is a net."""
    parts = "".join(f"{name} resistor {ohms}\n" for name, ohms in (one.split() for one in resistors.split(", ")))
    chains = "".join(f"{one}\n" for one in wires.split(", "))
    return f'stock "T"\nground gnd\n{parts}{nets}{chains}{more}'


def meter(resistors: str, wires: str, nets: str = "net a\n") -> Ohmmeter:
    return Ohmmeter(model(stock(resistors, wires, nets)).circuit(frozenset()))


def volts(resistors: str, wires: str, nets: str, more: str = "", state: str = "powered") -> Operating:
    return operate(model(stock(resistors, wires, nets, more)).circuit(frozenset()), state)


def reads(at: Operating, where: str) -> float:
    got = at.volts(where)
    assert got is not None
    return got.nominal


def through(at: Operating, name: str) -> float:
    got = at.amps(name)
    assert got is not None
    return abs(got.nominal)


RESISTANCES = [
    ("DOE p. 23, series", "R1 60, R2 100, R3 150", "a -- R1 -- R2 -- R3 -- gnd", 310.0),
    ("DOE fig. 22, p. 28, series", "R1 40, R2 60, R3 100", "a -- R1 -- R2 -- R3 -- gnd", 200.0),
    (
        "DOE fig. 27, parallel, printed 2.29",
        "R1 4, R2 8, R3 16",
        "a -- R1 -- gnd, a -- R2 -- gnd, a -- R3 -- gnd",
        16 / 7,
    ),
    ("DOE fig. 28, p. 36, the 24 that makes 6 of 8", "R1 8, R2 24", "a -- R1 -- gnd, a -- R2 -- gnd", 6.0),
    (
        "LEC ch. 7, series-parallel, printed 198.70",
        "R1 100, R2 250, R3 350, R4 200",
        "a -- R1 -- m, a -- R2 -- m, m -- R3 -- gnd, m -- R4 -- gnd",
        198.7013,
    ),
    (
        "LEC ch. 7 with R2 open: higher (computed with numpy)",
        "R1 100, R3 350, R4 200",
        "a -- R1 -- m, m -- R3 -- gnd, m -- R4 -- gnd",
        227.2727,
    ),
    ("LEC ch. 10, Thevenin resistance of two batteries", "R1 4, R3 1", "a -- R1 -- gnd, a -- R3 -- gnd", 0.8),
    (
        "NEETS divider, source and loads off",
        "R1 1500, R2 500, R31 50, R32 50, R33 50",
        "a -- R31 -- m, m -- R32 -- hi, m -- R33 -- hi, hi -- R2 -- lo, lo -- R1 -- gnd",
        2075.0,
    ),
    ("10 k and 10 k for 20 k (common practice)", "R1 10k, R2 10k", "a -- R1 -- R2 -- gnd", 20e3),
    (
        "20 k and 20 k across each other for 10 k (common practice)",
        "R1 20k, R2 20k",
        "a -- R1 -- gnd, a -- R2 -- gnd",
        10e3,
    ),
]


@pytest.mark.parametrize(("source", "resistors", "wires", "ohms"), RESISTANCES, ids=[row[0] for row in RESISTANCES])
def test_resistance_of_published_networks(source: str, resistors: str, wires: str, ohms: float) -> None:
    assert source
    got = meter(resistors, wires, "net a\nnet m\nnet hi\nnet lo\n").between("a")
    assert got.nominal == pytest.approx(ohms, rel=1e-5)


def test_two_resistors_in_series_measure_within_twice_one_tolerance() -> None:
    """10 kΩ and 10 kΩ of 10 % for 20 kΩ: 18 to 22 kΩ. Common practice."""
    text = stock("R1 10k", "a -- R1 -- R2 -- gnd", "net a\nR2 resistor 10k 10%\n").replace(
        "R1 resistor 10k", "R1 resistor 10k 10%"
    )
    got = Ohmmeter(model(text).circuit(frozenset())).between("a")
    assert (got.low, got.high) == pytest.approx((18e3, 22e3))


def test_series_circuit_of_the_handbook_draws_its_current() -> None:
    """DOE fig. 22, p. 28: 120 V across 40 + 60 + 100 ohms: 0.6 A, and 24, 36, 60 V."""
    at = volts(
        "R1 40, R2 60, R3 100", "a -- R1 -- x, x -- R2 -- y, y -- R3 -- gnd", "net a supply 120V\nnet x\nnet y\n"
    )
    assert through(at, "R1") == pytest.approx(0.6, rel=1e-3)
    assert (reads(at, "x"), reads(at, "y")) == pytest.approx((96, 60), rel=2e-3)


def test_series_parallel_currents_and_volts() -> None:
    """LEC ch. 7: 24 V; 86.27, 34.51, 43.92, 76.86 mA; 8.627 and 15.37 V."""
    at = volts(
        "R1 100, R2 250, R3 350, R4 200",
        "a -- R1 -- m, a -- R2 -- m, m -- R3 -- gnd, m -- R4 -- gnd",
        "net a supply 24V\nnet m\n",
    )
    assert reads(at, "m") == pytest.approx(15.37, rel=2e-3)
    currents = [1e3 * through(at, name) for name in ("R1", "R2", "R3", "R4")]
    assert currents == pytest.approx([86.27, 34.51, 43.92, 76.86], rel=2e-3)


def test_two_batteries() -> None:
    """LEC ch. 10: 28 V over 4 ohms and 7 V over 1 ohm onto 2 ohms: 8 V there; 5 and 4 A."""
    at = volts(
        "R1 4, R2 2, R3 1",
        "BT1.+ -- R1 -- m, m -- R2 -- gnd, m -- R3 -- BT2.+, BT1.- -- gnd, BT2.- -- gnd",
        "net m\nBT1 battery 28V\nBT2 battery 7V\n",
    )
    assert reads(at, "m") == pytest.approx(8.0, rel=2e-3)
    assert [through(at, name) for name in ("R1", "R2", "R3")] == pytest.approx([5.0, 4.0, 1.0], rel=5e-3)


def test_parallel_currents_of_the_handbook() -> None:
    """DOE p. 39: 24 A into 6 and 8 ohms: 13.71 and 10.29 A."""
    at = volts("R1 6, R2 8, R3 1", "s -- R3 -- a, a -- R1 -- gnd, a -- R2 -- gnd", "net a\nnet s supply 106.2857V\n")
    assert (through(at, "R1"), through(at, "R2")) == pytest.approx((13.71, 10.29), rel=2e-3)


NEETS = (
    "R1 1500, R2 500, R31 50, R32 50, R33 50",
    "s -- R31 -- m, m -- R32 -- hi, m -- R33 -- hi, hi -- R2 -- lo, lo -- R1 -- gnd",
    "net s supply 190.5V\nnet m\nnet hi\nnet lo\nV1 tube 6J5\nV2 tube 6J5\n"
    "lo -- V1.p\nV1.k -- gnd\nhi -- V2.p\nV2.k -- gnd\n",
)


def test_loaded_bleeder_divider_of_the_navy_course() -> None:
    """NEETS: 45 V at 210 mA and 165 V at 100 mA from 190.5 V; 340 mA in all, 30 mA of it through the bleeder."""
    loads = "state loaded: V1 in\nload 210mA V1.p -- V1.k in loaded\nload 100mA V2.p -- V2.k in loaded\n"
    at = volts(*NEETS, more=loads, state="loaded")
    assert (reads(at, "lo"), reads(at, "hi")) == pytest.approx((45, 165), rel=5e-3)
    assert through(at, "R1") == pytest.approx(0.030, rel=1e-2)
    assert through(at, "R2") == pytest.approx(0.240, rel=5e-3)
    watts = [at.watts(name) for name in ("R1", "R2", "R31", "R32", "R33")]
    assert [w.nominal for w in watts if w] == pytest.approx([1.35, 28.8, 5.78, 1.445, 1.445], rel=2e-2)


def test_the_same_divider_without_its_loads() -> None:
    """183.61 and 137.71 V (arithmetic on the published values)."""
    at = volts(*NEETS)
    assert (reads(at, "hi"), reads(at, "lo")) == pytest.approx((183.61, 137.71), rel=1e-3)


def test_multiple_load_divider() -> None:
    """NEETS, multiple loads: 90, 150, 175 V from 285 V with 10, 5, 30 mA; from memory, self-consistent."""
    parts = "R1 18k, R2 4k, R3 1250, R4 2200"
    wires = "s -- R4 -- c, c -- R3 -- b, b -- R2 -- a, a -- R1 -- gnd"
    nets = "net s supply 285V\nnet a\nnet b\nnet c\nV1 tube 6J5\nV2 tube 6J5\nV3 tube 6J5\n"
    nets += "".join(f"{net} -- V{n}.p\nV{n}.k -- gnd\n" for n, net in enumerate("abc", 1))
    taken = "".join(f"load {ma}mA V{n}.p -- V{n}.k in loaded\n" for n, ma in enumerate((10, 5, 30), 1))
    loads = f"state loaded: V1 in\n{taken}"
    at = volts(parts, wires, nets, loads, "loaded")
    assert [reads(at, net) for net in "abc"] == pytest.approx([90, 150, 175], rel=2e-3)
    free = volts(parts, wires, nets)
    assert [reads(free, net) for net in "bc"] == pytest.approx([246.365, 260.363], rel=1e-3)


def test_half_bridge_reads_through_its_parallel_path() -> None:
    """A low in-circuit reading is usually a parallel path: 100 k with 47 k + 4.7 k beside it. Common practice."""
    got = meter("R1 100k, R2 47k, R3 4k7", "a -- R1 -- gnd, a -- R2 -- R3 -- gnd").between("a")
    assert got.nominal == pytest.approx(1 / (1 / 100e3 + 1 / 51.7e3))
