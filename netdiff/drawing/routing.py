"""Lines on the level and upright: from each port into the channel between two columns, along a track, and on.

Within a channel every group of lines that share an end has one upright track; tracks are ordered so that
lines cross as little as possible and no level piece of one line lies on another's.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from typing import Final

from netdiff.drawing.ink import XY, Area, around
from netdiff.drawing.layout import Placed, Ref, Wire
from netdiff.drawing.model import Line
from netdiff.drawing.node import LINE, Node

TRACK: Final = 6.0
"""From track to track, pixels."""
EDGE: Final = 5.0
"""From a column to the nearest track."""
NEAR: Final = 3.0
"""Level pieces of different lines nearer than this would look like one."""


@dataclass(slots=True)
class Track:
    """One upright line with its level pieces to the left and to the right, by height."""

    wires: list[int]
    left: list[float] = field(default_factory=list)
    right: list[float] = field(default_factory=list)
    place: int = 0

    @property
    def low(self) -> float:
        return min(self.left + self.right)

    @property
    def high(self) -> float:
        return max(self.left + self.right)

    @property
    def straight(self) -> bool:
        return self.high - self.low < 0.5


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


def route(placed: Placed) -> list[Path]:
    """Turns nodes to face their lines, sets every column's place, and draws every line."""
    _face(placed)
    ends = [(_side(placed, wire, True), _side(placed, wire, False)) for wire in placed.wires]
    spans = _spans(placed, ends)
    channels: dict[int, list[Track]] = {}
    track_of: dict[tuple[int, int], Track] = {}
    for channel, pins in spans.items():
        channels[channel] = _tracks(placed, pins)
        for track in channels[channel]:
            track_of.update({(channel, number): track for number in track.wires})
    left_of = _set_columns(placed, channels)
    out = []
    for number, wire in enumerate(placed.wires):
        points: list[XY] = list(_out(placed.nodes[wire.a.node], wire.a.port, ends[number][0], "R"))
        for at in range(len(wire.hops) - 1):
            channel = wire.hops[at][0]
            track = track_of[channel, number]
            a, b = _pin(placed, wire, at, ends[number]), _pin(placed, wire, at + 1, ends[number])
            x = left_of[channel] + EDGE + TRACK * track.place
            points += [(x, a), (x, b)] if not track.straight else [(x, a)]
            if at + 2 < len(wire.hops):
                points.append((x + 1, b))
        points += list(_out(placed.nodes[wire.b.node], wire.b.port, ends[number][1], "L"))[::-1]
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


def _side(placed: Placed, wire: Wire, first: bool) -> int:
    """0 where the port faces the line; else how far from the node's edge the line goes round it: 1, 2 …"""
    ref, way = (wire.a, "R") if first else (wire.b, "L")
    node = placed.nodes[ref.node]
    if way in node.ports[ref.port].ways:
        return 0
    before = [w for w in placed.wires[: placed.wires.index(wire)] for r in (w.a, w.b) if r.node == ref.node]
    return 1 + len({id(w) for w in before if _goes_round(placed, w, ref.node)})


def _goes_round(placed: Placed, wire: Wire, name: str) -> bool:
    return any(
        ref.node == name and way not in placed.nodes[name].ports[ref.port].ways
        for ref, way in ((wire.a, "R"), (wire.b, "L"))
    )


def _round_height(node: Node, port: str, turn: int) -> float:
    """The height at which the ``turn``-th line goes round a node: two on the nearer side, the next two on the other."""
    inset = 0.8 + 2.0 * ((turn - 1) % 2)
    under = (node.ports[port].y > node.high * 0.6) != ((turn - 1) // 2 % 2 == 1)
    return node.y + node.high - inset if under else node.y + inset


def _out(node: Node, port: str, turn: int, way: str) -> list[XY]:
    """From the port to where its line leaves the node's rectangle."""
    at = node.ports[port]
    x, y = node.x + at.x, node.y + at.y
    edge = node.x + node.wide if way == "R" else node.x
    if not turn:
        return [(x, y), (edge, y)]
    inset = 1.0 + 2.0 * ((turn - 1) % 3)
    back = node.x + inset if way == "R" else node.x + node.wide - inset
    level = _round_height(node, port, turn)
    return [(x, y), (back, y), (back, level), (edge, level)]


def _pin(placed: Placed, wire: Wire, at: int, turns: tuple[int, int]) -> float:
    if 0 < at < len(wire.hops) - 1:
        return wire.hops[at][1]
    ref, turn = (wire.a, turns[0]) if at == 0 else (wire.b, turns[1])
    node = placed.nodes[ref.node]
    return _round_height(node, ref.port, turn) if turn else node.y + node.ports[ref.port].y


# --- tracks -------------------------------------------------------------------------------------------------------

Pins = list[tuple[int, float, float, Ref | None, Ref | None]]
"""Of one channel: the wire's number, its height on the left and on the right, and its ends that are in the channel."""


def _spans(placed: Placed, ends: list[tuple[int, int]]) -> dict[int, Pins]:
    spans: dict[int, Pins] = defaultdict(list)
    for number, wire in enumerate(placed.wires):
        last = len(wire.hops) - 1
        for at in range(last):
            a, b = _pin(placed, wire, at, ends[number]), _pin(placed, wire, at + 1, ends[number])
            spans[wire.hops[at][0]].append(
                (number, a, b, wire.a if at == 0 else None, wire.b if at + 1 == last else None)
            )
    return spans


def _tracks(placed: Placed, pins: Pins) -> list[Track]:
    """One track for all plain lines that share an end, one for every line that differs."""
    group_of: dict[object, Track] = {}
    out: list[Track] = []
    for number, a, b, first, last in pins:
        line = placed.wires[number].line
        track = None
        if line.mark in ("", "unseen"):
            track = next((group_of[end] for end in (first, last) if end is not None and end in group_of), None)
        if track is None:
            track = Track([])
            out.append(track)
        track.wires.append(number)
        track.left.append(a)
        track.right.append(b)
        if line.mark in ("", "unseen"):
            for end in (first, last):
                if end is not None:
                    group_of.setdefault(end, track)
    _order([track for track in out if not track.straight])
    return out


def _order(bent: list[Track]) -> None:
    """Exchange neighbours as long as that lessens what the order costs."""
    bent.sort(
        key=lambda t: (
            sum(t.left) / len(t.left) < sum(t.right) / len(t.right),
            -t.low if t.left[0] < t.right[0] else t.low,
        )
    )
    best = _cost(bent)
    for _ in range(len(bent) * 2):
        better = False
        for i in range(len(bent)):
            for j in range(i + 1, len(bent)):
                bent[i], bent[j] = bent[j], bent[i]
                cost = _cost(bent)
                if cost < best:
                    best, better = cost, True
                else:
                    bent[i], bent[j] = bent[j], bent[i]
        if not better or len(bent) > 40:
            break
    for place, track in enumerate(bent):
        track.place = place


def _cost(order: list[Track]) -> float:
    """A crossing costs 1; level pieces of two lines on each other 100."""
    total = 0.0
    for i, near in enumerate(order):
        for far in order[i + 1 :]:
            total += sum(near.low < y < near.high for y in far.left)  # on its way to the left it meets ``near``
            total += sum(far.low < y < far.high for y in near.right)
            total += 100 * sum(abs(y - z) < NEAR for y in far.left for z in near.right)
    return total


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
        tracks = [track.place for track in channels.get(column, []) if not track.straight]
        x += 2 * EDGE + TRACK * max(tracks) if tracks else 4.0
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
