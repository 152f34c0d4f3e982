"""Circuits written as text: any circuit, as drawn or as found, as a stock file.

>>> from netdiff.language import read_model_text
>>> model, _ = read_model_text('stock "Demo"\\nR1 resistor 22k\\nnet b+ supply 250V\\nchassis -- R1 -- b+\\n')
>>> print(stock_text(model.circuit()), end="")
stock "Demo"
ground chassis
<BLANKLINE>
R1   resistor 22k
<BLANKLINE>
net b+ supply 250V
<BLANKLINE>
chassis -- R1 -- b+

The text reads back to the same circuit. What a kind of file has no words for (how a run of a drawing
is known, the condition of its parts) stands behind the statement as a comment, and a statement of the
drawing about something that is no longer there becomes a comment too: nothing is lost in silence.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from netdiff.circuit import OPEN, UNFOLLOWED, Circuit, Part, Point, Run, Zone, is_foreign, is_net, part_of, terminal_of
from netdiff.language import spelling
from netdiff.language.chaining import chains, is_plain, may_be_bare
from netdiff.quantities import show

if TYPE_CHECKING:
    from netdiff.catalogue import Catalogue


def stock_text(
    circuit: Circuit,
    heading: Iterable[str] = (),
    *,
    uses: Iterable[str] = (),
    catalogue: Catalogue | None = None,
    taken: Iterable[str] = (),
) -> str:
    """The circuit as a stock file: any circuit, as drawn or as found.

    ``heading`` are lines of comment. ``uses`` are the paths of further catalogues as a file beside it
    would name them, ``catalogue`` is the standard one with those on top. Foreign parts (``?K1``) take the
    next free number of their class letters, after those of the circuit and of ``taken``
    (`stock_names` says which); a comment tells it.
    """
    names = stock_names(circuit, taken)
    writer = _Stock(renamed(circuit, names), catalogue or standard_catalogue())
    told = (f"{new} is {old} of the unit: the drawing has no such part." for old, new in names.items())
    return laid_out(
        writer.head((*heading, *told), uses), *writer.parts(), writer.declared(), *writer.wiring(), *writer.at_work()
    )


def stock_statements(
    circuit: Circuit, *, uses: Iterable[str] = (), catalogue: Catalogue | None = None
) -> Iterator[str]:
    """What a stock file says of the circuit besides its parts and runs, one statement a line, its head first."""
    writer = _Stock(circuit, catalogue or standard_catalogue())
    yield from writer.head((), uses)
    yield from map(zone_line, circuit.zones.values())
    yield from writer.declared()
    for block in writer.at_work():
        yield from block


def stock_names(circuit: Circuit, taken: Iterable[str] = ()) -> dict[str, str]:
    """A legal stock designator for each foreign part: the next free number of its class letters.

    Sections of one body (``?C1A``, ``?C1B``) stay sections of one body.
    """
    highest: dict[str, int] = {}
    for name in (*circuit.parts, *taken):
        letters, number, _ = designator_pieces(name)
        highest[letters] = max(highest.get(letters, 0), 0 if is_foreign(name) else number)
    bodies: dict[tuple[str, int], int] = {}
    out = {}
    for name in sorted((n for n in circuit.parts if is_foreign(n)), key=designator_pieces):
        letters, number, section = designator_pieces(name)
        if (letters, number) not in bodies:
            highest[letters] += 1
            bodies[letters, number] = highest[letters]
        out[name] = f"{letters}{bodies[letters, number]}{section}"
    return out


def designator_pieces(name: str) -> tuple[str, int, str]:
    """Class letters, number and section of a designator: ``?C14A`` is C, 14, A."""
    bare = name.removeprefix("?")
    letters = bare.rstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ").rstrip("0123456789")
    rest = bare[len(letters) :]
    digits = rest.rstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ")
    return letters, int(digits or 0), rest[len(digits) :]


def renamed(circuit: Circuit, names: Mapping[str, str]) -> Circuit:
    """The circuit with other designators."""
    if not names:
        return circuit

    def moved(where: Point) -> Point:
        name = part_of(where) or where
        new = names.get(name)
        if new is None:
            return where
        return f"{new}.{terminal_of(where)}" if "." in where else new

    def run(one: Run) -> Run:
        return replace(
            one, a=moved(one.a), b=moved(one.b), braid=one.braid and (moved(one.braid[0]), moved(one.braid[1])),
            gaps=tuple(gap._replace(to=moved(gap.to)) for gap in one.gaps),
        )  # fmt: skip

    return replace(
        circuit,
        parts={names.get(n, n): replace(part, designator=names.get(n, n)) for n, part in circuit.parts.items()},
        runs=tuple(run(one) for one in circuit.runs),
        insulated=tuple(names.get(n, n) for n in circuit.insulated),
        windings=tuple(one._replace(part=names.get(one.part, one.part)) for one in circuit.windings),
        states={
            key: one._replace(settings={names.get(n, n): at for n, at in one.settings.items()})
            for key, one in circuit.states.items()
        },
        loads=tuple(one._replace(a=moved(one.a), b=moved(one.b)) for one in circuit.loads),
        readings=tuple(one._replace(a=moved(one.a), b=moved(one.b)) for one in circuit.readings),
        signals=tuple(one._replace(points=tuple(moved(p) for p in one.points)) for one in circuit.signals),
    )


def laid_out(*blocks: Iterable[str]) -> str:
    """Blocks of lines with a blank line between; empty blocks are left out."""
    return "\n\n".join("\n".join(lines) for block in blocks if (lines := list(block))) + "\n"


def zoned(parts: Iterable[Part], circuit: Circuit, line: Callable[[Part], str]) -> Iterator[list[str]]:
    """A block a zone. What is in no zone comes first, for no statement leads out of a zone again."""
    by_zone: dict[str, list[str]] = {"": [], **{zone: [] for zone in circuit.zones}}
    for part in parts:
        by_zone.setdefault(part.zone, []).append(line(part))
    for zone, lines in by_zone.items():
        if not zone:
            yield lines
            continue
        yield [zone_line(circuit.zones.get(zone, Zone(zone))), *lines]


def zone_line(zone: Zone) -> str:
    return f"zone {zone.name}" + (f" {spelling.quoted(zone.title)}" if zone.title else "")


def run_lines(runs: Iterable[Run], line: Callable[[Run], str]) -> Iterator[str]:
    """Every run that is no plain one. Where a described run also says on which lug it ends, that chain follows."""
    described = sorted(runs, key=lambda run: not run.direct)
    for run in described:
        yield line(run)
        if run.direct and run.conductor:
            yield spelling.direct_line(run)


def worth_telling(run: Run) -> bool:
    """It has two ends, one of them real; sections of one body are joined by the reader itself."""
    ends = {run.a, run.b}
    return len(ends) == 2 and run.conductor != "body" and ends != {OPEN, UNFOLLOWED}


def points_of(run: Run) -> Iterator[Point]:
    """Every real point of a run: its ends, its braid's, what it is close to."""
    for where in (run.a, run.b, *(run.braid or ()), *(gap.to for gap in run.gaps)):
        if where not in (OPEN, UNFOLLOWED):
            yield where


