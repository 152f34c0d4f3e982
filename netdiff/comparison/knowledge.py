"""What is known of the wiring as found, and what is not.

Two points that the file joins are joined. Two points are known apart when the net of one is
*closed* and the other is not in it, or when a meter said open. Everything else nobody looked at:
the comparison completes it as the drawing has it, so that what nobody looked at can never turn
into a finding.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from netdiff.circuit import Circuit, Found, Point, is_net, part_of
from netdiff.nets import Nets, Union, joints


def closed_nets(found: Found, nets: Nets, stock: Nets, traced: frozenset[Point]) -> list[bool]:
    """For each found net, whether everything on it is known.

    A net is closed when no lead of it went unfollowed, every terminal in it is traced, and for each
    stock net name in it, and each terminal that was said to be as drawn, every terminal of that
    stock net is traced too.
    """
    whole: dict[int, bool] = {}

    def all_traced(number: int | None) -> bool:
        if number is None:
            return True
        if number not in whole:
            whole[number] = all(other in traced for other in stock.members[number] if not is_net(other))
        return whole[number]

    def known(where: Point) -> bool:
        if where in found.unfollowed:
            return False
        if is_net(where):
            return all_traced(stock.index.get(where))
        if where not in traced:
            return False
        as_drawn = where in found.as_drawn or part_of(where) in found.as_drawn
        return not as_drawn or all_traced(stock.index.get(where))

    return [all(known(where) for where in net) for net in nets.members]


def complete(
    nets: Nets,
    closed: list[bool],
    compared: Mapping[Point, int],
    apart: Iterable[tuple[Point, Point]],
    traced: frozenset[Point],
) -> tuple[dict[Point, int], set[Point], set[Point]]:
    """The found nets, completed as drawn wherever nothing speaks against it.

    A terminal that is found alone among several of another stock net is over there, and does not pull
    its own net with it: what else would join the two nobody has seen. ``compared`` are the stock
    points that take part, with their stock net. Returns the completed net of every point, the points
    that stand on their own only because nobody looked at them while the rest of their stock net is
    closed, and those over there of which nobody knows whether they left their own.
    """
    union = Union()
    for net in nets.members:
        union.add(net[0])
        for where in net[1:]:
            union.join(net[0], where)
    barred: dict[Point, set[Point]] = {}
    for a, b in apart:
        barred.setdefault(a, set()).add(b)
        barred.setdefault(b, set()).add(a)

    crowd: dict[int, dict[int, int]] = {}
    for where, number in compared.items():
        home = nets.index.get(where)
        if home is not None:
            here = crowd.setdefault(home, {})
            here[number] = here.get(number, 0) + (2 if is_net(where) else 1)

    def gone_over(where: Point, home: int, number: int) -> bool:
        """A terminal alone of its stock net among several of another, or on another's name: it is over there."""
        if is_net(where) or crowd[home][number] > 1:
            return False
        return any(count > 1 for other, count in crowd[home].items() if other != number)

    left_over: set[Point] = set()
    perhaps: set[Point] = set()
    by_net: dict[int, list[Point]] = {}
    for where, number in compared.items():
        by_net.setdefault(number, []).append(where)
    for number, points in by_net.items():
        groups: list[list[Point]] = []
        unseen: list[Point] = []
        for where in points:
            home = nets.index.get(where)
            if home is None:
                if not is_net(where):
                    unseen.append(where)
                continue
            if closed[home]:
                continue
            if gone_over(where, home, number):
                if where not in traced:
                    perhaps.add(where)
                continue
            for group in groups:
                if not _kept_apart(union, barred, group, where):
                    union.join(group[0], where)
                    group.append(where)
                    break
            else:
                groups.append([where])
        if not unseen:
            continue
        # What nobody looked at goes with the net's own name, else with the larger share.
        host = max(groups, key=lambda group: (any(map(is_net, group)), len(group)))[0] if groups else unseen[0]
        if not groups and any(where in nets.index for where in points):
            left_over.update(unseen)
        for where in unseen:
            union.join(host, where)
    completed = Nets.from_union(union)
    return completed.index, left_over, perhaps


def _kept_apart(union: Union, barred: Mapping[Point, set[Point]], group: list[Point], where: Point) -> bool:
    if not barred:
        return False
    here = {union.find(a) for a in group}
    there = union.find(where)
    for a, others in barred.items():
        home = union.find(a)
        for b in others:
            away = union.find(b)
            if (home in here and away == there) or (away in here and home == there):
                return True
    return False


def meter_says_apart(found: Found) -> list[tuple[Point, Point]]:
    """Pairs between which the ohmmeter read open, power off."""
    return [
        (reading.a, reading.b or found.circuit.ground)
        for reading in found.circuit.readings
        if reading.quantity == "ohms" and reading.open and reading.state == "rest"
    ]


def looked_at_parts(stock: Circuit, found: Found) -> frozenset[str]:
    """Wired stock parts of which every terminal was traced although no line of the file connects one of them."""
    wired = {where.partition(".")[0] for pair in joints(stock.runs) for where in pair if pair[0] != pair[1]}
    used = {where.partition(".")[0] for run in found.circuit.runs for where in (run.a, run.b) if "." in where}
    used |= {where.partition(".")[0] for run in found.circuit.runs if run.braid for where in run.braid if "." in where}
    return frozenset(
        name
        for name, part in stock.parts.items()
        if name in wired
        and name not in used
        and name not in found.missing
        and name not in found.mentioned
        and name not in found.as_drawn
        and part.kind.terminals
        and all(where in found.traced for where in part.points())
    )
