"""A picture laid out: its pieces each by itself, then side by side, so that the whole has the shape of paper."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from netdiff.drawing.assemble import Assembly
from netdiff.drawing.ink import Area, around
from netdiff.drawing.layout import Wire, place, straighten
from netdiff.drawing.node import Node
from netdiff.drawing.routing import Path, loops, route, span
from netdiff.nets import Union

GAP: Final = 10.0


@dataclass(slots=True)
class Figure:
    """Nodes where they stand, and the lines between them."""

    nodes: dict[str, Node]
    paths: list[Path]
    area: Area


def figures(sheets: Sequence[Assembly], shape: float = 1.2) -> list[Figure]:
    """Lays out several pictures at the price of one start. ``shape``: width to height, about."""
    return begun(sheets, shape)()


def begun(sheets: Sequence[Assembly], shape: float = 1.2) -> Callable[[], list[Figure]]:
    """The same; the layout goes on by itself until what this gives is called."""
    pieces = [_pieces(sheet) for sheet in sheets]
    places = place([piece for mine in pieces for piece in mine])

    def finish() -> list[Figure]:
        placed = iter(places())
        out = []
        for sheet, mine in zip(sheets, pieces, strict=True):
            parts = []
            for _ in mine:
                one = next(placed)
                straighten(one)
                paths = route(one)
                parts.append(Figure(one.nodes, paths, span(one, paths)))
            joined = {name for part in parts for name in part.nodes}
            idle = [node for name, node in sheet.nodes.items() if name not in joined]
            out.append(_together(parts, idle, shape))
        return out

    return finish


def _pieces(sheet: Assembly) -> list[tuple[dict[str, Node], list[Wire]]]:
    """What hangs together, in the order of the picture. Nodes without a wire are in no piece."""
    union = Union()
    for wire in sheet.wires:
        union.join(wire.a.node, wire.b.node)
    nodes: dict[object, dict[str, Node]] = defaultdict(dict)
    wires: dict[object, list[Wire]] = defaultdict(list)
    for wire in sheet.wires:
        wires[union.find(wire.a.node)].append(wire)
    busy = {ref.node for wire in sheet.wires for ref in (wire.a, wire.b)}
    for name, node in sheet.nodes.items():
        if name in busy:
            nodes[union.find(name)][name] = node
    return [(mine, wires[root]) for root, mine in nodes.items()]


def _together(parts: list[Figure], idle: list[Node], shape: float) -> Figure:
    """The pieces packed, the idle nodes as pieces of their own."""
    for node in idle:
        node.x = node.y = 0.0
        parts.append(Figure({node.name: node}, loops(node), node.area))
    spots, _, _ = packed([(part.area.width, part.area.height) for part in parts], shape, GAP)
    out = Figure({}, [], Area(0, 0, 0, 0))
    for part, (x, y) in zip(parts, spots, strict=True):
        dx, dy = x - part.area.left, y - part.area.top
        for node in part.nodes.values():
            node.x += dx
            node.y += dy
        for path in part.paths:
            path.shift(dx, dy)
        out.nodes.update(part.nodes)
        out.paths += part.paths
    out.area = around(
        part.area.moved(x - part.area.left, y - part.area.top) for part, (x, y) in zip(parts, spots, strict=True)
    )
    return out


# --- rectangles on a sheet ----------------------------------------------------------------------------------------


def packed(
    sizes: Sequence[tuple[float, float]], shape: float, gap: float
) -> tuple[list[tuple[float, float]], float, float]:
    """Places of rectangles on a sheet of about this shape, and its width and height. Of several widths the one that
    makes the least sheet.
    """
    if not sizes:
        return [], 0.0, 0.0
    least = max(wide for wide, _ in sizes)
    total = sum((wide + gap) * (high + gap) for wide, high in sizes)
    best: tuple[float, list[tuple[float, float]], float, float] | None = None
    tried = set()
    for step in range(16 if len(sizes) < 60 else 4):
        room = max(least, (total * shape) ** 0.5 * (0.9 + 0.06 * step))
        if room in tried:
            continue
        tried.add(room)
        spots, high = _skyline(sizes, room, gap)
        wide = max(x + size[0] for (x, _), size in zip(spots, sizes, strict=True))
        scale = max(wide / shape, high)
        if best is None or scale < best[0] - 0.5:
            best = (scale, spots, wide, high)
    assert best is not None
    return best[1], best[2], best[3]


def _skyline(sizes: Sequence[tuple[float, float]], room: float, gap: float) -> tuple[list[tuple[float, float]], float]:
    """Each rectangle as high up as it fits, the largest first."""
    spots: list[tuple[float, float]] = [(0.0, 0.0)] * len(sizes)
    sky: list[tuple[float, float, float]] = [(0.0, room + gap, 0.0)]
    """Left, right, and how far down the sheet is taken there."""
    for number in sorted(range(len(sizes)), key=lambda n: -sizes[n][0] * sizes[n][1]):
        wide, high = sizes[number][0] + gap, sizes[number][1] + gap
        best: tuple[float, float] | None = None
        for left, _, _ in sky:
            if left + wide > room + gap + 0.5:
                continue
            top = max(level for a, b, level in sky if a < left + wide - 0.01 and b > left + 0.01)
            if best is None or (top, left) < best:
                best = (top, left)
        top, left = best if best is not None else (max(level for _, _, level in sky), 0.0)
        spots[number] = (left, top)
        cut = []
        for a, b, level in sky:
            if b <= left or a >= left + wide:
                cut.append((a, b, level))
                continue
            if a < left:
                cut.append((a, left, level))
            if b > left + wide:
                cut.append((left + wide, b, level))
        sky = sorted([*cut, (left, left + wide, top + high)])
    return spots, max(level for _, _, level in sky) - gap
