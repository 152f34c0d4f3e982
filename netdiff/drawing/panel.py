"""One side of a laid out picture as ink: the parts where they stand, the lines, the dots where lines meet."""

from __future__ import annotations

from collections import defaultdict

from netdiff.drawing.figure import Figure
from netdiff.drawing.ink import XY, Ink, Stroke, Word
from netdiff.drawing.looks import Patch, Side, flag, look, shaded
from netdiff.drawing.model import Picture
from netdiff.drawing.node import loop_words
from netdiff.drawing.routing import Path
from netdiff.drawing.symbol import dot
from netdiff.nets import Union


def panel(figure: Figure, side: Side, ghosts: bool = True) -> list[Patch]:
    """Everything that this side shows, what differs last, so that it lies on top.

    ``ghosts``: what is missing is there too, dotted.
    """
    out: list[Patch] = []
    there = []
    for path in figure.paths:
        shown = getattr(path.line.presence, side)
        if not shown and not (ghosts and side == "found" and path.line.mark == "missing"):
            continue
        if shown:
            there.append(path)
        out.append(_path(path, side))
    out += _dots(there)
    for node in figure.nodes.values():
        faces = [patch for patch in node.faces[side] if patch.ink]
        if ghosts or not any(patch.look.name == "missing" for patch in faces):
            out += [patch.moved(node.x, node.y) for patch in faces]
    return sorted(out, key=lambda patch: bool(patch.look.name))


def _path(path: Path, side: Side) -> Patch:
    line = path.line
    how = look(line, side)
    ink: list[Ink] = list(shaded([Stroke(tuple(path.points))], how))
    words = loop_words(line, side) if path.words is not None else ""
    if path.words is not None and words:
        word = Word(*path.words, words, 8, "middle", side == "found")
        ink.append(word)
        at = word.area.right + 3
        for number in line.numbers:
            more, wide = flag(at, word.y, number)
            ink += more
            at += wide + 2
    data = " ".join(f"{end.item}.{end.terminal}" for end in (line.a, line.b) if end.terminal)
    return Patch(tuple(ink), "run", how, (("points", data),) if data else ())


def _dots(paths: list[Path]) -> list[Patch]:
    """A dot where three or more pieces of what is one net meet."""
    union = Union()
    for number, path in enumerate(paths):
        for end in path.ends:
            union.join(f"path {number}", f"end {end.node} {end.port}")
    nets: dict[object, list[Path]] = defaultdict(list)
    for number, path in enumerate(paths):
        nets[union.find(f"path {number}")].append(path)
    out = []
    for group in nets.values():
        corners = {(round(x, 1), round(y, 1)) for path in group for x, y in path.points}
        pieces = [(a, b) for path in group for a, b in zip(path.points, path.points[1:], strict=False)]
        spots = [corner for corner in sorted(corners) if len(_directions(corner, pieces)) > 2]
        out += [Patch((dot(x, y, 2.2),), "joint") for x, y in spots]
    return out


def _directions(corner: XY, pieces: list[tuple[XY, XY]]) -> set[str]:
    """The ways in which lines leave a point."""
    x, y = corner
    out: set[str] = set()
    for (ax, ay), (bx, by) in pieces:
        if abs(ay - by) < 0.1 and abs(ay - y) < 0.1 and min(ax, bx) - 0.1 <= x <= max(ax, bx) + 0.1:
            if min(ax, bx) < x - 0.1:
                out.add("L")
            if max(ax, bx) > x + 0.1:
                out.add("R")
        if abs(ax - bx) < 0.1 and abs(ax - x) < 0.1 and min(ay, by) - 0.1 <= y <= max(ay, by) + 0.1:
            if min(ay, by) < y - 0.1:
                out.add("U")
            if max(ay, by) > y + 0.1:
                out.add("D")
    return out


def key(picture: Picture) -> str:
    """What the looks mean, those that occur, in sentences."""
    marks = {one.mark for one in picture.boxes.values()} | {one.mark for one in picture.lines}
    drawn = ["heavy: the unit differs here"] if marks & {"missing", "changed"} else []
    found = {
        "added": "heaviest: not in the drawing",
        "changed": "heavy: other than drawn, the words say how",
        "missing": "dotted: not there",
        "unseen": "fine grey dots: nobody looked",
    }
    says = {"drawn": drawn, "found": [text for mark, text in found.items() if mark in marks]}
    aside = any(box.aside for box in picture.boxes.values()) or any(line.aside for line in picture.lines)
    more = ["Thinner, with another number: another modification."] if aside else []
    return " ".join([*(f"As {side}, {', '.join(texts)}." for side, texts in says.items() if texts), *more])
