"""How the comparison grows: seconds, memory and the growth exponent, beside other passes over the same pairs.

    python -m tests.bench.scale [--sizes 1000 10000 100000] [--seed 1]

Beside it: rustworkx's and networkx's isomorphism tests where they finish in 60 s (they only say yes
or no), and a plain connected-components pass of scipy over the same runs as the lower limit. Each
measurement runs in a process of its own.
"""

from __future__ import annotations

import argparse
import gc
import math
import multiprocessing
import random
import resource
import time
from collections.abc import Callable
from itertools import pairwise
from multiprocessing.connection import Connection

from netdiff.circuit import Circuit, Found
from netdiff.comparison import compare_circuits
from netdiff.nets import circuit_nets
from tests.random_circuits import circuit, unit

MODIFICATIONS = 50


def pair(size: int, seed: int) -> tuple[Circuit, Found]:
    rng = random.Random(seed)
    stock = circuit(rng, size)
    return stock, unit(stock, rng, MODIFICATIONS)


def comparison(stock: Circuit, found: Found) -> str:
    result = compare_circuits(stock, found)
    return f"{len(result.findings)} findings, {len(result.raw)} raw differences"


def components(stock: Circuit, found: Found) -> str:
    """Numbers for points, a sparse matrix, and scipy's pass, for both circuits."""
    import numpy as np
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components

    counts = []
    for wiring in (stock, found.circuit):
        number: dict[str, int] = {}
        for part in wiring.parts.values():
            for where in part.points():
                number.setdefault(where, len(number))
        a = np.fromiter((number.setdefault(r.a, len(number)) for r in wiring.runs), dtype=np.int64)
        b = np.fromiter((number.setdefault(r.b, len(number)) for r in wiring.runs), dtype=np.int64)
        matrix = coo_matrix((np.ones(len(a), dtype=np.int8), (a, b)), shape=(len(number), len(number)))
        counts.append(connected_components(matrix, directed=False)[0])
    return f"{counts[0]} and {counts[1]} nets"


def _labels(wiring: Circuit) -> list[tuple[str, list[str]]]:
    """A net's label is empty, a terminal's is its own name: what a plain isomorphism test is given."""
    return [("", members) for members in circuit_nets(wiring).members]


def rustworkx_test(stock: Circuit, found: Found) -> str:
    import rustworkx as rx

    graphs = []
    for wiring in (stock, found.circuit):
        graph = rx.PyGraph()
        for label, members in _labels(wiring):
            hub = graph.add_node(label)
            for where in members:
                graph.add_edge(hub, graph.add_node(where), None)
        graphs.append(graph)
    return "the same" if rx.is_isomorphic(graphs[0], graphs[1], lambda a, b: a == b) else "not the same"


def networkx_test(stock: Circuit, found: Found) -> str:
    import networkx as nx
    from networkx.algorithms.isomorphism import categorical_node_match

    graphs = []
    for wiring in (stock, found.circuit):
        graph = nx.Graph()
        for number, (label, members) in enumerate(_labels(wiring)):
            graph.add_node(number, name=label)
            for where in members:
                graph.add_node(where, name=where)
                graph.add_edge(number, where)
        graphs.append(graph)
    same = nx.is_isomorphic(graphs[0], graphs[1], node_match=categorical_node_match("name", ""))
    return "the same" if same else "not the same"


def _import_everything() -> None:
    """Imports are not what is measured."""
    compare_circuits(*pair(5, 1))
    components(*pair(5, 1))
    rustworkx_test(*pair(5, 1))
    networkx_test(*pair(5, 1))


def _child(work: Callable[[Circuit, Found], str], size: int, seed: int, pipe: Connection) -> None:
    stock, found = pair(size, seed)
    _import_everything()
    # What was there before is not to be looked through again and again by the collector.
    gc.collect()
    gc.freeze()
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    pipe.send(None)
    start = time.perf_counter()
    said = work(stock, found)
    seconds = time.perf_counter() - start
    pipe.send((seconds, before / 1024, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024, said))


def measure(work: Callable[[Circuit, Found], str], size: int, seed: int) -> tuple[float, float, float, str] | None:
    """Seconds, megabytes before and at the peak, and what it said; None where it took more than 60 s."""
    here, there = multiprocessing.Pipe()
    process = multiprocessing.Process(target=_child, args=(work, size, seed, there))
    process.start()
    here.recv()
    answer: tuple[float, float, float, str] | None = None
    if here.poll(60 if work is not comparison else 600):
        answer = here.recv()
    process.terminate()
    process.join()
    return answer


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sizes", type=int, nargs="+", default=[1000, 10000, 100000])
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    print(f"seed {given.seed}, {MODIFICATIONS} modifications")
    seconds: dict[int, float] = {}
    for size in given.sizes:
        print(f"{size} parts")
        lowest = measure(components, size, given.seed)
        for work in (comparison, components, rustworkx_test, networkx_test):
            got = lowest if work is components else measure(work, size, given.seed)
            if got is None:
                print(f"    {work.__name__:16} not finished in 60 s")
                continue
            took, before, peak, said = got
            ratio = f"{took / lowest[0]:6.1f} times the components pass" if lowest else ""
            print(
                f"    {work.__name__:16} {took:8.3f} s  peak {peak:6.0f} MB (circuits alone {before:.0f} MB)"
                f"  {ratio}  {said}"
            )
            if work is comparison:
                seconds[size] = took
    sizes = sorted(seconds)
    for small, large in pairwise(sizes):
        growth = math.log(seconds[large] / seconds[small]) / math.log(large / small)
        print(f"growth exponent from {small} to {large} parts: {growth:.2f}")


if __name__ == "__main__":
    main()
