"""Joints, words and cables on lines, and the ends of lines."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from netdiff.drawing.ink import Circle, Ink, Stroke, Word, flipped, measure
from netdiff.drawing.looks import SIDES, Patch, Side, flag, frame_sign, goes_to, look, shaded
from netdiff.drawing.model import Joint, Line
from netdiff.drawing.node import FLAG, LINE, Node, make_node, run_of
from netdiff.drawing.plan import QUIET, loud
from netdiff.drawing.symbol import Port, dot, line
from netdiff.drawing.words import clip, run_text


def joint_node(name: str, joint: Joint, presence: dict[Side, bool]) -> Node:
    """A dot, or a name above its line."""
    if not joint.text:
        return Node(name, 2, 8, {"": Port(1, 4, "LR")}, dict.fromkeys(SIDES, ()), joint.zone)
    faces: dict[Side, list[Patch]] = {}
    lines = joint.text.split("\n")
    wide = max(measure(text, 8) for text in lines)
    for side in SIDES:
        ink: list[Ink] = [Word(0, -4 - LINE * (len(lines) - 1 - i), text, 8, "middle") for i, text in enumerate(lines)]
        ink += [line((-wide / 2, 0), (wide / 2, 0))]
        faces[side] = [Patch(tuple(ink), "joint")] if presence[side] else []
    return make_node(name, {"": Port(0, 0, "LR")}, faces, zone=joint.zone, margin=2)


def words_node(name: str, line_: Line, zone: str, numbers: bool, turned: bool, short: bool = False) -> Node | None:
    """What stands on a line: its difference in words, its conductor. None where there is nothing to say.

    ``turned``: its first end is on the right.
    """
    if short:
        return _short_words(name, line_, zone) if line_.numbers else None
    faces: dict[Side, list[Patch]] = {}
    half = 0.0
    shapes = {side: _run_shape(line_, side, turned) for side in SIDES}
    for side in SIDES:
        words = _line_words(line_, side)
        half = max([half, *(measure(text, 8, bold) / 2 + 2 for text, bold in [*words, *shapes[side].texts])])
    if half == 0:
        return None
    flags = len(line_.numbers) if numbers else 0
    half = max(half + 7.0 * flags, 14.0)
    for side in SIDES:
        faces[side] = _line_face(line_, side, shapes[side], half, flags > 0)
    ports = {"l": Port(-half, 0, "L"), "r": Port(half, 0, "R")}
    return make_node(name, ports, faces, zone=zone, margin=3)


def _short_words(name: str, line_: Line, zone: str) -> Node:
    """The numbers alone, over the line."""
    faces: dict[Side, list[Patch]] = {}
    for side in SIDES:
        how = look(line_, side)
        body: list[Ink] = []
        at = 0.0
        for number in line_.numbers:
            more, wide = flag(at, -9, number, FLAG)
            body += more
            at += wide + 2
        stroke = shaded([line((-2, 0), (at, 0))], how)
        there = getattr(line_.presence, side) or (side == "found" and line_.mark == "missing")
        faces[side] = [Patch((*stroke, *body), "run", how)] if there else []
    return make_node(name, {"l": Port(-2, 0, "L"), "r": Port(at, 0, "R")}, faces, zone=zone, margin=2)


@dataclass(frozen=True, slots=True)
class _RunShape:
    texts: list[tuple[str, bool]]
    sort: str = ""
    ends: tuple[str, str] | None = None
    """Where the braid's ends land."""


def _run_shape(line_: Line, side: Side, turned: bool) -> _RunShape:
    run = run_of(line_, side)
    if run is None or not getattr(line_.presence, side):
        return _RunShape([])
    texts = [(part, False) for part in run_text(replace(run, braid=None)).split("\n") if part]
    if run.gauge is not None and line_.mark not in QUIET and texts:
        texts[0] = (f"{texts[0][0]}, {run.gauge:g} AWG", False)
    if run.text and line_.mark not in QUIET and side == "found":
        texts.append((f"“{clip(run.text, 30)}”", False))
    return _RunShape(texts, run.conductor, run.braid[::-1] if turned and run.braid else run.braid)


def _line_words(line_: Line, side: Side) -> list[tuple[str, bool]]:
    if not line_.words:
        return []
    if side == "found":
        if line_.mark == "missing":
            return [("✕", True)]
        return [(loud(word), True) for word in line_.words if not word.startswith("was ")]
    if line_.mark == "missing":
        return [("NOT IN THE UNIT" if word == "missing" else loud(word), True) for word in line_.words]
    return []


