"""A previous owner, as a program: takes a stock circuit, modifies it, and writes the unit as a bench would.

Each modification keeps its ground truth: the kinds of finding that name it and the parts or
terminals that it touched. The kinds are those that restorers report (common practice). The found
file is written with foreign parts unidentified, some markings lost, statements in random order,
chains cut at random places, tie points invented, and some leads told at both ends.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

from netdiff.circuit import Circuit, Part, Run, is_net, part_of, terminal_of
from netdiff.quantities import show


@dataclass(frozen=True)
class Truth:
    """What was done: any of ``kinds`` names it, on any of ``spots`` (designators or terminals)."""

    name: str
    kinds: frozenset[str]
    spots: frozenset[str]


@dataclass
class Lead:
    """One conductor of the unit, with what the bench can see of it."""

    a: str
    b: str
    attributes: str = ""
    conductor: str = ""


@dataclass
class Unit:
    """A unit on the bench, still to be modified."""

    stock: Circuit
    rng: random.Random
    leads: list[Lead] = field(default_factory=list)
    lines: list[str] = field(default_factory=list)
    """Part lines and others."""
    foreign: list[str] = field(default_factory=list)
    missing: list[str] = field(default_factory=list)
    changed: set[str] = field(default_factory=set)
    """Parts and terminals that a modification touched already: modifications keep out of each other's way."""
    truths: list[Truth] = field(default_factory=list)
    count: int = 0

    def __post_init__(self) -> None:
        for run in self.stock.runs:
            if run.joins and run.conductor != "body":
                self.leads.append(Lead(run.a, run.b, attributes(run), run.conductor))

    def stranger(self, letters: str, words: str) -> str:
        self.count += 1
        name = f"?{letters}{900 + self.count}"
        self.foreign.append(name)
        self.lines.append(f"{name} {words}")
        return name

    def nets(self) -> dict[str, int]:
        """The net of every point as wired now."""
        parent: dict[str, str] = {}

        def find(w: str) -> str:
            while parent.setdefault(w, w) != w:
                parent[w] = parent[parent[w]]
                w = parent[w]
            return w

        for lead in self.leads:
            parent[find(lead.a)] = find(lead.b)
        roots: dict[str, int] = {}
        return {w: roots.setdefault(find(w), len(roots)) for w in list(parent)}


def attributes(run: Run) -> str:
    words = [f"cable {run.cable}"] if run.cable else []
    words += [run.cable_type] if run.cable_type else []
    words += [f"{run.length * 1000:.0f}mm"] if run.length else []
    if run.braid is not None:
        words.append(f"braid {run.braid[0]} -- {run.braid[1]}")
    return ", ".join(words)


def value_words(part: Part, value: float | None = None) -> str:
    """Kind, value and ratings as somebody reads them off the part."""
    words = [part.kind.name]
    if part.kind.type:
        words.append(part.kind.type)
    number = part.value if value is None else value
    if number is not None and part.kind.unit:
        words.append(compact(number, part.kind.unit))
    words += [compact(n, unit) for unit, n in part.ratings.items()]
    return " ".join(words)


def compact(number: float, unit: str) -> str:
    return show(number, unit).replace(" ", "").replace("VAC", "Vac")


# --- what a modification may touch ------------------------------------------------------------------------------


def two_ended(unit: Unit, family: str, *, hanging: bool = True) -> list[Part]:
    """Untouched two-ended stock parts of a family, both ends wired to different nets."""
    nets = unit.nets()
    out = []
    for part in unit.stock.parts.values():
        ends = part.kind.ends
        if ends is None or part.kind.family != family or part.designator in unit.changed:
            continue
        a, b = (f"{part.designator}.{end}" for end in ends)
        if a in nets and b in nets and nets[a] != nets[b] and (not hanging or part.kind.hangs):
            out.append(part)
    return out


def quiet(unit: Unit, lead: Lead) -> bool:
    """A plain lead between points that no modification touched."""
    return not any(w in unit.changed or part_of(w) in unit.changed for w in (lead.a, lead.b))


def plain_leads(unit: Unit) -> list[Lead]:
    """Leads whose removal splits a net into two parts that both hold terminals of real parts."""
    ties = tie_points(unit.stock)
    out = []
    for lead in unit.leads:
        if lead.conductor or not quiet(unit, lead):
            continue
        if lead.a in ties or lead.b in ties or is_net(lead.a) or is_net(lead.b):
            continue
        if bridge(unit, lead):
            out.append(lead)
    return out


