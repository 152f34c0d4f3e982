"""What to join again: for each goal net the fewest runs that make its pieces one, the drawing's own first.

A net name that the unit's file never uses, or a lug of a strip that is not there, is no point to
solder to. Where the drawing goes through such a point, the terminals round it are joined directly.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from typing import NamedTuple

from netdiff.circuit import OPEN, UNFOLLOWED, Point, Run, is_net
from netdiff.nets import Union
from netdiff.worklist.bench import natural
from netdiff.worklist.goal import Goal

DESCRIBED = frozenset({"coax", "shielded", "twisted", "strap", "bus", "bare", "wire", "bolted"})
"""Conductors of which the drawing says something: such a run is laid as the drawing has it."""


class Join(NamedTuple):
    """``drawn`` is the drawing's run between exactly these points, None where there is none."""

    a: Point
    b: Point
    drawn: Run | None
    braid: bool = False
    """The drawing joins these points by the braid of the run."""


class _Edge(NamedTuple):
    a: Point
    b: Point
    run: Run
    braid: bool


class Rejoin:
    """Finds the joins. ``found`` is what was connected as found; ``pieces`` what is connected when all cutting is
    done: it grows with every join."""

    def __init__(
        self,
        goal: Goal,
        net_of: Mapping[Point, int],
        found: Union,
        pieces: Union,
        moved: frozenset[Point],
    ) -> None:
        self.goal, self.net_of, self.found, self.pieces, self.moved = goal, net_of, found, pieces, moved
        self.edges: dict[int, list[_Edge]] = defaultdict(list)
        self.left_open: set[int] = set()
        """Stock nets of which a braid stays open: what it alone would join stays apart."""
        for run in goal.runs:
            if run.joins:
                self.edges[goal.net_of_drawing[run.a]].append(_Edge(run.a, run.b, run, False))
            if run.braid is None or {OPEN, UNFOLLOWED} & set(run.braid):
                continue
            if frozenset((run.a, run.b)) in goal.kept_runs:
                continue
            if {run.a, run.b} & goal.kept_braids:
                self.left_open.add(goal.net_of_drawing[run.braid[0]])
            else:
                self.edges[goal.net_of_drawing[run.braid[0]]].append(_Edge(*run.braid, run, True))
        self.points: dict[tuple[int, int], list[Point]] = defaultdict(list)
        for where, net in goal.label.items():
            self.points[net, goal.net_of_drawing[where]].append(where)

    def joins(self, braids: bool) -> Iterator[Join]:
        """Joins over the drawing's own runs: over cores, or (``braids``) over cores and braids.

        A braid is not asked to carry what the drawing gives a bond of its own.
        """
        for (net, drawn_net), points in self.points.items():
            if self._pieces(points) > 1:
                edges = [edge for edge in self.edges[drawn_net] if braids or not edge.braid]
                yield from self._one_net(net, points, edges)

    def last_resort(self) -> Iterator[Join]:
        """Joins between pieces that no run of the drawing can connect: of one stock net, then of what stays joined."""
        for (_, drawn_net), points in self.points.items():
            if drawn_net not in self.left_open:
                yield from self._all_of(points)
        stays: dict[tuple[int, Point], list[Point]] = defaultdict(list)
        for where, net in self.goal.label.items():
            stays[net, self.found.find(where)].append(where)
        for points in stays.values():
            yield from self._all_of(points)

    def _all_of(self, points: list[Point]) -> Iterator[Join]:
        while self._pieces(points) > 1:
            best: dict[Point, Point] = {}
            for where in sorted(points, key=self._landing):
                best.setdefault(self.pieces.find(where), where)
            first, other, *_ = best.values()
            self.pieces.join(first, other)
            yield Join(other, first, None)

    def _pieces(self, points: Iterable[Point]) -> int:
        return len({self.pieces.find(where) for where in points})

    def _landing(self, where: Point) -> tuple[bool, bool, bool, tuple[tuple[int, str], ...]]:
        """How well one can solder there: ground, then names and fixed terminals that were looked at."""
        seen = where in self.goal.traced or is_net(where)
        return where != self.goal.ground, not seen, self.goal.hangs(where), natural(where)

    def _can_land(self, where: Point, net: int) -> bool:
        if where in self.goal.label:
            return self.goal.label[where] == net
        return where in self.goal.usable and self.net_of.get(where, net) == net

    def _one_net(self, net: int, points: list[Point], edges: list[_Edge]) -> Iterator[Join]:
        """A least spanning tree over the pieces; branches that lead to no piece of the net are left off."""
        needed = {self.pieces.find(where) for where in points}
        node: dict[Point, Point] = {}
        for edge in edges:
            for where in (edge.a, edge.b):
                if where not in node:
                    if self._can_land(where, net):
                        node[where] = self.pieces.find(where)
                    elif where not in self.goal.label:
                        node[where] = f"not there: {where}"
        able = [edge for edge in edges if edge.a in node and edge.b in node]
        able.sort(key=lambda edge: self._cost(edge, node))
        local = Union()
        tree: list[_Edge] = []
        for edge in able:
            a, b = local.find(node[edge.a]), local.find(node[edge.b])
            if a != b:
                local.join(a, b)
                tree.append(edge)
        tree = _pruned(tree, node, needed)
        for join in self._landable(tree, node):
            self.pieces.join(join.a, join.b)
            yield join

    def _cost(self, edge: _Edge, node: Mapping[Point, Point]) -> tuple[object, ...]:
        absent = sum(node[where].startswith("not there") for where in (edge.a, edge.b))
        described = edge.run.conductor in DESCRIBED or edge.run.direct
        moves = edge.a in self.moved or edge.b in self.moved
        unseen = sum(where not in self.goal.traced and not is_net(where) for where in (edge.a, edge.b))
        return edge.braid, absent, not described, not moves, unseen, natural(edge.a), natural(edge.b)

    def _landable(self, tree: list[_Edge], node: Mapping[Point, Point]) -> Iterator[Join]:
        joins = [Join(edge.a, edge.b, edge.run, edge.braid) for edge in tree]
        absent = {w for join in joins for w in (join.a, join.b) if node[w].startswith("not there")}
        for where in sorted(absent, key=natural):
            round_it = [join.b if join.a == where else join.a for join in joins if where in (join.a, join.b)]
            joins = [join for join in joins if where not in (join.a, join.b)]
            hub = min(round_it, key=lambda w: (node[w].startswith("not there"), *self._landing(w)))
            joins += [Join(other, hub, None) for other in round_it if other != hub]
        yield from joins


