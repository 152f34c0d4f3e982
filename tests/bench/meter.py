"""The meter: how fast a chart comes, how that grows, and whether it is right.

    python -m tests.bench.meter [--terminals 1000] [--most 100000] [--rounds 5]

chart    the nominal resistance of every node of a circuit to ground, from the same edges, by `resistive.Network` and by
         networkx's `resistance_distance`: the whole matrix in one call, which is the faster way to ask it, and point by
         point (goal: 100 times faster than the faster one), and by numpy's dense inverse. The answers are held
         against each other
network  the same of a plain network of as many nodes, every one joined to ground
growth   random circuits from 1,000 terminals on, ten times larger each time, in seconds of the processor (goal: near
         linear)
factory  every figure of the demo's own charts within its tolerance
hazards  every hazard of the demo's expected list told, none on the clean unit
"""

from __future__ import annotations

import argparse
import math
import random
import time
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from typing import Any

from netdiff.circuit import Circuit
from netdiff.comparison import compare
from netdiff.electrical import Ohmmeter
from netdiff.electrical.resistive import Network
from netdiff.hazards import examine
from netdiff.language import read_model, read_unit
from netdiff.readings import chart
from tests.bench.figures import best
from tests.random_circuits import circuit
from tests.test_hazards import expected, new

HERE = Path(__file__).resolve().parents[2]
DEMO = ("harbourlight-0417", "kitchen-radio")
CLEAN = "harbourlight-0388"


