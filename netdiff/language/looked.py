"""What was looked at: the terminals that `traced` and `as-drawn` speak of, and the ends of leads."""

from __future__ import annotations

from collections.abc import Iterable

from netdiff.circuit import Point, Run, part_of
from netdiff.language import statements as st
from netdiff.language.bench import BenchSite


class Looked:
    """Works out terminals and parts from the words of ``traced`` and ``as-drawn``."""

    def __init__(self, site: BenchSite) -> None:
        self.site = site

    def traced(self, statements: Iterable[st.Statement]) -> set[Point]:
        out: set[Point] = set()
        for statement in statements:
            if isinstance(statement, st.Traced) and not statement.as_drawn:
                out.update(self.expanded(statement)[0])
        return out

    def expanded(self, line: st.Traced) -> tuple[list[Point], list[str]]:
        """Terminals that the line speaks of, and the parts of which it speaks whole."""
        points: dict[Point, None] = {}
        whole: dict[str, None] = {}
        for target in line.targets:
            self._expand(target, line, points, whole)
        out_points: dict[Point, None] = {}
        out_whole: dict[str, None] = {}
        for target in line.but:
            self._expand(target, line, out_points, out_whole)
        left_out = {part_of(point) for point in out_points}
        return [p for p in points if p not in out_points], [d for d in whole if d not in left_out]

    def _expand(self, target: str, line: st.Traced, points: dict[Point, None], whole: dict[str, None]) -> None:
        place = line.place
        if target in self.site.zones:
            names = [part.designator for part in self.site.parts.values() if part.zone == target]
            gone = [name for name in self.site.missing if self.site.stock.parts[name].zone == target]
            if line.as_drawn:
                names = [name for name in names if name in self.site.stock.parts and name not in gone]
                out = {word.partition(".")[0] for word in line.but}
                for name in gone:
                    if name not in out:
                        says = f"{target} is as drawn, and {name} is missing (line {self.site.missing[name].line})"
                        self.site.source.fault(place, says, target, f"as-drawn {target} but {name}")
            for name in names:
                whole[name] = None
                points.update(dict.fromkeys(self.site.terminals(name)))
        elif "." in target:
            point = self.site.point(target, place)
            if point is not None and self._in_drawing(part_of(point), target, line):
                points[point] = None
        elif target[0].islower():
            if target in self.site.nets:
                says = f"{target} is a net: a zone, a part or a terminal is traced"
                self.site.source.fault(place, says, target)
            else:
                self.site.unknown(target, place, target, f"no line declares the zone {target}", self.site.zones)
        elif target in self.site.missing and target in line.but:
            return
        elif self.site.part(target, place) is not None and self._in_drawing(target, target, line):
            whole[target] = None
            points.update(dict.fromkeys(self.site.terminals(target)))

    def _in_drawing(self, designator: str, word: str, line: st.Traced) -> bool:
        if line.as_drawn and designator not in self.site.stock.parts:
            self.site.source.fault(line.place, f"the drawing has no {designator}, so it is not as drawn", word)
            return False
        return True

    def lead_ends(self, runs: Iterable[Run], traced: set[Point]) -> set[Point]:
        """Ends of parts that hang by their leads, where a seen plain chain puts them on a traced terminal."""
        out: set[Point] = set()
        for run in runs:
            if run.conductor or run.evidence != "seen":
                continue
            for end, other in ((run.a, run.b), (run.b, run.a)):
                if other in traced and "." in other:
                    part = self.site.parts.get(part_of(end))
                    if part is not None and part.kind.hangs:
                        out.add(end)
        return out
