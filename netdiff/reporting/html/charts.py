"""Charts and plots of the page: readings beside what they should be, charge that stays, runs at radio frequency."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from itertools import groupby
from typing import Final, NamedTuple

from netdiff.circuit import Circuit
from netdiff.comparison.results import Comparison, Finding
from netdiff.electrical import rf
from netdiff.electrical.charge import Store
from netdiff.electrical.interval import Interval
from netdiff.electrical.limits import limit
from netdiff.hazards.charge import stored
from netdiff.quantities import show
from netdiff.readings import Row, Side
from netdiff.readings.chart import rows_of
from netdiff.reporting import plots
from netdiff.reporting.html.model import Plot, Table
from netdiff.reporting.html.register import value_of
from netdiff.reporting.readings import UNITS, amount

CURVES: Final = 5
"""More curves in one plot nobody tells apart; the table has them all."""
STEPS: Final = 41
"""Frequencies of a curve."""
SHIELDED: Final = ("coax", "shielded")


class Charts(NamedTuple):
    plots: tuple[Plot, ...]
    tables: tuple[Table, ...]


def charts(comparison: Comparison, drawn: Side, unit: Side) -> Charts:
    read_plots, read_tables = _readings(drawn, unit)
    charge_plots, charge_tables = _charge(drawn, unit)
    return Charts((*read_plots, *charge_plots, *_runs(comparison, unit.circuit)), (*read_tables, *charge_tables))


# --- charge -------------------------------------------------------------------------------------------------------


def _charge(drawn: Side, unit: Side) -> Charts:
    """What stays after switching off, as the unit is, with the time that the drawing would take beside it."""
    now = [store for store in stored(unit) if store.volts > limit("discharged")]
    if not now:
        return Charts((), ())
    before = {store.across: store for store in stored(drawn)}
    end = show(limit("discharged"), "V")
    rows = tuple(_store_row(store, before.get(store.across)) for store in now)
    never = frozenset(number for number, store in enumerate(now) if math.isinf(store.seconds))
    table = Table(
        "Charge that stays after switching off, predicted",
        ("on", "volts", "capacitance", "energy", "path", f"under {end} after", "as drawn after", "capacitors"),
        rows,
        frozenset({1, 2, 3, 4, 5, 6}),
        never,
        note="From the wiring as found where somebody looked, else as drawn, with nominal values. A bleeder that has "
        "failed does not show in it: discharge, short and prove dead in any case.",
    )
    curves = [plots.Discharge(store.net, store.volts, _tau(store)) for store in now[:CURVES]]
    title = "Discharge after switching off, as found"
    note = f"Predicted; each curve is the exponential that falls to {end} when its store does."
    return Charts((Plot(title, plots.discharge(title, curves, limit("discharged")), note),), (table,))


def _tau(store: Store) -> float:
    """All stores discharge together; the time constant that brings this one to the limit at its time."""
    return store.seconds / math.log(store.volts / limit("discharged"))


def _store_row(store: Store, drawn: Store | None) -> tuple[str, ...]:
    rated = " (rating)" if store.by_rating else ""
    return (
        f"{store.across[0]} to {store.across[1]}",
        together(show(store.volts, "V", 3) + rated),
        together(show(store.farads, "F")),
        together(show(store.joules, "J", 2)),
        _or_none(store.ohms, "ohm"),
        _or_none(store.seconds, "s"),
        _or_none(drawn.seconds, "s") if drawn else "",
        ", ".join(store.parts),
    )


def _or_none(value: float, unit: str) -> str:
    if math.isinf(value):
        return "no path" if unit == "ohm" else "never"
    return together(show(value, unit, 2))


# --- runs at radio frequency --------------------------------------------------------------------------------------


def _runs(comparison: Comparison, unit: Circuit) -> Iterator[Plot]:
    """The standing-wave ratio that each unshielded stretch of a lead causes alone, over the band of its net."""
    curves = []
    for finding in comparison.findings:
        net = next((unit.nets[name] for name in finding.nets if name in unit.nets and unit.nets[name].band), None)
        length = _unshielded(finding, unit)
        if finding.kind != "unshielded-run" or net is None or net.band is None or not net.impedance or not length:
            continue
        low, high = net.band
        hertz = [low + (high - low) * step / (STEPS - 1) for step in range(STEPS)]
        points = tuple((f, rf.effect(length, f, net.impedance).swr) for f in hertz)
        curves.append(plots.Curve(f"{finding.id}, {show(length, 'm')}", points))
    title = "Standing-wave ratio that the open stretch causes alone"
    drawn = plots.ratio(title, curves[:CURVES])
    if drawn:
        yield Plot(title, drawn, "An upper estimate from its length; the rest of the line taken as matched.")


def _unshielded(finding: Finding, unit: Circuit) -> float:
    """Metres of the finding's own runs that have no shield."""
    told = {tuple(tag.split()[1:]) for tag in finding.foreign if tag.startswith("run ")}
    told |= {(b, a) for a, b in told}
    lengths = [run.length for run in unit.runs if (run.a, run.b) in told and run.conductor not in SHIELDED]
    return sum(length for length in lengths if length)


