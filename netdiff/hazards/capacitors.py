"""Capacitors that take something with them: one that leaks into a grid, one too large for its rectifier tube."""

from __future__ import annotations

from collections.abc import Iterator

from netdiff.circuit import Part
from netdiff.electrical.elements import Capacitance
from netdiff.hazards.rule import Hazard, Rule
from netdiff.quantities import show
from netdiff.readings.side import Side

LEAKS = ("leaking", "cracked")
"""Conditions of a capacitor through which direct current passes."""

HIGHER = 20.0
"""Volts between the two sides of a coupling capacitor that a leak carries into the grid."""

LOW_OHMS = 1e4
"""A grid with less than that to its return is not moved by a leak; common practice."""


def into_a_grid(side: Side) -> Iterator[Hazard]:
    """A capacitor noted as leaking between a grid and a higher voltage."""
    for one in side.ohms().elements.capacitances:
        part = side.circuit.parts[one.part]
        if not set(LEAKS) & set(part.conditions):
            continue
        for here, there in ((one.a, one.b), (one.b, one.a)):
            grids = [where for where in _with(side, here) if where.partition(".")[2] in ("g1", "g1a", "g1b")]
            volts = _drive(side, there, here)
            ohms = side.ohms().between(here)
            if grids and volts > HIGHER and ohms.nominal > LOW_OHMS:
                high = show(_three(volts), "V")
                yield Hazard(
                    (one.part, grids[0]),
                    f"{one.part} leaks, and lies between {grids[0]} and a point {high} higher: it drives the grid "
                    "positive.",
                    parts=(one.part,),
                    terminals=(grids[0],),
                )


def _with(side: Side, where: str) -> list[str]:
    number = side.nets.index.get(where)
    return side.nets.members[number] if number is not None else []


def _drive(side: Side, high: str, low: str) -> float:
    """The most that the one point stands above the other in any state with power."""
    seen = [side.direct(state).volts_nominal(high, low) for state in side.powered]
    return max((volts for volts in seen if volts is not None), default=0.0)


def first_capacitor(side: Side) -> Iterator[Hazard]:
    """More capacitance right behind a rectifier tube than it takes."""
    for state in side.powered:
        for feed in side.direct(state).feeds:
            for name in feed.supply.rectifiers:
                part = side.circuit.parts[name]
                most = part.kind.facts.get("first_capacitor")
                if not isinstance(most, float):
                    continue
                behind = [one for one in side.ohms(state).elements.capacitances if _behind(side, state, one, part)]
                total = sum(one.farads for one in behind)
                if total > 1.2 * most:
                    names = tuple(dict.fromkeys(one.part for one in behind))
                    stand = f"{show(_three(total), 'F')} stand right behind {name} ({' and '.join(names)})"
                    yield Hazard(
                        (name, "first"),
                        f"{stand}; a {part.kind.type} takes {show(most, 'F')} there.",
                        parts=(*names, name),
                    )


def _behind(side: Side, state: str, one: Capacitance, rectifier: Part) -> bool:
    nodes = side.ohms(state).nodes
    cathodes = {nodes.of(f"{rectifier.designator}.{t}") for t in ("k", "f1", "f2")} - {None}
    return nodes.of(one.a) in cathodes or nodes.of(one.b) in cathodes


def _three(value: float) -> float:
    return float(f"{value:.3g}")


RULES = (
    Rule(
        "lost-bias",
        "a leaking capacitor between a grid and a plate or supply",
        "A grid that is driven positive makes the tube draw all that its supply can give.",
        "power",
        "common practice: a leak makes the next grid positive; more than 100 MΩ for grid coupling",
        into_a_grid,
    ),
    Rule(
        "overstressed",
        "more capacitance behind a rectifier tube than it takes",
        "Each half-wave draws a peak that strips the cathode or flashes over.",
        "power",
        "the tube's own rating of the first filter capacitor",
        first_capacitor,
    ),
)
