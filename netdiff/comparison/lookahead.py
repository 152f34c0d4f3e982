"""Which few lugs to trace next: those whose tracing would settle the most open questions.

A stock connection is an open question while its net is neither seen whole nor known apart. A net
with ``n`` untraced points needs all of them before it is closed, so each of them counts for the
net's connections divided by ``n``. Dangerous nets count more.
"""

from __future__ import annotations

from collections import defaultdict

from netdiff.circuit import Point, is_net, part_of
from netdiff.comparison.holds import purposes
from netdiff.comparison.scene import Scene

_URGENT = {"mains": 3.0, "earth": 3.0, "supply": 2.0, "bias": 2.0}


def look_next(scene: Scene, most: int = 8) -> tuple[Point, ...]:
    """Untraced terminals, the most telling first."""
    score: dict[Point, float] = defaultdict(float)
    for number, members in enumerate(scene.drawn.members):
        wired = [w for w in members if not is_net(w) and w in scene.compared]
        if len(wired) < 2:
            continue
        open_points = [w for w in wired if w not in scene.traced]
        on_the_way = {
            other
            for net in {scene.here[where] for where in wired if where in scene.here}
            for other in scene.members[net]
            if other not in scene.traced and other not in scene.compared and part_of(other)
        }
        waiting = [*open_points, *sorted(on_the_way)]
        if not waiting:
            continue
        weight = max([1.0, *(_URGENT.get(p, 1.0) for p in purposes(scene.stock, scene.names(number)))])
        for where in waiting:
            score[where] += weight * (len(wired) - 1) / len(waiting)
    order = {name: i for i, name in enumerate(scene.stock.parts)}
    ranked = sorted(score, key=lambda w: (-score[w], order.get(part_of(w), len(order)), w))
    return tuple(ranked[:most])
