"""Found files: the statements of one, and the wiring as found that they make of the stock circuit."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from netdiff.circuit import Circuit, Fault, Found, Place, Point, Reading, Run, State, Winding
from netdiff.language import charts
from netdiff.language import statements as st
from netdiff.language.asdrawn import AsDrawn
from netdiff.language.attributes import part_attributes
from netdiff.language.bench import BenchSite
from netdiff.language.faults import Source, listed, nearest
from netdiff.language.looked import Looked
from netdiff.language.reading import read_statements
from netdiff.language.remarks import observations, remarks
from netdiff.language.stock import Model, extended
from netdiff.language.turning import turn_as_drawn
from netdiff.language.wiring import Wiring

if TYPE_CHECKING:
    from netdiff.catalogue import Catalogue


@dataclass(frozen=True)
class Unit:
    """A found file that was read without a fault, and the model that it is a unit of."""

    file: str
    title: str
    model: Model
    production: frozenset[str] | None
    """The productions that the file names; None where it names none."""
    catalogue: Catalogue
    source: Source = field(repr=False, compare=False)
    statements: Sequence[st.Statement] = field(repr=False, compare=False)
    folder: Path | None = field(default=None, compare=False)
    _built: dict[frozenset[str], tuple[Found, tuple[Fault, ...]]] = field(
        default_factory=dict, repr=False, compare=False
    )

    def found(self, active: frozenset[str] = frozenset()) -> Found:
        """The wiring as found, laid on the stock circuit of these productions."""
        return self.built(active)[0]

    def built(self, active: frozenset[str]) -> tuple[Found, tuple[Fault, ...]]:
        """The wiring, and what is wrong with it if the unit is of these productions."""
        known = self._built.get(active)
        if known is None:
            known = self._built[active] = _Builder(self, active).build()
        return known


def unit_from_text(
    text: str, name: str, model: Model, folder: Path | None = None
) -> tuple[Unit | None, tuple[Fault, ...]]:
    source, statements = read_statements(text, "found", name)
    return unit_from_statements(source, statements, model, folder)


def unit_from_statements(
    source: Source, statements: Sequence[st.Statement], model: Model, folder: Path | None
) -> tuple[Unit | None, tuple[Fault, ...]]:
    """A unit, or every fault of its file. ``folder`` is where its relative paths start."""
    title = ""
    production: frozenset[str] | None = None
    catalogue = model.catalogue
    others: list[Fault] = []
    for statement in statements:
        match statement:
            case st.FoundHead(place, words, _, productions):
                title = title or words
                production = frozenset(productions) if productions else None
                for variant in productions:
                    if variant not in model.productions:
                        near = nearest(variant, model.productions)
                        hint = f"the nearest is {near}" if near else f"it has {listed(model.productions, 'and')}"
                        hint = hint if model.productions else "it has none"
                        source.fault(place, f"the stock file has no production {variant}", variant, hint)
                        production = None
            case st.Inspected(place, date):
                _check_date(source, place, date)
            case st.Use():
                catalogue = extended(source, statement, folder, catalogue, others)
    unit = Unit(source.name, title, model, production, catalogue, source, statements, folder)
    faults = list(source.faults)
    if production is not None and production not in model.variants():
        # Each production alone was looked at when the stock file was read, but not all of these together.
        others += model.built(production)[1]
    faults += [*others, *_faults_in_every(unit)]
    once = tuple(sorted(dict.fromkeys(faults), key=lambda fault: fault.place))
    return (None if once else unit), once


def _check_date(source: Source, place: Place, date: str) -> None:
    try:
        datetime.date.fromisoformat(date)
    except ValueError:
        source.fault(place, f"`{date}` is no date", date, "year, month and day: 2026-03-02")


def _faults_in_every(unit: Unit) -> list[Fault]:
    """Faults that stand whichever production the unit is of; those of the named one if it names some."""
    variants = [unit.production] if unit.production is not None else unit.model.variants()
    first, *rest = [unit.built(frozenset(active))[1] for active in variants]
    return [fault for fault in first if all(fault in other for other in rest)]


class _Builder(BenchSite):
    """One unit laid on one production of the stock circuit."""

    def __init__(self, unit: Unit, active: frozenset[str]) -> None:
        base = unit.source
        source = Source(base.name, base.lines, base.lexicon)
        source.spoilt, source.blind = base.spoilt, base.blind
        super().__init__(source, unit.catalogue, unit.model, active)
        self.unit = unit
        self.active = active
        self.wiring = Wiring(self)
        self.states: dict[str, State] = dict(self.stock.states)
        self.open_lugs: dict[Point, Place] = {}
        self.at_lugs: dict[Point, Place] = {}
        self.conditions: list[tuple[Point, str, Place]] = []

    def build(self) -> tuple[Found, tuple[Fault, ...]]:
        statements = self.unit.statements
        self._declare(statements)
        self._wire(statements)
        readings = self._readings(statements)
        heard = observations(self, statements)
        photos, keeps, notes = remarks(self, statements, self.unit.folder or Path())
        bodies = self.bodies()
        point_of = turn_as_drawn(self.wiring, self.wiring.decide(bodies), self.stock, self.parts)
        written = (*self.wiring.runs(point_of), *(Run(a, b, "body") for a, b in bodies))
        self.fit_used()
        self._check_open(written)
        looking = Looked(self)
        looked = looking.traced(statements) | set(self.at_lugs)
        drawn = AsDrawn(self, written, frozenset(looked), self.open_lugs)
        for statement in statements:
            if isinstance(statement, st.Traced) and statement.as_drawn:
                points, whole = looking.expanded(statement)
                drawn.add(points, whole, statement.place)
        runs = drawn.runs()
        looked.update(drawn.places)
        looked |= looking.lead_ends(written, looked)
        for designator in self.missing:
            if designator not in self.parts:
                looked.update(self.stock.parts[designator].points())
        circuit = Circuit(
            self.unit.title, self.unit.file, self.stock.ground, self.zones,
            self.final_parts(frozenset(drawn.whole)), self.nets, runs, tuple(self.insulated), self._windings(),
            self.states, self.stock.loads, readings, self.stock.signals, self.stock.drawing,
            self.stock.ohms_per_volt, self.active,
        )  # fmt: skip
        found = Found(
            circuit, frozenset(looked), drawn.names(), frozenset(self.missing), frozenset(self.missing_sockets),
            frozenset(point_of(node) for node in self.wiring.unfollowed), frozenset(self.mentioned),
            tuple(self.conditions), heard, photos, keeps, notes, self.missing,
            next((s.date for s in statements if isinstance(s, st.Inspected)), ""),
            next((s.who for s in statements if isinstance(s, st.By)), ""),
        )  # fmt: skip
        return found, tuple(self.source.faults)

    # --- statements

    def _declare(self, statements: Iterable[st.Statement]) -> None:
        lines: list[tuple[st.PartLine, str]] = []
        for statement in statements:
            match statement:
                case st.ZoneLine():
                    self.enter_zone(statement)
                case st.PartLine():
                    lines.append((statement, self.zone))
                case st.NetLine():
                    self.declare_net(statement)
                case st.Ground():
                    self.set_ground(statement)
                case st.Missing():
                    self.miss(statement)
        self.read_parts(lines)
        for statement in statements:
            if isinstance(statement, st.WindingLine):
                self.wind(statement)
        self.fit_windings()

    def _wire(self, statements: Iterable[st.Statement]) -> None:
        for statement in statements:
            match statement:
                case st.Chain():
                    self.wiring.chain(statement)
                case st.Landing():
                    self._land(statement)
                case st.Insulated():
                    self.insulate(statement)
                case st.StateLine():
                    charts.add_state(self, self.states, statement)
                case st.ConditionLine(place, terminal, attributes):
                    point = self.point(terminal, place)
                    noted = part_attributes(self.source, place, attributes, terminal=True)
                    if point is not None:
                        self.conditions += [(point, condition, place) for condition in noted.conditions]

    def _land(self, line: st.Landing) -> None:
        lug = self.point(line.lug, line.place)
        if lug is None:
            return
        if "." in lug:
            self.at_lugs.setdefault(lug, line.place)
        if "O" in line.forms:
            if set(line.forms) - {"O", "X"}:
                self.source.fault(line.place, f"nothing lands on {line.lug}, and something does", "open")
            self.open_lugs.setdefault(lug, line.place)
        self.wiring.landing(line, lug)

    def _check_open(self, runs: Iterable[Run]) -> None:
        if not self.open_lugs:
            return
        for run in runs:
            for lug in {run.a, run.b, *(run.braid or ())} & self.open_lugs.keys():
                place = self.open_lugs[lug]
                if run.places and run.conductor != "body" and run.places[0] != place:
                    says = f"nothing lands on {lug} (line {place.line}), and this line puts something there"
                    self.source.fault(run.places[0], says)

    def _readings(self, statements: Iterable[st.Statement]) -> tuple[Reading, ...]:
        lines = [s for s in statements if isinstance(s, st.ReadingLine)]
        readings = [charts.reading(self, line, self.states) for line in lines]
        return tuple(reading for reading in readings if reading is not None)

    def _windings(self) -> tuple[Winding, ...]:
        """The drawing's, but for parts that are gone, are another kind, or have their own in this file."""
        own = {winding.part for winding in self.windings}
        kept = [
            winding
            for winding in self.stock.windings
            if winding.part not in own
            and winding.part in self.parts
            and self.parts[winding.part].kind.name == self.stock.parts[winding.part].kind.name
        ]
        return (*kept, *self.windings)
