"""Which diagram: of one modification, around one part, of a zone, or of the whole; as an SVG text that stands alone."""

from __future__ import annotations

from dataclasses import replace

from netdiff.circuit import Circuit
from netdiff.comparison import Comparison
from netdiff.drawing.assemble import Assembly
from netdiff.drawing.figure import figures
from netdiff.drawing.model import Picture
from netdiff.drawing.modification import laid_out, titled, two_panels
from netdiff.drawing.neighbourhood import about, near
from netdiff.drawing.overview import overview, page
from netdiff.drawing.sheet import picture
from netdiff.drawing.views import View, in_zone, numbered, seen_as
from netdiff.drawing.zoning import homes


def diagram(
    thing: Comparison | Circuit, view: View, around: str | None, modification: str | None, zone: str | None
) -> str:
    if not isinstance(thing, Comparison):
        view = "stock"
    if around is None and modification is None and zone is None:
        return overview(thing, view=view, standalone=True)
    sheet = homes(picture(thing))
    if zone is not None:
        shown = in_zone(sheet, zone)
        return page(_seen(shown, view), {"": _seen(shown, view)}, view, standalone=True)
    if modification is not None:
        numbered(sheet, modification)
        one = near(sheet, modification)
        title = titled(one)
    else:
        assert around is not None
        one = about(sheet, around)
        title = f"Around {around}"
    if view != "both" or not _differs(one.picture):
        shown = _seen(one.picture, view)
        words = replace(shown, subtitle=f"{sheet.subtitle}: {title}" if sheet.subtitle else title)
        return page(words, {"": shown}, "stock" if view == "both" else view, standalone=True)
    if modification is None:
        return two_panels(one.picture, figures([Assembly(one.picture, one.core)])[0], title, standalone=True)
    settled, _ = laid_out(sheet, [one])()
    ((shown_near, figure),) = settled()
    return two_panels(shown_near.picture, figure, title, standalone=True)


def _seen(shown: Picture, view: View) -> Picture:
    return shown if view == "both" else seen_as(shown, view)


def _differs(shown: Picture) -> bool:
    marks = {one.mark for one in shown.boxes.values()} | {one.mark for one in shown.lines}
    return bool(marks - {"", "unseen"})
