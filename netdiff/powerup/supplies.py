"""The supplies of a circuit, from its wiring: what rectifies, from which winding or the line, and what it feeds.

A winding is known by what hangs on it and a rectifier by where its two sides lead, never by a name. What
has no rectifier in the circuit comes from outside.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final, NamedTuple

from netdiff.circuit import Part, Point, part_of
from netdiff.powerup.ways import DIRECT, METAL, Ways, positions_in

ROLES: Final = ("plate", "bias", "control")
SMALL: Final = 3
"""From a rectifier to its winding lie at most so many parts: a surge resistor, a hash choke, a fuse."""


class Rectifier(NamedTuple):
    part: str
    source: int
    """The net on its alternating side."""
    out: int
    negative: bool
    plugs: bool
    mercury: bool


@dataclass(frozen=True, slots=True)
class Supply:
    role: str
    """``plate`` (plates and screens), ``bias`` (control grids), ``control``."""
    rectifiers: tuple[str, ...]
    pulled: tuple[str, ...]
    """Those of its rectifiers that plug in: with them out the supply is dead."""
    nets: tuple[str, ...]
    """Declared nets that it feeds, its output first."""
    volts: float
    """Its greatest declared voltage, with its sign; 0 where the drawing gives none."""
    transformer: str
    """Empty: from the line itself, or from outside."""
    gate: tuple[str, ...]
    """Fuses and contacts between the mains and its primary."""
    feeds: tuple[str, ...]
    """Tubes with a plate or screen on it."""
    grids: tuple[Point, ...]
    """Control grids that take their direct voltage from it."""
    mercury: bool = False
    outside: bool = False
    reached: frozenset[int] = frozenset()


def mains_nets(ways: Ways) -> frozenset[int]:
    """Nets that the mains reach through fuses and contacts, in whatever position; without what is ground there."""
    return frozenset(ways.reach(inlets(ways), METAL, stop=ways.ground))


def inlets(ways: Ways) -> tuple[int, ...]:
    """Where the mains come in: cord or inlet, else the nets of that purpose."""
    circuit = ways.circuit
    ends = [
        ways.net(f"{name}.{end}")
        for name, part in circuit.parts.items()
        if part.kind.name.startswith(("cord-", "inlet-"))
        for end in ("L", "N")
    ]
    named = [ways.net(name) for name, net in circuit.nets.items() if net.purpose == "mains"]
    return tuple(dict.fromkeys(net for net in (*ends, *named) if net >= 0))


def primaries(ways: Ways) -> dict[str, tuple[int, int]]:
    """Transformer -> the two nets of its primary: a winding with both ends on the mains."""
    mains = mains_nets(ways)
    out: dict[str, tuple[int, int]] = {}
    for winding in ways.circuit.windings:
        ends = [ways.net(f"{winding.part}.{end}") for end in (winding.terminals[0], winding.terminals[-1])]
        if all(end in mains for end in ends) and ends[0] != ends[1]:
            out.setdefault(winding.part, (ends[0], ends[1]))
    return out


def gate_of(ways: Ways, ends: tuple[int, int]) -> tuple[str, ...]:
    """Fuses and contacts between the inlet and these nets, the inlet's first."""
    paths = ways.reach(plugs(ways) or inlets(ways), METAL)
    return tuple(dict.fromkeys(way.part for end in ends for way in paths.get(end, ())))


def plugs(ways: Ways) -> tuple[int, ...]:
    """The inlet's own terminals: a declared mains net behind the switch is no beginning."""
    return tuple(net for net in inlets(ways) if any(_is_inlet(ways, point) for point in ways.names(net)))


def _is_inlet(ways: Ways, point: Point) -> bool:
    part = ways.circuit.parts.get(part_of(point))
    return part is not None and part.kind.name.startswith(("cord-", "inlet-"))


