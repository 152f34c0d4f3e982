"""Lines on the level and upright: from each port into the channel between two columns, along a track, and on.

Within a channel every group of lines that share an end has one upright track; tracks are ordered so that
lines cross as little as possible and no level piece of one line lies on another's.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import Final, NamedTuple

from netdiff.drawing.ink import XY, Area, around
from netdiff.drawing.layout import Placed, Ref, Wire
from netdiff.drawing.model import Line
from netdiff.drawing.node import LINE, Node
from netdiff.drawing.tracks import Pin, Track, tracks

TRACK: Final = 6.0
"""From track to track, pixels."""
EDGE: Final = 5.0
"""From a column to the nearest track."""


@dataclass(slots=True)
class Path:
    """A line as drawn."""

    line: Line
    points: list[XY]
    ends: tuple[Ref, Ref]
    words: XY | None = None
    """Where the words of a line that goes over its part are centred."""

    def shift(self, dx: float, dy: float) -> None:
        self.points = [(x + dx, y + dy) for x, y in self.points]
        if self.words is not None:
            self.words = (self.words[0] + dx, self.words[1] + dy)


Detours = dict[tuple[int, bool], "Detour"]
"""By the number of a wire and whether it is its first end: how it goes round its own part."""


class Detour(NamedTuple):
    """``inset`` from the side that the port looks to, then over or under the part at ``level`` of its height."""

    inset: float
    level: float


def route(placed: Placed) -> list[Path]:
    """Turns nodes to face their lines, sets every column's place, and draws every line."""
    _face(placed)
    detour = _detours(placed)
    channels = {channel: tracks(pins) for channel, pins in _spans(placed, detour).items()}
    track_of = {(c, number): track for c, mine in channels.items() for track in mine for number in track.wires}
    left_of = _set_columns(placed, channels)
    out = []
    for number, wire in enumerate(placed.wires):
        points = _out(placed.nodes[wire.a.node], wire.a.port, detour.get((number, True)), "R")
        for at in range(len(wire.hops) - 1):
            channel = wire.hops[at][0]
            track = track_of[channel, number]
            a, b = (_height(placed, wire, number, there, detour) for there in (at, at + 1))
            x = left_of[channel] + EDGE + TRACK * track.place
            if track.straight:
                b = a
            points += [(x, a)]
            if track.level is not None:
                far = left_of[channel] + EDGE + TRACK * track.last
                points += [(x, track.level), (far, track.level), (far, b)]
            points += [(points[-1][0], b)]
        points += _out(placed.nodes[wire.b.node], wire.b.port, detour.get((number, False)), "L")[::-1]
        out.append(Path(wire.line, _simple(points), (wire.a, wire.b)))
    for node in placed.nodes.values():
        out += loops(node)
    return out


# --- which way ----------------------------------------------------------------------------------------------------


def _face(placed: Placed) -> None:
    """A node most of whose lines would have to go round it is drawn the other way round."""
    for name, node in list(placed.nodes.items()):
        if node.flip is None:
            continue
        wrong = 0
        for wire in placed.wires:
            for ref, way in ((wire.a, "R"), (wire.b, "L")):
                if ref.node == name and way not in node.ports[ref.port].ways:
                    wrong += 1
                elif ref.node == name and node.ports[ref.port].ways != "LR":
                    wrong -= 1
        if wrong > 0:
            other = node.flip()
            if abs(other.high - node.high) < 1:
                other.x, other.y, other.loops = node.x, node.y, node.loops
                placed.nodes[name] = other


def _detours(placed: Placed) -> Detours:
    """Lines whose port looks the other way, each with a way of its own round the part: over it or under it,
    whichever is nearer, where there is room.
    """
    out: Detours = {}
    used: dict[tuple[str, bool], int] = defaultdict(int)
    for number, wire in enumerate(placed.wires):
        for ref, way, first in ((wire.a, "R", True), (wire.b, "L", False)):
            node = placed.nodes[ref.node]
            port = node.ports[ref.port]
            if way in port.ways:
                continue
            under = port.y > node.high * 0.6
            if used[ref.node, under] > used[ref.node, not under] + 1:
                under = not under
            turn = used[ref.node, under]
            used[ref.node, under] += 1
            inset = 0.8 + 1.8 * turn
            count = used[ref.node, True] + used[ref.node, False]
            out[number, first] = Detour(0.5 + 1.6 * (count - 1), node.high - inset if under else inset)
    return out


