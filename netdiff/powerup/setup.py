"""What is connected and set in a stage, in sentences, from the circuit's own parts."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final

from netdiff.circuit import Point
from netdiff.powerup.anatomy import Anatomy
from netdiff.powerup.consumption import Draw, lamp
from netdiff.powerup.stages import figure
from netdiff.powerup.states import settings
from netdiff.powerup.supplies import Supply, primaries
from netdiff.powerup.ways import METAL, R_F
from netdiff.quantities import show

ISOLATE: Final = (
    "Through an isolation transformer: one side of the line is this set's ground, and switched off it may be live "
    "still. A variable autotransformer does not isolate. No grounded meter or scope is clipped on, whichever way the "
    "plug goes in."
)
HOT: Final = (
    "This set's ground is one side of the line: no reading under power without the isolation transformer, and no "
    "grounded meter or scope clipped on."
)
FLOATS: Final = "The metal of the chassis is treated as live, isolation transformer or not."


def some(names: Iterable[str]) -> str:
    return ", ".join(names)


def mains(anatomy: Anatomy) -> Iterator[str]:
    """The first thing of every stage that has the plug in."""
    if anatomy.hot:
        yield ISOLATE
        if anatomy.circuit.ground != "chassis" and "chassis" in anatomy.ways.nets.index:
            yield FLOATS


def series_lamp(watts: float, how: str) -> str:
    return f"A series lamp of {show(watts, 'W')}, incandescent, in the lead from the plug. {how}".rstrip()


def reckoned(draw: Draw) -> str:
    """How the lamp was chosen."""
    return f"One to two times what the stage should draw ({draw.how})." if draw.how else ""


def hand_switches(anatomy: Anatomy) -> str:
    """The switches before every transformer."""
    circuit = anatomy.circuit
    names = [n for n in sorted(anatomy.common) if circuit.parts[n].kind.family == "switch"]
    return (
        f"Set {some(f'{n} ({circuit.parts[n].label})' if circuit.parts[n].label else n for n in names)} to on."
        if names
        else ""
    )


def kept_dead(anatomy: Anatomy, supply: Supply) -> str:
    """How a supply with a gate of its own stays without power: its fuse out, else a switch open, else its lead off."""
    parts = anatomy.circuit.parts
    gate = anatomy.gate(supply)
    fuse = next((n for n in gate if parts[n].kind.family == "fuse"), "")
    switch = next((n for n in gate if parts[n].kind.family == "switch"), "")
    nets = some(supply.nets[:2])
    if fuse:
        return f"{fuse} out: {supply.transformer} stays dead whatever closes, and {nets} with it."
    if switch:
        return f"{switch} stays open: {supply.transformer} stays dead, and {nets} with it."
    if gate:
        return f"One primary lead of {supply.transformer} off and insulated: {nets} stays dead."
    return without_rectifier(supply)


def without_rectifier(supply: Supply) -> str:
    """A supply that shares its transformer stays dead with its rectifier out."""
    nets = some(supply.nets[:1])
    if supply.outside:
        return f"Nothing connected at {nets}."
    if supply.pulled and set(supply.pulled) == set(supply.rectifiers):
        return f"{some(supply.pulled)} out: no voltage on {nets}."
    solid = [n for n in supply.rectifiers if n not in supply.pulled]
    lift = "lift one lead of its winding, cold, and insulate it"
    return f"{some(solid)} cannot be pulled: {lift}, so that {nets} stays dead."


def back_in(anatomy: Anatomy, supply: Supply) -> str:
    """The supply comes to life in this stage."""
    gate = anatomy.gate(supply)
    fuse = next((n for n in gate if anatomy.circuit.parts[n].kind.family == "fuse"), "")
    if supply.outside:
        ground = anatomy.circuit.ground
        return f"A bench supply with its current limited, off, at {some(supply.nets[:1])}; its other side on {ground}."
    if fuse:
        return f"{fuse} in, of its own rating."
    if gate:
        return f"The primary of {supply.transformer} connected and its switch as the state says."
    if supply.pulled:
        return f"{some(supply.pulled)} in."
    solid = [n for n in supply.rectifiers if n not in supply.pulled]
    return f"{some(solid)}: winding connected again." if solid else ""


def primary_ends(anatomy: Anatomy, transformer: str) -> tuple[Point, Point] | None:
    """The two lugs of a transformer's primary."""
    ways, fed = anatomy.ways, primaries(anatomy.ways)
    for one in anatomy.circuit.windings:
        ends = f"{one.part}.{one.terminals[0]}", f"{one.part}.{one.terminals[-1]}"
        if one.part == transformer and {ways.net(end) for end in ends} == set(fed.get(transformer, ())):
            return ends
    return None


