"""Networks of resistances: every point-to-point resistance after one elimination.

A network is a graph whose edges are conductances. A node is removed by turning its star into the equivalent mesh,
the one with the fewest neighbours first, until nothing is left:

    g_ij += g_i g_j / sum(g)        (star-mesh transformation; A. Rosen, J. IEE 62 (1924) 916)

That is the elimination of a grounded Laplacian, but every step only adds, multiplies and divides positive numbers, so
that nothing cancels: resistances of 1e-9 and 1e15 ohms beside each other come out with all their digits. The steps that
were taken are kept; each resistance is then a sum over the path of a point through them.

>>> bridge = Network(4, [(0, 1, 1.0), (1, 3, 2.0), (0, 2, 2.0), (2, 3, 4.0), (1, 2, 5.0)])
>>> round(bridge.between(0, 3), 9)
2.0
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from functools import cached_property
from heapq import heapify, heappop, heappush
from math import inf
from typing import Any

Edge = tuple[int, int, float]
"""Two nodes, and the resistance between them in ohms: positive and finite."""

Solver = Callable[[Any], Any]
"""Currents put in at every node (an array, amperes) to the potentials of all (an array, volts)."""


CROWDED = 40
"""Neighbours of the node that has the fewest: from then on what is left is a matrix rather than a graph."""


class Network:
    """``count`` nodes, numbered from 0. With ``ground``, that node is kept for last."""

    def __init__(self, count: int, edges: Iterable[Edge], ground: int | None = None) -> None:
        self.count = count
        self.ground = ground
        near = _conductances(count, edges)
        self.order = _eliminated(near, {ground} if ground is not None else set())
        self._up = near
        """What each node had around it when it went."""
        self._sum = [sum(around.values()) for around in near]
        if self.ground is not None:
            self.order.append(self.ground)
        self.place = [0] * self.count
        for at, node in enumerate(self.order):
            self.place[node] = at
        self.root = list(range(self.count))
        for node in reversed(self.order):
            for other in self._up[node]:
                self.root[node] = self.root[other]
                break

    def joined(self, a: int, b: int) -> bool:
        """Whether any path leads from one to the other."""
        return self.root[a] == self.root[b]

    def way(self, node: int) -> dict[int, float]:
        """How much of a current put in at ``node`` passes each node on its way out, were it drained in the order of
        elimination: the column of the triangular factor."""
        heap = [self.place[node]]
        flow = {node: 1.0}
        queued = {node}
        while heap:
            here = self.order[heappop(heap)]
            current, total = flow[here], self._sum[here]
            for other, g in self._up[here].items():
                flow[other] = flow.get(other, 0.0) + current * (g / total)
                if other not in queued:
                    queued.add(other)
                    heappush(heap, self.place[other])
        return flow

    def between(self, a: int, b: int) -> float:
        """Ohms between two nodes; infinite where no path leads."""
        if a == b:
            return 0.0
        if not self.joined(a, b):
            return inf
        first, second = self.way(a), self.way(b)
        ohms = 0.0
        for node in first.keys() | second.keys():
            total = self._sum[node]
            if total:
                flow = first.get(node, 0.0) - second.get(node, 0.0)
                ohms += flow * flow / total
        return ohms

    def potentials(self, a: int, b: int, nodes: Sequence[int]) -> list[float | None]:
        """The potentials of nodes when one volt stands from ``a`` to ``b`` (b at zero); None for nodes apart."""
        first, second = self.way(a), self.way(b)
        drive = {
            node: (first.get(node, 0.0) - second.get(node, 0.0)) / self._sum[node]
            for node in first.keys() | second.keys()
            if self._sum[node]
        }
        ohms = sum(flow * flow * self._sum[node] for node, flow in drive.items())
        base = sum(flow * drive.get(node, 0.0) for node, flow in second.items())
        out: list[float | None] = []
        for node in nodes:
            if not self.joined(node, a):
                out.append(None)
            else:
                height = sum(flow * drive.get(at, 0.0) for at, flow in self.way(node).items())
                out.append((height - base) / ohms if ohms else 0.0)
        return out

    def heights(self, a: int, b: int) -> Any:
        """The same for every node at once, as an array: not a number for nodes apart. Where no path leads from ``a`` to
        ``b``, whatever is joined to the one is at one volt, whatever to the other at none."""
        import numpy as np

        root = self._roots
        if not self.joined(a, b):
            return np.where(root == root[a], 1.0, np.where(root == root[b], 0.0, np.nan))
        current = np.zeros(self.count)
        current[a] += 1.0
        current[b] -= 1.0
        height = self._solver(current)
        ohms = height[a] - height[b]
        return np.where(root == root[a], (height - height[b]) / (ohms or 1.0), np.nan)

    @cached_property
    def _roots(self) -> Any:
        import numpy as np

        return np.array(self.root, dtype=int)

    @cached_property
    def _solver(self) -> Solver:
        return self.solver()

    def solve(self, current: Sequence[float]) -> list[float]:
        """Potentials for currents put in at the nodes; of each island its last node is at zero."""
        flow = list(current)
        for node in self.order:
            total = self._sum[node]
            if total:
                for other, g in self._up[node].items():
                    flow[other] += flow[node] * (g / total)
        height = [0.0] * self.count
        for node in reversed(self.order):
            total = self._sum[node]
            if total:
                height[node] = (flow[node] + sum(g * height[other] for other, g in self._up[node].items())) / total
        return height

    def solver(self) -> Solver:
        """The same as ``solve`` for arrays, at the price of one factor made: for many currents, one after another.

        The steps of the elimination are a triangular matrix of shares, ones on its diagonal; factorising that changes
        none of its numbers, so that nothing cancels here either.
        """
        import numpy as np
        from scipy.sparse import coo_matrix
        from scipy.sparse.linalg import splu

        place, order = np.array(self.place, dtype=int), np.array(self.order, dtype=int)
        rows, columns, shares = [place], [place], [np.ones(self.count)]
        for node in self.order:
            if total := self._sum[node]:
                around = self._up[node]
                rows.append(np.full(len(around), self.place[node]))
                columns.append(place[list(around)])
                shares.append(np.fromiter(around.values(), float, len(around)) / -total)
        where = (np.concatenate(rows), np.concatenate(columns))
        upper: Any = splu(
            coo_matrix((np.concatenate(shares), where), shape=(self.count, self.count)).tocsc(),
            permc_spec="NATURAL",
            diag_pivot_thresh=0.0,
            options={"Equil": False, "SymmetricMode": True},
        )
        total = np.array(self._sum)[order]
        ohms = np.divide(1.0, total, out=np.zeros(self.count), where=total > 0)

        def solve(current: Any) -> Any:
            flow = upper.solve(np.asarray(current, dtype=float)[order], "T")
            return upper.solve(flow * ohms)[place]

        return solve

    def to_ground(self) -> list[float]:
        """Ohms from every node to the ground node, all in one pass back through the elimination.

        Only entries of the inverse between neighbours of the elimination are worked out (K. Takahashi et al., 8th
        PICA Conference, 1973), so that the work grows with the number of steps kept, not with its square.
        """
        if self.ground is None:
            raise ValueError("this network has no ground")
        inverse: list[dict[int, float]] = [{} for _ in range(self.count)]
        diagonal = [0.0] * self.count
        out = [inf] * self.count
        out[self.ground] = 0.0
        home = self.root[self.ground]
        for node in reversed(self.order):
            if node == self.ground or self.root[node] != home:
                continue
            total = self._sum[node]
            up = [(other, g / total) for other, g in self._up[node].items() if other != self.ground]
            mine = inverse[node]
            for other, _ in up:
                mine[other] = sum(
                    share * (diagonal[via] if via == other else self._of(inverse, via, other)) for via, share in up
                )
            diagonal[node] = 1.0 / total + sum(share * mine[other] for other, share in up)
            out[node] = diagonal[node]
        return out

    def _of(self, inverse: list[dict[int, float]], a: int, b: int) -> float:
        """An entry of the inverse; it is kept with whichever of the two went first."""
        return inverse[a][b] if self.place[a] < self.place[b] else inverse[b][a]


def reduced(count: int, edges: Iterable[Edge], keep: set[int]) -> list[Edge]:
    """The network between the nodes to keep that reads, between any two of them, as the whole does (G. Kron, 1939)."""
    near = _conductances(count, edges)
    _eliminated(near, keep)
    return [(a, b, 1.0 / g) for a in keep for b, g in near[a].items() if b in keep and a < b]


def _conductances(count: int, edges: Iterable[Edge]) -> list[dict[int, float]]:
    near: list[dict[int, float]] = [{} for _ in range(count)]
    for a, b, ohms in edges:
        if a != b:
            g = 1.0 / ohms
            near[a][b] = near[a].get(b, 0.0) + g
            near[b][a] = near[b].get(a, 0.0) + g
    return near


def _eliminated(near: list[dict[int, float]], keep: set[int]) -> list[int]:
    """Turn stars into meshes, node after node, until only those to keep are left. Returns the order; ``near`` then has
    for each node that went what it had around it, for each that is left what it has around it of those left."""
    order: list[int] = []
    heap = [(len(around), node) for node, around in enumerate(near) if node not in keep]
    heapify(heap)
    gone = bytearray(len(near))
    while heap:
        degree, node = heappop(heap)
        if gone[node]:
            continue
        around = near[node]
        if degree != len(around):
            heappush(heap, (len(around), node))
            continue
        if degree > CROWDED:
            order += _core(near, [one for one in range(len(near)) if not gone[one] and one not in keep])
            break
        gone[node] = 1
        order.append(node)
        total = sum(around.values())
        rest = list(around.items())
        for other, _ in rest:
            del near[other][node]
        for index, (one, g) in enumerate(rest):
            share = g / total
            mine = near[one]
            for other, h in rest[index + 1 :]:
                more = share * h
                mine[other] = mine.get(other, 0.0) + more
                theirs = near[other]
                theirs[one] = theirs.get(one, 0.0) + more
        for other, _ in rest:
            if other not in keep:
                heappush(heap, (len(near[other]), other))
    return order


def _core(near: list[dict[int, float]], left: list[int]) -> list[int]:
    """The same for the crowded rest of a large network, row after row of an array; what is added stays positive."""
    import numpy as np

    left.sort(key=lambda node: len(near[node]))
    inside = set(left)
    beside = list({other for node in left for other in near[node]} - inside)
    nodes = left + beside
    at = {node: number for number, node in enumerate(nodes)}
    matrix = np.zeros((len(nodes), len(nodes)))
    for node in nodes:
        for other, g in near[node].items():
            if other in at:
                matrix[at[node], at[other]] = g
    for number, node in enumerate(left):
        row = matrix[number, number + 1 :].copy()
        near[node] = {nodes[number + 1 + k]: float(row[k]) for k in np.flatnonzero(row)}
        if (total := row.sum()) > 0:
            rest = matrix[number + 1 :, number + 1 :]
            rest += np.outer(row, row / total)
            np.fill_diagonal(rest, 0.0)
    for node in beside:
        held = {other: g for other, g in near[node].items() if other not in inside}
        row = matrix[at[node], len(left) :]
        near[node] = held | {beside[k]: float(row[k]) for k in np.flatnonzero(row)}
    return left
