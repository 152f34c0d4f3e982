"""What stands between a hand and the voltage: interlocks, delays, overloads, covers; and terminals outside."""

from __future__ import annotations

from collections.abc import Iterator

from netdiff.circuit import Part, Point, part_of
from netdiff.comparison.words import some
from netdiff.electrical.limits import limit
from netdiff.hazards.line import behind, line, words
from netdiff.hazards.rule import Hazard, Rule
from netdiff.quantities import show
from netdiff.readings.side import Side

_INTERLOCK = ("interlock", "door switch", "lid switch", "cover switch", "cabinet door", "shorting switch")
_PROTECTS = ("overload", "protect", "clamp", "warm-up", "time delay", "delay relay", "cut-out")
_COVERS = ("cover", "cage", "guard", "bottom plate", "shield plate", "perforated")
_TOUCHED = ("shell", "sleeve", "frame")
_OUTSIDE = ("jack", "connector")


def _says(part: Part, words_: tuple[str, ...]) -> bool:
    text = f"{part.label} {' '.join(part.words)}".lower()
    return any(word in text for word in words_)


def is_interlock(part: Part) -> bool:
    return part.kind.family == "interlock" or (part.kind.family in ("switch", "relay") and _says(part, _INTERLOCK))


def is_protection(part: Part) -> bool:
    """A part that takes the voltage away, or keeps it away, by itself: delay, overload, clamp, thermal switch."""
    if part.kind.name == "delay-relay" or "thermal" in part.words or "overload" in part.words:
        return part.kind.family in ("relay", "switch")
    return part.kind.family in ("relay", "switch", "tube", "diode", "resistor") and _says(part, _PROTECTS)


def bridged(side: Side, name: str) -> list[tuple[Point, Point]]:
    """Contacts of a part that the drawing keeps apart and that conductors join here, in the part or where it was."""
    drawn = side.drawn
    if drawn is None:
        return []
    out = []
    for contact in drawn.circuit.parts[name].kind.contacts:
        a, b = f"{name}.{contact.a}", f"{name}.{contact.b}"
        if drawn.same(a, b):
            continue
        here = [_stands_for(side, drawn, where) for where in (a, b)]
        if here[0] and here[1] and side.same(here[0], here[1]):
            out.append((a, b))
    return out


def _stands_for(side: Side, drawn: Side, where: Point) -> Point:
    """The point itself where the part is there; else one that the drawing joins to it."""
    if where in side.nets.index and part_of(where) in side.circuit.parts:
        return where
    others = drawn.nets.members[drawn.nets.index[where]] if where in drawn.nets.index else []
    return next((w for w in others if part_of(w) != part_of(where) and w in side.nets.index), "")


def defeated_interlock(side: Side) -> Iterator[Hazard]:
    """Door switches whose contacts are joined."""
    drawn = side.drawn
    if drawn is None:
        return
    for name, part in drawn.circuit.parts.items():
        if not is_interlock(part):
            continue
        for a, b in bridged(side, name):
            fed = some(words(side.circuit, one) for one in behind(drawn, a, b))
            says = f"{words(drawn.circuit, name)} no longer takes anything away"
            says += (
                f": {fed} can be on with the cabinet open."
                if fed
                else ": what it feeds can be on with the cabinet open."
            )
            yield Hazard((name, a, b), says, (name,), (a, b))


def defeated_protection(side: Side) -> Iterator[Hazard]:
    """Delays, overloads and clamps that are bridged or gone."""
    drawn = side.drawn
    if drawn is None:
        return
    for name, part in drawn.circuit.parts.items():
        if is_interlock(part) or not is_protection(part):
            continue
        delay = part.kind.name == "delay-relay" or "delay" in part.label.lower()
        for a, b in bridged(side, name):
            fed = some(words(side.circuit, one) for one in behind(drawn, a, b)) or "what it feeds"
            if delay:
                wait = part.ratings.get("s")
                says = f"{fed} no longer waits for {words(drawn.circuit, name)}" + (
                    f", {show(wait, 's')}" if wait else ""
                )
                says += ": full voltage meets cold tubes."
            else:
                says = f"{words(drawn.circuit, name)} can no longer switch {fed} off."
            yield Hazard((name, a, b), says, (name,), (a, b))
        if (
            name not in side.circuit.parts
            and not bridged(side, name)
            and part.kind.family in ("tube", "diode", "relay")
        ):
            yield Hazard((name, "gone"), f"{words(drawn.circuit, name)} is gone: nothing does its work.", (name,))


