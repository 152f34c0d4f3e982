"""Which found terminal is which stock terminal.

A designator and a terminal name usually say it. Three things they do not say: which end of a
resistor is which, which half of a twin tube serves which stage, and which stock part an
unidentified part (``?R7``) is. All three are settled by where the terminals connect.
"""

from __future__ import annotations

import heapq
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from netdiff.circuit import Circuit, Found, Part, Point, Swap, is_net, part_of
from netdiff.comparison.correspondence import corresponding
from netdiff.comparison.limits import within_tolerance
from netdiff.comparison.nets import Nets

Pair = tuple[int, int]
"""A stock net and a found net."""


@dataclass(slots=True)
class Alignment:
    """``alias`` maps a found terminal to the stock terminal it stands for, where the names differ."""

    alias: dict[Point, Point] = field(default_factory=dict)
    same: dict[str, str] = field(default_factory=dict)
    """Unidentified part -> the stock part it is."""
    alternatives: dict[str, tuple[str, ...]] = field(default_factory=dict)
    """Unidentified part -> all stock parts that it could equally well be, the chosen one first."""
    guessed: bool = False
    """Some part was identified although its value differs, or not all of it sits where it belongs."""
    reordered: list[tuple[str, str]] = field(default_factory=list)
    """Parts in series found in exchanged order."""
    turned: list[tuple[str, Swap]] = field(default_factory=list)
    """Interchangeable groups of terminals (halves of a tube, poles of a switch) found exchanged."""

    def __call__(self, where: Point) -> Point:
        return self.alias.get(where, where)


@dataclass(slots=True)
class _Choice:
    """One pair of exchangeable terminal groups of one part: stock points and found points, still undecided."""

    part: str
    swap: Swap
    first: list[Point]
    second: list[Point]
    bias: float = 0.0
    """What speaks for the straight reading when nothing else does: wired ends stay wired ends."""
    decided: bool = False


class _Weights:
    """How strongly each stock net and each found net look like one another."""

    def __init__(self, stock: Nets, found: Nets) -> None:
        self.stock, self.found = stock.index, found.index
        self.weight: dict[Pair, float] = defaultdict(float)

    def add(self, drawn: Point, seen: Point, amount: float) -> None:
        s, f = self.stock.get(drawn), self.found.get(seen)
        if s is not None and f is not None:
            self.weight[s, f] += amount

    def get(self, drawn: Point, seen: Point) -> float:
        s, f = self.stock.get(drawn), self.found.get(seen)
        return self.weight.get((s, f), 0.0) if s is not None and f is not None else 0.0


def align(stock: Circuit, found: Found, stock_nets: Nets, found_nets: Nets, *, guess: bool = True) -> Alignment:
    """Near linear: every choice is decided once, the clearest first, and tells its neighbours.

    With ``guess`` an unidentified part is taken for a stock part even where its value differs, or where
    only half of its leads are where that part's belong; without, everything must agree.
    """
    weights = _Weights(stock_nets, found_nets)
    choices: list[_Choice] = []
    seen = _connected(found, found_nets)
    for name, part in found.circuit.parts.items():
        drawn = stock.parts.get(name)
        if drawn is None:
            continue
        free = _free_swaps(drawn, part)
        moving = {terminal for swap in free for group in swap for terminal in group}
        for lug in part.kind.terminals:
            here = f"{name}.{lug.name}"
            if lug.name not in moving and here in seen and not lug.tie:
                weights.add(here, here, 0.97 if easily_reversed(part) else 1.0)
        for swap in free:
            choice = _Choice(name, swap, [f"{name}.{t}" for t in swap[0]], [f"{name}.{t}" for t in swap[1]])
            choice.bias = _bias(choice, stock_nets, found_nets)
            choices.append(choice)
            _weigh(weights, choice, seen)
    for where in found_nets.index:
        if is_net(where) and where in stock_nets.index:
            weights.add(where, where, 2.0)
    alignment = Alignment()
    _other_kinds(stock, found, weights, seen, alignment)
    _decide(choices, weights, seen, stock_nets, alignment, leave_open=True)
    _identify(stock, found, stock_nets, found_nets, weights, alignment, guess)
    _decide(choices, weights, seen, stock_nets, alignment)
    _identify(stock, found, stock_nets, found_nets, weights, alignment, guess)
    if alignment.same:
        _revise(choices, weights, seen, alignment)
    _series(stock, found, stock_nets, found_nets, weights, alignment)
    return alignment


