"""The chart of a circuit: the factory's own rows first, then every tube pin, connector contact and named net."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from netdiff.circuit import Circuit, Found, Point, Reading, is_net, natural, part_of, terminal_of
from netdiff.comparison.follow import Unknown, named
from netdiff.comparison.results import Comparison, Coverage, Tally
from netdiff.electrical.elements import unstated
from netdiff.electrical.interval import Interval
from netdiff.readings.side import Side, sides
from netdiff.readings.verdict import Judgement, Verdict, factory_interval, judge

REST = "rest"
RANGES = (2.5, 10.0, 50.0, 250.0, 500.0, 1000.0, 2500.0)
"""Volt ranges of the meters of the day; common practice. A chart was taken on the lowest that held the reading."""

AC_SHARE = 0.1
"""Of the direct voltage: an alternating one that is more is what a meter on a.c. is clipped on for; ours."""

CONNECTORS = ("connector", "jack", "socket", "plug", "cord", "outlet")


class Row(NamedTuple):
    """One line of a chart, SI units. ``stock`` and ``found`` are None where nothing can be computed."""

    quantity: str
    a: Point
    b: Point
    state: str
    stock: Interval | None = None
    found: Interval | None = None
    factory: Reading | None = None
    measured: Reading | None = None
    verdict: str = ""
    modification: str = ""
    judgement: Judgement = "none"
    near: tuple[str, ...] = ()
    note: str = ""
    """How long it takes to settle, and what the meter's leads have to do with it."""


def chart(
    thing: Comparison | Circuit, state: str | None = None, around: str | None = None, whole: bool = True
) -> tuple[Row, ...]:
    """The chart of a drawing, or of a unit beside its drawing.

    ``state`` keeps the rows of one state; ``around`` those that touch a part; without ``whole`` only the rows that the
    factory or the bench wrote. Raises Unknown for a state or part that there is none of.
    """
    if isinstance(thing, Circuit):
        drawn = Side(alone(thing), thing)
        return rows_of(drawn, None, state, around, whole)
    drawn, unit = sides(thing)
    return rows_of(drawn, unit, state, around, whole)


def row_between(thing: Comparison | Circuit, a: str, b: str, state: str = REST) -> tuple[Row, ...]:
    """Ohms, and in a state with power volts, between two points by their names in the file. Raises Unknown."""
    if isinstance(thing, Circuit):
        drawn, unit = Side(alone(thing), thing), None
    else:
        drawn, unit = sides(thing)
    known_state(drawn.circuit, state)
    first, second = (_point(drawn, unit, word) for word in (a, b))
    asked = Reading("volts" if _powered(drawn.circuit, state) else "ohms", first, second, None, state=state)
    measured = _measured(unit) if unit is not None else {}
    return (_row(drawn, unit, asked, None, measured.get(_key(asked))),)


def _point(drawn: Side, unit: Side | None, word: str) -> Point:
    if unit is not None and word in unit.alias:
        return unit.alias[word]
    try:
        return named((unit or drawn).circuit, word)
    except Unknown:
        return named(drawn.circuit, word)


def rows_of(
    drawn: Side,
    unit: Side | None,
    state: str | None = None,
    around: str | None = None,
    whole: bool = True,
) -> tuple[Row, ...]:
    """The same for circuits whose meters are ready."""
    stock = drawn.circuit
    if state is not None:
        known_state(stock, state)
    if around is not None and around not in stock.parts and (unit is None or around not in unit.circuit.parts):
        raise Unknown(f"no part is called {around}")
    factory = {_key(whole_of): whole_of for whole_of in (_against(one, stock.ground) for one in stock.readings)}
    measured = _measured(unit) if unit is not None else {}
    asked: dict[tuple[str, frozenset[Point], str], Reading] = dict(measured)
    for key, one in factory.items():
        asked[key] = one
    if whole:
        for one in _every_point(drawn, unit, state):
            asked.setdefault(_key(one), one)
    rows = []
    for key, one in asked.items():
        if state is not None and one.state != state:
            continue
        if around is not None and around not in (part_of(one.a), part_of(one.b)):
            continue
        rows.append(_row(drawn, unit, one, factory.get(key), measured.get(key)))
    return tuple(rows)


def _row(drawn: Side, unit: Side | None, one: Reading, factory: Reading | None, measured: Reading | None) -> Row:
    b = one.b or drawn.circuit.ground
    stock, note = predicted(drawn, one)
    found = predicted(unit, one)[0] if unit is not None else None
    comparison = drawn.comparison
    if unit is None:
        verdict = _against_factory(stock, factory)
    else:
        verdict = judge(comparison, drawn, unit, one.a, b, measured, stock, found, factory, one.state)
    return Row(
        one.quantity, one.a, "" if one.quantity in ("amps", "watts") else b, one.state, stock, found, factory, measured,
        verdict.says, verdict.modification, verdict.judgement, verdict.near, "" if measured is not None else note,
    )  # fmt: skip


def _against_factory(stock: Interval | None, factory: Reading | None) -> Verdict:
    """Whether the drawing as it was typed in says what the factory's chart says."""
    wide = factory_interval(factory) if factory is not None else None
    if wide is None or stock is None:
        return Verdict("none", "")
    if wide.low == wide.high and stock.low <= wide.nominal <= stock.high:
        return Verdict("agrees", "agrees with the factory's figure")
    if wide.holds(stock.nominal, 1e-9) or stock.nominal == wide.nominal or (stock.open and wide.open):
        return Verdict("agrees", "agrees with the factory's figure")
    if stock.meets(wide):
        return Verdict("doubtful", "within both tolerances, no more: look at how the drawing was typed in")
    return Verdict("unexplained", "the factory's figure is another: look at how the drawing was typed in")


