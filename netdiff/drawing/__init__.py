"""Diagrams with the standard symbols: one of each modification, of a zone, of what is around a part, of the whole.

``draw`` makes a file. The others give ``<svg>`` fragments for a page: no background, the page's colour of text,
classes for every look (``.diagram .added``), ``data-part`` on parts, ``data-points`` on conductors, ids with a prefix.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from typing import TYPE_CHECKING

from netdiff.circuit import Circuit, Part, Winding
from netdiff.comparison import Comparison
from netdiff.drawing.engines import Format
from netdiff.drawing.model import CannotDraw
from netdiff.drawing.views import View

if TYPE_CHECKING:
    import graphviz

    from netdiff.drawing.overview import Whole

__all__ = [
    "CannotDraw", "Format", "View", "draw", "graph", "modification_svg", "modification_svgs", "overview_svg",
    "part_svg", "unit_svgs",
]  # fmt: skip


def graph(
    thing: Comparison | Circuit,
    *,
    view: View = "both",
    around: str | None = None,
    modification: str | None = None,
    zone: str | None = None,
) -> graphviz.Graph:
    """The diagram as DOT text (``.source``) with plain boxes, for other programs. The choices are those of ``draw``."""
    from netdiff.drawing.dot import graph as written
    from netdiff.drawing.sheet import picture
    from netdiff.drawing.views import around as near
    from netdiff.drawing.views import in_zone, of_modification, seen_as
    from netdiff.drawing.zoning import followable, homes

    _one_of(around, modification, zone)
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
    """The diagram as a file.

    ``around`` (a designator), ``modification`` (its number) and ``zone`` (its name) show a part of it; one at
    a time. A modification, and what lies around one part of a unit, is drawn twice, as drawn and as found; a zone and
    the whole unit once, as found, with what is missing as a ghost. ``view`` shows one side alone; a circuit
    alone has one view only. Raises CannotDraw where there is no such part, modification or zone, or no program for
    the format.
    """
    from netdiff.drawing.diagram import diagram
    from netdiff.drawing.engines import converted

    _one_of(around, modification, zone)
    if fmt == "dot":
        return str(graph(thing, view=view, around=around, modification=modification, zone=zone).source).encode()
    return converted(diagram(thing, view, around, modification, zone), fmt)


def _one_of(*choices: str | None) -> None:
    if sum(choice is not None for choice in choices) > 1:
        raise CannotDraw("Choose one of a part, a modification and a zone.")


def part_svg(part: Part, marked: Collection[str] = (), *, windings: Sequence[Winding] = (), prefix: str = "") -> str:
    """An ``<svg>`` fragment of one part as it lies on the bench: a tube base from below, a strip with its lugs
    counted, others by their symbol. ``marked`` terminals (``{"g1"}``) are emphasised; each terminal is a
    ``<g class="terminal" data-point="V5.g1">``. ``windings`` are the circuit's (for transformers).
    """
    from netdiff.drawing.bench import part_svg as drawn

    return drawn(part, marked, windings=windings, prefix=prefix)


def modification_svg(comparison: Comparison, modification: str, prefix: str = "") -> str:
    """An ``<svg>`` fragment: the neighbourhood of one modification (``mod-3`` or ``3``), as the drawing has it and
    as found, the same parts in the same places. Raises CannotDraw. For many, ``modification_svgs`` is quicker.
    """
    return modification_svgs(comparison, [modification], prefix)[0]


def modification_svgs(
    comparison: Comparison, modifications: Sequence[str] | None = None, prefix: str = ""
) -> list[str]:
    """The same of several modifications, at the price of one start. Where none is named it is all of them, and the
    text is empty for one that names nothing to draw.
    """
    from netdiff.drawing.modification import fragments

    return fragments(comparison, modifications, prefix)


def overview_svg(comparison: Comparison, prefix: str = "") -> str:
    """An ``<svg>`` fragment: the whole unit by zones, its modifications marked by number."""
    from netdiff.drawing.overview import overview

    return overview(comparison, prefix)


def unit_svgs(comparison: Comparison, prefixes: tuple[str, str] = ("", "")) -> Callable[[], tuple[list[str], Whole]]:
    """Both: every modification, and the whole unit with its zones; at the price of one. The layout is begun at once;
    what this gives waits for it. Either may raise CannotDraw.
    """
    from netdiff.drawing.modification import together
    from netdiff.drawing.overview import assemblies, framed, parted
    from netdiff.drawing.overview import sheet as overview
    from netdiff.drawing.sheet import picture
    from netdiff.drawing.zoning import homes

    whole = homes(picture(comparison))
    zones, short = parted(whole)
    drawn = together(whole, [one.id for one in comparison.modifications], assemblies(zones, short), prefix=prefixes[0])

    def finish() -> tuple[list[str], Whole]:
        each, figures = drawn()
        unit = overview(whole, framed(zones, figures, "both", short), prefixes[1], standalone=False)
        return each(), unit

    return finish
