"""Whether the raw differences are the least that explain the wiring: beside networkx's exact graph edit distance.

    python -m tests.bench.least [--cases 500] [--seed 1]

On small random circuits (about ten graph nodes) the number of raw edits, counted as ends of leads
taken off or put on, is compared with the exact edit distance of the two incidence graphs
(terminals with their names, nets without): taking an edge away or putting one in costs one, a net
by itself nothing.
"""

from __future__ import annotations

import argparse
import random

import networkx as nx

from netdiff.circuit import Circuit, Found
from netdiff.comparison import Comparison, compare_circuits
from netdiff.nets import circuit_nets
from tests.random_circuits import circuit, unit


def graph(wiring: Circuit) -> nx.Graph:
    """Terminals with their names, and a node for each net, be it of one terminal.

    The ends of a part that may be turned round have no names of their own: both hang on a node of the
    part, and which is which networkx finds out.
    """
    out = nx.Graph()
    for name, part in wiring.parts.items():
        if part.kind.ends is not None and not part.kind.polarised:
            out.add_node(name, name=name)
            for end in part.kind.ends:
                out.add_node(f"{name}.{end}", name=f"an end of {name}")
                out.add_edge(name, f"{name}.{end}")
        for lug in part.kind.terminals:
            if f"{name}.{lug.name}" not in out:
                out.add_node(f"{name}.{lug.name}", name=f"{name}.{lug.name}")
    for number, members in enumerate(circuit_nets(wiring).members):
        out.add_node(number, name="")
        out.add_edges_from((where, number) for where in members)
    return out


def exact(stock: Circuit, found: Found, most: float) -> float | None:
    """The edit distance; None where it takes too long."""
    distance: float | None = nx.graph_edit_distance(
        graph(stock),
        graph(found.circuit),
        node_subst_cost=lambda a, b: 0 if a["name"] == b["name"] else 10**6,
        node_del_cost=lambda a: 10**6 if a["name"] else 0,
        node_ins_cost=lambda a: 10**6 if a["name"] else 0,
        edge_del_cost=lambda _: 1,
        edge_ins_cost=lambda _: 1,
        upper_bound=most + 1,
        timeout=20,
    )
    return distance


def raw_edits(result: Comparison) -> int:
    """Edges taken away and put in: a terminal that left its net, or came onto another, costs one of each."""
    displaced = {where for raw in result.raw if raw.sort in ("cut", "join") for where in raw.points}
    return 2 * len(displaced)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cases", type=int, default=500)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    print(f"seed {given.seed}")
    equal = late = 0
    for case in range(given.cases):
        rng = random.Random(given.seed * 1_000_003 + case)
        stock = circuit(rng, rng.randrange(2, 4), names=False)
        found = unit(stock, rng, rng.randrange(0, 4), kinds=("cut", "join", "move"))
        result = compare_circuits(stock, found)
        mine = raw_edits(result)
        least = exact(stock, found, mine)
        if least is None:
            late += 1
        elif round(least) == mine:
            equal += 1
        else:
            print(f"case {case}: raw edits {mine}, exact distance {least:.0f}")
    print(f"equal in {equal} of {given.cases} cases ({late} not finished in time)")


if __name__ == "__main__":
    main()
