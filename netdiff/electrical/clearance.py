"""Least clearances in air between bare conductors, from published tables.

>>> least(480), least(960), round(least(600, "leads"), 6)
(0.0025, 0.0048, 0.001805)
>>> judge(0.002, 480).enough
False
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

from netdiff.electrical.limits import limit, table


class Judgement(NamedTuple):
    """A gap beside what its voltage asks for. Volts (crest or d.c.) and metres."""

    gap: float
    volts: float
    needed: float
    enough: bool
    source: str


def least(volts: float, column: str = "bare") -> float:
    """Least gap in air (m) for a voltage (crest or d.c.) by the table for boards, times the margin ``gap_margin``.

    ``column``: ``bare``, ``high`` (above 3050 m), ``coated`` or ``leads``. KeyError for another.
    """
    boards = table("clearances")["boards"]
    per_volt = float(boards["columns"][column]["per_volt"])
    row: dict[str, Any] = boards["rows"][-1]
    millimetres = float(row[column]) + max(0.0, abs(volts) - row["volts"]) * per_volt
    for row in boards["rows"]:
        if abs(volts) <= row["volts"]:
            millimetres = float(row[column])
            break
    return float(round(millimetres * limit("gap_margin") / 1000, 9))


def least_in_equipment(volts: float) -> float:
    """Least clearance (m) between secondary circuits of high voltage and what is earthed, by the table for equipment.

    From 700 V; below, the figure of 700 V. Between rows a straight line, beyond the last one too.
    """
    rows = [(float(row["volts"]), float(row["mm"])) for row in table("clearances")["equipment"]["rows"]]
    return _between(rows, abs(volts)) * limit("gap_margin") / 1000


def least_on_mains(volts: float, *, reinforced: bool = False) -> float | None:
    """Least clearance (m) of a part on the mains, crest volts; None above the table's one row."""
    row = table("clearances")["mains"]
    if abs(volts) > row["volts"]:
        return None
    return float(row["reinforced" if reinforced else "basic"]) * limit("gap_margin") / 1000


def altitude_factor(metres: float) -> float:
    """What a clearance is multiplied by at an altitude (m)."""
    rows = [(float(row["metres"]), float(row["factor"])) for row in table("clearances")["altitude"]["rows"]]
    return _between(rows, metres)


def breakdown(gap: float) -> float:
    """Volts (crest) at which a uniform field of this gap (m) breaks down at sea level, by Paschen's law.

    The least that air needs at all is its minimum; sharp edges, dust and damp need far less than the law says.
    """
    air = table("clearances")["air"]
    product = air["torr"] * gap * 100
    below = air["c"] + math.log(product) if product > 0 else 0.0
    # On the short side of the minimum the fit turns up again: no gap of a unit is there.
    at_minimum = math.exp(1 - air["c"])
    volts = air["b"] * product / below if product > at_minimum and below > 0 else 0.0
    return max(float(air["least_volts"]), volts)


def judge(gap: float, volts: float) -> Judgement:
    """A gap (m) between bare conductors with a voltage (crest or d.c.) between them, by the table for boards."""
    needed = least(volts)
    return Judgement(gap, volts, needed, gap >= needed, table("clearances")["boards"]["source"])


def _between(rows: list[tuple[float, float]], at: float) -> float:
    """A straight line between rows; the first row below them, the last slope beyond."""
    if at <= rows[0][0]:
        return rows[0][1]
    upper = next((number for number, (x, _) in enumerate(rows) if at <= x), len(rows) - 1)
    (x0, y0), (x1, y1) = rows[upper - 1], rows[upper]
    return y0 + (y1 - y0) * (at - x0) / (x1 - x0)
