"""Before which point in the job a finding must be cleared: read from ``holds.yaml``."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any

from netdiff.circuit import Circuit
from netdiff.comparison.limits import hazard_volts, table
from netdiff.comparison.results import HOLDS, Hold

_LETTERS = re.compile(r"\??([A-Z]+)")


def transmits(stock: Circuit) -> bool:
    """Whether the unit makes RF power: the drawing says so by its title, by watts, or by a net's power."""
    return (
        "transmit" in stock.title.lower()
        or any(reading.quantity == "watts" for reading in stock.readings)
        or any(net.purpose == "rf" and net.power for net in stock.nets.values())
    )


def purposes(stock: Circuit, nets: Iterable[str]) -> list[str]:
    """Purposes of net names, a supply only from the voltage that can hurt."""
    out = []
    for name in nets:
        net = stock.nets.get(name)
        if net is None or not net.purpose:
            continue
        if net.purpose == "supply" and net.volts is not None and abs(net.volts) < hazard_volts():
            continue
        out.append(net.purpose)
    return out


def hold(
    stock: Circuit,
    kind: str,
    nets: Iterable[str] = (),
    parts: Iterable[str] = (),
    labels: Iterable[str] = (),
) -> tuple[Hold, str]:
    """The earliest hold that a row of the table gives, and its reason; a particular reason before a general one."""
    row = table("holds")[kind]
    rules = [row["labels"][word] for label in labels for word in row.get("labels", {}) if word in label.lower()]
    for name in parts:
        letters = _LETTERS.match(name)
        found = row.get("parts", {}).get(letters.group(1)) if letters else None
        if found:
            rules.append(found)
    rules += [row["nets"][purpose] for purpose in purposes(stock, nets) if purpose in row.get("nets", {})]
    rules.append(_instead(row, parts) or row["always"])
    if kind == "reversed" and any("hold" in r and r["hold"] == "none" for r in rules):
        return "none", next(r["why"] for r in rules if r["hold"] == "none")
    best = min(rules, key=lambda rule: HOLDS.index(rule["hold"]))
    chosen: Hold = best["hold"]
    if chosen == "transmit" and not transmits(stock):
        chosen = "deliver"
    return chosen, best["why"]


def _instead(row: dict[str, Any], parts: Iterable[str]) -> dict[str, str] | None:
    """What stands in the place of ``always`` where every part is of the class letters named there."""
    table = row.get("instead", {})
    letters = [_LETTERS.match(name) for name in parts]
    found = [table.get(match.group(1)) if match else None for match in letters]
    return found[0] if found and all(found) else None


def earlier(a: Hold, b: Hold) -> Hold:
    return a if HOLDS.index(a) <= HOLDS.index(b) else b
