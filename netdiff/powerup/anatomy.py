"""What a set is made of, for somebody who brings it up: heaters, supplies, output stage, modulator, hot or not."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from netdiff.circuit import Circuit, Point, part_of
from netdiff.powerup.meters import Meters
from netdiff.powerup.supplies import Supply, electrode, inlets, mains_nets, primaries, supplies
from netdiff.powerup.ways import METAL, R_F, STRING, Ways, heater_ends

STOPPER: Final = 1000.0
"""Ohms up to which a resistor in a plate lead is a stopper or suppressor, not a load or dropper. Common practice."""


@dataclass(frozen=True, slots=True)
class Heaters:
    """Heaters that burn together. Volts r.m.s. across the winding or the string, watts when hot."""

    transformer: str
    """Empty: across the line, or from outside."""
    tubes: tuple[str, ...]
    volts: float
    watts: float
    series: bool = False
    across: tuple[Point, Point] = ("", "")
    """Where a meter goes: the two heater pins of one tube, or the ends of the string."""


@dataclass(frozen=True)
class Anatomy:
    ways: Ways
    mains: bool
    """It has a cord or inlet of its own."""
    line_volts: float
    hot: bool
    """A side of the mains reaches the ground of the readings: no transformer isolates it."""
    transformers: tuple[str, ...]
    """With a primary on the mains."""
    heaters: tuple[Heaters, ...]
    supplies: tuple[Supply, ...]
    outputs: tuple[Point, ...]
    """Where r.f. power comes out."""
    finals: tuple[str, ...]
    """Tubes whose plates work into an output."""
    drivers: tuple[str, ...]
    """Tubes whose plates work into a final's grid, the last first."""
    modulators: tuple[str, ...]
    speakers: tuple[str, ...]
    audio: tuple[str, ...]
    """Output tubes: their plates work into the transformer of a loudspeaker."""
    keys: tuple[Point, ...]
    """Jacks and switches between an electrode's return or a blocking line and ground: the key."""
    meters: Meters

    @property
    def circuit(self) -> Circuit:
        return self.ways.circuit

    @property
    def power_tubes(self) -> tuple[str, ...]:
        """Tubes that destroy themselves, and what feeds them, when their bias is gone."""
        return tuple(dict.fromkeys((*self.finals, *self.modulators, *self.audio)))

    def of_role(self, role: str) -> tuple[Supply, ...]:
        return tuple(one for one in self.supplies if one.role == role)

    @property
    def common(self) -> frozenset[str]:
        """Fuses and contacts that every transformer hangs behind."""
        gates = [set(one.gate) for one in self.supplies if one.transformer]
        return frozenset(set.intersection(*gates)) if gates else frozenset()

    def gate(self, supply: Supply) -> tuple[str, ...]:
        """What stands between the mains and this supply alone."""
        return tuple(name for name in supply.gate if name not in self.common) if supply.transformer else ()

    @property
    def string_with_rectifier(self) -> tuple[str, ...]:
        """Plate rectifiers whose heater is a link of a string: with one out, no heater of it burns."""
        pulled = {name for one in self.of_role("plate") for name in one.pulled}
        return tuple(t for one in self.heaters if one.series for t in one.tubes if t in pulled)


def anatomy(circuit: Circuit, meters: Meters | None = None) -> Anatomy:
    """``meters`` are those of a unit with its drawing beside it; without them the circuit is its own drawing."""
    ways = Ways.of(circuit)
    found = supplies(ways)
    outputs, finals = _output(ways)
    return Anatomy(
        ways=ways,
        mains=any(p.kind.name.startswith(("cord-", "inlet-")) for p in circuit.parts.values()),
        line_volts=_line(circuit),
        hot=_hot(ways),
        transformers=tuple(primaries(ways)),
        heaters=tuple(_heaters(ways)),
        supplies=found,
        outputs=outputs,
        finals=finals,
        drivers=_drivers(ways, finals),
        modulators=_modulators(ways, finals),
        speakers=tuple(name for name, part in circuit.parts.items() if part.kind.family == "speaker"),
        audio=_audio(ways),
        keys=tuple(_keys(ways)),
        meters=meters or Meters.of(circuit),
    )


def _line(circuit: Circuit) -> float:
    volts = [net.volts for net in circuit.nets.values() if net.purpose == "mains" and net.volts]
    fed = [w.volts for w in circuit.windings if w.volts and w.part in primaries(Ways.of(circuit))]
    return max(volts, default=max(fed, default=0.0))


def _hot(ways: Ways) -> bool:
    """Mains to ground through metal or heaters; a line bypass capacitor does not count here."""
    earth = {ways.net(name) for name, net in ways.circuit.nets.items() if net.purpose == "earth"}
    return any(net in ways.ground - earth for net in ways.reach(inlets(ways), METAL | {"heater"}))


