"""What the found file settles, told apart as the questions need it. Made anew after every answer; cheap."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property
from typing import Final

from netdiff.circuit import Circuit, Found, Part, Point, is_net, part_of
from netdiff.language import Unit
from netdiff.language import statements as st
from netdiff.nets import Nets
from netdiff.tracing.plan import Plan
from netdiff.tracing.questions import Lead
from netdiff.tracing.view import BRAID, View, ends_of, turnable

SKIPPED: Final = "skipped while tracing"
UNSEEN: Final = "cannot be seen"
DIFFERS: Final = "not as drawn"
ASIDE: Final = "set aside"
SEEN_OUTSIDE: Final = "looked at from outside"
LOOKED_OVER: Final = "looked over"
"""Texts of notes by which a question remembers how it was answered."""

SEEN: Final = ("seen", "metered", "assumed")


class State:
    """One unit beside one drawing, lug by lug."""

    def __init__(self, unit: Unit, found: Found, plan: Plan) -> None:
        self.unit = unit
        self.found = found
        self.plan = plan
        self.stock: Circuit = plan.circuit
        self.parts = found.circuit.parts
        self.drawn = plan.view
        self.here = View(found.circuit)
        self.said: dict[Point, int] = {}
        """Terminals that a line speaks of by themselves or with their part or zone, with the line."""
        self.at: dict[Point, int] = {}
        """Lugs of which a line tells everything that lands there."""
        self.singles: dict[str, None] = {}
        """Parts and terminals that an answer set aside: asked next, one by one."""
        self.notes: dict[str, list[str]] = {}
        self.last_zone = ""
        """The zone that a part declared at the end of the file would stand in."""
        self._read_lines()

    # --- what the lines say

    def _read_lines(self) -> None:
        for line in self.unit.statements:
            match line:
                case st.Traced(place, targets, but):
                    out = {point for word in but for point in self._points(word)}
                    for word in targets:
                        for point in self._points(word):
                            if point not in out:
                                self.said[point] = place.line
                    if line.as_drawn:
                        self.singles |= dict.fromkeys(self.canonical(word) for word in but)
                case st.Landing(place, lug):
                    self.at[self.canonical(lug)] = self.said[self.canonical(lug)] = place.line
                case st.ZoneLine(_, name):
                    self.last_zone = name
                case st.Note(_, targets, text):
                    for word in targets:
                        self.notes.setdefault(self.canonical(word), []).append(text)
        for word, texts in self.notes.items():
            if ASIDE in texts:
                self.singles[word] = None
            if DIFFERS in texts:
                # Said once more of what is left, it means the pins that the drawing leaves free.
                again = texts.count(DIFFERS) > 1
                self.singles |= dict.fromkeys(self._points(word) if again else self._wired(word))

    def _points(self, word: str) -> Iterable[Point]:
        if word in self.found.circuit.zones:
            return [p for part in self.parts.values() if part.zone == word for p in part.points()]
        if "." in word:
            return [self.canonical(word)]
        part = self.parts.get(word) or self.stock.parts.get(word)
        return part.points() if part is not None else []

    def canonical(self, word: str) -> str:
        """A terminal under its canonical name; anything else as it is."""
        name, dot, terminal = word.partition(".")
        part = self.parts.get(name) or self.stock.parts.get(name)
        if not dot or part is None:
            return word
        lug = part.kind.lug(terminal)
        return f"{name}.{lug.name}" if lug is not None else word

    def _wired(self, word: str) -> list[str]:
        """The terminals of a part that the drawing or the file takes somewhere; a terminal itself."""
        if "." in word:
            return [word]
        part = self.parts.get(word)
        points = part.points() if part is not None else ()
        return [where for where in points if self.plan.danger.wired(where) or self.here.leads(where)]

    # --- what is open

    def gone(self, name: str) -> bool:
        return name in self.found.missing and name not in self.parts

    def part(self, name: str) -> Part | None:
        """As it is; as drawn if it is gone."""
        return self.parts.get(name) or self.stock.parts.get(name)

    def open_points(self, name: str) -> list[Point]:
        """Terminals of a part that nobody has looked at."""
        if self.gone(name):
            return []
        part = self.parts.get(name)
        if part is None or UNSEEN in self.notes.get(name, ()):
            return []
        return [p for p in part.points() if p not in self.found.traced and UNSEEN not in self.notes.get(p, ())]

    def unread(self, name: str) -> bool:
        """Only its leads were met at lugs: nobody said of the part itself what it is."""
        part = self.parts.get(name)
        if part is None or part.foreign or part.read_off or UNSEEN in self.notes.get(name, ()):
            return False
        points = part.points()
        return bool(points) and part.kind.hangs and not any(point in self.said for point in points)

    def open(self, name: str) -> bool:
        return bool(self.open_points(name)) or self.unread(name)

    @cached_property
    def skipped(self) -> frozenset[str]:
        return frozenset(word for word, texts in self.notes.items() if SKIPPED in texts)

    def read_otherwise(self, name: str) -> bool:
        """A line reads the part, so that `as-drawn` speaks of its leads alone."""
        return name in self.found.circuit.parts and (
            name in self.found.missing or bool(self.parts[name].places) or self.parts[name].measured is not None
        )

    def stock_lug_is_tie(self, where: Point) -> bool:
        part = self.stock.parts.get(part_of(where))
        lug = part.kind.lug(where.partition(".")[2]) if part is not None else None
        return lug is None or lug.tie

    # --- what lands where

    def known(self, at: Point) -> tuple[Lead, ...]:
        """What lines of the file put on a terminal."""
        return self.here.leads(at, SEEN)

    def closed(self, where: Point) -> bool:
        """Everything that lands there is written in lines of its own."""
        if where in self.found.as_drawn or part_of(where) in self.found.as_drawn:
            return False
        return where in self.found.traced

    def placed(self, where: Point) -> list[Lead]:
        """Where lines put a part's lead."""
        return [lead for lead in self.known(where) if lead.to != "?"]

    def expected(self, at: Point) -> tuple[Lead, ...]:
        """The drawing's leads at a terminal, without those that are known elsewhere, with those known here."""
        known = self.known(at)
        out = []
        for lead in self.drawn.leads(at):
            if lead.to == BRAID or any(self.same(lead.to, other.to) for other in known):
                continue
            name = part_of(lead.to)
            if name and (self.gone(name) or name not in self.parts):
                continue
            if name and self.parts[name].kind.lug(lead.to.partition(".")[2]) is None:
                continue
            if name and self.closed(lead.to):
                twin = turnable(self.parts, lead.to)
                if not twin or self.closed(twin):
                    continue
            out.append(lead)
        return (*known, *out)

    def deviates(self, at: Point) -> bool:
        """Lines of the file put something on a terminal that the drawing does not have there, or join its net with
        another one of the drawing: `as-drawn` would not be clear."""
        drawn, known = self.drawn.leads(at), self.known(at)
        if any(lead.to != BRAID and not any(self.same(lead.to, other.to) for other in drawn) for lead in known):
            return True
        here = [lead.to for lead in self.expected(at)]
        if any(self._there(lead.to) and not any(self.same(lead.to, other) for other in here) for lead in drawn):
            return True
        net = self._written.index.get(at)
        if net is None or not known:
            return False
        index = self.plan.danger.nets.index
        return len({index[p] for p in self._written.members[net] if p in index and not self._tie(p)}) > 1

    def _there(self, where: Point) -> bool:
        """It can be met at the bench: no braid, no part that is gone."""
        name = part_of(where)
        return where != BRAID and not (name and (self.gone(name) or name not in self.parts))

    @cached_property
    def _written(self) -> Nets:
        return Nets.of((), (run for run in self.found.circuit.runs if run.evidence in SEEN))

    def _tie(self, where: Point) -> bool:
        return not is_net(where) and self.stock_lug_is_tie(where)

    def same(self, one: Point, other: Point) -> bool:
        """One point, or two ends of a part that nobody can tell apart."""
        return one == other or turnable(self.stock.parts, one) == other != ""

    def free_end(self, name: str, at: Point) -> Point:
        """Which end of a two-ended part is meant at a lug; the bare designator where the whole file must decide."""
        part = self.part(name)
        if part is None:
            return name
        ends = ends_of(part)
        if not ends:
            points = part.points()
            return points[0] if len(points) == 1 else name
        for end in ends:
            if any(lead.to == at for lead in self.known(end)):
                return end
        drawn = [lead.to for lead in self.drawn.leads(at)]
        free = [end for end in ends if not self.placed(end)]
        here = [end for end in free if end in drawn]
        if here or part.kind.polarised:
            near = here or [end for end in ends if end in drawn] or self._on_net(free, at)
            return near[0] if near else name
        if len(free) == 1:
            return free[0]
        near = self._on_net(free, at)
        return near[0] if len(near) == 1 else name

    def _on_net(self, ends: Iterable[Point], at: Point) -> list[Point]:
        nets = self.plan.danger.nets
        return [end for end in ends if nets.same(end, at)]
