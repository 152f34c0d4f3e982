"""Supplies that are not what the drawing has: rectifiers, heaters, relay coils, what lies across a short."""

from __future__ import annotations

from collections.abc import Iterator
from math import sqrt

from netdiff.circuit import Part
from netdiff.electrical.supplies import shorted
from netdiff.hazards.rule import Hazard, Rule
from netdiff.quantities import show
from netdiff.readings.side import Side

HEATER_HIGH, HEATER_LOW = 0.12, 0.2
"""A heater stands 10 % for long (receiving tubes, common practice); these leave room for the line."""

COIL_HIGH = 1.3
COIL_LOW = 0.6
"""A relay pulls in above some two thirds of its voltage and burns slowly above one and a third; common practice."""


def rectifiers(side: Side) -> Iterator[Hazard]:
    """A solid-state rectifier where the drawing has a tube."""
    drawn = side.drawn
    if drawn is None:
        return
    for state, was, feed in side.feeds_beside_drawn():
        if not feed.supply.rectifiers or not was.supply.rectifiers:
            continue
        old = drawn.circuit.parts[was.supply.rectifiers[0]]
        new = side.circuit.parts[feed.supply.rectifiers[0]]
        if old.kind.name != "tube" and old.words == new.words:
            continue
        rise = was.supply.drop - feed.supply.drop
        if new.kind.name == "tube" or rise <= 0.5:
            continue
        names = feed.supply.rectifiers
        net = was.supply.net or feed.supply.net
        peak = sqrt(2) * feed.supply.ac_volts
        at = (was.volts, feed.volts)
        there = (drawn.direct(state).volts_nominal(net), side.direct(state).volts_nominal(net)) if net else at
        low, high = (abs(one) if one is not None else other for one, other in zip(there, at, strict=True))
        says = (
            f"{' and '.join(names)}: {_sort(new)} in place of {_sort(old)}. {net or 'The supply'} rises from "
            f"{show(low, 'V', 3)} to about {show(high, 'V', 3)} {_in(state)}"
        )
        if old.kind.name == "tube" and peak > high:
            says += f", and until the tubes are warm it can stand near {show(peak, 'V', 3)}"
        yield Hazard((feed.supply.key,), says + ".", parts=names, nets=(net,) if net else ())


def _sort(part: Part) -> str:
    if part.kind.name == "tube":
        return part.kind.type
    word = next((w for w in part.words if w in ("silicon", "selenium", "germanium", "copper-oxide")), "")
    return f"{word} {part.kind.title}".strip() if word != "selenium" else "the selenium stack"


def _in(state: str) -> str:
    return f"in the state {state}" if state != "powered" else "with power on"


def heaters(side: Side) -> Iterator[Hazard]:
    for name, part in side.circuit.parts.items():
        facts = part.kind.facts
        if part.kind.name != "tube" or not isinstance(facts.get("heater_volts"), float):
            continue
        names = [lug.name for lug in part.kind.terminals]
        ends = ("f1", "f2") if "f1" in names else ("h1", "h2")
        if ends[0] not in names or ends[1] not in names:
            continue
        asks = [float(facts["heater_volts"])]
        if isinstance(facts.get("heater_parallel_volts"), float):
            asks.append(float(facts["heater_parallel_volts"]))
        for state in side.powered:
            volts = side.alternating(state).volts(f"{name}.{ends[0]}", f"{name}.{ends[1]}")
            if not volts or volts < 0.05 * asks[0]:
                continue
            ask = min(asks, key=lambda one: abs(volts - one))
            if -HEATER_LOW * ask <= volts - ask <= HEATER_HIGH * ask:
                continue
            high = volts > ask
            yield Hazard(
                (name, "high" if high else "low"),
                f"The heater of {name} ({part.kind.type}, {show(ask, 'V')}) gets about {show(volts, 'V', 3)} "
                f"{_in(state)}.",
                parts=(name,),
                terminals=tuple(f"{name}.{end}" for end in ends),
                hold="power" if high else "deliver",
                why="It burns out." if high else "Too cold a cathode is stripped, and the stage is weak.",
            )
            break


