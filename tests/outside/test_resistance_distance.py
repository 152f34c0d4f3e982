"""Every point-to-point resistance beside networkx's resistance distance and beside a dense pseudo-inverse."""

from __future__ import annotations

import random

import networkx as nx
import numpy as np
import pytest

from netdiff.electrical.resistive import Network


def rows(seed: int, nodes: int) -> list[tuple[int, int, float]]:
    rng = random.Random(seed)
    edges = [(n, rng.randrange(n), 10 ** rng.uniform(0, 4)) for n in range(1, nodes)]
    for _ in range(nodes):
        a, b = rng.sample(range(nodes), 2)
        edges.append((a, b, 10 ** rng.uniform(0, 4)))
    return edges


@pytest.mark.parametrize("seed", range(6))
def test_all_pairs_beside_networkx(seed: int) -> None:
    """Klein and Randic, J. Math. Chem. 12 (1993) 81, as networkx computes it."""
    edges = rows(seed, 24)
    graph = nx.MultiGraph()
    graph.add_edges_from((a, b, {"ohms": ohms}) for a, b, ohms in edges)
    distance = nx.resistance_distance(graph, weight="ohms", invert_weight=True)
    network = Network(24, edges, 0)
    for a in range(24):
        for b in range(a):
            assert network.between(a, b) == pytest.approx(distance[a][b], rel=1e-9)


@pytest.mark.parametrize("seed", range(6))
def test_all_at_once_beside_a_pseudo_inverse(seed: int) -> None:
    edges = rows(seed, 80)
    laplacian = np.zeros((80, 80))
    for a, b, ohms in edges:
        laplacian[a, a] += 1 / ohms
        laplacian[b, b] += 1 / ohms
        laplacian[a, b] -= 1 / ohms
        laplacian[b, a] -= 1 / ohms
    # Grounded at node 0: the diagonal of the inverse is the resistance to it.
    expected = np.diag(np.linalg.inv(laplacian[1:, 1:]))
    assert Network(80, edges, 0).to_ground()[1:] == pytest.approx(list(expected), rel=1e-9)


def test_a_crowded_network_beside_networkx() -> None:
    """Where nearly everything is joined to everything, the rest of the elimination is done on an array."""
    rng = random.Random(7)
    edges = [(a, b, 10 ** rng.uniform(0, 4)) for a in range(70) for b in range(a) if rng.random() < 0.9]
    graph = nx.Graph()
    graph.add_weighted_edges_from(edges, weight="ohms")
    distance = nx.resistance_distance(graph, weight="ohms", invert_weight=True)
    network = Network(70, edges, 0)
    assert network.to_ground() == pytest.approx([distance[a][0] if a else 0.0 for a in range(70)], rel=1e-9)
    for a, b in ((1, 2), (13, 60), (69, 5)):
        assert network.between(a, b) == pytest.approx(distance[a][b], rel=1e-9)
        assert network.heights(a, b)[b] == pytest.approx(0.0, abs=1e-12)
        assert list(network.heights(a, b)[:9]) == pytest.approx(network.potentials(a, b, range(9)), abs=1e-9)
