"""The parts of a unit: those of the drawing, as read at the bench where somebody read them, and foreign ones."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final

from netdiff.circuit import Kind, Net, Part, Place, Point, Zone, is_foreign
from netdiff.language.attributes import part_attributes, quantity_of
from netdiff.language.faults import Source
from netdiff.language.site import Site
from netdiff.language.statements import Ground, Missing, NetLine, PartLine
from netdiff.language.stock import Model
from netdiff.quantities import show

if TYPE_CHECKING:
    from netdiff.catalogue import Catalogue, Made

_READ: Final = ("value", "tolerance", "span", "at", "measured", "label", "words")


class BenchSite(Site):
    """Starts from the stock circuit of some productions; ``mentioned`` has the designators that the file writes."""

    drawn = False

    def __init__(self, source: Source, catalogue: Catalogue, model: Model, active: frozenset[str]) -> None:
        # A unit's parts are read off their bodies, and no maker's body said M for a thousand.
        super().__init__(source, catalogue, m_thousand=False)
        self.model = model
        self.stock = model.circuit(active)
        self.zones: dict[str, Zone] = dict(self.stock.zones)
        self.parts: dict[str, Part] = dict(self.stock.parts)
        self.nets: dict[str, Net] = dict(self.stock.nets)
        self.ground = self.stock.ground
        self.missing: dict[str, Place] = {}
        self.missing_sockets: set[str] = set()
        self.mentioned: set[str] = set()
        self.read: dict[str, dict[str, Any]] = {}
        """What was read of each part, and in which line."""

    # --- looking up

    def part(self, designator: str, place: Place, word: str = "") -> Part | None:
        self.mentioned.add(designator)
        return super().part(designator, place, word)

    def undeclared(self, designator: str, place: Place, word: str) -> Part | None:
        gone = self.missing.get(designator)
        if gone is not None:
            says = f"{designator} is missing (line {gone.line}), and this line uses it"
            self.source.fault(place, says, word)
        elif is_foreign(designator):
            self.unknown(designator, place, word, f"no line says what {designator} is", self.parts)
        elif designator.startswith("TB"):
            made = self.make("strip", ())
            if made.kind is not None:
                part = self.parts[designator] = Part(designator, made.kind, places=(place,))
                return part
        else:
            says = f"the drawing has no {designator}: a part that it does not have starts with `?`"
            self.unknown(designator, place, word, says, self.stock.parts)
        return None

    # --- declaring

    def set_ground(self, line: Ground) -> None:
        if line.name != self.stock.ground:
            says = f"two nets named ground: the drawing names {self.stock.ground}"
            self.source.fault(line.place, says, line.name)

    def declare_net(self, line: NetLine) -> None:
        if line.name in self.stock.nets and not line.words and not line.attributes:
            return
        super().declare_net(line)

    def miss(self, line: Missing) -> None:
        if line.what not in ("", "socket"):
            self.source.fault(line.place, f"`{line.what}` is not missing by itself", line.what, "missing socket V5")
        for designator in line.designators:
            if designator not in self.stock.parts:
                says = f"the drawing has no {designator}, so it is not missing"
                self.unknown(designator, line.place, designator, says, self.stock.parts)
                continue
            self.missing.setdefault(designator, line.place)
            kind = self.stock.parts[designator].kind
            if kind.plugs and line.what != "socket":
                continue  # its socket stays, and somebody may have wired to it
            part = self.parts.pop(designator, None)
            if line.what == "socket":
                if part is not None and not kind.plugs:
                    says = f"{designator} has no socket: a {kind.name} is wired in"
                    self.source.fault(line.place, says, designator)
                self.missing_sockets.add(designator)

    def read_parts(self, lines: Iterable[tuple[PartLine, str]]) -> None:
        """Parts as read, each with the zone in which its line stands; several lines of one part add up."""
        for line, zone in lines:
            designator = line.designator
            self.mentioned.add(designator)
            gone = self.missing.get(designator)
            if gone is not None:
                self.source.fault(line.place, f"{designator} is missing (line {gone.line}), and here it is", designator)
                continue
            drawn = self.stock.parts.get(designator)
            if drawn is None and not self._may_declare(line):
                continue
            self._read_part(line, drawn, zone)

    def _may_declare(self, line: PartLine) -> bool:
        if is_foreign(line.designator) or line.designator.startswith("TB"):
            return True
        says = f"the drawing has no {line.designator}: a part that it does not have starts with `?`"
        hint = f"?{line.designator} {' '.join(line.words)}".rstrip()
        self.source.fault(line.place, says, line.designator, hint)
        self.source.spoilt.add(line.designator)
        return False

    def _read_part(self, line: PartLine, drawn: Part | None, zone: str) -> None:
        known = self.parts.get(line.designator) if line.designator in self.read or drawn is not None else None
        made = self._made_of(line, known or drawn) if line.words else None
        if made is not None and made.kind is None:
            if drawn is None:
                self.source.spoil(line.place)
            return
        if made is None and known is None:
            self.source.fault(line.place, f"{line.designator} has no kind", line.designator,
                              f"{line.designator} resistor 22k, or {line.designator} unknown")  # fmt: skip
            self.source.spoil(line.place)
            return
        noted = part_attributes(self.source, line.place, line.attributes)
        read: dict[str, Any] = self.read.setdefault(line.designator, {})
        kind = self._kind(line, made, known, read)
        if kind is None:
            return
        base = known if known is not None and known.kind.name == kind.name else None
        part = base or Part(line.designator, kind, zone=drawn.zone if drawn else zone)
        changes: dict[str, Any] = {"kind": kind, "places": (*(part.places if read.get("line") else ()), line.place)}
        if made is not None:
            told = {"value": made.value, "span": made.span, "tolerance": made.tolerance, "at": made.at or None,
                    "words": made.words or None}  # fmt: skip
            changes |= self._told(line, read, told)
            changes["ratings"] = self._ratings(line, read, part, made)
        if noted.measured:
            quantity = quantity_of(self.source, line.place, noted.measured, kind.unit) if kind.unit else None
            if not kind.unit:
                self.source.fault(line.place, f"a {kind.name} has no value to measure", noted.measured)
            if quantity is not None:
                changes |= self._told(line, read, {"measured": quantity.value})
        if line.label:
            changes |= self._told(line, read, {"label": line.label})
        changes["conditions"] = tuple(dict.fromkeys(part.conditions + noted.conditions))
        read["line"] = line.place
        read["words"] = read.get("words") or bool(line.words)
        changes["read_off"] = bool(read["words"])
        self.parts[line.designator] = replace(part, **changes)

    def _made_of(self, line: PartLine, drawn: Part | None) -> Made:
        """What the words of a line make; the kind may be left out where it is known."""
        first = line.words[0]
        names = self.catalogue.names()
        if drawn is None or first in names:
            made, kind, words = self.make(first, line.words[1:]), first, line.words[1:]
        else:
            kind, words = drawn.kind.name, line.words
            made = self.make(kind, words)
        if made.trouble is not None and drawn is not None and kind == drawn.kind.name:
            # `S2 at 3` says nothing of how many poles and positions: those are the drawing's.
            again = self.make(kind, (*self._drawn_words(drawn), *words))
            if again.trouble is None:
                return again
        if made.trouble is not None:
            self.trouble(line, kind, words, made)
        return made

    def _drawn_words(self, drawn: Part) -> tuple[str, ...]:
        for line in self.model.part_lines.get(drawn.designator, ()):
            if drawn.places and line.place == drawn.places[0]:
                words = line.words[1:]
                return words[: words.index("at")] if "at" in words else words
        return ()

    def _kind(self, line: PartLine, made: Made | None, known: Part | None, read: dict[str, Any]) -> Kind | None:
        if made is None or made.kind is None:
            return known.kind if known is not None else None
        kind = made.kind
        if known is None:
            return kind
        if kind.name == known.kind.name and (not kind.type or kind.type == known.kind.type):
            # The drawing's transformer has its windings' terminals, the catalogue's has none.
            return known.kind
        if read.get("words"):
            says = f"{line.designator} is another part in line {read['line'].line}: {_title(known.kind)}"
            self.source.fault(line.place, says, line.designator)
            return None
        return kind

    def _told(self, line: PartLine, read: dict[str, Any], told: Mapping[str, Any]) -> dict[str, Any]:
        """What a line tells of a part; a fault where another line told otherwise."""
        out = {}
        for name, value in told.items():
            if value is None:
                continue
            before = read.setdefault(f"{name} told", (value, line.place))
            if before[0] != value:
                says = f"{line.designator} is read otherwise in line {before[1].line}"
                self.source.fault(line.place, says, line.designator)
            out[name] = value
        return out

    def _ratings(self, line: PartLine, read: dict[str, Any], part: Part, made: Made) -> Mapping[str, float]:
        for unit, value in made.ratings.items():
            before = read.setdefault(f"rating {unit}", (value, line.place))
            if before[0] != value:
                says = f"{line.designator} is read otherwise in line {before[1].line}: {show(before[0], unit)} there"
                self.source.fault(line.place, says, line.designator)
        return {**part.ratings, **made.ratings}

    def final_parts(self, as_drawn: frozenset[str]) -> dict[str, Part]:
        """Every part that is there; what nobody read is marked as taken from the drawing."""
        out = {}
        for designator, part in self.parts.items():
            if designator in self.stock.parts and designator not in self.read:
                out[designator] = replace(part, read_off=designator in as_drawn, places=())
            else:
                out[designator] = part
        return out

    def terminals(self, designator: str) -> list[Point]:
        """All terminals of a part that is there."""
        part = self.parts.get(designator)
        return [] if part is None else [f"{designator}.{lug.name}" for lug in part.kind.terminals]


def _title(kind: Kind) -> str:
    return " ".join(filter(None, (kind.name, kind.type)))