def coils(side: Side) -> Iterator[Hazard]:
    for name, part in side.circuit.parts.items():
        if part.kind.family != "relay" or not part.kind.lug("coil1"):
            continue
        rated = part.ratings.get("V") or part.ratings.get("Vac")
        if not rated:
            continue
        a, b = f"{name}.coil1", f"{name}.coil2"
        seen: list[tuple[float, str, str]] = []
        for state in side.powered:
            direct = side.direct(state).volts(a, b)
            if direct is not None and abs(direct.nominal) > 0.02 * rated:
                seen.append((abs(direct.nominal), "d.c.", state))
            other = side.alternating(state).volts(a, b)
            if other and other > 0.02 * rated:
                seen.append((other, "a.c.", state))
        if not seen:
            continue
        volts, sort, state = max(seen)
        wanted = "a.c." if "Vac" in part.ratings and "V" not in part.ratings else "d.c."
        if volts > COIL_HIGH * rated:
            says, hold = "more than it stands", "power"
        elif volts < COIL_LOW * rated:
            says, hold = "too little to pull in", "deliver"
        elif sort != wanted and part.foreign is False:
            says, hold = f"a coil for {wanted}", "deliver"
        else:
            continue
        yield Hazard(
            (name, says),
            f"The coil of {name}, for {show(rated, 'V')}, gets {show(volts, 'V', 3)} {sort} {_in(state)}: {says}.",
            parts=(name,),
            terminals=(a, b),
            hold=hold,  # type: ignore[arg-type]
        )


def shorts(side: Side) -> Iterator[Hazard]:
    """A supply into a short, or into another supply: what would happen if the switch were closed."""
    for state in side.powered:
        for says in side.direct(state).trouble:
            net = says.partition(" ")[0]
            yield Hazard((net,), f"{says} ({_in(state)})", nets=(net,) if net in side.circuit.nets else ())
    for state in side.powered:
        mains = list(_shorted_mains(side, state))
        yield from mains or _shorted_windings(side, state)


def _shorted_mains(side: Side, state: str) -> Iterator[Hazard]:
    at = side.mains(state)
    if at.hot & at.cold:
        says = f"The two sides of the line are joined {_in(state)}: the fuse goes at once, the unit's or the house's."
        yield Hazard(("mains",), says, nets=tuple(n for n, net in side.circuit.nets.items() if net.purpose == "mains"))


def _shorted_windings(side: Side, state: str) -> Iterator[Hazard]:
    """Windings with two terminals on one node; a stated voltage says that one is there to be had."""
    for winding in side.circuit.windings:
        ends = shorted(winding, side.alternating(state).nodes) if winding.volts else None
        if ends is not None:
            a, b = ends
            says = f"The winding of {winding.part} from {a} to {b} is shorted {_in(state)}: it takes all that the line "
            says += "gives, until a fuse goes or it burns."
            yield Hazard(("shorted", winding.part, winding.terminals[0]), says, (winding.part,), (a, b))


RULES = (
    Rule(
        "wrong-supply",
        "a solid-state rectifier in a tube's place, or silicon for selenium",
        "It drops less and does not wait for the heaters: capacitors and cold tubes see more than drawn.",
        "power",
        "common practice: the drop of the old rectifier is made up by a resistor, set by measurement",
        rectifiers,
        own=False,
    ),
    Rule(
        "wrong-supply",
        "a heater on a voltage that is not its own",
        "A heater stands some 10 % either way.",
        "power",
        "common practice; heater ratings of tube manuals",
        heaters,
    ),
    Rule(
        "wrong-supply",
        "a relay coil on a voltage that is not its own",
        "It burns, chatters or does not pull in.",
        "deliver",
        "common practice",
        coils,
    ),
    Rule(
        "overstressed",
        "a supply that is shorted, or joined to another",
        "Something burns or a fuse goes as soon as it is switched on.",
        "power",
        "Ohm's law on the network as found",
        shorts,
    ),
)
