"""Where to cut: the fewest conductors that part what the drawing keeps apart.

Every point that the drawing speaks of has the goal net it belongs to. Other points (strip lugs,
unused pins, splices, terminals of parts that stay) may end on any: each gets the goal net for which
least has to be cut. On a tree that is exact; where conductors run in circles the tree's answer is
improved point by point until no change of one point helps.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping

from netdiff.circuit import Point
from netdiff.worklist.bench import Strand

Net = int


def goal_nets(
    strands: Iterable[Strand], label: Mapping[Point, Net], weight: Callable[[Strand], float]
) -> dict[Point, Net]:
    """Goal nets of the points that have none, from the conductors that lead there.

    Points from which no conductor leads to a point with a goal net get none.
    """
    pull: dict[Point, dict[Net, float]] = defaultdict(lambda: defaultdict(float))
    links: dict[Point, list[tuple[Point, float]]] = defaultdict(list)
    for strand in strands:
        a, b, amount = strand.a, strand.b, weight(strand)
        first, second = label.get(a), label.get(b)
        if first is None and second is None:
            links[a].append((b, amount))
            links[b].append((a, amount))
        elif first is None:
            pull[a][label[b]] += amount
        elif second is None:
            pull[b][first] += amount
    chosen: dict[Point, Net] = {}
    seen: set[Point] = set()
    for start in list(dict.fromkeys((*pull, *links))):
        if start in seen:
            continue
        cluster, parent, circles = _walk(start, links)
        seen.update(cluster)
        nets = sorted({net for where in cluster for net in pull.get(where, ())})
        if not nets:
            continue
        if len(nets) == 1:
            chosen |= dict.fromkeys(cluster, nets[0])
            continue
        best = _on_tree(cluster, parent, nets, pull)
        if circles:
            _improve(cluster, best, nets, pull, links)
        chosen |= best
    return chosen


_Links = Mapping[Point, list[tuple[Point, float]]]
_Pull = Mapping[Point, Mapping[Net, float]]


def _walk(start: Point, links: _Links) -> tuple[list[Point], dict[Point, tuple[Point, float]], bool]:
    """The points linked to one, each after its parent; the parent of each; whether links run in circles."""
    order, parent, seen = [start], {}, {start}
    edges = 0
    for where in order:
        for other, amount in links.get(where, ()):
            edges += 1
            if other not in seen:
                seen.add(other)
                parent[other] = (where, amount)
                order.append(other)
    return order, parent, edges > 2 * (len(order) - 1)


def _on_tree(
    order: list[Point], parent: Mapping[Point, tuple[Point, float]], nets: list[Net], pull: _Pull
) -> dict[Point, Net]:
    """Least total weight of cut links on the tree, from the leaves up and back down."""
    cost: dict[Point, dict[Net, float]] = {}
    for where in order:
        own = pull.get(where, {})
        total = sum(own.values())
        cost[where] = {net: total - own.get(net, 0.0) for net in nets}
    for where in reversed(order):
        if where in parent:
            above, amount = parent[where]
            cheapest = min(cost[where].values()) + amount
            for net in nets:
                cost[above][net] += min(cost[where][net], cheapest)
    chosen: dict[Point, Net] = {}
    for where in order:
        best = min(nets, key=cost[where].__getitem__)
        if where in parent:
            above, amount = parent[where]
            same = chosen[above]
            if cost[where][same] <= cost[where][best] + amount:
                best = same
        chosen[where] = best
    return chosen


def _improve(cluster: list[Point], chosen: dict[Point, Net], nets: list[Net], pull: _Pull, links: _Links) -> None:
    def cut(where: Point, net: Net) -> float:
        own = pull.get(where, {})
        away = sum(amount for other, amount in own.items() if other != net)
        return away + sum(amount for other, amount in links.get(where, ()) if chosen[other] != net)

    changed = True
    while changed:
        changed = False
        for where in cluster:
            best = min(nets, key=lambda net, where=where: cut(where, net))  # type: ignore[misc]
            if cut(where, best) < cut(where, chosen[where]) - 1e-9:
                chosen[where] = best
                changed = True
