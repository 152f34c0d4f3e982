"""What a set draws from the line, roughly, and the series lamp that goes with it."""

from __future__ import annotations

from collections.abc import Collection
from typing import NamedTuple

from netdiff.powerup.anatomy import Anatomy
from netdiff.powerup.stages import figure
from netdiff.powerup.supplies import Supply
from netdiff.quantities import show


class Draw(NamedTuple):
    watts: float
    """At the plug."""
    how: str
    """From what it was reckoned."""


def draw(
    anatomy: Anatomy, supplies: Collection[Supply], state: str, out: Collection[str] = (), *, heaters: bool = True
) -> Draw:
    """Heaters and what each supply gives in a state, its droppers and bleeders included; through transformers.

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
        watts = sum(abs(one.volts * one.amps) for one in anatomy.meters.feeds(state, supply, out))
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


def lamp(watts: float) -> float:
    """The smallest usual lamp of at least the watts that are drawn."""
    row = figure("lamps")
    fits = [size for size in row["watts"] if size >= watts * row["at_least"]]
    return float(fits[0] if fits else row["watts"][-1])


def lamp_tubes_out(watts: float) -> float:
    """With the tubes out nothing but transformers draws: a lamp well under the set's own watts, 25 to 60 W."""
    least, most = figure("lamps")["tubes_out"]
    return lamp(min(max(watts / 3, least), most))
