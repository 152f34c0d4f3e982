"""What the ohmmeter reads as the work goes on: the unit before and after each step, with limits.

Steps touch a few dozen parts of a unit that may have ten thousand. Whatever no step touches is reduced to a network
between the points that the steps and their readings use, and that again for each half of the steps, down to one; each
stage of the work is then a small network of its own, and reads exactly as the whole would.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import inf
from typing import NamedTuple

from netdiff.circuit import Circuit, Part, Point, Run, Winding, part_of
from netdiff.comparison.scene import Scene
from netdiff.electrical.elements import Elements, elements, unstated
from netdiff.electrical.interval import NOTHING, SHORT, Interval
from netdiff.electrical.resistive import Edge, Network, reduced
from netdiff.nets import Union, circuit_points, joints
from netdiff.worklist.goal import Goal
from netdiff.worklist.steps import Step, apply, ends

BOUNDS = ("low", "nominal", "high")
LEAST = 1e-6
"""Ohms. A bound of nothing that is no joint."""

MANY_EDGES = 3000
MANY_AT_ONE = 10
"""Beyond so many, in all and to a node, a full matrix is quicker than one node after the other."""
METERS = frozenset({"meter", "rf-meter"})
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
    """What no step of a stretch touches, reduced."""

    atom: dict[Point, int] = field(default_factory=dict)
    """Points that the steps use -> number of the place that untouched conductors make of them."""
    edges: dict[str, list[Edge]] = field(default_factory=dict)
    real: frozenset[Point] = frozenset()
    """Those of the points that are there: a net's name is none when nothing hangs on it any more."""


class Asked(NamedTuple):
    """What the readings of one step use beyond what the step itself touches."""

    points: frozenset[Point] = frozenset()
    parts: frozenset[str] = frozenset()
    """Parts that a reading opens, or whose leads may be taken for others."""


def stages(unit: Circuit, steps: Sequence[Step], asked: Sequence[Asked]) -> Iterator[tuple[Stage, Stage]]:
    """For each step the unit before and after it.

    Halved again and again: what no step of a half touches is reduced before the half is looked at, so that the
    network of one step has few nodes, however many steps there are.
    """
    if steps:
        changed = {name for step in steps for name in step.change.parts_off}
        changed |= {part.designator for step in steps for part in step.change.parts_on}
        yield from _halves(unit, _Base(), steps, asked, frozenset(changed), frozenset(changed & unit.parts.keys()))


def _halves(
    circuit: Circuit,
    base: _Base,
    steps: Sequence[Step],
    asked: Sequence[Asked],
    changed: frozenset[str],
    present: frozenset[str],
) -> Iterator[tuple[Stage, Stage]]:
    circuit, base = _split(circuit, base, steps, asked)
    middle = len(steps) // 2
    if not middle:
        (step,) = steps
        after = apply(step, circuit)
        yield Stage(base, circuit, changed - present), Stage(base, after, changed - _then(present, step))
        return
    yield from _halves(circuit, base, steps[:middle], asked[:middle], changed, present)
    for step in steps[:middle]:
        circuit, present = apply(step, circuit), _then(present, step)
    yield from _halves(circuit, base, steps[middle:], asked[middle:], changed, present)


def _then(present: frozenset[str], step: Step) -> frozenset[str]:
    return (present - set(step.change.parts_off)) | {part.designator for part in step.change.parts_on}


def _split(circuit: Circuit, base: _Base, steps: Sequence[Step], asked: Sequence[Asked]) -> tuple[Circuit, _Base]:
    """The part of the circuit that these steps touch, and the rest reduced to what they use of it."""
    alive = {name for step in steps for name in step.change.parts_off}
    alive |= {part.designator for step in steps for part in step.change.parts_on}
    alive |= {name for one in asked for name in one.parts}
    alive |= {name for name, part in circuit.parts.items() if part.kind.name in METERS}
    off = {run for step in steps for run in step.change.runs_off}
    kept = {end for step in steps for run in step.change.runs_on for end in ends(run)}
    kept |= {where for one in asked for where in one.points} | {circuit.ground}
    mine: list[Run] = []
    rest: list[Run] = []
    for run in circuit.runs:
        touched = run in off or any(part_of(end) in alive for end in ends(run))
        (mine if touched else rest).append(run)
    kept |= {end for run in mine for end in ends(run)}
    for name in alive & circuit.parts.keys():
        kept |= {f"{name}.{lug.name}" for lug in circuit.parts[name].kind.terminals}
    windings = tuple(winding for winding in circuit.windings if winding.part in alive)
    kept |= {f"{winding.part}.{terminal}" for winding in windings for terminal in winding.terminals}
    parts = {name: part for name, part in circuit.parts.items() if name in alive}
    others = replace(circuit, parts={n: p for n, p in circuit.parts.items() if n not in alive}, runs=tuple(rest))
    return replace(circuit, parts=parts, runs=tuple(mine), windings=windings), _reduce(others, kept, base)


def _reduce(circuit: Circuit, kept: set[Point], base: _Base) -> _Base:
    parts = elements(circuit)
    index, count = _places(circuit, parts, base, kept)
    atoms = {index[where] for where in kept}
    real = base.real | _real(circuit)
    out = _Base({where: index[where] for where in kept}, real=frozenset(kept & real))
    for bound in BOUNDS:
        edges = [*_based(base, index, bound), *_edges(parts, index, bound)]
        thick = len(edges) > MANY_EDGES and len(edges) > MANY_AT_ONE * count
        out.edges[bound] = (meshed if thick else reduced)(count, edges, atoms)
    return out


