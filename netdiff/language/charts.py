"""States, readings, loads and signals: what a file says of the set at work."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Final

from netdiff.circuit import Load, Place, Point, Reading, Signal, State
from netdiff.language.attributes import quantity_of
from netdiff.language.faults import listed, nearest
from netdiff.language.site import Site
from netdiff.language.statements import LoadLine, ReadingLine, SignalLine, StateLine
from netdiff.quantities import read_quantity, read_range

REST: Final = "rest"
_METERS: Final = {"ohms": ("ohm",), "volts": ("V", "Vac"), "amps": ("A",), "watts": ("W",)}


def state(site: Site, line: StateLine) -> State:
    """A state, its settings checked; ``rest`` and states that are there already are for the caller."""
    power = True
    for mode in line.modes:
        if mode == "power off":
            power = False
        else:
            site.source.fault(line.place, f"`{mode}` says nothing of a state", mode.split()[0], "power off")
    settings: dict[str, str] = {}
    for designator, position in line.settings:
        part = site.part(designator, line.place)
        if part is None:
            continue
        if settings.get(designator, position) != position:
            says = f"{designator} is at {settings[designator]} and at {position} in one state"
            site.source.fault(line.place, says, designator, nth=1)
        kind = part.kind
        allowed = (*kind.positions, *(("in", "out") if kind.plugs and not kind.positions else ()))
        if position in allowed:
            settings[designator] = position
        elif not allowed:
            site.source.fault(line.place, f"{designator} has no positions: it is a {kind.name}", designator)
        else:
            near = nearest(position, allowed)
            hint = f"the nearest is {near}" if near else ""
            says = f"{designator} has no position {position}: {kind.name} has {' '.join(allowed)}"
            site.source.fault(line.place, says, position, hint)
    return State(line.name, line.title, power, settings, (line.place,))


def add_state(site: Site, states: dict[str, State], line: StateLine) -> None:
    new = state(site, line)
    known = states.get(line.name)
    if line.name == REST:
        says = "`rest` always exists: power off, tubes in, nothing plugged into jacks"
        site.source.fault(line.place, says, REST, "a switch that rests elsewhere says so with its part: at N")
    elif known is not None and (known.settings != new.settings or known.power != new.power):
        where = site.source.where(known.places[0])
        site.source.fault(line.place, f"the state {line.name} is said otherwise in {where}", line.name)
    else:
        states[line.name] = new


def known_state(site: Site, name: str, states: Mapping[str, State], place: Place) -> str:
    """The state's name if there is such a state, else ``rest`` and a fault."""
    if name == REST or name in states:
        return name
    site.unknown(name, place, name, f"no line declares the state {name}", (REST, *states))
    return REST


def reading(site: Site, line: ReadingLine, states: Mapping[str, State]) -> Reading | None:
    a = _spot(site, line.a, line.place)
    b = site.point(line.b, line.place) if line.b else ""
    if not line.state and line.quantity != "ohms":
        names = listed((*states, REST))
        site.source.fault(line.place, f"{line.quantity} are read in a state", line.quantity, f"in {names}")
    at = known_state(site, line.state, states, line.place) if line.state else REST
    if line.a == line.b:
        site.source.fault(line.place, f"both ends of the reading are {line.a}", line.a, nth=1)
    if a is None or b is None:
        return None
    fixed: dict[str, object] = {"quantity": line.quantity, "a": a, "b": b, "state": at, "places": (line.place,)}
    if not line.amount:
        if line.quantity != "ohms":
            site.source.fault(line.place, "only ohms read `open`", "open", "= 0")
        return Reading(nominal=None, open=True, **fixed)  # type: ignore[arg-type]
    units = _METERS[line.quantity]
    first, *rest = line.amount
    tolerance = read_quantity(rest[0]) if len(rest) == 1 else None
    if rest and (tolerance is None or tolerance.unit != "%"):
        joined = first + rest[0]
        hint = f"without the blank: {joined}" if read_quantity(joined, units[0]) else "such as 20%"
        site.source.fault(line.place, f"`{rest[0]}` is no tolerance", rest[0], hint)
        return None
    # The chart of a drawing that writes M for a thousand writes so too.
    thousand = site.m_thousand and line.quantity == "ohms"
    span = read_range(first, units[0], thousand)
    if span is not None and span[0].unit in units:
        low, high = span[0].value, span[1].value
        return Reading(nominal=(low + high) / 2, low=low, high=high, ac=span[0].unit == "Vac", **fixed)  # type: ignore[arg-type]
    quantity = quantity_of(site.source, line.place, first, *units, m_thousand=thousand)
    if quantity is None:
        return None
    fixed["ac"] = quantity.unit == "Vac"
    if line.more:
        return Reading(nominal=None, low=quantity.value, **fixed)  # type: ignore[arg-type]
    if tolerance is None:
        return Reading(nominal=quantity.value, **fixed)  # type: ignore[arg-type]
    slack = abs(quantity.value) * tolerance.value
    return Reading(
        nominal=quantity.value, low=quantity.value - slack, high=quantity.value + slack, **fixed  # type: ignore[arg-type]
    )  # fmt: skip


def _spot(site: Site, word: str, place: Place) -> Point | None:
    """A point, or a part as a whole: a meter."""
    if "." in word or word[0].islower():
        return site.point(word, place)
    return word if site.part(word, place) is not None else None


def load(site: Site, line: LoadLine, states: Mapping[str, State]) -> Load | None:
    a, b = site.point(line.a, line.place), site.point(line.b, line.place)
    amps = quantity_of(site.source, line.place, line.amps, "A")
    at = known_state(site, line.state, states, line.place)
    if a is not None and a == b:
        site.source.fault(line.place, f"the current flows from {line.a} to itself", line.a)
        return None
    if a is None or b is None or amps is None:
        return None
    return Load(amps.value, a, b, at, (line.place,))


def signal(site: Site, line: SignalLine, known: Iterable[Signal]) -> Signal | None:
    points = [site.point(word, line.place) for word in line.points]
    for other in known:
        if other.name == line.name:
            where = f"line {other.places[0].line}"
            site.source.fault(line.place, f"the signal {line.name} is said twice: {where} says it too", line.name)
            return None
    return Signal(line.name, tuple(p for p in points if p is not None), (line.place,))
