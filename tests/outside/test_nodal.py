"""Voltages at work and voltages of windings beside a dense solver of numpy that tries every mode of whatever bends, and
readings through diodes beside the least power: the nodal equations as any textbook has them (C.-W. Ho, A. E. Ruehli, P.
A. Brennan, IEEE Trans. CAS-22 (1975) 504; from memory), sources as constraints, nothing eliminated by hand."""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterator, Sequence
from fractions import Fraction
from math import inf
from typing import NamedTuple

import numpy as np
import pytest

from netdiff.electrical import Alternating, Ohmmeter, operate
from netdiff.electrical.bends import KNEE
from tests.texts import model

HEAD = 'stock "T"\nground chassis\n'
REGULATED, BEHIND = 150.0, 100.0
"""Of a 0D3 as ``tubes.yaml`` and ``supplies.yaml`` have it."""
BATTERY_OHMS = 1e-3
SUPPLY_OHMS = 1e-3


class Piece(NamedTuple):
    """From ``a`` to ``b``: volts behind ohms."""

    a: int
    b: int
    ohms: float
    volts: float = 0.0


def dense(count: int, pieces: Sequence[Piece], currents: Sequence[tuple[int, int, float]] = ()) -> np.ndarray | None:
    """Volts of every node against node 0, each piece's current an unknown of its own; None where it has no solution."""
    size = count + len(pieces)
    left, right = np.zeros((size + 1, size)), np.zeros(size + 1)
    for number, one in enumerate(pieces):
        at = count + number
        left[one.a, at] += 1
        left[one.b, at] -= 1
        left[at, one.a], left[at, one.b], left[at, at] = 1.0, -1.0, -one.ohms
        right[at] = one.volts
    for a, b, amps in currents:
        right[a] -= amps
        right[b] += amps
    left[size, 0] = 1.0
    got = np.linalg.lstsq(left, right, rcond=None)[0]
    return got[:count] if np.abs(left @ got - right).max() < 1e-6 else None


def network(rng: random.Random, nodes: int, loads: int, regulators: int) -> tuple[str, list, list, list]:
    """A circuit as text, with its plain pieces, its loads and its regulators. Node 0 is the chassis; every node has a
    way there."""
    names = ["chassis", *(f"n{n}" for n in range(1, nodes))]
    text, wires, pieces = [HEAD], [], []
    for number in range(2 * nodes):
        a = number + 1 if number + 1 < nodes else rng.randrange(nodes)
        b = rng.randrange(a) if number + 1 < nodes else rng.randrange(nodes)
        if a != b:
            ohms = float(f"{10 ** rng.uniform(1, 5):.4g}")
            text.append(f"R{number + 1} resistor {ohms:.10f} 10%\n")
            wires.append(f"{names[a]} -- R{number + 1} -- {names[b]}\n")
            pieces.append(Piece(a, b, ohms))
    volts = float(rng.randrange(100, 400))
    text.append(f"net n1 supply {volts:g}V\n")
    pieces.append(Piece(1, 0, SUPPLY_OHMS, volts))
    text += [f"net {name}\n" for name in names[2:]]
    if nodes > 4:
        a, b = rng.sample(range(2, nodes), 2)
        text.append("BT1 battery 45V\n")
        wires.append(f"{names[a]} -- BT1.+\nBT1.- -- {names[b]}\n")
        pieces.append(Piece(a, b, BATTERY_OHMS, 45.0))
    drawn, lit = [], []
    text.append("state playing\n")
    for number in range(loads):
        a, b = rng.sample(range(nodes), 2)
        amps = float(f"{10 ** rng.uniform(-4, -1.5):.3g}")
        text.append(f"V{number + 1} tube 6V6GT\n")
        wires.append(f"V{number + 1}.p -- {names[a]}\nV{number + 1}.k -- {names[b]}\n")
        wires.append(f"load {amps:.10f}A V{number + 1}.p -- V{number + 1}.k in playing\n")
        drawn.append((a, b, amps))
    for number in range(regulators):
        a, b = rng.sample(range(nodes), 2)
        text.append(f"V{number + 51} tube 0D3\n")
        wires.append(f"V{number + 51}.p -- {names[a]}\nV{number + 51}.k -- {names[b]}\n")
        lit.append((a, b))
    return "".join((*text, *wires)), pieces, drawn, lit


