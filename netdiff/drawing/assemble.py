"""From a picture to what the layout places: nodes for parts, joints, words and signs, wires between their ports."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from dataclasses import replace
from typing import Final

from netdiff.drawing.layout import Ref, Wire
from netdiff.drawing.line_nodes import joint_node, sign_node, words_node
from netdiff.drawing.looks import SIDES, Side
from netdiff.drawing.model import Box, End, Joint, Line, Picture
from netdiff.drawing.node import Node
from netdiff.drawing.part_nodes import Tag, Wish, part_node
from netdiff.drawing.plan import QUIET, Stroke, plan
from netdiff.drawing.words import clip

MANY: Final = 10
"""Terminals up to which a part that a modification is about is drawn whole."""


class Assembly:
    """``core`` are the parts drawn in detail; ``numbers``: the modifications' numbers are shown; ``short``: parts
    carry their designators alone.
    """

    def __init__(
        self, picture: Picture, core: Collection[str] | None = None, *, numbers: bool = True, short: bool = False
    ) -> None:
        self.picture = picture
        self.core = set(picture.boxes) if core is None else set(core)
        self.numbers = numbers
        self.short = short
        self.nodes: dict[str, Node] = {}
        self.wires: list[Wire] = []
        self._plan = plan(picture)
        self._signs: dict[str, tuple[Joint, str]] = {
            s.name: (picture.joints[s.joint], s.zone) for s in self._plan.symbols
        }
        self._strokes = list(self._plan.strokes)
        self._tags: dict[End, Tag] = {}
        self._tag()
        self._parts()
        self._joints()
        self._lines()

    def _tag(self) -> None:
        """A sign stands at a terminal's own end where nothing else is joined to it; else it is an end of a line."""
        busy: dict[End, list[Stroke]] = defaultdict(list)
        for stroke in self._strokes:
            for end in stroke.ends:
                busy[end].append(stroke)
        wanted: dict[End, list[Line]] = defaultdict(list)
        for line in self.picture.lines:
            joint = self.picture.joints.get(line.b.item)
            if joint is None or not joint.repeated or not line.a.terminal or line.conductor:
                continue
            if line.mark in QUIET:
                wanted[line.a].append(line)
            elif self._of_its_part(line):
                mine = [stroke for stroke in busy[line.a] if stroke.line is line]
                if len(mine) == len(busy[line.a]) == 1:
                    self._strokes.remove(mine[0])
                    del busy[line.a]
                    wanted[line.a].append(line)
        for end, lines in wanted.items():
            joints = [self.picture.joints[line.b.item] for line in lines]
            if end not in busy and len({joint.sort for joint in joints}) == 1:
                text = " ".join(dict.fromkeys(joint.text for joint in joints))
                text = _shortened(text) if self.short else text
                spots = self.picture.boxes[end.item].spots.get(end.terminal, ("", ""))
                self._tags[end] = Tag(joints[0].sort, clip(text), spots)
                continue
            for line in lines:
                name = f"sign {len(self._signs)}"
                joint = self.picture.joints[line.b.item]
                if any(self._tells(stroke, joint) for stroke in busy[end]):
                    continue
                self._signs[name] = (joint, self.picture.boxes[end.item].zone)
                self._strokes.append(Stroke(line, "", "", ends=(end, End(name))))

    def _of_its_part(self, line: Line) -> bool:
        """The line is added or missing because its part is, and says nothing more."""
        one = self.picture.boxes[line.a.item]
        return (line.mark, line.presence) == (one.mark, one.presence) and not line.words and not line.numbers

    def _tells(self, stroke: Stroke, joint: Joint) -> bool:
        """A conductor of both circuits that ends on the same net says already where the terminal is joined to."""
        ends = (self._signs[end.item][0].text for end in stroke.ends if end.item in self._signs)
        return stroke.line.mark in QUIET and any(text.split(" ")[0] == joint.text for text in ends)

    def _parts(self) -> None:
        used: dict[str, dict[str, None]] = defaultdict(dict)
        loops: dict[str, list[tuple[str, str, Line]]] = defaultdict(list)
        for stroke in self._strokes:
            a, b = stroke.ends
            if a.terminal and a.item == b.item:
                loops[a.item].append((a.terminal, b.terminal, stroke.line))
            for end in stroke.ends:
                if end.terminal:
                    used[end.item][end.terminal] = None
        for end in self._tags:
            used[end.item][end.terminal] = None
        for name, one in self.picture.boxes.items():
            terminals = self._terminals(one, list(used[name]))
            tags = {
                end.terminal: tag for end, tag in self._tags.items() if end.item == name and end.terminal in terminals
            }
            wish = Wish(
                terminals,
                tags,
                self.picture.windings,
                detail=name in self.core and not self.short,
                first=self._plan.order[name][0] if name in self._plan.order else "",
                some=len(terminals) < len(one.terminals) and not self.short,
                loops=tuple(loops[name]),
                numbers=self.numbers,
                short=self.short,
            )
            self.nodes[name] = part_node(name, one, wish)

    def _terminals(self, one: Box, used: list[str]) -> tuple[str, ...]:
        if one.two_ended or (one.stock or one.unit).kind.family == "tube":  # type: ignore[union-attr]
            return one.terminals
        if one.name in self.core and len(one.terminals) <= MANY:
            return one.terminals
        return tuple(t for t in one.terminals if t in used) or one.terminals[:MANY]

    def _joints(self) -> None:
        for name, joint in self.picture.joints.items():
            if joint.repeated:
                continue
            presence: dict[Side, bool] = {
                side: any(getattr(line.presence, side) for line in self.picture.lines_of(name)) for side in SIDES
            }
            if joint.sort != "open":
                shown = replace(joint, text=_shortened(joint.text)) if self.short else joint
                self.nodes[f"joint {name}"] = joint_node(f"joint {name}", shown, presence)

    def _lines(self) -> None:
        for number, stroke in enumerate(self._strokes):
            a, b = stroke.ends
            if a.terminal and a.item == b.item:
                continue
            ends = [self._ref(end, stroke.line, number) for end in (a, b)]
            zone = stroke.zone
            turned = stroke.line.a not in (a, b) or a == stroke.line.b
            if self._wants(ends[0]) > self._wants(ends[1]):
                ends.reverse()
                turned = not turned
            words = words_node(f"words {number}", stroke.line, zone, self.numbers, turned, self.short)
            if words is None:
                self.wires.append(Wire(ends[0], ends[1], stroke.line))
                continue
            self.nodes[words.name] = words
            self.wires.append(Wire(ends[0], Ref(words.name, "l"), stroke.line))
            self.wires.append(Wire(Ref(words.name, "r"), ends[1], stroke.line))

    def _wants(self, ref: Ref) -> int:
        """1 where a line should come in from the left, -1 where it should leave to the right.

        A part all of whose terminals are on one side can be turned, and wants nothing; nor does a mere box.
        """
        one = self.picture.boxes.get(ref.node)
        part = (one.stock or one.unit) if one is not None else None
        if part is None or part.kind.family in ("", "block"):
            return 0
        ports = self.nodes[ref.node].ports
        if len(ports) > 1 and len({port.ways for port in ports.values()} - {"LR"}) < 2:
            return 0
        return {"L": 1, "R": -1}.get(ports[ref.port].ways, 0)

    def _ref(self, end: End, line: Line, number: int) -> Ref:
        if end.terminal:
            return Ref(end.item, end.terminal)
        if end.item in self._signs:
            joint, zone = self._signs[end.item]
            name = f"{end.item} {number}"
            text = _shortened(joint.text) if self.short else joint.text
            self.nodes[name] = sign_node(name, joint, text, zone, line)
            return Ref(name, "")
        joint = self.picture.joints[end.item]
        if joint.sort == "open":
            name = f"open {end.item} {number}"
            self.nodes[name] = sign_node(name, joint, joint.text, joint.zone, line)
            return Ref(name, "")
        return Ref(f"joint {end.item}", "")


def _shortened(text: str) -> str:
    """For an overview: a net's name, else the first place where it goes on."""
    first = text.split("\n")[0]
    words = first.removeprefix("→ ").split(" ")
    return (
        ("→ " if first.startswith("→") else "") + words[0] + (" …" if len(words) > 2 and first.startswith("→") else "")
    )
