"""From two layers of wiring to the lines and joints of one picture.

Where a group of points has one terminal it is that terminal; two terminals are joined by one line;
three or more, and every net with a name, get a joint. Described conductors (coax, wire of a known
length …) are lines of their own. What then still lacks a line in one of the circuits gets one,
marked as missing or added: so the lines of either circuit connect exactly what that circuit does.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import replace
from typing import Final

from netdiff.circuit import OPEN, UNFOLLOWED, Point, Run, is_net, part_of, terminal_of
from netdiff.comparison import Finding
from netdiff.drawing.groups import DESCRIBED, Group, Groups
from netdiff.drawing.layers import Layers
from netdiff.drawing.model import BOTH, FOUND_ONLY, STOCK_ONLY, Box, End, Joint, Line, Mark, Presence
from netdiff.drawing.words import CUT_WORDS, JOIN_WORDS, RUN_WORDS, clip, run_text, volts
from netdiff.nets import Union

CROWD: Final = {"supply": 4, "heater": 4, "bias": 4, "mains": 5, "earth": 4}
CROWDED: Final = 7
"""From so many terminals on, a named net is a symbol at each terminal instead of a star of lines."""
NOWHERE: Final = End("")


class Wiring:
    """``joints`` and ``lines`` of a sheet. ``boxes`` are the parts that are drawn."""

    def __init__(self, layers: Layers, boxes: dict[str, Box], numbers: dict[str, int]) -> None:
        self.layers = layers
        self.boxes = boxes
        self.numbers = numbers
        self.groups = Groups(layers, boxes)
        self.joints: dict[str, Joint] = {}
        self.lines: list[Line] = []
        self._runs: list[tuple[Run, Line]] = []
        self._links: list[tuple[Group, Group, Line]] = []
        self._described()
        self._unfollowed()
        self._complete()
        self._settle()

    # --- conductors that are drawn for themselves -----------------------------------------------------------------

    def _described(self) -> None:
        layers = self.layers
        if layers.alone:
            for run in layers.stock.runs:
                if run.conductor in DESCRIBED:
                    self._run(run, BOTH, pair=(run, run))
            return
        seen: dict[frozenset[Point], list[Run]] = defaultdict(list)
        for run in layers.found_runs:
            seen[frozenset((run.a, run.b))].append(run)
        for run in layers.stock.runs:
            if run.conductor in DESCRIBED and run.joins:
                matches = seen[frozenset((run.a, run.b))]
                match = next((m for m in matches if m.conductor == run.conductor), matches[0] if matches else None)
                if match is not None:
                    matches.remove(match)
                self._compared_run(run, match)
        for runs in seen.values():
            for run in runs:
                if run.evidence != "as-drawn":
                    self._found_run(run)

    def _compared_run(self, run: Run, match: Run | None) -> None:
        """A conductor of the drawing, beside the one that the unit has between the same points."""
        told = self._told(f"stock run {run.a} {run.b}", f"stock run {run.b} {run.a}")
        numbers = self._numbers(told)
        if match is not None and match.conductor in (run.conductor, ""):
            words = tuple(dict.fromkeys(RUN_WORDS[f.kind] for f in told if f.kind in RUN_WORDS))
            shown = match if words and match.conductor else run
            pair = run, match if match.conductor else None
            self._run(shown, BOTH, "changed" if words else "", words, numbers, pair)
        elif match is not None:
            self._run(match, BOTH, "changed", (f"was {run_text(run)}",), numbers, (run, match))
        elif told or self.groups.found(run.a) != self.groups.found(run.b):
            self._run(run, STOCK_ONLY, "missing", ("missing",), numbers, (run, None))
        else:
            self._run(run, BOTH, pair=(run, None))

    def _found_run(self, run: Run) -> None:
        """Only what tells of a difference: a bench may describe every wire, and need not have a reason."""
        told = self._told(f"run {run.a} {run.b}", f"run {run.b} {run.a}")
        ends = [where for where in (run.a, run.b) if where not in (OPEN, UNFOLLOWED)]
        strange = any(where not in self.layers.stock_net for where in ends)
        crosses = len({self.groups.of[where].key for where in ends}) > 1
        if not told and (run.conductor not in DESCRIBED or not (strange or crosses)):
            return
        words = tuple(dict.fromkeys(RUN_WORDS[f.kind] for f in told if f.kind in RUN_WORDS))
        was = [r for r in self.layers.stock.runs if any(f"stock run {r.a} {r.b}" in f.foreign for f in told)]
        if was and "not shielded" in words:
            words = (f"was {was[0].conductor}", *(word for word in words if word != "not shielded"))
        numbers = self._numbers(told) or self._numbers_of_strangers(ends)
        self._run(run, FOUND_ONLY, "added", ("added", *words), numbers, (None, run))

    def _run(
        self,
        run: Run,
        presence: Presence,
        mark: Mark = "",
        words: tuple[str, ...] = (),
        numbers: tuple[int, ...] = (),
        pair: tuple[Run | None, Run | None] = (None, None),
    ) -> None:
        a, b = (self._landing(where, presence) for where in (run.a, run.b))
        if not mark and any(where in self.layers.unseen for where in (run.a, run.b)):
            mark = "unseen"
        self._runs.append((run, Line(a, b, run.conductor, run_text(run), presence, mark, words, numbers, *pair)))

    def _landing(self, where: Point, presence: Presence) -> End:
        if where in (OPEN, UNFOLLOWED):
            name = f"end {len(self.joints) + 1}"
            self.joints[name] = Joint(name, "open", "open" if where == OPEN else "not followed", presence=presence)
            return End(name)
        if self.groups.drawn(where):
            return End(part_of(where), terminal_of(where))
        group = self.groups.of[where]
        group.links += 1
        return End(group.node)

    def _unfollowed(self) -> None:
        """Leads of the unit that nobody followed to their other end."""
        described = {w for run, _ in self._runs for w in (run.a, run.b) if UNFOLLOWED in (run.a, run.b)}
        for where in sorted(self.layers.unfollowed):
            if self.groups.drawn(where) and where not in described:
                ends = self._landing(where, FOUND_ONLY), self._landing(UNFOLLOWED, FOUND_ONLY)
                self._runs.append((Run(where, UNFOLLOWED), Line(*ends, presence=FOUND_ONLY, mark="unseen")))

    # --- which modification ---------------------------------------------------------------------------------------

    def _told(self, *tags: str) -> list[Finding]:
        return list(dict.fromkeys(f for tag in tags for f in self.layers.tagged.get(tag, ())))

    def _numbers(self, told: Iterable[Finding]) -> tuple[int, ...]:
        return tuple(sorted({self.numbers[f.modification] for f in told if f.modification in self.numbers}))

    def _numbers_of_strangers(self, points: Iterable[Point]) -> tuple[int, ...]:
        new = (where for where in points if self.groups.drawn(where) and where not in self.layers.stock_net)
        return tuple(sorted({number for where in new for number in self.boxes[part_of(where)].numbers}))

    # --- what still lacks a line ----------------------------------------------------------------------------------

    def _complete(self) -> None:
        """Join the groups of every net that the lines so far leave apart, in the circuit where they do."""
        layers = self.layers
        drawn, seen = self._joined()
        by_stock: dict[int, list[Group]] = defaultdict(list)
        by_found: dict[int, list[Group]] = defaultdict(list)
        for group in self.groups.all:
            if group.stock is not None:
                by_stock[group.stock].append(group)
            if group.found is not None and self._in_unit(group):
                by_found[group.found].append(group)
        home = {found: stock for stock, found in layers.own.items()}
        self._blocks: dict[tuple[int, int | None], list[Point]] = defaultdict(list)
        for where, number in layers.stock_net.items():
            if is_net(where) or self.groups.drawn(where):
                self._blocks[number, layers.found_net.get(where)].append(where)
        for number, groups in by_stock.items():
            own = layers.own.get(number)
            self._join(sorted(groups, key=lambda g: (g.found != own, g.key)), drawn, STOCK_ONLY)
        for number, groups in by_found.items():
            at = home.get(number)
            self._join(sorted(groups, key=lambda g: (g.stock != at, g.stock is None, g.key)), seen, FOUND_ONLY)

    def _in_unit(self, group: Group) -> bool:
        return any(there.found for _, there in group.terminals) or any(n in self.layers.found_net for n in group.names)

    def _joined(self) -> tuple[Union, Union]:
        """What the lines so far join in the drawing, and in the unit."""
        drawn, seen = Union(), Union()
        joints = [(where, group.node, there) for group in self.groups.all for where, there in group.terminals]
        for run, line in self._runs:
            if run.joins:
                joints.append((self.groups.node(run.a), self.groups.node(run.b), line.presence))
        for a, b, presence in joints:
            if presence.stock:
                drawn.join(a, b)
            if presence.found:
                seen.join(a, b)
        return drawn, seen

    def _join(self, groups: list[Group], union: Union, presence: Presence) -> None:
        for group in groups[1:]:
            if union.find(group.node) != union.find(groups[0].node):
                union.join(group.node, groups[0].node)
                self._link(groups[0], group, presence)

    def _link(self, base: Group, group: Group, presence: Presence) -> None:
        points = self._blocks[group.stock, group.found] if group.stock is not None else []
        mark: Mark
        if presence.stock:
            finding, words, mark = self.layers.cut(points), CUT_WORDS, "missing"
        else:
            finding, words, mark = self.layers.join(points), JOIN_WORDS, "added"
        word = words.get(finding.kind, mark) if finding else mark
        numbers = self._numbers([finding]) if finding else self._numbers_of_strangers(w for w, _ in group.terminals)
        base.links += 1
        group.links += 1
        line = Line(NOWHERE, NOWHERE, presence=presence, mark=mark, words=(word,), numbers=numbers)
        self._links.append((base, group, line))

    # --- joints ---------------------------------------------------------------------------------------------------

    def _settle(self) -> None:
        """Decide what every group is: a terminal, a line, or a joint; then make its lines."""
        size: dict[int, int] = defaultdict(int)
        names: dict[int, list[str]] = defaultdict(list)
        for group in self.groups.all:
            if group.stock is not None and self.groups.own(group):
                names[group.stock] += group.names
                size[group.stock] += len(group.terminals)
        anchors: dict[str, End] = {}
        for group in self.groups.all:
            sort, name = "", ""
            if group.stock is not None and self.groups.own(group):
                sort, name = self._symbol(names[group.stock], size[group.stock])
            anchors[group.node] = self._anchor(group, sort, name)
        for base, group, line in self._links:
            self.lines.append(replace(line, a=anchors[base.node], b=anchors[group.node]))
        for run, line in self._runs:
            a, b = (self._end(*pair, anchors) for pair in ((run.a, line.a), (run.b, line.b)))
            self.lines.append(replace(line, a=a, b=b))

    def _end(self, where: Point, end: End, anchors: dict[str, End]) -> End:
        """Where a conductor ends. On a net of symbols its tie point is named, so that one sees which wire it is."""
        anchor = end if end.terminal else anchors.get(end.item, end)
        joint = self.joints.get(anchor.item)
        if joint is None or not joint.repeated or is_net(where):
            return anchor
        name = f"tie {where}"
        strip = self.layers.stock.parts.get(part_of(where)) or self.layers.found_parts.get(part_of(where))
        zone = strip.zone if strip is not None else ""
        self.joints.setdefault(name, Joint(name, "reference", clip(f"{joint.text} {where}"), zone=zone))
        return End(name)

    def _symbol(self, names: list[str], size: int) -> tuple[str, str]:
        """``ground`` or ``supply`` and the name, for a net that gets a symbol at each terminal."""
        if self.layers.ground in names:
            return "ground", self.layers.ground
        for name in names:
            net = self.layers.stock.nets.get(name)
            if size >= CROWD.get(net.purpose if net else "", CROWDED):
                return "supply", name
        return "", ""

    def _anchor(self, group: Group, sort: str, name: str) -> End:
        """The point that stands for the group; its terminals are joined to it on the way."""
        stock = self.layers.stock
        if sort:
            return self._joint(group, f"net {name}", sort, clip(name), volts(stock, name))
        label = [clip(f"{name} {volts(stock, name)}") for name in group.names] + group.ties
        ends = [End(part_of(where), terminal_of(where)) for where, _ in group.terminals]
        if not label and (len(ends) == 1 or (len(ends) < 3 and not group.links)):
            if len(ends) == 2:
                (a, first), (b, second) = group.terminals
                presence = Presence(first.stock and second.stock, first.found and second.found)
                if presence != Presence(False, False):
                    self.lines.append(self._spoke(ends[0], ends[1], presence, a, b))
            return ends[0] if ends else NOWHERE
        if not ends and not group.links:
            return NOWHERE
        return self._joint(group, f"joint {group.key + 1}", "name" if label else "dot", "\n".join(label[:3]))

    def _joint(self, group: Group, name: str, sort: str, text: str, detail: str = "") -> End:
        joint = End(name)
        self.joints.setdefault(name, Joint(name, sort, text, detail))
        for where, presence in group.terminals:
            self.lines.append(self._spoke(End(part_of(where), terminal_of(where)), joint, presence, where))
        return joint

    def _spoke(self, a: End, b: End, presence: Presence, *points: Point) -> Line:
        mark: Mark = "" if presence == BOTH else "missing" if presence.stock else "added"
        if not mark and any(where in self.layers.unseen for where in points):
            mark = "unseen"
        return Line(a, b, presence=presence, mark=mark)
