"""What still holds charge after a stage, and how long."""

from __future__ import annotations

from collections.abc import Collection
from math import isfinite

from netdiff.powerup.anatomy import Anatomy
from netdiff.powerup.supplies import Supply
from netdiff.quantities import show

MOST = 3


def charges(anatomy: Anatomy, live: Collection[Supply]) -> tuple[str, ...]:
    """One line for each store of charge on these supplies, the greatest first. Zero is never promised: it is proven."""
    if not live:
        return ()
    from netdiff.electrical.charge import stores

    reached = {net for one in live for net in one.reached}
    here = [
        one
        for one in stores(anatomy.circuit, anatomy.meters.ohms_or_open)
        if _on(anatomy, one.net, one.across, reached)
    ]
    out = []
    for one in sorted(here, key=lambda s: -s.joules):
        size = f"{one.net}: {show(one.farads, 'F')} at up to {show(one.volts, 'V', 3)}, {show(one.joules, 'J', 2)}"
        if isfinite(one.seconds):
            out.append(
                f"{size}; under 60 V after {show(max(one.seconds, 0.1), 's', 2)} if every resistor on it is whole."
            )
        else:
            out.append(f"{size}; nothing discharges it.")
    more = len(out) - MOST
    return (*out[:MOST], f"And {more} more with less.") if more > 0 else tuple(out)


def _on(anatomy: Anatomy, net: str, across: tuple[str, str], reached: Collection[int]) -> bool:
    return any(anatomy.ways.net(p) in reached for p in (net, *across) if p)