def _heaters(ways: Ways) -> Iterator[Heaters]:
    circuit = ways.circuit
    tubes = {
        name: (ways.net(f"{name}.{ends[0]}"), ways.net(f"{name}.{ends[1]}"))
        for name, part in circuit.parts.items()
        if part.kind.family == "tube" and (ends := heater_ends(part)) is not None
    }
    taken: set[str] = set()
    for winding in circuit.windings:
        nets = {ways.net(f"{winding.part}.{end}") for end in winding.terminals}
        outer = [ways.net(f"{winding.part}.{end}") for end in (winding.terminals[0], winding.terminals[-1])]
        both = set(ways.reach(outer, METAL, stop=ways.ground)) | nets
        here = [t for t, (a, b) in tubes.items() if a in both and b in both and a != b and t not in taken]
        own = [t for t in here if tubes[t][0] not in ways.ground or tubes[t][1] not in ways.ground]
        if own and not nets <= mains_nets(ways):
            taken |= set(own)
            volts = winding.volts or max(_fact(circuit, t, "heater_volts") for t in own)
            yield Heaters(winding.part, tuple(own), volts, _watts(ways, own, both), False, _pins(circuit, own[0]))
    left = {t: nets for t, nets in tubes.items() if t not in taken and -1 not in nets}
    mains = mains_nets(ways)
    string = ways.reach(mains - ways.ground, STRING, stop=ways.ground)
    chain = [t for t, (a, b) in left.items() if a in string and b in string and a != b]
    if chain and mains:
        volts = sum(_fact(circuit, t, "heater_volts") for t in chain)
        ends = _string_ends(ways, chain)
        yield Heaters("", tuple(chain), volts, _watts(ways, chain, set()), True, ends)
    rest = [t for t in left if t not in chain]
    for name, net in circuit.nets.items():
        number = ways.net(name)
        here = [t for t in rest if number in left[t]]
        if net.purpose == "heater" and here and number not in ways.ground:
            rest = [t for t in rest if t not in here]
            volts = net.volts or max(_fact(circuit, t, "heater_volts") for t in here)
            yield Heaters("", tuple(here), volts, _watts(ways, here, {number}), False, _pins(circuit, here[0]))


def _string_ends(ways: Ways, chain: list[str]) -> tuple[Point, Point]:
    """The two heater pins that lie on the mains or on ground."""
    ends = []
    for tube in chain:
        pins = heater_ends(ways.circuit.parts[tube]) or ("", "")
        for pin in pins:
            net = ways.net(f"{tube}.{pin}")
            others = [
                t for t in chain if t != tube and any(f"{t}.{p}" in ways.names(net) for p in ("h1", "h2", "f1", "f2"))
            ]
            if not others or net in ways.ground:
                ends.append(f"{tube}.{pin}")
    return (ends[0], ends[-1]) if len(ends) > 1 else ("", "")


def _pins(circuit: Circuit, tube: str) -> tuple[Point, Point]:
    ends = heater_ends(circuit.parts[tube]) or ("", "")
    return f"{tube}.{ends[0]}", f"{tube}.{ends[1]}"


def _fact(circuit: Circuit, tube: str, name: str) -> float:
    fact = circuit.parts[tube].kind.facts.get(name, 0.0)
    return fact if isinstance(fact, float) else 0.0


def _watts(ways: Ways, tubes: list[str], nets: set[int]) -> float:
    """Of the heaters by the tube table, and of lamps across the same nets by their own figures."""
    circuit = ways.circuit
    watts = sum(_fact(circuit, t, "heater_volts") * _fact(circuit, t, "heater_amps") for t in tubes)
    for name, part in circuit.parts.items():
        if part.kind.name == "lamp" and {ways.net(f"{name}.1"), ways.net(f"{name}.2")} <= nets:
            watts += (part.value or 0.0) * part.ratings.get("A", 0.0)
    return watts


def _output(ways: Ways) -> tuple[tuple[Point, ...], tuple[str, ...]]:
    """The r.f. nets that plates work into, and the tubes of those plates. An aerial that feeds a grid is none."""
    circuit = ways.circuit
    barrier = _supply_nets(ways) | ways.ground
    outputs: list[Point] = []
    finals: list[str] = []
    for name, net in circuit.nets.items():
        number = ways.net(name)
        if net.purpose != "rf" or number < 0 or number in barrier:
            continue
        reached = {n for n in ways.reach([number], R_F, stop=barrier) if n not in barrier}
        if net.power:  # said to give power, so that a link coil is a way out and not a way in
            linked = {ways.net(p) for p in _coupled(ways, reached)} - barrier
            reached |= {n for n in ways.reach(linked, R_F, stop=barrier) if n not in barrier}
        plates = [p for n in reached for p in ways.names(n) if electrode(ways, p) == "p"]
        # An aerial relay may stand between the net and its socket.
        near = [n for n in ways.reach([number], METAL, stop=barrier) if n not in barrier]
        sockets = [p for n in near for p in ways.names(n) if _is_socket(circuit, p)]
        if plates and (sockets or net.power):
            outputs += sockets or [name]
            finals += [part_of(p) for p in plates]
    return tuple(dict.fromkeys(outputs)), tuple(sorted(set(finals), key=lambda t: (len(t), t)))


