"""Charge that stays when the power goes: how much, where, and how long.

>>> round(seconds_to(1500, 60, 150e3, 8e-6), 3), energy(8e-6, 1500), round(left(1500, 2, 150e3, 8e-6), 1)
(3.863, 9.0, 283.3)

Each store is a set of capacitors between the same two places. All stores of a unit discharge
together: what the resistances between their places are decides, and the charge of one flows
through another's path. With v the volts of the stores, C their capacitances and R the matrix of
resistances that a current into one store finds at another, ``v = -R C dv/dt``, which is solved as
it stands.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Final, NamedTuple

from netdiff.circuit import Circuit, Point, is_net, part_of
from netdiff.electrical.limits import limit
from netdiff.electrical.spread import PASSING, links, rectified, volts
from netdiff.nets import Nets, circuit_nets

if TYPE_CHECKING:
    from netdiff.electrical.interval import Interval

Ohms = Callable[[Point, Point], "Interval | float"]
"""What an ohmmeter reads, its positive lead on the first point, the power off; ``math.inf`` for an open circuit."""
Volts = Callable[[Point, Point], "float | None"]

_ENDLESS: Final = 1e12
"""Seconds and ohms beyond which nothing discharges."""


class Store(NamedTuple):
    """Capacitors between the same two places. SI units."""

    net: str
    """What a person calls the place."""
    volts: float
    """The most that can stand on it, by size."""
    farads: float
    ohms: float
    """The discharge path; ``math.inf`` where there is none."""
    seconds: float
    """Until it has fallen to the limit ``discharged``, all stores discharging together; ``math.inf`` for never."""
    joules: float
    parts: tuple[str, ...]
    across: tuple[Point, Point] = ("", "")
    """The two places, the positive one first."""
    by_rating: bool = False
    """Nothing says what voltage stands there: ``volts`` is what the capacitors are rated for."""

    @property
    def coulombs(self) -> float:
        return self.farads * self.volts

    @property
    def dangerous(self) -> bool:
        """More than may stay charged where somebody can touch it (limits ``charge_...``)."""
        return dangerous(self.volts, self.farads)


def dangerous(volts: float, farads: float) -> bool:
    """Whether a capacitor's charge is more than may be touched: IEC 60335-1, 8.1.4, by the limits ``charge_...``."""
    if volts <= limit("discharged"):
        return False
    if volts <= limit("charge_volts"):
        return farads > limit("charge_farads")
    return farads * volts > limit("charge_coulombs")


def energy(farads: float, volts: float) -> float:
    """Joules: C V² / 2."""
    return farads * volts**2 / 2


def left(volts: float, seconds: float, ohms: float, farads: float) -> float:
    """Volts that are left after a time: V exp(-t / (R C))."""
    return volts * math.exp(-seconds / (ohms * farads)) if ohms < math.inf else volts


def seconds_to(start: float, end: float, ohms: float, farads: float) -> float:
    """Seconds until one capacitor has fallen from one voltage to another: R C ln(V0 / V); ``math.inf`` for never."""
    if start <= end:
        return 0.0
    return math.inf if ohms >= _ENDLESS else ohms * farads * math.log(start / end)


@dataclass(slots=True)
class _Port:
    """One store as it is gathered: two lumps of nets, the positive one first."""

    across: tuple[int, int]
    volts: float
    farads: float = 0.0
    parts: list[str] = field(default_factory=list)
    by_rating: bool = False


