"""What an ohmmeter shows between two points, power off: no resistance, some path, or none.

The unit is taken at rest: power off, tubes in, relays released, nothing plugged into jacks. How many
ohms a path has is not asked here; a path through a coil, a heater or a part that nobody knows may
read as near nothing as a wire does.
"""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Iterable, Iterator, Mapping
from enum import IntEnum
from itertools import pairwise
from typing import Final, NamedTuple

from netdiff.circuit import Part, Point, Winding, part_of
from netdiff.worklist.bench import Bench


class Path(IntEnum):
    """What lies between two points, the lowest that is there."""

    WIRE = 0
    """Conductors, closed contacts, whole fuses: reads as the leads do."""
    LOW = 1
    """A winding, heater, lamp or unknown thing: may read as a wire does."""
    HIGH = 2
    """A resistor, a junction, an electrolytic: reads higher than a wire, and is no open circuit."""
    NONE = 3
    """No path for direct current."""


class Reading(NamedTuple):
    path: Path
    through: tuple[str, ...] = ()
    """Parts on the way."""
    movement: bool = False
    """A meter movement lies in the way: no ohmmeter here."""


READS_AS_WIRE: Final = 10.0
"""Ohms. Below that a hurried look takes a resistor for a joint; common practice."""

_LOW_KINDS: Final = {
    "coil", "choke", "lamp", "meter", "rf-meter", "shunt", "speaker", "phones", "motor", "thermistor", "battery",
    "loop",
}  # fmt: skip
_BLOCKING: Final = {"capacitor", "variable", "trimmer", "feed-through", "crystal", "neon"}
_UNKNOWN: Final = {"unknown", "block"}
_HEATED: Final = (("h1", "h2"), ("h1", "ht"), ("ht", "h2"), ("f1", "f2"), ("f1", "ft"), ("ft", "f2"))
_COILS: Final = (("coil1", "coil2"), *_HEATED)

_Way = tuple[str, str, Path]


def ways(part: Part, windings: Iterable[Winding] = ()) -> Iterator[_Way]:
    """Pairs of the part's own terminals between which direct current passes, and how easily."""
    kind = part.kind
    names = [lug.name for lug in kind.terminals]
    for group in kind.inside:
        for other in group[1:]:
            yield group[0], other, Path.WIRE
    rest = part.at or (kind.positions[0] if kind.positions else "")
    for contact in kind.contacts:
        if rest in contact.positions:
            yield contact.a, contact.b, Path.WIRE
    for a, b in _COILS:
        if a in names and b in names:
            yield a, b, Path.LOW
    wound = False
    for winding in windings:
        wound = True
        path = Path.HIGH if (winding.resistance or 0.0) >= READS_AS_WIRE else Path.LOW
        for a, b in pairwise(winding.terminals):
            yield a, b, path
    if kind.name == "fuse":
        yield "1", "2", Path.WIRE
    elif kind.family == "resistor" or kind.unit == "ohm":
        yield from _resistor(part, names)
    elif kind.name == "electrolytic" or (kind.family == "capacitor" and kind.polarised) or kind.family == "diode":
        for a, b in pairwise(names):
            yield a, b, Path.HIGH
    elif kind.name in _BLOCKING or kind.family == "capacitor":
        return
    elif kind.name in _LOW_KINDS or kind.name in _UNKNOWN or (not wound and kind.family in ("inductor", "transformer")):
        for a, b in pairwise(names):
            yield a, b, Path.LOW


def _resistor(part: Part, names: list[str]) -> Iterator[_Way]:
    ohms = part.measured if part.measured is not None else part.value
    whole = Path.HIGH if ohms is not None and ohms >= READS_AS_WIRE else Path.LOW
    if len(names) == 2:
        yield names[0], names[1], Path.LOW if part.kind.name == "rheostat" else whole
    elif len(names) > 2:
        # The arm may stand at either end.
        for a, b in pairwise(names):
            yield a, b, Path.LOW
        yield names[0], names[-1], whole


class Meter:
    """Reads between points of a bench. Parts are looked up as they are at that moment."""

    def __init__(self, bench: Bench, windings: Iterable[Winding]) -> None:
        self.bench = bench
        self.windings: dict[str, list[Winding]] = defaultdict(list)
        for winding in windings:
            self.windings[winding.part].append(winding)
        self._known: dict[str, tuple[Part, Mapping[str, list[tuple[str, Path]]]]] = {}

    def read(self, a: Point, b: Point) -> Reading:
        for worst in (Path.WIRE, Path.LOW, Path.HIGH):
            through = self._path(a, b, worst)
            if through is not None:
                movement = any(self._part(name) in ("meter", "rf-meter") for name in through)
                return Reading(worst, through, movement)
        return Reading(Path.NONE)

    def _part(self, name: str) -> str:
        part = self.bench.parts.get(name)
        return part.kind.name if part else ""

    def _ways(self, name: str) -> Mapping[str, list[tuple[str, Path]]]:
        part = self.bench.parts.get(name)
        if part is None:
            return {}
        known = self._known.get(name)
        if known is None or known[0] is not part:
            table: dict[str, list[tuple[str, Path]]] = defaultdict(list)
            for a, b, path in ways(part, self.windings.get(name, ())):
                table[a].append((b, path))
                table[b].append((a, path))
            known = (part, table)
            self._known[name] = known
        return known[1]

    def _next(self, where: Point, worst: Path) -> Iterator[Point]:
        yield from self.bench.neighbours(where)
        name, _, terminal = where.partition(".")
        if terminal:
            for other, path in self._ways(name).get(terminal, ()):
                if path <= worst:
                    yield f"{name}.{other}"

    def _path(self, a: Point, b: Point, worst: Path) -> tuple[str, ...] | None:
        """Parts on the shortest way, searched from both ends at once so that a small island answers at once."""
        if a == b:
            return ()
        came: tuple[dict[Point, Point], dict[Point, Point]] = ({a: a}, {b: b})
        queues = (deque([a]), deque([b]))
        while queues[0] and queues[1]:
            side = 0 if len(came[0]) <= len(came[1]) else 1
            where = queues[side].popleft()
            for other in self._next(where, worst):
                if other in came[side]:
                    continue
                came[side][other] = where
                if other in came[1 - side]:
                    return self._parts_on(came, other)
                queues[side].append(other)
        return None

    def _parts_on(self, came: tuple[dict[Point, Point], dict[Point, Point]], middle: Point) -> tuple[str, ...]:
        way = []
        for side in (0, 1):
            at = middle
            leg = [at]
            while came[side][at] != at:
                at = came[side][at]
                leg.append(at)
            way.append(leg)
        points = way[0][::-1] + way[1][1:]
        names = [
            part_of(one)
            for one, other in pairwise(points)
            if part_of(one) and part_of(one) == part_of(other) and one not in self.bench.neighbours(other)
        ]
        return tuple(dict.fromkeys(names))
