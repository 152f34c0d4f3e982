"""Chains into runs: what each hop joins, which end of a part is meant, and which lines tell one run again."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Final, NamedTuple, Protocol

from netdiff.circuit import OPEN, UNFOLLOWED, Gap, Kind, Part, Place, Point, Run
from netdiff.language.attributes import Told, run_attributes
from netdiff.language.ends import Mention, Node, choose
from netdiff.language.faults import Source
from netdiff.language.retold import check_cables, tell_again
from netdiff.language.statements import Chain, Landing

_PLAIN: Final = Told({})


class Resolver(Protocol):
    """What the wiring asks of whoever knows the parts."""

    source: Source
    drawn: bool

    def point(self, word: str, place: Place) -> Point | None: ...
    def part(self, designator: str, place: Place, word: str = "") -> Part | None: ...


class Link(NamedTuple):
    """One hop of a chain, its ends not yet decided."""

    a: Node
    b: Node
    place: Place
    conductor: str
    told: Told
    braid: tuple[Point, Point] | None
    gaps: tuple[Gap, ...]


class Wiring:
    """Collects the hops of all chains, then makes runs of them."""

    def __init__(self, resolver: Resolver) -> None:
        self.resolver = resolver
        self.links: list[Link] = []
        self.mentions: list[Mention] = []
        self.ends: dict[str, tuple[Point, Point]] = {}
        self.slots = 0
        self.unfollowed: list[Node] = []

    # --- collecting

    def chain(self, chain: Chain) -> None:
        items, forms, place = chain.items, chain.forms, chain.place
        last = len(items) - 1
        source = self.resolver.source
        if chain.conductor and last != 1:
            source.fault(place, f"a line with a conductor has two items; this one has {last + 1}", chain.conductor,
                         "each conductor on a line of its own")  # fmt: skip
        for index in range(1, last + 1):
            if items[index] == items[index - 1] and forms[index] in "TD":
                source.fault(place, f"{items[index]} is connected to itself", items[index], nth=1)
                return
        told, braid, gaps = self._told(chain) if chain.attributes or chain.conductor else (_PLAIN, None, ())
        before: Node | None = self._item(items, forms, 0, place)[1]
        for index in range(1, last + 1):
            enter, leave = self._item(items, forms, index, place)
            if before is not None and enter is not None:
                here = told if index == last else _all_hops(told)
                self._link(before, enter, place, chain.conductor, here, braid, gaps)
            before = leave

    def landing(self, landing: Landing, lug: Point) -> None:
        for item, form in zip(landing.items, landing.forms, strict=True):
            if form in "XO":
                continue
            enter = self._item((item,), form, 0, landing.place)[1]
            if enter is not None:
                self._link(lug, enter, landing.place, "", _PLAIN, None, ())

    def _item(self, items: tuple[str, ...], forms: str, index: int, place: Place) -> tuple[Node | None, Node | None]:
        """The nodes by which the chain enters and leaves an item."""
        word, form = items[index], forms[index]
        if form in "TN":
            point = self.resolver.point(word, place)
            return point, point
        if form == "D":
            inside = 0 < index < len(items) - 1
            left = items[index - 1] if index else ""
            right = items[index + 1] if index + 1 < len(items) else ""
            return self._bare(word, place, inside, left, right)
        if form == "P":
            return self._passage(word, place)
        return (UNFOLLOWED, UNFOLLOWED) if form == "?" else (OPEN, OPEN)

    def _bare(self, word: str, place: Place, inside: bool, left: str, right: str) -> tuple[Node | None, Node | None]:
        part = self.resolver.part(word, place, word)
        if part is None:
            return None, None
        kind = part.kind
        if kind.ends is None or kind.polarised:
            self.resolver.source.fault(place, *_no_way(word, kind, inside, left, right))
            return None, None
        self.ends[word] = (f"{word}.{kind.ends[0]}", f"{word}.{kind.ends[1]}")
        slot = self.slots
        self.slots += 2
        if inside:
            self.mentions.append(Mention(word, slot, slot + 1, place, left, right))
            return slot, slot + 1
        self.mentions.append(Mention(word, slot, -1, place, left, right))
        return slot, slot

    def _passage(self, word: str, place: Place) -> tuple[Node | None, Node | None]:
        designator, _, names = word.partition(".")
        one, _, other = names.partition("/")
        enter = self.resolver.point(f"{designator}.{one}", place)
        leave = self.resolver.point(f"{designator}.{other}", place)
        if enter is not None and enter == leave:
            self.resolver.source.fault(place, f"{designator} is entered and left by the same terminal", word)
            return None, None
        return enter, leave

    def _told(self, chain: Chain) -> tuple[Told, tuple[Point, Point] | None, tuple[Gap, ...]]:
        resolver, place = self.resolver, chain.place
        told = run_attributes(resolver.source, place, chain.attributes, bool(chain.conductor), resolver.drawn)
        if told.fields.get("direct") and chain.forms[-1] not in "TP":
            resolver.source.fault(place, "`direct` is said of a chain that ends on a terminal", "direct")
        braid: tuple[Point, Point] | None = None
        if told.braid is not None:
            if chain.conductor not in ("coax", "shielded"):
                hint = "coax and shielded wire have a braid"
                resolver.source.fault(place, f"`{chain.conductor or 'a plain chain'}` has no braid", "braid", hint)
            ends = [w if w in (OPEN, UNFOLLOWED) else resolver.point(w, place) for w in told.braid]
            if ends[0] is not None and ends[1] is not None:
                braid = (ends[0], ends[1])
        gaps = []
        for distance, word in told.gaps:
            to = resolver.point(word, place)
            if to is not None:
                gaps.append(Gap(distance, to))
        return told, braid, tuple(gaps)

    def _link(
        self, a: Node, b: Node, place: Place, conductor: str, told: Told,
        braid: tuple[Point, Point] | None, gaps: tuple[Gap, ...],
    ) -> None:  # fmt: skip
        if a == b:
            says = "nothing is joined here" if a in (OPEN, UNFOLLOWED) else f"{a} is connected to itself"
            self.resolver.source.fault(place, says)
            return
        for node, other in ((a, b), (b, a)):
            if other == UNFOLLOWED and node != OPEN:
                self.unfollowed.append(node)
        if (a in (OPEN, UNFOLLOWED)) and (b in (OPEN, UNFOLLOWED)):
            self.resolver.source.fault(place, "nothing is joined here")
            return
        self.links.append(Link(a, b, place, conductor, told, braid, gaps))

    # --- making runs

    def decide(self, bodies: Iterable[tuple[Point, Point]]) -> Callable[[Node], Point]:
        """Choose the ends of bare parts over the whole file; the way from a node to its point."""
        if not self.mentions:
            return lambda node: node  # type: ignore[return-value]
        joins: list[tuple[Node, Node]] = [(link.a, link.b) for link in self.links if _joins(link)]
        for link in self.links:
            if link.braid and _joins_braid(link.braid):
                joins.append(link.braid)
        joins.extend(bodies)
        points, faults = choose(self.mentions, self.ends, joins)
        for mention, reason in faults:
            name = mention.designator
            first, second = self.ends[name]
            says = f"{name}: no choice of its ends fits every line that speaks of it"
            if reason == "two circuits fit":
                says = f"{name}: two circuits fit, for nothing says which end is meant here"
            hint = f"name the ends: {_ends_shown(mention, first, second)}"
            self.resolver.source.fault(mention.place, says, name, hint)
        return lambda node: node if isinstance(node, str) else points[node]

    def runs(self, point_of: Callable[[Node], Point]) -> tuple[Run, ...]:
        """The runs, each once however often it is told."""
        merged: dict[tuple[Point, Point], list[Run]] = {}
        source = self.resolver.source
        for link in self.links:
            a, b = point_of(link.a), point_of(link.b)
            if a == b:
                source.fault(link.place, f"{a} is connected to itself")
                continue
            if link.told is _PLAIN and not link.conductor:
                run = Run(a, b, places=(link.place,))
            else:
                run = Run(
                    a, b, link.conductor, braid=link.braid, gaps=link.gaps, places=(link.place,), **link.told.fields
                )
            key = (a, b) if a < b else (b, a)
            known = merged.get(key)
            if known is None:
                merged[key] = [run]
            else:
                tell_again(source, known, run)
        out = tuple([run for runs in merged.values() for run in runs])
        check_cables(source, out)
        return out


def _joins(link: Link) -> bool:
    return link.a not in (OPEN, UNFOLLOWED) and link.b not in (OPEN, UNFOLLOWED)


def _joins_braid(braid: tuple[Point, Point]) -> bool:
    return braid[0] not in (OPEN, UNFOLLOWED) and braid[1] not in (OPEN, UNFOLLOWED)


def _all_hops(told: Told) -> Told:
    """What a chain's attributes say of every hop; condition, text and ``direct`` are the last hop's alone."""
    if told is _PLAIN or "evidence" not in told.fields:
        return _PLAIN
    return Told({"evidence": told.fields["evidence"]})


def _no_way(word: str, kind: Kind, inside: bool, left: str, right: str) -> tuple[str, str, str]:
    """Why a bare part cannot stand in a chain: what to say, the word, the hint."""
    if kind.ends is not None:
        one, other = kind.ends
        if inside:
            return f"{word} is polarised: the chain must say which way it passes", word, \
                f"{word}.{one}/{other} or {word}.{other}/{one}"  # fmt: skip
        return f"{word} is polarised: the line must say which of its leads is meant", word, \
            f"{word}.{one} or {word}.{other}"  # fmt: skip
    names = [lug.name for lug in kind.terminals]
    if not names:
        return f"{word} ({kind.name}) is no part that a chain passes through", word, f"name its terminals: {word}.1"
    shown = " ".join(names[:12]) + (" …" if len(names) > 12 else "")
    what = "one terminal" if len(names) == 1 else f"{len(names)} terminals"
    return f"a chain cannot pass through {word}: a {kind.name} has {what}", word, f"name the terminals: {shown}"


def _ends_shown(mention: Mention, first: Point, second: Point) -> str:
    if mention.b < 0:
        return f"{first} or {second}"
    return f"{mention.left} -- {first} and {second} -- {mention.right}, or the other way round"
