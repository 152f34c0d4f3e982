"""A chart of readings as a person at the meter reads it, as CSV and as JSON."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from math import inf, isinf
from typing import Any

from netdiff.cautions import for_readings
from netdiff.circuit import Reading
from netdiff.electrical.interval import Interval
from netdiff.quantities import show
from netdiff.readings import PartLoad, Row
from netdiff.readings.bearing import Bears
from netdiff.readings.verdict import Judgement
from netdiff.reporting.page import Page, print_cautions
from netdiff.reporting.plain import counted

UNITS = {"ohms": "ohm", "volts": "V", "amps": "A", "watts": "W"}

HEADINGS: tuple[tuple[tuple[Judgement, ...], str, str], ...] = (
    (("unexplained",), "Explained by nothing written yet", "bold red"),
    (("doubtful",), "To be looked at again", "bold yellow"),
    (("explained",), "Explained by what was found", "bold"),
    (("agrees",), "Agrees", "bold"),
    (("changed",), "Will read otherwise than drawn", "bold"),
    (("none",), "What a meter should read", "bold"),
)


def amount(value: float, unit: str) -> str:
    """A computed quantity to three digits; ``open`` for no path."""
    if isinf(value):
        return "open"
    if abs(value) > 1e13:
        return f"{value:.3g} {'Ω' if unit == 'ohm' else unit}"
    return show(value, unit, 3)


def interval(value: Interval | None, quantity: str) -> str:
    """``22 kΩ (19.8 kΩ to 24.2 kΩ)``; a dash where nothing can be said."""
    if value is None:
        return "–"
    unit = UNITS[quantity]
    middle = amount(value.nominal, unit)
    if value.low == value.high or (amount(value.low, unit), amount(value.high, unit)) == (middle, middle):
        return middle
    return f"{middle} ({amount(value.low, unit)} to {amount(value.high, unit)})"


def taken(reading: Reading | None) -> str:
    """A reading as it stands in a file."""
    if reading is None:
        return ""
    unit = "Vac" if reading.ac else UNITS[reading.quantity]
    if reading.open:
        return "open"
    if reading.nominal is None:
        return f"more than {show(reading.low or 0.0, unit)}"
    middle = show(reading.nominal, unit, 4)
    if reading.low is None or reading.high is None or reading.low == reading.high:
        return middle
    low, high = sorted((reading.low, reading.high))
    limits = f"{show(low, unit, 4)} to {show(high, unit, 4)}"
    if _digits(reading.nominal) > max(_digits(low), _digits(high)):
        return limits  # stated as a range: its middle was never said
    return f"{middle} ({limits})"


def _digits(value: float) -> int:
    """Significant digits of a value as it was stated."""
    return len(f"{abs(value):.9e}".partition("e")[0].replace(".", "").rstrip("0"))


def print_readings(
    page: Page, title: str, file: str, rows: Sequence[Row], bears: Sequence[PartLoad] = (), *, unit: bool
) -> None:
    page.line(title, style="bold")
    page.line(file)
    print_cautions(page, for_readings())
    if not rows:
        page.blank()
        page.line("No reading to tell.")
        return
    told = [row for row in rows if row.measured is not None]
    page.blank()
    page.line(_summary(rows, told, unit))
    if len(rows) == 1:
        _one(page, rows[0], unit)
        return
    for judgements, heading, style in HEADINGS:
        here = [row for row in rows if row.judgement in judgements]
        if not here:
            continue
        page.heading(heading if unit or judgements != ("agrees",) else "Agrees with the factory's chart", style=style)
        if judgements == ("none",):
            _table(page, here)
        else:
            for row in here:
                _line(page, row, unit)
    if bears:
        _bears(page, bears, unit)


def _bears(page: Page, bears: Sequence[PartLoad], unit: bool) -> None:
    """What each part takes, the ones nearest to their ratings first."""
    page.heading("What each part bears, the nearest to its rating first")
    page.line("Direct current, nominal values; windings of rectifiers estimated.", indent=2)
    titles = ("  part", "volts", "amperes", "watts", *(("as drawn",) if unit else ()), "rated for", "share")
    cells = []
    for one in bears:
        now = (one.found if unit else one.drawn) or Bears()
        numbers = [amount(v, u) if v is not None else "" for v, u in zip(now, ("V", "A", "W"), strict=True)]
        ratings = ((one.rated_volts, "V"), (one.rated_amps, "A"), (one.rated_watts, "W"))
        rated = " ".join(show(value, unit) for value, unit in ratings if value)
        share = f"{one.share:.0%}" if one.share else ""
        cells.append((f"  {one.name}", *numbers, *((_was(one),) if unit else ()), rated, share))
    page.table(titles, cells)


def _was(one: PartLoad) -> str:
    """The drawing's figure that differs from the unit's: watts, else volts; empty where both are alike."""
    if one.drawn is None:
        return "not drawn"
    if one.found is None:
        was = one.drawn.watts if one.drawn.watts is not None else one.drawn.volts
        return amount(was, "W" if one.drawn.watts is not None else "V") if was is not None else ""
    for was, now, unit in ((one.drawn.watts, one.found.watts, "W"), (one.drawn.volts, one.found.volts, "V")):
        if was is not None and now is not None and abs(was - now) > 0.02 * max(abs(was), abs(now)):
            return amount(was, unit)
    return ""


def _summary(rows: Sequence[Row], told: Sequence[Row], unit: bool) -> str:
    if not unit:
        own = [row for row in rows if row.factory is not None]
        good = sum(row.judgement == "agrees" for row in own)
        computed = sum(row.stock is not None for row in own)
        if not own:
            return "The drawing has no chart of its own; what follows is computed."
        return f"{good} of the {computed} figures of the factory's chart that can be computed agree with the drawing."
    if not told:
        return "No reading was taken yet."
    off = sum(row.judgement in ("unexplained", "doubtful") for row in told)
    text = f"{counted(len(told), 'reading')} taken"
    return f"{text}; {off} that what is written does not explain." if off else f"{text}; all are explained."


def _where(row: Row) -> str:
    state = "" if row.state == "rest" else f", {row.state}"
    between = f"{row.a} to {row.b}" if row.b else row.a
    return f"{row.quantity} {between}{state}"


def _line(page: Page, row: Row, unit: bool) -> None:
    parts = [f"drawn {interval(row.stock, row.quantity)}"]
    if unit and row.found != row.stock:
        parts.append(f"as found {interval(row.found, row.quantity)}")
    if row.factory is not None:
        parts.append(f"factory {taken(row.factory)}")
    if row.measured is not None:
        parts.insert(0, f"measured {taken(row.measured)}")
    page.line(f"{'; '.join(parts)}.", indent=2, lead=f"{_where(row)}: ")
    if row.judgement not in ("agrees", "none"):
        page.line(f"{row.verdict[:1].upper()}{row.verdict[1:]}.", indent=6)
    if row.note:
        page.line(f"{row.note[:1].upper()}{row.note[1:]}.", indent=6)


def _one(page: Page, row: Row, unit: bool) -> None:
    _line(page, row, unit)
    if row.verdict and row.judgement == "agrees":
        page.line(f"{row.verdict[:1].upper()}{row.verdict[1:]}.", indent=6)


def _table(page: Page, rows: Iterable[Row]) -> None:
    cells = []
    for row in rows:
        value = row.found if row.found is not None else row.stock
        if value is None and row.factory is None:
            continue
        unit = UNITS[row.quantity]
        numbers = ("–",) * 3 if value is None else tuple(amount(one, unit) for one in value)
        factory = row.factory and row.factory._replace(low=None, high=None)
        between = f"  {_where(row)}" + (f" ({row.note})" if row.note else "")
        cells.append((between, *numbers, taken(factory)))
    page.table(("  between", "low", "nominal", "high", "factory"), cells)


def as_csv(rows: Iterable[Row]) -> str:
    """The chart for a spreadsheet, SI units; an open circuit is the word ``open``."""
    text = io.StringIO()
    out = csv.writer(text)
    names = ("low", "nominal", "high")
    sides = ("drawn", "found", "factory")
    out.writerow(
        [
            "quantity",
            "from",
            "to",
            "state",
            *(f"{side} {name}" for side in sides for name in names),
            "measured",
            "verdict",
        ]
    )
    for row in rows:
        factory = _limits(row.factory)
        numbers = [
            *_cells(row.stock), *_cells(row.found),
            *(("", "", "") if factory is None else _cells(Interval(*factory))),
        ]  # fmt: skip
        out.writerow([row.quantity, row.a, row.b, row.state, *numbers, _measured_cell(row.measured), row.verdict])
    return "\ufeff" + text.getvalue()


def _cells(value: Interval | None) -> tuple[str, ...]:
    if value is None:
        return "", "", ""
    return tuple("open" if isinf(one) else f"{one:.6g}" for one in value)


def _measured_cell(reading: Reading | None) -> str:
    if reading is None:
        return ""
    if reading.open:
        return "open"
    return f"{reading.nominal:.6g}" if reading.nominal is not None else f">{reading.low:.6g}"


def _limits(reading: Reading | None) -> tuple[float, float, float] | None:
    if reading is None:
        return None
    if reading.open:
        return inf, inf, inf
    if reading.nominal is None:
        return reading.low or 0.0, inf, inf
    low = reading.low if reading.low is not None else reading.nominal
    high = reading.high if reading.high is not None else reading.nominal
    return min(low, high), reading.nominal, max(low, high)


def as_json(rows: Iterable[Row], bears: Iterable[PartLoad] = ()) -> dict[str, Any]:
    return {
        "cautions": list(for_readings()),
        "readings": [_row(row) for row in rows],
        "parts": [_load(one) for one in bears],
    }


def _load(one: PartLoad) -> dict[str, Any]:
    def bears(of: Bears | None) -> dict[str, float | None] | None:
        if of is None:
            return None
        return {name: None if value is None else float(f"{value:.6g}") for name, value in of._asdict().items()}

    return {
        "part": one.name,
        "stock": bears(one.drawn),
        "found": bears(one.found),
        "rated": {"volts": one.rated_volts, "amps": one.rated_amps, "watts": one.rated_watts},
    }


def _row(row: Row) -> dict[str, Any]:
    factory = _limits(row.factory)
    return {
        "quantity": row.quantity,
        "from": row.a,
        "to": row.b,
        "state": row.state,
        "stock": _interval(row.stock),
        "found": _interval(row.found),
        "factory": _interval(Interval(*factory)) if factory else None,
        "measured": _measured(row.measured),
        "verdict": row.verdict,
        "modification": row.modification,
        "near": list(row.near),
        "note": row.note,
    }


def _interval(value: Interval | None) -> dict[str, float | None] | None:
    """``null`` for a bound that is open; ``null`` in place of all where nothing can be said."""
    if value is None:
        return None
    return {name: None if isinf(one) else float(f"{one:.6g}") for name, one in zip(value._fields, value, strict=True)}


def _measured(reading: Reading | None) -> dict[str, Any] | None:
    if reading is None:
        return None
    more = reading.nominal is None and not reading.open
    return {"value": reading.low if more else reading.nominal, "open": reading.open, "more": more}