def standard_catalogue() -> Catalogue:
    from netdiff.catalogue import standard

    return standard()


class _Stock:
    """Writes one circuit whose designators are legal in a drawing."""

    def __init__(self, circuit: Circuit, catalogue: Catalogue) -> None:
        self.circuit = circuit
        self.catalogue = catalogue

    def head(self, heading: Iterable[str], uses: Iterable[str]) -> Iterator[str]:
        circuit = self.circuit
        yield f"stock {spelling.quoted(circuit.title)}"
        yield from map(spelling.comment, heading)
        if circuit.production:
            yield spelling.comment(f"This is the production {' '.join(sorted(circuit.production))}.")
        if circuit.drawing or circuit.ohms_per_volt:
            sheet = f" {spelling.quoted(circuit.drawing)}" if circuit.drawing else ""
            meter = circuit.ohms_per_volt
            yield f"drawing{sheet}" + (f", {spelling.decimal(meter)} ohms per volt" if meter else "")
        yield f"ground {circuit.ground}"
        yield from (f"use {spelling.quoted(path)}" for path in uses)

    def parts(self) -> Iterator[Iterable[str]]:
        return zoned(self.circuit.parts.values(), self.circuit, self._part)

    def declared(self) -> Iterator[str]:
        yield from self._kept(self.circuit.windings, lambda one: (one.part,), spelling.winding_line)
        yield from self._nets()

    def wiring(self) -> Iterator[Iterable[str]]:
        circuit = self.circuit
        runs = [run for run in circuit.runs if worth_telling(run)]
        whole = [run for run in runs if all(map(self._there, points_of(run)))]
        yield chains([run for run in whole if is_plain(run)], circuit.parts, may_be_bare(whole, circuit.parts))
        yield run_lines((run for run in whole if not is_plain(run)), self._run)
        known = set(whole)
        yield (self._gone(spelling.run_line(run), points_of(run)) for run in runs if run not in known)

    def at_work(self) -> Iterator[Iterable[str]]:
        circuit = self.circuit
        yield (f"insulated {name}" for name in circuit.insulated if name in circuit.parts)
        yield self._states()
        yield self._kept(circuit.loads, lambda one: (one.a, one.b), spelling.load_line)
        yield self._kept(circuit.readings, lambda one: (one.a, *filter(None, (one.b,))), spelling.reading_line)
        yield self._kept(circuit.signals, lambda one: one.points, spelling.signal_line)

    def _part(self, part: Part) -> str:
        line = spelling.part_line(part, self.catalogue)
        told = list(part.conditions)
        if part.measured is not None and part.kind.unit:
            told.append(f"measured {show(part.measured, part.kind.unit)}")
        return f"{line}  {spelling.comment('as found: ' + ', '.join(told))}" if told else line

    def _run(self, run: Run) -> str:
        told = [*([run.evidence] if run.evidence in ("metered", "assumed") else []), *run.conditions]
        line = spelling.run_line(run)
        return f"{line}  {spelling.comment('as found: ' + ', '.join(told))}" if told else line

    def _nets(self) -> Iterator[str]:
        """Every net name that the circuit declares or uses."""
        circuit = self.circuit
        yield from map(spelling.net_line, circuit.nets.values())
        used = dict.fromkeys(where for run in circuit.runs for where in points_of(run) if is_net(where))
        for where in _of_the_set(circuit):
            used.setdefault(where) if is_net(where) else None
        yield from (f"net {name}" for name in used if name not in circuit.nets and name != circuit.ground)

    def _states(self) -> Iterator[str]:
        for state in self.circuit.states.values():
            fitting = {n: at for n, at in state.settings.items() if self._stands(n, at)}
            yield spelling.state_line(state._replace(settings=fitting))
            for name, position in state.settings.items():
                if name not in fitting:
                    yield spelling.comment(f"state {state.name}: the drawing has {name} at {position}")

    def _stands(self, designator: str, position: str) -> bool:
        part = self.circuit.parts.get(designator)
        if part is None:
            return False
        kind = part.kind
        return position in (*kind.positions, *(("in", "out") if kind.plugs and not kind.positions else ()))

    def _there(self, where: Point) -> bool:
        if is_net(where):
            return True
        part = self.circuit.parts.get(part_of(where) or where)
        return part is not None and (
            "." not in where or part.kind.any_terminal or part.kind.lug(terminal_of(where)) is not None
        )

    def _kept(
        self, items: Sequence[Any], points: Callable[[Any], Iterable[Point]], line: Callable[[Any], str]
    ) -> Iterator[str]:
        """Statements about what is there; the others as comments."""
        for item in items:
            about = tuple(points(item))
            yield line(item) if all(map(self._there, about)) else self._gone(line(item), about)

    def _gone(self, line: str, about: Iterable[Point]) -> str:
        missing = dict.fromkeys(where for where in about if not self._there(where))
        return spelling.comment(f"not here: {line} ({', '.join(missing)})")


def _of_the_set(circuit: Circuit) -> Iterator[Point]:
    """The points that states, loads, readings and signals speak of."""
    for load in circuit.loads:
        yield from (load.a, load.b)
    for reading in circuit.readings:
        yield from (reading.a, *filter(None, (reading.b,)))
    for signal in circuit.signals:
        yield from signal.points
