"""A picture as DOT text: zones as clusters, parts as records with a port for each terminal, lines as edges.

Words on a line are a node of their own in the middle of it, because the layout keeps nodes apart and
lets edge labels lie on each other.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Final

from netdiff.drawing.legend import add_key, caption
from netdiff.drawing.model import Box, End, Joint, Picture
from netdiff.drawing.plan import QUIET, Plan, Stroke, plan, title_lines
from netdiff.drawing.style import FONT, MARKS, escape, escape_field

if TYPE_CHECKING:
    import graphviz

SMALL: Final = 60
"""Up to so many parts a picture is read from near; beyond, its caption is set larger."""
ROW: Final = 3
"""Parts without a line of their own stand in rows of so many."""


def graph(picture: Picture) -> graphviz.Graph:
    """The picture for a layout from left to right. User text in it is escaped letter for letter."""
    import graphviz

    drawn = plan(picture)
    out = graphviz.Graph("circuit")
    out.attr(
        "graph", rankdir="LR", nodesep="0.1", ranksep="0.3", splines="spline", fontname=FONT,
        fontsize="11" if len(picture.boxes) <= SMALL else "20", labelloc="t", labeljust="l", bgcolor="white",
        pad="0.2", label=caption(picture),
    )  # fmt: skip
    out.attr("node", fontname=FONT, fontsize="8", shape="box", margin="0.05,0.03", width="0.1", height="0.1")
    out.attr("edge", fontname=FONT, fontsize="8")
    for zone in drawn.zones:
        if not zone:
            continue
        name = drawn.names["zone " + zone]
        with out.subgraph(name=f"cluster_{name}") as frame:
            frame.attr(label=escape(picture.zones.get(zone, zone)), style="rounded", color="#808080", penwidth="1.2",
                       margin="10", fontsize="12", labeljust="l", id=name)  # fmt: skip
            _fill(frame, drawn, zone)
    _fill(out, drawn, "")
    for number, stroke in enumerate(drawn.strokes):
        _edge(out, number, stroke)
    add_key(out, picture)
    return out


def _fill(out: graphviz.Graph, drawn: Plan, zone: str) -> None:
    """Everything that stands in one zone."""
    picture = drawn.picture
    boxes = [box for box in picture.boxes.values() if box.zone == zone]
    for box in boxes:
        _box(out, drawn, box)
    for joint in picture.joints.values():
        if joint.zone == zone and not joint.repeated:
            _joint(out, drawn.names[joint.name], joint)
    for symbol in drawn.symbols:
        if symbol.zone == zone:
            out.node(symbol.name, label=escape(symbol.text), shape="plain")
    for number, stroke in enumerate(drawn.strokes):
        if stroke.text and stroke.zone == zone:
            out.node(f"words{number}", label=escape(stroke.text), shape="plain")
    busy = {end.partition(":")[0] for stroke in drawn.strokes for end in (stroke.tail, stroke.head)}
    idle = [drawn.names[box.name] for box in boxes if drawn.names[box.name] not in busy]
    for number, (here, there) in enumerate(pairwise(idle), 1):
        if number % ROW:
            out.edge(here, there, style="invis", weight="0")


def _box(out: graphviz.Graph, drawn: Plan, box: Box) -> None:
    style = MARKS[box.mark]
    title = "\\n".join(escape_field(line) for line in title_lines(box))
    cells = {t: f"<t{n}> {_cell(drawn, End(box.name, t))}" for n, t in enumerate(box.terminals)}
    if box.two_ended:
        left, right = drawn.order[box.name]
        label = f"{{{cells[left]}|{title}|{cells[right]}}}"
    else:
        label = "|".join([title, *cells.values()])
    out.node(
        drawn.names[box.name],
        label=label,
        shape="record",
        style="filled" if style.line == "solid" else f"filled,{style.line}",
        fillcolor=style.fill,
        color=style.color,
        fontcolor=style.text,
        penwidth=str(style.width),
        id=f"part-{drawn.names[box.name].replace('?', '_')}",
        **{"class": f"part {box.mark}".strip()},
    )


def _cell(drawn: Plan, end: End) -> str:
    return escape_field(" ".join([end.terminal, *drawn.tags.get(end, ())]))


def _joint(out: graphviz.Graph, name: str, joint: Joint) -> None:
    if joint.sort == "dot":
        out.node(name, label="", shape="point", width="0.06", color="#333333")
    elif joint.sort == "name":
        out.node(name, label=escape(joint.text), style="rounded", color="#4d4d4d", margin="0.04,0.02")
    else:
        out.node(name, label=escape(joint.text), shape="plain")


def _edge(out: graphviz.Graph, number: int, stroke: Stroke) -> None:
    line, style = stroke.line, MARKS[stroke.line.mark]
    double = line.conductor in ("coax", "shielded")
    looks = {
        "color": f"{style.color}:white:{style.color}" if double else style.color,
        "penwidth": str(style.width),
        "style": style.line,
        "weight": "3" if line.mark in QUIET else "1",
        "class": f"line {line.mark}".strip(),
    }
    if stroke.text:
        out.edge(stroke.tail, f"words{number}:w", **looks)
        out.edge(f"words{number}:e", stroke.head, **looks)
    else:
        out.edge(stroke.tail, stroke.head, **looks)
