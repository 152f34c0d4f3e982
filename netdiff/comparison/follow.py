"""Where a lead goes: through conductors, then closed contacts, then parts.

From one point the wiring is followed outward. What conductors and closed contacts join is one
place; from there two-ended parts lead on to other places, until named nets and parts that do
something (coils of relays, tubes, lamps, meters, transformers) are reached.
"""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Mapping
from dataclasses import dataclass

from netdiff.circuit import Circuit, Point, Run, is_net, part_of, terminal_of
from netdiff.comparison.nets import Union, joints
from netdiff.comparison.words import kind_words

PASSING = {"resistor", "inductor", "diode", "fuse", "lamp", "meter"}
"""Families of two-ended parts through which a direct current goes on."""


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a path: by which way (``wire``, ``contact``, ``part``), over what, to which point."""

    way: str
    over: str
    to: Point


@dataclass(frozen=True, slots=True)
class Reach:
    """Something that the lead reaches, with the path to it."""

    where: Point
    what: str
    path: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class Following:
    start: Point
    state: str
    here: tuple[Point, ...]
    """Everything that plain conductors join with the start."""
    closed: tuple[Reach, ...]
    """What contacts closed in this state add."""
    feeds: tuple[Reach, ...]
    """Named nets, nearest first."""
    operates: tuple[Reach, ...]
    """Coils, tubes, lamps, meters and windings at the end of a path."""


def positions(circuit: Circuit, state: str) -> Mapping[str, str]:
    """The position of every part with contacts in a state; ``rest`` where the state says nothing."""
    named = circuit.states.get(state)
    settings = dict(named.settings) if named is not None else {}
    out = {}
    for name, part in circuit.parts.items():
        if part.kind.contacts:
            rest = part.at or (part.kind.positions[0] if part.kind.positions else "")
            out[name] = settings.get(name, rest)
    return out


def closed_contacts(circuit: Circuit, state: str) -> list[tuple[Point, Point, str]]:
    """Pairs of terminals that a contact joins in a state, with the part and its position."""
    at = positions(circuit, state)
    return [
        (f"{name}.{contact.a}", f"{name}.{contact.b}", f"{name} at {at[name]}")
        for name in at
        for contact in circuit.parts[name].kind.contacts
        if at[name] in contact.positions
    ]


def follow(circuit: Circuit, start: Point, state: str = "rest") -> Following:
    """Follow a lead from ``start``. Linear in the size of the circuit.

    Raises KeyError where the point or the state is none of the circuit.
    """
    if state != "rest" and state not in circuit.states:
        raise KeyError(state)
    near: dict[Point, list[tuple[Point, str]]] = defaultdict(list)
    for a, b in joints(circuit.runs):
        near[a].append((b, ""))
        near[b].append((a, ""))
    if start not in near and part_of(start) not in circuit.parts:
        raise KeyError(start)
    wires = _walk(start, near)
    for a, b, who in closed_contacts(circuit, state):
        near[a].append((b, who))
        near[b].append((a, who))
    whole = _walk(start, near)
    closed = tuple(
        Reach(where, _what(circuit, where), whole[where])
        for where in whole
        if where not in wires and (is_net(where) or part_of(where) in circuit.parts)
    )
    feeds, operates = _beyond(circuit, start, near, whole)
    return Following(start, state, tuple(w for w in wires if w != start), closed, feeds, operates)


def _walk(start: Point, near: Mapping[Point, list[tuple[Point, str]]]) -> dict[Point, tuple[Step, ...]]:
    paths: dict[Point, tuple[Step, ...]] = {start: ()}
    queue = deque([start])
    while queue:
        at = queue.popleft()
        for other, who in near.get(at, ()):
            if other not in paths:
                paths[other] = (*paths[at], Step("contact" if who else "wire", who, other))
                queue.append(other)
    return paths


def _beyond(
    circuit: Circuit,
    start: Point,
    near: Mapping[Point, list[tuple[Point, str]]],
    whole: Mapping[Point, tuple[Step, ...]],
) -> tuple[tuple[Reach, ...], tuple[Reach, ...]]:
    """Through two-ended parts, breadth first; ground and supplies end a path."""
    union = Union()
    for a, others in near.items():
        for b, _ in others:
            union.join(a, b)
    through: dict[Point, list[tuple[str, Point, Point]]] = defaultdict(list)
    for name, part in circuit.parts.items():
        ends = part.kind.ends
        if ends is not None and part.kind.family in PASSING:
            a, b = (f"{name}.{end}" for end in ends)
            through[union.find(a)].append((name, a, b))
            through[union.find(b)].append((name, b, a))
    at_place: dict[Point, list[Point]] = defaultdict(list)
    for where in list(union.parent):
        at_place[union.find(where)].append(where)

    home = union.find(start)
    paths: dict[Point, tuple[Step, ...]] = {home: ()}
    queue = deque([home])
    feeds: list[Reach] = []
    operates: list[Reach] = []
    while queue:
        place = queue.popleft()
        stops = False
        for where in at_place.get(place, [place]):
            first = whole.get(where, ()) if place == home else ()
            if is_net(where):
                feeds.append(Reach(where, _what(circuit, where), paths[place] or first))
                stops = stops or where == circuit.ground or _is_supply(circuit, where)
            elif _does_something(circuit, where) and part_of(where) != part_of(start):
                operates.append(Reach(where, _what(circuit, where), paths[place] or first))
        if stops and place != home:
            continue
        for name, _, b in through.get(place, ()):
            other = union.find(b)
            if other not in paths:
                paths[other] = (*paths[place], Step("part", name, b))
                queue.append(other)
    return tuple(feeds), tuple(operates)


def _is_supply(circuit: Circuit, name: str) -> bool:
    net = circuit.nets.get(name)
    return net is not None and net.purpose in ("supply", "mains", "bias", "earth", "heater")


def _does_something(circuit: Circuit, where: Point) -> bool:
    part = circuit.parts.get(part_of(where))
    if part is None:
        return False
    terminal = terminal_of(where)
    if part.kind.name.startswith(("relay", "delay-relay")):
        return terminal.startswith(("coil", "h"))
    return bool({"V", "T", "DS", "M", "B", "LS"} & set(part.kind.letters)) or part.kind.name in ("lamp", "neon", "tube")


def _what(circuit: Circuit, where: Point) -> str:
    if is_net(where):
        net = circuit.nets.get(where)
        return net.purpose if net is not None and net.purpose else "net"
    part = circuit.parts.get(part_of(where))
    if part is None:
        return "tie point"
    return kind_words(part) + (f", “{part.label}”" if part.label else "")


def lines(following: Following, most: int = 12) -> list[str]:
    """The answer for one screen."""
    out = [f"{following.start} in state {following.state}"]
    if following.here:
        out.append("Joined by conductors: " + _list(list(following.here), most))
    else:
        out.append("Nothing is soldered to it.")
    if following.closed:
        out.append("Through closed contacts:")
        out += [f"  {reach.where} ({reach.what}) by {path_words(reach.path)}" for reach in following.closed[:most]]
    if following.feeds:
        out.append("Nearest named nets:")
        out += [f"  {r.where} ({r.what}): {path_words(r.path) or 'here'}" for r in following.feeds[:most]]
    if following.operates:
        out.append("Leads to:")
        out += [f"  {r.where} ({r.what}): {path_words(r.path) or 'straight'}" for r in following.operates[:most]]
    return out


def path_words(path: tuple[Step, ...]) -> str:
    words = []
    for step in path:
        if step.way == "part":
            words.append(f"{step.over} to {step.to}")
        elif step.way == "contact":
            words.append(f"{step.over}, to {step.to}")
        else:
            words.append(step.to)
    return " → ".join(words)


def _list(items: list[str], most: int) -> str:
    more = f" and {len(items) - most} more" if len(items) > most else ""
    return ", ".join(items[:most]) + more


__all__ = ["Following", "Reach", "Run", "Step", "closed_contacts", "follow", "lines", "path_words", "positions"]
