"""The whole unit on one sheet: a frame for each zone, in it the zone's own circuit, modifications by number.

What leaves a zone is named at both ends by where it goes, as a service manual does from sheet to sheet.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Final, NamedTuple

from netdiff.circuit import Circuit
from netdiff.comparison import Comparison
from netdiff.drawing import ink as inks
from netdiff.drawing.assemble import Assembly
from netdiff.drawing.figure import Figure, figures, packed
from netdiff.drawing.ink import Area, Ink, Word, around, extent, svg, wrapped
from netdiff.drawing.looks import Patch, Side
from netdiff.drawing.model import Picture
from netdiff.drawing.modification import PAPER
from netdiff.drawing.panel import key, panel
from netdiff.drawing.symbol import box
from netdiff.drawing.views import View, in_zone, seen_as

SHAPES: Final = (1.41, 1.6, 1.85, 2.15)
"""Width to height of the zones together: paper lying, and wider where the list of modifications below is long."""
READABLE: Final = 0.7
"""A sheet that paper shows smaller than this is printed zone by zone as well."""
SMALL: Final = 60
"""Up to so many parts a picture is drawn with all its values."""
GAP: Final = 14.0
HEADS: Final = {True: 20.0, False: 12.0}
"""Size of a zone's title: of a large sheet, which is printed small, and of another."""


class Whole(NamedTuple):
    """The sheet as an SVG text; and where paper shows it too small, each zone alone, by reference to the sheet."""

    svg: str
    zones: tuple[str, ...]


class Frame(NamedTuple):
    """A zone's figure and its heading."""

    title: str
    figure: Figure
    patches: list[Patch]
    head: float

    @property
    def wide(self) -> float:
        return max(self.figure.area.width, inks.measure(self.title, self.head, True)) + 16

    @property
    def high(self) -> float:
        return self.figure.area.height + self.head + 22


def overview(thing: Comparison | Circuit, prefix: str = "", view: View = "both", standalone: bool = False) -> str:
    """The whole unit, or the whole circuit. A large one has its zones in frames and designators alone."""
    from netdiff.drawing.sheet import picture
    from netdiff.drawing.zoning import homes

    whole = homes(picture(thing))
    if view != "both":
        whole = seen_as(whole, view)
    zones, short = parted(whole)
    return page(whole, zones, view, prefix, standalone, short=short)


def parted(whole: Picture) -> tuple[dict[str, Picture], bool]:
    """The zones to draw in frames, by title, or all in one; and whether with designators alone."""
    from netdiff.drawing.zoning import followable

    large = len(whole.boxes) > SMALL
    return zones_of(whole) if large or followable(whole) != whole else {"": whole}, large


def assemblies(zones: dict[str, Picture], short: bool) -> list[Assembly]:
    return [Assembly(zone, () if short else None, short=short) for zone in zones.values()]


def page(
    whole: Picture,
    zones: dict[str, Picture],
    view: View,
    prefix: str = "",
    standalone: bool = False,
    short: bool = False,
) -> str:
    """Pictures by title on one sheet, with the words of ``whole`` about them. Laid over each other, or one side."""
    made = figures(assemblies(zones, short))
    return sheet(whole, framed(zones, made, view, short), prefix, standalone).svg


def framed(zones: Iterable[str], made: Iterable[Figure], view: View, short: bool) -> list[Frame]:
    side: Side = "stock" if view == "stock" else "found"
    return [
        Frame(title, one, panel(one, side, view == "both"), HEADS[short])
        for title, one in zip(zones, made, strict=True)
    ]


def zones_of(whole: Picture) -> dict[str, Picture]:
    """By title, in the order of the file; what is in no zone comes last."""
    out = {}
    for name, title in whole.zones.items():
        if any(one.zone == name for one in whole.boxes.values()):
            out[title] = in_zone(whole, name)
    rest = {name: one for name, one in whole.boxes.items() if one.zone not in whole.zones}
    if rest or not out:
        boxes = {name: replace(one, zone="" if name in rest else one.zone) for name, one in whole.boxes.items()}
        out["In no zone" if out else ""] = in_zone(replace(whole, zones={**whole.zones, "": ""}, boxes=boxes), "")
    return out


def sheet(whole: Picture, frames: list[Frame], prefix: str, standalone: bool) -> Whole:
    """Of several shapes the one that paper shows largest."""
    sizes = [(frame.wide, frame.high) for frame in frames]
    tries = [packed(sizes, shape, GAP) for shape in (SHAPES if len(frames) > 1 else SHAPES[:1])]
    told = [_words(whole, max(wide, 420.0), high) for _, wide, high in tries]
    scales = [_scale(area) for _, area in told]
    best = scales.index(max(scales))
    (spots, _, _), (words, area) = tries[best], told[best]
    inside: list[str] = []
    zones = []
    for number, (frame, (x, y)) in enumerate(zip(frames, spots, strict=True)):
        dx, dy = x + 8 - frame.figure.area.left, y + frame.head + 14 - frame.figure.area.top
        key = inks.escape(f"{prefix}zone-{number}")
        place = Area(x, y, x + frame.wide, y + frame.high)
        alone = [f'<use href="#{key}"/>']
        zones.append(inks.fragment(alone, place.grown(2), title=frame.title or whole.title, prefix=f"{key}-"))
        named: tuple[Ink, ...] = (
            box(place, weight=0.7),
            Word(x + 8, y + frame.head + 2, frame.title, frame.head, bold=True),
        )
        head = Patch(named if frame.title else (), "frame")
        inside.append(
            f'<g class="zone" id="{key}">{head.svg()}'
            + "".join(patch.moved(dx, dy).svg() for patch in frame.patches)
            + "</g>"
        )
    drawn = [*inside, *(svg(word) for word in words)]
    says = f"{whole.title}, {whole.subtitle}: {len(whole.entries)} modifications marked by number."
    text = inks.fragment(drawn, area, title=whole.title, says=says, prefix=prefix, standalone=standalone)
    return Whole(text, tuple(zones) if len(frames) > 1 and scales[best] < READABLE else ())


def _scale(area: Area) -> float:
    """How large paper shows it, lying."""
    return min(PAPER[0] / area.width, PAPER[1] / area.height)


def _words(whole: Picture, wide: float, high: float) -> tuple[list[Word], Area]:
    """What stands above and below the zones, and the area of all."""
    body = Area(0, 0, wide, high)
    size = max(11.0, body.width / 150)
    top = [Word(0, 0, text, size * 1.3, bold=True) for text in wrapped(whole.title, size * 1.3, body.width, True)]
    top += [Word(0, 0, text, size) for text in wrapped(whole.subtitle, size, body.width)]
    y = -12.0
    words: list[Word] = []
    for word in reversed(top):
        words.append(replace(word, y=y))
        y -= word.size * 1.35
    foot: list[Word] = []
    y = high + size * 1.8
    entries = [f"{entry.number}  {entry.title}" + (" (stays)" if entry.kept else "") for entry in whole.entries]
    columns = max(1, int(body.width // max(300.0, *(inks.measure(text, size) + 20 for text in entries), 1)))
    rows = -(-len(entries) // columns)
    for number, text in enumerate(entries):
        foot.append(Word((number // rows) * body.width / columns, y + size * 1.35 * (number % rows), text, size))
    y += size * 1.35 * (rows + 0.5)
    for text in [*wrapped(key(whole), size, body.width), *whole.notes]:
        foot.append(Word(0, y, text, size))
        y += size * 1.35
    return [*words, *foot], around([body, extent([*words, *foot])]).grown(10)
