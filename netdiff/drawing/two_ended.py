"""Symbols of parts with two ends, lying along the line: from the library of standard symbols where it has them."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import cache
from typing import Any, Final

from netdiff.circuit import Part
from netdiff.drawing.ink import Circle, Ink, Stroke, Word
from netdiff.drawing.symbol import Port, Symbol, arrow, line, ring

UNIT: Final = 24.0
"""Pixels for the library's unit: a resistor is 24 by 12."""
HALF: Final = 24.0
"""Half the length from end to end, leads included."""

_NAMES: Final = {
    "resistor": "Resistor", "rheostat": "ResistorVar", "thermistor": "Thermistor", "shunt": "Resistor",
    "capacitor": "Capacitor", "electrolytic": "Capacitor2", "variable": "CapacitorVar", "trimmer": "CapacitorTrim",
    "coil": "Inductor", "choke": "Inductor", "loop": "Inductor",
    "diode": "Diode", "rectifier": "Diode", "crystal": "Crystal", "fuse": "FuseIEEE", "lamp": "Lamp2", "neon": "Neon",
    "battery": "Battery", "motor": "Motor", "switch-spst": "Switch", "pushbutton": "Button",
}  # fmt: skip
"""Kind of part -> element of the library."""
_SIZE: Final = {"lamp": 0.8, "neon": 0.8, "motor": 0.8, "meter": 0.8, "coil": 1.2, "choke": 1.2, "loop": 1.2}


def two_ended(part: Part) -> Symbol | None:
    """The symbol of a part that a chain passes through, first end on the left; None where there is no such symbol."""
    ends = part.kind.ends
    if ends is None:
        return None
    name = part.kind.name
    if name == "electrolytic":
        ink = _capacitor(True)
    elif name in _NAMES:
        ink = _element(_NAMES[name], _SIZE.get(name, 1.0))
        if name == "diode" and "zener" in part.words:
            ink = _element("Zener", 1.0)
    elif name == "meter" or part.kind.family == "meter":
        letter = {"A": "A", "V": "V", "Vac": "V", "W": "W"}.get(part.kind.unit, "")
        ink = (Circle(0, 0, 10), Word(0, 3.6, letter, 10, "middle"), *_leads(10))
        if part.kind.polarised:
            ink = (*ink, Word(-13, -3, "+", 8, "end"), Word(13, -3, "−", 8))
    elif name == "interlock":
        ink = (*_contact(part.at not in ("", "closed")), line((-3, -9), (-3, -6)), line((3, -9), (3, -6)))
    elif part.kind.family == "speaker":
        ink = (
            *_leads(5), line((-5, -6), (-5, 6), (5, 6), (5, -6), (-5, -6)),
            line((-5, -6), (-11, -13), (11, -13), (5, -6)),
        )  # fmt: skip
    else:
        return None
    if name in ("choke",) and not {"rf", "pi-wound"} & set(part.words):
        ink = (*ink, line((-14, -11), (14, -11)), line((-14, -13.5), (14, -13.5)))
    if name == "motor":
        ink = (*ink, Word(0, 3.2, "M", 9, "middle"))
    ports = {ends[0]: Port(-HALF, 0, "L"), ends[1]: Port(HALF, 0, "R")}
    symbol = Symbol(ink, ports)
    return symbol.flipped() if name in ("diode", "rectifier") and ends[0] in ("k", "+") else symbol


def _capacitor(polarised: bool) -> tuple[Ink, ...]:
    """The plate marked + is on the left, the curved one is the can."""
    curve = tuple((7.5 - 5 * math.cos(a), 7.5 * math.sin(a)) for a in (math.radians(d) for d in range(-72, 73, 18)))
    plus = (Word(-5, -3.5, "+", 8, "end"),) if polarised else ()
    return (
        line((-2, -7), (-2, 7), weight=1.6),
        Stroke(curve, 1.6),
        line((-HALF, 0), (-2, 0)),
        line((2.5, 0), (HALF, 0)),
        *plus,
    )


def _leads(half: float) -> tuple[Ink, ...]:
    return line((-HALF, 0), (-half, 0)), line((half, 0), (HALF, 0))


def _contact(is_open: bool) -> tuple[Ink, ...]:
    far = (10.0, -7.0) if is_open else (10.0, -2.2)
    return (ring(-10, 0), ring(10, 0), line((-9, -2), far), *_leads(12))


@cache
def _element(name: str, size: float) -> tuple[Ink, ...]:
    """One element of the library about the middle between its ends, with leads as long as every part's."""
    import schemdraw.elements as elements

    drawn = getattr(elements, name)()
    ink, ends = [], [0.0]
    for one in drawn.segments:
        ink += list(_converted(one, size * UNIT))
        ends += [float(at[0]) for at in getattr(one, "path", ()) if abs(float(at[1])) < 1e-9]
    low, high = min(ends) * size * UNIT, max(ends) * size * UNIT
    middle = (low + high) / 2
    body = tuple(_shifted(one, -middle) for one in ink)
    half = (high - low) / 2
    return (*body, *_leads(half))


def _shifted(one: Ink, dx: float) -> Ink:
    from netdiff.drawing.ink import moved

    return next(moved([one], dx, 0))


def _converted(one: Any, scale: float) -> Iterator[Ink]:
    """A segment of the library, y downwards."""
    sort = type(one).__name__
    if sort == "Segment":
        for piece in _pieces(one.path):
            points = tuple((x * scale, -y * scale) for x, y in _thinned(piece))
            if len(points) > 1:
                yield Stroke(points)
            if one.arrow and len(points) > 1 and "->" in one.arrow:
                (ax, ay), (bx, by) = points[-2:]
                yield arrow(bx, by, bx - ax, by - ay)
    elif sort == "SegmentPoly":
        points = tuple((x * scale, -y * scale) for x, y in one.verts)
        yield Stroke(points, closed=bool(one.closed), filled=bool(one.fill))
    elif sort == "SegmentArc":
        (x, y), wide, high = one.center, one.width / 2, one.height / 2
        first, last = one.theta1, one.theta2
        while last < first:
            last += 360
        steps = [math.radians(first + (last - first) * i / 8) for i in range(9)]
        yield Stroke(tuple(((x + wide * math.cos(a)) * scale, -(y + high * math.sin(a)) * scale) for a in steps))
    elif sort == "SegmentCircle":
        x, y = one.center
        yield Circle(x * scale, -y * scale, one.radius * scale, filled=one.fill is True)


def _pieces(path: Any) -> list[list[tuple[float, float]]]:
    """The library marks a gap in a path by a point that is not a number."""
    out: list[list[tuple[float, float]]] = [[]]
    for point in path:
        x, y = float(point[0]), float(point[1])
        if math.isnan(x):
            out.append([])
        else:
            out[-1].append((x, y))
    return [piece for piece in out if len(piece) > 1 and any(p != piece[0] for p in piece)]


def _thinned(piece: list[tuple[float, float]], most: int = 24) -> list[tuple[float, float]]:
    """A curve of hundreds of points with as many as the eye needs."""
    if len(piece) <= most:
        return piece
    step = (len(piece) - 1) / most
    return [piece[round(i * step)] for i in range(most + 1)]