def reduced(anatomy: Anatomy, supply: Supply, draw: Draw) -> Iterator[str]:
    """A lamp or a variable transformer: where it goes, and its steps."""
    steps = figure("reduced")["percent"]
    if supply.outside:
        at = ", ".join(show(round(abs(supply.volts) * p / 100), "V") for p in steps)
        yield (
            f"Turn it up in steps: {at}; two minutes each, back to zero, discharge."
            if supply.volts
            else "Turn it up in steps."
        )
        return
    at = ", ".join(show(round(anatomy.line_volts * p / 100), "Vac") for p in steps)
    gate = anatomy.gate(supply)
    fuse = next((n for n in gate if anatomy.circuit.parts[n].kind.family == "fuse"), "")
    watts = show(lamp(draw.watts), "W")
    if gate:
        place = (
            f"fitted cold in place of {fuse}" if fuse else f"fitted cold in the primary lead of {supply.transformer}"
        )
        yield (
            f"A series lamp of {watts}, incandescent, {place}, in an insulated holder away from the set, so that the "
            f"heaters keep their full voltage. {reckoned(draw)}"
        ).rstrip()
        yield f"Or a variable transformer in the primary lead of {supply.transformer}: {at}, two minutes each."
        if supply.mercury:
            yield "The filaments of the mercury rectifiers stay at full voltage all the time."
        return
    yield series_lamp(lamp(draw.watts), reckoned(draw))
    yield f"Then, or instead, a variable transformer: {at}, two minutes each. Not longer: the heaters are cold there."
    yield "With lamps alone, a larger one for each step, by the volts that the set then gets."
    if anatomy.hot:
        yield "The variable transformer comes before the isolation transformer and does not replace it."


def dummy(anatomy: Anatomy) -> Iterator[str]:
    """The load in the aerial's place."""
    nets = anatomy.circuit.nets
    for output in anatomy.outputs:
        reached = anatomy.ways.reach([anatomy.ways.net(output)], METAL, stop=anatomy.ways.ground)
        known = [nets[p] for number in reached for p in anatomy.ways.names(number) if p in nets]
        ohms = next((n.impedance for n in known if n.impedance), None)
        power = next((n.power for n in known if n.power), None)
        load = f" of {show(ohms, 'ohm')}" if ohms else ""
        size = f" for at least {show(2 * power, 'W')}" if power else " for twice the power expected"
        yield f"A dummy load{load}, non-inductive,{size}, at {output}. Never an aerial, never nothing."


def blocking(anatomy: Anatomy) -> tuple[str, ...]:
    """Capacitors that alone keep the plate voltage off the aerial."""
    ways = anatomy.ways
    plates = [ways.net(f"{t}.p") for t in anatomy.finals]
    ends = {ways.net(o) for o in anatomy.outputs}
    reached = ways.reach(plates, R_F, stop=ways.ground)
    parts = [w.part for net, path in reached.items() if net in ends for w in path if w.sort == "capacitor"]
    return tuple(dict.fromkeys(parts))


def proof_of_blocking(anatomy: Anatomy) -> tuple[str, ...]:
    """No ohmmeter tells whether a blocking capacitor stands its voltage."""
    blocks = blocking(anatomy)
    one = len(blocks) == 1
    keep, each = ("keeps", "it") if one else ("keep", "each")
    says = f"{some(blocks)} alone {keep} the plate voltage off {some(anatomy.outputs)}: prove {each} at working voltage"
    return (f"{says}, one lead lifted.",) if blocks else ()


def interlocks(anatomy: Anatomy) -> Iterator[str]:
    """Door switches in the way of the mains: they do their work in these stages too."""
    names = [
        name
        for supply in anatomy.supplies
        for name in supply.gate
        if anatomy.circuit.parts[name].kind.family == "interlock"
    ]
    for name in dict.fromkeys(names):
        yield f"{name} is closed by its door alone, never strapped for a reading: clip on cold, shut it, switch on."


def in_state(anatomy: Anatomy, state: str) -> tuple[str, ...]:
    return settings(anatomy, state)


def speakers(anatomy: Anatomy) -> Iterator[str]:
    if anatomy.speakers and not anatomy.finals:
        yield f"{some(anatomy.speakers)} connected, or a resistor in its place: an output transformer never runs open."
