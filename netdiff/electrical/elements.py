"""What each part is to a direct current, cold: joints, resistances with bounds, diodes, capacitors.

What a part does not state is taken from ``unstated.yaml``, where each figure has its source.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import partial
from itertools import pairwise
from math import inf
from typing import Any, Final, Literal, NamedTuple

from netdiff.circuit import Circuit, Part, Point, Winding
from netdiff.electrical.interval import Interval
from netdiff.electrical.limits import table

Heat = Literal["cold", "hot"]

REST = "rest"
POWERED = "powered"
"""Everything as at rest, and the mains on: for a drawing that names no state."""


class Resistance(NamedTuple):
    """A resistance between two points, ohms."""

    part: str
    a: Point
    b: Point
    ohms: Interval


class Diode(NamedTuple):
    part: str
    anode: Point
    cathode: Point


class Capacitance(NamedTuple):
    """Farads from the first point to the second; of a polarised capacitor the first is its positive end."""

    part: str
    a: Point
    b: Point
    farads: float
    polarised: bool = False


@dataclass(slots=True)
class Elements:
    """All of a circuit in one state. ``doubtful`` are parts of which nobody can say what they join."""

    joints: list[tuple[Point, Point]] = field(default_factory=list)
    resistances: list[Resistance] = field(default_factory=list)
    diodes: list[Diode] = field(default_factory=list)
    capacitances: list[Capacitance] = field(default_factory=list)
    doubtful: list[str] = field(default_factory=list)


unstated: Final = partial(table, "unstated")


def elements(circuit: Circuit, state: str = "rest", heat: Heat = "cold") -> Elements:
    """The elements of a circuit, its switches, relays and plug-in parts as the state has them. Raises KeyError for a
    state that the circuit does not have."""
    settings = settings_of(circuit, state)
    windings: dict[str, list[Winding]] = defaultdict(list)
    for winding in circuit.windings:
        windings[winding.part].append(winding)
    out = Elements()
    for part in circuit.parts.values():
        _add(out, part, position(part, settings), windings.get(part.designator, ()), heat)
    return out


def settings_of(circuit: Circuit, state: str) -> Mapping[str, str]:
    if state in (REST, POWERED) and state not in circuit.states:
        return {}
    return circuit.states[state].settings


def has_power(circuit: Circuit, state: str) -> bool:
    """Whether mains are applied in a state."""
    return circuit.states[state].power if state in circuit.states else state == POWERED


def position(part: Part, settings: Mapping[str, str]) -> str:
    """Where a switch, relay, jack or plug-in part stands: as the state says, else at rest."""
    rest = part.at or (part.kind.positions[0] if part.kind.positions else "")
    return settings.get(part.designator, rest)


def _add(out: Elements, part: Part, at: str, windings: Iterable[Winding], heat: Heat) -> None:
    kind, name = part.kind, part.designator
    if kind.plugs and at == "out":
        return
    for group in kind.inside:
        out.joints += [(f"{name}.{group[0]}", f"{name}.{other}") for other in group[1:]]
    for contact in kind.contacts:
        if at in contact.positions:
            out.joints.append((f"{name}.{contact.a}", f"{name}.{contact.b}"))
    if kind.name == "fuse":
        if "blown" not in part.conditions:
            out.joints.append((f"{name}.1", f"{name}.2"))
        return
    if kind.name in ("unknown", "block"):
        out.doubtful.append(name)
        return
    wound = list(windings)
    for a, b, ohms in (*_wound(part, wound), *_resistances(part, bool(wound), heat)):
        if ohms.high == 0:
            out.joints.append((f"{name}.{a}", f"{name}.{b}"))
        else:
            out.resistances.append(Resistance(name, f"{name}.{a}", f"{name}.{b}", ohms))
    if kind.family == "diode":
        out.diodes += _diodes(part)
    if kind.family == "capacitor" or kind.name in ("variable", "trimmer", "feed-through"):
        out.capacitances += _capacitances(part)


def _wound(part: Part, windings: Iterable[Winding]) -> Iterator[tuple[str, str, Interval]]:
    """Windings, a tapped one in equal pieces: only its whole resistance is stated."""
    for winding in windings:
        pieces = len(winding.terminals) - 1
        if winding.resistance is None:
            whole = _unstated_winding(winding)
        else:
            whole = _spread(winding.resistance, *_tolerance("winding"))
        for a, b in pairwise(winding.terminals):
            yield a, b, Interval(*(ohms / pieces for ohms in whole))


def _unstated_winding(winding: Winding) -> Interval:
    rows = unstated()["unstated"]
    if winding.volts is not None and winding.volts < rows["heater_winding"]["below_volts"]:
        return _row("heater_winding")
    if winding.volts is not None and winding.volts < rows["line_winding"]["below_volts"]:
        return _row("line_winding")
    if winding.inductance is not None and winding.inductance < rows["choke_rf"]["below_henries"]:
        return _row("coil")
    return _row("winding")


def _resistances(part: Part, wound: bool, heat: Heat) -> Iterator[tuple[str, str, Interval]]:
    kind = part.kind
    names = [lug.name for lug in kind.terminals]
    if kind.name == "tube":
        yield from _heaters(part, names, heat)
    elif "coil1" in names and "coil2" in names:
        yield "coil1", "coil2", _stated_coil(part)
    elif kind.name == "delay-relay":
        yield "h1", "h2", _stated_coil(part)
    elif kind.family == "resistor" and len(names) >= 2:
        yield from _resistor(part, names, heat)
    elif kind.name == "lamp":
        yield names[0], names[1], _filament(part, "lamp", heat)
    elif kind.family == "inductor" and not wound and len(names) == 2:
        yield names[0], names[1], _inductor(part)
    elif kind.name in ("meter", "rf-meter"):
        ohms = part.ratings.get("ohm")
        fallback = _row("movement" if kind.name == "meter" else "thermocouple")
        yield names[0], names[1], _spread(ohms, 0.1, 0.1) if ohms else fallback
    elif kind.name == "speaker":
        row = unstated()["unstated"]["speaker"]
        ohms = (part.value or 4.0) * row["of_impedance"]
        yield names[0], names[1], _spread(ohms, row["down"], row["up"])
    elif kind.name in ("phones", "motor"):
        ohms = part.ratings.get("ohm")
        yield names[0], names[1], _spread(ohms, 0.2, 0.2) if ohms else _row(kind.name)
    elif kind.name == "battery" and heat == "cold":
        yield names[0], names[1], Interval(0.01, 1.0, 1000.0)


def _resistor(part: Part, names: list[str], heat: Heat) -> Iterator[tuple[str, str, Interval]]:
    ohms = part.measured if part.measured is not None else part.value
    if ohms is None:
        ohms = part.span[1] if part.span else None
    if ohms is None:
        return
    kind = part.kind.name
    if part.measured is not None:
        down = up = 0.02
    elif part.tolerance is not None:
        down = up = part.tolerance
    else:
        down, up = _tolerance(kind if kind in unstated()["tolerance"] else "resistor")
    if kind == "thermistor" and heat == "hot" and "ptc" not in part.words:
        ohms *= unstated()["hot"]["thermistor"]["of_cold"]
        down, up = 0.6, 1.5
    whole = _spread(ohms, down, min(up, 10.0))
    travel = unstated()["travel"]
    if len(names) == 2:
        if kind == "rheostat":
            whole = Interval(0.0, whole.nominal * travel["nominal"], whole.high)
        yield names[0], names[1], whole
    else:
        first, arm, last = names[:3]
        low, middle, high = travel["least"], travel["nominal"], travel["most"]
        yield first, arm, Interval(whole.low * low, whole.nominal * middle, whole.high * high)
        yield arm, last, Interval(whole.low * (1 - high), whole.nominal * (1 - middle), whole.high * (1 - low))


def _heaters(part: Part, names: list[str], heat: Heat) -> Iterator[tuple[str, str, Interval]]:
    """A heater or filament between its pins; with a tap, in proportion of the volts."""
    filament = "f1" in names or "f2" in names
    whole = _filament(part, "filament" if filament else "heater", heat)
    first, tap, last = ("f1", "ft", "f2") if filament else ("h1", "ht", "h2")
    if first not in names or last not in names:
        return
    if tap not in names:
        yield first, last, whole
        return
    share, near, far = 0.5, first, last
    volts, piece = part.kind.facts.get("heater_volts"), part.kind.facts.get("tap_volts")
    if isinstance(volts, float) and isinstance(piece, float) and 0 < piece < volts:
        share = piece / volts
        lugs = (part.kind.lug(pin) for pin in str(part.kind.facts.get("tap_pins", "")).split())
        if last in {lug.name for lug in lugs if lug is not None}:
            near, far = last, first
    yield near, tap, Interval(*(ohms * share for ohms in whole))
    yield tap, far, Interval(*(ohms * (1 - share) for ohms in whole))


def _filament(part: Part, sort: str, heat: Heat) -> Interval:
    facts = part.kind.facts
    if sort == "lamp":
        volts: Any = part.value or part.ratings.get("V") or part.ratings.get("Vac")
        amps: Any = part.ratings.get("A") or (part.ratings["W"] / volts if volts and "W" in part.ratings else None)
    else:
        volts, amps = facts.get("heater_volts"), facts.get("heater_amps")
    if not volts or not amps:
        return _row("lamp" if sort == "lamp" else "heater")
    hot = float(volts) / float(amps)
    if heat == "hot":
        return _spread(hot, 0.1, 0.1)
    row = unstated()["cold"][sort]
    return Interval(hot / row["most"], hot / row["hot_to_cold"], hot / row["least"])


def _stated_coil(part: Part) -> Interval:
    ohms = part.ratings.get("ohm")
    return _spread(ohms, *_tolerance("coil")) if ohms else _row("relay_coil")


def _inductor(part: Part) -> Interval:
    ohms = part.ratings.get("ohm")
    if ohms:
        return _spread(ohms, *_tolerance("winding"))
    if part.kind.name == "choke":
        small = part.value is not None and part.value < unstated()["unstated"]["choke_rf"]["below_henries"]
        return _row("choke_rf" if small else "choke")
    return _row("loop" if part.kind.name == "loop" else "coil")


def _diodes(part: Part) -> list[Diode]:
    name = part.designator
    if part.kind.name == "bridge":
        pairs = (("ac1", "+"), ("ac2", "+"), ("-", "ac1"), ("-", "ac2"))
        return [Diode(name, f"{name}.{a}", f"{name}.{k}") for a, k in pairs]
    return [Diode(name, f"{name}.a", f"{name}.k")]


def _capacitances(part: Part) -> list[Capacitance]:
    farads = part.measured if part.measured is not None else part.value
    if farads is None and part.span is not None:
        farads = part.span[1]
    ends = part.kind.ends or (("1", "2") if len(part.kind.terminals) >= 2 else None)
    if farads is None or ends is None:
        return []
    a, b = (f"{part.designator}.{end}" for end in ends)
    return [Capacitance(part.designator, a, b, farads, part.kind.polarised)]


def _tolerance(sort: str) -> tuple[float, float]:
    row = unstated()["tolerance"][sort]
    return float(row["down"]), float(row["up"])


def _row(sort: str) -> Interval:
    row = unstated()["unstated"][sort]
    return Interval(float(row["low"]), float(row["nominal"]), float(row["high"]))


def _spread(ohms: float, down: float, up: float) -> Interval:
    ohms = max(0.0, ohms)  # less than nothing is a slip of the pen
    return Interval(max(0.0, ohms * (1 - down)), ohms, ohms * (1 + up) if ohms < inf else inf)
