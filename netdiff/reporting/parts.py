"""The shopping list: a table to take along, CSV for a spreadsheet, JSON for another program."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from typing import Any, Final

from netdiff.comparison.words import kind_words, percent, some, value_words
from netdiff.quantities import show
from netdiff.reporting.page import HOLD_WORDS, Page
from netdiff.reporting.plain import clean, counted
from netdiff.worklist.parts import Item, Line, Shopping
from netdiff.worklist.steps import WorkList

COLUMNS: Final = (
    "count", "metres", "what", "value", "unit", "watts", "volts", "volts_ac", "amps", "construction", "type",
    "for", "needed", "drawn", "off_percent", "within_tolerance", "why", "notes",
)  # fmt: skip


def print_parts(page: Page, work: WorkList, goods: Shopping, left: int) -> None:
    page.line(f"Parts for {work.comparison.found.circuit.title}", style="bold")
    page.line(f"{work.comparison.found.circuit.file}; {counted(left, 'step')} to do.")
    page.line("Values and ratings are the least that will do. A rating that is printed on an old part is no proof.")
    if not goods.needed:
        page.blank()
        page.line("Nothing to buy for the steps that are left.")
    _lines(page, "To buy", goods.needed)
    _lines(page, "Worth replacing by age while the set is open (not counted above)", goods.aged)
    page.blank()
    page.line(
        "Keep every part that comes out, bagged and labelled with its place. Nothing here says that a unit is safe."
    )


def _lines(page: Page, title: str, lines: Iterable[Line]) -> None:
    lines = tuple(lines)
    if not lines:
        return
    page.heading(title)
    for line in lines:
        amount = f"{line.metres:g} m" if line.metres else f"{line.pieces} x"
        page.line(line.spec.says, indent=2, lead=f"{amount:>6}  ", style="bold")
        page.line(f"for {some(line.parts, 12)}; {HOLD_WORDS[line.hold]}; {_why(line)}", indent=10)
        instead = tuple(dict.fromkeys(_instead(item) for item in line.items if item.off or not item.within))
        for says in instead:
            page.line(says, indent=10)
        for note in line.notes:
            page.line(note, indent=10)


def _why(line: Line) -> str:
    return some(dict.fromkeys(item.why for item in line.items))


def _instead(item: Item) -> str:
    if item.drawn is None or item.drawn.value is None:
        return ""
    drawn = show(item.drawn.value, item.drawn.kind.unit)
    where = "within" if item.within else "NOT within"
    return f"The drawing has {drawn}: {percent(item.off)}, {where} its tolerance."


def as_json(work: WorkList, goods: Shopping) -> dict[str, Any]:
    found = work.comparison.found.circuit
    return {
        "found": {"title": found.title, "file": found.file},
        "needed": [_line(line) for line in goods.needed],
        "aged": [_line(line) for line in goods.aged],
    }


def _line(line: Line) -> dict[str, Any]:
    spec = line.spec
    return {
        "says": spec.says,
        "count": line.pieces,
        "metres": line.metres,
        "kind": spec.kind,
        "type": spec.type,
        "value": spec.value,
        "unit": spec.unit,
        "watts": spec.watts,
        "volts": spec.volts,
        "volts_ac": spec.volts_ac,
        "amps": spec.amps,
        "words": list(spec.words),
        "hold": line.hold,
        "for": [_item(item) for item in line.items],
        "notes": list(line.notes),
    }


def _item(item: Item) -> dict[str, Any]:
    return {
        "part": item.part,
        "hold": item.hold,
        "why": item.why,
        "step": item.step,
        "drawn": item.drawn.value if item.drawn else None,
        "off": item.off,
        "within_tolerance": item.within,
        "metres": item.metres,
    }


def as_csv(goods: Shopping) -> str:
    """A row a line of the list; values in SI units, for a spreadsheet."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for line in (*goods.needed, *goods.aged):
        spec = line.spec
        drawn = dict.fromkeys(" ".join((kind_words(i.drawn), value_words(i.drawn))) for i in line.items if i.drawn)
        writer.writerow(
            _cell(cell)
            for cell in (
                line.pieces or "", line.metres or "", spec.says, _number(spec.value), spec.unit, _number(spec.watts),
                _number(spec.volts), _number(spec.volts_ac), _number(spec.amps), " ".join(spec.words), spec.type,
                " ".join(line.parts), "by age" if all(i.aged for i in line.items) else HOLD_WORDS[line.hold],
                "; ".join(drawn), " ".join(dict.fromkeys(f"{i.off * 100:+.1f}" for i in line.items if i.drawn)),
                "yes" if all(i.within for i in line.items) else "no", _why(line), " ".join(line.notes),
            )
        )  # fmt: skip
    return out.getvalue()


def _number(value: float | None) -> str:
    return "" if value is None else f"{value:.6g}"


def _cell(cell: object) -> str:
    """A spreadsheet takes a cell that begins like a formula for one: what is no number gets a quote before it."""
    text = clean(str(cell))
    if text.startswith(("=", "+", "-", "@")) and not _is_numbers(text):
        return f"'{text}"
    return text


def _is_numbers(text: str) -> bool:
    try:
        return bool([float(word) for word in text.split()])
    except ValueError:
        return False
