"""What the layout places. A node has the same size and the same ports on both sides of a pair of panels; what is
drawn in it differs.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

from netdiff.circuit import Run
from netdiff.drawing.ink import Area, around, extent, measure
from netdiff.drawing.looks import Patch, Side
from netdiff.drawing.model import Line
from netdiff.drawing.plan import loud
from netdiff.drawing.symbol import Port
from netdiff.drawing.words import clip, run_text

MARGIN: Final = 8.0
"""Room left and right of what a node draws, where a line may go round it, pixels."""
GAP: Final = 4.0
"""Room above and below it."""
FLAG: Final = 18.0
"""Size of a modification's number in an overview, so that it is read on one sheet of A4 or letter paper."""
SHORT: Final = 12.0
"""Size of designators in an overview."""
LINE: Final = 11.0
"""From one line of text to the next."""


Loops = Sequence[tuple[str, str, Line]]
"""Lines from one terminal of a part to another."""


@dataclass(slots=True)
class Node:
    """Local coordinates start at the upper left corner of its rectangle. ``flip`` makes it anew, left and right
    exchanged, where it can be.
    """

    name: str
    wide: float
    high: float
    ports: dict[str, Port]
    faces: dict[Side, tuple[Patch, ...]]
    zone: str = ""
    firm: bool = False
    """A part with several terminals: it stays where it is when lines are straightened."""
    flip: Callable[[], Node] | None = None
    x: float = 0.0
    y: float = 0.0
    loops: Loops = ()
    """Lines from one of its terminals to another."""

    @property
    def area(self) -> Area:
        return Area(self.x, self.y, self.x + self.wide, self.y + self.high)


def make_node(name: str, ports: dict[str, Port], faces: dict[Side, list[Patch]], *, zone: str = "", firm: bool = False,
          margin: float = MARGIN, gap: float = GAP, loops: Loops = ()) -> Node:  # fmt: skip
    """Moves everything so that the rectangle starts at the origin, with room above for loops and their words."""
    areas = [extent(patch.ink) for patches in faces.values() for patch in patches if patch.ink]
    areas += [Area(port.x, port.y, port.x, port.y) for port in ports.values()]
    whole = around(areas)
    middle = (whole.left + whole.right) / 2
    for _, _, one in loops:
        half = max(measure(text, 8, bold=True) / 2 for text in (loop_words(one, "stock"), loop_words(one, "found")))
        half += 2 + 18 * len(one.numbers)
        whole = whole._replace(left=min(whole.left, middle - half), right=max(whole.right, middle + half))
    more = (LINE + 4) * len(loops)
    left, top = math.floor(whole.left - margin), math.floor(whole.top - gap - more)
    wide, high = math.ceil(whole.right + margin) - left, math.ceil(whole.bottom + gap) - top
    return Node(
        name,
        wide,
        high,
        {t: Port(p.x - left, p.y - top, p.ways) for t, p in ports.items()},
        {side: tuple(patch.moved(-left, -top) for patch in patches) for side, patches in faces.items()},
        zone,
        firm,
        loops=tuple(loops),
    )


def loop_words(line_: Line, side: Side) -> str:
    """What stands over a line from one terminal of a part to another; empty on the side that does not have it."""
    if not getattr(line_.presence, side):
        return ""
    words = " ".join(loud(word) for word in line_.words) or loud(line_.mark)
    run = run_of(line_, side)
    if run is None:
        return words
    if not words or side == "stock":
        return clip(run_text(replace(run, braid=None)))
    return f"{words} “{clip(run.text, 24)}”" if run.text else words


def run_of(line_: Line, side: Side) -> Run | None:
    return line_.drawn if side == "stock" else line_.seen or line_.drawn
