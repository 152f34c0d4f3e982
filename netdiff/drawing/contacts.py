"""Symbols of what makes and breaks: switches, relays, jacks. Drawn at rest."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from typing import Final

from netdiff.circuit import Contact, Part
from netdiff.drawing.ink import Area, Ink
from netdiff.drawing.symbol import PITCH, Port, Symbol, arrow, beside, box, line, ring, tiny

REACH: Final = 46.0
"""From the middle to a terminal: the lead carries its name."""


def contacts(part: Part, terminals: Sequence[str] = ()) -> Symbol | None:
    """A switch or a relay: every pole with its moving contact on the left, its fixed ones on the right.

    Poles without any of ``terminals`` are left out.
    """
    family = part.kind.family
    if family not in ("switch", "relay") or not part.kind.contacts:
        return None
    rest = part.at or (part.kind.positions[0] if part.kind.positions else "")
    fixed: dict[str, list[Contact]] = defaultdict(list)
    for contact in part.kind.contacts:
        fixed[contact.a].append(contact)
    others = [lug.name for lug in part.kind.terminals if lug.name not in {c for k in part.kind.contacts for c in k[:2]}]
    if terminals:
        wanted = set(terminals)
        fixed = {m: ways for m, ways in fixed.items() if m in wanted or any(c.b in wanted for c in ways)} or fixed
        others = others if wanted & set(others) else []
    ink: list[Ink] = []
    ports: dict[str, Port] = {}
    y = 0.0
    arms = []
    for moving, ways in fixed.items():
        ends = list(dict.fromkeys(contact.b for contact in ways))
        middle = y + PITCH * (len(ends) - 1) / 2
        _terminal(ink, ports, moving, -10, middle, "L")
        at_rest = next((contact.b for contact in ways if rest in contact.positions), None)
        for count, end in enumerate(ends):
            _terminal(ink, ports, end, 12, y + PITCH * count, "R")
        target = y + PITCH * ends.index(at_rest) if at_rest in ends else middle - 8 if len(ends) == 1 else middle - 3
        ink.append(line((-8, middle), (10 if at_rest else 8, target + (2 if at_rest and target < middle else 0))))
        arms.append((0.0, (middle + target) / 2))
        y += PITCH * len(ends) + 6
    if len(arms) > 1:
        ink.append(line(*arms, dash="2 2", weight=1))
    if others:
        _coil(ink, ports, others, y + 6, arms[-1][1] if arms else y, "h" in others[0][:1])
    return Symbol(tuple(ink), ports)


def _terminal(ink: list[Ink], ports: dict[str, Port], name: str, x: float, y: float, way: str) -> None:
    far = -REACH if way == "L" else REACH
    ink += [ring(x, y), line((x - 2 if way == "L" else x + 2, y), (far, y))]
    ports[name] = Port(far, y, way)
    ink.append(beside(ports[name], name))


def _coil(ink: list[Ink], ports: dict[str, Port], names: list[str], y: float, arm: float, heated: bool) -> None:
    """The coil of a relay, or the heater of a delay relay, linked to what it moves."""
    ink += [box(Area(-12, y, 12, y + 14)), line((0, y), (0, arm), dash="2 2", weight=1)]
    if heated:
        ink.append(line((-7, y + 11), (-7, y + 4), (0, y + 4), (0, y + 11), (7, y + 11), (7, y + 4)))
    else:
        ink.append(line((-7, y + 14), (7, y)))
    for name, way in zip(names, "LR", strict=False):
        far, near = (-REACH, -12.0) if way == "L" else (REACH, 12.0)
        ink.append(line((near, y + 7), (far, y + 7)))
        ports[name] = Port(far, y + 7, way)
        ink.append(beside(ports[name], name))
    for count, name in enumerate(names[2:]):
        row = y + 7 + PITCH * (count + 1)
        ink.append(line((12, row), (REACH, row)))
        ports[name] = Port(REACH, row, "R")
        ink.append(beside(ports[name], name))


def jack(part: Part) -> Symbol | None:
    """A jack from the side: the plug comes in from the left, through the sleeve; springs reach for its contacts."""
    names = [lug.name for lug in part.kind.terminals]
    if part.kind.family != "jack" or "sleeve" not in names:
        return None
    ink: list[Ink] = []
    ports: dict[str, Port] = {}
    far = 52.0
    rows = {
        name: PITCH * count for count, name in enumerate(n for n in ("tip", "break", "ring", "sleeve") if n in names)
    }
    for name, y in rows.items():
        if name == "sleeve":
            ink += [box(Area(-26, y - 10, -19, y + 10)), line((-19, y), (far, y))]
        elif name == "break":
            ink += [line((2, y), (far, y)), arrow(2, y - 9, 0, -1, 5), line((2, y), (2, y - 6))]
        else:
            dip = 7.0 if name == "tip" else 5.0
            start = -12.0 if name == "tip" else -4.0
            ink.append(line((start, y), (start + 4, y + dip), (start + 8, y), (far, y)))
        ports[name] = Port(far, y, "R")
        ink.append(tiny(far - 2, y - 2.5, name, "end"))
    return Symbol(tuple(ink), ports)
