"""What the picture says in words: what was done to the unit above it, and a key of lines and frames in it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from netdiff.drawing.model import Picture
from netdiff.drawing.style import GROUND, LEGEND, MARKS, escape

if TYPE_CHECKING:
    import graphviz

MOST: Final = 40
"""Modifications listed by title; the rest is counted."""


_HEADINGS: Final = {
    "power": "To clear before power:", "transmit": "To clear before transmitting:",
    "deliver": "To clear before delivery:", "none": "Worth knowing:",
}  # fmt: skip


def caption(picture: Picture) -> str:
    """Title, then a line for each modification, most urgent first; as a DOT label, set flush left."""
    lines = [text for text in (picture.title, picture.subtitle) if text]
    hold = ""
    for entry in picture.entries[:MOST]:
        if entry.hold != hold:
            hold = entry.hold
            lines.append(_HEADINGS[hold])
        lines.append(f"[{entry.number}] {entry.title}" + (" (stays)" if entry.kept else ""))
    if len(picture.entries) > MOST:
        lines.append(f"and {len(picture.entries) - MOST} more")
    lines += picture.notes
    return "".join(escape(line) + "\\l" for line in lines)


def add_key(out: graphviz.Graph, picture: Picture) -> None:
    """A frame with one sample of every look that occurs in the picture."""
    marks = {box.mark for box in picture.boxes.values()} | {line.mark for line in picture.lines}
    used = [mark for mark in MARKS if mark in marks]
    texts = []
    if any(joint.sort == "ground" for joint in picture.joints.values()):
        texts.append(f"{GROUND}  on {next(j.text for j in picture.joints.values() if j.sort == 'ground')}")
    if any(joint.repeated and joint.sort != "ground" for joint in picture.joints.values()):
        texts.append("→  goes on there")
    if any(line.conductor in ("coax", "shielded") for line in picture.lines):
        texts.append("double line:  coax or shielded")
    with out.subgraph(name="cluster_key") as frame:
        frame.attr(label="Lines and frames", labeljust="l", color="#808080", fontsize="9", margin="8")
        for number, mark in enumerate(used):
            style = MARKS[mark]
            frame.node(
                f"key{number}",
                label=escape(LEGEND[mark]),
                color=style.color,
                penwidth=str(style.width),
                style="filled" if style.line == "solid" else f"filled,{style.line}",
                fillcolor=style.fill,
                fontcolor=style.text,
                margin="0.08,0.05",
            )
        named = [f"{j.text} {j.detail}" for j in picture.joints.values() if j.sort == "supply" and j.detail]
        texts += ["   ".join(named[at : at + 3]) for at in range(0, len(named), 3)]
        if texts:
            frame.node("signs", label="".join(escape(t) + "\\l" for t in texts), shape="plain")
