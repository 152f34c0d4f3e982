"""Protective earth: whether it is there, whether it reaches the metal, and what a meter said of it."""

from __future__ import annotations

from collections.abc import Iterator

from netdiff.comparison.words import some
from netdiff.electrical.limits import limit
from netdiff.hazards.line import line, metal
from netdiff.hazards.rule import Hazard, Rule
from netdiff.quantities import show
from netdiff.readings.side import Side


def no_safety_ground(side: Side) -> Iterator[Hazard]:
    """A two-wire entry on a set with a transformer, or an earth wire that does not reach the metal."""
    one = line(side)
    if one is None:
        return
    touched = metal(side)
    if touched & one.live or _on_the_line(side):
        # What is the line itself must not be earthed: the chassis is what is wrong then.
        return
    for name in one.entry:
        earth = one.net(f"{name}.E")
        if earth < 0:
            yield Hazard(
                ("no earth", name),
                f"{name} brings no earth: if the line touches the chassis inside, it stays live and nothing blows.",
                (name,),
            )
        elif earth not in touched:
            yield Hazard(
                ("not bonded", name),
                f"The earth wire of {name} does not reach the chassis: if the line touches it inside, it stays live "
                "and nothing blows.",
                (name,),
                (f"{name}.E",),
            )


def bond(side: Side) -> Iterator[Hazard]:
    """Readings from the earth pin to the chassis above the limit."""
    one = line(side)
    if one is None or side.drawn is None or _on_the_line(side):
        return
    found = side.comparison.found.circuit
    earths = {f"{name}.E" for name in one.entry}
    for reading in found.readings:
        points = {reading.a, reading.b or side.circuit.ground}
        if reading.quantity != "ohms" or not points & earths or not points & {"chassis", side.circuit.ground}:
            continue
        value = reading.nominal if reading.nominal is not None else reading.low
        if reading.open or value is None or value > limit("earth_bond"):
            says = "open" if reading.open or value is None else show(value, "ohm")
            pin = some(sorted(points & earths))
            yield Hazard(
                ("bond", pin),
                f"From {pin} to the chassis the meter read {says}; {show(limit('earth_bond'), 'ohm')} are allowed, "
                "the cord's own resistance taken off.",
                (pin.partition(".")[0],),
                (pin,),
                at=reading.places,
            )


def _on_the_line(side: Side) -> bool:
    """A set without a power transformer: its ground is one side of the line, at least when it is switched on."""
    one = line(side)
    ground = side.nets.index.get(side.circuit.ground, -1)
    return one is not None and ground in one.live


RULES = (
    Rule(
        "no-safety-ground",
        "no protective earth, or one that does not reach the chassis",
        "A fault to the chassis leaves it live for the next hand.",
        "power",
        "common practice: three-wire cord, earth on its own bolt on bare metal",
        no_safety_ground,
    ),
    Rule(
        "no-safety-ground",
        "a measured earth bond above its limit",
        "So much resistance keeps a fault's current below what blows the fuse.",
        "power",
        "IEC 60950, 2.6.3.3, and UL/CSA 60065: 0.1 ohm, the cord excluded (seen)",
        bond,
        own=False,
    ),
)
