"""Which capacitors of a drawing stand on the mains, and whether across the line or to metal that can be touched."""

from __future__ import annotations

from typing import NamedTuple

from netdiff.hazards.line import line, metal
from netdiff.readings.side import Side


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
