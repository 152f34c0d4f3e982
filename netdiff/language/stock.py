"""Stock files: the statements of one, and the circuit that they make for some productions."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from netdiff.circuit import Circuit, Fault, Load, Part, Place, Reading, Run, Signal, State, is_foreign
from netdiff.language import charts
from netdiff.language import statements as st
from netdiff.language.faults import Source, nearest
from netdiff.language.paths import inside
from netdiff.language.reading import read_statements
from netdiff.language.site import Site
from netdiff.language.wiring import Wiring
from netdiff.quantities import read_quantity

if TYPE_CHECKING:
    from netdiff.catalogue import Catalogue


@dataclass(frozen=True)
class Model:
    """A stock file that was read without a fault. One circuit for each set of active productions."""

    file: str
    title: str
    productions: Mapping[str, str]
    """Name and title."""
    catalogue: Catalogue
    source: Source = field(repr=False, compare=False)
    statements: Sequence[st.Statement] = field(repr=False, compare=False)
    m_thousand: bool = False
    _circuits: dict[frozenset[str], tuple[Circuit, tuple[Fault, ...]]] = field(
        default_factory=dict, repr=False, compare=False
    )

    def circuit(self, active: frozenset[str] = frozenset()) -> Circuit:
        """The circuit of the productions in ``active``; the empty set is the drawing without any change."""
        return self.built(active)[0]

    def built(self, active: frozenset[str]) -> tuple[Circuit, tuple[Fault, ...]]:
        """The circuit, and what is wrong with it if these productions cannot be one unit."""
        known = self._circuits.get(active)
        if known is None:
            known = self._circuits[active] = _Builder(self, active).build()
        return known

    @cached_property
    def part_lines(self) -> Mapping[str, tuple[st.PartLine, ...]]:
        """Every line that declares a part, by designator."""
        out: dict[str, tuple[st.PartLine, ...]] = {}
        for statement in self.statements:
            inner = statement.statement if isinstance(statement, st.Only) else statement
            if isinstance(inner, st.PartLine):
                out[inner.designator] = (*out.get(inner.designator, ()), inner)
        return out

    def variants(self) -> tuple[frozenset[str], ...]:
        """The sets of productions that the file must be right for.

        Of several productions nobody can say whether one of them is the drawing without a change,
        so that only a file with one has to be right without it too.
        """
        singles = tuple(frozenset({name}) for name in self.productions)
        return singles if len(singles) > 1 else (frozenset(), *singles)


def model_from_text(
    text: str, name: str, folder: Path | None, catalogue: Catalogue
) -> tuple[Model | None, tuple[Fault, ...]]:
    """A stock file's model, or every fault of it. ``folder`` is where its relative paths start."""
    source, statements = read_statements(text, "stock", name)
    title = ""
    productions: dict[str, str] = {}
    m_thousand = False
    others: list[Fault] = []
    for statement in statements:
        match statement:
            case st.StockHead():
                title = title or statement.title
            case st.Use():
                catalogue = extended(source, statement, folder, catalogue, others)
            case st.Production(place, variant, words):
                if variant in productions:
                    source.fault(place, f"the production {variant} is declared twice", variant)
                productions[variant] = words
            case st.Drawing():
                m_thousand = m_thousand or ("M", "thousand") in statement.remarks
                _check_drawing(source, statement)
    for statement in statements:
        if isinstance(statement, st.Only):
            _check_only(source, statement, productions)
    model = Model(name, title, productions, catalogue, source, statements, m_thousand)
    faults = [*source.faults, *others]
    for active in model.variants():
        faults += model.built(active)[1]
    once = tuple(sorted(dict.fromkeys(faults), key=lambda fault: fault.place))
    return (None if once else model), once


def extended(source: Source, line: st.Use, folder: Path | None, catalogue: Catalogue, faults: list[Fault]) -> Catalogue:
    """The catalogue with a further one that a file names."""
    path = inside(folder, line.path) if folder is not None else "this text has no folder to look in"
    if isinstance(path, str):
        source.fault(line.place, f'"{line.path}": {path}', f'"{line.path}"')
    elif not path.is_file():
        source.fault(line.place, f'"{line.path}": there is no such file', f'"{line.path}"')
    else:
        new, troubles = catalogue.extended(path, line.place)
        faults.extend(_as_named(fault, folder) for fault in troubles)
        source.blind = source.blind or bool(troubles)
        return new
    source.blind = True
    return catalogue


def _as_named(fault: Fault, folder: Path | None) -> Fault:
    """The fault of a catalogue under the name that leads to it from where the file was named."""
    root = folder.resolve() if folder is not None else None
    file = Path(fault.place.file)
    if folder is None or root is None or not file.is_relative_to(root):
        return fault
    return fault._replace(place=fault.place._replace(file=str(folder / file.relative_to(root))))


def ohms_per_volt(remark: tuple[str, ...]) -> float | None:
    """The figure of `1000 ohms per volt`."""
    if remark[1:] != ("ohms", "per", "volt"):
        return None
    quantity = read_quantity(remark[0], "ohm")
    return quantity.value if quantity is not None and quantity.unit == "ohm" and quantity.value > 0 else None


