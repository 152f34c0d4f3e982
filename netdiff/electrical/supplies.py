"""Where direct current comes from: rectifiers with the windings behind them, and supplies that come from outside.

A rectifier is found by its kind and by what its terminals lead to, never by its name. Its voltage with no load is
``factor * V - drop``, V the effective voltage of its winding; the factor is worked out from the drawing's declared net
(``net hv supply 480V``) and then holds for the unit as found too, whatever its rectifier has become.
"""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import partial
from itertools import pairwise
from typing import Final, NamedTuple

from netdiff.circuit import Circuit, Part, Point, Winding
from netdiff.electrical.elements import Elements
from netdiff.electrical.limits import table
from netdiff.electrical.nodes import Nodes

rules: Final = partial(table, "supplies")


class Valve(NamedTuple):
    """One path of a rectifier, from anode to cathode."""

    part: str
    anode: Point
    cathode: Point


@dataclass(frozen=True, slots=True)
class Supply:
    """A source of direct current: ``volts`` behind ``ohms``, from the node of ``back`` to that of ``out``.

    ``factor`` is what a volt of the winding makes; ``winding`` is empty where the drawing only declares the net.
    """

    out: Point
    back: Point
    volts: float
    ohms: float
    rectifiers: tuple[str, ...] = ()
    winding: str = ""
    feed: tuple[tuple[Point, Point], ...] = ()
    """Pairs of points between which the mains must stand for it to work: a primary's ends."""
    ac_volts: float = 0.0
    drop: float = 0.0
    sort: str = ""
    """What the rectifier is made of, where somebody said."""
    factor: float = 1.0
    negative: bool = False
    net: str = ""
    """The declared net by which it was measured."""
    choke: bool = False
    amps: float = 0.0
    """What the rectifier is rated for; 0 where nobody says."""
    asked: float = 0.0
    """The greatest current that the drawing's states ask of it."""
    series: float = 0.0
    """Ohms on the alternating side: the winding, the primary as seen from here, a surge resistor."""

    @property
    def key(self) -> str:
        return self.winding or self.net


def valves(circuit: Circuit) -> Iterator[Valve]:
    """Every path that a rectifier or diode of the circuit has."""
    for name, part in circuit.parts.items():
        if part.kind.name == "bridge":
            yield Valve(name, f"{name}.ac1", f"{name}.+")
            yield Valve(name, f"{name}.ac2", f"{name}.+")
        elif part.kind.family == "diode" and part.kind.lug("a") and part.kind.lug("k"):
            yield Valve(name, f"{name}.a", f"{name}.k")
        elif part.kind.name == "tube" and "rectifier" in part.kind.title:
            names = [lug.name for lug in part.kind.terminals]
            cathodes = [n for n in names if n[0] == "k"] or [n for n in names if n in ("f1", "f2")]
            for plate in (n for n in names if n[0] == "p"):
                suffix = plate[1:]
                own = [n for n in cathodes if n == f"k{suffix}"] or cathodes
                if own:
                    yield Valve(name, f"{name}.{plate}", f"{name}.{own[0]}")


def sort_of(part: Part) -> str:
    """What a rectifier is made of: ``vacuum`` for any tube, ``silicon`` …; empty where nobody said."""
    if part.kind.name == "tube":
        return "vacuum"
    return next((word for word in part.words if word in rules()["drop"]), "")


def drop_of(part: Part) -> float:
    """Volts across a rectifier while it conducts; one of which nobody said what it is made of is silicon."""
    stated = part.kind.facts.get("drop_volts")
    if isinstance(stated, float):
        return stated
    row = rules()["drop"][sort_of(part) or "silicon"]
    plates = 1.0
    if row.get("per_plate"):
        plates = max(1.0, part.ratings.get("V", row["plate_volts"]) / row["plate_volts"])
    return float(row["volts"]) * plates


class Mains(NamedTuple):
    """Nodes that stand at the two sides of the mains, and the volts between them."""

    hot: frozenset[int]
    cold: frozenset[int]
    volts: float


def entries(circuit: Circuit) -> tuple[list[Point], list[Point]]:
    """Where the mains come in: the two lists of points, hot and neutral. A cord or inlet counts, an outlet does not;
    without one, the nets that are declared for the mains."""
    hot, cold = [], []
    for name, part in circuit.parts.items():
        if part.kind.name.startswith(("inlet-", "cord-")) and part.kind.lug("L") and part.kind.lug("N"):
            hot.append(f"{name}.L")
            cold.append(f"{name}.N")
    if not hot:
        for name, net in circuit.nets.items():
            if net.purpose == "mains":
                (hot if net.volts else cold).append(name)
    return hot, cold


