"""How items look: line, weight and colour of each difference, and text made safe for DOT.

The colours are chosen so that they differ in lightness as well as in hue (seen by a colour-blind
eye, and by a black and white printer); line style, weight and a word say the same once more.
"""

from __future__ import annotations

from typing import Final, NamedTuple

from netdiff.drawing.model import Mark

FONT: Final = "Verdana"
"""Widest of the sans serifs that the layout engine knows the widths of: what stands in for it is no wider."""
FONT_FAMILY: Final = "Verdana, 'DejaVu Sans', Geneva, Arial, Helvetica, sans-serif"

GROUND: Final = "⊥"
ARROW: Final = "→"


class Style(NamedTuple):
    """Stroke colour, stroke width in points, DOT line style, fill of a box, colour of its text."""

    color: str
    width: float
    line: str
    fill: str
    text: str = "#000000"


MARKS: Final[dict[Mark, Style]] = {
    "": Style("#4d4d4d", 1.0, "solid", "#ffffff"),
    "missing": Style("#c25410", 2.2, "dashed", "#ffffff"),
    "added": Style("#08315c", 3.4, "solid", "#d6e6f5"),
    "changed": Style("#6b3d94", 2.2, "solid", "#f0e9f6"),
    "touched": Style("#c25410", 2.2, "solid", "#ffffff"),
    "unseen": Style("#767676", 1.0, "dotted", "#ffffff", "#595959"),
}
"""How a difference is drawn."""

LEGEND: Final[dict[Mark, str]] = {
    "": "as drawn",
    "missing": "missing: in the drawing, not in the unit",
    "added": "added: in the unit, not in the drawing",
    "changed": "changed: other than drawn, the words say how",
    "touched": "as drawn; the unit differs here",
    "unseen": "nobody looked",
}


def escape(text: str) -> str:
    """Text as a DOT label shows it, letter for letter: no entity, no escape sequence, no HTML; a newline breaks it."""
    for character, instead in (("&", "&amp;"), ("<", "&lt;"), (">", "&gt;"), ("\\", "\\\\"), ("\n", "\\n")):
        text = text.replace(character, instead)
    return text


def escape_field(text: str) -> str:
    """The same inside a field of a record, where braces, bars and blanks mean something too."""
    text = escape(text)
    for character in "{}| ":
        text = text.replace(character, "\\" + character)
    return text
