"""What a set draws from the line, roughly, and the series lamp that goes with it."""

from __future__ import annotations

from collections.abc import Collection
from math import isfinite
from typing import NamedTuple

from netdiff.circuit import part_of
from netdiff.powerup.anatomy import Anatomy
from netdiff.powerup.stages import figure
from netdiff.powerup.supplies import Supply, electrode
from netdiff.quantities import show


class Draw(NamedTuple):
    watts: float
    """At the plug."""
    how: str
    """From what it was reckoned."""


def draw(
    anatomy: Anatomy, supplies: Collection[Supply], state: str, out: Collection[str] = (), *, heaters: bool = True
) -> Draw:
    """Heaters, the loads of a state (each at its supply's voltage, whatever drops it), bleeders; through transformers.

    ``out`` are tubes that are not in their sockets.
    """
    said: list[str] = []
    isolated = secondary = 0.0
    for one in anatomy.heaters if heaters else ():
        share = sum(t not in out for t in one.tubes) / len(one.tubes)
        if not one.transformer and not one.series:
            continue
        watts = one.watts * share
        if one.transformer:
            secondary += watts
        else:
            isolated += watts
    if secondary + isolated:
        said.append(f"heaters {show(round(secondary + isolated, 0), 'W')}")
    for supply in supplies:
        volts = abs(supply.volts)
        amps = sum(
            load.amps
            for load in anatomy.circuit.loads
            if load.state == state
            and electrode(anatomy.ways, load.a) in ("p", "g2")
            and part_of(load.a) in supply.feeds
            and part_of(load.a) not in out
        )
        bleed = _bleeder(anatomy, supply)
        watts = volts * amps + bleed
        if supply.outside or not watts:
            continue
        if supply.transformer:
            secondary += watts
        else:
            isolated += watts
        what = supply.nets[0] if supply.nets else supply.rectifiers[0]
        said.append(f"{what} {show(round(watts, 0), 'W')}")
    total = isolated + secondary / figure("transformer_efficiency")["value"]
    loss = ", and what the transformers lose" if secondary else ""
    return Draw(total, f"{', '.join(said)}{loss}: about {show(total, 'W', 2)}" if said else "")


def _bleeder(anatomy: Anatomy, supply: Supply) -> float:
    """Watts in the resistors from the supply to ground."""
    if not supply.nets or not supply.volts:
        return 0.0
    ground = anatomy.circuit.ground
    ends = (ground, supply.nets[0]) if supply.volts < 0 else (supply.nets[0], ground)
    ohms = anatomy.meters.ohms(*ends)
    if ohms is None or not isfinite(ohms.nominal) or ohms.nominal < 100:
        return 0.0
    return supply.volts**2 / ohms.nominal


def lamp(watts: float) -> float:
    """The smallest usual lamp of at least the watts that are drawn."""
    row = figure("lamps")
    fits = [size for size in row["watts"] if size >= watts * row["at_least"]]
    return float(fits[0] if fits else row["watts"][-1])


def lamp_tubes_out(watts: float) -> float:
    """With the tubes out nothing but transformers draws: a lamp well under the set's own watts, 25 to 60 W."""
    least, most = figure("lamps")["tubes_out"]
    return lamp(min(max(watts / 3, least), most))
