"""What no longer switches: contacts in the mains that are bridged, left out of the way or exchanged; what is on then.

A contact need not be bridged to do nothing any more: a lead moved past it is enough. So what counts is how far the line
gets without it.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from netdiff.circuit import Point
from netdiff.comparison.words import some
from netdiff.hazards.guards import bridged, is_interlock, is_protection
from netdiff.hazards.line import Line, line, terminals, words
from netdiff.hazards.rule import Hazard, Rule
from netdiff.readings.side import Side

_SWITCHES: Final = {"switch", "interlock", "relay"}


def left_out(side: Side) -> Iterator[Hazard]:
    """Switches, door switches and relays of the drawing past which the line now reaches what they should cut off."""
    for name, freed in _past(side).items():
        part = side.stock.parts[name]
        one, fed = words(side.stock, name), some(words(side.circuit, other) for other in freed)
        if _whole_set(side, name):
            fed = "the set"
        kind = "defeated-protection"
        if is_interlock(part):
            kind = "defeated-interlock"
            says = f"{one} no longer takes anything away: {fed} can be on with the cabinet open."
        elif is_protection(part):
            says = f"The line reaches {fed} past {one}, which no longer keeps it off."
        elif all(len(points) == len(lost) for points, lost in freed.values()):
            says = f"{one} no longer switches {fed} off: the line gets there past it."
        else:
            says = f"{one} off leaves {fed} on one side of the line."
        points = tuple(where for held, _ in freed.values() for where in held)
        yield Hazard((name, "past"), says, (name,), points, kind=kind)


def _past(side: Side) -> dict[str, dict[str, tuple[list[Point], list[Point]]]]:
    """By switch of the drawing what it no longer cuts off: of each consumer the terminals that the line now reaches
    past it, and all those that it cut off."""
    here, drawn = line(side), line(side.drawn) if side.drawn is not None else None
    out: dict[str, dict[str, tuple[list[Point], list[Point]]]] = {}
    if side.drawn is None or here is None or drawn is None:
        return out
    over = dict.fromkeys(n for way in (*drawn.hot.values(), *drawn.cold.values()) for n in way.over)
    for name in over:
        part = side.stock.parts[name]
        guard = is_interlock(part) or is_protection(part)
        if part.kind.family not in _SWITCHES or (guard and bridged(side, name)):
            continue
        before, now = _without(drawn, name), _without(here, name)
        for consumer in drawn.consumers(drawn.live - before):
            if consumer not in side.circuit.parts:
                continue
            points = list(terminals(side.stock, side.stock.parts[consumer]))
            lost = [where for where in points if drawn.net(where) in drawn.live - before]
            held = [where for where in lost if here.net(where) in now]
            if held:
                out.setdefault(name, {})[consumer] = held, lost
    return out


def _whole_set(side: Side, name: str) -> bool:
    """Whether in the drawing nothing takes power ahead of a switch, on the side of the line that it stands in."""
    drawn = line(side.drawn) if side.drawn is not None else None
    if drawn is None:
        return False
    for ways in (drawn.hot, drawn.cold):
        if any(name in way.over for way in ways.values()):
            ahead = drawn.reach(
                {way.net for way in ways.values() if not way.over}, lambda part: part.designator != name
            )
            if drawn.consumers(set(ahead) - drawn.metal):
                return False
    return True


def _without(one: Line, name: str) -> set[int]:
    """What the line reaches without a part."""
    start = {way.net for way in (*one.hot.values(), *one.cold.values()) if not way.over}
    return set(one.reach(start, lambda part: part.designator != name, stop=one.metal))


def on_too_soon(side: Side) -> Iterator[Hazard]:
    """Transformers that are on in a state in which the drawing has them off."""
    drawn = side.drawn
    if drawn is None:
        return
    told = {name for freed in _past(side).values() for name in freed}
    told |= {name for guard in side.stock.parts if bridged(side, guard) for name in (guard,)}
    early: dict[str, list[str]] = {}
    for state in side.powered:
        if state in drawn.powered:
            for name in sorted(side.alternating(state).live - drawn.alternating(state).live):
                if name in side.stock.parts and name not in told:
                    early.setdefault(name, []).append(state)
    for name, states in early.items():
        which = f"the state {states[0]}" if len(states) == 1 else f"the states {some(states)}"
        yield Hazard(
            ("on", name), f"{words(side.circuit, name)} is on in {which}; the drawing has it off there.", (name,)
        )


RULES = (
    Rule(
        "defeated-protection",
        "a switch, relay or door switch that the line now gets past",
        "What it should take away stays, and somebody relies on it.",
        "power",
        "common practice",
        left_out,
        own=False,
    ),
    Rule(
        "defeated-protection",
        "a transformer that is on where the drawing has it off",
        "Voltage stands where nobody expects it, and on tubes that are not warm yet.",
        "power",
        "the line followed through the contacts of each state",
        on_too_soon,
        own=False,
    ),
)