def _coupled(ways: Ways, reached: set[int]) -> Iterator[Point]:
    """The ends of other windings of the coils that were reached."""
    for part in {w.part for w in ways.circuit.windings if ways.circuit.parts[w.part].kind.family == "inductor"}:
        ends = [f"{w.part}.{t}" for w in ways.circuit.windings if w.part == part for t in w.terminals]
        if any(ways.net(p) in reached for p in ends):
            yield from ends


def _is_socket(circuit: Circuit, point: Point) -> bool:
    part = circuit.parts.get(part_of(point))
    return part is not None and part.kind.family in ("connector", "jack")


def _supply_nets(ways: Ways) -> frozenset[int]:
    return frozenset(
        ways.net(name)
        for name, net in ways.circuit.nets.items()
        if net.purpose in ("supply", "bias", "mains", "heater")
    )


def _drivers(ways: Ways, finals: tuple[str, ...]) -> tuple[str, ...]:
    """Tube after tube back from the finals' grids, through coils and capacitors."""
    barrier = _supply_nets(ways) | ways.ground
    found: list[str] = []
    front = list(finals)
    while front:
        grids = [ways.net(p) for t in front for p in ways.circuit.parts[t].points() if electrode(ways, p) == "g1"]
        reached = ways.reach(grids, R_F | {"resistor"}, stop=barrier)
        front = list(dict.fromkeys(
            part_of(p)
            for net in reached
            if net not in barrier
            for p in ways.names(net)
            if electrode(ways, p) == "p" and part_of(p) not in (*finals, *found)
        ))  # fmt: skip
        found += front
    return tuple(found)


def _modulators(ways: Ways, finals: tuple[str, ...]) -> tuple[str, ...]:
    """Tubes that work into a transformer of which another winding lies in a final's plate lead."""
    circuit = ways.circuit
    own = set(primaries(ways))
    tubes: list[str] = []
    for part in dict.fromkeys(w.part for w in circuit.windings if w.part not in own):
        if circuit.parts[part].kind.family != "transformer":
            continue
        plates = [_plates_behind(ways, part, w.terminals) for w in circuit.windings if w.part == part]
        if any(tube in finals for some in plates for tube in some):
            tubes += [tube for some in plates for tube in some if tube not in finals]
    return tuple(dict.fromkeys(tubes))


def _audio(ways: Ways) -> tuple[str, ...]:
    """Tubes that work into a transformer of which another winding leads to a loudspeaker."""
    circuit = ways.circuit
    speakers = {ways.net(p) for part in circuit.parts.values() if part.kind.family == "speaker" for p in part.points()}
    near = set(ways.reach(speakers - {-1}, METAL | {"resistor"}, stop=ways.ground)) - ways.ground
    own = set(primaries(ways))
    tubes: list[str] = []
    for part in dict.fromkeys(w.part for w in circuit.windings if w.part not in own):
        wound = [w.terminals for w in circuit.windings if w.part == part]
        if any(ways.net(f"{part}.{end}") in near for terminals in wound for end in terminals):
            tubes += [tube for terminals in wound for tube in _plates_behind(ways, part, terminals)]
    return tuple(dict.fromkeys(tubes))


def _plates_behind(ways: Ways, part: str, terminals: tuple[str, ...]) -> list[str]:
    """Tubes whose plates the outer ends of a winding lead to, through chokes and small resistors."""
    ends = [ways.net(f"{part}.{end}") for end in (terminals[0], terminals[-1])]
    droppers = {n for n, p in ways.circuit.parts.items() if p.kind.family == "resistor" and (p.value or 0.0) > STOPPER}
    ways_out = {"fuse", "meter", "inductor", "resistor"}
    reached = ways.reach(ends, ways_out, stop=ways.ground, without={part, *droppers})
    return [part_of(p) for net in reached for p in ways.names(net) if electrode(ways, p) == "p"]


def _keys(ways: Ways) -> Iterator[Point]:
    """Jacks with one side on ground, and on the other a cathode, or a line that blocks a grid."""
    circuit = ways.circuit
    for name, part in circuit.parts.items():
        if part.kind.family != "jack" or not part.kind.lug("sleeve") or not part.kind.lug("tip"):
            continue
        tip, sleeve = ways.net(f"{name}.tip"), ways.net(f"{name}.sleeve")
        if sleeve not in ways.ground or tip in ways.ground:
            continue
        reached = ways.reach((tip,), {"inductor", "resistor", "fuse"}, stop=ways.ground)
        names = [p for net in reached for p in ways.names(net)]
        nets = [circuit.nets[p] for p in names if p in circuit.nets]
        cathode = any(electrode(ways, p) in ("k", "f1", "f2") for p in names)
        blocking = any(net.purpose in ("control", "bias") and (net.volts or 0.0) < 0 for net in nets)
        if blocking or (cathode and not any(net.purpose == "audio" for net in nets)):
            yield f"{name}.tip"
