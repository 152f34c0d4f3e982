"""The comparison's limits, from ``limits.yaml``: tolerances, rating classes, gaps."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

from netdiff.circuit import Part


@cache
def table(name: str) -> dict[str, Any]:
    """One of the YAML tables beside this module."""
    import yaml

    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    with Path(__file__).with_name(f"{name}.yaml").open(encoding="utf-8") as text:
        loaded: dict[str, Any] = yaml.load(text, Loader=loader)
    return loaded


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


def least_gap(volts: float) -> float:
    """Least gap in air between bare conductors, metres, for a voltage between them (peak or d.c.)."""
    table = limits()["gap"]
    for row in table["rows"]:
        if volts <= row["volts"]:
            return float(row["mm"]) / 1000
    last = table["rows"][-1]
    return float(last["mm"] + (volts - last["volts"]) * table["mm_per_volt_above"]) / 1000


def hazard_volts() -> float:
    return float(limits()["hazard_volts"]["value"])
