"""Parts that bear more volts, amperes or watts than they are rated for, in any state of the drawing."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from typing import NamedTuple

from netdiff.circuit import Part
from netdiff.hazards.rule import Hazard, Rule
from netdiff.quantities import show
from netdiff.readings.side import Side

RESERVE = 0.5
"""Of its rated watts a resistor is used to half: MIL and NSWC derating tables (50 to 70 %), common practice."""

MORE = 1.2
"""A load that grew by less than this is no news."""

REVERSE = -0.5
"""Volts that an electrolytic stands the wrong way round; common practice."""


class Worst(NamedTuple):
    amount: float
    rating: float
    unit: str
    state: str


@lru_cache(maxsize=8)
def worst(side: Side) -> dict[tuple[str, str], Worst]:
    """Of every rated part the greatest that it bears in any state with power: by designator and unit."""
    out: dict[tuple[str, str], Worst] = {}

    def note(part: Part, unit: str, amount: float, state: str) -> None:
        rating = part.ratings.get(unit)
        if unit == "A" and part.kind.name == "shunt":
            return
        if (rating and (part.designator, unit) not in out) or (rating and amount > out[part.designator, unit].amount):
            out[part.designator, unit] = Worst(amount, rating, unit, state)

    for state in side.powered:
        solved = side.direct(state)
        for name, stress in solved.stresses().items():
            part = side.circuit.parts[name]
            if part.kind.name == "tube" or part.kind.family in ("relay", "lamp", "meter"):
                continue
            note(part, "W", stress.watts, state)
            note(part, "A", stress.amps, state)
        for one in side.ohms().elements.capacitances:
            part = side.circuit.parts[one.part]
            if "V" in part.ratings:
                volts = solved.volts_nominal(one.a, one.b)
                if volts is not None:
                    note(part, "V", abs(volts), state)
    return out


def overstressed(side: Side) -> Iterator[Hazard]:
    for (name, unit), bears in worst(side).items():
        if bears.amount > bears.rating * 1.001:
            yield Hazard(
                (name, unit),
                f"{name} bears {show(bears.amount, unit, 3)} {_in(bears.state)}; it is rated for "
                f"{show(bears.rating, unit)}.{_drawn(side, name, unit)}",
                parts=(name,),
            )


def _drawn(side: Side, name: str, unit: str) -> str:
    if side.drawn is None or name not in side.drawn.circuit.parts:
        return ""
    was = worst(side.drawn).get((name, unit))
    return f" As drawn: {show(was.amount, unit, 3)} of {show(was.rating, unit)}." if was else ""


def little_reserve(side: Side) -> Iterator[Hazard]:
    """Resistors of the unit that are within their rating, with less to spare than common practice and the drawing."""
    if side.drawn is None:
        return
    before = worst(side.drawn)
    for (name, unit), bears in worst(side).items():
        was = before.get((name, unit))
        if unit != "W" or not RESERVE * bears.rating < bears.amount <= bears.rating * 1.001:
            continue
        if was is not None and bears.amount / bears.rating < MORE * was.amount / was.rating:
            continue
        drawn = f"; as drawn {show(was.amount, unit, 3)} of {show(was.rating, unit)}" if was else ""
        yield Hazard(
            (name, "reserve"),
            f"{name} takes {show(bears.amount, unit, 3)} of its {show(bears.rating, unit)} {_in(bears.state)}{drawn}.",
            parts=(name,),
            hold="deliver",
            why="Common practice leaves a resistor half of its rated watts in reserve.",
        )


def reversed_electrolytics(side: Side) -> Iterator[Hazard]:
    for one in side.ohms().elements.capacitances:
        if not one.polarised:
            continue
        for state in side.powered:
            volts = side.direct(state).volts_nominal(one.a, one.b)
            if volts is not None and volts < REVERSE:
                yield Hazard(
                    (one.part, "reverse"),
                    f"{one.part} sees {show(-volts, 'V', 3)} the wrong way round {_in(state)}.",
                    parts=(one.part,),
                    terminals=(one.a, one.b),
                )
                break


def _in(state: str) -> str:
    return f"in the state {state}" if state != "powered" else "with power on"


RULES = (
    Rule(
        "overstressed",
        "a part that bears more volts, amperes or watts than it is rated for",
        "It fails, and may take others with it.",
        "power",
        "the part's own rating",
        overstressed,
    ),
    Rule(
        "overstressed",
        "a resistor of the unit with less than half of its watts in reserve, and less than the drawing's",
        "Common practice leaves a resistor half of its rated watts in reserve.",
        "deliver",
        "derating tables of NSWC SD-18 style: 50 to 70 % of rating",
        little_reserve,
        own=False,
    ),
    Rule(
        "overstressed",
        "an electrolytic with voltage the wrong way round",
        "It heats, gasses and vents or bursts.",
        "power",
        "common practice",
        reversed_electrolytics,
    ),
)