def tie_points(stock: Circuit) -> set[str]:
    out = {f"{p.designator}.{lug.name}" for p in stock.parts.values() for lug in p.kind.terminals if lug.tie}
    return out | {w for r in stock.runs for w in (r.a, r.b) if part_of(w).startswith("TB")}


def bridge(unit: Unit, lead: Lead) -> bool:
    rest = [other for other in unit.leads if other is not lead]
    return not reaches(rest, lead.a, lead.b)


def reaches(leads: list[Lead], start: str, goal: str) -> bool:
    near: dict[str, list[str]] = {}
    for lead in leads:
        near.setdefault(lead.a, []).append(lead.b)
        near.setdefault(lead.b, []).append(lead.a)
    seen, queue = {start}, [start]
    while queue:
        at = queue.pop()
        if at == goal:
            return True
        for other in near.get(at, ()):
            if other not in seen:
                seen.add(other)
                queue.append(other)
    return False


def component(leads: list[Lead], start: str) -> set[str]:
    near: dict[str, list[str]] = {}
    for lead in leads:
        near.setdefault(lead.a, []).append(lead.b)
        near.setdefault(lead.b, []).append(lead.a)
    seen, queue = {start}, [start]
    while queue:
        for other in near.get(queue.pop(), ()):
            if other not in seen:
                seen.add(other)
                queue.append(other)
    return seen


def real(unit: Unit, points: set[str]) -> set[str]:
    ties = tie_points(unit.stock)
    return {w for w in points if part_of(w) in unit.stock.parts and w not in ties}


def detach(unit: Unit, where: str) -> list[Lead]:
    """Take one terminal off whatever it is on, the rest of the net staying together."""
    mine = [lead for lead in unit.leads if where in (lead.a, lead.b)]
    others = [lead.b if lead.a == where else lead.a for lead in mine]
    unit.leads = [lead for lead in unit.leads if where not in (lead.a, lead.b)]
    for first, second in zip(others, others[1:], strict=False):
        unit.leads.append(Lead(first, second))
    return mine


def touch(unit: Unit, *spots: str) -> None:
    for spot in spots:
        unit.changed.add(spot)
        if part_of(spot):
            unit.changed.add(part_of(spot))


Modify = Callable[[Unit], Truth | None]
MODIFICATIONS: dict[str, Modify] = {}


def modification(*kinds: str) -> Callable[[Callable[[Unit], set[str] | None]], Modify]:
    def wrap(function: Callable[[Unit], set[str] | None]) -> Modify:
        name = function.__name__.replace("_", " ")

        def run(unit: Unit) -> Truth | None:
            spots = function(unit)
            if not spots:
                return None
            truth = Truth(name, frozenset(kinds), frozenset(spots))
            touch(unit, *spots)
            unit.truths.append(truth)
            return truth

        MODIFICATIONS[name] = run
        return run

    return wrap


def pick(unit: Unit, items: list[object]) -> object | None:
    return unit.rng.choice(items) if items else None


def free_terminals(unit: Unit) -> list[str]:
    """Wired terminals of untouched parts that are no tie points, on nets of some company."""
    nets = unit.nets()
    size: dict[int, int] = {}
    ties = tie_points(unit.stock)
    good = [w for w in nets if part_of(w) in unit.stock.parts and w not in ties]
    for w in good:
        size[nets[w]] = size.get(nets[w], 0) + 1
    return sorted(w for w in good if size[nets[w]] >= 3 and part_of(w) not in unit.changed)


def shield_free(unit: Unit, where: str) -> bool:
    """No coax or shielded run and no demanded point hangs on this terminal."""
    if any(lead.conductor and where in (lead.a, lead.b) for lead in unit.leads):
        return False
    if any(run.direct and where in (run.a, run.b) for run in unit.stock.runs):
        return False
    return not any(run.braid and where in run.braid for run in unit.stock.runs)


def other_terminal(unit: Unit, where: str) -> str | None:
    """A terminal on another net that the drawing does not bring near this one."""
    nets = unit.nets()
    here = {nets.get(w) for w in nets if part_of(w) == part_of(where)}
    choices = [w for w in free_terminals(unit) if nets[w] not in here and shield_free(unit, w)]
    return unit.rng.choice(choices) if choices else None