def _out(node: Node, port: str, detour: Detour | None, way: str) -> list[XY]:
    """From the port to where its line leaves the node's rectangle."""
    at = node.ports[port]
    x, y = node.x + at.x, node.y + at.y
    edge = node.x + node.wide if way == "R" else node.x
    if detour is None:
        return [(x, y), (edge, y)]
    back = node.x + detour.inset if way == "R" else node.x + node.wide - detour.inset
    level = node.y + detour.level
    return [(x, y), (back, y), (back, level), (edge, level)]


def _height(placed: Placed, wire: Wire, number: int, at: int, detour: Detours) -> float:
    """The height of a wire in the ``at``-th column of its way."""
    if 0 < at < len(wire.hops) - 1:
        return wire.hops[at][1]
    ref = wire.a if at == 0 else wire.b
    node = placed.nodes[ref.node]
    found = detour.get((number, at == 0))
    return node.y + (node.ports[ref.port].y if found is None else found.level)


def _spans(placed: Placed, detour: Detours) -> dict[int, list[Pin]]:
    """The pins of every channel."""
    spans: dict[int, list[Pin]] = defaultdict(list)
    for number, wire in enumerate(placed.wires):
        last = len(wire.hops) - 1
        for at in range(last):
            ends = tuple(end for end, here in ((wire.a, at == 0), (wire.b, at + 1 == last)) if here)
            left, right = (_height(placed, wire, number, there, detour) for there in (at, at + 1))
            spans[wire.hops[at][0]].append(Pin(number, left, right, ends, wire.line.mark in ("", "unseen")))
    return spans


# --- columns ------------------------------------------------------------------------------------------------------


def _set_columns(placed: Placed, channels: dict[int, list[Track]]) -> dict[int, float]:
    """Gives every node its place from left to right; returns where each channel begins."""
    x = 0.0
    left_of = {}
    for column, names in enumerate(placed.columns):
        wide = max((placed.nodes[name].wide for name in names), default=0.0)
        for name in names:
            placed.nodes[name].x = x + (wide - placed.nodes[name].wide) / 2
        x += wide
        left_of[column] = x
        bent = [max(track.place, track.last) for track in channels.get(column, []) if not track.straight]
        x += 2 * EDGE + TRACK * max(bent) if bent else 4.0
    return left_of


def _simple(points: list[XY]) -> list[XY]:
    """Without points that lie on the way between their neighbours."""
    out: list[XY] = []
    for point in points:
        if out and abs(out[-1][0] - point[0]) < 0.05 and abs(out[-1][1] - point[1]) < 0.05:
            continue
        if len(out) > 1 and (
            (abs(out[-2][0] - out[-1][0]) < 0.05 and abs(out[-1][0] - point[0]) < 0.05)
            or (abs(out[-2][1] - out[-1][1]) < 0.05 and abs(out[-1][1] - point[1]) < 0.05)
        ):
            out[-1] = point
            continue
        out.append(point)
    return out


def loops(node: Node) -> list[Path]:
    """Lines from one terminal of a part to another: over the part, one above the other."""
    out = []
    for count, (a, b, line) in enumerate(node.loops):
        first, last = sorted((node.ports[a], node.ports[b]))
        level = node.y + 3 + LINE + (LINE + 4) * count
        inset = 7.0 + 2 * count  # nearer to the part than what goes round it
        xs = []
        for port, side in ((first, "L"), (last, "R")):
            way = side if side in port.ways else port.ways[0]
            xs.append(node.x + inset if way == "L" else node.x + node.wide - inset)
        over = [(xs[0], level), (xs[1], level)] if xs[0] != xs[1] else []
        points = [(node.x + first.x, node.y + first.y), (xs[0], node.y + first.y), *over]
        points += [(xs[1], node.y + last.y), (node.x + last.x, node.y + last.y)]
        out.append(
            Path(line, _simple(points), (Ref(node.name, a), Ref(node.name, b)), (node.x + node.wide / 2, level - 4))
        )
    return out


def span(placed: Placed, paths: list[Path]) -> Area:
    """What a placed picture covers."""
    areas = [node.area for node in placed.nodes.values()]
    areas += [Area(x, y, x, y) for path in paths for x, y in path.points]
    return around(areas)
