"""Readings of the bench that neither the drawing nor what was written down explains."""

from __future__ import annotations

from collections.abc import Iterator

from netdiff.circuit import Reading
from netdiff.electrical.interval import Interval
from netdiff.hazards.rule import Hazard, Rule
from netdiff.quantities import show
from netdiff.readings.chart import Row, rows_of
from netdiff.readings.side import Side

UNITS = {"ohms": "ohm", "volts": "V", "amps": "A", "watts": "W"}


def off(side: Side) -> Iterator[Hazard]:
    if side.drawn is None or not side.comparison.found.circuit.readings:
        return
    for row in rows_of(side.drawn, side, whole=False):
        if row.measured is None or row.judgement not in ("unexplained", "doubtful"):
            continue
        doubt = row.judgement == "doubtful"
        yield Hazard(
            (row.quantity, row.a, row.b, row.state),
            f"{_between(row)} reads {measured(row.measured)}; {_predicted(row)}. "
            f"{row.verdict[:1].upper()}{row.verdict[1:]}.",
            parts=row.near,
            terminals=tuple(where for where in (row.a, row.b) if "." in where),
            nets=tuple(where for where in (row.a, row.b) if where in side.circuit.nets),
            at=row.measured.places,
            hold="none" if doubt else None,
            why="The meter agrees with the drawing: what was written down may be wrong." if doubt else "",
        )


def _between(row: Row) -> str:
    return f"{row.a} to {row.b}" if row.b else row.a


def measured(reading: Reading) -> str:
    unit = UNITS[reading.quantity]
    if reading.open:
        return "open"
    if reading.nominal is None:
        return f"more than {show(reading.low or 0.0, unit)}"
    return show(reading.nominal, unit)


def _predicted(row: Row) -> str:
    unit = UNITS[row.quantity]
    drawn = f"the drawing predicts {interval(row.stock, unit)}"
    if row.found == row.stock:
        return drawn
    return f"{drawn}, the wiring as found {interval(row.found, unit)}"


def interval(value: Interval | None, unit: str) -> str:
    if value is None:
        return "nothing"
    if value.nominal == float("inf"):
        return "open"
    if value.low == value.high:
        return show(value.nominal, unit)
    high = "open" if value.high == float("inf") else show(value.high, unit, 3)
    return f"{show(value.nominal, unit, 3)} ({show(value.low, unit, 3)} to {high})"


RULES = (
    Rule(
        "reading-off",
        "a reading that neither the drawing nor what was written down predicts",
        "Something is still to be found there.",
        "deliver",
        "the ohmmeter and the voltmeter, computed",
        off,
        own=False,
    ),
)
