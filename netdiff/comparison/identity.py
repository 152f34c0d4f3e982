"""Which stock part an unidentified part is, and parts in series whose order is exchanged.

An unidentified part is taken for a stock part that no line names, by its kind, its value and where it
connects; parts identified help to identify their neighbours.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping

from netdiff.circuit import Circuit, Found, Part, Point, part_of
from netdiff.comparison.likeness import Alignment, Weights, best_match, best_matches
from netdiff.comparison.limits import within_tolerance
from netdiff.nets import Nets


def identify(
    stock: Circuit,
    found: Found,
    stock_nets: Nets,
    found_nets: Nets,
    weights: Weights,
    alignment: Alignment,
    guess: bool,
) -> None:
    """Give unidentified parts the stock designator that nobody wrote and that their wiring asks for."""
    absent = {
        name: part
        for name, part in stock.parts.items()
        if name not in found.mentioned and name not in found.as_drawn and name not in found.missing_sockets
    }
    strangers = [part for part in found.circuit.parts.values() if part.foreign]
    if not absent or not strangers:
        return
    on_net: dict[int, list[str]] = defaultdict(list)
    for name, part in absent.items():
        for where in part.points():
            net = stock_nets.index.get(where)
            if net is not None:
                on_net[net].append(name)
    undecided = {part.designator: part for part in strangers if part.designator not in alignment.same}
    taken: set[str] = set(alignment.same.values())
    progress = True
    while progress and undecided:
        progress = False
        likeness = best_matches(weights)
        offers: list[tuple[float, str, str, tuple[tuple[str, str], ...]]] = []
        for name, part in undecided.items():
            for score, drawn, pairing in _offers(part, absent, taken, on_net, stock_nets, found_nets, likeness):
                # Of a part that is said to be missing, half the evidence is not enough.
                if score >= (1 if guess else 2) or (guess and drawn not in found.missing):
                    offers.append((score, name, drawn, pairing))
        if not offers and guess:
            offers = _only_ones(undecided, absent, taken, found, stock_nets, found_nets)
        offers.sort(key=lambda offer: (-offer[0], offer[1], offer[2]))
        for score, name, drawn, pairing in offers:
            if name not in undecided or drawn in taken:
                continue
            equals = tuple(o[2] for o in offers if o[1] == name and o[0] == score and o[2] not in taken)
            alignment.same[name] = drawn
            alignment.guessed = alignment.guessed or score < 2
            if len(equals) > 1:
                alignment.alternatives[name] = (drawn, *(other for other in equals if other != drawn))
            for mine, its in pairing:
                alignment.alias[f"{name}.{mine}"] = f"{drawn}.{its}"
                weights.add(f"{drawn}.{its}", f"{name}.{mine}", 1.0)
            taken.add(drawn)
            del undecided[name]
            progress = True


def _only_ones(
    undecided: Mapping[str, Part],
    absent: Mapping[str, Part],
    taken: set[str],
    found: Found,
    stock_nets: Nets,
    found_nets: Nets,
) -> list[tuple[float, str, str, tuple[tuple[str, str], ...]]]:
    """Where nothing near is identified: a part that is the only one of its kind, value and number of wires.

    Two parts of lost markings that are wired to each other alone have no neighbour to go by.
    """

    def sort(part: Part, nets: Nets) -> tuple[object, ...]:
        wires = sorted(
            (lug.name if part.kind.polarised else "", len(nets.members[net]))
            for lug in part.kind.terminals
            if (net := nets.index.get(f"{part.designator}.{lug.name}")) is not None and len(nets.members[net]) > 1
        )
        return part.kind.name, part.kind.type, part.value, *wires

    mine: dict[tuple[object, ...], list[str]] = defaultdict(list)
    theirs: dict[tuple[object, ...], list[str]] = defaultdict(list)
    for name, part in undecided.items():
        mine[sort(part, found_nets)].append(name)
    for name, part in absent.items():
        if name not in taken and name not in found.missing:
            theirs[sort(part, stock_nets)].append(name)
    return [
        (0.5, names[0], theirs[key][0], next(iter(pairings(undecided[names[0]]))))
        for key, names in mine.items()
        if len(key) > 3 and len(names) == 1 and len(theirs.get(key, ())) == 1
    ]


def series(
    stock: Circuit, found: Found, stock_nets: Nets, found_nets: Nets, weights: Weights, alignment: Alignment
) -> None:
    """Two two-ended parts in series whose order is exchanged are the same chain: let each stand for the other.

    ``A -- R1 -- R2 -- B`` and ``A -- R2 -- R1 -- B`` differ only in what lies between the two, and
    nothing else is there.
    """
    likeness: Mapping[int, int] = {}
    for members in stock_nets.members:
        if len(members) != 2:
            continue
        names = [part_of(where) for where in members]
        if "" in names or names[0] == names[1]:
            continue
        inner = [_other_end(stock.parts.get(name), where) for name, where in zip(names, members, strict=True)]
        seen = [found.circuit.parts.get(name) for name in names]
        if None in inner or None in seen or any(name in alignment.same.values() for name in names):
            continue
        mine = [[f"{part.designator}.{end}" for end in part.kind.ends] for part in seen if part and part.kind.ends]
        if len(mine) != 2:
            continue
        middle = [
            (a, b)
            for a in mine[0]
            for b in mine[1]
            if a in found_nets.index
            and found_nets.index[a] == found_nets.index.get(b)
            and len([w for w in found_nets.members[found_nets.index[a]] if not part_of(w).startswith("TB")]) == 2
        ]
        if len(middle) != 1:
            continue
        likeness = likeness or best_match(weights)
        outer = [next(w for w in ends if w not in middle[0]) for ends in mine]
        there = [_fellows(found_nets, where, names, alignment, likeness) for where in outer]
        here = [_fellows(stock_nets, str(where), names) for where in inner]
        straight = len(there[0] & here[0]) + len(there[1] & here[1])
        crossed = len(there[0] & here[1]) + len(there[1] & here[0])
        if crossed > straight:
            for i in (0, 1):
                alignment.alias[outer[i]] = str(inner[1 - i])
                alignment.alias[middle[0][i]] = members[1 - i]
            alignment.reordered.append((names[0], names[1]))


def _other_end(part: Part | None, where: Point) -> Point | None:
    if part is None or part.kind.ends is None or part.kind.polarised:
        return None
    ends = [f"{part.designator}.{end}" for end in part.kind.ends]
    return ends[1 - ends.index(where)] if where in ends else None


def _fellows(
    nets: Nets,
    where: Point,
    without: list[str],
    alignment: Alignment | None = None,
    likeness: Mapping[int, int] | None = None,
) -> set[Point]:
    """What else is on the net of a point, under stock names; a large net stands for itself, by its stock number."""
    number = nets.index.get(where)
    if number is None:
        return set()
    members = nets.members[number]
    if len(members) > 40:
        return {f"net {number if likeness is None else likeness.get(number, -1)}"}
    names = members if alignment is None else [alignment(other) for other in members]
    return {other for other in names if part_of(other) not in without}


def _offers(
    part: Part,
    absent: Mapping[str, Part],
    taken: set[str],
    on_net: Mapping[int, list[str]],
    stock_nets: Nets,
    found_nets: Nets,
    likeness: Mapping[int, frozenset[int]],
) -> Iterator[tuple[float, str, tuple[tuple[str, str], ...]]]:
    homes = {
        lug.name: likeness.get(found_nets.index.get(f"{part.designator}.{lug.name}", -1), frozenset[int]())
        for lug in part.kind.terminals
    }
    lists = [on_net[net] for net in frozenset[int]().union(*homes.values()) if net in on_net]
    if not lists:
        return
    landed = sum(
        1
        for lug in part.kind.terminals
        if (net := found_nets.index.get(f"{part.designator}.{lug.name}")) is not None
        and len(found_nets.members[net]) > 1
    )
    nearby = dict.fromkeys(name for names in sorted(lists, key=len)[:2] for name in names[:400])
    for name in nearby:
        drawn = absent[name]
        if name in taken or drawn.kind.name != part.kind.name or drawn.kind.type != part.kind.type:
            continue
        wired = [
            lug.name
            for lug in drawn.kind.terminals
            if len(stock_nets.members[stock_nets.index[f"{name}.{lug.name}"]]) > 1
        ]
        if not wired:
            continue
        value_fits = within_tolerance(drawn, part.value)
        for pairing in pairings(drawn):
            agree = sum(
                1 for mine, its in pairing if its in wired and stock_nets.index[f"{name}.{its}"] in homes.get(mine, ())
            )
            if (agree == len(wired) >= landed) or (value_fits and agree >= 1 and agree * 2 >= len(wired)):
                whole = agree == len(wired) >= landed
                yield (1.0 if whole else 0.5 * agree / len(wired)) + (1.0 if whole and value_fits else 0), name, pairing
                break


def pairings(part: Part) -> Iterable[tuple[tuple[str, str], ...]]:
    """The ways in which the part's terminals can stand for themselves: as named, and each swap alone."""
    names = [lug.name for lug in part.kind.terminals]
    yield tuple((name, name) for name in names)
    for first, second in part.kind.swaps:
        trade = {**dict(zip(first, second, strict=True)), **dict(zip(second, first, strict=True))}
        yield tuple((name, trade.get(name, name)) for name in names)
