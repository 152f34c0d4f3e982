"""Sheets for pencil and paper: a zone lug by lug in the order in which it is traced, and the quick look before buying.

One self-contained HTML page that prints in black and white. Whatever a file says is escaped; nothing is fetched.
"""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from netdiff.cautions import for_cold_work
from netdiff.circuit import Circuit, Point
from netdiff.reporting.plain import clean, style_string
from netdiff.resources import templates
from netdiff.tracing.asking import looked_over
from netdiff.tracing.plan import Stop
from netdiff.tracing.quick import CAUTIONS, groups, in_words
from netdiff.tracing.session import Session
from netdiff.tracing.state import State
from netdiff.tracing.view import ends_of

if TYPE_CHECKING:
    from jinja2 import Environment


class Row(NamedTuple):
    """One line to fill in. ``told`` is what the found file says already; empty where nobody looked."""

    name: str
    drawn: str
    told: str = ""


class Place(NamedTuple):
    """One stop of the probe: its number in the order, the part that stands there, its lugs, what hangs there."""

    number: int
    title: str
    lugs: tuple[Row, ...]
    hanging: tuple[Row, ...]


def zone_sheet(session: Session, zone: str) -> str:
    """The page of one zone. The session's file must read without a fault."""
    state = session.state
    stops = [stop for stop in state.plan.stops if stop.zone == zone]
    places = tuple(_place(state, number, stop) for number, stop in enumerate(stops, 1))
    known = state.found.circuit.zones.get(zone)
    parts = [part for part in state.stock.parts.values() if part.zone == zone]
    look = [Row(part.designator, in_words(part).partition(" ")[2], _read(state, part.designator)) for part in parts]
    return _page(
        "sheet.html",
        title=f"Tracing sheet: {(known.title if known else '') or zone}",
        unit=state.found.circuit.title,
        drawing=f"{state.stock.title}{f', {state.stock.drawing}' if state.stock.drawing else ''}",
        file=str(session.path),
        zone=zone,
        danger=state.plan.danger.says(zone),
        cautions=for_cold_work(),
        looked_over=looked_over(state, zone),
        look=look,
        places=places,
        strangers=range(6),
    )


def first_look(circuit: Circuit, file: str) -> str:
    """The page of the quick look: what the drawing has that can be seen from outside, with boxes and blank lines."""
    return _page(
        "first_look.html",
        title=f"First look: {circuit.title}",
        file=file,
        cautions=CAUTIONS,
        groups=[
            (group, [Row(part.designator, in_words(part).partition(" ")[2]) for part in group.parts])
            for group in groups(circuit)
        ],
    )


def _place(state: State, number: int, stop: Stop) -> Place:
    lugs: list[Row] = []
    title = "What hangs between places that were met"
    if stop.anchor:
        part = state.stock.parts[stop.anchor]
        title = in_words(part)
        lugs = [_lug(state, point) for point in part.points()]
    return Place(number, title, tuple(lugs), tuple(_hanging(state, name) for name in stop.hanging))


def _lug(state: State, point: Point) -> Row:
    drawn = [lead.says for lead in state.drawn.leads(point)]
    called = state.drawn.name_of(point)
    words = "; ".join(drawn) or "nothing"
    return Row(point, words + (f" ({called})" if called else ""), _told(state, point))


def _hanging(state: State, name: str) -> Row:
    part = state.stock.parts[name]
    ways = [", ".join(lead.to for lead in state.drawn.leads(end)) or "free" for end in ends_of(part)]
    told = next((told for end in ends_of(part) if (told := _told(state, end))), "")
    return Row(in_words(part), f"{' to '.join(ways)}", _read(state, name) or told)


def _told(state: State, point: Point) -> str:
    name = point.partition(".")[0]
    if state.gone(name):
        return "missing"
    line = state.said.get(point, 0)
    known = ", ".join(lead.to for lead in state.known(point))
    if point in state.found.traced:
        return f"looked at{f': {known}' if known else ''}{f' (line {line})' if line else ''}"
    return f"so far: {known}" if known else ""


def _read(state: State, name: str) -> str:
    if name in state.found.missing:
        return "missing"
    part = state.parts.get(name)
    if part is not None and part.places:
        return f"read: {in_words(part).partition(' ')[2]} (line {part.places[0].line})"
    return ""


def _page(template: str, **values: Any) -> str:
    from markupsafe import Markup

    foot = style_string(" · ".join(filter(None, (values.get("unit"), values["title"]))))
    return _environment().get_template(template).render(**values, foot=Markup(foot))  # noqa: S704


_UNIT: Final = re.compile(r"(?<=\d) (?=(?:[kMGmµpn]?[ΩFHVAWm]|[kM]?Hz|AWG)\b)")


def _plain(value: Any) -> Any:
    """No control characters, and no line broken between a number and its unit."""
    if isinstance(value, str) and not hasattr(value, "__html__"):
        return _UNIT.sub("\N{NO-BREAK SPACE}", clean(value))
    return value


@cache
def _environment() -> Environment:
    return templates(Path(__file__).with_name("templates"), _plain)