# --- readings -----------------------------------------------------------------------------------------------------

_TITLES: Final = {
    "ohms": "Resistance, unplugged and discharged",
    "volts": "Volts",
    "amps": "Amperes",
    "watts": "Watts",
}
_APART: Final = ("explained", "unexplained", "changed")
"""Judgements of rows that do not read as the drawing has it."""


def _readings(side: Side, unit: Side) -> Charts:
    """The factory's chart and the bench's readings: a table for each quantity and state, a plot of what was read."""
    rows = rows_of(side, unit, whole=False)
    states = list(dict.fromkeys(("rest", *(row.state for row in rows))))
    order = sorted(rows, key=lambda row: (list(UNITS).index(row.quantity), states.index(row.state)))
    drawn, tables = [], []
    for (quantity, state), some in groupby(order, key=lambda row: (row.quantity, row.state)):
        group = tuple(some)
        title = _TITLES[quantity] + ("" if state == "rest" else f", {_state(side.circuit, state)}")
        tables.append(_table(title, group))
        spans = [span for row in group if (span := _span(row)) is not None]
        if spans:
            name = f"{title}: read, and as the drawing has it"
            drawn.append(Plot(name, plots.chart(name, spans), "Dashed: what the wiring as found predicts instead."))
    return Charts(tuple(drawn), tuple(tables))


def _state(stock: Circuit, state: str) -> str:
    known = stock.states.get(state)
    return f"{state} ({known.title})" if known is not None and known.title else state


def _table(title: str, rows: tuple[Row, ...]) -> Table:
    strong = frozenset(number for number, row in enumerate(rows) if row.judgement in _APART)
    cells = tuple(
        (
            _from_to(row), _interval(row, row.stock), _interval(row, row.found) if _other(row) else "",
            together(value_of(row.factory)) if row.factory else "",
            together(value_of(row.measured)) if row.measured else "",
            "; ".join(words for words in (row.verdict, row.note) if words),
        )
        for row in rows
    )  # fmt: skip
    return Table(
        title, ("from, to", "drawing", "as found, if other", "factory", "read", "what it says"), cells, strong=strong
    )


def _from_to(row: Row) -> str:
    return f"{row.a} to {row.b}" if row.b else row.a


def _other(row: Row) -> bool:
    return row.found is not None and (row.stock is None or row.judgement in _APART)


def _interval(row: Row, span: Interval | None) -> str:
    if span is None:
        return "not known"
    low, high = (amount(value, UNITS[row.quantity]) for value in (span.low, span.high))
    return together(low if low == high else f"{low} to {high}")


def together(words: str) -> str:
    """A number is not parted from its unit at the end of a line, nor a range in its middle."""
    return re.sub(r"(?<=\d) (?=\S)|(?<=\S) (?=to \S)|(?<= to) (?=\S)", "\N{NO-BREAK SPACE}", words)


def _span(row: Row) -> plots.Span | None:
    """A line of a plot: what was read beside the drawing's prediction, or the unit's where the drawing has none."""
    should = row.stock or row.found
    read = row.measured
    if should is None or read is None:
        return None
    value = read.nominal if read.nominal is not None and not read.open else read.low
    off = row.judgement in _APART and row.stock is not None
    instead = (row.found.low, row.found.high) if off and row.found is not None else None
    return plots.Span(
        _from_to(row), should.low, should.nominal, should.high, math.inf if read.open or value is None else value, off,
        UNITS[row.quantity], instead,
    )  # fmt: skip
