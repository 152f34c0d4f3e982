"""Where a lead goes: through conductors, then closed contacts, then parts.

From one point the wiring is followed outward. What conductors and closed contacts join is one
place; from there two-ended parts lead on to other places, until named nets and parts that do
something (coils of relays, tubes, lamps, meters, transformers) are reached.
"""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING

from netdiff.circuit import Circuit, Point, is_net, part_of, terminal_of
from netdiff.comparison.words import kind_words
from netdiff.nets import Nets, circuit_points

if TYPE_CHECKING:
    from netdiff.language import Model, Unit

PASSING = {"resistor", "inductor", "diode", "fuse", "lamp", "meter"}
"""Families of two-ended parts through which a direct current goes on."""


class Unknown(Exception):
    """A terminal, net or state that the circuit does not have, in a sentence with the nearest right thing."""


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
    looked: bool = True
    """Somebody looked at everything that lands on the start."""
    should_be: tuple[Point, ...] = ()
    """Where nobody did: what the drawing joins to it."""


@dataclass(frozen=True, slots=True)
class Wiring:
    """A circuit to follow leads in. Of a unit, ``looked`` are the points that somebody looked at, and ``drawn`` is
    the drawing; of a drawing both are None."""

    circuit: Circuit
    looked: frozenset[Point] | None = None
    drawn: Circuit | None = None


def wiring(read: Model | Unit) -> Wiring:
    """The circuit of a file: of a drawing with several productions the first, of a unit the wiring as found."""
    from netdiff.language import Unit as FoundUnit

    if isinstance(read, FoundUnit):
        active = read.production or frozenset(list(read.model.productions)[:1])
        found, drawn = read.found(active), read.model.circuit(active)
        return Wiring(replace(found.circuit, states={**drawn.states, **found.circuit.states}), found.traced, drawn)
    return Wiring(read.circuit(frozenset(list(read.productions)[:1])))


def named(circuit: Circuit, word: str) -> Point:
    """The point that somebody means by a word: a terminal by any of its names, or a net name."""
    name, dot, terminal = word.partition(".")
    if not dot:
        points = {where for run in circuit.runs for where in (run.a, run.b) if is_net(where)}
        if word in points:
            return word
        part = circuit.parts.get(word)
        if part is not None:
            names = " ".join(f"{word}.{lug.name}" for lug in part.kind.terminals)
            raise Unknown(f"name a terminal of {word}: {names}")
        raise Unknown(f"no net is called {word}" + _nearest(word, points))
    part = circuit.parts.get(name)
    if part is None:
        used = {where for run in circuit.runs for where in (run.a, run.b)}
        if word in used:
            return word
        raise Unknown(f"no part is called {name}" + _nearest(name, circuit.parts))
    lug = part.kind.lug(terminal)
    if lug is None and not part.kind.any_terminal:
        raise Unknown(f"{name} has no terminal {terminal}: {' '.join(lug.name for lug in part.kind.terminals)}")
    return f"{name}.{lug.name if lug is not None else terminal}"


def _nearest(word: str, among: Iterable[str]) -> str:
    from difflib import get_close_matches

    near = get_close_matches(word, list(among), 1, 0.5)
    return f"; the nearest is {near[0]}" if near else ""


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


def follow_in(wiring: Wiring, start: Point, state: str = "rest") -> Following:
    """Follow a lead, and say where nobody looked. Raises Unknown."""
    result = follow(wiring.circuit, start, state)
    if wiring.looked is None or wiring.drawn is None or is_net(start) or start in wiring.looked:
        return result
    nets = Nets.of(circuit_points(wiring.drawn), wiring.drawn.runs)
    number = nets.index.get(start)
    joined = tuple(where for where in nets.members[number] if where != start) if number is not None else ()
    return replace(result, looked=False, should_be=joined)


def follow(circuit: Circuit, start: Point, state: str = "rest") -> Following:
    """Follow a lead from ``start``. Linear in the size of the circuit.

    Ground and supplies end every path: what hangs on them has nothing to do with this lead. Raises
    Unknown where the point or the state is none of the circuit.
    """
    if state != "rest" and state not in circuit.states:
        raise Unknown(f"no state is called {state}; there are {', '.join(['rest', *circuit.states])}")
    nets = Nets.of([*circuit_points(circuit), start], circuit.runs)
    if start not in nets.index or (len(nets.members[nets.index[start]]) == 1 and part_of(start) not in circuit.parts):
        raise Unknown(f"nothing is called {start}")
    home = nets.index[start]
    ends = {
        number
        for name in (circuit.ground, *circuit.nets)
        if (number := nets.index.get(name)) is not None and (name == circuit.ground or _is_supply(circuit, name))
    }
    ways = _ways(circuit, nets, state)
    paths: dict[int, tuple[Step, ...]] = {home: ()}
    by_contacts = {home}
    queue = deque([home])
    while queue:
        at = queue.popleft()
        if at in ends and at != home:
            continue
        for way, over, to in ways.get(at, ()):
            other = nets.index[to]
            if other not in paths and (way == "contact" or home not in ends):
                paths[other] = (*paths[at], Step(way, over, to))
                if way == "contact" and at in by_contacts:
                    by_contacts.add(other)
                # A contact costs no part: what it reaches comes before what lies behind a part.
                (queue.appendleft if way == "contact" else queue.append)(other)
    closed: list[Reach] = []
    feeds: list[Reach] = []
    operates: list[Reach] = []
    for number, path in paths.items():
        for where in nets.members[number]:
            reach = Reach(where, _what(circuit, where), path)
            if is_net(where):
                feeds.append(reach)
            if number in by_contacts and number != home and (is_net(where) or number not in ends):
                closed.append(reach)
            if number not in ends and _does_something(circuit, where) and part_of(where) != part_of(start):
                operates.append(reach)
    here = tuple(where for where in nets.members[home] if where != start)
    nearest = sorted(feeds, key=lambda reach: len(reach.path))
    return Following(start, state, here, tuple(closed), tuple(nearest), tuple(operates))


def _ways(circuit: Circuit, nets: Nets, state: str) -> dict[int, list[tuple[str, str, Point]]]:
    """From each net, how a current goes on: closed contacts first, then two-ended parts."""
    ways: dict[int, list[tuple[str, str, Point]]] = defaultdict(list)
    for a, b, who in closed_contacts(circuit, state):
        ways[nets.index[a]].append(("contact", who, b))
        ways[nets.index[b]].append(("contact", who, a))
    for name, part in circuit.parts.items():
        if part.kind.ends is not None and part.kind.family in PASSING:
            a, b = (f"{name}.{end}" for end in part.kind.ends)
            ways[nets.index[a]].append(("part", name, b))
            ways[nets.index[b]].append(("part", name, a))
        if {"coil1", "coil2"} <= {lug.name for lug in part.kind.terminals}:
            a, b = f"{name}.coil1", f"{name}.coil2"
            ways[nets.index[a]].append(("part", f"the coil of {name}", b))
            ways[nets.index[b]].append(("part", f"the coil of {name}", a))
    for winding in circuit.windings:
        for first, second in pairwise(winding.terminals):
            a, b = f"{winding.part}.{first}", f"{winding.part}.{second}"
            if a in nets.index and b in nets.index:
                over = f"a winding of {winding.part}"
                ways[nets.index[a]].append(("part", over, b))
                ways[nets.index[b]].append(("part", over, a))
    return ways


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