def alternating(ways: Ways) -> dict[int, str]:
    """Nets of secondary windings that heat nothing, with their transformer, and of the line itself (``""``)."""
    heated = {ways.net(f"{name}.{end}") for name, part in ways.circuit.parts.items() for end in _heater_pins(part)}
    fed = primaries(ways)
    out: dict[int, str] = {}
    for winding in ways.circuit.windings:
        nets = [ways.net(f"{winding.part}.{end}") for end in winding.terminals]
        if winding.part not in fed or {nets[0], nets[-1]} == set(fed[winding.part]):
            continue
        if nets[0] in heated and nets[-1] in heated | ways.ground:
            continue
        out |= {net: winding.part for net in nets if net >= 0 and net not in ways.ground}
    return out | {net: "" for net in mains_nets(ways) if net not in ways.ground}


def _heater_pins(part: Part) -> Iterator[str]:
    yield from (lug.name for lug in part.kind.terminals if lug.name in ("h1", "h2", "f1", "f2"))


def rectifying(part: Part) -> Iterator[tuple[str, str]]:
    """Pairs (anode, cathode) of a part that can rectify: a diode, a bridge, a tube with plates and no grid."""
    lugs = [lug.name for lug in part.kind.terminals]
    if part.kind.name == "bridge":
        yield from (("ac1", "+"), ("ac2", "+"), ("-", "ac1"), ("-", "ac2"))
    elif part.kind.family == "diode":
        yield "a", "k"
    elif part.kind.family == "tube" and "regulated_volts" not in part.kind.facts and "g1" not in lugs:
        for plate in (lug for lug in lugs if lug in ("p", "pa", "pb", "pd", "pda", "pdb")):
            own = part.kind.lug(f"k{plate[-1]}") if plate[-1] in "ab" else None
            cathode = own or part.kind.lug("k") or part.kind.lug("f1") or part.kind.lug("h1")
            if cathode is not None and "g1a" not in lugs:
                yield plate, cathode.name


class Near(NamedTuple):
    """How a net hangs on an alternating source: behind so many parts, at so many volts."""

    hops: int
    source: int
    volts: float


def rectifiers(ways: Ways) -> list[Rectifier]:
    """Every pair of which one side leads to a winding or the line, and the other to direct current.

    Where both sides lead to one, as with a diode on a filament winding that nothing burns on any more, the side
    of the higher voltage is the source.
    """
    sources = alternating(ways)
    volts = _volts(ways)
    near: dict[int, Near] = {}
    for limit in (METAL | {"resistor", "inductor", "lamp", "heater"}, METAL | {"resistor", "inductor", "capacitor"}):
        for source in sources:
            for net, path in ways.reach((source,), limit, stop=ways.ground).items():
                heats = any(way.sort == "heater" for way in path)
                if len(path) > SMALL or net in ways.ground or (heats and sources[source]):
                    continue
                new = Near(len(path), source, volts.get(source, 0.0))
                old = near.get(net)
                if old is None or (-new.volts, new.hops) < (-old.volts, old.hops):
                    near[net] = new
        found = [
            Rectifier(name, source, out, negative, part.kind.plugs, "mercury" in part.kind.title)
            for name, part in ways.circuit.parts.items()
            for anode, cathode in rectifying(part)
            for source, out, negative in _sides(ways, near, f"{name}.{anode}", f"{name}.{cathode}")
        ]
        if found:
            return found
    return []


def _volts(ways: Ways) -> dict[int, float]:
    """Net of a winding's end or of the line -> volts."""
    out = {ways.net(n): net.volts for n, net in ways.circuit.nets.items() if net.purpose == "mains" and net.volts}
    for winding in ways.circuit.windings:
        for end in winding.terminals:
            net = ways.net(f"{winding.part}.{end}")
            out[net] = max(out.get(net, 0.0), winding.volts or 0.0)
    return out


def _sides(ways: Ways, near: Mapping[int, Near], anode: Point, cathode: Point) -> Iterator[tuple[int, int, bool]]:
    a, k = ways.net(anode), ways.net(cathode)
    at_a, at_k = near.get(a), near.get(k)
    if at_a is None and at_k is None:
        return
    if at_k is None or (at_a is not None and (-at_a.volts, at_a.hops) < (-at_k.volts, at_k.hops)):
        if at_a is not None and k not in ways.ground and k >= 0:
            yield at_a.source, k, False
    elif (at_a is None or (-at_k.volts, at_k.hops) < (-at_a.volts, at_a.hops)) and a not in ways.ground and a >= 0:
        yield at_k.source, a, True