def missing_cover(side: Side) -> Iterator[Hazard]:
    """Covers, cages and guards that the drawing has as parts."""
    drawn = side.drawn
    if drawn is None:
        return
    for name, part in drawn.circuit.parts.items():
        electrical = part.kind.family in ("interlock", "switch", "relay", "resistor", "capacitor", "inductor", "tube")
        if name not in side.circuit.parts and not electrical and _says(part, _COVERS):
            says = f"{words(drawn.circuit, name)} is not there: what it covers lies open to hands and tools."
            yield Hazard((name,), says, (name,))


def hot_terminals(side: Side) -> Iterator[Hazard]:
    """Jacks and sockets that bring the line or a dangerous direct voltage out of the cabinet."""
    before = _on_the_line(side.drawn) if side.drawn is not None else {}
    one = line(side)
    for name, outside in _on_the_line(side).items():
        known = before.get(name, [])
        for group in ([w for w in known if w in outside], [w for w in outside if w not in known]):
            if not group or one is None:
                continue
            touched = [w for w in group if w.rpartition(".")[2] in _TOUCHED]
            says = f"{some(group)} {'is' if len(group) == 1 else 'are'} on the line ({show(one.volts, 'Vac')})"
            them = "it" if len(group) == 1 else "them"
            held = "it" if len(group) == 1 else some(touched)
            says += f", and {held} is metal that a hand holds." if touched else f": cover {them}, and plug nothing in."
            key = known if group[0] in known else group
            yield Hazard(("line", *key), says, (name,), tuple(group))
    for name, part in side.circuit.parts.items():
        if not _outside(part):
            continue
        for lug in part.kind.terminals:
            where = f"{name}.{lug.name}"
            value = most_volts(side, where)
            if value is None or abs(value) <= limit("discharged") or (one is not None and one.net(where) in one.live):
                continue
            says = f"{where} stands at {show(value, 'V', 3)}"
            says += (
                ", and it is metal that a hand holds."
                if lug.name in _TOUCHED
                else ": whoever touches a plug's tip or a key there holds it."
            )
            yield Hazard(("direct", where), says, (name,), (where,))


def _outside(part: Part) -> bool:
    return part.kind.family in _OUTSIDE and not part.kind.name.startswith(("inlet", "outlet"))


def _on_the_line(side: Side) -> dict[str, list[Point]]:
    """Jacks and sockets with their terminals that are on the line."""
    one = line(side)
    out: dict[str, list[Point]] = {}
    if one is None:
        return out
    for name, part in side.circuit.parts.items():
        if _outside(part):
            points = [f"{name}.{lug.name}" for lug in part.kind.terminals]
            live = [w for w in points if one.net(w) in one.live and not _ground_of_a_transformer_set(side, w)]
            if live:
                out[name] = live
    return out


def _ground_of_a_transformer_set(side: Side, where: Point) -> bool:
    """Ground that the line reaches is the chassis' own hazard, told once there."""
    return side.circuit.ground == "chassis" and side.same(where, "chassis")


def most_volts(side: Side, where: Point) -> float | None:
    """The most, by size, that a point stands at against ground in any state; None where nobody can say."""
    best: float | None = None
    for state in side.powered:
        volts = side.direct(state).volts_nominal(where)
        if volts is not None and (best is None or abs(volts) > abs(best)):
            best = volts
    return best


RULES = (
    Rule(
        "defeated-interlock",
        "a door switch that is bridged",
        "Somebody reaches in and the high voltage is on.",
        "power",
        "common practice: interlocks work before the first power; US code asks for them on transmitters above 350 V",
        defeated_interlock,
        own=False,
    ),
    Rule(
        "defeated-protection",
        "a delay, overload or clamp that is bridged or gone",
        "It was there to save rectifiers, tubes and iron that nobody makes any more.",
        "power",
        "common practice",
        defeated_protection,
        own=False,
    ),
    Rule(
        "missing-cover",
        "covers and guards that are gone",
        "Lethal voltage lies open.",
        "power",
        "common practice; MIL-HDBK-454, guideline 1, asks for guards from 70 V (from memory)",
        missing_cover,
        own=False,
    ),
    Rule(
        "hot-terminal",
        "the line or a dangerous voltage on a terminal outside",
        "A hand finds it without opening anything.",
        "power",
        "MIL-PRF-49192A, 3.2.1.1: accessible parts to 30 V r.m.s., 60 V d.c. (seen); 125 to 191 V on keys (copy)",
        hot_terminals,
    ),
)
