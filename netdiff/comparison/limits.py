"""The comparison's own limits, from ``limits.yaml``: tolerances, rating classes, constructions."""

from __future__ import annotations

from functools import partial
from typing import Any, Final

from netdiff import resources
from netdiff.circuit import Part
from netdiff.electrical.limits import limit

table: Final = partial(resources.table, __file__)
"""One of the YAML tables beside this module, by its name."""


def limits() -> dict[str, Any]:
    return table("limits")


def cost(kind: str) -> float:
    """What a finding of this kind costs as an explanation (``costs.yaml``)."""
    return float(table("costs")["finding"][kind]["cost"])


def tolerance_of(part: Part) -> tuple[float, float]:
    """How far below and above its drawn value a part may lie, as fractions (0.2, 1.0)."""
    if part.tolerance is not None:
        return part.tolerance, part.tolerance
    table = limits()["tolerance"]
    row = table.get(part.kind.name) or table.get(part.kind.family) or table["other"]
    return float(row["down"]), float(row["up"])


def within_tolerance(drawn: Part, value: float | None) -> bool:
    """Whether a value can pass for the drawn one. An unknown value says nothing against it."""
    if drawn.value is None or value is None:
        return True
    down, up = tolerance_of(drawn)
    slack = 1e-9 * abs(drawn.value)
    return drawn.value * (1 - down) - slack <= value <= drawn.value * (1 + up) + slack


def hazard_volts() -> float:
    """From here a bare conductor is a danger to the hand: more than what counts as discharged."""
    return limit("discharged")
