"""What to buy for the work: every part that a step puts in, what is worn, what stands on the mains without its class.

A part that the work list moves, exchanges or leaves is not bought. Values, ratings and safety classes
are chosen in `netdiff.worklist.buying`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from typing import Final, NamedTuple

from netdiff.circuit import Circuit, Part, Run, is_net, part_of
from netdiff.comparison.results import HOLDS, Hold
from netdiff.electrical.derating import fit_for_line
from netdiff.nets import Nets
from netdiff.quantities import show
from netdiff.readings.side import Side
from netdiff.worklist.buying import NOBODY_SAYS, Choice, Spec, choose
from netdiff.worklist.conditions import is_worn, turned_for_good
from netdiff.worklist.goal import in_one_can
from netdiff.worklist.mains import positions
from netdiff.worklist.steps import Step, WorkList
from netdiff.worklist.stress import stresses
from netdiff.worklist.wanted import table

_CABLES: Final = ("wire", "bare", "bus", "shielded", "coax", "twisted", "strap")


class Item(NamedTuple):
    """One part, or one length of wire (``metres``), for one place."""

    part: str
    """The drawing's designator, or the run from where to where."""
    spec: Spec
    hold: Hold
    why: str
    drawn: Part | None = None
    step: str = ""
    off: float = 0.0
    within: bool = True
    notes: tuple[str, ...] = ()
    metres: float = 0.0
    aged: bool = False
    """Nothing but its age speaks against the old one."""


class Line(NamedTuple):
    """What is asked for over the counter: so many of one thing, or so many metres."""

    spec: Spec
    items: tuple[Item, ...]
    hold: Hold
    """The earliest hold for which one of them is needed."""

    @property
    def pieces(self) -> int:
        """How many; none of what is bought by the metre."""
        return 0 if self.metres else len(self.items)

    @property
    def metres(self) -> float:
        """As it is cut from the reel: what runs in the set and some more, rounded up to a tenth of a metre."""
        row = table("parts")["cable"]
        length = sum(item.metres for item in self.items)
        if not length:
            return 0.0
        return math.ceil(max(length * (1 + float(row["more"])), float(row["least"])) * 10 - 1e-9) / 10

    @property
    def parts(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(item.part for item in self.items))

    @property
    def notes(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(note for item in self.items for note in item.notes))


class Shopping(NamedTuple):
    """``needed`` is what the work calls for, ``aged`` what is worth replacing by its age alone."""

    needed: tuple[Line, ...]
    aged: tuple[Line, ...]


def shopping(work: WorkList, steps: Iterable[Step] | None = None, drawing: Side | None = None) -> Shopping:
    """The parts for these steps of the list (for all of them), alike ones together. ``drawing``: with its meters, where
    somebody has read them already."""
    items = tuple(needed(work, work.steps if steps is None else tuple(steps), drawing))
    return Shopping(_together(item for item in items if not item.aged), _together(item for item in items if item.aged))


def _together(items: Iterable[Item]) -> tuple[Line, ...]:
    by_spec: dict[Spec, list[Item]] = {}
    for item in items:
        by_spec.setdefault(item.spec, []).append(item)
    lines = [
        Line(spec, tuple(same), min((item.hold for item in same), key=HOLDS.index)) for spec, same in by_spec.items()
    ]
    return tuple(sorted(lines, key=lambda line: (line.spec.kind, line.spec.value or 0.0, line.spec.says)))


def needed(work: WorkList, steps: Iterable[Step], drawing: Side | None = None) -> Iterator[Item]:
    """One item a place, each part once: what a step puts in, what is worn, what is on the mains, what is aged."""
    shop = _Shop(work, drawing or Side(work.comparison, work.comparison.stock))
    told: set[str] = set()
    steps = tuple(steps)
    done = {step.name for step in work.steps} - {step.name for step in steps}
    for step in steps:
        for item in (*shop.put_in(step), *shop.looked_at(step)):
            if item.part not in told:
                told.add(item.part)
                yield item
        yield from shop.runs(step)
    fresh = {part.designator for step in work.steps if step.name in done for part in step.change.parts_on}
    for item in (*shop.on_the_line(done), *shop.aged()):
        if item.part not in told | fresh:
            told.add(item.part)
            yield item


