"""Mains: fuses and switches and which leg they are in, capacitors on the line, live chassis and live terminals."""

from __future__ import annotations

import math
from collections.abc import Iterator

from netdiff.circuit import Part, Point
from netdiff.comparison.words import a_or_an, kind_words, some
from netdiff.electrical.derating import fit_for_line, line_capacitor_class
from netdiff.electrical.limits import limit
from netdiff.hazards.line import PASSING, Line, behind, line, metal, terminals, words
from netdiff.hazards.rule import Hazard, Rule
from netdiff.quantities import show
from netdiff.readings.side import Side


def unfused(side: Side) -> Iterator[Hazard]:
    """Consumers that no fuse stands before. A bridged fuse counts as one: ``wrong_fuse`` tells it."""
    one = line(side)
    if one is None:
        return

    def fuseless(part: Part) -> bool:
        return part.kind.family != "fuse"

    hot = frozenset(one.reach(one.starts("L"), fuseless))
    neutral = one.starts("N")

    def returns(name: str) -> bool:
        """Whether the current of a consumer on the hot side comes back to the neutral over no fuse."""
        far = {one.net(where) for where in terminals(side.circuit, side.circuit.parts[name])} - hot - {-1}
        return bool(set(one.reach(far, fuseless, loads=True, never=hot)) & neutral)

    behind_bridged = {name for where in _bridged_fuses(side) for name in _consumers_of(side, where)}
    bare = sorted(name for name in one.consumers(set(hot)) if name not in behind_bridged and returns(name))
    before: list[str] = []
    if side.drawn is not None:
        before = sorted({name for hazard in unfused(side.drawn) for name in hazard.key[1:]})
        if before and not any(part.kind.family == "fuse" for part in side.stock.parts.values()):
            # The drawing has no fuse for anything: whatever was added has none either, and that is said.
            bare = before
    for names in (before, [name for name in bare if name not in before]):
        if set(names) & set(bare):
            yield Hazard(
                ("unfused", *names),
                f"No fuse stands between the mains and {some(words(side.circuit, name) for name in names)}.",
                parts=tuple(name for name in names if name in side.circuit.parts),
                nets=_named(side, set(hot)),
            )


def wrong_fuse(side: Side) -> Iterator[Hazard]:
    """Fuses that are bridged, larger than drawn, or something else."""
    drawn = side.drawn
    if drawn is None:
        return
    for where in _bridged_fuses(side):
        hang = _consumers_of(side, where)
        rest = _fuses_before(side, where)
        says = f"{where} is bridged and can never blow"
        if hang:
            says += f": {some(words(side.circuit, name) for name in hang)} then {'hangs' if len(hang) == 1 else 'hang'}"
            says += f" on the mains behind {some(rest)} alone" if rest else " on the mains with no fuse at all"
        yield Hazard(("bridged", where), says + ".", (where,), (f"{where}.1", f"{where}.2"))
    for name, part in drawn.circuit.parts.items():
        there = side.circuit.parts.get(name)
        if part.kind.family != "fuse" or there is None or there.read_off is False:
            continue
        if there.kind.family != "fuse":
            says = f"{a_or_an(kind_words(there)).capitalize()} stands where {name}, a fuse, belongs: it does not blow."
            yield Hazard(("no fuse", name), says, (name,))
        elif part.value and there.value and there.value > 1.02 * part.value:
            hang = _consumers_of(side, name)
            says = (
                f"{name} carries {show(there.value, 'A')} for ever, {there.value / part.value:.2g} times what the "
                "factory allowed: a fault that draws less burns"
                + (f" in {some(words(side.circuit, one) for one in hang)} or" if hang else "")
                + " in the wiring before it blows."
            )
            yield Hazard(("oversize", name), says, (name,), nets=_nets_of(side, name))


def wrong_leg(side: Side) -> Iterator[Hazard]:
    """Fuses, and switches without a pole in the line, that stand in the neutral of a plug that tells the two apart."""
    one = line(side)
    if one is None or not one.known:
        return
    hot = {name for way in one.hot.values() for name in way.over}
    for name in dict.fromkeys(name for way in one.cold.values() for name in way.over):
        part = one.circuit.parts[name]
        if part.kind.family == "fuse":
            alone = "" if any(one.circuit.parts[n].kind.family == "fuse" for n in hot) else " The line has no fuse."
            says = f"{name}, a fuse, stands in the neutral: when it blows the unit looks dead and is still live.{alone}"
        elif part.kind.family == "switch" and name not in hot:
            says = f"{name}, {a_or_an(kind_words(part))}, switches the neutral alone: off, the unit is still live."
        else:
            continue
        yield Hazard(("neutral", name), says, (name,), nets=_named(side, set(one.cold)))


