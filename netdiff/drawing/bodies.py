"""Symbols of coils and transformers, sockets, and the boxes of everything that has no symbol of its own."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Final

from netdiff.circuit import Part, Winding
from netdiff.drawing.ink import Area, Circle, Ink, Stroke, Word
from netdiff.drawing.symbol import LEAD, PITCH, TINY, Port, Symbol, arrow, box, dot, line, ring, tiny

REACH: Final = 34.0


def transformer(part: Part, windings: Sequence[Winding], terminals: Sequence[str]) -> Symbol | None:
    """Windings about a core: the first on the left, the others on the right, one under the other."""
    mine = [w for w in windings if w.part == part.designator and (not terminals or set(w.terminals) & set(terminals))]
    if part.kind.name != "transformer" or not mine:
        return None
    ink: list[Ink] = []
    ports: dict[str, Port] = {}
    heights = {"L": 0.0, "R": 0.0}
    sides = ["L"] + ["R"] * (len(mine) - 1)
    for winding, side in zip(mine, sides, strict=True):
        heights[side] = _winding(ink, ports, winding, side, heights[side]) + 6
    rest = [name for name in terminals if name not in ports]
    for name in rest:
        side = min(heights, key=lambda key: heights[key])
        _stub(ink, ports, name, side, heights[side], 6)
        heights[side] += PITCH
    tall = max(heights.values()) - 6
    if "rf" not in part.words and "if" not in part.words:
        ink += [line((-2, -4), (-2, tall), weight=1.4), line((2, -4), (2, tall), weight=1.4)]
    return Symbol(tuple(ink), ports)


def _winding(ink: list[Ink], ports: dict[str, Port], winding: Winding, side: str, top: float) -> float:
    """Draws one winding downwards from ``top``; returns its lower end."""
    names = [name for name in winding.terminals if name not in ports]
    x = -12.0 if side == "L" else 12.0
    step = PITCH if len(names) > 2 else 2 * PITCH
    bottom = top + step * (len(names) - 1)
    ink.append(_turns(x, top, bottom, 1 if side == "L" else -1))
    for count, name in enumerate(names):
        _stub(ink, ports, name, side, top + step * count, abs(x))
    return bottom + PITCH


def _turns(x: float, top: float, bottom: float, way: float) -> Stroke:
    """Half circles along a line."""
    count = max(2, round((bottom - top) / 7))
    r = (bottom - top) / count / 2
    points = []
    for turn in range(count):
        middle = top + r * (2 * turn + 1)
        for step in range(7):
            a = math.radians(-90 + 30 * step)
            points.append((x + way * min(r, 4) * math.cos(a), middle + r * math.sin(a)))
    return Stroke(tuple(points))


def _stub(ink: list[Ink], ports: dict[str, Port], name: str, side: str, y: float, near: float) -> None:
    wide = max(REACH, near + 8 + len(name) * TINY * 0.62)
    far = -wide if side == "L" else wide
    ink.append(line((-near if side == "L" else near, y), (far, y)))
    ink.append(tiny(far + 2, y - 2, name) if side == "L" else tiny(far - 2, y - 2, name, "end"))
    ports[name] = Port(far, y, side)


def tapped_coil(part: Part, terminals: Sequence[str]) -> Symbol | None:
    """A coil upright, its taps on the left."""
    if part.kind.name != "tapped-coil" or not terminals:
        return None
    ink: list[Ink] = []
    ports: dict[str, Port] = {}
    step = 1.6 * PITCH if len(terminals) < 4 else PITCH
    bottom = step * (len(terminals) - 1) or step
    ink.append(_turns(0, 0, bottom, 1))
    for count, name in enumerate(terminals):
        _stub(ink, ports, name, "L", step * count, 0)
    return Symbol(tuple(ink), ports)


def variable_resistor(part: Part) -> Symbol | None:
    """A potentiometer or a resistor with a slider: upright, the arm on the right."""
    names = {"potentiometer": ("cw", "arm", "ccw"), "slider-resistor": ("1", "tap", "2")}.get(part.kind.name)
    if names is None:
        return None
    zigzag = [(0.0, -14.0)]
    zigzag += [(5.0 if i % 2 else -5.0, -12.0 + 4.8 * i) for i in range(6)]
    zigzag.append((0.0, 14.0))
    top, arm, bottom = names
    ink: list[Ink] = [line((0, -24), *zigzag, (0, 24)), line((12, 0), (REACH, 0)), arrow(5.5, 0, -1, 0, 7)]
    ink += [tiny(3, -17, top), tiny(REACH - 2, -2.5, arm, "end"), tiny(3, 22, bottom)]
    ports = {top: Port(0, -24, "LR"), arm: Port(REACH, 0, "R"), bottom: Port(0, 24, "LR")}
    return Symbol(tuple(ink), ports)


def bridge(part: Part) -> Symbol | None:
    if part.kind.name != "bridge":
        return None
    ink: list[Ink] = [
        Stroke(((-18, 0), (0, -18), (18, 0), (0, 18)), closed=True), line((-6, 0), (6, 0)),
        Stroke(((-4, -5), (-4, 5), (4, 0)), closed=True), line((4, -5), (4, 5)),
    ]  # fmt: skip
    ports = {"ac1": Port(-40, -18, "L"), "ac2": Port(-40, 18, "L"), "+": Port(40, -18, "R"), "-": Port(40, 18, "R")}
    ink += [line((0, -18), (-40, -18)), line((0, 18), (-40, 18))]
    ink += [
        line((18, 0), (24, 0), (24, -18), (40, -18)),
        line((-18, 0), (-24, 0), (-24, 26), (32, 26), (32, 18), (40, 18)),
    ]
    ink += [tiny(-38, -20.5, "ac1"), tiny(-38, 15.5, "ac2"), tiny(38, -20.5, "+", "end"), tiny(40, 15.5, "−", "end")]
    return Symbol(tuple(ink), ports)


def feed_through(part: Part) -> Symbol | None:
    if part.kind.name != "feed-through":
        return None
    ink: list[Ink] = [line((-24, 0), (24, 0)), box(Area(-9, 4, 9, 7)), line((0, 7), (0, 18)), tiny(3, 16, "case")]
    ports = {"1": Port(-24, 0, "L"), "2": Port(24, 0, "R"), "case": Port(0, 18, "LR")}
    return Symbol(tuple(ink), ports)


def coax_socket(part: Part, terminals: Sequence[str]) -> Symbol | None:
    """The pin within its shell."""
    if {lug.name for lug in part.kind.terminals} != {"center", "shell"} or set(terminals) - {"center", "shell"}:
        return None
    ink: list[Ink] = [Circle(0, 0, 10, 1.4), dot(0, 0, 2.4), line((0, 0), (REACH + 6, 0)), line((0, 10), (0, 20))]
    ink += [
        line((0, 20), (REACH + 6, 20)),
        tiny(REACH + 4, -2.5, "center", "end"),
        tiny(REACH + 4, 17.5, "shell", "end"),
    ]
    ports = {"center": Port(REACH + 6, 0, "R"), "shell": Port(REACH + 6, 20, "R")}
    return Symbol(tuple(ink), ports)


def lug(part: Part, terminals: Sequence[str]) -> Symbol | None:
    if part.kind.family != "lug" or len(terminals) != 1:
        return None
    return Symbol((Circle(0, 0, 4), line((4, 0), (20, 0))), {terminals[0]: Port(20, 0, "R")})


def socket(part: Part, terminals: Sequence[str]) -> Symbol | None:
    """A connector: its contacts in a row."""
    if part.kind.family not in ("connector", "cord"):
        return None
    ink: list[Ink] = []
    ports: dict[str, Port] = {}
    for count, name in enumerate(terminals):
        y = PITCH * count
        wide = max(REACH, 16 + len(name) * TINY * 0.62)
        ink += [ring(0, y, 2.6), line((2.6, y), (wide, y)), tiny(wide - 1, y - 2.5, name, "end")]
        ports[name] = Port(wide, y, "R")
    return Symbol((*ink, box(Area(-7, -8, 7, PITCH * (len(terminals) - 1) + 8))), ports)


def plain_box(words: Iterable[str], terminals: Sequence[str], ways: dict[str, str] | None = None) -> Symbol:
    """A box with words in it, a lead for each terminal: half of them on either side."""
    from netdiff.drawing.ink import measure

    lines = [text for text in words if text]
    left = [
        name
        for i, name in enumerate(terminals)
        if (ways or {}).get(name, "L" if 2 * i < len(terminals) else "R") == "L"
    ]
    right = [name for name in terminals if name not in left]
    half = max([14.0, *(measure(text, 7.5) / 2 + 4 for text in lines)])
    rows = max(len(left), len(right), 1)
    high = max(PITCH * (rows - 1) + 16, 10.0 * len(lines) + 8)
    ink: list[Ink] = [box(Area(-half, -high / 2, half, high / 2))]
    ink += [Word(0, -5 * len(lines) + 10 * i + 7.6, text, 7.5, "middle") for i, text in enumerate(lines)]
    ports: dict[str, Port] = {}
    for side, names in (("L", left), ("R", right)):
        for count, name in enumerate(names):
            y = PITCH * (count - (len(names) - 1) / 2)
            wide = half + max(LEAD, 4 + len(name) * TINY * 0.64)
            far = -wide if side == "L" else wide
            ink.append(line((-half if side == "L" else half, y), (far, y)))
            ink.append(tiny(far + 1, y - 2.5, name) if side == "L" else tiny(far - 1, y - 2.5, name, "end"))
            ports[name] = Port(far, y, side)
    return Symbol(tuple(ink), ports)