def every_mode(count: int, pieces: list, drawn: list, lit: list) -> Iterator[np.ndarray]:
    """The solutions of all modes that fit themselves."""
    for modes in itertools.product((0, 1, 2), repeat=len(drawn)):
        for on in itertools.product((0, 1), repeat=len(lit)):
            more = [Piece(a, b, KNEE / i) for (a, b, i), m in zip(drawn, modes, strict=True) if m == 1]
            more += [Piece(a, b, BEHIND, REGULATED) for (a, b), m in zip(lit, on, strict=True) if m]
            full = [one for one, m in zip(drawn, modes, strict=True) if m == 2]
            v = dense(count, [*pieces, *more], full)
            if v is None:
                continue
            near = 1e-7
            fits = all(
                (v[a] - v[b] <= near, -near <= v[a] - v[b] <= KNEE + near, v[a] - v[b] >= KNEE - near)[m]
                for (a, b, _), m in zip(drawn, modes, strict=True)
            )
            fits &= all(
                (v[a] - v[b] >= REGULATED - near) if m else (v[a] - v[b] <= REGULATED + near)
                for (a, b), m in zip(lit, on, strict=True)
            )
            if fits:
                yield v


@pytest.mark.parametrize("seed", range(60))
def test_voltages_at_work_beside_every_mode(seed: int) -> None:
    rng = random.Random(seed)
    nodes = rng.randrange(2, 9)
    text, pieces, drawn, lit = network(rng, nodes, rng.randrange(4), rng.randrange(3))
    at = operate(model(text).circuit(frozenset()), "playing")
    expected = list(every_mode(nodes, pieces, drawn, lit))
    assert expected
    for other in expected[1:]:
        assert other == pytest.approx(expected[0], abs=1e-4)
    for number in range(1, nodes):
        volts = at.volts(f"n{number}")
        assert volts is not None and volts.low <= volts.nominal <= volts.high
        assert volts.nominal == pytest.approx(expected[0][number], rel=1e-6, abs=1e-5)


def through_diodes(nodes: int, pieces: list, diodes: list, a: int, b: int, junction: float) -> float:
    """Ohms from a to b: the least power with which one ampere gets there, no diode carrying it backwards (Thomson's
    principle; Doyle and Snell, Random Walks and Electric Networks, 1984), as scipy's non-negative least squares finds
    it. Resistances carry it either way, as two one-way paths."""
    from scipy.optimize import linprog, nnls

    paths = [(x, y, one.ohms) for one in pieces for x, y in ((one.a, one.b), (one.b, one.a))]
    paths += [(x, y, junction) for x, y in diodes]
    law, flow = np.zeros((nodes, len(paths))), np.zeros(nodes)
    for number, (x, y, _) in enumerate(paths):
        law[x, number] += 1
        law[y, number] -= 1
    flow[a], flow[b] = 1.0, -1.0
    if linprog(np.ones(len(paths)), A_eq=law, b_eq=flow).status != 0:
        return inf  # no way through
    power = np.diag([ohms**0.5 for _, _, ohms in paths])
    amps, _ = nnls(np.vstack((power, 1e7 * law)), np.concatenate((np.zeros(len(paths)), 1e7 * flow)), maxiter=10000)
    return float(sum(ohms * i * i for (_, _, ohms), i in zip(paths, amps, strict=True)))


@pytest.mark.parametrize("seed", range(60))
def test_an_ohmmeter_through_diodes_beside_the_least_power(seed: int) -> None:
    rng = random.Random(seed)
    nodes = rng.randrange(3, 8)
    names = ["chassis", *(f"n{n}" for n in range(1, nodes))]
    text, wires, pieces, diodes = [HEAD], [], [], []
    for number in range(rng.randrange(1, nodes + 3)):
        a, b = rng.sample(range(nodes), 2)
        ohms = float(f"{10 ** rng.uniform(1, 5):.4g}")
        text.append(f"R{number + 1} resistor {ohms:.10f} 10%\n")
        wires.append(f"{names[a]} -- R{number + 1} -- {names[b]}\n")
        pieces.append(Piece(a, b, ohms))
    for number in range(rng.randrange(1, 6)):
        a, b = rng.sample(range(nodes), 2)
        text.append(f"CR{number + 1} diode silicon 400V 1A\n")
        wires.append(f"{names[a]} -- CR{number + 1}.a/k -- {names[b]}\n")
        diodes.append((a, b))
    text += [f"net {name}\n" for name in names[1:]]
    meter = Ohmmeter(model("".join((*text, *wires))).circuit(frozenset()))
    low = [one._replace(ohms=one.ohms * 0.9) for one in pieces]
    for a, b in itertools.permutations(range(nodes), 2):
        if not meter.has(names[a]) or not meter.has(names[b]):
            continue
        got = meter.between(names[a], names[b])
        assert got.nominal == pytest.approx(through_diodes(nodes, pieces, diodes, a, b, 1000.0), rel=1e-5), (a, b)
        assert got.low == pytest.approx(through_diodes(nodes, low, diodes, a, b, 0.001), rel=1e-4), (a, b)
        assert got.low <= got.nominal <= got.high


