"""A unit's wiring written as a found file.

The text reads back to the same wiring, to the same knowledge of it (traced, as drawn, not followed,
missing) and to the same remarks. Every end is named, so that nothing has to be chosen.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Set
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final

from netdiff.circuit import Circuit, Found, Part, Point, Remark, part_of
from netdiff.language import spelling
from netdiff.language.chaining import chains, is_plain
from netdiff.language.found import Unit
from netdiff.language.statements import FoundHead, Use
from netdiff.language.writing_out import laid_out, run_lines, standard_catalogue, worth_telling, zone_line, zoned

if TYPE_CHECKING:
    from netdiff.catalogue import Catalogue

_TARGETS: Final = 12
"""Parts and terminals named in one line."""


def found_text(
    thing: Unit | Found | Circuit,
    heading: Iterable[str] = (),
    *,
    stock: Circuit | None = None,
    stock_file: str = "",
    production: Iterable[str] = (),
    uses: Iterable[str] = (),
    catalogue: Catalogue | None = None,
    active: frozenset[str] | None = None,
) -> str:
    """The unit as a found file. A `Unit` knows its drawing; beside a `Found` it has to be given.

    ``active`` are the productions beside which a `Unit` that names none is laid (the first).

    A bare `Circuit` is one of which everything that it holds was seen, and nobody said what was traced.
    ``stock_file`` is the path of the drawing as a file beside the text would name it, ``production`` the
    unit's productions, ``uses`` and ``catalogue`` as for `netdiff.language.writing_out.stock_text`.
    """
    bench = _bench(thing, stock, stock_file, production, uses, catalogue, active)
    return laid_out(bench.head(heading), bench.looked(), bench.missing(), *bench.parts(), bench.declared(),
                    *bench.wiring(), *bench.read())  # fmt: skip


def found_statements(thing: Unit, stock_file: str = "", active: frozenset[str] | None = None) -> Iterator[str]:
    """What a found file says of the unit besides its parts and runs, one statement a line, its head first."""
    bench = _bench(thing, None, stock_file, active=active)
    yield from bench.head(())
    yield from bench.looked()
    yield from bench.missing()
    yield from (zone_line(zone) for name, zone in bench.circuit.zones.items() if name not in bench.stock.zones)
    yield from bench.declared()
    for block in bench.read():
        yield from block


def is_read(part: Part, stock: Circuit) -> bool:
    """The unit's file has a line of the part: it is foreign, or somebody read it."""
    drawn = stock.parts.get(part.designator)
    if drawn is None or (part.places and part.places != drawn.places):
        return True
    plain: dict[str, Any] = {"places": (), "read_off": True}
    return replace(part, **plain) != replace(drawn, **plain)


def _bench(
    thing: Unit | Found | Circuit,
    stock: Circuit | None,
    stock_file: str,
    production: Iterable[str] = (),
    uses: Iterable[str] = (),
    catalogue: Catalogue | None = None,
    active: frozenset[str] | None = None,
) -> _Bench:
    if isinstance(thing, Unit):
        head = next(s for s in thing.statements if isinstance(s, FoundHead))
        if active is None:
            active = thing.production if thing.production is not None else thing.model.variants()[0]
        uses = [s.path for s in thing.statements if isinstance(s, Use)]
        stock_file = stock_file or head.stock
        return _Bench(
            thing.found(active), thing.model.circuit(active), thing.catalogue, stock_file, head.productions, uses
        )
    if stock is None:
        raise TypeError("a unit is written beside its drawing: stock is missing")
    found = Found(thing) if isinstance(thing, Circuit) else thing
    return _Bench(found, stock, catalogue or standard_catalogue(), stock_file or stock.file, production, uses)


