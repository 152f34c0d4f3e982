"""What pictures are made of: strokes, circles and words, in pixels with y downwards, and SVG text of them.

All text goes through ``escape``; nothing that a user wrote becomes an element, an attribute's end or a reference.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final, Literal, NamedTuple

FAMILY: Final = "'DejaVu Sans', Verdana, Geneva, Arial, Helvetica, sans-serif"
"""The widest first: what stands in for it is no wider, so that words keep their room."""

WEIGHT: Final = 1.2
"""Of a line that says nothing more, pixels. The ``<svg>`` element sets it, and that nothing is filled."""

Anchor = Literal["start", "middle", "end"]
XY = tuple[float, float]


class Area(NamedTuple):
    """A rectangle."""

    left: float
    top: float
    right: float
    bottom: float

    @property
    def width(self) -> float:
        return self.right - self.left

    @property
    def height(self) -> float:
        return self.bottom - self.top

    def grown(self, by: float) -> Area:
        return Area(self.left - by, self.top - by, self.right + by, self.bottom + by)

    def moved(self, dx: float, dy: float) -> Area:
        return Area(self.left + dx, self.top + dy, self.right + dx, self.bottom + dy)


def around(areas: Iterable[Area]) -> Area:
    """The least rectangle about all of them; an empty one about nothing."""
    every = list(areas)
    if not every:
        return Area(0, 0, 0, 0)
    return Area(
        min(a.left for a in every), min(a.top for a in every), max(a.right for a in every), max(a.bottom for a in every)
    )


@dataclass(frozen=True, slots=True)
class Stroke:
    """A line through points. ``weight`` is in pixels, ``dash`` as in SVG; ``filled``: with the colour of the line."""

    points: tuple[XY, ...]
    weight: float = WEIGHT
    closed: bool = False
    filled: bool = False
    dash: str = ""
    color: str = ""


@dataclass(frozen=True, slots=True)
class Circle:
    x: float
    y: float
    r: float
    weight: float = WEIGHT
    filled: bool = False
    dash: str = ""
    color: str = ""


@dataclass(frozen=True, slots=True)
class Word:
    """One line of text; ``y`` is its base line."""

    x: float
    y: float
    text: str
    size: float = 9.0
    anchor: Anchor = "start"
    bold: bool = False
    color: str = ""

    @property
    def area(self) -> Area:
        wide = measure(self.text, self.size, self.bold)
        left = {"start": self.x, "middle": self.x - wide / 2, "end": self.x - wide}[self.anchor]
        return Area(left, self.y - 0.76 * self.size, left + wide, self.y + 0.24 * self.size)


Ink = Stroke | Circle | Word


# Advance widths of DejaVu Sans and its bold in hundredths of the size, from the blank to the tilde: read from the
# fonts (version 2.37, free licence).
_PLAIN: Final = (
    32, 40, 46, 84, 64, 95, 78, 27, 39, 39, 50, 84, 32, 36, 32, 34, 64, 64, 64, 64, 64, 64, 64, 64, 64, 64, 34, 34, 84,
    84, 84, 53, 100, 68, 69, 70, 77, 63, 58, 77, 75, 29, 29, 66, 56, 86, 75, 79, 60, 79, 69, 63, 61, 73, 68, 99, 69, 61,
    69, 39, 34, 39, 84, 50, 50, 61, 63, 55, 63, 62, 35, 63, 63, 28, 28, 58, 28, 97, 63, 61, 63, 63, 41, 52, 39, 63, 59,
    82, 59, 59, 52, 64, 34, 64, 84,
)  # fmt: skip
_BOLD: Final = (
    35, 46, 52, 84, 70, 100, 87, 31, 46, 46, 52, 84, 38, 42, 38, 37, 70, 70, 70, 70, 70, 70, 70, 70, 70, 70, 40, 40, 84,
    84, 84, 58, 100, 77, 76, 73, 83, 68, 68, 82, 84, 37, 37, 77, 64, 100, 84, 85, 73, 85, 77, 72, 68, 81, 77, 110, 77,
    72, 73, 46, 37, 46, 84, 50, 50, 67, 72, 59, 72, 68, 44, 72, 71, 34, 34, 67, 34, 104, 71, 69, 72, 72, 49, 60, 48, 71,
    65, 92, 65, 65, 58, 71, 37, 71, 84,
)  # fmt: skip


@lru_cache(maxsize=8192)
def measure(text: str, size: float, bold: bool = False) -> float:
    """Width in pixels that a text takes at most."""
    widths = _BOLD if bold else _PLAIN
    return sum(widths[ord(c) - 32] if " " <= c <= "~" else _wide(c, bold) for c in text) * size / 100


def _wide(character: str, bold: bool) -> int:
    if unicodedata.combining(character):
        return 0
    if unicodedata.east_asian_width(character) in "WF":
        return 130
    return 100 if unicodedata.category(character)[0] in "SP" else 100 if bold else 90


def wrapped(text: str, size: float, room: float, bold: bool = False) -> list[str]:
    """The text in lines no wider than ``room``, but for a single word that is."""
    lines: list[str] = []
    for word in text.split():
        if lines and measure(f"{lines[-1]} {word}", size, bold) <= room:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return lines


# --- moving and turning -------------------------------------------------------------------------------------------


def moved(ink: Iterable[Ink], dx: float, dy: float) -> Iterator[Ink]:
    for one in ink:  # written out: a sheet has tens of thousands of these, and ``replace`` takes its time
        if isinstance(one, Stroke):
            points = tuple([(x + dx, y + dy) for x, y in one.points])
            yield Stroke(points, one.weight, one.closed, one.filled, one.dash, one.color)
        elif isinstance(one, Word):
            yield Word(one.x + dx, one.y + dy, one.text, one.size, one.anchor, one.bold, one.color)
        else:
            yield Circle(one.x + dx, one.y + dy, one.r, one.weight, one.filled, one.dash, one.color)


def turned(ink: Iterable[Ink]) -> Iterator[Ink]:
    """A quarter turn clockwise: what lay to the right points down. Words stay upright."""
    for one in ink:
        if isinstance(one, Stroke):
            yield replace(one, points=tuple((-y, x) for x, y in one.points))
        elif isinstance(one, Word):
            yield replace(one, x=1 - one.y, y=one.x + 0.3 * one.size, anchor="start")
        else:
            yield replace(one, x=-one.y, y=one.x)


def flipped(ink: Iterable[Ink]) -> Iterator[Ink]:
    """Left and right exchanged. Words stay readable."""
    for one in ink:
        if isinstance(one, Stroke):
            yield replace(one, points=tuple((-x, y) for x, y in one.points))
        elif isinstance(one, Word):
            anchor: Anchor = "end" if one.anchor == "start" else "start" if one.anchor == "end" else "middle"
            yield replace(one, x=-one.x, anchor=anchor)
        else:
            yield replace(one, x=-one.x)


def extent(ink: Iterable[Ink]) -> Area:
    """The area that the ink covers."""
    xs: list[float] = []
    ys: list[float] = []
    for one in ink:
        if isinstance(one, Stroke):
            xs += [x for x, _ in one.points]
            ys += [y for _, y in one.points]
        elif isinstance(one, Circle):
            xs += (one.x - one.r, one.x + one.r)
            ys += (one.y - one.r, one.y + one.r)
        else:
            area = one.area
            xs += (area.left, area.right)
            ys += (area.top, area.bottom)
    return Area(min(xs), min(ys), max(xs), max(ys)) if xs else Area(0, 0, 0, 0)


# --- SVG ----------------------------------------------------------------------------------------------------------


def escape(text: str) -> str:
    """Text inside an element or an attribute, letter for letter."""
    for character, instead in (("&", "&amp;"), ("<", "&lt;"), (">", "&gt;"), ('"', "&quot;"), ("'", "&#39;")):
        text = text.replace(character, instead)
    if text.isascii() and text.isprintable():
        return text
    return "".join(c if _printable(c) else "\N{REPLACEMENT CHARACTER}" for c in text)


def _printable(character: str) -> bool:
    """XML 1.0 allows no other; and nothing that turns the direction of writing."""
    return character in "\n\t" or unicodedata.category(character) not in ("Cc", "Cf", "Cs", "Co", "Cn")


def number(value: float) -> str:
    """At most one decimal, without needless zeros."""
    text = f"{value:.1f}"
    text = text.removesuffix(".0")
    return "0" if text == "-0" else text


def svg(ink: Ink) -> str:
    color = ink.color or "currentColor"
    if isinstance(ink, Word):
        words = f'<text x="{number(ink.x)}" y="{number(ink.y)}" font-size="{number(ink.size)}"'
        if ink.anchor != "start":
            words += f' text-anchor="{ink.anchor}"'
        if ink.bold:
            words += ' font-weight="bold"'
        return f'{words} fill="{color}" stroke="none">{escape(ink.text)}</text>'
    look = f' fill="{color}"' if ink.filled else ""
    if ink.color:
        look += f' stroke="{color}"'
    if number(ink.weight) != number(WEIGHT):
        look += f' stroke-width="{number(ink.weight)}"'
    if ink.dash:
        look += f' stroke-dasharray="{ink.dash}"'
    if isinstance(ink, Circle):
        return f'<circle cx="{number(ink.x)}" cy="{number(ink.y)}" r="{number(ink.r)}"{look}/>'
    path = "M" + "L".join(f"{number(x)} {number(y)}" for x, y in ink.points) + ("Z" if ink.closed else "")
    return f'<path d="{path}"{look}/>'


def group(inside: Iterable[str], **attributes: str) -> str:
    """``<g …>``; an underscore in a name is a hyphen, a trailing one is dropped (``class_``)."""
    words = "".join(
        f' {name.rstrip("_").replace("_", "-")}="{escape(value)}"' for name, value in attributes.items() if value
    )
    return f"<g{words}>{''.join(inside)}</g>"


def fragment(
    inside: Iterable[str], area: Area, *, title: str, says: str = "", prefix: str = "", standalone: bool = False
) -> str:
    """An ``<svg>`` element with a title and a description for people who hear the page.

    Standing alone it is dark on white paper; inside a page it takes the page's colour of text.
    """
    key = escape(f"{prefix}diagram")
    left, top, wide, high = (number(value) for value in (area.left, area.top, area.width, area.height))
    out = [
        f'<svg xmlns="http://www.w3.org/2000/svg" class="diagram" role="img" viewBox="{left} {top} {wide} {high}"'
        f' width="{wide}" height="{high}" font-family="{escape(FAMILY)}" fill="none" stroke="currentColor"'
        f' stroke-width="{number(WEIGHT)}" stroke-linecap="round" stroke-linejoin="round"'
        f' aria-labelledby="{key}-title {key}-says"' + (' color="#1a1a1a">' if standalone else ">"),
        f'<title id="{key}-title">{escape(title)}</title>',
        f'<desc id="{key}-says">{escape(says or title)}</desc>',
    ]
    if standalone:
        out.append(f'<rect x="{left}" y="{top}" width="{wide}" height="{high}" fill="#ffffff" stroke="none"/>')
    return "".join([*out, *inside, "</svg>"])
