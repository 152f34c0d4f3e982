"""From two layers of wiring to the lines and joints of one picture.

Points that hang together by plain chains in the drawing, and are on one net in the unit, form a
*group*. Where a group has one terminal it is that terminal; two terminals are joined by one line;
three or more, and every net with a name, get a joint. Described conductors (coax, wire of a known
length …) are lines of their own. What then still lacks a line in one of the circuits gets one,
marked as missing or added: so the lines of either circuit connect exactly what that circuit does.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Final

from netdiff.circuit import OPEN, UNFOLLOWED, Point, Run, is_net, part_of, terminal_of
from netdiff.comparison import Finding
from netdiff.comparison.nets import Union
from netdiff.drawing.layers import Layers
from netdiff.drawing.model import BOTH, FOUND_ONLY, STOCK_ONLY, Box, End, Joint, Line, Mark, Presence
from netdiff.drawing.words import CUT_WORDS, JOIN_WORDS, RUN_WORDS, clip, run_text, volts

DESCRIBED: Final = frozenset({"wire", "bare", "bus", "shielded", "coax", "twisted", "strap"})
"""Conductors that are drawn for themselves. A plain chain and a bolted joint only say: one net."""

CROWD: Final = {"supply": 4, "heater": 4, "bias": 4, "mains": 5, "earth": 4}
CROWDED: Final = 7
"""From so many terminals on, a named net is a symbol at each terminal instead of a star of lines."""


@dataclass(slots=True)
class _Group:
    key: int
    stock: int | None
    found: int | None
    terminals: list[tuple[Point, Presence]] = field(default_factory=list)
    names: list[str] = field(default_factory=list)
    ties: list[Point] = field(default_factory=list)
    links: int = 0
    """Lines other than to its own terminals."""
    joint: str = ""


class Wiring:
    """Joints and lines of a sheet. ``boxes`` are the parts that are drawn."""

    def __init__(self, layers: Layers, boxes: dict[str, Box], numbers: dict[str, int]) -> None:
        self.layers = layers
        self.boxes = boxes
        self.numbers = numbers
        self.groups: list[_Group] = []
        self.group_of: dict[Point, _Group] = {}
        self.joints: dict[str, Joint] = {}
        self.lines: list[Line] = []
        self._runs: list[tuple[Run, Line]] = []
        self._links: list[tuple[_Group, _Group, Line]] = []
        self._group_stock()
        self._group_strangers()
        self._described()
        self._complete()
        self._settle()

    # --- groups ---------------------------------------------------------------------------------------------------

    def _group_stock(self) -> None:
        layers = self.layers
        pieces = _pieces(layers.stock_net, layers.stock.runs)
        for points in pieces:
            number = layers.stock_net[points[0]]
            real = [where for where in points if self._drawn(where)]
            by_found: dict[int | None, list[Point]] = defaultdict(list)
            for where in real:
                by_found[layers.found_net.get(where)].append(where)
            choices = [found for found in by_found if found is not None]
            own = layers.own.get(number)
            main = own if own in choices or not choices else max(choices, key=lambda f: (len(by_found[f]), -f))
            first = self._new(number, main)
            for where in points:
                if is_net(where):
                    first.names.append(where)
                elif where not in real:
                    first.ties.append(where)
                self.group_of[where] = first
            for found, members in by_found.items():
                group = first if found in (main, None) else self._new(number, found)
                presence = STOCK_ONLY if found is None else BOTH
                for where in members:
                    group.terminals.append((where, presence))
                    self.group_of[where] = group

    def _group_strangers(self) -> None:
        """Points that only the unit has: on the group that a plain chain puts them on, else on one of their own."""
        layers = self.layers
        for points in _pieces(layers.found_net, layers.found_runs):
            new = [where for where in points if where not in layers.stock_net]
            if not new:
                continue
            known = [where for where in points if where in self.group_of]
            number = layers.found_net[points[0]]
            hosts = [self.group_of[where] for where in known if self.group_of[where].found in (number, None)]
            hosts.sort(key=lambda group: (group.found != number, not group.names, group.key))
            group = hosts[0] if hosts else self._new(None, number)
            for where in new:
                self.group_of[where] = group
                if is_net(where):
                    group.names.append(where)
                elif self._drawn(where):
                    group.terminals.append((where, FOUND_ONLY))
                else:
                    group.ties.append(where)

    def _new(self, stock: int | None, found: int | None) -> _Group:
        group = _Group(len(self.groups), stock, found)
        self.groups.append(group)
        return group

    def _drawn(self, where: Point) -> bool:
        box = self.boxes.get(part_of(where))
        return box is not None and terminal_of(where) in box.terminals

    # --- conductors that are drawn for themselves -----------------------------------------------------------------

    def _described(self) -> None:
        layers = self.layers
        seen: dict[frozenset[Point], list[Run]] = defaultdict(list)
        for run in layers.found_runs:
            seen[frozenset((run.a, run.b))].append(run)
        for run in layers.stock.runs:
            if run.conductor not in DESCRIBED or not run.joins:
                continue
            if layers.alone:
                self._run(run, BOTH)
                continue
            matches = seen[frozenset((run.a, run.b))]
            match = next((m for m in matches if m.conductor == run.conductor), matches[0] if matches else None)
            if match is not None:
                matches.remove(match)
            self._compared_run(run, match)
        if layers.alone:
            for run in layers.stock.runs:
                if run.conductor in DESCRIBED and not run.joins:
                    self._run(run, BOTH)
            return
        for runs in list(seen.values()):
            for run in runs:
                if run.conductor in DESCRIBED and run.evidence != "as-drawn":
                    self._found_run(run)

    def _compared_run(self, run: Run, match: Run | None) -> None:
        layers = self.layers
        told = self._told(f"stock run {run.a} {run.b}", f"stock run {run.b} {run.a}")
        apart = layers.found_net.get(run.a) != layers.found_net.get(run.b)
        if match is not None and match.conductor in (run.conductor, ""):
            words = tuple(dict.fromkeys(RUN_WORDS.get(f.kind, "") for f in told if f.kind in RUN_WORDS))
            shown = match if told else run
            self._run(shown, BOTH, "changed" if words else "", words, told)
        elif match is not None:
            self._run(match, BOTH, "changed", (f"was {run_text(run)}",), told)
        elif told or apart:
            self._run(run, STOCK_ONLY, "missing", ("missing",), told)
        else:
            self._run(run, BOTH)

    def _found_run(self, run: Run) -> None:
        """Only what tells of a difference: a bench may describe every wire, and need not have a reason."""
        told = self._told(f"run {run.a} {run.b}", f"run {run.b} {run.a}")
        groups = [self.group_of.get(where) for where in (run.a, run.b)]
        strange = any(where not in self.layers.stock_net for where in (run.a, run.b) if where not in (OPEN, UNFOLLOWED))
        if not told and not strange and groups[0] is groups[1]:
            return
        words = tuple(dict.fromkeys(RUN_WORDS[f.kind] for f in told if f.kind in RUN_WORDS))
        was = [r for r in self.layers.stock.runs if any(f"stock run {r.a} {r.b}" in f.foreign for f in told)]
        if was and "not shielded" in words:
            words = (f"was {was[0].conductor}", *(w for w in words if w != "not shielded"))
        self._run(run, FOUND_ONLY, "added", ("added", *words), told)

    def _told(self, *tags: str) -> list[Finding]:
        return list(dict.fromkeys(f for tag in tags for f in self.layers.tagged.get(tag, ())))

    def _run(
        self, run: Run, presence: Presence, mark: Mark = "", words: tuple[str, ...] = (), told: Iterable[Finding] = ()
    ) -> None:
        ends = [self._landing(where, presence) for where in (run.a, run.b)]
        if not mark and any(where in self.layers.unseen for where in (run.a, run.b)):
            mark = "unseen"
        line = Line(ends[0], ends[1], run.conductor, run_text(run), presence, mark, words, self._numbers(told))
        self._runs.append((run, line))

    def _landing(self, where: Point, presence: Presence) -> End:
        if where in (OPEN, UNFOLLOWED):
            name = f"end {len(self.joints) + 1}"
            self.joints[name] = Joint(name, "open", "open" if where == OPEN else "not followed", presence=presence)
            return End(name)
        if self._drawn(where):
            return End(part_of(where), terminal_of(where))
        group = self.group_of[where]
        group.links += 1
        return End(f"group {group.key}")

    def _numbers(self, told: Iterable[Finding]) -> tuple[int, ...]:
        return tuple(sorted({self.numbers[f.modification] for f in told if f.modification in self.numbers}))

    # --- what still lacks a line ----------------------------------------------------------------------------------

    def _complete(self) -> None:
        layers = self.layers
        drawn, seen = Union(), Union()
        for group in self.groups:
            name = f"group {group.key}"
            for where, presence in group.terminals:
                if presence.stock:
                    drawn.join(where, name)
                if presence.found:
                    seen.join(where, name)
        for run, line in self._runs:
            if run.joins:
                a, b = (self._node(where) for where in (run.a, run.b))
                if line.presence.stock:
                    drawn.join(a, b)
                if line.presence.found:
                    seen.join(a, b)
        by_stock: dict[int, list[_Group]] = defaultdict(list)
        by_found: dict[int, list[_Group]] = defaultdict(list)
        for group in self.groups:
            if group.stock is not None:
                by_stock[group.stock].append(group)
            if group.found is not None and any(presence.found for _, presence in group.terminals):
                by_found[group.found].append(group)
        home = {found: stock for stock, found in layers.own.items()}
        for number, groups in by_stock.items():
            groups.sort(key=lambda group, own=layers.own.get(number): (group.found != own, group.key))  # type: ignore[misc]
            for group in groups[1:]:
                if drawn.find(f"group {group.key}") != drawn.find(f"group {groups[0].key}"):
                    drawn.join(f"group {group.key}", f"group {groups[0].key}")
                    self._link(groups[0], group, STOCK_ONLY)
        for number, groups in by_found.items():
            groups.sort(key=lambda group, at=home.get(number): (group.stock != at, group.stock is None, group.key))  # type: ignore[misc]
            for group in groups[1:]:
                if seen.find(f"group {group.key}") != seen.find(f"group {groups[0].key}"):
                    seen.join(f"group {group.key}", f"group {groups[0].key}")
                    self._link(groups[0], group, FOUND_ONLY)

    def _node(self, where: Point) -> str:
        return where if self._drawn(where) else f"group {self.group_of[where].key}"

    def _link(self, base: _Group, group: _Group, presence: Presence) -> None:
        layers = self.layers
        points = [
            where
            for where, number in layers.stock_net.items()
            if number == group.stock and layers.found_net.get(where) == group.found and self._compared(where)
        ]
        if presence.stock:
            finding, words, mark = layers.cut(points), CUT_WORDS, "missing"
        else:
            finding, words, mark = layers.join(points), JOIN_WORDS, "added"
        word = words.get(finding.kind, mark) if finding else mark
        numbers = self._numbers([finding] if finding else [])
        if finding is None:
            strangers = [self.boxes[part_of(w)] for w, there in group.terminals if there == FOUND_ONLY]
            numbers = tuple(sorted({n for box in strangers for n in box.numbers}))
        line = Line(End(""), End(""), "", "", presence, mark, (word,), numbers)  # type: ignore[arg-type]
        base.links += 1
        group.links += 1
        self._links.append((base, group, line))

    def _compared(self, where: Point) -> bool:
        return is_net(where) or self._drawn(where)

    # --- joints ---------------------------------------------------------------------------------------------------

    def _settle(self) -> None:
        """Decide what every group is: a terminal, a line, or a joint; then make its lines."""
        from dataclasses import replace

        size: dict[int, int] = defaultdict(int)
        for group in self.groups:
            if group.stock is not None and group.found in (None, self.layers.own.get(group.stock)):
                size[group.stock] += len(group.terminals)
        names: dict[int, list[str]] = defaultdict(list)
        for group in self.groups:
            if group.stock is not None:
                names[group.stock] += group.names
        anchors: dict[str, End] = {}
        for group in self.groups:
            sort, name = "", ""
            if group.stock is not None and group.found in (None, self.layers.own.get(group.stock)):
                sort, name = self._sort(names[group.stock], size[group.stock])
            anchors[f"group {group.key}"] = self._anchor(group, sort, name)
        for base, group, line in self._links:
            a, b = anchors[f"group {base.key}"], anchors[f"group {group.key}"]
            self.lines.append(replace(line, a=a, b=b))
        for _, line in self._runs:
            ends = [anchors.get(end.item, end) if not end.terminal else end for end in (line.a, line.b)]
            self.lines.append(replace(line, a=ends[0], b=ends[1]))

    def _sort(self, names: list[str], size: int) -> tuple[str, str]:
        """``ground`` or ``supply`` and the name, for a net that gets a symbol at each terminal."""
        if self.layers.ground in names:
            return "ground", self.layers.ground
        for name in names:
            net = self.layers.stock.nets.get(name)
            if size >= CROWD.get(net.purpose if net else "", CROWDED):
                return "supply", name
        return "", ""

    def _anchor(self, group: _Group, sort: str, name: str) -> End:
        """The point that stands for the group; its terminals are joined to it on the way."""
        if sort:
            joint = self._joint(f"net {name}", sort, clip(name), volts(self.layers.stock, name))
            self._spokes(group, joint)
            return joint
        label = [clip(f"{n} {volts(self.layers.stock, n)}".strip()) for n in group.names] + group.ties
        ends = [End(part_of(where), terminal_of(where)) for where, _ in group.terminals]
        if not label and group.links == 0 and len(ends) < 3 or len(ends) == 1 and not label:
            if len(ends) == 2:
                (a, first), (b, second) = group.terminals
                presence = Presence(first.stock and second.stock, first.found and second.found)
                self.lines.append(self._spoke(ends[0], ends[1], presence, a, b))
            return ends[0] if ends else End("")
        if not ends and not group.links:
            return End("")
        joint = self._joint(f"joint {group.key + 1}", "name" if label else "dot", "\n".join(label[:3]))
        self._spokes(group, joint)
        return joint

    def _joint(self, name: str, sort: str, text: str, detail: str = "") -> End:
        self.joints.setdefault(name, Joint(name, sort, text, detail))
        return End(name)

    def _spokes(self, group: _Group, joint: End) -> None:
        for where, presence in group.terminals:
            self.lines.append(self._spoke(End(part_of(where), terminal_of(where)), joint, presence, where))

    def _spoke(self, a: End, b: End, presence: Presence, *points: Point) -> Line:
        mark: Mark = "" if presence == BOTH else "missing" if presence.stock else "added"
        if not mark and any(where in self.layers.unseen for where in points):
            mark = "unseen"
        return Line(a, b, presence=presence, mark=mark)


def _pieces(net_of: Iterable[Point] | dict[Point, int], runs: Iterable[Run]) -> list[list[Point]]:
    """Points that plain chains, bolted joints and braids hold together."""
    union = Union()
    known = set(net_of)
    for where in net_of:
        union.add(where)
    for run in runs:
        if run.conductor not in DESCRIBED and run.a in known and run.b in known:
            union.join(run.a, run.b)
        if run.braid is not None and run.braid[0] in known and run.braid[1] in known:
            union.join(*run.braid)
    return union.groups()
