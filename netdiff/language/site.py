"""Names and what they stand for: parts, terminals, nets, zones. Both kinds of file are built on this."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING, Any, Final

from netdiff.circuit import Kind, Lug, Net, Part, Place, Point, Winding, Zone
from netdiff.language.attributes import CONDITIONS, quantity_of
from netdiff.language.faults import Source, listed, nearest
from netdiff.language.statements import Ground, Insulated, NetLine, PartLine, WindingLine, ZoneLine
from netdiff.quantities import read_quantity, read_range

if TYPE_CHECKING:
    from netdiff.catalogue import Catalogue, Made

PURPOSES: Final = ("earth", "mains", "heater", "supply", "bias", "audio", "rf", "control")

_MOST_HINTS: Final = 200
"""Whoever has more unknown names in one file has another trouble than their spelling."""


class Site:
    """Parts, nets and zones of one circuit in the making. Faults go to ``source``."""

    drawn = True
    """This is a drawing; False for a unit."""

    def __init__(self, source: Source, catalogue: Catalogue, m_thousand: bool) -> None:
        self.source = source
        self.catalogue = catalogue
        self.m_thousand = m_thousand
        self.ground = ""
        self.ground_place: Place | None = None
        self.zones: dict[str, Zone] = {}
        self.zone = ""
        self.parts: dict[str, Part] = {}
        self.nets: dict[str, Net] = {}
        self.windings: list[Winding] = []
        self.insulated: dict[str, None] = {}
        self.used: dict[str, dict[str, None]] = {}
        """Terminals used of parts that take any terminal name."""
        self._points: dict[str, Point] = {}
        self._made: dict[tuple[str, tuple[str, ...]], Made] = {}
        self._unknown: set[str] = set()

    # --- looking up

    def part(self, designator: str, place: Place, word: str = "") -> Part | None:
        """The part of this designator; a fault (once a designator) if there is none."""
        part = self.parts.get(designator)
        if part is None:
            part = self.undeclared(designator, place, word or designator)
        return part

    def undeclared(self, designator: str, place: Place, word: str) -> Part | None:
        self.unknown(designator, place, word, f"no line declares {designator}", self.parts)
        return None

    def unknown(self, name: str, place: Place, word: str, says: str, among: Iterable[str]) -> None:
        """A fault for a name that nothing declares, once a name, and not if a faulty line may have done so."""
        if name in self.source.spoilt or name in self._unknown:
            return
        self._unknown.add(name)
        near = nearest(name, among) if len(self._unknown) < _MOST_HINTS else ""
        self.source.fault(place, says, word, f"the nearest is {near}" if near else "")

    def point(self, word: str, place: Place) -> Point | None:
        """The point that a terminal or net name means, by its canonical name; a fault if there is none."""
        point = self._points.get(word)
        if point is None:
            point = self._terminal(word, place) if "." in word else self._net(word, place)
            if point is not None:
                self._points[word] = point
        return point

    def _net(self, name: str, place: Place) -> Point | None:
        if name in self.nets or name == (self.ground or "chassis"):
            return name
        among = (*self.nets, self.ground or "chassis", *self.parts) if name.upper() in self.parts else self.nets
        self.unknown(name, place, name, f"no line declares the net {name}", (*among, self.ground or "chassis"))
        return None

    def _terminal(self, word: str, place: Place) -> Point | None:
        designator, _, name = word.partition(".")
        part = self.part(designator, place, word)
        if part is None:
            return None
        kind = part.kind
        lug = kind.lug(name)
        if lug is not None:
            if kind.any_terminal:
                self.used.setdefault(designator, {})[lug.name] = None
            return f"{designator}.{lug.name}"
        if kind.any_terminal:
            self.used.setdefault(designator, {})[name] = None
            return word
        names = [lug.name for lug in kind.terminals]
        title = " ".join(filter(None, (kind.name, kind.type)))
        says = f"{designator} has no terminal '{name}': {title} has {' '.join(names[:24]) or 'none'}"
        near = nearest(name, names) or nearest(name, [alias for lug in kind.terminals for alias in lug.aliases])
        self.source.fault(place, says, word, f"the nearest is {designator}.{near}" if near else "")
        return None

    # --- declaring

    def set_ground(self, line: Ground) -> None:
        if self.ground and self.ground != line.name and self.ground_place is not None:
            says = f"two nets named ground: line {self.ground_place.line} names {self.ground}"
            self.source.fault(line.place, says, line.name)
            return
        self.ground, self.ground_place = line.name, line.place

    def enter_zone(self, line: ZoneLine) -> None:
        self.zone = line.name
        known = self.zones.get(line.name)
        if known is None:
            self.zones[line.name] = Zone(line.name, line.title, (line.place,))
        else:
            if known.title and line.title and known.title != line.title:
                where = self.source.where(known.places[0])
                says = f'zone {line.name} has another title in {where}: "{known.title}"'
                self.source.fault(line.place, says, line.name)
            self.zones[line.name] = known._replace(title=known.title or line.title, places=(*known.places, line.place))

    def declare_net(self, line: NetLine) -> None:
        before = len(self.source.faults)
        net = self._net_of(line)
        if len(self.source.faults) > before:
            self.source.spoil(line.place)
            return
        known = self.nets.get(line.name)
        if known is not None and replace(known, places=()) != replace(net, places=()):
            where = self.source.where(known.places[0])
            self.source.fault(line.place, f"the net {line.name} is declared otherwise in {where}", line.name)
            return
        self.nets[line.name] = net if known is None else replace(known, places=(*known.places, line.place))

    def _net_of(self, line: NetLine) -> Net:
        fields: dict[str, Any] = {}
        words = [*line.words]
        for attribute in line.attributes:
            if attribute.text is not None or attribute.braid is not None or attribute.to:
                says = "a net takes a purpose and nominal values"
                self.source.fault(line.place, says, ",", "a remark goes after `#`")
            words.extend(attribute.words)
        for word, after in zip(words, [*words[1:], ""], strict=False):
            field = self._net_word(word)
            if field is None:
                near = nearest(word, (*PURPOSES, "shielded"))
                hint = f"the nearest is `{near}`" if near else f"a net takes {listed(PURPOSES)}, shielded, 600V, 52ohm"
                if after and self._net_word(word + after):
                    hint = f"without the blank: {word}{after}"
                self.source.fault(line.place, f"`{word}` says nothing of a net", word, hint)
                if "blank" in hint:
                    break
                continue
            for name, value in field.items():
                if name in fields and fields[name] != value:
                    self.source.fault(line.place, f"`{word}` contradicts another word of the line", word)
                fields[name] = value
        return Net(line.name, **fields, places=(line.place,))

    @staticmethod
    def _net_word(word: str) -> dict[str, Any] | None:
        if word in PURPOSES:
            return {"purpose": word}
        if word == "shielded":
            return {"shielded": True}
        span = read_range(word)
        if span is not None and span[0].unit == "Hz":
            return {"band": (span[0].value, span[1].value)}
        quantity = read_quantity(word)
        if quantity is None:
            return None
        match quantity.unit:
            case "V":
                return {"volts": quantity.value, "ac": False}
            case "Vac":
                return {"volts": quantity.value, "ac": True}
            case "Hz":
                return {"band": (quantity.value, quantity.value)}
            case "ohm":
                return {"impedance": quantity.value}
            case "W":
                return {"power": quantity.value}
        return None

    def make(self, kind: str, words: tuple[str, ...]) -> Made:
        """What the catalogue makes of a kind and the words after it; remembered, for they come again."""
        key = (kind, words)
        made = self._made.get(key)
        if made is None:
            made = self._made[key] = self.catalogue.make(kind, words, m_thousand=self.m_thousand)
        return made

    def trouble(self, line: PartLine, kind: str, words: tuple[str, ...], made: Made) -> None:
        """The fault of a part whose words the catalogue cannot place."""
        trouble = made.trouble
        assert trouble is not None
        if trouble.index < 0 or trouble.index >= len(words):
            if made.kind is None and self.source.blind:
                return
            self.source.fault(line.place, trouble.says, kind if kind in line.words else "", trouble.hint)
            return
        word, hint = words[trouble.index], trouble.hint
        joined = words[trouble.index - 1] + word if trouble.index else ""
        if word in (*CONDITIONS, "measured"):
            start = line.words.index(word)
            hint = f"a comma before the condition: {' '.join((line.designator, *line.words[:start]))}, {word}"
        elif joined and read_quantity(joined) is not None and word.isalpha():
            hint = f"without the blank: {joined}"
        self.source.fault(line.place, trouble.says, word, hint)

    def insulate(self, line: Insulated) -> None:
        for designator in line.designators:
            if self.part(designator, line.place) is not None:
                self.insulated[designator] = None

    # --- windings

    def wind(self, line: WindingLine) -> None:
        part = self.part(line.designator, line.place)
        if part is None:
            return
        kind = part.kind
        if not takes_windings(kind):
            says = f"{line.designator} is no transformer or tapped coil: a {kind.name} has no windings to declare"
            self.source.fault(line.place, says, line.designator)
            return
        if len(set(line.terminals)) != len(line.terminals):
            self.source.fault(line.place, f"a winding of {line.designator} has the same terminal twice")
        fields: dict[str, Any] = {}
        for attribute in line.attributes:
            if attribute.text is not None:
                fields["label"] = attribute.text
                continue
            if len(attribute.words) != 1 or attribute.to or attribute.braid:
                word = attribute.words[0] if attribute.words else ""
                self.source.fault(line.place, "a winding takes its voltage, inductance, resistance and a text", word)
                continue
            quantity = quantity_of(self.source, line.place, attribute.words[0], "Vac", "V", "H", "ohm")
            if quantity is not None:
                name = {"H": "inductance", "ohm": "resistance"}.get(quantity.unit, "volts")
                fields[name] = quantity.value
        self.windings.append(Winding(line.designator, line.terminals, **fields, places=(line.place,)))

    def fit_windings(self) -> None:
        """Transformers get the terminals of their windings."""
        terminals: dict[str, dict[str, None]] = {}
        for winding in self.windings:
            terminals.setdefault(winding.part, {}).update(dict.fromkeys(winding.terminals))
        for designator, names in terminals.items():
            part = self.parts.get(designator)
            if part is not None and part.kind.any_terminal:
                lugs = tuple(Lug(name) for name in names)
                self.parts[designator] = replace(part, kind=replace(part.kind, terminals=lugs, any_terminal=False))

    def fit_used(self) -> None:
        """Parts that take any terminal get those that the file uses."""
        for designator, names in self.used.items():
            part = self.parts.get(designator)
            if part is None or not part.kind.any_terminal:
                continue
            known = {lug.name for lug in part.kind.terminals}
            tie = is_strip(part.kind)
            more = tuple(Lug(name, tie=tie) for name in sorted(names, key=_natural) if name not in known)
            if more:
                self.parts[designator] = replace(part, kind=replace(part.kind, terminals=(*part.kind.terminals, *more)))

    def bodies(self) -> list[tuple[Point, Point]]:
        """Terminals that sections of one body share: two names of one lug."""
        sections: dict[str, list[Part]] = {}
        for part in self.parts.values():
            if part.kind.shared and part.designator[-1].isupper():
                sections.setdefault(part.designator[:-1], []).append(part)
        out = []
        for parts in sections.values():
            for one, other in pairwise(parts):
                for name in one.kind.shared:
                    if name in other.kind.shared:
                        out.append((f"{one.designator}.{name}", f"{other.designator}.{name}"))
        return out


def takes_windings(kind: Kind) -> bool:
    return kind.any_terminal and not is_strip(kind) and kind.name != "unknown"


def is_strip(kind: Kind) -> bool:
    return "TB" in kind.letters


def _natural(name: str) -> tuple[int, str]:
    return (int(name), "") if name.isdigit() and len(name) < 10 else (1 << 40, name)
