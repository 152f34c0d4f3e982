"""Which zones can hurt, and how much: by what the drawing says that their nets are for, never by their names.

The order is that of inspections in the trade (common practice): the mains entry, the supplies, the final stage, then
everything else. A zone's rank is the mean over its wired terminals; a net without a name counts as the one that feeds
it through a fuse, switch, rectifier, choke or meter.
"""

from __future__ import annotations

from collections import defaultdict
from functools import cached_property
from typing import Final

from netdiff.circuit import Circuit, Point, is_net, part_of
from netdiff.comparison.limits import hazard_volts
from netdiff.nets import circuit_nets
from netdiff.quantities import show

MAINS: Final = 10.0
BIAS: Final = 3.0
RF: Final = 3.0
VOLTS_A_POINT: Final = 100.0
"""A supply counts two, and one more for each hundred volts: at 800 V it stands beside the mains. Own judgement."""

CARRYING: Final = frozenset({"fuse", "switch", "interlock", "inductor", "diode", "meter"})
"""Families behind which a lead is still the mains or the supply that it was."""


class Danger:
    """The danger of points and zones of one drawing."""

    def __init__(self, circuit: Circuit) -> None:
        self.circuit = circuit
        self.nets = circuit_nets(circuit)

    @cached_property
    def _of_net(self) -> dict[int, tuple[float, str]]:
        index = self.nets.index
        out: dict[int, tuple[float, str]] = {}
        for name, net in self.circuit.nets.items():
            if name not in index:
                continue
            volts = abs(net.volts or 0.0)
            weight, says = 0.0, ""
            if net.purpose in ("mains", "earth"):
                weight, says = MAINS, net.purpose
            elif net.purpose == "supply" and (net.volts is None or volts >= hazard_volts()):
                weight = 2 + volts / VOLTS_A_POINT
                says = show(net.volts, "V") if net.volts is not None else "supply"
            elif net.purpose == "bias":
                weight, says = BIAS, "bias"
            elif net.purpose == "rf" and net.power:
                weight, says = RF, "RF power"
            elif net.purpose == "control" and volts >= hazard_volts():
                weight, says = BIAS, show(net.volts or 0.0, "V")
            known = out.get(index[name], (0.0, ""))
            out[index[name]] = max(known, (weight, says))
        self._feed(out)
        return out

    def _feed(self, out: dict[int, tuple[float, str]]) -> None:
        """Unnamed nets behind a fuse, switch, rectifier, choke or meter."""
        near: dict[int, list[int]] = defaultdict(list)
        for name, part in self.circuit.parts.items():
            if part.kind.family not in CARRYING:
                continue
            ways = [(contact.a, contact.b) for contact in part.kind.contacts]
            for a, b in ways + ([part.kind.ends] if part.kind.ends else []):
                one, other = self.nets.index.get(f"{name}.{a}", -1), self.nets.index.get(f"{name}.{b}", -1)
                near[one].append(other)
                near[other].append(one)
        named = {self.nets.index[name] for name in self.circuit.nets if name in self.nets.index}
        named.add(self.nets.index.get(self.circuit.ground, -1))
        queue = sorted(out, key=lambda number: -out[number][0])
        for at in queue:
            for other in near.get(at, ()):
                if other >= 0 and other not in named and other not in out and out[at][0]:
                    out[other] = out[at]
                    queue.append(other)

    def of(self, where: Point) -> float:
        return self._of_net.get(self.nets.index.get(where, -1), (0.0, ""))[0]

    def wired(self, where: Point) -> bool:
        """The drawing takes the terminal somewhere."""
        number = self.nets.index.get(where)
        return number is not None and len(self.nets.members[number]) > 1

    @cached_property
    def _terminals(self) -> dict[str, list[Point]]:
        zones: dict[str, list[Point]] = {zone: [] for zone in self.circuit.zones}
        for part in self.circuit.parts.values():
            zones.setdefault(part.zone, []).extend(where for where in part.points() if self.wired(where))
        return zones

    def zones(self) -> tuple[str, ...]:
        """Zones with parts in them, the most dangerous first; equal ones as the drawing has them."""
        mean = {
            zone: sum(map(self.of, points)) / len(points) if points else 0.0 for zone, points in self._terminals.items()
        }
        names = [zone for zone in mean if any(part.zone == zone for part in self.circuit.parts.values())]
        return tuple(sorted(names, key=lambda zone: -mean[zone]))

    def says(self, zone: str) -> str:
        """The worst thing in a zone, in a word: ``mains``, ``515 V``."""
        found = [self._of_net.get(self.nets.index[where], (0.0, "")) for where in self._terminals.get(zone, ())]
        return max(found, default=(0.0, ""))[1]

    def weight(self, where: Point) -> float:
        """How much is settled by looking at a terminal: its danger times the connections of its net that hang on it."""
        number = self.nets.index.get(where)
        if number is None:
            return 0.0
        wired = [point for point in self.nets.members[number] if not is_net(point) and part_of(point)]
        return (1 + self.of(where)) * (len(wired) - 1) / max(len(wired), 1)
