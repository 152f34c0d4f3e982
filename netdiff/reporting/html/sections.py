"""The job for the page: the steps with their ticks, what is to be bought, what is left in time and money."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final, NamedTuple

from netdiff.comparison.results import Comparison
from netdiff.comparison.words import percent, plural
from netdiff.quantities import show
from netdiff.readings import Side
from netdiff.reporting.estimate import amount, hours, span
from netdiff.reporting.html.model import Table
from netdiff.reporting.page import HOLD_WORDS
from netdiff.worklist import WorkList, worklist
from netdiff.worklist.estimate import Estimate, Range, estimate
from netdiff.worklist.parts import Line
from netdiff.worklist.parts import shopping as bought
from netdiff.worklist.prices import Prices
from netdiff.worklist.progress import progress
from netdiff.worklist.ticks import Sheet, beside, load

_SHARES: Final = {
    "power": "before power",
    "later": "may wait",
    "around": "tracing, readings, power-up",
    "total": "together",
    "aged": "old parts too (not counted)",
}


class Money(NamedTuple):
    """What an estimate in money needs: a price list; what was paid and what it is worth, in its currency."""

    prices: Prices | None = None
    paid: float | None = None
    worth: float | None = None


class Job(NamedTuple):
    work: WorkList
    ticked: dict[str, str]
    """Name of a step that is done -> when, and what was read."""
    cost: tuple[str, ...]
    """A few lines for the owner; nothing where there is nothing to do."""
    tables: tuple[Table, ...]


def job(comparison: Comparison, money: Money, drawing: Side | None = None) -> Job:
    """Raises Faulty where the file of ticks beside the found file is faulty."""
    work = worklist(comparison)
    sheet = load(beside(comparison.found.circuit.file))
    left = progress(work, sheet).open
    goods = bought(work, left, drawing)
    result = estimate(work, left, money.prices, paid=money.paid, worth=money.worth, goods=goods)
    lines = (
        _lines("To buy for the steps that are left", goods.needed),
        _lines("Worth replacing by age", goods.aged, "Only their age speaks against these: the owner decides."),
    )
    tables = (*_estimate(result), *lines) if left else lines
    cost = (*_told(result), *_for_the_owner(result)) if left else ()
    return Job(work, _ticked(sheet), cost, tuple(table for table in tables if table.rows))


def _ticked(sheet: Sheet) -> dict[str, str]:
    out = {}
    for tick in sheet.ticks:
        read = ", ".join(f"{one.what} reads {one}" for one in tick.readings)
        why = f"because: {tick.because}" if tick.because else ""
        out[tick.step] = "; ".join(word for word in (tick.on, read, why) if word)
    return out


# --- time and money ---------------------------------------------------------------------------------------------------


def _told(result: Estimate) -> Iterable[str]:
    total, first = result.total, result.shares[0]
    if result.prices is not None and total.money is not None:
        currency = result.prices.currency
        must = f"; of that before power {amount(first.money.likely)}" if first.money else ""
        yield f"{span(total.money, amount)} {currency}{must}. {span(total.minutes, hours)} hours of work."
    else:
        yield (
            f"{span(total.minutes, hours)} hours of work; of that before power {hours(first.minutes.likely)}. "
            "No price list was given."
        )
    yield (
        f"An estimate, and no offer: {plural(total.steps, 'step')} that are known; what nobody looked at, and what "
        "comes to light on the way, is not in it."
    )


def _for_the_owner(result: Estimate) -> Iterable[str]:
    owner, prices = result.owner, result.prices
    if owner is None or prices is None:
        return
    paid = f"Paid {amount(owner.paid)} {prices.currency}; with" if owner.paid else "With"
    worth = f"; worth {amount(owner.worth)} by the owner's word" if owner.worth is not None else ""
    yield f"{paid} the work it stands at {span(owner.stands, amount)} {prices.currency}{worth}."


def _estimate(result: Estimate) -> Iterable[Table]:
    shares = (*result.shares, result.total, *([result.aged] if result.aged.parts else ()))
    total = frozenset({len(result.shares)})
    numbers = frozenset(range(1, 6))
    rows = tuple(
        (_SHARES[s.name], str(s.steps or ""), str(s.parts or ""), *(hours(one) for one in s.minutes)) for s in shares
    )
    note = "Minutes are estimates without a published source, unless they are your own."
    yield Table("Hours", ("what for", "steps", "parts", "low", "likely", "high"), rows, numbers, total, note=note)
    if result.prices is None:
        return
    priced = tuple(
        (
            _SHARES[s.name],
            *(amount(one) for one in s.materials or Range()),
            *(amount(one) for one in s.money or Range()),
        )
        for s in shares
    )
    columns = ("what for", "materials, low", "likely", "high", "with the work, low", "likely", "high")
    left_out = "; ".join(line.spec.says for line in result.unpriced)
    note = f"An hour costs {amount(result.prices.hour)} {result.prices.currency}; prices from {result.prices.file}."
    note += f" No price in the list, counted as nothing: {left_out}." if left_out else ""
    yield Table(f"Money, {result.prices.currency}", columns, priced, numbers | {6}, total, note=note)


# --- goods ------------------------------------------------------------------------------------------------------------


def _lines(title: str, lines: Iterable[Line], note: str = "") -> Table:
    columns = ("how many", "what", "for", "needed", "remarks")
    rows = tuple(_row(line) for line in lines)
    return Table(title, columns, rows, numeric=frozenset({0}), unlinked=frozenset({1}), note=note)


def _row(line: Line) -> tuple[str, ...]:
    many = show(line.metres, "m") if line.metres else str(line.pieces)
    off = [
        f"{item.part}: {percent(item.off)} of the drawing's value, outside its tolerance"
        for item in line.items
        if not item.within
    ]
    return (many, line.spec.says, ", ".join(line.parts), HOLD_WORDS[line.hold], "; ".join((*line.notes, *off)))