def _line_face(line_: Line, side: Side, shape: _RunShape, half: float, numbers: bool) -> list[Patch]:
    there = getattr(line_.presence, side)
    how = look(line_, side)
    words = _line_words(line_, side)
    if not there and not (side == "found" and line_.mark == "missing"):
        return []
    ink: list[Ink] = [line((-half, 0), (half, 0))]
    plain: list[Ink] = []
    lift = 4.0
    if shape.sort in ("coax", "shielded"):
        dash = "4 2" if shape.sort == "shielded" else ""
        sheath = [line((-half + 5, y), (half - 5, y), dash=dash, weight=1) for y in (-4.5, 4.5)]
        plain += sheath
        lift = 8.5
        plain += _braid(shape, half)
    elif shape.sort == "twisted":
        ink += [_wave(half)]
        lift = 7.0
    elif shape.sort == "strap":
        ink = [line((-half, 0), (half, 0), weight=3.2)]
    elif shape.sort == "bare":
        ink += [line((x, -2.5), (x + 3, 2.5), weight=0.8) for x in range(int(-half) + 4, int(half) - 4, 8)]
    body = list(shaded(ink, how))
    y = -lift
    for text, bold in [*reversed(shape.texts), *reversed(words)]:
        if text == "✕":
            body += [Stroke(((-4, -4), (4, 4)), 2), Stroke(((-4, 4), (4, -4)), 2)]
            continue
        (body if bold else plain).append(Word(0, y, text, 8, "middle", bold))
        y -= LINE
    if numbers:
        top = min(
            (one for one in (*body, *plain) if isinstance(one, Word) and one.y < 0), key=lambda w: w.y, default=None
        )
        at = (top.area.right if top else 6.0) + 3
        for number in line_.numbers:
            more, wide = flag(at, top.y if top else -5, number)
            body += more
            at += wide + 2
    data = (("points", " ".join(e for e in (_point(line_.a), _point(line_.b)) if e)),)
    return [Patch(tuple(body), "run", how, data), Patch(tuple(plain), "words", data=data)]


def _point(end: object) -> str:
    item, terminal = getattr(end, "item", ""), getattr(end, "terminal", "")
    return f"{item}.{terminal}" if terminal else ""


def _braid(shape: _RunShape, half: float) -> list[Ink]:
    """The ends of the braid: a drop at either end and where it lands."""
    if shape.ends is None:
        return []
    a, b = shape.ends
    if a == b and a != "open":
        low, high = -half + 5, half - 5
        return [line((low, 4.5), (low, 9), (high, 9), (high, 4.5)), Word(0, 18, f"braid {_end(a)}", 7, "middle")]
    out: list[Ink] = []
    for row, (x, where, anchor) in enumerate(((-half + 5, a, "start"), (half - 5, b, "end"))):
        foot = 10.0 + 9 * row
        text = Word(x + (3 if anchor == "start" else -3), foot + 4, f"braid {_end(where)}", 7, anchor)  # type: ignore[arg-type]
        out += [line((x, 4.5), (x, foot + 3)), text]
        if where == "open":
            out += [
                line((x - 2.5, foot + 0.5), (x + 2.5, foot + 5.5)),
                line((x - 2.5, foot + 5.5), (x + 2.5, foot + 0.5)),
            ]
        elif where != "?":
            out.append(dot(x, foot + 3, 1.6))
    return out


def _end(where: str) -> str:
    return {"open": "open", "?": "not followed"}.get(where, f"on {clip(where, 16)}")


def _wave(half: float) -> Stroke:
    steps = max(8, int(half / 2))
    return Stroke(tuple((-half + 2 * half * i / steps, 3.0 * math.sin(i * math.pi / 2)) for i in range(steps + 1)), 0.9)


def sign_node(name: str, joint: Joint, text: str, zone: str, line_: Line) -> Node:
    """The end of a line at a ground, at a supply, in the air, or where it goes on elsewhere."""
    faces: dict[Side, list[Patch]] = {}
    for side in SIDES:
        how = look(line_, side)
        there = getattr(line_.presence, side)
        if not there and not (side == "found" and line_.mark == "missing"):
            faces[side] = []
            continue
        ink: list[Ink]
        if joint.sort == "ground":
            ink = [*frame_sign("D"), Word(9, 9, joint.text, 8)]
        elif joint.sort == "open":
            ink = [Circle(4, 0, 3), line((0, 0), (1, 0)), Word(10, 3, text, 8)]
        else:
            ink = list(goes_to(text, "R"))
        faces[side] = [Patch(shaded(ink, how, dashed=False), "sign", how)]
    ways = "LR" if joint.sort == "ground" else "L"

    def again() -> Node:
        other = {side: [p._replace(ink=tuple(flipped(p.ink))) for p in patches] for side, patches in faces.items()}
        return make_node(name, {"": Port(0, 0, "R" if ways == "L" else ways)}, other, zone=zone, margin=3)

    node = make_node(name, {"": Port(0, 0, ways)}, faces, zone=zone, margin=3)
    node.flip = again
    return node
