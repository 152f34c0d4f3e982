"""A person at the bench, for tests: knows one unit as found, and looks only at what is asked.

Of every terminal the person sees what the known unit has there, and says `as drawn` only where that is what the
question expects, lead by lead, conductor by conductor. What nobody knows of the known unit, the person cannot see.
"""

from __future__ import annotations

from netdiff.circuit import OPEN, Point, Run, is_foreign, is_net, part_of
from netdiff.comparison.knowledge import looked_at_parts
from netdiff.language import Unit
from netdiff.language.statements import PartLine
from netdiff.quantities import show
from netdiff.tracing.answers import Answer, Item
from netdiff.tracing.plan import Plan
from netdiff.tracing.questions import Lead, Question
from netdiff.tracing.state import State
from netdiff.tracing.view import BRAID, View, ends_of, small, turnable


class Person:
    """Answers from ``unit``, read as of production ``active``."""

    def __init__(self, unit: Unit, active: frozenset[str]) -> None:
        self.unit = unit
        self.found = unit.found(active)
        self.plan = Plan(unit.model.circuit(active))
        self.state = State(unit, self.found, self.plan)
        self.here = View(self.found.circuit)
        self.gone = {
            name
            for name in (*self.found.missing, *looked_at_parts(self.plan.circuit, self.found))
            if name not in self.found.missing or name not in self.found.circuit.parts
        }
        """Said to be missing, or traced and nowhere."""
        self.told: set[str] = set()
        """What was said already at a glance, or with the part in hand."""

    # --- what the person sees

    def runs(self, at: Point) -> list[tuple[Point, Run]]:
        """What lands on a terminal of the known unit, with the far end."""
        out = []
        drawn = {lead.to for lead in self.plan.view.leads(at)}
        for run in self.here.near.get(at, ()):
            to = run.b if run.a == at else run.a
            if to == OPEN or self.here.only_a_name(to) or (is_net(to) and to != self.found.circuit.ground):
                continue
            if run.evidence == "as-drawn" and to not in drawn and not turned_in(self, to, drawn):
                continue
            out.append((to, run))
        if at in self.found.as_drawn or part_of(at) in self.found.as_drawn:
            # The wire goes on to a place where nobody looked.
            far = {to for to, _ in out}
            for run in self.plan.view.near.get(at, ()):
                to = run.b if run.a == at else run.a
                if to in far or part_of(to) in self.gone or run.conductor == "body" or self.here.only_a_name(to):
                    continue
                if (
                    not part_of(to)
                    or not self.knows(to)
                    or to in self.found.as_drawn
                    or part_of(to) in self.found.as_drawn
                ):
                    out.append((to, run))
        return out

    def knows(self, at: Point) -> bool:
        return at in self.found.traced or any(lead.to != BRAID for lead in self.state.known(at))

    def same(self, one: Point, other: Point) -> bool:
        return one == other or turnable(self.plan.circuit.parts, one) == other != ""

    def as_asked(self, question: Question, at: Point) -> bool:
        """What is there is what the question expects there."""
        expected = [lead for lead in question.expected if lead.at == at and not _name(lead, self)]
        there = self.runs(at)
        if len({to for to, _ in there}) != len({lead.to for lead in expected}):
            return False
        for lead in expected:
            found = [run for to, run in there if self.same(to, lead.to)]
            if not found:
                return False
            drawn = [run for run in self.plan.view.near.get(at, ()) if lead.to in (run.a, run.b) and run.conductor]
            if drawn and found[0].evidence != "as-drawn" and not _alike(drawn[0], found[0], at):
                return False
        braids = {run.cable for run in self.plan.view.braids.get(at, ())}
        return braids <= {run.cable for run in self.here.braids.get(at, ())} or at in self.found.as_drawn

    # --- what the person says

    def answer(self, question: Question) -> Answer:
        if question.form == "zone":
            return self._glance(question.about)
        if question.form == "lug":
            return self.lug(question.about)
        name = question.about
        if len(question.parts) == 1:
            return self._part(question, name)
        if not any(self.knows(p) for p in question.points):
            return Answer("unseen")
        but: list[str] = []
        for part in question.parts:
            wrong = [p for p in question.points if part_of(p) == part and not self.as_asked(question, p)]
            if self._unsaid(part) or (wrong and small(self.plan.circuit.parts[part])):
                but.append(part)
            else:
                but += wrong
        return Answer("but", but=tuple(but)) if but else Answer("as-drawn")

    def _glance(self, zone: str) -> Answer:
        for name in sorted({*self.found.missing, *self.gone}):
            if self.plan.circuit.parts[name].zone == zone and name not in self.told:
                self.told.add(name)
                return Answer("missing", about=name)
        for name, part in self.found.circuit.parts.items():
            if (part.zone or zone if is_foreign(name) else part.zone) != zone or name in self.told:
                continue
            line = self.line(name)
            if is_foreign(name) or (line and part.read_off) or part.conditions:
                self.told.add(name)
                return Answer("statement", words=", ".join(w for w in line.split(", ") if not w.startswith("measured")))
        return Answer("none")

    def line(self, name: str) -> str:
        line = next((s for s in self.unit.statements if isinstance(s, PartLine) and s.designator == name), None)
        return " ".join(self.unit.source.lines[line.place.line - 1].partition("#")[0].split()) if line else ""

    def _unsaid(self, name: str) -> bool:
        part = self.found.circuit.parts.get(name)
        return part is not None and part.measured is not None and f"{name} measured" not in self.told

    def _part(self, question: Question, name: str) -> Answer:
        if name in self.gone:
            return Answer("missing")
        part = self.found.circuit.parts.get(name)
        if part is not None and self._unsaid(name):
            self.told.add(f"{name} measured")
            return Answer("read", words=self.line(name).partition(" ")[2])
        if part is None or not any(self.knows(p) for p in question.points or part.points()):
            return Answer("unseen")
        if name in self.plan.circuit.parts and not is_foreign(name):
            wrong = [p for p in question.points if not self.as_asked(question, p)]
            if not wrong:
                return Answer("as-drawn")
            if not small(part):
                if len(question.points) == 1:
                    return self.lug(question.points[0])
                return Answer("but", but=tuple(wrong)) if len(wrong) < len(question.points) else Answer("differs")
        if part.kind.ends and len(question.points) == 1:
            return self.lug(question.points[0])
        if part.kind.ends and len(question.points) == 2:
            there = [self.runs(end) for end in ends_of(part)]
            if all(len(runs) == 1 for runs in there):
                return Answer(
                    "these", items=tuple(self._item(ends_of(part)[i], *runs[0]) for i, runs in enumerate(there))
                )
            return Answer("differs")
        if part.kind.any_terminal:
            lines = [
                self.unit.source.lines[run.places[0].line - 1].partition("#")[0]
                for run in self.found.circuit.runs
                if name in (part_of(run.a), part_of(run.b))
            ]
            new = [line for line in lines if line not in self.told]
            if new:
                self.told.add(new[0])
                return Answer("statement", words=new[0])
        return Answer("unseen")

    def lug(self, at: Point) -> Answer:
        if not self.knows(at):
            return Answer("unseen")
        items = [self._item(at, to, run) for to, run in self.runs(at)]
        items = list({item.to: item for item in items}.values())
        if not items:
            return Answer("nothing")
        return Answer("these" if at in self.found.traced else "some", items=tuple(items))

    def _item(self, at: Point, to: Point, run: Run) -> Item:
        if not run.conductor:
            return Item(to, evidence=run.evidence if run.evidence in ("metered", "assumed") else "")
        braid = run.braid and (run.braid if run.a == at else run.braid[::-1])
        gap = run.gaps[0] if run.gaps else None
        return Item(
            to, "", run.conductor, run.cable, run.cable_type, _length(run.length),
            f"{run.gauge:.0f}AWG" if run.gauge is not None else "", run.text,
            run.evidence if run.evidence in ("metered", "assumed") else "", braid, _length(run.bare),
            f"{_length(gap.distance)} to {gap.to}" if gap else "", run.conditions[0] if run.conditions else "",
        )  # fmt: skip


def turned_in(person: Person, to: Point, drawn: set[Point]) -> bool:
    return any(person.same(to, other) for other in drawn)


def _name(lead: Lead, person: Person) -> bool:
    return lead.to == BRAID or (is_net(lead.to) and lead.to != person.found.circuit.ground)


def _length(metres: float | None) -> str:
    return show(metres, "m").replace(" ", "") if metres is not None else ""


def _alike(drawn: Run, found: Run, at: Point) -> bool:
    """The conductor is what the drawing describes, as far as somebody sees who does not measure it exactly."""
    if found.conductor != drawn.conductor and (drawn.conductor in ("coax", "shielded") or found.conductor):
        return False
    if found.bare is not None or found.gaps or found.conditions:
        return False
    if drawn.gauge and found.gauge and drawn.gauge != found.gauge:
        return False
    if drawn.cable_type and found.cable_type and drawn.cable_type != found.cable_type:
        return False
    if drawn.length and found.length and abs(found.length - drawn.length) > drawn.length * 0.25:
        return False
    mine = drawn.braid if drawn.a == at or drawn.braid is None else drawn.braid[::-1]
    theirs = found.braid if found.a == at or found.braid is None else found.braid[::-1]
    return drawn.braid is None or mine == theirs
