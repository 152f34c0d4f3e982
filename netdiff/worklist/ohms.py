"""What the ohmmeter reads as the work goes on: the unit before and after each step, with limits.

Steps touch a few dozen parts of a unit that may have ten thousand. Whatever no step touches is reduced once to a
network between the points that the steps and their readings use; each stage of the work is then a small network of its
own, and reads exactly as the whole would.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import inf

from netdiff.circuit import Circuit, Part, Point, Run, Winding, part_of
from netdiff.comparison.scene import Scene
from netdiff.electrical.elements import Elements, elements, unstated
from netdiff.electrical.interval import NOTHING, SHORT, Interval
from netdiff.electrical.resistive import Dense, Edge, Network, reduced
from netdiff.nets import Union, circuit_points, joints
from netdiff.worklist.goal import Goal
from netdiff.worklist.steps import Step, apply, ends

BOUNDS = ("low", "nominal", "high")
LEAST = 1e-6
"""Ohms. A bound of nothing that is no joint."""

MANY_EDGES = 3000
"""Beyond that a full matrix is quicker than one node after the other."""
MOVEMENT_SHARE = 0.02
"""Of the meter's voltage, the most that may stand across a movement: less than a milliampere meter feels; ours."""


def whole_unit(goal: Goal, scene: Scene) -> Circuit:
    """The unit under its own names, completed as drawn where nobody looked."""
    unit = goal.unit
    own = {drawn: found for found, drawn in scene.alignment.alias.items()}
    runs = [*unit.runs, *(Run(a, b, evidence="as-drawn") for a, b in goal.unseen)]
    named: dict[int, Point] = {}
    for number, founds in scene.of_stock.items():
        first = scene.blocks[number, founds[0]][0]
        named[number] = own.get(first, first)
    for where, number in goal.net_of_drawing.items():
        # Net names and tie points of which no line speaks stand where their net is.
        known = where in goal.label or where in scene.traced or where in scene.landing
        if not known and number in named and (not part_of(where) or part_of(where) in goal.there):
            runs.append(Run(named[number], where, evidence="as-drawn"))
    parts = {name: part for name, part in unit.parts.items() if name in goal.there}
    wound = {winding.part for winding in unit.windings}
    mine = {drawn: found for found, drawn in goal.stock_name.items()}
    windings = (
        *unit.windings,
        *(_named(w, mine) for w in goal.stock.windings if mine.get(w.part, w.part) not in wound),
    )
    for name, part in parts.items():
        drawn = goal.parts.get(name)
        if drawn is not None and part.value is None and part.kind is drawn.kind:
            parts[name] = replace(part, value=drawn.value, tolerance=drawn.tolerance, ratings=drawn.ratings)
        elif drawn is not None and part.tolerance is None and part.value == drawn.value:
            parts[name] = replace(part, tolerance=drawn.tolerance)
    return replace(unit, parts=parts, runs=tuple(runs), windings=windings, ground=goal.ground)


def _named(winding: Winding, mine: Mapping[str, str]) -> Winding:
    return winding._replace(part=mine.get(winding.part, winding.part))


@dataclass(slots=True)
class _Base:
    """What no step touches, reduced."""

    atom: dict[Point, int] = field(default_factory=dict)
    """Points that the steps use -> number of the place that untouched conductors make of them."""
    edges: dict[str, list[Edge]] = field(default_factory=dict)


class Stages:
    """The unit before the first step, and after each. ``points`` are those between which readings will be asked."""

    def __init__(self, unit: Circuit, steps: Sequence[Step], points: Iterable[Point]) -> None:
        self.ground = unit.ground
        self.windings = unit.windings
        changed = {name for step in steps for name in step.change.parts_off}
        changed |= {part.designator for step in steps for part in step.change.parts_on}
        meters = {name for name, part in unit.parts.items() if part.kind.name in ("meter", "rf-meter")}
        opened = {name for step in steps for proof in step.proofs for name in proof.through}
        self.alive = changed | meters | opened
        off = {run for step in steps for run in step.change.runs_off}
        loose = {end for step in steps for run in step.change.runs_on for end in ends(run)}
        mine: list[Run] = []
        rest: list[Run] = []
        for run in unit.runs:
            touched = run in off or any(part_of(end) in changed for end in ends(run))
            (mine if touched else rest).append(run)
        self._start = replace(
            unit, parts={name: unit.parts[name] for name in self.alive if name in unit.parts}, runs=tuple(mine)
        )
        others = replace(unit, parts={n: p for n, p in unit.parts.items() if n not in self.alive}, runs=tuple(rest))
        kept = {end for run in mine for end in ends(run)} | loose | set(points) | {self.ground}
        kept |= {
            f"{name}.{lug.name}" for name in self.alive & unit.parts.keys() for lug in unit.parts[name].kind.terminals
        }
        kept |= {f"{w.part}.{terminal}" for w in unit.windings if w.part in self.alive for terminal in w.terminals}
        self._base = _reduce(others, kept)
        self.at: list[Stage] = []
        circuit = self._start
        self.at.append(Stage(self, circuit))
        for step in steps:
            circuit = apply(step, circuit)
            self.at.append(Stage(self, circuit))

    @property
    def base(self) -> _Base:
        return self._base


