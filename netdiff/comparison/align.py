"""Which found terminal is which stock terminal.

A designator and a terminal name usually say it. Three things they do not say: which end of a
resistor is which, which half of a twin tube serves which stage, and which stock part an
unidentified part (``?R7``) is. All three are settled by where the terminals connect.
"""

from __future__ import annotations

import heapq
from collections import defaultdict
from dataclasses import dataclass

from netdiff.circuit import Circuit, Found, Part, Point, Swap, is_net
from netdiff.comparison.correspondence import corresponding
from netdiff.comparison.identity import identify, series
from netdiff.comparison.likeness import Alignment, Weights
from netdiff.nets import Nets


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


def align(
    stock: Circuit, found: Found, stock_nets: Nets, found_nets: Nets, *, guess: bool = True, blame: str = ""
) -> Alignment:
    """Near linear: every choice is decided once, the clearest first, and tells its neighbours.

    With ``guess`` an unidentified part is taken for a stock part even where its value differs, or where
    only half of its leads are where that part's belong; without, everything must agree. With ``blame``
    ``sockets`` (switches and transformers too), or ``parts`` (resistors and capacitors), count as easily
    miswired or exchanged, so that what was done to them is not read as several leads of others moved.
    """
    weights = Weights(stock_nets, found_nets)
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
                weights.add(here, here, 0.97 if easily_reversed(part, blame) else 1.0)
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
    identify(stock, found, stock_nets, found_nets, weights, alignment, guess)
    _decide(choices, weights, seen, stock_nets, alignment)
    identify(stock, found, stock_nets, found_nets, weights, alignment, guess)
    if alignment.same:
        _revise(choices, weights, seen, alignment)
    series(stock, found, stock_nets, found_nets, weights, alignment)
    return alignment


def _other_kinds(stock: Circuit, found: Found, weights: Weights, seen: set[Point], alignment: Alignment) -> None:
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


def easily_reversed(part: Part, blame: str = "") -> bool:
    """Of two equal readings, that one holds in which the easily reversed or exchanged part is the one that was."""
    plugged = part.kind.plugs and part.kind.ends is not None
    several = (blame == "sockets" and len(part.kind.terminals) > 2) or (
        blame == "parts" and part.kind.family in ("resistor", "capacitor")
    )
    return part.kind.polarised or plugged or several or bool({"J", "P"} & set(part.kind.letters))


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


def _weigh(weights: Weights, choice: _Choice, seen: set[Point]) -> None:
    for a, b in zip(choice.first, choice.second, strict=True):
        for drawn in (a, b):
            for here in (a, b):
                if here in seen:
                    weights.add(drawn, here, 0.5)


def _margin(weights: Weights, choice: _Choice) -> float:
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
    weights: Weights,
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


def _revise(choices: list[_Choice], weights: Weights, seen: set[Point], alignment: Alignment) -> None:
    """Turn a part round after all where the parts identified since then ask for it."""
    for choice in choices:
        pairs = list(zip(choice.first, choice.second, strict=True))
        if all(weights.found.get(a) == weights.found.get(b) for a, b in pairs):
            continue  # bridged: nothing can tell its ends apart
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
