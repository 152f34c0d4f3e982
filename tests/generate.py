"""Random circuits as text, random tellings of them, and random damage: for tests that begin at the files.

``stock`` writes a random ``.stock`` text. ``read`` takes such a text apart again (only what ``stock``
writes, without the project's own reader, so that the two can be held against each other). ``damage``
changes the wiring by one edit. ``tell`` writes a ``.found`` text of the wiring as somebody at a bench
might: statements in any order, leads over other lugs, chains cut anywhere, parts turned round where
nobody can tell, own tie points, joints told twice, everything traced. ``retranscribe`` does all three.

>>> import random
>>> text = stock(random.Random(1), 4)
>>> text.splitlines()[0]
'stock "Generated, 4 parts"'
>>> retranscribe(text, random.Random(2)).splitlines()[0]
'found "Generated unit" of "generated.stock"'
"""

from __future__ import annotations

import random
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from itertools import pairwise
from typing import NamedTuple

Lead = tuple[str, str]


class Sort(NamedTuple):
    """One kind of part: its class letters, terminals, values to choose from, and what cannot be told apart."""

    letters: str
    kind: str
    terminals: tuple[str, ...]
    values: tuple[tuple[str, ...], ...] = (("",),)
    """Spellings of each value; spellings of one value mean the same."""
    twins: tuple[tuple[tuple[str, ...], tuple[str, ...]], ...] = ()
    """Exchanging the first terminals with the second is no difference: common practice."""
    ends: bool = False
    """A chain passes through it."""
    pins: tuple[tuple[str, str], ...] = ()
    """Electrode and pin number."""
    often: int = 1


_ENDS = ((("1",), ("2",)),)
_HEATER = (("h1",), ("h2",))
SORTS = (
    Sort("R", "resistor", ("1", "2"), (("1k", "1000", "1k 1W"), ("22k", "22000ohm"), ("470k", ".47meg"),
         ("150", "150ohm 0.5W"), ("4.7k", "4k7")), _ENDS, True, often=40),
    Sort("C", "capacitor", ("1", "2"), ((".01u", "0.01uF", ".01mfd"), ("470p", "470mmf", "470"),
         (".1u", "100n", "0.1uF 400V")), _ENDS, True, often=24),
    Sort("C", "electrolytic", ("+", "-"), (("20u", "20mfd"), ("8u 450V", "8uF")), (), True, often=5),
    Sort("L", "choke", ("1", "2"), (("8H", "8H 60mA"), ("2.5mH", "2.5mH")), _ENDS, True, often=3),
    Sort("CR", "rectifier", ("a", "k"), (("",),), (), True, often=3),
    Sort("J", "jack-2", ("tip", "sleeve"), often=4),
    Sort("J", "jack-3", ("tip", "ring", "sleeve"), often=2),
    Sort("J", "coax-socket", ("center", "shell"), often=2),
    Sort("V", "tube 6V6GT", ("h1", "h2", "k", "g1", "g2", "p"), (("",),), (_HEATER,),
         pins=(("h1", "2"), ("p", "3"), ("g2", "4"), ("g1", "5"), ("h2", "7"), ("k", "8")), often=6),
    Sort("V", "tube 6J5GT", ("h1", "h2", "k", "g1", "p"), (("",),), (_HEATER,), often=4),
    Sort("V", "tube 6SN7GT", ("h1", "h2", "pa", "g1a", "ka", "pb", "g1b", "kb"), (("",),),
         (_HEATER, (("pa", "g1a", "ka"), ("pb", "g1b", "kb"))),
         pins=(("g1b", "1"), ("pb", "2"), ("kb", "3"), ("g1a", "4"), ("pa", "5"), ("ka", "6")), often=4),
    Sort("V", "tube 6SQ7", ("h1", "h2", "k", "g1", "p", "pda", "pdb"), (("",),), (_HEATER, (("pda",), ("pdb",))),
         pins=(("g1", "2"), ("k", "3"), ("pdb", "4"), ("pda", "5"), ("p", "6")), often=2),
    Sort("R", "potentiometer", ("ccw", "arm", "cw"), (("500k", ".5meg"), ("5k", "5000 4W wirewound")), often=3),
    Sort("K", "relay-spdt", ("coil1", "coil2", "c", "no", "nc"), (("6V", "6V"),), ((("coil1",), ("coil2",)),), often=2),
    Sort("S", "switch-dpdt", ("ca", "a1", "a2", "cb", "b1", "b2"), (("",),),
         ((("ca", "a1", "a2"), ("cb", "b1", "b2")),), often=2),
    Sort("TB", "strip", ("1", "2", "3", "4"), often=3),
)  # fmt: skip
"""Kinds, terminals and pins: common practice; tube pins as RCA numbers them."""

