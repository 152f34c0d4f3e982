"""Diagrams: the stock circuit, the unit as found, and the two laid over each other.

``graph`` says what to draw as DOT text, ``render`` makes a file of it, ``draw`` does both.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from netdiff.circuit import Circuit
from netdiff.comparison import Comparison
from netdiff.drawing.engines import Format, render, render_all
from netdiff.drawing.model import CannotDraw
from netdiff.drawing.views import View

if TYPE_CHECKING:
    import graphviz

__all__ = ["CannotDraw", "Format", "View", "draw", "graph", "render", "render_all"]


def graph(
    thing: Comparison | Circuit,
    *,
    view: View = "both",
    around: str | None = None,
    modification: str | None = None,
    zone: str | None = None,
) -> graphviz.Graph:
    """The diagram as DOT text (``.source``). A circuit alone has one view only.

    ``around`` (a designator), ``modification`` (its number) and ``zone`` (its name) show a part of it;
    one at a time. Raises CannotDraw where there is no such part, modification or zone.
    """
    from netdiff.drawing.dot import graph as written
    from netdiff.drawing.sheet import picture
    from netdiff.drawing.views import around as near
    from netdiff.drawing.views import in_zone, of_modification, seen_as
    from netdiff.drawing.zoning import followable, homes

    if sum(choice is not None for choice in (around, modification, zone)) > 1:
        raise CannotDraw("Choose one of a part, a modification and a zone.")
    sheet = homes(picture(thing))
    if around is not None:
        sheet = near(sheet, around)
    elif modification is not None:
        sheet = of_modification(sheet, modification)
    elif zone is not None:
        sheet = in_zone(sheet, zone)
    if isinstance(thing, Comparison):
        sheet = seen_as(sheet, view)
    return written(followable(sheet))


def draw(
    thing: Comparison | Circuit,
    fmt: Format = "svg",
    *,
    view: View = "both",
    around: str | None = None,
    modification: str | None = None,
    zone: str | None = None,
) -> bytes:
    """The diagram as a file."""
    return render(graph(thing, view=view, around=around, modification=modification, zone=zone).source, fmt)