class _Bench:
    def __init__(
        self,
        found: Found,
        stock: Circuit,
        catalogue: Catalogue,
        stock_file: str,
        production: Iterable[str],
        uses: Iterable[str],
    ) -> None:
        self.found = found
        self.circuit = found.circuit
        self.stock = stock
        self.catalogue = catalogue
        self.stock_file = stock_file
        self.production = tuple(production)
        self.uses = tuple(uses)

    def head(self, heading: Iterable[str]) -> Iterator[str]:
        variant = f" production {' '.join(self.production)}" if self.production else ""
        yield f"found {spelling.quoted(self.circuit.title)} of {spelling.quoted(self.stock_file)}{variant}"
        yield from map(spelling.comment, heading)
        if self.found.inspected:
            yield f"inspected {self.found.inspected}"
        if self.found.by:
            yield f"by {spelling.quoted(self.found.by)}"
        yield from (f"use {spelling.quoted(path)}" for path in self.uses)

    # --- what was looked at

    def looked(self) -> Iterator[str]:
        found = self.found
        # The terminals of what is gone with its socket count as looked at without a word.
        bodies = [self.stock.parts[name] for name in found.missing if name not in self.circuit.parts]
        gone = {where for part in bodies for where in part.points()}
        drawn = {where for where in found.traced if where in found.as_drawn or part_of(where) in found.as_drawn}
        bodiless = {n for n in found.as_drawn if n in self.circuit.parts and not self.circuit.parts[n].points()}
        traced = found.traced - drawn - gone
        yield from self._targets("traced", traced, self._whole(traced))
        yield from self._targets("as-drawn", drawn, (self._whole(drawn) & found.as_drawn) | bodiless)

    def _whole(self, points: Set[Point]) -> Set[str]:
        """The parts all of whose terminals these are."""
        parts = self.circuit.parts.items()
        return {name for name, part in parts if (own := part.points()) and points >= set(own)}

    def _targets(self, word: str, points: Set[Point], whole: Set[str]) -> Iterator[str]:
        """The lines that say so of these terminals and of these parts.

        Where no word of a part is written and it counts nevertheless, the unit's file spoke of its zone.
        """
        parts, known = self.circuit.parts, self.found.mentioned
        told: set[str] = set()
        for zone in dict.fromkeys(parts[name].zone for name in parts if name in whole and name not in known):
            if zone:
                inside = [n for n in parts if parts[n].zone == zone and (word == "traced" or n in self.stock.parts)]
                but = list(self._but(inside, points, whole))
                if word == "as-drawn":
                    but += [n for n in self.found.missing if self.stock.parts[n].zone == zone and n not in but]
                yield f"{word} {zone}" + (f" but {' '.join(but)}" if but else "")
                told.update(inside)
        words = [name for name in parts if name in whole and name not in told]
        words += sorted(where for where in points if part_of(where) not in told and part_of(where) not in whole)
        for start in range(0, len(words), _TARGETS):
            yield f"{word} {' '.join(words[start : start + _TARGETS])}"

    def _but(self, inside: Iterable[str], points: Set[Point], whole: Set[str]) -> Iterator[str]:
        """What is left out of a zone: parts of which no terminal is meant, and single terminals."""
        for name in inside:
            own = self.circuit.parts[name].points()
            if name not in whole:
                yield from [where for where in own if where not in points] if points & set(own) else [name]

    def missing(self) -> Iterator[str]:
        for name in sorted(self.found.missing):
            yield f"missing {'socket ' if name in self.found.missing_sockets else ''}{name}"

    # --- parts

    def parts(self) -> Iterator[list[str]]:
        own = [part for part in self.circuit.parts.values() if is_read(part, self.stock)]
        for block in zoned(own, self.circuit, self._part):
            # A zone of the drawing in which nothing was read needs no word.
            heads_nothing = len(block) == 1 and block[0].startswith("zone ")
            if not heads_nothing or block[0].split()[1] not in self.stock.zones:
                yield block

    def _part(self, part: Part) -> str:
        """The part as read, without the label and tolerance that the drawing gives it anyway."""
        drawn = self.stock.parts.get(part.designator)
        if drawn is not None and drawn.kind.name == part.kind.name:
            label = "" if part.label == drawn.label else part.label
            part = replace(part, label=label, tolerance=None if part.tolerance == drawn.tolerance else part.tolerance)
        return spelling.read_part_line(part, self.catalogue)

    def declared(self) -> Iterator[str]:
        yield from self._windings()
        yield from (spelling.net_line(net) for name, net in self.circuit.nets.items() if name not in self.stock.nets)

    # --- wiring and what was read

    def wiring(self) -> Iterator[Iterable[str]]:
        runs = [run for run in self.circuit.runs if worth_telling(run) and run.evidence != "as-drawn"]
        yield chains([run for run in runs if is_plain(run)], self.circuit.parts, ())
        yield run_lines((run for run in runs if not is_plain(run)), lambda run: spelling.run_line(run, drawn=False))

    def read(self) -> Iterator[Iterable[str]]:
        circuit, found = self.circuit, self.found
        yield (f"insulated {name}" for name in circuit.insulated)
        yield (f"{where}, {', '.join(spelling.condition_words([word]))}" for where, word, _ in found.conditions)
        yield (spelling.state_line(s) for name, s in circuit.states.items() if name not in self.stock.states)
        yield map(spelling.reading_line, circuit.readings)
        yield (f"observed {one.signal} at {one.at} = {one.what}" for one in found.observations)
        yield map(_photo, found.photos)
        yield (f"keep {' '.join(one.of)} {spelling.quoted(one.text)}" for one in found.keeps)
        yield (f"{' '.join(('note', *one.of))} {spelling.quoted(one.text)}" for one in found.notes)

    def _windings(self) -> Iterator[str]:
        """The windings of parts that the file winds itself."""

        def of(circuit: Circuit) -> Mapping[str, list[Any]]:
            out: dict[str, list[Any]] = {}
            for winding in circuit.windings:
                out.setdefault(winding.part, []).append(winding._replace(places=()))
            return out

        drawn = of(self.stock)
        for name, windings in of(self.circuit).items():
            if windings != drawn.get(name):
                yield from map(spelling.winding_line, windings)


def _photo(one: Remark) -> str:
    of = f" of {' '.join(one.of)}" if one.of else ""
    return f"photo {spelling.quoted(one.file)}{of}" + (f", {spelling.quoted(one.text)}" if one.text else "")
