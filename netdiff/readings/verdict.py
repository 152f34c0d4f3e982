"""What a reading says, beside what the drawing and the wiring as found predict."""

from __future__ import annotations

from collections.abc import Iterable
from math import inf
from typing import Literal, NamedTuple

from netdiff.circuit import Point, Reading, part_of
from netdiff.comparison.results import Comparison, Modification
from netdiff.comparison.words import some
from netdiff.electrical.interval import Interval
from netdiff.electrical.ohmmeter import Ohmmeter
from netdiff.readings.side import Side

Judgement = Literal["agrees", "explained", "unexplained", "doubtful", "changed", "none"]

METER_SLACK = 0.03
"""What an analogue or a cheap digital meter may be off; common practice."""

LEADS = 0.5
"""Ohms of test leads and joints; common practice."""

MOST_OHMS = 20e6
"""More than that most meters show as open; common practice."""

SMALL_VOLTS = 0.05


class Verdict(NamedTuple):
    """``judgement`` for programs, ``says`` for a person, ``modification`` where one explains it."""

    judgement: Judgement
    says: str
    modification: str = ""
    near: tuple[str, ...] = ()
    """Parts near which something is still to be found."""


def fits(measured: Reading, predicted: Interval | None) -> bool:
    """Whether a reading can be what is predicted, the meter's own error included."""
    if predicted is None:
        return False
    if measured.open:
        return predicted.high >= MOST_OHMS
    if measured.nominal is None:
        return measured.low is not None and predicted.high >= measured.low * (1 - METER_SLACK)
    if measured.quantity == "ohms":
        low, high = predicted.low * (1 - METER_SLACK), predicted.high
        return low <= measured.nominal + LEADS and measured.nominal <= (
            high if high == inf else high * (1 + METER_SLACK) + LEADS
        )
    low, high = sorted((predicted.low, predicted.high))
    slack = METER_SLACK * max(abs(low), abs(high)) + SMALL_VOLTS
    return low - slack <= measured.nominal <= high + slack


def factory_interval(reading: Reading) -> Interval | None:
    """The factory's figure with its limits."""
    if reading.open:
        return Interval(inf, inf, inf)
    if reading.nominal is None:
        return Interval(reading.low, inf, inf) if reading.low is not None else None
    low = reading.low if reading.low is not None else reading.nominal
    high = reading.high if reading.high is not None else reading.nominal
    return Interval(min(low, high), reading.nominal, max(low, high))


def changed(stock: Interval | None, found: Interval | None) -> bool:
    """Whether the wiring as found predicts something that a meter tells from what the drawing predicts."""
    if stock is None or found is None:
        return (stock is None) != (found is None)
    if (stock.nominal == inf) != (found.nominal == inf):
        return True
    if stock.nominal == inf:
        return False
    off = abs(stock.nominal - found.nominal)
    span = max(abs(stock.nominal), abs(found.nominal))
    return off > SMALL_VOLTS and (not stock.holds(found.nominal, METER_SLACK) or off > 0.1 * span)


def judge(
    comparison: Comparison,
    drawn: Side,
    unit: Side,
    a: Point,
    b: Point,
    measured: Reading | None,
    stock: Interval | None,
    found: Interval | None,
    factory: Reading | None,
    state: str = "rest",
) -> Verdict:
    """The verdict on one row of a unit's chart."""
    differs = changed(stock, found)
    if measured is None and stock is None:
        return Verdict("none", "")
    if measured is None:
        if stock is not None and found is None and not unit.ohms().has(a):
            return Verdict("changed", f"{a} is not there as found")
        if not differs:
            return Verdict("none", "")
        cause = explaining(comparison, drawn, unit, a, b, state)
        why = _because(cause) or f"parts differ near {some(on_the_way(unit, drawn, a, b), 3)}"
        return Verdict("changed", f"will read otherwise: {why}", cause[0].id if cause else "")
    wide = factory_interval(factory) if factory is not None else None
    as_drawn = fits(measured, stock) or (wide is not None and fits(measured, wide))
    as_found = fits(measured, found)
    if as_drawn and (as_found or not differs):
        return Verdict("agrees", "agrees with the drawing")
    if as_found and stock is None:
        return Verdict("explained", "agrees with the wiring as found; the drawing has no such point")
    if as_found:
        cause = explaining(comparison, drawn, unit, a, b, state)
        why = _because(cause) or f"what was found near {some(on_the_way(unit, drawn, a, b), 3)}"
        return Verdict("explained", f"explained by {why}", cause[0].id if cause else "")
    near = tuple(on_the_way(unit, drawn, a, b))
    if as_drawn:
        return Verdict(
            "doubtful",
            f"agrees with the drawing, not with what is written: look again at {some(near, 5)}",
            near=near,
        )
    leaky = _leaky(unit, measured, found, near)
    if leaky:
        return Verdict("explained", f"lower than predicted: {leaky} is noted as leaking", near=near)
    return Verdict(
        "unexplained",
        f"explained by nothing written yet: something is still to be found near {some(near, 5)}",
        near=near,
    )