def _real(circuit: Circuit) -> frozenset[Point]:
    return frozenset(circuit_points(circuit)).union(end for run in circuit.runs for end in ends(run))


def _places(circuit: Circuit, parts: Elements, base: _Base, more: Iterable[Point] = ()) -> tuple[dict[Point, int], int]:
    """The place of every point, and of every place of the base under its number with a mark."""
    union = Union()
    for where, atom in base.atom.items():
        union.join(f"#{atom}", where)
    for where in circuit_points(circuit):
        union.add(where)
    for where in more:
        union.add(where)
    for winding in circuit.windings:
        if winding.part in circuit.parts:
            for terminal in winding.terminals:
                union.add(f"{winding.part}.{terminal}")
    for a, b in (*joints(circuit.runs), *parts.joints):
        union.join(a, b)
    for one in parts.resistances:
        union.add(one.a)
        union.add(one.b)
    groups = union.groups()
    return {where: number for number, group in enumerate(groups) for where in group}, len(groups)


def _based(base: _Base, index: Mapping[Point, int], bound: str) -> Iterator[Edge]:
    for a, b, ohms in base.edges.get(bound, ()):
        first, second = index[f"#{a}"], index[f"#{b}"]
        if first != second:
            yield first, second, ohms


def meshed(count: int, edges: Sequence[Edge], keep: set[int]) -> list[Edge]:
    """As ``resistive.reduced``, for a network in which nearly every node is joined to nearly every other.

    The same star-mesh steps on a full matrix: numbers are only added, multiplied and divided, all positive.
    """
    import numpy as np

    nodes = sorted({node for a, b, _ in edges for node in (a, b)}, key=lambda node: (node not in keep, node))
    row = {node: number for number, node in enumerate(nodes)}
    matrix = np.zeros((len(nodes), len(nodes)))
    first = np.array([row[a] for a, _, _ in edges])
    second = np.array([row[b] for _, b, _ in edges])
    g = 1.0 / np.array([ohms for _, _, ohms in edges])
    np.add.at(matrix, (first, second), g)
    np.add.at(matrix, (second, first), g)
    for last in range(len(nodes) - 1, sum(node in keep for node in nodes) - 1, -1):
        around = matrix[last, :last]
        total = float(around.sum())
        matrix = matrix[:last, :last] + np.outer(around, around) / total if total else matrix[:last, :last].copy()
        np.fill_diagonal(matrix, 0.0)
    return [
        (nodes[a], nodes[b], 1.0 / float(matrix[a, b]))
        for a, b in zip(*(axis.tolist() for axis in np.nonzero(np.triu(matrix))), strict=True)
    ]


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
class _Ready:
    """The places of one stage, and its networks once somebody asked."""

    index: dict[Point, int]
    count: int
    parts: Elements
    networks: dict[str, Network] = field(default_factory=dict)


class Stage:
    """The unit at one stage of the work. Networks are made when a reading is asked for."""

    def __init__(self, base: _Base, circuit: Circuit, absent: frozenset[str] = frozenset()) -> None:
        self._base, self._circuit, self._absent = base, circuit, absent
        self._ready: dict[str, _Ready] = {}
        self._real = _real(circuit)

    @property
    def runs(self) -> tuple[Run, ...]:
        """The runs that the step touches, as they are at this stage: all of a part that it fits or takes out."""
        return self._circuit.runs

    def part(self, name: str) -> Part | None:
        """A part that the step touches, or that its reading asks for."""
        return self._circuit.parts.get(name)

    def otherwise(self, off: Iterable[Run] = (), on: Iterable[Run] = ()) -> Stage:
        """The same with runs taken off and put on: work done wrong."""
        left = list(self._circuit.runs)
        for run in off:
            left.remove(run)
        return Stage(self._base, replace(self._circuit, runs=(*left, *on)), self._absent)

    def has(self, where: Point) -> bool:
        return part_of(where) not in self._absent and (where in self._base.real or where in self._real)

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
        ways = [one for one in parts.resistances if self._circuit.parts[one.part].kind.name in METERS]
        if not ways:
            return False
        network = self._network(without, "nominal")
        if not network.joined(index[a], index[b]):
            return False
        heights = network.potentials(index[a], index[b], [index[w] for one in ways for w in (one.a, one.b)])
        pairs = zip(heights[::2], heights[1::2], strict=True)
        return any(x is not None and y is not None and abs(x - y) > MOVEMENT_SHARE for x, y in pairs)

    def _network(self, without: str, bound: str) -> Network:
        places = self._places(without)
        network = places.networks.get(bound)
        if network is None:
            index = places.index
            edges = [*_based(self._base, index, bound), *_edges(places.parts, index, bound)]
            network = places.networks[bound] = Network(places.count, edges, index.get(self._circuit.ground))
        return network

    def _places(self, without: str) -> _Ready:
        ready = self._ready.get(without)
        if ready is None:
            ready = self._ready[without] = self._make(without)
        return ready

    def _make(self, without: str) -> _Ready:
        circuit = self._circuit
        if without:
            part = circuit.parts.get(without)
            rest = {name: one for name, one in circuit.parts.items() if name != without}
            if part is not None and part.kind.family in ("switch", "interlock"):
                rest[without] = _opened(part)
            circuit = replace(circuit, parts=rest)
        parts = elements(circuit)
        return _Ready(*_places(circuit, parts, self._base), parts)


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