def supplies(ways: Ways) -> tuple[Supply, ...]:
    """Every supply: plate supplies first, the fewest fuses and contacts before it first, then the lowest.

    What comes from outside stands last of its role.
    """
    sources = alternating(ways)
    groups: dict[int, list[Rectifier]] = {}
    for one in rectifiers(ways):
        # Two filaments on one winding are one output.
        same = ways.reach((one.out,), METAL | {"winding", "inductor"}, stop=ways.ground)
        home = next((out for out in groups if out in same and out not in ways.ground), one.out)
        groups.setdefault(home, []).append(one)
    fed = primaries(ways)
    found = []
    for out, some in groups.items():
        transformer = sources.get(some[0].source, "")
        gate = gate_of(ways, fed[transformer]) if transformer else gate_of(ways, (some[0].source, out))
        found.append(_supply(ways, out, some, transformer, gate))
    taken = {net for one in found for net in one.reached}
    for name, net in ways.circuit.nets.items():
        number = ways.net(name)
        if net.purpose in ("supply", "bias") and number >= 0 and number not in taken | ways.ground:
            outside = _supply(ways, number, [], "", ())
            found.append(outside)
            taken |= outside.reached
    return tuple(sorted(found, key=lambda s: (ROLES.index(s.role), s.outside, len(s.gate), abs(s.volts))))


def _supply(ways: Ways, out: int, some: list[Rectifier], transformer: str, gate: tuple[str, ...]) -> Supply:
    circuit = ways.circuit
    powered = [name for name, state in circuit.states.items() if state.power]
    reached: dict[int, int] = {}
    every: list[dict[str, str] | None] = [positions_in(circuit, name) for name in powered]
    for positions in every or [None]:
        for net, path in ways.reach((out,), DIRECT, stop=ways.ground, positions=positions).items():
            reached[net] = min(len(path), reached.get(net, len(path)))
    for net in ways.ground:
        reached.pop(net, None)
    order = sorted(reached, key=lambda net: reached[net])
    names = [p for net in order for p in ways.names(net) if p in circuit.nets]
    nets = [n for n in names if circuit.nets[n].purpose not in ("mains", "earth", "heater")]
    volts = max((circuit.nets[n].volts or 0.0 for n in nets if not circuit.nets[n].ac), key=abs, default=0.0)
    points = [p for net in order for p in ways.names(net)]
    own = {one.part for one in some}
    feeds = [p for p in points if electrode(ways, p) in ("p", "g2") and part_of(p) not in own]
    grids = [p for p in points if electrode(ways, p) == "g1"]
    purposes = [circuit.nets[n].purpose for n in nets]
    negative = some[0].negative if some else volts < 0
    if feeds and not negative:
        role = "plate"
    elif negative and (grids or "bias" in purposes):
        role = "bias"
    else:
        role = "plate" if purposes[:1] == ["supply"] else "bias" if purposes[:1] == ["bias"] else "control"
    parts = tuple(dict.fromkeys(one.part for one in some))
    return Supply(
        role=role, rectifiers=parts, pulled=tuple(dict.fromkeys(one.part for one in some if one.plugs)),
        nets=tuple(nets), volts=volts, transformer=transformer, gate=gate,
        feeds=tuple(dict.fromkeys(map(part_of, feeds))), grids=tuple(grids) if role == "bias" else (),
        mercury=any(one.mercury for one in some), outside=not some, reached=frozenset(reached),
    )  # fmt: skip


def electrode(ways: Ways, point: Point) -> str:
    """``p``, ``g1``, ``g2`` of a tube that amplifies, whatever its section; empty for anything else."""
    part = ways.circuit.parts.get(part_of(point))
    if part is None or part.kind.family != "tube" or not any(lug.name.startswith("g1") for lug in part.kind.terminals):
        return ""
    terminal = point.partition(".")[2].partition("-")[0]
    return {"pa": "p", "pb": "p", "g1a": "g1", "g1b": "g1"}.get(terminal, terminal)
