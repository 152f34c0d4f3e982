"""A symbol: its ink, and the points where lines arrive, each with the sides that it can be reached from.

Symbols follow the open graphic-symbol standards (IEC 60617, IEEE 315). A symbol stands about its
own origin, y downwards; a line reaches a port on the level, from the left or from the right.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, NamedTuple

from netdiff.drawing.ink import Anchor, Area, Circle, Ink, Stroke, Word, around, extent, flipped

LEAD: Final = 12.0
"""Length of a lead, pixels."""
PITCH: Final = 14.0
"""From one terminal to the next, pixels."""
TINY: Final = 7.0
"""Size of pin numbers and terminal names, pixels."""
SMALL: Final = 8.0


class Port(NamedTuple):
    """``ways``: ``L``, ``R`` or ``LR``: the sides from which a level line reaches it without crossing the symbol."""

    x: float
    y: float
    ways: str


@dataclass(frozen=True, slots=True)
class Symbol:
    ink: tuple[Ink, ...]
    ports: Mapping[str, Port]

    @property
    def area(self) -> Area:
        return around([extent(self.ink), *(Area(p.x, p.y, p.x, p.y) for p in self.ports.values())])

    def flipped(self) -> Symbol:
        """Left and right exchanged."""
        swap = {"L": "R", "R": "L", "LR": "LR"}
        ports = {name: Port(-p.x, p.y, swap[p.ways]) for name, p in self.ports.items()}
        return Symbol(tuple(flipped(self.ink)), ports)


def line(*points: tuple[float, float], weight: float = 1.2, dash: str = "") -> Stroke:
    return Stroke(points, weight, dash=dash)


def box(area: Area, dash: str = "", weight: float = 1.2) -> Stroke:
    left, top, right, bottom = area
    corners = ((left, top), (right, top), (right, bottom), (left, bottom))
    return Stroke(corners, weight, closed=True, dash=dash)


def dot(x: float, y: float, r: float = 2.0) -> Circle:
    return Circle(x, y, r, filled=True)


def ring(x: float, y: float, r: float = 2.2) -> Circle:
    return Circle(x, y, r)


def tiny(x: float, y: float, text: str, anchor: Anchor = "start") -> Word:
    return Word(x, y, text, TINY, anchor)


def beside(port: Port, text: str) -> Word:
    """A terminal's name, just above the line that reaches it from outside."""
    return tiny(port.x + 3, port.y - 2.5, text) if port.ways == "L" else tiny(port.x - 3, port.y - 2.5, text, "end")


def arrow(x: float, y: float, dx: float, dy: float, size: float = 4.0) -> Stroke:
    """A filled head with its point at (x, y), flying in the direction (dx, dy)."""
    length = (dx * dx + dy * dy) ** 0.5 or 1.0
    ux, uy = dx / length, dy / length
    back = (x - size * ux, y - size * uy)
    left = (back[0] - 0.45 * size * uy, back[1] + 0.45 * size * ux)
    right = (back[0] + 0.45 * size * uy, back[1] - 0.45 * size * ux)
    return Stroke(((x, y), left, right), 0.8, closed=True, filled=True)