def predicted(side: Side, one: Reading) -> tuple[Interval | None, str]:
    """What a meter should read on one circuit, with a note; None where the circuit does not have the points or nothing
    drives them."""
    b = one.b or side.circuit.ground
    if one.quantity == "ohms":
        meter = side.ohms(one.state)
        if not meter.has(one.a) or not meter.has(b):
            return None, ""
        read = meter.read(one.a, b)
        return read.ohms, _settles(read.seconds, read.through, read.doubtful)
    if one.quantity == "volts":
        return _volts(side, one, b)
    if one.quantity == "amps" and side.circuit.parts.get(one.a) is not None:
        if side.circuit.parts[one.a].kind.name == "rf-meter":
            return None, "radio frequency: not computed"
        return side.direct(one.state).amps(one.a), ""
    return None, "not computed"


def _volts(side: Side, one: Reading, b: Point) -> tuple[Interval | None, str]:
    solved = side.direct(one.state)
    plain = solved.volts(one.a, b)
    if one.ac or not one.places:
        volts = side.alternating(one.state).volts(one.a, b)
        alternates = volts is not None and volts > AC_SHARE * abs(plain.nominal if plain is not None else 0.0)
        if volts is not None and (one.ac or _is_alternating(side, one) or (volts > 1.0 and alternates)):
            spread = 0.1 * volts
            return Interval(volts - spread, volts, volts + spread), "effective volts, alternating"
        if one.ac:
            return None, ""
    if plain is None:
        return None, ""
    ohms = meter_ohms(side.circuit, one, plain.nominal)
    return solved.shown(one.a, b, ohms), ""


def meter_ohms(circuit: Circuit, one: Reading, volts: float) -> float:
    """The resistance of the meter that takes a reading: a chart's is stated by the drawing, the bench's is today's."""
    of_chart = circuit.ohms_per_volt
    if of_chart and any(one.places == reading.places for reading in circuit.readings if reading.places):
        span = next((top for top in RANGES if abs(volts) <= top), RANGES[-1])
        return of_chart * span
    return float(unstated()["meter"]["input_ohms"])


def _is_alternating(side: Side, one: Reading) -> bool:
    for where in (one.a, one.b):
        net = side.circuit.nets.get(where)
        if net is not None and net.purpose in ("mains", "heater"):
            return True
        if terminal_of(where) in ("h1", "h2", "ht", "f1", "f2"):
            return True
    return False


def _settles(seconds: float, through: tuple[str, ...], doubtful: tuple[str, ...]) -> str:
    notes = []
    if seconds >= 1.0:
        notes.append(f"climbs for about {_roughly(seconds)}")
    if through:
        notes.append(f"through {', '.join(through)}: exchange the leads to see the rest")
    if doubtful:
        notes.append(f"{', '.join(doubtful)} may join anything")
    return "; ".join(notes)


def _roughly(seconds: float) -> str:
    if seconds < 90:
        return f"{seconds:.0f} s"
    return f"{seconds / 60:.0f} min" if seconds < 5400 else f"{seconds / 3600:.0f} h"


def _every_point(drawn: Side, unit: Side | None, state: str | None) -> Iterator[Reading]:
    circuit = drawn.circuit
    at = state or REST
    quantity = "volts" if _powered(circuit, at) else "ohms"
    seen: set[Point] = {circuit.ground}
    for side in (drawn, unit) if unit is not None else (drawn,):
        for where in points_of(side.circuit):
            if where not in seen:
                seen.add(where)
                yield Reading(quantity, where, circuit.ground, None, state=at)


def points_of(circuit: Circuit) -> Iterable[Point]:
    """What a chart lists: tube pins with an electrode, contacts of connectors, and named nets."""
    points: list[Point] = []
    for name in sorted(circuit.parts, key=natural):
        part = circuit.parts[name]
        if part.kind.name == "tube":
            points += [f"{name}.{lug.name}" for lug in part.kind.terminals if not lug.tie]
        elif part.kind.family in CONNECTORS or part.kind.name.endswith("-socket"):
            points += [f"{name}.{lug.name}" for lug in part.kind.terminals]
    used = {where for run in circuit.runs for where in (run.a, run.b) if is_net(where)}
    return [*points, *sorted(used)]


def _powered(circuit: Circuit, state: str) -> bool:
    return state in circuit.states and circuit.states[state].power


def known_state(circuit: Circuit, state: str) -> None:
    if state != REST and state not in circuit.states:
        raise Unknown(f"no state is called {state}; there are {', '.join([REST, *circuit.states])}")


def _against(one: Reading, ground: Point) -> Reading:
    """A reading with both its points: against ground where the file names one alone."""
    return one if one.b or one.quantity in ("amps", "watts") else one._replace(b=ground)


def _key(one: Reading) -> tuple[str, frozenset[Point], str]:
    return one.quantity, frozenset((one.a, one.b)), one.state


def _measured(unit: Side) -> dict[tuple[str, frozenset[Point], str], Reading]:
    """The bench's readings under the drawing's names; the last of several counts."""
    out = {}
    for one in unit.comparison.found.circuit.readings:
        full = _against(one, unit.circuit.ground)
        renamed = full._replace(a=unit.alias.get(full.a, full.a), b=unit.alias.get(full.b, full.b))
        out[_key(renamed)] = renamed
    return out


def alone(circuit: Circuit) -> Comparison:
    """A drawing without a unit."""
    return Comparison(circuit, Found(circuit), (), (), Coverage(Tally()))
