"""A picture as DOT text: zones as clusters, parts as records with a port for each terminal, lines as edges.

The layout flows from left to right. A part that a chain passes through lies between its two ends; a
symbol that is drawn anew wherever a terminal needs it (ground, a supply, where a net goes on) stands
in the terminal's own field, so that it costs no line.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from netdiff.drawing.legend import add_legend
from netdiff.drawing.model import Box, End, Joint, Line, Picture
from netdiff.drawing.style import ARROW, FONT, GROUND, MARKS, escape, escape_field

if TYPE_CHECKING:
    import graphviz

ROW: Final = 4
"""Parts without a line of their own stand in rows of so many."""


@dataclass(slots=True)
class _Plan:
    """What is drawn: lines proper, and what stands in the fields of terminals."""

    picture: Picture
    lines: list[tuple[Line, End, End]] = field(default_factory=list)
    symbols: list[tuple[str, Joint, str]] = field(default_factory=list)
    """Symbols drawn for one marked line each: name, joint, zone."""
    tags: dict[End, list[str]] = field(default_factory=lambda: defaultdict(list))
    flipped: set[str] = field(default_factory=set)
    """Two-ended parts drawn second end first."""
    names: dict[str, str] = field(default_factory=dict)


def graph(picture: Picture) -> graphviz.Graph:
    import graphviz

    plan = _plan(picture)
    out = graphviz.Graph("netdiff")
    out.attr(
        "graph", rankdir="LR", nodesep="0.1", ranksep="0.3", splines="spline", fontname=FONT, fontsize="13",
        labelloc="t", labeljust="l", bgcolor="white", pad="0.2", label=_label("\n".join(_heading(picture))),
    )  # fmt: skip
    out.attr("node", fontname=FONT, fontsize="8", shape="box", margin="0.05,0.03", width="0.1", height="0.1")
    out.attr("edge", fontname=FONT, fontsize="7.5")
    for zone in _zones(plan):
        boxes = [box for box in picture.boxes.values() if box.zone == zone]
        joints = [j for j in picture.joints.values() if j.zone == zone and not j.repeated]
        symbols = [(name, joint) for name, joint, where in plan.symbols if where == zone]
        if not zone:
            _fill(out, plan, boxes, joints, symbols)
            continue
        with out.subgraph(name=f"cluster_{plan.names['zone ' + zone]}") as frame:
            frame.attr(label=_label(picture.zones.get(zone, zone)), style="rounded", color="#808080", penwidth="1.2",
                       margin="10", fontsize="12", labeljust="l", id=plan.names["zone " + zone])  # fmt: skip
            _fill(frame, plan, boxes, joints, symbols)
    for line, tail, head in plan.lines:
        _edge(out, plan, line, tail, head)
    add_legend(out, picture)
    return out


def _heading(picture: Picture) -> list[str]:
    return [text for text in (picture.title, picture.subtitle) if text]


def _label(text: str) -> str:
    import graphviz

    return graphviz.nohtml(escape(text))


def _zones(plan: _Plan) -> list[str]:
    picture = plan.picture
    used = {box.zone for box in picture.boxes.values()} | {j.zone for j in picture.joints.values()}
    used |= {zone for _, _, zone in plan.symbols}
    return [zone for zone in dict.fromkeys((*picture.zones, *sorted(used))) if zone in used]


# --- what is a line, what a tag -----------------------------------------------------------------------------------


def _plan(picture: Picture) -> _Plan:
    plan = _Plan(picture)
    for number, name in enumerate(picture.boxes):
        plan.names[name] = f"part{number}"
    for number, name in enumerate(picture.joints):
        plan.names[name] = f"joint{number}"
    zones = {box.zone for box in picture.boxes.values()} | {j.zone for j in picture.joints.values()}
    for number, name in enumerate(dict.fromkeys((*picture.zones, *sorted(zones)))):
        plan.names[f"zone {name}"] = f"zone{number}"
    kept = []
    for line in picture.lines:
        ends = [picture.joints.get(end.item) for end in (line.a, line.b)]
        joint = ends[1]
        if joint is not None and joint.repeated and line.mark in ("", "unseen") and line.a.terminal:
            if not line.conductor:
                plan.tags[line.a].append(_tag(joint))
                continue
        kept.append(line)
    lined = {end for line in kept for end in (line.a, line.b)}
    for box in picture.boxes.values():
        if box.two_ended:
            first, second = (End(box.name, terminal) for terminal in box.terminals)
            if first not in lined and second in lined:
                plan.flipped.add(box.name)
    for line in kept:
        tail, head = (_own_symbol(plan, here, there) for here, there in ((line.a, line.b), (line.b, line.a)))
        if _wants(plan, tail) > _wants(plan, head):
            tail, head = head, tail
        plan.lines.append((line, tail, head))
    return plan


def _tag(joint: Joint) -> str:
    return GROUND if joint.sort == "ground" else f"{ARROW} {joint.text}"


def _own_symbol(plan: _Plan, end: End, other: End) -> End:
    joint = plan.picture.joints.get(end.item)
    if joint is None or not joint.repeated:
        return end
    name = f"symbol{len(plan.symbols)}"
    box = plan.picture.boxes.get(other.item)
    there = plan.picture.joints.get(other.item)
    plan.symbols.append((name, joint, box.zone if box else there.zone if there else ""))
    plan.names[name] = name
    return End(name)


def _wants(plan: _Plan, end: End) -> int:
    """-1 where a line should leave to the right, 1 where it should come in from the left, 0 where it is the same."""
    box = plan.picture.boxes.get(end.item)
    if box is None:
        return 0
    if box.two_ended:
        first = box.terminals.index(end.terminal) == 0
        return 1 if first != (box.name in plan.flipped) else -1
    return 1 if end.terminal in box.inputs else -1


# --- nodes and edges ----------------------------------------------------------------------------------------------


def _fill(
    out: graphviz.Graph, plan: _Plan, boxes: list[Box], joints: list[Joint], symbols: list[tuple[str, Joint]]
) -> None:
    for box in boxes:
        _box(out, plan, box)
    for joint in joints:
        _joint(out, plan.names[joint.name], joint)
    for name, joint in symbols:
        text = f"{GROUND} {joint.text}" if joint.sort == "ground" else f"{ARROW} {joint.text}"
        out.node(name, label=_label(text), shape="plain", fontsize="8")
    busy = {end.item for _, tail, head in plan.lines for end in (tail, head)}
    idle = [plan.names[box.name] for box in boxes if box.name not in busy]
    for here, there in zip(idle, idle[1:], strict=False):
        if (idle.index(here) + 1) % ROW:
            out.edge(here, there, style="invis", weight="0")


def _box(out: graphviz.Graph, plan: _Plan, box: Box) -> None:
    style = MARKS[box.mark]
    numbers = "".join(f" [{number}]" for number in box.numbers)
    lines = [box.name + numbers, *(box.seen or box.drawn)]
    if box.seen and box.drawn and box.seen[:1] != box.drawn[:1] and box.mark == "changed":
        lines.append(f"was {box.drawn[0]}")
    lines += [word.upper() for word in box.words]
    head = escape_field("\n".join(lines)).replace("\n", "\\n")
    cells = [f"<t{n}> {_cell(plan, End(box.name, t))}" for n, t in enumerate(box.terminals)]
    if box.two_ended:
        left, right = reversed(cells) if box.name in plan.flipped else cells
        label = f"{{{left}|{head}|{right}}}"
    else:
        label = "|".join([head, *cells])
    import graphviz

    out.node(
        plan.names[box.name],
        label=graphviz.nohtml(label),
        shape="record",
        style="filled" if style.line == "solid" else f"filled,{style.line}",
        fillcolor=style.fill,
        color=style.color,
        fontcolor=style.text,
        penwidth=str(style.width),
    )


def _cell(plan: _Plan, end: End) -> str:
    return escape_field(" ".join([end.terminal, *plan.tags.get(end, ())]))


def _joint(out: graphviz.Graph, name: str, joint: Joint) -> None:
    if joint.sort == "dot":
        out.node(name, label="", shape="point", width="0.06", color="#333333")
    elif joint.sort == "name":
        out.node(name, label=_label(joint.text), style="rounded", color="#4d4d4d", margin="0.04,0.02", fontsize="7.5")
    else:
        out.node(name, label=_label(joint.text), shape="plain", fontsize="7.5")


def _edge(out: graphviz.Graph, plan: _Plan, line: Line, tail: End, head: End) -> None:
    style = MARKS[line.mark]
    words = " ".join([*(f"[{number}]" for number in line.numbers), *line.words])
    text = "\n".join(part for part in (words, line.text) if part)
    color = style.color
    if line.conductor in ("coax", "shielded"):
        color = f"{color}:white:{color}"
    out.edge(
        _port(plan, tail),
        _port(plan, head),
        label=_label(text) if text else None,
        color=color,
        fontcolor="black",
        penwidth=str(style.width),
        style=style.line,
        weight="1" if line.mark not in ("", "unseen") else "3",
        constraint="false" if _zone(plan, tail) != _zone(plan, head) else None,
    )


def _zone(plan: _Plan, end: End) -> str:
    picture = plan.picture
    if end.item in picture.boxes:
        return picture.boxes[end.item].zone
    if end.item in picture.joints:
        return picture.joints[end.item].zone
    return next(zone for name, _, zone in plan.symbols if name == end.item)


def _port(plan: _Plan, end: End) -> str:
    if not end.terminal:
        return plan.names[end.item]
    box = plan.picture.boxes[end.item]
    return f"{plan.names[end.item]}:t{box.terminals.index(end.terminal)}"
