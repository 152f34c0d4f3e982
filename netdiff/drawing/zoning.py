"""Zones: where a part without one belongs, and how a large picture stays followable.

A whole unit on one sheet would be a thicket of lines from zone to zone. As a service manual does
from sheet to sheet, a plain net that leaves its zone is named at each end by where it goes
(``→ V5.g1``). Differences and cables stay lines: they are what the picture is about.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import replace
from typing import Final

from netdiff.drawing.model import End, Joint, Line, Picture
from netdiff.drawing.words import LONGEST, clip


def homes(picture: Picture) -> Picture:
    """Put every box without a zone where most of its neighbours are: a foreign part is drawn where it hangs."""
    boxes = dict(picture.boxes)
    near = _neighbours(picture)
    for _ in range(3):
        for box in [box for box in boxes.values() if not box.zone]:
            zone = _most(boxes[other].zone for other in near[box.name])
            if zone:
                boxes[box.name] = replace(box, zone=zone)
    hung: dict[str, list[str]] = defaultdict(list)
    for line in picture.lines:
        for here, there in ((line.a, line.b), (line.b, line.a)):
            if there.terminal:
                hung[here.item].append(boxes[there.item].zone)
    for line in picture.lines:
        for here, there in ((line.a, line.b), (line.b, line.a)):
            if not here.terminal and not there.terminal and here.item not in hung:
                hung[here.item] = list(hung.get(there.item, ()))
    joints = {name: replace(joint, zone=joint.zone or _most(hung[name])) for name, joint in picture.joints.items()}
    return replace(picture, boxes=boxes, joints=joints)


def _most(zones: Iterable[str]) -> str:
    counted = Counter(zone for zone in zones if zone)
    return counted.most_common(1)[0][0] if counted else ""


def _neighbours(picture: Picture) -> dict[str, list[str]]:
    """Box -> the boxes that share a line or a joint with it; symbols drawn anew at each terminal do not count."""
    out: dict[str, list[str]] = defaultdict(list)
    at_joint: dict[str, list[str]] = defaultdict(list)
    for line in picture.lines:
        for here, there in ((line.a.item, line.b.item), (line.b.item, line.a.item)):
            if here in picture.boxes and there in picture.boxes:
                out[here].append(there)
            elif here in picture.boxes and not picture.joints[there].repeated:
                at_joint[there].append(here)
    for members in at_joint.values():
        for here in members:
            out[here] += [other for other in members if other != here]
    return out


def followable(picture: Picture) -> Picture:
    """The picture itself where few lines cross from zone to zone; else those are cut and named at both ends."""
    cutter = _Cutter(picture)
    return picture if cutter.crossings() <= CROSSINGS else cutter.result()


CROSSINGS: Final = 6
"""So many plain nets may run from zone to zone as lines."""


class _Cutter:
    def __init__(self, picture: Picture) -> None:
        self.picture = picture
        self.zone_of = {name: box.zone for name, box in picture.boxes.items()}
        self.joints = dict(picture.joints)
        self.lines: dict[int, Line] = {}
        self.more: list[Line] = []
        self.count = 0

    def crossings(self) -> int:
        """Plain nets with terminals in more than one zone."""
        reach: dict[str, set[str]] = defaultdict(set)
        direct = 0
        for line in self.picture.lines:
            if not self._plain(line):
                continue
            for here, there in ((line.a, line.b), (line.b, line.a)):
                if here.terminal and not there.terminal and not self.joints[there.item].repeated:
                    reach[there.item].add(self._zone(here))
            direct += bool(line.a.terminal and line.b.terminal and self._zone(line.a) != self._zone(line.b))
        return direct + sum(len(zones) > 1 for zones in reach.values())

    def result(self) -> Picture:
        at: dict[str, list[int]] = defaultdict(list)
        for number, line in enumerate(self.picture.lines):
            self.lines[number] = line
            for end in (line.a, line.b):
                joint = self.joints.get(end.item)
                if joint is not None and joint.sort in ("dot", "name"):
                    at[end.item].append(number)
            if self._plain(line) and line.a.terminal and line.b.terminal and self._zone(line.a) != self._zone(line.b):
                self._part_ways(number)
        for name, numbers in at.items():
            self._cut(self.joints[name], numbers)
        for number, line in list(self.lines.items()):
            if self._zone(line.a) != self._zone(line.b) and not self._repeated(line.a) and not self._repeated(line.b):
                self._part_ways(number)
        return replace(self.picture, joints=self.joints, lines=(*self.lines.values(), *self.more))

    def _part_ways(self, number: int) -> None:
        line = self.lines.pop(number)
        self.more.append(replace(line, b=self._reference(line.a, "", [line.b])))
        self.more.append(replace(line, a=line.b, b=self._reference(line.b, "", [line.a])))

    def _cut(self, joint: Joint, numbers: list[int]) -> None:
        spokes: dict[str, list[int]] = defaultdict(list)
        others: list[int] = []
        for number in numbers:
            line = self.lines[number]
            far = self._far(line, joint.name)
            if self._plain(line) and far.terminal:
                spokes[self._zone(far)].append(number)
            else:
                others.append(number)
        if len(spokes) < 2:
            return
        main = max(spokes, key=lambda zone: len(spokes[zone]))
        held: dict[str, list[int]] = defaultdict(list)
        for number in others:
            zone = self._zone(self._far(self.lines[number], joint.name))
            held[zone if zone in spokes else main].append(number)
        for zone, mine in spokes.items():
            away = [self._far(self.lines[n], joint.name) for z, ns in spokes.items() if z != zone for n in ns]
            if len(mine) == 1 and not held[zone]:
                line = self.lines[mine[0]]
                far = self._far(line, joint.name)
                self.lines[mine[0]] = replace(line, a=far, b=self._reference(far, joint.text, away))
                continue
            text = f"{joint.text}\n→ {self._some(away)}".strip()
            copy = Joint(f"{joint.name} in {zone}", "name", text, zone=zone, presence=joint.presence)
            self.joints[copy.name] = copy
            for number in (*mine, *held[zone]):
                line = self.lines[number]
                self.lines[number] = replace(
                    line,
                    a=End(copy.name) if line.a.item == joint.name else line.a,
                    b=End(copy.name) if line.b.item == joint.name else line.b,
                )
        del self.joints[joint.name]

    def _reference(self, here: End, text: str, away: list[End]) -> End:
        self.count += 1
        name = f"reference {self.count}"
        first = text.split("\n")[0]
        words = f"{first} {self._some(away)}" if first and len(away) < 3 else first or self._some(away)
        self.joints[name] = Joint(name, "reference", clip(words), zone=self._zone(here))
        return End(name)

    def _zone(self, end: End) -> str:
        return self.zone_of[end.item] if end.terminal else self.joints[end.item].zone

    def _repeated(self, end: End) -> bool:
        return not end.terminal and self.joints[end.item].repeated

    @staticmethod
    def _plain(line: Line) -> bool:
        return line.mark in ("", "unseen") and not line.conductor

    @staticmethod
    def _far(line: Line, name: str) -> End:
        return line.b if line.a.item == name else line.a

    def _some(self, ends: list[End]) -> str:
        now = self.picture
        if not all(end.terminal for end in ends):
            now = replace(now, joints=self.joints, lines=(*self.lines.values(), *self.more))
        names = [now.name(end) for end in ends]
        return clip(" ".join(names[:3]) + (" …" if len(names) > 3 else ""), LONGEST)
