"""The two circuits on one sheet, under the stock circuit's names, before anything is drawn."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from netdiff.circuit import Circuit, Part, Point, Run, Zone
from netdiff.comparison import Comparison, Finding
from netdiff.nets import circuit_nets


@dataclass(frozen=True, slots=True)
class Layers:
    """Found parts and points are under their stock names where they have one.

    ``stock_net`` and ``found_net`` give the number of the net that a point is on; what nobody looked
    at is on its found net as the drawing has it. A circuit alone is both layers.
    """

    stock: Circuit
    found: Circuit
    found_parts: Mapping[str, Part]
    found_runs: tuple[Run, ...]
    stock_net: Mapping[Point, int]
    found_net: Mapping[Point, int]
    own: Mapping[int, int]
    """Stock net -> the found net that is that net."""
    unseen: frozenset[Point] = frozenset()
    unfollowed: frozenset[Point] = frozenset()
    labels: Mapping[str, str] = field(default_factory=dict)
    """Stock part -> the designator that the found file calls it by, where that is another."""
    finding_of: Mapping[str, Finding] = field(default_factory=dict)
    """Key of a raw difference -> the finding that explains it."""
    tagged: Mapping[str, tuple[Finding, ...]] = field(default_factory=dict)
    """``run A B``, ``stock run A B`` -> the findings that speak of that run."""
    alone: bool = False
    """One circuit only: nothing to tell apart."""

    @property
    def ground(self) -> str:
        return self.stock.ground

    @property
    def zones(self) -> dict[str, Zone]:
        return {**self.stock.zones, **{n: z for n, z in self.found.zones.items() if n not in self.stock.zones}}

    def cut(self, points: list[Point]) -> Finding | None:
        return self.finding_of.get(f"cut:{','.join(sorted(points))}")

    def join(self, points: list[Point]) -> Finding | None:
        return self.finding_of.get(f"join:{','.join(sorted(points))}")


def of_circuit(circuit: Circuit) -> Layers:
    nets = circuit_nets(circuit).index
    same = {number: number for number in nets.values()}
    return Layers(circuit, circuit, circuit.parts, circuit.runs, nets, nets, same, alone=True)


def of_comparison(comparison: Comparison) -> Layers:
    from netdiff.comparison.scene import build

    scene = build(comparison.stock, comparison.found, guess=comparison.reading.guess, blame=comparison.reading.blame)
    missing = scene.missing
    found_net = {where: number for where, number in scene.here.items() if where.partition(".")[0] not in missing}
    finding_of = {key: finding for finding in comparison.findings for key in finding.explains}
    tagged: dict[str, tuple[Finding, ...]] = {}
    for finding in comparison.findings:
        for tag in finding.foreign:
            if "run " in tag:
                tagged[tag] = (*tagged.get(tag, ()), finding)
    return Layers(
        stock=comparison.stock,
        found=comparison.found.circuit,
        found_parts={name: part for name, part in scene.found_parts.items() if name not in missing},
        found_runs=tuple(scene.runs),
        stock_net=scene.drawn.index,
        found_net=found_net,
        own=scene.own,
        unseen=frozenset(comparison.coverage.not_traced),
        unfollowed=frozenset(scene.alignment(where) for where in comparison.found.unfollowed),
        labels={drawn: name for name, drawn in scene.alignment.same.items()},
        finding_of=finding_of,
        tagged=tagged,
    )