def line_capacitors(side: Side) -> Iterator[Hazard]:
    """Capacitors across the line and from the line to metal that lack the safety class for it."""
    one = line(side)
    if one is None:
        return
    touched = metal(side) - one.live
    for name, part in side.circuit.parts.items():
        if part.kind.family != "capacitor" or part.kind.ends is None:
            continue
        ends = [one.net(f"{name}.{end}") for end in part.kind.ends]
        to_metal = any(end in one.live for end in ends) and any(end in touched for end in ends)
        across = all(end in one.live for end in ends) and ends[0] != ends[1]
        if not (to_metal or across) or fit_for_line(part, chassis=to_metal):
            continue
        has = line_capacitor_class(part)
        lacks = f"is of class {has}, which is for across the line alone" if has else "has no safety class"
        if to_metal:
            says = f"{name} stands from the line to the chassis and {lacks}: a Y class belongs there. "
            says += "If it shorts, the chassis is the line."
            if part.value:
                says += f" Sound, it passes {show(current(one, part.value), 'A', 2)}."
        else:
            says = f"{name} stands across the line and {lacks}: an X or Y class belongs there. If it shorts, it burns."
        yield Hazard((name, *_changed(side, part)), says, (name,), nets=_nets_of(side, name))


def hot_chassis(side: Side) -> Iterator[Hazard]:
    """Metal or the earth wire on the line, or tied to it by more than may leak."""
    one = line(side)
    if one is None:
        return
    touched = metal(side)
    for name in one.entry:
        number = one.net(f"{name}.E")
        if number >= 0 and number in one.live:
            net, over = _word(side, number), one.hot.get(number, one.cold.get(number))
            switch = f" through {some(over.over)}" if over is not None and over.over else ""
            yield Hazard(
                ("earth", name),
                f"The earth wire of {name} is on {net}, which is one side of the line{switch}. In a sound outlet that "
                "is a short from line to earth; where the outlet's earth is open, all that it earths carries the line.",
                (name,),
                (f"{name}.E",),
                _nets(side, number),
            )
            touched -= {number}
    for number in touched & one.live:
        yield Hazard(
            ("chassis", _word(side, number)),
            f"{_word(side, number).capitalize()} is one side of the line: whoever touches it touches the mains.",
            nets=_nets(side, number),
        )
    for number in sorted(touched - one.live):
        yield from _through(side, one, number)
        yield from _return(side, one, number)


def _through(side: Side, one: Line, number: int) -> Iterator[Hazard]:
    """Metal that hangs on the line through parts: what flows from it to earth."""
    amps, parts = _leak(side, one, number)
    if amps <= limit("leakage"):
        return
    name = _word(side, number)
    more: tuple[str, ...] = ()
    if side.drawn is not None and name in side.drawn.nets.index and (drawn := line(side.drawn)) is not None:
        before, _ = _leak(side.drawn, drawn, side.drawn.nets.index[name])
        more = ("more",) if amps > 1.2 * before else ()
    says = f"{name.capitalize()} hangs on the line through {some(sorted(parts))}: {show(amps, 'A', 2)} flow through "
    says += f"whoever touches it and earth, where {show(limit('leakage'), 'A')} are allowed."
    if side.nets.index.get(side.circuit.ground, -1) in one.live:
        says += " On the bench an isolation transformer goes before it."
    yield Hazard(("through", name, *more), says, tuple(sorted(parts)), nets=_nets(side, number))


def _return(side: Side, one: Line, number: int) -> Iterator[Hazard]:
    """Metal that takes the current of a load back, as a neutral does."""
    for start, other in ((one.hot, one.cold), (one.cold, one.hot)):
        if start is one.cold and one.known:
            continue
        way = one.reach(set(start), loads=True, never=frozenset(other), stop=one.metal).get(number)
        parts = [side.circuit.parts[name] for name in way.over] if way is not None else []
        ohms = sum(part.value or 0.0 for part in parts if part.kind.family == "resistor")
        takes = [
            part.designator for part in parts if part.kind.family not in PASSING and part.kind.family != "resistor"
        ]
        if takes and ohms * limit("leakage") < one.volts:
            name = _word(side, number)
            yield Hazard(
                ("return", name),
                f"{name.capitalize()} is the return of {some(words(side.circuit, take) for take in takes)}: its "
                "current flows through whoever touches it and earth.",
                tuple(takes),
                nets=_nets(side, number),
            )
            return


