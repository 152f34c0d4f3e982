"""A drawing read back from its SVG: where its words and its lines are, measured apart from the program."""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple
from xml.etree import ElementTree

XY = tuple[float, float]
SVG = "{http://www.w3.org/2000/svg}"
FONTS = Path("/usr/share/fonts/truetype/dejavu")


class Rectangle(NamedTuple):
    left: float
    top: float
    right: float
    bottom: float

    def hits(self, other: Rectangle, by: float = 0.6) -> bool:
        """They lie on each other by more than ``by`` pixels, both ways."""
        return (
            min(self.right, other.right) - max(self.left, other.left) > by
            and min(self.bottom, other.bottom) - max(self.top, other.top) > by
        )


class Label(NamedTuple):
    text: str
    at: Rectangle


@cache
def font(size: float, bold: bool) -> Any:
    """The font that stands first in every drawing, where this machine has it."""
    path = FONTS / ("DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf")
    if not path.exists():
        return None
    from PIL import ImageFont

    return ImageFont.truetype(str(path), round(size * 20))


def width(text: str, size: float, bold: bool) -> float:
    """By the font itself where it is there; else 0.62 of the height a letter, which is that font's average."""
    real = font(size, bold)
    return real.getlength(text) / 20 if real is not None else 0.62 * size * len(text)


def labels(svg: str) -> list[Label]:
    """Words with the rectangle of their letters: from the base line up to the height of capitals."""
    out = []
    for node in ElementTree.fromstring(svg).iter(f"{SVG}text"):
        text = "".join(node.itertext())
        size, bold = float(node.get("font-size", "10")), node.get("font-weight") == "bold"
        x, y, wide = float(node.get("x", "0")), float(node.get("y", "0")), width(text, size, bold)
        left = {"start": x, "middle": x - wide / 2, "end": x - wide}[node.get("text-anchor", "start")]
        out.append(Label(text, Rectangle(left, y - 0.73 * size, left + wide, y)))
    return out


def overlaps(svg: str) -> list[tuple[str, str]]:
    """Words that lie on each other."""
    found = sorted(labels(svg), key=lambda label: label.at.left)
    out = []
    for number, one in enumerate(found):
        for other in itertools.islice(found, number + 1, None):
            if other.at.left > one.at.right:
                break
            if one.at.hits(other.at):
                out.append((one.text, other.text))
    return out


def cut_off(svg: str) -> list[str]:
    """Words that reach beyond the sheet."""
    left, top, wide, high = (float(v) for v in ElementTree.fromstring(svg).get("viewBox", "").split())
    sheet = Rectangle(left, top, left + wide, top + high)
    return [
        one.text
        for one in labels(svg)
        if one.at.left < sheet.left
        or one.at.top < sheet.top
        or one.at.right > sheet.right
        or one.at.bottom > sheet.bottom
    ]


def wires(svg: str) -> Iterator[tuple[float, float, float, float]]:
    """The pieces of the conductors."""
    for group in ElementTree.fromstring(svg).iter(f"{SVG}g"):
        if group.get("class", "").split(" ")[0] != "run":
            continue
        for path in group.iter(f"{SVG}path"):
            points = [(float(a), float(b)) for a, b in re.findall(r"(-?[\d.]+) (-?[\d.]+)", path.get("d", ""))]
            for (ax, ay), (bx, by) in itertools.pairwise(points):
                yield min(ax, bx), min(ay, by), max(ax, bx), max(ay, by)


def struck(svg: str) -> list[str]:
    """Words that a conductor runs through."""
    pieces = list(wires(svg))
    out = []
    for one in labels(svg):
        left, top, right, bottom = one.at.left + 1, one.at.top + 1, one.at.right - 1, one.at.bottom - 0.5
        if any(ax < right and bx > left and ay < bottom and by > top for ax, ay, bx, by in pieces):
            out.append(one.text)
    return out


def clashes(figure: Any, side: str) -> list[tuple[Any, Any]]:
    """Lines that are not joined, of which a piece of one lies on a piece of another: drawn, they would look joined."""
    from netdiff.nets import Union

    paths = [path for path in figure.paths if getattr(path.line.presence, side)]
    union = Union()
    for number, path in enumerate(paths):
        for end in path.ends:
            through = end.node.startswith("words")  # a line goes on behind its words
            union.join(f"path {number}", f"end {end.node} {'' if through else end.port}")
    pieces = [
        (union.find(f"path {number}"), path.ends, a, b)
        for number, path in enumerate(paths)
        for a, b in itertools.pairwise(path.points)
    ]
    out = []
    for (net, ends, a, b), (other, far, c, d) in itertools.combinations(pieces, 2):
        if net != other and any(_along(a, b, c, d, axis) for axis in (0, 1)):
            out.append((ends, far))
    return out


def _along(a: XY, b: XY, c: XY, d: XY, axis: int) -> bool:
    """Both run along the axis, at less than a line's width from each other, and share a stretch."""
    across = 1 - axis
    if max(abs(a[across] - b[across]), abs(c[across] - d[across])) > 0.1 or abs(a[across] - c[across]) > 1.4:
        return False
    return min(max(a[axis], b[axis]), max(c[axis], d[axis])) - max(min(a[axis], b[axis]), min(c[axis], d[axis])) > 0.2