STRANGER = ("resistor", 4)
"""What `damage` adds: a value that no drawing has, so that it cannot be a stock part whose marking is gone."""

BY_KIND = {sort.kind: sort for sort in SORTS}
NETS = {"chassis": "", "b+": "supply 250V", "heater": "heater 6.3Vac", "agc": "control"}
"""Net names and what a stock file says of them."""


@dataclass
class Wiring:
    """The wiring of one unit: what lies on the desk before anybody writes it down."""

    parts: dict[str, tuple[str, int]]
    """Designator -> kind, and which of the kind's values."""
    leads: list[Lead]
    zones: dict[str, str] = field(default_factory=dict)
    """Designator -> zone."""
    missing: list[str] = field(default_factory=list)

    def sort(self, designator: str) -> Sort:
        return BY_KIND[self.parts[designator][0]]

    def points(self, *, ties: bool = False) -> list[str]:
        """The terminals of all parts, without the lugs of strips unless ``ties``."""
        return [f"{d}.{t}" for d, (kind, _) in self.parts.items() if ties or kind != "strip"
                for t in BY_KIND[kind].terminals]  # fmt: skip

    def nets(self) -> list[list[str]]:
        """The points of every net; a terminal on its own is a net."""
        return components(self.points(ties=True), self.leads)


def components(points: Iterable[str], leads: Iterable[Lead]) -> list[list[str]]:
    """Connected components, each in the order in which its points were given."""
    parent: dict[str, str] = {}

    def find(where: str) -> str:
        while parent.setdefault(where, where) != where:
            parent[where] = parent[parent[where]]
            where = parent[where]
        return where

    for where in points:
        find(where)
    for a, b in leads:
        parent[find(a)] = find(b)
    out: dict[str, list[str]] = {}
    for where in list(parent):
        out.setdefault(find(where), []).append(where)
    return list(out.values())


def part_of(where: str) -> str:
    return where.partition(".")[0] if "." in where else ""


# --- stock circuits ---------------------------------------------------------------------------------------------