def _because(cause: list[Modification]) -> str:
    return " and ".join(f"{one.id} ({_mid(one.title)})" for one in cause[:2])


def _mid(title: str) -> str:
    """A title in the middle of a sentence: a designator keeps its capital."""
    return title if title[1:2].isdigit() or title[1:2].isupper() else title[:1].lower() + title[1:]


def explaining(
    comparison: Comparison, drawn: Side, unit: Side, a: Point, b: Point, state: str = "rest"
) -> list[Modification]:
    """The modifications that can account for a reading, the most telling first: those whose parts and terminals carry
    the meter's current in the one circuit or the other."""
    weight: dict[str, float] = {}
    for side in (drawn, unit):
        for name, share in leaning(side, a, b, state).items():
            weight[name] = max(weight.get(name, 0.0), share)
    here = _at(drawn, a, b) | _at(unit, a, b)
    by_id = {finding.id: finding for finding in comparison.findings}
    scored = []
    for one in comparison.modifications:
        findings = [by_id[name] for name in one.findings]
        points = {where for finding in findings for where in finding.terminals}
        names = {name for finding in findings for name in finding.parts} | {part_of(where) for where in points} - {""}
        score = sum(weight.get(name, 0.0) for name in names) + 0.1 * len(points & here)
        if score > 0.01:
            scored.append((score, one))
    scored.sort(key=lambda item: -item[0])
    return [one for score, one in scored if score >= scored[0][0] * 0.3]


def _at(side: Side, a: Point, b: Point) -> set[Point]:
    """Everything on the nodes of two points, but for what is on the ground."""
    nodes = side.ohms().nodes
    ground = nodes.of(side.circuit.ground)
    return {where for n in (nodes.of(a), nodes.of(b)) if n is not None and n != ground for where in nodes.members[n]}


def leaning(side: Side, a: Point, b: Point, state: str) -> dict[str, float]:
    """How much of a reading hangs on each part, as a share: of the ohms, or in a state with power of the volts."""
    if state not in side.powered:
        return shares(side.ohms(state), a, b)
    volts = side.direct(state).depends(a, b)
    most = max(volts.values(), default=0.0)
    return {name: one / most for name, one in volts.items() if one >= 0.05 * most} if most else {}


def shares(meter: Ohmmeter, a: Point, b: Point) -> dict[str, float]:
    """How much each part contributes to the resistance between two points: its share of the power that the meter
    gives off. Only what counts for one hundredth or more."""
    if not meter.has(a) or not meter.has(b):
        return {}
    return {name: share for name, share in meter.shares(a, b).items() if share >= 0.01}


def on_the_way(unit: Side, drawn: Side, a: Point, b: Point) -> Iterable[str]:
    """Parts to look at for a reading that nothing explains, the most likely first."""
    weight: dict[str, float] = {}
    for side in (unit, drawn):
        for name, share in shares(side.ohms(), a, b).items():
            weight[name] = max(weight.get(name, 0.0), share)
    names = sorted(weight, key=lambda name: -weight[name])[:5]
    return names or [name for name in (part_of(a), part_of(b)) if name] or [a]


def _leaky(unit: Side, measured: Reading, found: Interval | None, near: Iterable[str]) -> str:
    """A part noted as leaking on the nodes of a reading that is lower than predicted."""
    if measured.quantity != "ohms" or measured.nominal is None or found is None or measured.nominal >= found.low:
        return ""
    nodes = unit.ohms().nodes
    ends = {nodes.of(measured.a), nodes.of(measured.b or unit.circuit.ground)}
    for name, part in unit.circuit.parts.items():
        if "leaking" in part.conditions and any(nodes.of(where) in ends for where in part.points()):
            return name
    return ""
