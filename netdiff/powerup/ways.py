"""Where a current can go in a circuit: from net to net through fuses, contacts, coils, resistors, heaters.

``Ways.reach`` walks over the sorts of way that it is told, so that one graph answers many questions:
what the mains reach through metal, what a rectifier feeds with direct current, what a plate gives r.f. to.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Final, NamedTuple

from netdiff.circuit import Circuit, Part, Point, Run
from netdiff.nets import Nets, circuit_points

METAL: Final = frozenset({"fuse", "contact", "meter"})
"""Passes current as if it were wire."""

DIRECT: Final = METAL | {"resistor", "inductor", "winding", "lamp", "coil"}
"""Passes direct current."""

R_F: Final = METAL | {"inductor", "winding", "capacitor"}
"""Passes radio frequency."""

STRING: Final = METAL | {"heater", "resistor", "lamp"}
"""Passes the current of a string of heaters."""

_SORTS: Final = {
    "resistor": "resistor", "capacitor": "capacitor", "inductor": "inductor", "fuse": "fuse", "lamp": "lamp",
    "meter": "meter", "speaker": "winding", "motor": "coil",
}  # fmt: skip


class Way(NamedTuple):
    """One way from net to net. ``positions`` of its part in which it is there; None: always."""

    sort: str
    part: str
    a: int
    b: int
    ends: tuple[Point, Point]
    positions: frozenset[str] | None = None

    def beyond(self, net: int) -> int:
        return self.b if net == self.a else self.a


Positions = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Ways:
    circuit: Circuit
    nets: Nets
    at: Mapping[int, tuple[Way, ...]]
    """Net -> ways that begin there."""
    ground: frozenset[int]
    """The net that readings are taken against, the chassis, the protective earth."""

    @classmethod
    def of(cls, circuit: Circuit) -> Ways:
        inner = [Run(a, b) for name, part in circuit.parts.items() for a, b in _inside(name, part)]
        nets = Nets.of(circuit_points(circuit), (*circuit.runs, *inner))
        ways: dict[int, list[Way]] = {}
        for sort, part, a, b, positions in _ways(circuit):
            first, second = nets.index.get(a), nets.index.get(b)
            if first is not None and second is not None and first != second:
                way = Way(sort, part, first, second, (a, b), positions)
                ways.setdefault(first, []).append(way)
                ways.setdefault(second, []).append(way)
        grounds = {circuit.ground, "chassis", *(n.name for n in circuit.nets.values() if n.purpose == "earth")}
        ground = frozenset(nets.index[name] for name in grounds if name in nets.index)
        return cls(circuit, nets, {net: tuple(some) for net, some in ways.items()}, ground)

    def net(self, point: Point) -> int:
        """The number of a point's net; -1 where nothing is wired to it."""
        return self.nets.index.get(point, -1)

    def names(self, number: int) -> Iterator[Point]:
        return iter(self.nets.members[number] if number >= 0 else ())

    def reach(
        self,
        start: Iterable[int],
        sorts: Collection[str],
        *,
        stop: Collection[int] = (),
        positions: Positions | None = None,
        without: Collection[str] = (),
    ) -> dict[int, tuple[Way, ...]]:
        """Every net that is reached from ``start``, nearest first, with the way to it.

        A net of ``stop`` is reached and not passed. Without ``positions`` every contact may be closed;
        ``without`` are parts that are out.
        """
        paths: dict[int, tuple[Way, ...]] = {net: () for net in start if net >= 0}
        queue = deque(paths)
        while queue:
            here = queue.popleft()
            if here in stop and paths[here]:
                continue
            for way in self.at.get(here, ()):
                there = way.beyond(here)
                if there in paths or way.sort not in sorts or way.part in without:
                    continue
                if positions is not None and way.positions is not None:
                    if positions.get(way.part, "") not in way.positions:
                        continue
                paths[there] = (*paths[here], way)
                queue.append(there)
        return paths


def _inside(name: str, part: Part) -> Iterator[tuple[Point, Point]]:
    for group in part.kind.inside:
        yield from ((f"{name}.{a}", f"{name}.{b}") for a, b in pairwise(group))


def heater_ends(part: Part) -> tuple[str, str] | None:
    """The two ends of a tube's heater or filament."""
    for ends in (("h1", "h2"), ("f1", "f2")):
        if part.kind.lug(ends[0]) and part.kind.lug(ends[1]):
            return ends
    return None


def _ways(circuit: Circuit) -> Iterator[tuple[str, str, Point, Point, frozenset[str] | None]]:
    for name, part in circuit.parts.items():
        kind = part.kind
        for contact in kind.contacts:
            yield "contact", name, f"{name}.{contact.a}", f"{name}.{contact.b}", contact.positions
        if kind.name == "thermistor" or kind.ends is not None:
            sort = _SORTS.get(kind.family, "")
            if sort and kind.ends is not None:
                yield sort, name, f"{name}.{kind.ends[0]}", f"{name}.{kind.ends[1]}", None
        lugs = {lug.name for lug in kind.terminals}
        if {"ccw", "arm", "cw"} <= lugs:
            yield "resistor", name, f"{name}.ccw", f"{name}.arm", None
            yield "resistor", name, f"{name}.arm", f"{name}.cw", None
        if {"coil1", "coil2"} <= lugs:
            yield "coil", name, f"{name}.coil1", f"{name}.coil2", None
        ends = heater_ends(part)
        if ends is not None and kind.family == "tube":
            tap = "ht" if "ht" in lugs else "ft" if "ft" in lugs else ""
            for a, b in pairwise((ends[0], tap, ends[1]) if tap else ends):
                yield "heater", name, f"{name}.{a}", f"{name}.{b}", None
    for winding in circuit.windings:
        for a, b in pairwise(winding.terminals):
            yield "winding", winding.part, f"{winding.part}.{a}", f"{winding.part}.{b}", None


def positions_in(circuit: Circuit, state: str) -> dict[str, str]:
    """The position of every part with contacts in a state; at ``rest`` where the state says nothing."""
    named = circuit.states.get(state)
    settings = named.settings if named is not None else {}
    out = {}
    for name, part in circuit.parts.items():
        if part.kind.contacts:
            out[name] = settings.get(name, part.at or (part.kind.positions[0] if part.kind.positions else ""))
    return out