def _reduce(circuit: Circuit, kept: set[Point]) -> _Base:
    parts = elements(circuit)
    union = Union()
    for where in circuit_points(circuit):
        union.add(where)
    for where in kept:
        union.add(where)
    for a, b in (*joints(circuit.runs), *parts.joints):
        union.join(a, b)
    for one in parts.resistances:
        union.add(one.a)
        union.add(one.b)
    groups = union.groups()
    index = {where: number for number, group in enumerate(groups) for where in group}
    atoms = {index[where] for where in kept}
    base = _Base({where: index[where] for where in kept})
    for bound in BOUNDS:
        base.edges[bound] = reduced(len(groups), _edges(parts, index, bound), atoms)
    return base


def _edges(parts: Elements, index: Mapping[Point, int], bound: str) -> list[Edge]:
    """The resistances at one bound. A junction may conduct or not: it is there at the least resistance alone."""
    edges = [
        (index[one.a], index[one.b], max(ohms, LEAST))
        for one in parts.resistances
        if (ohms := getattr(one.ohms, bound)) < inf
    ]
    if bound == "low":
        ohms = float(unstated()["junction"]["low"])
        edges += [
            (index[d.anode], index[d.cathode], ohms) for d in parts.diodes if d.anode in index and d.cathode in index
        ]
    return edges


@dataclass(slots=True)
class _Places:
    """The places of one stage, and its networks once somebody asked."""

    index: dict[Point, int]
    count: int
    parts: Elements
    networks: dict[str, Network | Dense] = field(default_factory=dict)


class Stage:
    """The unit at one stage of the work. Networks are made when a reading is asked for."""

    def __init__(self, stages: Stages, circuit: Circuit) -> None:
        self._stages, self._circuit = stages, circuit
        self._ready: dict[str, _Places] = {}

    @property
    def runs(self) -> tuple[Run, ...]:
        """The runs that steps touch, as they are at this stage: all of a part that a step fits or takes out."""
        return self._circuit.runs

    def has(self, where: Point) -> bool:
        name = part_of(where)
        if name in self._stages.alive and name not in self._circuit.parts:
            return False
        return where in self._places("").index

    def between(self, a: Point, b: Point, without: str = "") -> Interval:
        """Ohms between two points, open where one is not there; ``without`` a part: a switch opened, a fuse pulled,
        any other with an end off its lug."""
        index = self._places(without).index
        if not self.has(a) or not self.has(b) or a not in index or b not in index:
            return NOTHING
        first, second = index[a], index[b]
        if first == second:
            return SHORT
        values = [self._network(without, bound).between(first, second) for bound in BOUNDS]
        return Interval(*(value if value == inf or value > 10 * LEAST else 0.0 for value in values))

    def movement(self, a: Point, b: Point, without: str = "") -> bool:
        """Whether a meter movement takes a share of the voltage between two points."""
        places = self._places(without)
        index, parts = places.index, places.parts
        if a not in index or b not in index or index[a] == index[b]:
            return False
        network = self._network(without, "nominal")
        ways = [one for one in parts.resistances if self._circuit.parts[one.part].kind.name in ("meter", "rf-meter")]
        if not ways or not network.joined(index[a], index[b]):
            return False
        heights = network.potentials(index[a], index[b], [index[w] for one in ways for w in (one.a, one.b)])
        pairs = zip(heights[::2], heights[1::2], strict=True)
        return any(x is not None and y is not None and abs(x - y) > MOVEMENT_SHARE for x, y in pairs)

    def _network(self, without: str, bound: str) -> Network | Dense:
        places = self._places(without)
        network = places.networks.get(bound)
        if network is None:
            index = places.index
            edges = [(index[f"#{a}"], index[f"#{b}"], ohms) for a, b, ohms in self._stages.base.edges[bound]]
            edges = [edge for edge in edges if edge[0] != edge[1]] + _edges(places.parts, index, bound)
            if len(edges) > MANY_EDGES:
                network = Dense(places.count, edges)
            else:
                network = Network(places.count, edges, index.get(self._stages.ground))
            places.networks[bound] = network
        return network

    def _places(self, without: str) -> _Places:
        ready = self._ready.get(without)
        if ready is None:
            ready = self._ready[without] = self._make(without)
        return ready

    def _make(self, without: str) -> _Places:
        circuit, base = self._circuit, self._stages.base
        if without:
            part = circuit.parts.get(without)
            rest = {name: one for name, one in circuit.parts.items() if name != without}
            if part is not None and part.kind.family in ("switch", "interlock"):
                rest[without] = _opened(part)
            circuit = replace(circuit, parts=rest)
        parts = elements(circuit)
        union = Union()
        for where, atom in base.atom.items():
            union.join(f"#{atom}", where)
        for where in circuit_points(circuit):
            union.add(where)
        for winding in circuit.windings:
            if winding.part in circuit.parts:
                for terminal in winding.terminals:
                    union.add(f"{winding.part}.{terminal}")
        for a, b in (*joints(circuit.runs), *parts.joints):
            union.join(a, b)
        groups = union.groups()
        return _Places({where: number for number, group in enumerate(groups) for where in group}, len(groups), parts)


def _opened(part: Part) -> Part:
    """A switch or interlock in a position that joins nothing."""
    kind = part.kind
    joining = {position for contact in kind.contacts for position in contact.positions}
    apart = [position for position in kind.positions if position not in joining]
    return replace(part, at=apart[0]) if apart else part


def can_open(part: Part | None) -> bool:
    """Whether a hand can take it out of a reading without an iron: what plugs in, a switch, an interlock."""
    if part is None:
        return False
    return part.kind.plugs or (part.kind.family in ("switch", "interlock") and _opened(part) is not part)