def stores(circuit: Circuit, ohms: Ohms | None = None, known: Volts | None = None) -> tuple[Store, ...]:
    """Every store of a circuit that can hurt, and every supply's, the greatest energy first.

    ``ohms`` is an ohmmeter on the unit with its power off (default: the one of this package, at rest, all
    diodes blocking); a tube that is cold is open to it. ``known`` gives volts that somebody
    worked out, for places of which the drawing names none. Nominal values throughout.
    """
    nets = circuit_nets(circuit)
    lumps = lumps_of(circuit, nets)
    ports = [port for port in _ports(circuit, nets, lumps, known) if _counts(circuit, nets, lumps, port)]
    if not ports:
        return ()
    if ohms is None:
        from netdiff.electrical.ohmmeter import Ohmmeter

        ohms = Ohmmeter(blocking(circuit)).between
    names = {number: _name(circuit, nets, lumps, number) for port in ports for number in port.across}
    matrix = _resistances([port.across for port in ports], names, ohms)
    times = _times([port.volts for port in ports], [port.farads for port in ports], matrix)
    found = [
        Store(
            net=names[port.across[0]] if names[port.across[0]] != circuit.ground else names[port.across[1]],
            volts=port.volts,
            farads=port.farads,
            ohms=matrix[number][number],
            seconds=times[number],
            joules=energy(port.farads, port.volts),
            parts=tuple(port.parts),
            across=(names[port.across[0]], names[port.across[1]]),
            by_rating=port.by_rating,
        )
        for number, port in enumerate(ports)
    ]
    return tuple(sorted(found, key=lambda store: (-store.joules, store.net)))


def blocking(circuit: Circuit) -> Circuit:
    """The circuit with its diodes taken out: charge stands against them, so that none of them lets it go."""
    parts = {name: part for name, part in circuit.parts.items() if part.kind.family != "diode"}
    return replace(circuit, parts=parts)


def lumps_of(circuit: Circuit, nets: Nets) -> list[int]:
    """Each net's lump: nets that chokes, fuses and meters join are one place for a charge. Ground stays by itself."""
    lump = list(range(len(nets.members)))

    def root(number: int) -> int:
        while lump[number] != number:
            number = lump[number]
        return number

    ground = nets.index.get(circuit.ground, -1)
    for a, b, _ in links(circuit, PASSING, windings=False):
        one, other = nets.index.get(a, -1), nets.index.get(b, -1)
        if -1 not in (one, other) and ground not in (one, other):
            lump[max(root(one), root(other))] = min(root(one), root(other))
    return [root(number) for number in range(len(lump))]


def _ports(circuit: Circuit, nets: Nets, lumps: list[int], known: Volts | None) -> list[_Port]:
    spread = volts(circuit, nets)
    fed = _behind_rectifiers(circuit, nets)
    ports: dict[tuple[int, int], _Port] = {}
    for a, b, name in links(circuit, {"capacitor"}, windings=False):
        part = circuit.parts[name]
        if part.value is None or nets.index.get(a, -1) == nets.index.get(b, -1):
            continue
        one, other = nets.index[a], nets.index[b]
        signed = _between(spread, one, other)
        if known is not None and (worked_out := known(a, b)) is not None:
            signed = worked_out if signed is None or abs(worked_out) > abs(signed) else signed
        by_rating = signed is None and bool({one, other} & fed) and part.value >= limit("store_farads")
        if by_rating:
            signed = part.ratings.get("V")
        if signed is None:
            continue
        pair = (lumps[one], lumps[other]) if signed >= 0 else (lumps[other], lumps[one])
        if pair[0] == pair[1]:
            continue
        port = ports.setdefault(pair, _Port(pair, 0.0))
        port.farads += part.value
        port.parts.append(name)
        if abs(signed) > port.volts:
            port.volts, port.by_rating = abs(signed), by_rating
    return list(ports.values())


def _between(spread: dict[int, float], one: int, other: int) -> float | None:
    """Volts from one net to another; of two that both float at supplies, the larger by size, at the most."""
    if one not in spread or other not in spread:
        return None
    return spread[one] - spread[other]


def _behind_rectifiers(circuit: Circuit, nets: Nets) -> set[int]:
    near: dict[int, set[int]] = {}
    ground = nets.index.get(circuit.ground, -1)
    for a, b, _ in links(circuit, {*PASSING, "resistor"}, windings=False):
        one, other = nets.index.get(a, -1), nets.index.get(b, -1)
        if -1 not in (one, other):
            near.setdefault(one, set()).add(other)
            near.setdefault(other, set()).add(one)
    reached = {nets.index[where] for where in rectified(circuit) if where in nets.index} - {ground}
    queue = list(reached)
    while queue:
        for other in near.get(queue.pop(), set()) - reached - {ground}:
            reached.add(other)
            queue.append(other)
    return reached


