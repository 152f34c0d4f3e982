"""How an item looks on either side of a pair of panels, and the signs that end a line.

Told apart by line style and weight and by a word; the colours only help the eye. Each look is the class of
a group, so that a page may give it another colour: ``.diagram .added { color: … }``.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Final, Literal, NamedTuple

from netdiff.drawing.ink import Circle, Ink, Stroke, Word, group, measure, svg
from netdiff.drawing.model import Box, Line, Mark
from netdiff.drawing.style import MARKS
from netdiff.drawing.symbol import arrow, line

Side = Literal["stock", "found"]
SIDES: Final[tuple[Side, Side]] = ("stock", "found")


class Look(NamedTuple):
    """``weight`` is added to the weight of the ink; ``dash`` as in SVG."""

    name: str
    color: str
    weight: float
    dash: str = ""


_DRAWN: Final[dict[Mark, Look]] = {
    "missing": Look("touched", MARKS["touched"].color, 1.4, "6 3"),
    "changed": Look("touched", MARKS["touched"].color, 1.4, "6 3"),
}
_FOUND: Final[dict[Mark, Look]] = {
    "missing": Look("missing", MARKS["missing"].color, 0, "1.5 3"),
    "added": Look("added", MARKS["added"].color, 1.8),
    "changed": Look("changed", MARKS["changed"].color, 1.4),
    "unseen": Look("unseen", MARKS["unseen"].color, 0, "1 2.5"),
}
_PLAIN: Final = Look("", "", 0)
ASIDE: Final = 0.3
"""Of the weight that a difference adds, where the picture is about another modification."""


def look(one: Box | Line, side: Side) -> Look:
    """What its mark means on this side: an added item is not on the drawing's side at all."""
    how = (_DRAWN if side == "stock" else _FOUND).get(one.mark, _PLAIN)
    return how._replace(weight=ASIDE * how.weight) if one.aside else how


class Patch(NamedTuple):
    """Ink that belongs together: one part, one conductor, one sign. ``data`` become data attributes."""

    ink: tuple[Ink, ...]
    kind: str = ""
    look: Look = _PLAIN
    data: tuple[tuple[str, str], ...] = ()

    def moved(self, dx: float, dy: float) -> Patch:
        from netdiff.drawing.ink import moved

        return self._replace(ink=tuple(moved(self.ink, dx, dy)))

    def svg(self) -> str:
        attributes = {"class_": f"{self.kind} {self.look.name}".strip(), "color": self.look.color}
        attributes |= {f"data_{name}": value for name, value in self.data}
        return group((svg(one) for one in self.ink), **attributes)


def shaded(ink: Iterable[Ink], look: Look, dashed: bool = True) -> tuple[Ink, ...]:
    """The ink in a look. Words and filled spots keep their weight; a symbol is dashed only where it is not there."""
    out: list[Ink] = []
    for one in ink:
        if isinstance(one, Word):
            out.append(one)
        else:
            dash = look.dash if dashed and not one.filled else one.dash
            out.append(replace(one, weight=one.weight + look.weight, dash=dash or one.dash))
    return tuple(out)


# --- signs --------------------------------------------------------------------------------------------------------


def frame_sign(way: str) -> tuple[Ink, ...]:
    """The standard's sign of a connection to frame or chassis, at the end of a lead that comes from the other way."""
    bars: list[Ink] = [line((0, 0), (0, 5)), line((-6, 5), (6, 5), weight=1.6)]
    bars += [line((x, 5), (x - 3, 9.5)) for x in (-5, 0, 5)]
    return _toward(bars, way)


def earth_sign(way: str) -> tuple[Ink, ...]:
    """Earth: three bars."""
    return _toward([line((0, 0), (0, 4)), line((-6, 4), (6, 4)), line((-4, 7), (4, 7)), line((-2, 10), (2, 10))], way)


def _toward(ink: list[Ink], way: str) -> tuple[Ink, ...]:
    def put(x: float, y: float) -> tuple[float, float]:
        return {"D": (x, y), "U": (x, -y), "R": (y, x), "L": (-y, x)}[way]

    out: list[Ink] = []
    for one in ink:
        assert isinstance(one, Stroke)
        out.append(replace(one, points=tuple(put(x, y) for x, y in one.points)))
    return tuple(out)


def goes_to(text: str, way: str, size: float = 8.0) -> tuple[Ink, ...]:
    """An arrow head and where the lead goes."""
    if way == "R":
        return line((0, 0), (5, 0)), arrow(8, 0, 1, 0, 5), Word(10, 3, text, size)
    if way == "L":
        return line((0, 0), (-5, 0)), arrow(-8, 0, -1, 0, 5), Word(-10, 3, text, size, "end")
    if way == "U":
        return line((0, 0), (0, -5)), arrow(0, -9, 0, -1, 5), Word(0, -12, text, size, "middle")
    return line((0, 0), (0, 5)), arrow(0, 9, 0, 1, 5), Word(0, 19, text, size, "middle")


def flag(x: float, y: float, number: int, size: float = 8.0) -> tuple[tuple[Ink, ...], float]:
    """A modification's number in a ring, its left at ``x`` on the base line ``y``; and its width."""
    text = str(number)
    r = 0.75 * size
    half = max(r, measure(text, size, True) / 2 + 0.4 * size)
    middle = y - 0.36 * size
    word = Word(x + half, y, text, size, "middle", True)
    if len(text) == 1:
        return (Circle(x + half, middle, half, 1.3), word), 2 * half
    right, slope = x + 2 * half, 0.4 * size
    frame = Stroke(
        ((x + slope, middle - r), (right - slope, middle - r), (right, middle), (right - slope, middle + r),
         (x + slope, middle + r), (x, middle)), 1.3, closed=True,
    )  # fmt: skip
    return (frame, word), 2 * half
