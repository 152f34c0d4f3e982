"""Supplies that stand higher than the drawing has them: a capacitor ahead of the choke, a dropper that is bridged, a
regulator that is gone. And capacitors in series with nothing to share the voltage between them."""

from __future__ import annotations

from collections.abc import Iterator

from netdiff.circuit import Part, Point
from netdiff.comparison.words import some
from netdiff.electrical.supplies import HEATER_VOLTS, declared, rules
from netdiff.hazards.grids import when
from netdiff.hazards.rule import Hazard, Rule
from netdiff.hazards.supplies import rectifiers
from netdiff.quantities import show
from netdiff.readings.side import Side

HIGHER = 1.15
"""A supply within this of the drawn voltage is no news: the line alone moves it by a tenth; common practice."""


def capacitor_input(side: Side) -> Iterator[Hazard]:
    """A filter that begins with a choke in the drawing and with a capacitor here."""
    drawn = side.drawn
    if drawn is None:
        return
    for state, was, feed in side.feeds_beside_drawn():
        if not was.supply.choke or feed.supply.choke:
            continue
        net = was.supply.net or feed.supply.out
        low, high = drawn.direct(state).volts_nominal(net), side.direct(state).volts_nominal(net)
        parts = _ahead(side, feed.supply.out)
        what = f"{some(parts)} {'lies' if len(parts) == 1 else 'lie'}" if parts else "A capacitor lies"
        says = f"{what} ahead of the choke, which makes a capacitor input of the filter"
        if low is not None and high is not None:
            says += f": {net} rises from {show(low, 'V', 3)} to about {show(high, 'V', 3)} {when(state)}"
        yield Hazard((feed.supply.key,), says + ".", parts, nets=(net,) if net in side.circuit.nets else ())


def _ahead(side: Side, out: Point) -> tuple[str, ...]:
    """Filter capacitors straight on a rectifier's output."""
    least = float(rules()["filter_least_farads"]["value"])
    index = side.nets.index
    nets = {index[out]}
    for winding in side.circuit.windings:
        ends = {index[f"{winding.part}.{terminal}"] for terminal in winding.terminals}
        if winding.volts and winding.volts < HEATER_VOLTS and index[out] in ends:
            nets |= ends  # a filament that is the cathode
    held = [
        one.part
        for one in side.ohms().elements.capacitances
        if one.farads >= least and {index[one.a], index[one.b]} & nets
    ]
    return tuple(dict.fromkeys(held))


def higher(side: Side) -> Iterator[Hazard]:
    """Declared supplies that stand well above the drawing, but for those of which the rectifier's rule tells."""
    drawn = side.drawn
    if drawn is None:
        return
    told = {net for rule in (capacitor_input, rectifiers) for hazard in rule(side) for net in hazard.nets}
    for state in side.powered:
        known = [net for net in told if _ratio(side, drawn, net, state)]
        allowed = HIGHER * max([1.0, *(_ratio(side, drawn, net, state) for net in known)])
        risen = {net: _ratio(side, drawn, net, state) for net in declared(side.stock)}
        above = [net for net, ratio in risen.items() if ratio > allowed]
        above = [net for number, net in enumerate(above) if not any(side.same(net, one) for one in above[:number])]
        if above:
            most = max(above, key=lambda net: risen[net])
            says = [
                f"{net} stands at {show(side.direct(state).volts_nominal(net) or 0.0, 'V', 3)} "
                f"(drawn {show(drawn.direct(state).volts_nominal(net) or 0.0, 'V', 3)})"
                for net in sorted(above, key=lambda net: -risen[net])
            ]
            yield Hazard(("higher", most), f"{some(says)} {when(state)}.", _leans(side, most, state), nets=tuple(above))
            return


def _ratio(side: Side, drawn: Side, net: str, state: str) -> float:
    now, was = side.direct(state).volts_nominal(net), drawn.direct(state).volts_nominal(net)
    return now / was if now is not None and was is not None and abs(was) > 1.0 else 0.0


def _leans(side: Side, net: str, state: str) -> tuple[str, ...]:
    """The parts that the voltage of a net hangs on the most."""
    weight = side.direct(state).depends(net)
    return tuple(sorted(weight, key=lambda name: -weight[name])[:4])


def unshared(side: Side) -> Iterator[Hazard]:
    """Electrolytics in series whose joint nothing else holds."""
    joints: dict[int, list[tuple[Part, Point]]] = {}
    for one in side.ohms().elements.capacitances:
        part = side.circuit.parts[one.part]
        for where, other in ((one.a, one.b), (one.b, one.a)):
            if part.kind.polarised and not side.can_reach(where):
                joints.setdefault(side.nets.index[where], []).append((part, other))
    for number, held in joints.items():
        if len({other for _, other in held}) < 2 or len({part.designator for part, _ in held}) < 2:
            continue
        names = sorted({part.designator for part, _ in held})
        least = min((part.ratings["V"] for part, _ in held if "V" in part.ratings), default=None)
        volts = max((_across(side, a, b) for _, a in held for _, b in held), default=0.0)
        if least is not None and volts > least:
            says = (
                f"{some(names)} share {show(volts, 'V', 3)} in series with no resistor across each: the one that leaks "
            )
            says += f"less takes the most of it, and the weakest is rated for {show(least, 'V')}."
            yield Hazard(tuple(names), says, tuple(names), (side.nets.members[number][0],))


def _across(side: Side, a: Point, b: Point) -> float:
    seen = [side.direct(state).volts_nominal(a, b) for state in side.powered]
    return max((abs(volts) for volts in seen if volts is not None), default=0.0)


RULES = (
    Rule(
        "wrong-supply",
        "a capacitor ahead of a choke-input filter, or its choke bridged",
        "The supply rises by half, over what capacitors and tubes stand, and the rectifier gives its current in peaks.",
        "power",
        "common practice: 0.9 of the winding's volts behind a choke, 1.3 behind a capacitor",
        capacitor_input,
        own=False,
    ),
    Rule(
        "wrong-supply",
        "a supply, screen or bias line that stands well above the drawing",
        "What hangs on it was chosen for less.",
        "power",
        "Ohm's law on the network as found",
        higher,
        own=False,
    ),
    Rule(
        "overstressed",
        "electrolytics in series with nothing to share the voltage between them",
        "One of them takes more than it stands, fails shorted, and the other follows.",
        "power",
        "common practice: a resistor across each, 100 ohms per volt or a tenth of the leakage",
        unshared,
    ),
)