def _leak(side: Side, one: Line, number: int) -> tuple[float, list[str]]:
    """Amperes (r.m.s.) from the worse side of the line to metal, and the parts that carry them."""
    best: tuple[float, list[str]] = (0.0, [])
    for start in (one.hot, one.cold):
        if start is one.cold and one.known:
            continue
        parts, real, imaginary = [], 0.0, 0.0
        for name, part in side.circuit.parts.items():
            if part.kind.ends is None or not part.value:
                continue
            ends = {one.net(f"{name}.{end}") for end in part.kind.ends}
            if number not in ends or not (ends - {number}) & set(start):
                continue
            if part.kind.family == "capacitor":
                imaginary += current(one, part.value)
            elif part.kind.family == "resistor":
                real += one.volts / part.value
            else:
                continue
            parts.append(name)
        if (amps := math.hypot(real, imaginary)) > best[0]:
            best = amps, parts
    return best


def current(one: Line, farads: float) -> float:
    """Amperes (r.m.s.) through a capacitor across the line: 2 pi f C V."""
    return 2 * math.pi * one.hertz * farads * one.volts


def _bridged_fuses(side: Side) -> list[str]:
    """Fuses whose two ends conductors join here and not in the drawing (in the drawing: at all)."""
    out = []
    for name, part in (side.drawn or side).circuit.parts.items():
        if part.kind.family == "fuse" and side.same(f"{name}.1", f"{name}.2"):
            if side.drawn is None or not side.drawn.same(f"{name}.1", f"{name}.2"):
                out.append(name)
    return out


def _consumers_of(side: Side, fuse: str) -> list[str]:
    return behind(side.drawn or side, f"{fuse}.1", f"{fuse}.2")


def _fuses_before(side: Side, fuse: str) -> list[str]:
    one = line(side)
    number = one.net(f"{fuse}.1") if one is not None else -1
    way = one.hot.get(number) or one.cold.get(number) if one is not None else None
    fuses = [side.circuit.parts[name] for name in way.over] if way is not None else []
    return [
        f"{part.designator} ({show(part.value, 'A')})" if part.value else part.designator
        for part in fuses
        if part.kind.family == "fuse"
    ]


def _changed(side: Side, part: Part) -> tuple[str, ...]:
    """What makes a capacitor another one than the drawing's: a person chose it, and is told so."""
    drawn = side.stock.parts.get(part.designator)
    if side.drawn is None or drawn is None or not part.read_off:
        return ()
    value = part.value is not None and drawn.value is not None and abs(part.value / drawn.value - 1) > 0.02
    make = bool(part.words) and set(part.words) != set(drawn.words)
    return ("changed",) if value or make else ()


def _nets(side: Side, number: int) -> tuple[str, ...]:
    return tuple(where for where in side.nets.members[number] if where in side.circuit.nets)


def _nets_of(side: Side, name: str) -> tuple[str, ...]:
    numbers = {side.nets.index.get(where, -1) for where in side.circuit.parts[name].points()} - {-1}
    return tuple(dict.fromkeys(net for number in sorted(numbers) for net in _nets(side, number)))


def _named(side: Side, numbers: set[int]) -> tuple[str, ...]:
    nets = side.circuit.nets
    return tuple(
        name for name, net in nets.items() if net.purpose == "mains" and side.nets.index.get(name, -1) in numbers
    )


def _word(side: Side, number: int) -> Point:
    members = side.nets.members[number]
    names = [side.circuit.ground, "chassis", *_nets(side, number)]
    return next((name for name in names if name in members), members[0])


RULES = (
    Rule(
        "unfused",
        "what hangs on the mains without a fuse",
        "Nothing ends a fault but the house's own fuse, long after the wiring burns.",
        "power",
        "common practice: one fuse in the hot lead, before the switch and everything else",
        unfused,
    ),
    Rule(
        "wrong-fuse",
        "a fuse that is bridged, larger than drawn, or no fuse",
        "A fault burns the transformer or the wiring before this fuse blows.",
        "power",
        "common practice; a fuse maker's guide: a fuse is loaded to 75 % of its rating, not less",
        wrong_fuse,
        own=False,
    ),
    Rule(
        "wrong-leg",
        "a fuse or switch in the neutral",
        "Off or blown, the unit looks dead, and every point of it still carries the line.",
        "power",
        "common practice: fuse and switch belong in the hot lead, the neutral goes straight through",
        wrong_leg,
    ),
    Rule(
        "unsafe-line-capacitor",
        "capacitors on the line without a safety class",
        "It has the line across it as long as the plug is in, and a common one fails shorted.",
        "power",
        "IEC 60384-14: X where a failure gives no shock, Y where it could (draft, seen); to the chassis Y2 (copy)",
        line_capacitors,
    ),
    Rule(
        "hot-chassis",
        "metal or the earth wire on the line, or tied to it",
        "The line reaches what somebody touches.",
        "power",
        "common practice; leakage limit of service manuals (copy)",
        hot_chassis,
    ),
)