@pytest.mark.parametrize("seed", range(30))
def test_windings_and_heaters_beside_a_dense_solution(seed: int) -> None:
    """Windings in phase, heaters hot, in any chain or star; the mains on the primary."""
    rng = random.Random(seed)
    nodes = rng.randrange(2, 7)
    names = ["chassis", *(f"n{n}" for n in range(1, nodes))]
    text = [HEAD, 'J1 inlet-2\nT1 transformer\nwinding T1 1 -- 2, 117Vac, 8ohm, "primary"\nnet line mains 117Vac\n']
    wires, pieces = ["J1.L -- line -- T1.1\nJ1.N -- T1.2\nstate playing\n"], []
    spare = 3
    for number in range(rng.randrange(1, 3)):
        a = number + 1 if number + 1 < nodes else 0
        b = rng.choice([n for n in range(nodes) if n != a and (number == 0 or n not in (1,))] or [0])
        volts = rng.choice([5.0, 6.3, 12.6, 25.0])
        if any({one.a, one.b} == {a, b} for one in pieces) or a == b:
            continue
        text.append(f"winding T1 {spare} -- {spare + 1}, {volts}Vac, 0.1ohm\n")
        wires.append(f"T1.{spare} -- {names[a]}\nT1.{spare + 1} -- {names[b]}\n")
        pieces.append(Piece(a, b, 1e-3, volts))
        spare += 2
    for number in range(2 * nodes):
        a = number + 1 if number + 1 < nodes else rng.randrange(nodes)
        b = rng.randrange(a) if number + 1 < nodes else rng.randrange(nodes)
        if a != b:
            text.append(f"V{number + 1} tube 6V6GT\n")
            wires.append(f"V{number + 1}.h1 -- {names[a]}\nV{number + 1}.h2 -- {names[b]}\n")
            pieces.append(Piece(a, b, 6.3 / 0.45))
    text += [f"net {name}\n" for name in names[1:]]
    at = Alternating(model("".join((*text, *wires))).circuit(frozenset()), "playing")
    expected = dense(nodes, pieces)
    assert expected is not None
    for a, b in itertools.combinations(range(nodes), 2):
        volts = at.volts(names[a], names[b])
        assert volts == pytest.approx(abs(expected[a] - expected[b]), rel=2e-3, abs=1e-6)


def exact(count: int, pieces: Sequence[Piece]) -> list[float]:
    """Volts of every node against node 0 in exact fractions, by elimination."""
    rows = [[Fraction(0)] * (count + 1) for _ in range(count)]
    for one in pieces:
        g = 1 / Fraction(one.ohms)
        for x, y, sign in ((one.a, one.a, 1), (one.b, one.b, 1), (one.a, one.b, -1), (one.b, one.a, -1)):
            rows[x][y] += sign * g
        rows[one.a][count] += g * Fraction(one.volts)
        rows[one.b][count] -= g * Fraction(one.volts)
    left = list(range(1, count))
    for pivot in left:
        scale = rows[pivot][pivot]
        rows[pivot] = [value / scale for value in rows[pivot]]
        for other in left:
            if other != pivot and rows[other][pivot]:
                times = rows[other][pivot]
                rows[other] = [x - times * y for x, y in zip(rows[other], rows[pivot], strict=True)]
    return [0.0, *(float(rows[node][count]) for node in left)]


@pytest.mark.parametrize("seed", range(20))
def test_what_floats_keeps_its_own_voltages(seed: int) -> None:
    """Batteries and resistors that nothing ties to the chassis: true among themselves, nothing against it."""
    rng = random.Random(seed)
    nodes = 6
    text, wires, pieces = [HEAD, "net b+ supply 300V\nR90 resistor 10k\n"], ["b+ -- R90 -- chassis\n"], []
    for number in range(1, 2 * nodes):
        a, b = (number, rng.randrange(number)) if number < nodes else rng.sample(range(nodes), 2)
        ohms = float(f"{10 ** rng.uniform(0, 9):.4g}")
        text.append(f"R{number} resistor {ohms:.10f} 10%\n")
        wires.append(f"n{a} -- R{number} -- n{b}\n")
        pieces.append(Piece(a, b, ohms))
    text += [f"net n{number}\n" for number in range(nodes)]
    text.append("BT1 battery 90V\n")
    wires.append("n1 -- BT1.+\nBT1.- -- n4\nstate playing\n")
    pieces.append(Piece(1, 4, BATTERY_OHMS, 90.0))
    at = operate(model("".join((*text, *wires))).circuit(frozenset()), "playing")
    expected = exact(nodes, pieces)
    for a, b in itertools.combinations(range(nodes), 2):
        volts = at.volts(f"n{a}", f"n{b}")
        assert volts is not None and volts.nominal == pytest.approx(expected[a] - expected[b], rel=1e-6, abs=1e-5)
        assert at.volts(f"n{a}") is None