def wiring(rng: random.Random, parts: int) -> Wiring:
    """A random circuit of ``parts`` parts. Ground and supply are large nets, the others are small."""
    choices = [sort for sort in SORTS for _ in range(sort.often)]
    made: dict[str, tuple[str, int]] = {}
    zones: dict[str, str] = {}
    for number in range(1, parts + 1):
        sort = rng.choice(choices)
        name = f"{sort.letters}{number}"
        made[name] = (sort.kind, rng.randrange(len(sort.values) - (sort.kind == STRANGER[0])))
        zones[name] = f"deck-{(number - 1) // 40 + 1}"
    out = Wiring(made, [], zones)
    points = out.points()
    rng.shuffle(points)
    named = {name: [name] for name in NETS}
    small: list[list[str]] = [[] for _ in range(max(1, len(points) // 3))]
    for where in points:
        big = rng.random() < 0.3
        net = named[rng.choices(list(named), [4, 2, 1, 1])[0]] if big else rng.choice(small)
        # Both ends of one part on one net are rare in a drawing.
        if all(part_of(other) != part_of(where) for other in net) or rng.random() < 0.02:
            net.append(where)
    for net in [*named.values(), *small]:
        out.leads += [(net[rng.randrange(i)], net[i]) for i in range(1, len(net))]
    lugs = [f"{d}.{t}" for d, (kind, _) in made.items() if kind == "strip" for t in BY_KIND[kind].terminals]
    for lug in lugs:
        # A lug of a strip stands in the middle of a lead.
        if out.leads and rng.random() < 0.8:
            a, b = out.leads.pop(rng.randrange(len(out.leads)))
            out.leads += [(a, lug), (lug, b)]
    return out


def stock(rng: random.Random, parts: int) -> str:
    """The text of a random stock circuit."""
    one = wiring(rng, parts)
    lines = [f'stock "Generated, {parts} parts"', "ground chassis"]
    zone = ""
    for name, (kind, which) in one.parts.items():
        if one.zones[name] != zone:
            zone = one.zones[name]
            lines.append(f'zone {zone} "Deck {zone.removeprefix("deck-")}"')
        lines.append(f"{name} {kind} {BY_KIND[kind].values[which][0]}".rstrip())
    used = {where for lead in one.leads for where in lead}
    lines += [f"net {name} {words}".rstrip() for name, words in NETS.items() if name in used]
    lines += drawn_chains(one)
    return "\n".join(lines) + "\n"


def drawn_chains(one: Wiring) -> Iterator[str]:
    """The leads as a draughtsman tells them: through a part where one lead goes in and one comes out."""
    landing: dict[str, list[int]] = {}
    for number, lead in enumerate(one.leads):
        for where in lead:
            landing.setdefault(where, []).append(number)
    used: set[int] = set()
    for number, (a, b) in enumerate(one.leads):
        if number in used:
            continue
        used.add(number)
        items = [a, b]
        while True:
            name, _, terminal = items[-1].partition(".")
            if not terminal or not one.sort(name).ends or len(items) > 7:
                break
            first, second = one.sort(name).terminals
            far = second if terminal == first else first
            onward = [n for n in landing.get(f"{name}.{far}", ()) if n not in used]
            if not onward:
                break
            used.add(onward[0])
            c, d = one.leads[onward[0]]
            items[-1] = f"{name}.{terminal}/{far}"
            items.append(d if c == f"{name}.{far}" else c)
        yield " -- ".join(items)


def read(text: str) -> Wiring:
    """The wiring of a text that `stock` wrote."""
    out = Wiring({}, [])
    zone = ""
    for line in text.splitlines():
        words = line.split()
        if not words or words[0] in ("stock", "ground", "net"):
            continue
        if words[0] == "zone":
            zone = words[1]
        elif "--" in words:
            out.leads += _hops(words[::2])
        else:
            kind = " ".join(words[1:3]) if words[1] == "tube" else words[1]
            spelling = " ".join(words[1:]).removeprefix(kind).strip()
            out.parts[words[0]] = (kind, [v[0] for v in BY_KIND[kind].values].index(spelling))
            out.zones[words[0]] = zone
    return out


def _hops(items: list[str]) -> Iterator[Lead]:
    before = ""
    for item in items:
        entered, _, left = item.partition("/")
        if before:
            yield before, entered
        before = f"{part_of(item)}.{left}" if left else entered


# --- damage -----------------------------------------------------------------------------------------------------

EDITS = ("cut", "join", "move", "take", "stranger", "series", "value", "kind", "exchange", "reverse")


def damage(unit: Wiring, rng: random.Random, edit: str = "") -> str:
    """One random edit of a unit, in place; its name. Some edits change nothing: a lead moved within its net."""
    edit = edit or rng.choice(EDITS)
    points, leads = unit.points(), unit.leads
    stock_parts = [name for name in unit.parts if not name.startswith("?")]
    if edit == "cut" and leads:
        leads.pop(rng.randrange(len(leads)))
    elif edit == "join" and points:
        leads.append((rng.choice(points), rng.choice(points)))
    elif edit == "move" and leads:
        number = rng.randrange(len(leads))
        leads[number] = (leads[number][0], rng.choice(points))
    elif edit == "take" and len(stock_parts) > 1:
        _take(unit, rng.choice(stock_parts), said=rng.random() < 0.7)
    elif edit in ("stranger", "series") and points:
        name = f"?R{900 + len(unit.parts)}"
        unit.parts[name] = STRANGER
        a, b = rng.choice(points), rng.choice(points)
        if edit == "series" and leads:
            a, b = leads.pop(rng.randrange(len(leads)))
        leads += [(f"{name}.1", a), (f"{name}.2", b)]
    elif edit == "value":
        valued = [name for name in stock_parts if len(unit.sort(name).values) > 1]
        if valued:
            name = rng.choice(valued)
            kind, which = unit.parts[name]
            unit.parts[name] = (kind, (which + 1) % len(BY_KIND[kind].values))
    elif edit == "kind":
        plain = [name for name in stock_parts if unit.parts[name][0] in ("resistor", "capacitor")]
        if plain:
            name = rng.choice(plain)
            unit.parts[name] = ("capacitor" if unit.parts[name][0] == "resistor" else "resistor", 0)
    elif edit == "exchange":
        _exchange(unit, rng, stock_parts)
    elif edit == "reverse":
        name = rng.choice(stock_parts)
        if unit.parts[name][0] != "strip":
            a, b = (f"{name}.{t}" for t in rng.sample(unit.sort(name).terminals, 2))
            _rename(unit, {a: b, b: a})
    unit.leads = [(a, b) for a, b in unit.leads if a != b]
    return edit


def _take(unit: Wiring, name: str, *, said: bool) -> None:
    """The part goes; what was soldered to its lugs stays together. Of a part that nothing was wired to, only a word
    tells that it is gone."""
    said = said or not any(part_of(where) == name for lead in unit.leads for where in lead)
    for terminal in unit.sort(name).terminals:
        here = f"{name}.{terminal}"
        others = list(dict.fromkeys(b if a == here else a for a, b in unit.leads if here in (a, b)))
        others = [where for where in others if part_of(where) != name]
        unit.leads = [lead for lead in unit.leads if here not in lead]
        unit.leads += pairwise(others)
    del unit.parts[name]
    if said:
        unit.missing.append(name)


def _exchange(unit: Wiring, rng: random.Random, names: list[str]) -> None:
    first = rng.choice(names)
    second = rng.choice([name for name in names if unit.parts[name][0] == unit.parts[first][0]])
    trade = {f"{a}.{t}": f"{b}.{t}" for a, b in ((first, second), (second, first)) for t in unit.sort(first).terminals}
    _rename(unit, trade)


def _rename(unit: Wiring, trade: dict[str, str]) -> None:
    unit.leads = [(trade.get(a, a), trade.get(b, b)) for a, b in unit.leads]


# --- telling a unit ---------------------------------------------------------------------------------------------


def retranscribe(stock_text: str, rng: random.Random, edits: int = 0, file: str = "generated.stock") -> str:
    """The stock circuit, changed by a number of edits, as a bench would write it down, wholly traced."""
    drawn = read(stock_text)
    unit = read(stock_text)
    for _ in range(edits):
        damage(unit, rng)
    return tell(unit, drawn, rng, file)


def tell(unit: Wiring, drawn: Wiring, rng: random.Random, file: str = "generated.stock") -> str:
    """The text of a found file of the unit, everything traced."""
    seen = _turned(unit, rng)
    leads = _rerouted(unit.leads, rng)
    leads, extra, strips = _tie_points([_both(lead, seen) for lead in leads], rng)
    told = _Telling(unit, leads, rng)
    lines = [*extra, *told.lines()]
    wired = {part_of(where) for lead in leads for where in lead}
    for name, (kind, which) in unit.parts.items():
        # A part that was read, a part that nobody can identify, a part on which nothing lands any more.
        if name.startswith("?") or name not in wired or unit.parts[name] != drawn.parts.get(name) or rng.random() < 0.2:
            lines.append(f"{name} {kind} {rng.choice(BY_KIND[kind].values[which])}".rstrip())
    lines += [f"missing {name}" for name in unit.missing]
    rng.shuffle(lines)
    traced = [*dict.fromkeys(drawn.zones.values()), *(n for n in unit.parts if n not in drawn.parts), *strips]
    rng.shuffle(traced)
    while traced:
        some = rng.randint(1, 12)
        lines.insert(rng.randint(0, len(lines)), "traced " + " ".join(traced[:some]))
        traced = traced[some:]
    return "\n".join([f'found "Generated unit" of "{file}"', *lines]) + "\n"


def _both(lead: Lead, names: dict[str, str]) -> Lead:
    return names.get(lead[0], lead[0]), names.get(lead[1], lead[1])


def _turned(unit: Wiring, rng: random.Random) -> dict[str, str]:
    """Other names for terminals, where exchanging them is no difference."""
    out: dict[str, str] = {}
    for name in unit.parts:
        for here, there in unit.sort(name).twins:
            if rng.random() < 0.5:
                pairs = [(f"{name}.{a}", f"{name}.{b}") for a, b in zip(here, there, strict=True)]
                out |= dict(pairs) | {b: a for a, b in pairs}
    return out


def _rerouted(leads: list[Lead], rng: random.Random) -> list[Lead]:
    """The same nets over other leads: which lug of its net a lead lands on is the builder's choice."""
    out: list[Lead] = []
    for net in components((), leads):
        points = list(net)
        rng.shuffle(points)
        # A declared name may stay unsaid, and a lug is only a place to solder to.
        points = [p for i, p in enumerate(points) if not (p in NETS and rng.random() < 0.3 and len(points) > 2)]
        points = [p for p in points if not (p.startswith("TB") and rng.random() < 0.4)] or points
        points.sort(key=lambda where: where[0] in "RCL" and rng.random() < 0.7)  # so that parts hang at the ends
        for i in range(1, len(points)):
            hub = [p for p in points[:i] if p[0] not in "RCL"] or points[:i]
            out.append((rng.choice(hub if rng.random() < 0.7 else points[:i]), points[i]))
    return out


def _tie_points(leads: list[Lead], rng: random.Random) -> tuple[list[Lead], list[str], list[str]]:
    """Some leads go over lugs and joints that the drawing does not have: leads, lines that declare, strips used."""
    out: list[Lead] = []
    lines: list[str] = []
    strips: list[str] = []
    for a, b in leads:
        roll = rng.random()
        if roll < 0.06:
            strip = f"TB{801 + len(strips) // 6}"
            lug = f"{strip}.{len(strips) % 6 + 1}"
            strips.append(strip)
            out += [(a, lug), (lug, b)]
        elif roll < 0.09:
            splice = f"splice{len(lines) + 1}"
            lines.append(f"net {splice}")
            out += [(a, splice), (splice, b)]
        else:
            out.append((a, b))
    return out, lines, list(dict.fromkeys(strips))


class _Telling:
    """Leads into lines."""

    def __init__(self, unit: Wiring, leads: list[Lead], rng: random.Random) -> None:
        self.unit = unit
        self.rng = rng
        self.leads = leads
        rng.shuffle(self.leads)
        self.landing: dict[str, list[int]] = {}
        for number, lead in enumerate(leads):
            for where in lead:
                self.landing.setdefault(where, []).append(number)
        self.bare = {name for name in unit.parts if self._may_be_bare(name) and rng.random() < 0.7}
        self.used: set[int] = set()

    def _may_be_bare(self, name: str) -> bool:
        """Interchangeable ends with one lead each, whose other points lie on somebody else's lugs."""
        sort = self.unit.sort(name)
        if not sort.ends or not sort.twins:
            return False
        ends = [self.landing.get(f"{name}.{t}", []) for t in sort.terminals]
        return all(len(numbers) == 1 for numbers in ends) and ends[0] != ends[1]

    def lines(self) -> Iterator[str]:
        rng = self.rng
        for number in range(len(self.leads)):
            if number in self.used:
                continue
            a, b = self.leads[number]
            names = {part_of(a), part_of(b)}
            if not names & self.bare and rng.random() < 0.15:
                self.used.add(number)
                yield f"wire {self._point(a)} -- {self._point(b)}{rng.choice(ATTRIBUTES)}"
            else:
                yield from self._chain(number)
        for where, numbers in self.landing.items():
            if part_of(where) and part_of(where) not in self.bare and rng.random() < 0.06:
                others = [b if a == where else a for a, b in (self.leads[number] for number in numbers)]
                yield f"at {self._point(where)}: {' '.join(self._item(other) for other in others)}"

    def _chain(self, number: int) -> Iterator[str]:
        rng = self.rng
        self.used.add(number)
        a, b = self.leads[number] if rng.random() < 0.5 else self.leads[number][::-1]
        items = [a, b]
        # A chain does not begin or end in the middle of a part that is written bare.
        while part_of(items[-1]) in self.bare or (rng.random() < 0.6 and len(items) < 9):
            step = self._onward(items[-1])
            if step is None:
                break
            items[-1], onward = step
            items.append(onward)
        items = _backwards(items)
        while part_of(items[-1]) in self.bare and "/" not in items[-1]:
            step = self._onward(items[-1])
            if step is None:
                break
            items[-1], onward = step
            items.append(onward)
        # A chain that comes back to the part where it began says by which ends.
        self.bare -= {part_of(item) for item in (items[0], items[-1])}
        yield " -- ".join(self._item(item) for item in items)
        if rng.random() < 0.15:
            yield " -- ".join(self._item(item) for item in _backwards(items))

    def _onward(self, at: str) -> tuple[str, str] | None:
        """How the chain goes on: its last item rewritten as a passage if it passes through, and the next point."""
        name, _, terminal = at.partition(".")
        sort = self.unit.sort(name) if name in self.unit.parts else None
        through = sort is not None and sort.ends and (name in self.bare or self.rng.random() < 0.5)
        here = at
        if through and sort is not None:
            first, second = sort.terminals
            here = f"{name}.{second if terminal == first else first}"
        for number in self.landing.get(here, ()):
            if number not in self.used:
                self.used.add(number)
                a, b = self.leads[number]
                passage = f"{at}/{here.partition('.')[2]}" if through else at
                return passage, b if a == here else a
        return None

    def _item(self, item: str) -> str:
        name, _, rest = item.partition(".")
        if name in self.bare:
            return name
        return item if "/" in rest else self._point(item)

    def _point(self, where: str) -> str:
        """A terminal by its electrode or by its pin number."""
        name, _, terminal = where.partition(".")
        pins = dict(self.unit.sort(name).pins) if name in self.unit.parts else {}
        return f"{name}.{pins[terminal]}" if terminal in pins and self.rng.random() < 0.5 else where


def _backwards(items: list[str]) -> list[str]:
    """A chain told from its other end; a passage is then entered where it was left."""
    out = []
    for item in reversed(items):
        at, _, left = item.partition("/")
        name, _, entered = at.partition(".")
        out.append(f"{name}.{left}/{entered}" if left else item)
    return out


ATTRIBUTES = ("", ", 90mm", ', 20AWG, "green"', ', 40mm, "yellow"', ", 12in, 18AWG")
