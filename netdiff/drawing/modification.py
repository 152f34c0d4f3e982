"""The diagram of one modification: its neighbourhood as the drawing has it and as found, side by side.

Both panels have the same parts in the same places. What differs is heavy, and dashed or solid, in the
panel where it is, and says in words what happened; in the other there is a gap or a dotted ghost.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

from netdiff.comparison import Comparison
from netdiff.drawing.assemble import Assembly
from netdiff.drawing.figure import Figure, begun
from netdiff.drawing.ink import Area, Word, around, extent, fragment, svg, wrapped
from netdiff.drawing.looks import SIDES, Patch, Side
from netdiff.drawing.model import CannotDraw, Picture
from netdiff.drawing.neighbourhood import CLOSE, Near, near
from netdiff.drawing.panel import key, panel
from netdiff.drawing.symbol import line

GUTTER: Final = 28.0
PAPER: Final = (1040.0, 700.0)
"""What an A4 or letter sheet takes, lying, at 96 dots an inch, pixels."""
READABLE: Final = 0.9
"""Values are then printed 5.4 points high."""
HEADINGS: Final[dict[Side, str]] = {"stock": "As drawn", "found": "As found"}


def fragments(comparison: Comparison, names: Sequence[str] | None = None, prefix: str = "") -> list[str]:
    """Of the modifications named, else of all; with none named an empty text where there is nothing to draw."""
    from netdiff.drawing.sheet import picture
    from netdiff.drawing.zoning import homes

    wanted = [modification.id for modification in comparison.modifications] if names is None else names
    return together(homes(picture(comparison)), wanted, must=names is not None, prefix=prefix)()[0]()


def together(
    sheet: Picture, wanted: Sequence[str], more: Sequence[Assembly] = (), *, must: bool = False, prefix: str = ""
) -> Callable[[], tuple[Callable[[], list[str]], list[Figure]]]:
    """Begins the layout, and gives what finishes it: the figures of other pictures, laid out with these modifications,
    and what gives a fragment of each modification, for which some are laid out anew in the meantime.

    Where there is nothing to draw of a modification its text is empty, or, with ``must``, CannotDraw is raised.
    """
    nears: list[Near | None] = []
    for name in wanted:
        try:
            nears.append(near(sheet, name))
        except CannotDraw:
            if must:
                raise
            nears.append(None)
    drawn = laid_out(sheet, [one for one in nears if one is not None], more)

    def finish() -> tuple[Callable[[], list[str]], list[Figure]]:
        settled, others = drawn()

        def each() -> list[str]:
            made = iter(settled())
            out = []
            for one, name in zip(nears, wanted, strict=True):
                if one is None:
                    out.append("")
                    continue
                here, figure = next(made)
                out.append(two_panels(here.picture, figure, titled(here), f"{prefix}{name}-"))
            return out

        return each, others

    return finish


def laid_out(
    sheet: Picture, nears: Sequence[Near], more: Sequence[Assembly] = ()
) -> Callable[[], tuple[Callable[[], list[tuple[Near, Figure]]], list[Figure]]]:
    """Each with its figure; one that paper would show too small is drawn with its closest neighbours only. With them,
    at the same start, whatever else is to be laid out. The layout is begun; what this gives waits for it."""
    drawn = begun([*(Assembly(one.picture, one.core) for one in nears), *more])

    def finish() -> tuple[Callable[[], list[tuple[Near, Figure]]], list[Figure]]:
        every = drawn()
        out = list(zip(nears, every, strict=False))
        small = [i for i, (_, figure) in enumerate(out) if _scale(figure.area.width, figure.area.height) < READABLE]
        closer = [near(sheet, str(nears[i].picture.entries[0].number), CLOSE) for i in small]
        anew = begun([Assembly(one.picture, one.core) for one in closer])

        def settled() -> list[tuple[Near, Figure]]:
            for i, one, figure in zip(small, closer, anew(), strict=True):
                if _scale(figure.area.width, figure.area.height) > _scale(out[i][1].area.width, out[i][1].area.height):
                    out[i] = one, figure
            return out

        return settled, every[len(nears) :]

    return finish


def titled(one: Near) -> str:
    entry = one.picture.entries[0]
    return f"Modification {entry.number}: {entry.title}" + (" (stays)" if entry.kept else "")


def two_panels(picture: Picture, figure: Figure, title: str, prefix: str = "", standalone: bool = False) -> str:
    """Both sides of one figure: beside each other, or one below the other where paper shows it larger so.

    A fragment has no heading of its own: it stands under that of the page.
    """
    wide, high = figure.area.width, figure.area.height
    across = _across(wide, high)
    left, top = -figure.area.left, -figure.area.top
    shifts: dict[Side, tuple[float, float]] = {
        "stock": (left, top),
        "found": (wide + GUTTER + left, top) if across else (left, high + GUTTER + 16 + top),
    }
    inside: list[str] = []
    total: list[Area] = []
    for side in SIDES:
        dx, dy = shifts[side]
        patches = [patch.moved(dx, dy) for patch in panel(figure, side)]
        frame = figure.area.moved(dx, dy)
        heading = Patch((Word(frame.left, frame.top - 6, HEADINGS[side], 10, bold=True),), "heading")
        inside.append(f'<g class="panel {side}">' + "".join(patch.svg() for patch in (heading, *patches)) + "</g>")
        total += [extent(heading.ink), frame]
    whole = around(total)
    middle = wide + GUTTER / 2 if across else high + GUTTER / 2 - 6
    rule = line((middle, -16), (middle, high), weight=0.6) if across else line((0, middle), (wide, middle), weight=0.6)
    room = max(whole.width, 320.0)
    lines = wrapped(title, 11, room, True) if standalone else []
    words = [Word(0, whole.top - 10 - 14 * (len(lines) - 1 - i), text, 11, bold=True) for i, text in enumerate(lines)]
    foot = [Word(0, whole.bottom + 14 + 11 * i, text, 8) for i, text in enumerate(wrapped(key(picture), 8, room))]
    inside = [svg(word) for word in words] + [svg(rule)] + inside + [svg(word) for word in foot]
    area = around([whole, *(word.area for word in (*words, *foot))]).grown(8)
    says = f"{title}. As drawn and as found, the same parts in the same places."
    return fragment(inside, area, title=title, says=says, prefix=prefix, standalone=standalone)


def _across(wide: float, high: float) -> bool:
    """Side by side, unless that prints much smaller than one below the other."""
    beside, below = _scales(wide, high)
    return beside >= 1 or beside >= 0.85 * min(below, 1.0)


def _scale(wide: float, high: float) -> float:
    """How large paper shows it, the sheet lying or upright."""
    return max(_scales(wide, high))


def _scales(wide: float, high: float) -> tuple[float, float]:
    across, down = 2 * wide + GUTTER, 2 * high + 90
    papers = (PAPER, PAPER[::-1])
    beside = max(min(w / across, h / (high + 60)) for w, h in papers)
    return beside, max(min(w / wide, h / down) for w, h in papers)