def _counts(circuit: Circuit, nets: Nets, lumps: list[int], port: _Port) -> bool:
    if dangerous(port.volts, port.farads):
        return True
    if port.farads < limit("store_farads") or port.volts <= limit("discharged"):
        return False
    names = {
        lumps[nets.index[name]] for name, net in circuit.nets.items() if net.purpose == "supply" and name in nets.index
    }
    return bool(names & set(port.across))


def _name(circuit: Circuit, nets: Nets, lumps: list[int], number: int) -> str:
    """What a person calls a lump: ground, a supply's name, any name, a strip's lug, a terminal that holds still."""
    points = [where for net, lump in enumerate(lumps) if lump == number for where in nets.members[net]]

    def rank(where: Point) -> tuple[bool, bool, bool, float]:
        net = circuit.nets.get(where)
        part = circuit.parts.get(part_of(where))
        size = abs(net.volts) if net is not None and net.volts is not None else 0.0
        return where != circuit.ground, not is_net(where), part is not None and part.kind.hangs, size

    return min(points, key=rank)


def _resistances(pairs: Sequence[tuple[int, int]], names: dict[int, Point], ohms: Ohms) -> list[list[float]]:
    """What a current into one store finds at another: from the resistances between their places alone.

    R(ab, cd) = (r_ad + r_bc - r_ac - r_bd) / 2, for any linear network. Stores that nothing joins, or
    that have no path themselves, do not touch each other.
    """
    read: dict[tuple[int, int], float] = {}

    def between(a: int, b: int) -> float:
        if a == b:
            return 0.0
        if (a, b) not in read and (b, a) not in read:
            value = ohms(names[a], names[b])
            nominal = value if isinstance(value, (int, float)) else value.nominal
            read[a, b] = nominal if nominal < _ENDLESS else math.inf
        return read[a, b] if (a, b) in read else read[b, a]

    size = len(pairs)
    matrix = [[0.0] * size for _ in range(size)]
    for i, (a, b) in enumerate(pairs):
        matrix[i][i] = between(a, b)
    for i, (a, b) in enumerate(pairs):
        for j, (c, d) in enumerate(pairs[:i]):
            if math.inf in (matrix[i][i], matrix[j][j]):
                continue
            if math.inf in (corners := (between(a, d), between(b, c), between(a, c), between(b, d))):
                continue
            matrix[i][j] = matrix[j][i] = (corners[0] + corners[1] - corners[2] - corners[3]) / 2
    return matrix


def _times(start: list[float], farads: list[float], matrix: list[list[float]]) -> list[float]:
    """Seconds until each store has fallen to the limit ``discharged`` for good."""
    end = limit("discharged")
    out = [0.0 if value <= end else math.inf for value in start]
    live = [number for number in range(len(start)) if matrix[number][number] < math.inf]
    if len(live) == 1:
        number = live[0]
        out[number] = seconds_to(start[number], end, matrix[number][number], farads[number])
        return out
    if not live:
        return out
    import numpy as np

    root = np.sqrt(np.array([farads[number] for number in live]))
    scaled = root[:, None] * np.array([[matrix[i][j] for j in live] for i in live]) * root[None, :]
    taus, vectors = np.linalg.eigh(scaled)
    taus = np.maximum(taus, 1e-15)
    weights = vectors * (vectors.T @ (root * np.array([start[number] for number in live])))[None, :] / root[:, None]

    def volts_at(index: int, seconds: float) -> float:
        return abs(float(weights[index] @ np.exp(-seconds / taus)))

    for index, number in enumerate(live):
        # Beyond this time not even the sum of all parts of the voltage, each by itself, is above the limit.
        total = float(np.abs(weights[index]).sum())
        late = float(taus.max()) * math.log(max(total / end, 1.0))
        grid = [late * step / 400 for step in range(401)]
        above = [at for at in grid if volts_at(index, at) > end]
        if not above:
            out[number] = 0.0
            continue
        low, high = above[-1], above[-1] + late / 400
        for _ in range(60):
            middle = (low + high) / 2
            low, high = (middle, high) if volts_at(index, middle) > end else (low, middle)
        out[number] = high
    return out
