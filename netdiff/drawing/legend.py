"""The legend inside the picture: what the lines mean, and what was done to the unit."""

from __future__ import annotations

from typing import TYPE_CHECKING

from netdiff.drawing.model import Picture
from netdiff.drawing.style import LEGEND, MARKS, escape

if TYPE_CHECKING:
    import graphviz


def add_legend(out: graphviz.Graph, picture: Picture) -> None:
    import graphviz

    marks = [m for m in MARKS if any(i.mark == m for i in (*picture.boxes.values(), *picture.lines))]
    with out.subgraph(name="cluster_legend") as frame:
        frame.attr(label="Legend", labeljust="l", color="#808080", fontsize="10", margin="8")
        for n, mark in enumerate(marks):
            st = MARKS[mark]
            frame.node(f"legend{n}", label="", shape="point", width="0.03", color=st.color)
            frame.node(f"meaning{n}", label=graphviz.nohtml(escape(LEGEND[mark])), shape="plain")
            frame.edge(f"legend{n}", f"meaning{n}", color=st.color, penwidth=str(st.width), style=st.line, minlen="1")
        if picture.entries:
            text = "".join(
                escape(f"[{e.number}] {e.title}" + (f" (clear before {e.hold})" if e.hold not in ("none",) else "") + (" STAYS" if e.kept else "")) + "\\l"
                for e in picture.entries
            )
            frame.node("entries", label=graphviz.nohtml(text), shape="plain")
