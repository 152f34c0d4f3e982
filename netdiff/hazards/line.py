"""The mains in a circuit: where they come in, how far each side goes and over which parts, what hangs there."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import pairwise
from typing import Final

from netdiff.circuit import Circuit, Part, Point
from netdiff.electrical.limits import limit
from netdiff.electrical.supplies import entries
from netdiff.nets import Nets
from netdiff.readings.side import Side

PASSING: Final = {"fuse", "switch", "interlock", "relay"}
"""Families of parts behind which a lead is still the mains."""
_CONSUMERS: Final = {"transformer", "motor", "lamp", "neon", "tube", "diode"}
HIGH_MAINS: Final = 150.0
"""Above this many volts a drawing's mains have 50 Hz: common practice."""
USUAL_VOLTS: Final = 117.0
"""Where the drawing names no volts: common practice in the sets that this is for."""


@dataclass(frozen=True, slots=True)
class Way:
    """One net that the mains reach, and over which parts, nearest to the entry first."""

    net: int
    over: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Line:
    """The mains of one circuit. Nets are numbers of ``nets``."""

    circuit: Circuit
    nets: Nets
    entry: tuple[str, ...]
    """Cords and inlets."""
    known: bool
    """The plug tells the line from the neutral: three wires, or a polarised plug."""
    hot: dict[int, Way]
    cold: dict[int, Way]
    earth: frozenset[int]
    volts: float
    hertz: float
    near: dict[int, list[tuple[int, str]]] = field(default_factory=dict)
    """From each net over fuses and contacts to others, with the part."""
    loads: dict[int, list[tuple[int, str]]] = field(default_factory=dict)
    """The same through what takes power."""
    metal: frozenset[int] = frozenset()
    """What somebody can touch: what hangs on it is told of it, not of all that lies behind."""

    @property
    def live(self) -> set[int]:
        """Every net that one of the two sides reaches, in whatever position its switches are."""
        return set(self.hot) | set(self.cold)

    def net(self, where: Point) -> int:
        return self.nets.index.get(where, -1)

    def reach(
        self,
        start: set[int],
        passes: Callable[[Part], bool] = lambda _: True,
        *,
        loads: bool = False,
        never: frozenset[int] = frozenset(),
        stop: frozenset[int] = frozenset(),
    ) -> dict[int, Way]:
        """How far a side goes from these nets over fuses and contacts that ``passes`` lets through, and over loads.

        ``never`` are nets that it does not enter, ``stop`` those that it enters and does not leave again.
        """
        ways = {number: Way(number) for number in start}
        queue = deque(start)
        while queue:
            at = queue.popleft()
            if at in stop:
                continue
            for other, name in (*self.near.get(at, ()), *(self.loads.get(at, ()) if loads else ())):
                if other not in ways and other not in never and passes(self.circuit.parts[name]):
                    ways[other] = Way(other, (*ways[at].over, name))
                    queue.append(other)
        return ways

    def starts(self, end: str) -> set[int]:
        return {number for name in self.entry if (number := self.net(f"{name}.{end}")) >= 0}

    def consumers(self, numbers: set[int]) -> list[str]:
        """Parts with a mains winding, motors, lamps, heaters and rectifiers on these nets, and outlets."""
        out = []
        for name, part in self.circuit.parts.items():
            takes = terminals(self.circuit, part) if part.kind.family in _CONSUMERS else ()
            outlet = [f"{name}.L"] if part.kind.name.startswith("outlet") else ()
            if any(self.net(where) in numbers for where in (*takes, *outlet)):
                out.append(name)
        return out


def terminals(circuit: Circuit, part: Part) -> Iterator[Point]:
    """A part's terminals by which it takes power: of a tube its heater's, of a transformer its windings'."""
    if part.kind.any_terminal:
        for winding in circuit.windings:
            if winding.part == part.designator:
                yield from (f"{part.designator}.{name}" for name in winding.terminals)
        return
    for lug in part.kind.terminals:
        if part.kind.family != "tube" or lug.name in ("h1", "h2", "ht", "f1", "f2"):
            yield f"{part.designator}.{lug.name}"