def _other_kinds(stock: Circuit, found: Found, weights: _Weights, seen: set[Point], alignment: Alignment) -> None:
    """Where another kind of part stands in a stock part's place: terminal for terminal by function, then by wiring."""
    for name, part in found.circuit.parts.items():
        drawn = stock.parts.get(name)
        if drawn is None or part.kind is drawn.kind or part.kind.any_terminal or drawn.kind.any_terminal:
            continue
        taken: set[str] = set()
        for mine, choices in corresponding(drawn.kind, part.kind).items():
            here = f"{name}.{mine}"
            free = [its for its in choices if its not in taken]
            if not free:
                continue
            best = max(free, key=lambda its: weights.get(f"{name}.{its}", here))
            taken.add(best)
            alignment.alias[here] = f"{name}.{best}"
            if here in seen:
                weights.add(f"{name}.{best}", here, 1.0)


def easily_reversed(part: Part) -> bool:
    """Of two equal readings, that one holds in which the easily reversed or exchanged part is the one that was."""
    plugged = part.kind.plugs and part.kind.ends is not None
    return part.kind.polarised or plugged or bool({"J", "P"} & set(part.kind.letters))


def _connected(found: Found, nets: Nets) -> set[Point]:
    """Points that carry knowledge: something lands there, or it was looked at."""
    out = {where for net in nets.members if len(net) > 1 for where in net}
    out.update(found.traced)
    return out


def _free_swaps(drawn: Part, part: Part) -> list[Swap]:
    """Swaps that both kinds have and that do not share terminals with one taken before."""
    taken: set[str] = set()
    free = []
    for swap in drawn.kind.swaps:
        terminals = {*swap[0], *swap[1]}
        if terminals & taken or (part.kind is not drawn.kind and swap not in part.kind.swaps):
            continue
        taken |= terminals
        free.append(swap)
    return free


def _weigh(weights: _Weights, choice: _Choice, seen: set[Point]) -> None:
    for a, b in zip(choice.first, choice.second, strict=True):
        for drawn in (a, b):
            for here in (a, b):
                if here in seen:
                    weights.add(drawn, here, 0.5)


def _margin(weights: _Weights, choice: _Choice) -> float:
    straight = crossed = 0.0
    for a, b in zip(choice.first, choice.second, strict=True):
        straight += weights.get(a, a) + weights.get(b, b)
        crossed += weights.get(a, b) + weights.get(b, a)
    return straight - crossed + choice.bias


LEAST = 0.05
"""From here on something speaks for one reading."""


def _bias(choice: _Choice, stock_nets: Nets, found_nets: Nets) -> float:
    def wired(nets: Nets, where: Point) -> bool:
        number = nets.index.get(where)
        return number is not None and len(nets.members[number]) > 1

    score = 0
    for a, b in zip(choice.first, choice.second, strict=True):
        drawn, seen = (wired(stock_nets, a), wired(stock_nets, b)), (wired(found_nets, a), wired(found_nets, b))
        score += (drawn == seen) - (drawn == seen[::-1])
    return 0.02 * max(-1, min(1, score))


