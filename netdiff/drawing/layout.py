"""Where everything goes: Graphviz places the nodes in columns, this reads the places back.

Every node is a record, a pile of thin fields, so that the layout knows at which height a line leaves it.
The layout flows from left to right; what it gives is a column and a height for each node, and the height
at which a line passes a column on its way to a later one.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any, Final, NamedTuple

from netdiff.drawing.engines import started
from netdiff.drawing.model import Line
from netdiff.drawing.node import Node

PASS: Final = 6.0
"""Height that a passing line takes in a column, pixels."""
FIELD: Final = 4.0
"""Height of a field of a record, pixels."""
INCH: Final = 72.0
"""The layout's inch; one of its points is one pixel here."""


class Ref(NamedTuple):
    """A port of a node."""

    node: str
    port: str


@dataclass(slots=True)
class Wire:
    """From ``a``, on the left as a rule, to ``b``. ``hops`` are columns with the height there, once it is placed."""

    a: Ref
    b: Ref
    line: Line
    hops: list[tuple[int, float]] = field(default_factory=list)


@dataclass(slots=True)
class Placed:
    """``columns`` hold the nodes from left to right."""

    nodes: dict[str, Node]
    wires: list[Wire]
    columns: list[list[str]]


def place(sheets: Sequence[tuple[dict[str, Node], list[Wire]]]) -> Callable[[], list[Placed]]:
    """Begins to lay out several pictures at the price of one start; what it gives waits for them. Every node has a
    wire."""
    answers = started([_dot(nodes, list(nodes), wires) for nodes, wires in sheets]) if sheets else list

    def finish() -> list[Placed]:
        out = []
        for (nodes, wires), answer in zip(sheets, answers(), strict=True):
            placed = Placed(nodes, wires, [])
            _read(placed, list(nodes), json.loads(answer))
            out.append(placed)
        return out

    return finish


def _dot(nodes: dict[str, Node], names: list[str], wires: list[Wire]) -> str:
    index = {name: number for number, name in enumerate(names)}
    out = ["graph{rankdir=LR;nodesep=0.11;ranksep=0.25;node[shape=record,fixedsize=true,margin=0,fontsize=1];"]
    rows: dict[str, dict[str, int]] = {}
    for name in names:
        node = nodes[name]
        label, rows[name] = _record(node)
        out.append(f'n{index[name]}[label="{label}",width={node.wide / INCH:.4f},height={node.high / INCH:.4f}];')
    for number, wire in enumerate(wires):
        a, b = (f"n{index[ref.node]}:p{rows[ref.node][ref.port]}" for ref in (wire.a, wire.b))
        out.append(f'{a}--{b}[comment="{number}",weight={4 if wire.line.mark == "" else 2}];')
    return "\n".join([*out, "}"])


def _record(node: Node) -> tuple[str, dict[str, int]]:
    """The node as a pile of fields of one height; and the field of each port."""
    count = max(1, round(node.high / FIELD))
    field_of = {t: max(0, min(count - 1, int(port.y / node.high * count))) for t, port in node.ports.items()}
    named = set(field_of.values())
    return "|".join(f"<p{number}>" if number in named else "" for number in range(count)), field_of


def _read(placed: Placed, names: list[str], answer: dict[str, Any]) -> None:
    tall = float(str(answer["bb"]).split(",")[3])
    across: dict[str, float] = {}
    for one in answer.get("objects", []):
        if "pos" not in one:
            continue
        node = placed.nodes[names[int(str(one["name"])[1:])]]
        x, y = (float(value) for value in str(one["pos"]).split(","))
        across[node.name] = x
        node.y = float(round(tall - y - node.high / 2))
    centres: list[float] = []
    for x in sorted(set(across.values())):
        if not centres or x - centres[-1] > 1.5:
            centres.append(x)
    placed.columns = [[] for _ in centres]
    column_of = {}
    for name, x in across.items():
        column_of[name] = min(range(len(centres)), key=lambda c: abs(centres[c] - x))
        placed.columns[column_of[name]].append(name)
    paths = {int(edge["comment"]): str(edge["pos"]) for edge in answer.get("edges", [])}
    for number, wire in enumerate(placed.wires):
        _hops(placed, wire, paths.get(number, ""), centres, column_of, tall)