def mains(circuit: Circuit, nodes: Nodes) -> Mains:
    hot, cold = entries(circuit)
    volts = max((abs(net.volts) for net in circuit.nets.values() if net.purpose == "mains" and net.volts), default=0.0)

    def of(points: Iterable[Point]) -> frozenset[int]:
        return frozenset(node for where in points if (node := nodes.of(where)) is not None)

    return Mains(of(hot), of(cold), volts)


def shorted(winding: Winding, nodes: Nodes) -> tuple[Point, Point] | None:
    """Two terminals of a winding that are one node: its turns are a short, and none of it gives any voltage."""
    at: dict[int | None, Point] = {}
    for terminal in winding.terminals:
        where = f"{winding.part}.{terminal}"
        node = nodes.of(where)
        if node is not None and node in at:
            return at[node], where
        at[node] = where
    return None


HOT, COLD = -1, -2

HEATER_VOLTS = 15.0
"""A winding below that heats filaments; common practice."""


class _Source(NamedTuple):
    """An end of a winding, or the mains, as a rectifier sees it."""

    winding: Winding | None
    end: int
    """Index of the terminal; of the mains ``HOT`` or ``COLD``."""
    ohms: float
    """Resistance on the way there."""


class Finder:
    """Finds the supplies of one circuit. Rectifiers are looked up in all positions of its contacts at once."""

    def __init__(self, circuit: Circuit, nodes: Nodes, elements: Elements, line: Mains) -> None:
        self.circuit, self.nodes, self.line = circuit, nodes, line
        self.ground = nodes.of(circuit.ground)
        self.ends: dict[int, list[tuple[Winding, int]]] = defaultdict(list)
        for winding in circuit.windings:
            if winding.volts and not shorted(winding, nodes):
                for number, terminal in enumerate(winding.terminals):
                    node = nodes.of(f"{winding.part}.{terminal}")
                    if node is not None:
                        self.ends[node].append((winding, number))
        self.near: dict[int, list[tuple[int, float, str]]] = defaultdict(list)
        inductive = {w.part for w in circuit.windings if w.volts}
        for one in elements.resistances:
            if one.part in inductive:
                continue
            a, b = nodes.index[one.a], nodes.index[one.b]
            self.near[a].append((b, one.ohms.nominal, one.part))
            self.near[b].append((a, one.ohms.nominal, one.part))
        self.capacitors: dict[int, list[tuple[int, float]]] = defaultdict(list)
        for cap in elements.capacitances:
            a, b = nodes.index[cap.a], nodes.index[cap.b]
            self.capacitors[a].append((b, cap.farads))
            self.capacitors[b].append((a, cap.farads))

    MOST_OHMS = 1000.0
    """More than that lies in series with no rectifier of power; common practice."""

    def source(self, start: int) -> _Source | None:
        """The winding end (of the most volts) or the mains that a rectifier's terminal is led to."""
        best: _Source | None = None
        most = 0.0
        seen = {start}
        queue = deque([(start, 0.0, 0)])
        while queue:
            at, ohms, steps = queue.popleft()
            if (at in self.line.hot or at in self.line.cold) and self.line.volts > most:
                best, most = _Source(None, HOT if at in self.line.hot else COLD, ohms), self.line.volts
            for winding, number in self.ends.get(at, ()):
                primary = self._is_primary(winding)
                volts = 0.0 if primary else abs(winding.volts or 0.0)
                if volts > most:
                    best, most = _Source(winding, number, ohms), volts
            if steps == 3 or (at == self.ground and at != start):
                continue
            for other, more, _ in self.near.get(at, ()):
                if other not in seen and other != self.ground and ohms + more <= self.MOST_OHMS:
                    seen.add(other)
                    queue.append((other, ohms + more, steps + 1))
        return best

    def _is_primary(self, winding: Winding) -> bool:
        """A winding that stands, or can stand, across the mains: of its transformer the one called so, else the
        first whose volts are those of the mains."""
        own = [w for w in self.circuit.windings if w.part == winding.part and w.volts]
        named = [w for w in own if "primary" in w.label.lower()]
        first = (
            named[:1] or [w for w in own if self.line.volts and abs((w.volts or 0) / self.line.volts - 1) < 0.15][:1]
        )
        return bool(first) and winding is first[0]

    def primary(self, part: str) -> Winding | None:
        return next((w for w in self.circuit.windings if w.part == part and self._is_primary(w)), None)

    def supplies(self) -> list[Supply]:
        groups: dict[tuple[int, bool, str], list[tuple[Valve, _Source]]] = defaultdict(list)
        for valve in valves(self.circuit):
            anode, cathode = self.nodes.of(valve.anode), self.nodes.of(valve.cathode)
            if anode is None or cathode is None or anode == cathode:
                continue
            before, after = self.source(anode), self.source(cathode)
            up, down = self._volts(before), self._volts(after)
            if up == down == 0.0:
                continue
            source = before if up >= down else after
            assert source is not None
            out = cathode if up >= down else anode
            name = source.winding.part + "." + source.winding.terminals[0] if source.winding else "mains"
            groups[out, up < down, name].append((valve, source))
        return [self._supply(out, negative, paths) for (out, negative, _), paths in groups.items()]

    def _volts(self, source: _Source | None) -> float:
        if source is None:
            return 0.0
        return self.line.volts if source.winding is None else abs(source.winding.volts or 0.0)

    def _supply(self, out: int, negative: bool, paths: list[tuple[Valve, _Source]]) -> Supply:
        valve, source = paths[0]
        point = self.nodes.members[out][0]
        parts = tuple(dict.fromkeys(one.part for one, _ in paths))
        part = self.circuit.parts[valve.part]
        drop = drop_of(part) * (2.0 if part.kind.name == "bridge" else 1.0)
        rated = [p.kind.facts.get("plate_amps") or p.ratings.get("A") for p in map(self.circuit.parts.get, parts) if p]
        amps = sum(float(one) for one in rated if one) if all(rated) else 0.0
        winding = source.winding
        feed: tuple[tuple[Point, Point], ...] = ()
        if winding is None:
            back = self._other_side(source.end)
            ac, ohms, name = self.line.volts, 0.0, "mains"
            full = False
        else:
            ends = {end for _, one in paths for end in [one.end]}
            last = len(winding.terminals) - 1
            bridge = part.kind.name == "bridge"
            full = len(ends) > 1 or bridge
            tapped = full and not bridge and last >= 2
            share = 0.5 if tapped else 1.0
            middle = winding.terminals[last // 2] if tapped else winding.terminals[last if source.end == 0 else 0]
            back = f"{valve.part}.-" if bridge else f"{winding.part}.{middle}"
            ac = abs(winding.volts or 0.0) * share
            ohms = (winding.resistance or 0.0) * share
            primary = self.primary(winding.part)
            if primary is not None:
                ohms += (primary.resistance or 0.0) * (ac / (primary.volts or ac)) ** 2
                a, b = primary.terminals[0], primary.terminals[-1]
                feed = ((f"{winding.part}.{a}", f"{winding.part}.{b}"),)
            name = f"{winding.part}.{winding.terminals[0]}"
        series = ohms + source.ohms
        choke = self._choke_input(out, back)
        table = rules()
        sort = "choke_input" if choke else "capacitor_input_full" if full else "capacitor_input_half"
        factor = float(table[sort]["factor"])
        times = table["resistance_factor"]["choke" if choke else "full" if full else "half"]
        dynamic = drop / amps * 0.5 if part.kind.name == "tube" and amps and "mercury" not in part.kind.title else 0.0
        return Supply(
            out=point, back=back, volts=factor * ac - drop, ohms=max(0.1, series * float(times) + dynamic),
            rectifiers=parts, winding=name, feed=feed, ac_volts=ac, drop=drop, sort=sort_of(part), factor=factor,
            negative=negative, choke=choke, amps=amps, series=series,
        )  # fmt: skip

    def _other_side(self, end: int) -> Point:
        for node in sorted(self.line.cold if end == HOT else self.line.hot):
            return self.nodes.members[node][0]
        return self.circuit.ground

    def _choke_input(self, out: int, back: Point) -> bool:
        least = float(rules()["filter_least_farads"]["value"])
        return not any(farads >= least for node in self._filament(out) for _, farads in self.capacitors.get(node, ()))

    def _filament(self, out: int) -> set[int]:
        """The nodes of a filament that is the cathode: all that its own winding joins."""
        nodes = {out}
        for winding, _ in self.ends.get(out, ()):
            if abs(winding.volts or 0.0) < HEATER_VOLTS:
                nodes |= {self.nodes.index[f"{winding.part}.{terminal}"] for terminal in winding.terminals}
        return nodes


def declared(circuit: Circuit, also: tuple[str, ...] = ()) -> dict[str, float]:
    """Net names with the d.c. voltage that the drawing gives them."""
    return {
        name: net.volts
        for name, net in circuit.nets.items()
        if net.purpose in ("supply", "bias", *also) and net.volts and not net.ac
    }


def pieces(winding: Winding) -> Iterator[tuple[Point, Point, float]]:
    """The tappings of a winding with the effective volts of each piece, in equal shares."""
    count = len(winding.terminals) - 1
    for a, b in pairwise(winding.terminals):
        yield f"{winding.part}.{a}", f"{winding.part}.{b}", (winding.volts or 0.0) / count