def _decide(
    choices: list[_Choice],
    weights: _Weights,
    seen: set[Point],
    stock_nets: Nets,
    alignment: Alignment,
    *,
    leave_open: bool = False,
) -> None:
    """Decide every choice, the clearest first; with ``leave_open`` only those for which something speaks."""
    on_net: dict[int, list[int]] = defaultdict(list)
    for number, choice in enumerate(choices):
        for where in (*choice.first, *choice.second):
            net = stock_nets.index.get(where)
            if net is not None:
                on_net[net].append(number)
    heap = [(-abs(_margin(weights, c)), n) for n, c in enumerate(choices) if not c.decided]
    heapq.heapify(heap)
    while heap:
        pressed, number = heapq.heappop(heap)
        choice = choices[number]
        if choice.decided:
            continue
        margin = _margin(weights, choice)
        if abs(margin) < -pressed - 1e-9:
            heapq.heappush(heap, (-abs(margin), number))
            continue
        if leave_open and abs(margin) < LEAST:
            break
        choice.decided = True
        crossed = margin < -1e-9
        for a, b in zip(choice.first, choice.second, strict=True):
            for drawn in (a, b):
                for here in (a, b):
                    if here in seen:
                        fits = (drawn == here) != crossed
                        weights.add(drawn, here, 0.5 if fits else -0.5)
            if crossed:
                alignment.alias[a], alignment.alias[b] = b, a
        if crossed:
            alignment.turned.append((choice.part, choice.swap))
        for where in (*choice.first, *choice.second):
            neighbours = on_net.get(stock_nets.index.get(where, -1), [])
            if len(neighbours) <= 40:
                for other in neighbours:
                    if not choices[other].decided:
                        heapq.heappush(heap, (-abs(_margin(weights, choices[other])), other))


def _revise(choices: list[_Choice], weights: _Weights, seen: set[Point], alignment: Alignment) -> None:
    """Turn a part round after all where the parts identified since then ask for it."""
    for choice in choices:
        pairs = list(zip(choice.first, choice.second, strict=True))
        crossed = alignment.alias.get(choice.first[0]) == choice.second[0]
        own = sum((a in seen) + (b in seen) for a, b in pairs)
        straight = sum(weights.get(a, a) + weights.get(b, b) for a, b in pairs)
        turned = sum(weights.get(a, b) + weights.get(b, a) for a, b in pairs)
        now, then = (turned, straight) if crossed else (straight, turned)
        if then <= now - own + 1e-9:
            continue
        for a, b in pairs:
            for drawn, here in ((a, a), (b, b), (a, b), (b, a)):
                if here in seen:
                    weights.add(drawn, here, 1.0 if (drawn == here) == crossed else -1.0)
            if crossed:
                del alignment.alias[a], alignment.alias[b]
            else:
                alignment.alias[a], alignment.alias[b] = b, a
        entry = (choice.part, choice.swap)
        if crossed:
            alignment.turned.remove(entry)
        else:
            alignment.turned.append(entry)


def _identify(
    stock: Circuit,
    found: Found,
    stock_nets: Nets,
    found_nets: Nets,
    weights: _Weights,
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
        likeness = _best_matches(weights)
        offers: list[tuple[float, str, str, tuple[tuple[str, str], ...]]] = []
        for name, part in undecided.items():
            for score, drawn, pairing in _offers(part, absent, taken, on_net, stock_nets, found_nets, likeness):
                # Of a part that is said to be missing, half the evidence is not enough.
                if score >= (1 if guess else 2) or (guess and drawn not in found.missing):
                    offers.append((score, name, drawn, pairing))
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


def _series(
    stock: Circuit, found: Found, stock_nets: Nets, found_nets: Nets, weights: _Weights, alignment: Alignment
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
        likeness = likeness or _best_match(weights)
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


def _best_match(weights: _Weights) -> Mapping[int, int]:
    """Found net -> the stock net it looks most like."""
    best: dict[int, tuple[float, int]] = {}
    for (s, f), amount in weights.weight.items():
        if amount > 1e-9 and (f not in best or (amount, -s) > (best[f][0], -best[f][1])):
            best[f] = (amount, s)
    return {f: s for f, (_, s) in best.items()}


def _best_matches(weights: _Weights) -> Mapping[int, frozenset[int]]:
    """Found net -> the stock nets that it looks most like, all that are equally good."""
    most: dict[int, float] = {}
    for (_, f), amount in weights.weight.items():
        if amount > most.get(f, 1e-9):
            most[f] = amount
    best: dict[int, set[int]] = defaultdict(set)
    for (s, f), amount in weights.weight.items():
        if f in most and amount > most[f] - 1e-9:
            best[f].add(s)
    return {f: frozenset(nets) for f, nets in best.items()}


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
