"""Interchangeable ends under the names that they have in the drawing."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from netdiff.circuit import Circuit, Part, Point, Run
from netdiff.language.ends import Node
from netdiff.language.joined import Joined
from netdiff.language.wiring import Wiring


def turn_as_drawn(
    wiring: Wiring, point_of: Callable[[Node], Point], stock: Circuit, parts: Mapping[str, Part]
) -> Callable[[Node], Point]:
    """Give interchangeable ends the names that they have in the drawing, where no line names one of them.

    Which end is called 1 makes no difference to the circuit; but whoever reads of R5.2 looks for it
    where the drawing has it.
    """
    named = {node for link in wiring.links for node in (link.a, link.b) if isinstance(node, str)}
    free = {
        name: ends
        for name, ends in wiring.ends.items()
        if name in stock.parts and name in parts and not named & set(ends) and stock.parts[name].kind.ends is not None
    }
    if not free:
        return point_of
    nets = Joined(Run(point_of(link.a), point_of(link.b), braid=link.braid) for link in wiring.links)
    drawn = Joined(stock.runs)
    loose = {end for ends in free.values() for end in ends}
    seen = {
        net: {drawn.find(point) for point in points if point not in loose and point in drawn}
        for net, points in nets.nets().items()
    }
    turned: set[str] = set()
    for name, (first, second) in free.items():
        here = [seen.get(nets.find(end), set()) for end in (first, second)]
        there = [drawn.find(end) for end in (first, second)]
        straight = (there[0] in here[0]) + (there[1] in here[1])
        crossed = (there[1] in here[0]) + (there[0] in here[1])
        if crossed > straight:
            turned.add(name)
    if not turned:
        return point_of
    other = {end: free[name][1 - i] for name in turned for i, end in enumerate(free[name])}

    def renamed(node: Node) -> Point:
        point = point_of(node)
        return point if isinstance(node, str) else other.get(point, point)

    return renamed
