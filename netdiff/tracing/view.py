"""A circuit as somebody sees it who looks at one lug after another: what lands where, in words."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from netdiff.circuit import OPEN, UNFOLLOWED, Circuit, Part, Point, Run, is_net, part_of, terminal_of
from netdiff.comparison.words import value_words
from netdiff.quantities import show
from netdiff.tracing.questions import Lead

BRAID = "braid"
"""In place of a point: the braid of a shielded run that lands there."""


class View:
    """What lands on each point of a circuit."""

    def __init__(self, circuit: Circuit) -> None:
        self.circuit = circuit
        self.near: dict[Point, list[Run]] = {}
        self.braids: dict[Point, list[Run]] = {}
        for run in circuit.runs:
            if run.conductor == "body":
                continue
            for end in (run.a, run.b):
                if end not in (OPEN, UNFOLLOWED):
                    self.near.setdefault(end, []).append(run)
            for end in set(run.braid or ()) - {OPEN, UNFOLLOWED, run.a, run.b}:
                self.braids.setdefault(end, []).append(run)

    def leads(self, at: Point, evidence: Iterable[str] = ()) -> tuple[Lead, ...]:
        """What lands on a terminal; only runs that are known in one of these ways, if some are named."""
        wanted = frozenset(evidence)
        out: dict[tuple[Point, str], Lead] = {}
        for run in self.near.get(at, ()):
            if wanted and run.evidence not in wanted:
                continue
            to = run.b if run.a == at else run.a
            if to == OPEN or self.only_a_name(to):
                continue
            line = run.places[0].line if run.places else 0
            out.setdefault((to, run.conductor), Lead(at, to, self.words(run, at), line))
        for run in self.braids.get(at, ()):
            if not wanted or run.evidence in wanted:
                line = run.places[0].line if run.places else 0
                name = f"{run.cable} " if run.cable else ""
                says = f"the braid of {run.conductor} {name}({run.a} to {run.b})"
                out.setdefault((BRAID, says), Lead(at, BRAID, says, line))
        return tuple(out.values())

    def only_a_name(self, where: Point) -> bool:
        """A net name that names one point and joins nothing: no lead goes there."""
        return is_net(where) and where != self.circuit.ground and len(self.near.get(where, ())) < 2

    def name_of(self, at: Point) -> str:
        """The net name that the drawing gives the point itself, if it does."""
        for run in self.near.get(at, ()):
            to = run.b if run.a == at else run.a
            if is_net(to) and to != self.circuit.ground:
                return to
        return ""

    def words(self, run: Run, at: Point) -> str:
        """What a person would call what lands: a part's lead with its value, a conductor with its far end."""
        to = run.b if run.a == at else run.a
        if to == UNFOLLOWED:
            return "a lead that nobody followed"
        part = self.circuit.parts.get(part_of(to))
        if not run.conductor and part is not None and small(part):
            value = value_words(part)
            return f"{to} ({value})" if value else to
        if run.conductor == "bolted":
            return f"{to}, bolted"
        mine = self.circuit.parts.get(part_of(at))
        plain = "" if mine is not None and small(mine) else "a lead to "
        return f"{_conductor(run, at)} to {to}{_details(run, at)}" if run.conductor else f"{plain}{to}"


def _conductor(run: Run, at: Point) -> str:
    colour = run.text if run.text and len(run.text) < 30 else ""
    name = {"wire": "wire", "bare": "bare wire", "bus": "bus wire", "shielded": "shielded wire",
            "twisted": "twisted wire", "coax": "coax", "strap": "strap"}.get(run.conductor, run.conductor)  # fmt: skip
    return " ".join(filter(None, (colour, name, run.cable)))


def _details(run: Run, at: Point) -> str:
    words = [run.cable_type] if run.cable_type else []
    if run.length is not None:
        words.append(show(run.length, "m"))
    if run.gauge is not None:
        words.append(show(run.gauge, "AWG"))
    if run.braid is not None:
        here, there = run.braid if run.a == at else run.braid[::-1]
        words.append(f"its braid {_braid_end(here)} here and {_braid_end(there)} there")
    return "".join(f", {word}" for word in words)


def _braid_end(end: Point) -> str:
    return {OPEN: "open", UNFOLLOWED: "not seen"}.get(end, f"on {end}")


ALONE = frozenset({"fuse", "meter", "interlock", "switch"})
"""Families with two ends that are a stop of their own: they are looked at for what they are."""


def small(part: Part) -> bool:
    """It sits between two lugs and is looked at together with one of them."""
    return part.kind.ends is not None and part.kind.family not in ALONE


def ends_of(part: Part) -> tuple[Point, ...]:
    return tuple(f"{part.designator}.{name}" for name in part.kind.ends or ())


def turnable(parts: Mapping[str, Part], where: Point) -> Point:
    """The other of two interchangeable ends; the empty string where there is none."""
    part = parts.get(part_of(where))
    if part is None or part.kind.ends is None or part.kind.polarised or terminal_of(where) not in part.kind.ends:
        return ""
    one, other = ends_of(part)
    return other if where == one else one
