"""What of a unit the mains reach: points, and capacitors across the line or to metal that can be touched."""

from __future__ import annotations

from typing import NamedTuple

from netdiff.circuit import Point
from netdiff.comparison.results import Comparison
from netdiff.comparison.scene import Scene
from netdiff.hazards.line import line, metal
from netdiff.readings.side import Side, sides


class Position(NamedTuple):
    """Where a capacitor stands: ``to_metal`` from line to chassis or earth, else across the line.

    The mains are ``volts`` (r.m.s.) and ``hertz``.
    """

    to_metal: bool
    volts: float
    hertz: float


def positions(side: Side) -> dict[str, Position]:
    """The capacitors across the line or from line to metal, by designator."""
    one = line(side)
    if one is None:
        return {}
    touched = metal(side) - one.live
    out = {}
    for name, part in side.circuit.parts.items():
        if part.kind.family != "capacitor" or part.kind.ends is None:
            continue
        ends = [one.net(f"{name}.{end}") for end in part.kind.ends]
        if all(end in one.live for end in ends) and ends[0] != ends[1]:
            out[name] = Position(False, one.volts, one.hertz)
        elif any(end in one.live for end in ends) and any(end in touched for end in ends):
            out[name] = Position(True, one.volts, one.hertz)
    return out


def live_points(comparison: Comparison, scene: Scene) -> set[Point]:
    """Points that the mains reach in the drawing or the unit, under the drawing's names, whatever the switches do."""
    out: set[Point] = set()
    for side in sides(comparison, scene):
        one = line(side)
        if one is not None:
            out.update(where for number in one.live for where in one.nets.members[number])
    return out