@lru_cache(maxsize=8)
def line(side: Side) -> Line | None:
    """The mains of a side; None for a circuit without a cord, an inlet or a net for them."""
    circuit, nets = side.circuit, side.nets
    hot, cold = entries(circuit)
    if not hot and not cold:
        return None
    declared = [abs(net.volts) for net in circuit.nets.values() if net.purpose == "mains" and net.volts]
    volts = max(declared, default=USUAL_VOLTS)
    entry = tuple(dict.fromkeys(where.partition(".")[0] for where in hot if "." in where))
    near: dict[int, list[tuple[int, str]]] = {}
    loads: dict[int, list[tuple[int, str]]] = {}
    for name, part in circuit.parts.items():
        passing = part.kind.family in PASSING or part.kind.name == "thermistor"
        pairs = [(near, pair) for pair in passages(part)] if passing else []
        pairs += [(loads, pair) for pair in takes(circuit, part)]
        for ways, (a, b) in pairs:
            first, second = nets.index.get(f"{name}.{a}", -1), nets.index.get(f"{name}.{b}", -1)
            if -1 not in (first, second) and first != second:
                ways.setdefault(first, []).append((second, name))
                ways.setdefault(second, []).append((first, name))
    known = bool(entry) and all(
        circuit.parts[name].kind.lug("E") is not None or "polarised" in circuit.parts[name].words for name in entry
    )
    made = Line(
        circuit,
        nets,
        entry,
        known,
        {},
        {},
        frozenset(number for name in entry if (number := nets.index.get(f"{name}.E", -1)) >= 0),
        volts,
        limit("mains_hertz") if volts <= HIGH_MAINS else 50.0,
        near,
        loads,
        frozenset(metal(side)),
    )
    made.hot.update(made.reach({nets.index[where] for where in hot if where in nets.index}, stop=made.metal))
    made.cold.update(made.reach({nets.index[where] for where in cold if where in nets.index}, stop=made.metal))
    return made


def passages(part: Part) -> list[tuple[str, str]]:
    """Pairs of terminals between which a lead goes on, in some position."""
    pairs = [(contact.a, contact.b) for contact in part.kind.contacts]
    return pairs + ([part.kind.ends] if part.kind.ends is not None and part.kind.family != "switch" else [])


def takes(circuit: Circuit, part: Part) -> list[tuple[str, str]]:
    """Pairs of terminals between which a part takes power, or passes it on to what does."""
    if part.kind.any_terminal:
        return [
            pair
            for winding in circuit.windings
            if winding.part == part.designator
            for pair in pairwise(winding.terminals)
        ]
    if part.kind.family == "tube":
        return list(pairwise(lug.name for lug in part.kind.terminals if lug.name in ("h1", "ht", "h2", "f1", "f2")))
    if part.kind.family == "relay":
        return [pair for pair in (("coil1", "coil2"), ("h1", "h2")) if part.kind.lug(pair[0]) is not None]
    if part.kind.family in ("lamp", "neon", "motor", "resistor", "inductor") and part.kind.ends is not None:
        return [part.kind.ends]
    return []


def words(circuit: Circuit, name: str) -> str:
    """``T2 (“plate”)``, with the first words of the label; the designator alone where the drawing has none."""
    part = circuit.parts.get(name)
    return f"{name} (“{part.label.partition(',')[0]}”)" if part is not None and part.label else name


def behind(side: Side, a: Point, b: Point) -> list[str]:
    """What takes power from the mains behind a contact or fuse, as seen from the entry."""
    one = line(side)
    if one is None:
        return []
    numbers = {one.net(a), one.net(b)} - {-1}
    own = {part.partition(".")[0] for part in (a, b)}
    entry = one.starts("L") | one.starts("N")
    for number in numbers:
        reached = set(one.reach({number}, lambda part: part.designator not in own))
        if not reached & entry:
            return one.consumers(reached)
    return []


def metal(side: Side) -> set[int]:
    """Nets of metal that somebody can touch: the chassis, the ground unless it is wiring, what is declared earth."""
    names = {"chassis", side.circuit.ground}
    names |= {name for name, net in side.circuit.nets.items() if net.purpose == "earth"}
    numbers = {side.nets.index[name] for name in names if name in side.nets.index}
    if side.circuit.ground != "chassis" and "chassis" in side.nets.index:
        # A common negative beside a chassis is wiring, not metal.
        numbers.discard(side.nets.index.get(side.circuit.ground, -1))
    return numbers