def sized(terminals: int, seed: int = 1) -> Circuit:
    """A random circuit of about so many terminals."""
    made = circuit(random.Random(seed), terminals // 3)
    have = sum(len(part.points()) for part in made.parts.values())
    return circuit(random.Random(seed), round(terminals // 3 * terminals / have))


def network(meter: Ohmmeter) -> tuple[int, list[tuple[int, int, float]]]:
    """The nominal edges of a circuit, by the numbers of its nodes."""
    index = meter.nodes.index
    return len(meter.nodes), [
        (index[one.a], index[one.b], one.ohms.nominal)
        for one in meter.elements.resistances
        if index[one.a] != index[one.b] and 0 < one.ohms.nominal < math.inf
    ]


def charted(terminals: int, rounds: int) -> None:
    made = sized(terminals)
    meter = Ohmmeter(made)
    count, edges = network(meter)
    (bounds,) = best(rounds, lambda: Ohmmeter(made).to_ground())
    held = sum(len(part.points()) for part in made.parts.values())
    print(f"a circuit of {held:,} terminals; its chart with all three bounds, from its parts on: {bounds * 1e3:.1f} ms")
    beside(count, edges, meter.ground or 0, rounds)


def plain(nodes: int, rounds: int) -> None:
    """A network that is all one piece: a tree of resistors and half as many again across it."""
    rng = random.Random(1)
    edges = [(n, rng.randrange(max(0, n - 12), n), 10 ** rng.uniform(0, 6)) for n in range(1, nodes)]
    edges += [
        (n, rng.randrange(max(0, n - 12), n), 10 ** rng.uniform(0, 6)) for n in rng.sample(range(1, nodes), nodes // 2)
    ]
    print("a plain network")
    beside(nodes, edges, 0, rounds)


def beside(count: int, edges: list[tuple[int, int, float]], ground: int, rounds: int) -> None:
    """All nodes to ground, by both; networkx is given the part that is joined to ground alone."""
    import networkx as nx

    whole = nx.Graph()
    whole.add_nodes_from(range(count))
    for a, b, ohms in edges:
        whole.add_edge(a, b, g=1 / ohms + (whole[a][b]["g"] if whole.has_edge(a, b) else 0.0))
    island = whole.subgraph(nx.node_connected_component(whole, ground)).copy()
    others = sorted(set(island) - {ground})

    def ask(*pair: int) -> Any:
        return nx.resistance_distance(island, *pair, weight="g", invert_weight=False)

    mine, matrix = best(rounds, lambda: Network(count, edges, ground).to_ground(), ask)
    (pair,) = best(2, lambda: ask(others[-1], ground))
    (inverse,) = best(rounds, lambda: inverted(count, edges, others))
    got, table = Network(count, edges, ground).to_ground(), ask()
    off = max(abs(got[a] / table[a][ground] - 1) for a in others)
    print(
        f"  {count:,} nodes, {len(others):,} of them joined to ground: {mine * 1e3:.2f} ms; networkx, all at once "
        f"{matrix * 1e3:.0f} ms: {matrix / mine:.0f} times (goal 100)\n"
        f"  networkx asked point by point {pair * 1e3:.0f} ms a point: {pair * len(others) / mine:,.0f} times; "
        f"the answers differ by {off:.0e} of the value at most\n"
        f"  numpy's inverse of the dense grounded matrix, its diagonal alone: {inverse * 1e3:.1f} ms, "
        f"{inverse / mine:.1f} times"
    )


def inverted(count: int, edges: list[tuple[int, int, float]], others: list[int]) -> Any:
    """What a dense library needs for the same answers, the graph left out."""
    import numpy as np

    a, b, ohms = (np.array(column) for column in zip(*edges, strict=True))
    matrix = np.zeros((count, count))
    for x, y, sign in ((a, a, 1), (b, b, 1), (a, b, -1), (b, a, -1)):
        np.add.at(matrix, (x, y), sign / ohms)
    return np.diag(np.linalg.inv(matrix[np.ix_(others, others)]))


def growth(most: int, rounds: int) -> None:
    times: list[tuple[int, float]] = []
    size = 1000
    while size <= most:
        made = sized(size)
        took = []
        for _ in range(rounds):
            start = time.process_time()
            Ohmmeter(made).to_ground()
            took.append(time.process_time() - start)
        times.append((sum(len(part.points()) for part in made.parts.values()), min(took)))
        size *= 10
    for (n, first), (m, second) in pairwise(times):
        grows = math.log(second / first) / math.log(m / n)
        print(f"chart with bounds, {n:,} to {m:,} terminals: {first:.3f} s to {second:.3f} s, exponent {grows:.2f}")


def factory() -> None:
    for path in sorted((HERE / "netlists").glob("*.stock")):
        model, faults = read_model(path)
        assert model is not None and not faults
        for production in model.variants():
            rows = [row for row in chart(model.circuit(production), whole=False) if row.factory is not None]
            told = [row for row in rows if row.stock is not None]
            good = [row for row in told if row.judgement == "agrees"]
            by = {q: sum(row.quantity == q for row in told) for q in ("ohms", "volts", "amps", "watts")}
            kinds = ", ".join(f"{count} {q}" for q, count in by.items() if count)
            print(
                f"{path.stem} {' '.join(sorted(production))}: {len(rows)} figures in the factory's chart, "
                f"{len(told)} computed ({kinds or 'none'}), {len(good)} within their tolerance"
            )
            for row in told:
                if row.judgement != "agrees":
                    print(f"    {row.quantity} {row.a} {row.b} {row.state}: {row.stock} {row.factory}")


def hazards() -> None:
    for name in (*DEMO, CLEAN):
        unit, faults = read_unit(HERE / "examples" / f"{name}.found")
        assert unit is not None and not faults
        (seconds,) = best(2, lambda unit=unit: compare(unit))
        comparison = compare(unit)
        (more,) = best(2, lambda comparison=comparison: examine(comparison))
        done = examine(comparison)
        took = f"compared in {seconds:.2f} s, examined in {more:.2f} s"
        if name == CLEAN:
            stray = new(done)
            print(f"{name}: {'no hazard that the drawing has not' if not stray else f'STRAY {stray}'}; {took}")
            continue
        rows = expected(name)
        met = [any(one.kind == kind and parts & set(one.parts) for one in done.findings) for kind, parts in rows]
        print(f"{name}: {sum(met)} of {len(rows)} hazards told; {took}")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--terminals", type=int, default=1000)
    parser.add_argument("--most", type=int, default=100_000)
    parser.add_argument("--rounds", type=int, default=5)
    given = parser.parse_args()
    jobs: tuple[Callable[[], None], ...] = (
        lambda: charted(given.terminals, given.rounds),
        lambda: plain(given.terminals, given.rounds),
        lambda: growth(given.most, given.rounds),
        factory,
        hazards,
    )
    for job in jobs:
        job()


if __name__ == "__main__":
    main()