def _check_drawing(source: Source, line: st.Drawing) -> None:
    for remark in line.remarks:
        if remark != ("M", "thousand") and ohms_per_volt(remark) is None:
            hint = "`M thousand`, `1000 ohms per volt`, or a text before the comma"
            source.fault(line.place, f"`{' '.join(remark)}` says nothing of a drawing", remark[0], hint)


def _check_only(source: Source, line: st.Only, productions: Mapping[str, str]) -> None:
    for name in line.names:
        if name not in productions and name not in source.spoilt:
            near = nearest(name, productions)
            hint = f"the nearest is {near}" if near else f'production {name} "serials from ..."'
            source.fault(line.place, f"no line declares the production {name}", name, hint)
    if isinstance(line.statement, st.StockHead | st.Use | st.ZoneLine | st.Production | st.Drawing):
        source.fault(line.place, "this statement holds for the whole file", "only")


class _Builder(Site):
    """One circuit of a model."""

    def __init__(self, model: Model, active: frozenset[str]) -> None:
        base = model.source
        source = Source(base.name, base.lines, base.lexicon)
        source.spoilt, source.blind = base.spoilt, base.blind
        super().__init__(source, model.catalogue, model.m_thousand)
        self.model = model
        self.active = active
        self.wiring = Wiring(self)
        self.states: dict[str, State] = {}

    def statements(self) -> Iterator[st.Statement]:
        for statement in self.model.statements:
            if not isinstance(statement, st.Only):
                yield statement
            elif self.active & set(statement.names):
                yield statement.statement

    def build(self) -> tuple[Circuit, tuple[Fault, ...]]:
        statements = list(self.statements())
        self._declare(statements)
        drawing, ohms = "", None
        for statement in statements:
            match statement:
                case st.Chain():
                    self.wiring.chain(statement)
                case st.Insulated():
                    self.insulate(statement)
                case st.StateLine():
                    charts.add_state(self, self.states, statement)
                case st.Drawing():
                    drawing = drawing or statement.sheet
                    for remark in statement.remarks:
                        ohms = ohms or ohms_per_volt(remark)
        runs = self._runs()
        loads, readings, signals = self._charts(statements)
        self.fit_used()
        circuit = Circuit(
            self.model.title, self.model.file, self.ground or "chassis", self.zones, self.parts, self.nets, runs,
            tuple(self.insulated), tuple(self.windings), self.states, loads, readings, signals, drawing, ohms,
            self.active,
        )  # fmt: skip
        return circuit, tuple(self.source.faults)

    def _declare(self, statements: Iterable[st.Statement]) -> None:
        for statement in statements:
            match statement:
                case st.ZoneLine():
                    self.enter_zone(statement)
                case st.PartLine():
                    self._part_line(statement)
                case st.NetLine():
                    self.declare_net(statement)
                case st.Ground():
                    self.set_ground(statement)
        for statement in statements:
            if isinstance(statement, st.WindingLine):
                self.wind(statement)
        self.fit_windings()

    def _runs(self) -> tuple[Run, ...]:
        bodies = self.bodies()
        runs = self.wiring.runs(self.wiring.decide(bodies))
        return (*runs, *(Run(a, b, "body") for a, b in bodies))

    def _charts(
        self, statements: Iterable[st.Statement]
    ) -> tuple[tuple[Load, ...], tuple[Reading, ...], tuple[Signal, ...]]:
        loads: list[Load | None] = []
        readings: list[Reading | None] = []
        signals: list[Signal | None] = []
        for statement in statements:
            match statement:
                case st.LoadLine():
                    loads.append(charts.load(self, statement, self.states))
                case st.ReadingLine():
                    readings.append(charts.reading(self, statement, self.states))
                case st.SignalLine():
                    signals.append(charts.signal(self, statement, [s for s in signals if s is not None]))
        return (
            tuple(x for x in loads if x is not None),
            tuple(x for x in readings if x is not None),
            tuple(x for x in signals if x is not None),
        )

    def _part_line(self, line: st.PartLine) -> None:
        designator, place = line.designator, line.place
        if is_foreign(designator):
            says = f"{designator}: a drawing has no unidentified part"
            self.source.fault(place, says, designator, f"without the `?`: {designator[1:]}")
            return
        known = self.parts.get(designator)
        if known is not None:
            says = f"{designator} is declared twice: line {known.places[0].line} declares it too"
            self.source.fault(place, says, designator)
            return
        if not line.words:
            self.source.fault(place, f"{designator} has no kind", designator, f"{designator} resistor 22k")
            self.source.spoil(place)
            return
        kind, words = line.words[0], line.words[1:]
        made = self.make(kind, words)
        if made.trouble is not None:
            self.trouble(line, kind, words, made)
        if made.kind is None:
            self.source.spoil(place)
            return
        for attribute in line.attributes:
            self._no_condition(place, attribute.words, attribute.text)
        self.parts[designator] = Part(
            designator, made.kind, made.value, made.span, made.ratings, made.tolerance, made.words, line.label,
            self.zone, made.at, (place,),
        )  # fmt: skip

    def _no_condition(self, place: Place, words: tuple[str, ...], text: str | None) -> None:
        if text is not None:
            self.source.fault(place, "a part's label stands before the first comma", ",")
            return
        word = words[0] if words else "braid"
        says = f"`{' '.join(words) or word}` after the comma is said of a unit, not of a drawing"
        self.source.fault(place, says, word, "value, ratings and tolerance stand before a comma, parted by blanks")
