"""Every part of the unit with its terminals and what each is joined to, in the drawing and in the unit."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from typing import Final

from netdiff.circuit import Circuit, Part, Point, Reading, is_net, natural, part_of, terminal_of
from netdiff.comparison.merged import scene_of
from netdiff.comparison.results import Comparison, Finding
from netdiff.comparison.scene import Scene
from netdiff.comparison.words import kind_words, value_words
from netdiff.quantities import show
from netdiff.reporting.html.model import Contact, Item

MOST: Final = 6
"""Neighbours told by name; the rest is counted."""

_UNITS: Final = {"ohms": "ohm", "volts": "V", "amps": "A", "watts": "W"}


def anchor(designator: str) -> str:
    """The id of a part in the page. A designator is letters and digits after an optional question mark."""
    return "part-" + designator.replace("?", "x-")


def items(comparison: Comparison, scene: Scene | None = None) -> tuple[Item, ...]:
    """The parts of the drawing in its order, then those that only the unit has."""
    scene = scene or scene_of(comparison)
    by_part: dict[str, dict[str, Finding]] = defaultdict(dict)
    for finding in comparison.findings:
        for name in touched(finding):
            by_part[name][finding.id] = finding
    unseen = frozenset(comparison.coverage.not_traced)
    differ = frozenset(comparison.coverage.differ)
    readings = _readings(comparison)
    found_points: dict[str, list[Point]] = defaultdict(list)
    for where in scene.here:
        found_points[part_of(where)].append(where)
    aliases = {drawn: name for name, drawn in scene.alignment.same.items() if drawn != name}
    out = []
    for name in dict.fromkeys((*comparison.stock.parts, *scene.found_parts)):
        drawn, seen = comparison.stock.parts.get(name), scene.found_parts.get(name)
        if name in scene.missing:
            seen = None
        contacts = tuple(_contacts(scene, name, drawn, found_points[name], unseen, differ))
        part = drawn or seen
        assert part is not None
        findings = tuple(by_part[name].values())
        notes = (f"The found file calls it {aliases[name]}.",) if name in aliases else ()
        out.append(
            Item(
                name,
                anchor(name),
                _words(part),
                part.zone,
                _look(contacts, findings, drawn),
                _words(drawn) if drawn else "",
                _seen_words(name, seen, scene, contacts),
                notes,
                contacts,
                findings,
                tuple(readings.get(name, ())),
            )
        )
    return tuple(out)


def touched(finding: Finding) -> tuple[str, ...]:
    """The parts that a finding speaks of, by themselves or by a terminal."""
    points = (part_of(where) for where in finding.terminals)
    return tuple(name for name in dict.fromkeys((*finding.parts, *points)) if name)


def reading_words(reading: Reading) -> str:
    """``R5.1 to chassis: 22 kΩ``, ``M1: 110 mA in keyed``."""
    where = f"{reading.a} to {reading.b}" if reading.b else reading.a
    state = "" if reading.quantity == "ohms" else f" in {reading.state}"
    return f"{where}: {value_of(reading)}{state}"


def value_of(reading: Reading) -> str:
    """``22 kΩ``, ``open``, ``250 V to 290 V``."""
    unit = _UNITS[reading.quantity]
    if reading.open:
        return "open"
    if reading.nominal is None:
        return f"more than {show(reading.low, unit)}" if reading.low is not None else "open"
    if reading.low is not None and reading.high is not None and reading.low != reading.high:
        return f"{show(reading.low, unit, 3)} to {show(reading.high, unit, 3)}"
    return show(reading.nominal, unit)


def _readings(comparison: Comparison) -> Mapping[str, list[str]]:
    out: dict[str, list[str]] = defaultdict(list)
    for whose, circuit in (("the drawing's chart", comparison.stock), ("read at the bench", comparison.found.circuit)):
        for reading in circuit.readings:
            # ``amps M1`` names the part itself.
            ends = (part_of(end) or ("" if is_net(end) else end) for end in (reading.a, reading.b))
            for name in dict.fromkeys(end for end in ends if end):
                out[name].append(f"{reading_words(reading)} ({whose})")
    return out


def _words(part: Part) -> str:
    words = " ".join(word for word in (kind_words(part), value_words(part)) if word)
    return f"{words}, “{part.label}”" if part.label else words


def _seen_words(name: str, seen: Part | None, scene: Scene, contacts: Iterable[Contact]) -> str:
    if name in scene.missing:
        return "not there"
    if seen is None or (not seen.read_off and not seen.conditions):
        looked = any(contact.look != "unseen" for contact in contacts)
        return "not read off; taken as drawn" if looked else "nobody looked"
    words = [_words(seen) if seen.read_off else "not read off; taken as drawn", *seen.conditions]
    if seen.measured is not None and seen.kind.unit:
        words.append(f"measured {show(seen.measured, seen.kind.unit)}")
    return ", ".join(words)


def _look(contacts: tuple[Contact, ...], findings: tuple[Finding, ...], drawn: Part | None) -> str:
    if drawn is None:
        return "found"
    if findings:
        return "differs"
    looks = {contact.look for contact in contacts}
    if "differs" in looks:
        return "differs"
    if "unseen" in looks:
        return "unseen" if looks == {"unseen"} else "partly"
    return "agrees"


def _contacts(
    scene: Scene,
    name: str,
    drawn: Part | None,
    found_points: list[Point],
    unseen: frozenset[Point],
    differ: frozenset[Point],
) -> Iterable[Contact]:
    stock_points = [where for where in scene.drawn.index if part_of(where) == name] if drawn is None else []
    if drawn is not None:
        lugs = [f"{name}.{lug.name}" for lug in drawn.kind.terminals]
        stock_points = [where for where in lugs if where in scene.drawn.index]
    for where in dict.fromkeys((*stock_points, *found_points)):
        on_stock = where in scene.drawn.index
        before = _neighbours(scene.drawn.members[scene.drawn.index[where]], where, scene.stock) if on_stock else ""
        if where in unseen:
            yield Contact(terminal_of(where), before, "nobody looked", "unseen")
            continue
        here = scene.here.get(where)
        now = _neighbours(scene.members[here], where, scene.stock) if here is not None else "not there"
        if before == now == "nothing":
            continue  # a pin that neither circuit uses
        look = "differs" if where in differ else "agrees" if on_stock else "found"
        yield Contact(terminal_of(where), before or "no such terminal", now if look != "agrees" else "as drawn", look)


def _neighbours(members: Iterable[Point], where: Point, stock: Circuit) -> str:
    others = [other for other in members if other != where]
    names = [other for other in others if is_net(other)]
    names.sort(key=lambda name: name != stock.ground)
    if stock.ground in names:
        return stock.ground  # half of the unit stands there
    terminals = sorted((other for other in others if not is_net(other)), key=natural)
    shown = terminals[:MOST]
    more = len(terminals) - len(shown)
    words = ", ".join([*names, *shown]) + (f" and {more} more" if more else "")
    return words or "nothing"