class _Shop:
    def __init__(self, work: WorkList, side: Side) -> None:
        self.work = work
        self.stock = work.comparison.stock
        self.found = work.comparison.found
        self.nets = side.nets
        self.seen = stresses(side)
        self.line = positions(side)
        self.most = _first_capacitors(self.stock, self.nets)
        stays = {i for one in work.stays for i in one.findings}
        self.turned = {
            name
            for one in work.comparison.findings
            if one.kind == "reversed" and one.id not in stays
            for name in one.parts
            if turned_for_good(self.stock.parts.get(name))
        }
        self.kept = {name for one in work.comparison.findings if one.id in stays for name in one.parts}

    def item(self, part: Part, hold: Hold, why: str, step: str = "", *notes: str, aged: bool = False) -> Item:
        name = part.designator
        choice: Choice = choose(part, self.seen.get(name, NOBODY_SAYS), self.line.get(name), self.most.get(name))
        return Item(
            name, choice.spec, hold, why, part, step, choice.off, choice.within, (*notes, *choice.notes), aged=aged
        )

    def put_in(self, step: Step) -> Iterator[Item]:
        if step.action not in ("replace", "fit"):
            return
        for part in step.change.parts_on:
            name = part.designator
            drawn = self.stock.parts.get(name, part)
            why = "replaced" if step.action == "replace" else "missing"
            notes: list[str] = []
            bad = self._bad(name)
            can = [one for one in in_one_can(name, self.stock.parts) if self._bad(one) or one in self.turned]
            if bad:
                why = ", ".join(bad)
            elif name in self.turned:
                why = "wrong way round"
                notes = ["Once powered the wrong way round it is replaced, not turned round: the new one goes in."]
            elif can and step.action == "replace":
                why = f"in one can with {can[0]}"
                notes = [f"{can[0]} in the same can has had its day: the sections are as old."]
            yield self.item(drawn, step.hold, why, step.name, *notes)

    def _bad(self, name: str) -> list[str]:
        """Conditions of the part as found with which nobody uses it again."""
        found = self.found.circuit.parts.get(name)
        drawn = self.stock.parts.get(name)
        if found is None or drawn is None:
            return []
        return [condition for condition in found.conditions if is_worn(drawn, condition)]

    def looked_at(self, step: Step) -> Iterator[Item]:
        """Parts that a step looks at, and that may turn out to be past using: bought in case."""
        if step.action != "inspect":
            return
        for name in step.parts:
            found, drawn = self.found.circuit.parts.get(name), self.stock.parts.get(name)
            if found is not None and drawn is not None and (bad := self._bad(name)):
                notes = []
                if found.measured is not None:
                    notes.append(f"It measures {show(found.measured, drawn.kind.unit)}: decide when you look at it.")
                yield self.item(drawn, step.hold, ", ".join(bad), step.name, *notes)

    def on_the_line(self, done: set[str]) -> Iterator[Item]:
        """Capacitors on the mains that are as drawn and not of the class that belongs there."""
        unsafe = {finding.id for finding in self.work.comparison.findings if finding.kind == "unsafe-line-capacitor"}
        for name, position in self.line.items():
            found = self.found.circuit.parts.get(name)
            fits = found is not None and found.read_off and fit_for_line(found, chassis=position.to_metal)
            if name in self.found.missing or name in self.kept or fits or self.stock.parts[name].kind.polarised:
                continue
            drawn = self.stock.parts[name]
            if drawn.kind.name != "capacitor" or fit_for_line(drawn, chassis=position.to_metal):
                continue
            looks = (one.name for one in self.work.steps if name in one.parts and unsafe & set(one.reasons))
            step = next(looks, "")
            if step in done:
                continue
            where = "from the line to metal" if position.to_metal else "across the line"
            unseen = not any(f"{name}.{end}" in self.found.traced for end in drawn.kind.ends or ())
            notes = ["Nobody looked at it: read its marking first."] if unseen else []
            if not step:
                notes.append("The drawing has it so, and no step puts it in: write what went in into the found file.")
            yield self.item(drawn, "power", f"{where}, no safety class", step, *notes)

    def aged(self) -> Iterator[Item]:
        rows = table("parts")["aged"]
        for name, drawn in self.stock.parts.items():
            found = self.found.circuit.parts.get(name)
            if name in self.found.missing or name in self.kept or found is None:
                continue
            age = _age(drawn, found)
            if age and any(where in self.found.traced for where in drawn.points()):
                yield self.item(
                    drawn, "deliver", f"{age.replace('_', ' ')}, as old as the set", "", str(rows[age]), aged=True
                )

    def runs(self, step: Step) -> Iterator[Item]:
        row = table("parts")["cable"]
        for run in step.change.runs_on:
            where = f"{run.a} to {run.b}"
            if run.conductor in _CABLES:
                if step.action in ("re-dress", "braid", "inspect"):
                    continue
                notes = () if run.length else ("Its length is not written: measure the way.",)
                metres = run.length or float(row["hookup"])
                yield Item(where, self._cable(run), step.hold, "laid anew", None, step.name, notes=notes, metres=metres)
            elif step.action in ("solder", "bond") and not (self._hangs(run.a) or self._hangs(run.b) or _named(run)):
                spec = self._cable(run)
                yield Item(where, spec, step.hold, "a link", None, step.name, metres=float(row["hookup"]))
        if step.action == "re-dress":
            length = sum(run.bare or run.length or float(row["hookup"]) for run in step.change.runs_off)
            spec = Spec("sleeving", called="insulating sleeving")
            yield Item(" and ".join(step.points), spec, step.hold, "bare", None, step.name, metres=length)

    def _hangs(self, where: str) -> bool:
        part = self.stock.parts.get(part_of(where)) or self.found.circuit.parts.get(part_of(where))
        return part is not None and part.kind.hangs

    def _cable(self, run: Run) -> Spec:
        if run.conductor == "bolted":
            return Spec("hardware", called="screw, nut and lock washer")
        type_ = run.cable_type or (show(run.gauge, "AWG") if run.gauge is not None else "")
        names = {"": "hook-up wire", "wire": "hook-up wire", "bare": "bare wire", "bus": "bus wire",
                 "shielded": "shielded wire", "twisted": "twisted wire, each lead", "strap": "flat strap"}  # fmt: skip
        called = f"{type_} {names.get(run.conductor, run.conductor)}".strip()
        volts = None
        if run.conductor in ("", "wire", "twisted", "shielded"):
            volts = self._insulation(run)
        return Spec("wire", type_, volts=volts, words=(), called=called)

    def _insulation(self, run: Run) -> float | None:
        """What the insulation must stand: the drawing's volts on either end, with a margin, as wire is sold."""
        name = {number: net for net, number in self.nets.index.items() if net in self.stock.nets}
        volts = []
        for end in (run.a, run.b):
            net = self.stock.nets.get(name.get(self.nets.index.get(end, -1), ""))
            if net is not None and net.volts is not None:
                volts.append(abs(net.volts) * (math.sqrt(2) if net.ac else 1.0))
        parts = table("parts")
        needed = max(volts, default=0.0) * float(parts["margin"]["wire_volts"]["times"])
        return next((float(row) for row in parts["ratings"]["wire_volts"]["rows"] if row >= needed), None)


