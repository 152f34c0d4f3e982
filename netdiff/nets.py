"""Which points are one net: connected components over conductors, near linear in their number.

>>> from netdiff.circuit import Run
>>> nets = Nets.of(["R1.1", "R1.2", "V1.g1"], [Run("R1.2", "V1.g1")])
>>> nets.same("R1.2", "V1.g1"), nets.same("R1.1", "R1.2")
(True, False)
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from netdiff.circuit import OPEN, UNFOLLOWED, Circuit, Point, Run


class Union:
    """Disjoint sets of hashable things, with path halving."""

    __slots__ = ("parent",)

    def __init__(self) -> None:
        self.parent: dict[Point, Point] = {}

    def add(self, item: Point) -> None:
        self.parent.setdefault(item, item)

    def find(self, item: Point) -> Point:
        parent = self.parent
        root = parent.setdefault(item, item)
        while root != item:
            above = parent[root]
            parent[item] = above
            item, root = root, above
        return root

    def join(self, a: Point, b: Point) -> None:
        first, second = self.find(a), self.find(b)
        if first != second:
            self.parent[second] = first

    def groups(self) -> list[list[Point]]:
        """The sets, each in the order in which its members were added, in order of their first members."""
        out: dict[Point, list[Point]] = {}
        for item in self.parent:
            out.setdefault(self.find(item), []).append(item)
        return list(out.values())


@dataclass(frozen=True, slots=True)
class Nets:
    """A partition of points: ``index`` gives each point its net, ``members`` each net its points."""

    index: dict[Point, int]
    members: list[list[Point]]

    @classmethod
    def of(cls, points: Iterable[Point], runs: Iterable[Run]) -> Nets:
        """The partition of these points, and of those that the runs bring, by what the runs connect.

        Works on numbers: on large circuits the memory that strings are scattered over is what takes time.
        """
        number: dict[Point, int] = {}
        parent: list[int] = []
        for where in points:
            if where not in number:
                number[where] = len(parent)
                parent.append(len(parent))
        for ends in joints(runs):
            roots = []
            for where in ends:
                at = number.get(where)
                if at is None:
                    at = number[where] = len(parent)
                    parent.append(at)
                while parent[at] != at:
                    parent[at] = at = parent[parent[at]]
                roots.append(at)
            if roots[0] != roots[1]:
                parent[max(roots)] = min(roots)
        net_of_root: dict[int, int] = {}
        members: list[list[Point]] = []
        index: dict[Point, int] = {}
        for where, at in number.items():
            while parent[at] != at:
                at = parent[at]
            net = net_of_root.setdefault(at, len(members))
            if net == len(members):
                members.append([])
            members[net].append(where)
            index[where] = net
        return cls(index, members)

    @classmethod
    def from_union(cls, union: Union) -> Nets:
        members = union.groups()
        return cls({where: number for number, net in enumerate(members) for where in net}, members)

    def same(self, a: Point, b: Point) -> bool:
        return a in self.index and self.index[a] == self.index.get(b)


def joints(runs: Iterable[Run]) -> Iterator[tuple[Point, Point]]:
    """Every pair of points that a run connects: by its core, and by its braid, which is a conductor like any other."""
    ends = (OPEN, UNFOLLOWED)
    for run in runs:
        a, b = run.a, run.b
        if a not in ends and b not in ends:
            yield a, b
        else:
            # A single real end is still a point of the circuit.
            if a not in ends:
                yield a, a
            if b not in ends:
                yield b, b
        if run.braid is not None:
            c, d = run.braid
            if c not in ends and d not in ends:
                yield c, d


def circuit_points(circuit: Circuit) -> Iterator[Point]:
    """Every terminal that a part has by its kind. Net names and strip lugs come with the runs that use them."""
    for designator, part in circuit.parts.items():
        for lug in part.kind.terminals:
            yield f"{designator}.{lug.name}"


def circuit_nets(circuit: Circuit) -> Nets:
    return Nets.of(circuit_points(circuit), circuit.runs)