def _hops(placed: Placed, wire: Wire, path: str, centres: list[float], column_of: dict[str, int], tall: float) -> None:
    if column_of[wire.a.node] > column_of[wire.b.node]:
        wire.a, wire.b = wire.b, wire.a
    first, last = column_of[wire.a.node], column_of[wire.b.node]
    curve = [(float(x), tall - float(y)) for x, y in (p.split(",") for p in path.split() if p[0] not in "es")]
    wire.hops = [(first, 0.0)]
    for column in range(first + 1, last):
        wire.hops.append((column, float(round(_height(curve, centres[column])))))
    wire.hops.append((last, 0.0))


def _height(curve: list[tuple[float, float]], x: float) -> float:
    """Where the curve passes ``x``: the nearest of points along its Bézier pieces."""
    best = min(curve, key=lambda point: abs(point[0] - x))
    for at in range(0, len(curve) - 3, 3):
        a, b, c, d = curve[at : at + 4]
        if not min(a[0], d[0]) - 1 <= x <= max(a[0], d[0]) + 1:
            continue
        for step in range(33):
            t = step / 32
            u = 1 - t
            px, py = (u**3 * a[i] + 3 * u * u * t * b[i] + 3 * u * t * t * c[i] + t**3 * d[i] for i in (0, 1))
            if abs(px - x) < abs(best[0] - x):
                best = (px, py)
    return best[1]


# --- tidying the heights ------------------------------------------------------------------------------------------


class Slot(NamedTuple):
    """Something that takes room in a column."""

    top: float
    bottom: float
    owner: object


def straighten(placed: Placed) -> None:
    """Small nodes and passing lines move up or down to the height of what they are joined to, where there is room."""
    column_of = {name: c for c, names in enumerate(placed.columns) for name in names}
    joined: dict[str, list[tuple[Ref, Wire]]] = defaultdict(list)
    for wire in placed.wires:
        joined[wire.a.node].append((wire.a, wire))
        joined[wire.b.node].append((wire.b, wire))
    for _ in range(3):
        for names in placed.columns:
            for name in names:
                node = placed.nodes[name]
                if node.firm:
                    continue
                for ref, wire in joined[name]:
                    wanted = _far_height(placed, wire, ref)
                    shift = wanted - (node.y + node.ports[ref.port].y)
                    if shift == 0:
                        break
                    if abs(shift) < 60 and _free(
                        placed, column_of[name], node.y + shift, node.y + shift + node.high, name
                    ):
                        node.y += shift
                        break
        for wire in placed.wires:
            for at in range(1, len(wire.hops) - 1):
                column, here = wire.hops[at]
                for wanted in (_height_at(placed, wire, at - 1), _height_at(placed, wire, at + 1)):
                    if wanted != here and _free(placed, column, wanted - PASS / 2, wanted + PASS / 2, wire):
                        wire.hops[at] = (column, wanted)
                        break
    for wire in placed.wires:
        for at in range(1, len(wire.hops) - 1):
            column, here = wire.hops[at]
            wire.hops[at] = (column, _nearest_free(placed, column, here, wire))


def _far_height(placed: Placed, wire: Wire, ref: Ref) -> float:
    """The height of a wire in the next column from the end ``ref``."""
    return _height_at(placed, wire, 1 if ref == wire.a else len(wire.hops) - 2)


def _height_at(placed: Placed, wire: Wire, at: int) -> float:
    if at == 0 or at == len(wire.hops) - 1:
        ref = wire.a if at == 0 else wire.b
        node = placed.nodes[ref.node]
        return node.y + node.ports[ref.port].y
    return wire.hops[at][1]


def _slots(placed: Placed, column: int) -> list[Slot]:
    out = [Slot(n.y, n.y + n.high, n.name) for n in (placed.nodes[name] for name in placed.columns[column])]
    for wire in placed.wires:
        out += [Slot(y - PASS / 2, y + PASS / 2, wire) for c, y in wire.hops[1:-1] if c == column]
    return out


def _free(placed: Placed, column: int, top: float, bottom: float, owner: object) -> bool:
    return not any(
        slot.top < bottom and top < slot.bottom
        for slot in _slots(placed, column)
        if slot.owner is not owner and slot.owner != owner
    )


def _nearest_free(placed: Placed, column: int, y: float, wire: Wire) -> float:
    for step in range(400):
        for there in (y + step, y - step):
            if _free(placed, column, there - PASS / 2, there + PASS / 2, wire):
                return there
    return y