def _named(run: Run) -> bool:
    """A lead to a place that bears a name is soldered where it hangs."""
    return is_net(run.a) or is_net(run.b)


def _age(drawn: Part, found: Part) -> str:
    """What speaks against the part by its age alone: ``electrolytic``, ``paper``, ``maybe_paper``, ``selenium``."""
    rows = table("parts")["aged"]
    words = set(found.words) if found.read_off else set(drawn.words)
    if found.read_off and "paper" in found.label.lower():
        words.add("paper")
    if "paper" in words or "selenium" in words:
        return "paper" if "paper" in words else "selenium"
    if found.read_off:
        return ""
    if drawn.kind.name == "electrolytic":
        return "electrolytic"
    if drawn.kind.name == "capacitor" and not words and drawn.value is not None:
        return "maybe_paper" if float(rows["paper_from"]) <= drawn.value <= float(rows["paper_to"]) else ""
    return ""


def _first_capacitors(stock: Circuit, nets: Nets) -> dict[str, float]:
    """The greatest capacitance that a rectifier tube takes, for the capacitors right on its output."""
    out = {}
    for name, part in stock.parts.items():
        most = part.kind.facts.get("first_capacitor")
        if not isinstance(most, float):
            continue
        outputs = {nets.index.get(f"{name}.{lug.name}") for lug in part.kind.terminals if lug.name in ("k", "f1", "f2")}
        for other, capacitor in stock.parts.items():
            if capacitor.kind.name == "electrolytic" and nets.index.get(f"{other}.+") in outputs:
                out[other] = most
    return out
