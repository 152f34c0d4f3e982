"""Which points a set of runs joins."""

from __future__ import annotations

from collections.abc import Iterable

from netdiff.circuit import OPEN, UNFOLLOWED, Point, Run


class Joined:
    """A union of points. Points that nothing joins are nets of their own.

    >>> nets = Joined([Run("R1.1", "b+"), Run("b+", "C1.1")])
    >>> nets.find("C1.1") == nets.find("R1.1"), "R9.1" in nets
    (True, False)
    """

    def __init__(self, runs: Iterable[Run] = ()) -> None:
        self._parent: dict[Point, Point] = {}
        self._size: dict[Point, int] = {}
        for run in runs:
            self.add(run)

    def add(self, run: Run) -> None:
        """A run and its braid; what joins nothing still makes its points known."""
        for a, b in ((run.a, run.b), *((run.braid,) if run.braid else ())):
            real = [point for point in (a, b) if point not in (OPEN, UNFOLLOWED)]
            for point in real:
                self._parent.setdefault(point, point)
            if len(real) == 2:
                self.join(a, b)

    def __contains__(self, point: Point) -> bool:
        return point in self._parent

    def find(self, point: Point) -> Point:
        parent = self._parent
        root = point
        while (above := parent.get(root, root)) != root:
            root = above
        while point != root:
            parent[point], point = root, parent[point]
        return root

    def join(self, a: Point, b: Point) -> bool:
        """Whether this was news."""
        a, b = self.find(a), self.find(b)
        if a == b:
            return False
        if self._size.get(a, 1) < self._size.get(b, 1):
            a, b = b, a
        self._parent.setdefault(a, a)
        self._parent[b] = a
        self._size[a] = self._size.get(a, 1) + self._size.get(b, 1)
        return True

    def nets(self) -> dict[Point, list[Point]]:
        """Members of every net, by its representative."""
        out: dict[Point, list[Point]] = {}
        for point in self._parent:
            out.setdefault(self.find(point), []).append(point)
        return out