def _pruned(tree: list[_Edge], node: Mapping[Point, Point], needed: set[Point]) -> list[_Edge]:
    while True:
        degree: dict[Point, int] = defaultdict(int)
        for edge in tree:
            degree[node[edge.a]] += 1
            degree[node[edge.b]] += 1
        left = [edge for edge in tree if all(degree[node[end]] > 1 or node[end] in needed for end in (edge.a, edge.b))]
        if len(left) == len(tree):
            return tree
        tree = left


def new_run(join: Join, goal: Goal) -> Run:
    """The run that is put on: as the drawing has it, else any sound wire, shielded where its net must be."""
    if join.drawn is None or join.braid:
        return Run(join.a, join.b)
    run = join.drawn
    if not run.conductor and goal.net_of_drawing.get(run.a, -1) in goal.shielded:
        if not goal.hangs(run.a) and not goal.hangs(run.b):
            return Run(run.a, run.b, "shielded", braid=(goal.ground, OPEN))
    return as_drawn(run, goal)


def as_drawn(run: Run, goal: Goal) -> Run:
    """The drawing's run, its braid landed on points that are there, freed of where the drawing's file says so."""
    braid = run.braid and (stand_in(run.braid[0], goal), stand_in(run.braid[1], goal))
    if braid and not may_join(*braid, goal):
        braid = (braid[0], OPEN)
    return replace(run, braid=braid, evidence="seen", places=())


def may_join(a: Point, b: Point, goal: Goal) -> bool:
    """Whether a braid may lie between the points: not where a modification that stays keeps them apart."""
    return goal.label.get(a, -1) == goal.label.get(b, -1) or a not in goal.label or b not in goal.label


def stand_in(where: Point, goal: Goal) -> Point:
    """The point itself; for a net name that the unit's file never uses, a terminal on that net."""
    if where in goal.label or where in goal.usable or where in (OPEN, UNFOLLOWED):
        return where
    net = goal.net_of_drawing.get(where, -1)
    there = [w for w, number in goal.net_of_drawing.items() if number == net and w in goal.label]
    return min(there, key=lambda w: (goal.hangs(w), natural(w)), default=OPEN) if is_net(where) else OPEN
