"""Parts that go, come or are replaced, and what goes with them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping

from netdiff.circuit import OPEN, Part, Point, part_of
from netdiff.nets import Union
from netdiff.worklist.bench import Strand, natural
from netdiff.worklist.draft import Draft, Intent
from netdiff.worklist.goal import Goal, in_one_can


def add_parts(draft: Draft) -> None:
    """One intent a part: foreign parts out, wrong parts replaced or exchanged, missing parts in.

    Foreign parts that are soldered to each other come out in one piece, and with the part in whose place the drawing's
    goes if they hang on that.
    """
    goal = draft.goal
    keys: dict[str, set[str]] = defaultdict(set)
    for key, raw in goal.raw.items():
        if raw.sort in ("part", "state") and len(raw.parts) == 1:
            keys[raw.parts[0]].add(key)
    alone, hanging = _soldered_together(draft)
    for names in alone:
        gone = {key for name in names for key in keys[name]}
        draft.of_part |= dict.fromkeys(names, draft.add(Intent("remove", names, off_parts=names.copy(), keys=gone)))
    exchanged = _exchanged(goal)
    for name in sorted(goal.replace, key=natural):
        if name in draft.of_part:
            continue
        names = [name, exchanged[name]] if name in exchanged else [name]
        intent = Intent(
            "exchange" if name in exchanged else "replace",
            names,
            on_parts=[goal.parts[one] for one in names],
            off_parts=[one for one in names if one in goal.stock_name],
            keys={key for one in names for key in keys[one]} or _of_the_can(goal, name, keys),
        )
        for one in hanging.get(name, ()):
            intent.off_parts.append(one)
            intent.keys |= keys[one]
        draft.of_part |= dict.fromkeys([*names, *hanging.get(name, ())], draft.add(intent))
    for name in sorted(goal.fit, key=natural):
        intent = Intent("fit", [name], on_parts=[goal.parts[name]], keys=set(keys[name]))
        draft.of_part[name] = draft.add(intent)


def _soldered_together(draft: Draft) -> tuple[list[list[str]], dict[str, list[str]]]:
    """Foreign parts that come out, those soldered to each other together; and those that hang on a foreign part which
    is replaced by the drawing's, by that part."""
    goal = draft.goal
    hosts = {name for name in goal.replace if name in goal.stock_name and not goal.parts[name].kind.plugs}
    union = Union()
    for name in goal.remove:
        union.add(name)
    for run in draft.bench.runs.values():
        first, second = part_of(run.a), part_of(run.b)
        if first != second and first in goal.remove and second in goal.remove:
            union.join(first, second)
    on: dict[str, str] = {}
    for run in sorted(draft.bench.runs.values(), key=lambda run: (natural(run.a), natural(run.b))):
        for mine, other in ((part_of(run.a), part_of(run.b)), (part_of(run.b), part_of(run.a))):
            if mine in hosts and other in goal.remove:
                on.setdefault(union.find(other), mine)
    groups: dict[str, list[str]] = defaultdict(list)
    for name in sorted(goal.remove, key=natural):
        groups[union.find(name)].append(name)
    alone = [names for home, names in groups.items() if home not in on]
    hanging: dict[str, list[str]] = defaultdict(list)
    for home, host in on.items():
        hanging[host] += groups[home]
    return alone, hanging


def _of_the_can(goal: Goal, name: str, keys: Mapping[str, set[str]]) -> set[str]:
    """What speaks against a section by which nothing else is wrong: the other sections of its can."""
    return {key for other in in_one_can(name, goal.parts) if other in goal.spoilt for key in keys[other]}


def _exchanged(goal: Goal) -> dict[str, str]:
    """Plugged-in parts of which each is what the other should be."""

    def kind(part: Part) -> tuple[str, str]:
        return part.kind.name, part.kind.type

    out: dict[str, str] = {}
    wrong = [n for n in sorted(goal.replace, key=natural) if goal.parts[n].kind.plugs and f"kind:{n}" in goal.raw]
    for name in wrong:
        for other in wrong:
            if name in out or other in out or other == name:
                continue
            mine, its = goal.unit.parts[name], goal.unit.parts[other]
            if kind(goal.parts[name]) == kind(its) and kind(goal.parts[other]) == kind(mine):
                out[name], out[other] = other, name
    return out


def going_with_parts(draft: Draft) -> set[Strand]:
    """Mark the runs that end on a part that goes, or on a terminal that the right part lacks; their strands."""
    owner = {where: number for where in draft.bench.at if (number := _owner(draft, where)) is not None}
    going: set[int] = set()
    lifted: set[int] = set()
    for number, run in draft.bench.runs.items():
        chief = next((owner[end] for end in (run.a, run.b) if end in owner), None)
        if chief is not None:
            draft.intents[chief].off.append(number)
            going.add(number)
            continue
        for end, where in enumerate(run.braid or ()):
            if where in owner:
                draft.intents[owner[where]].braids[number, end] = OPEN
                lifted.add(number)
    every = list(draft.bench.strands())
    return {s for s in every if s.run in going or (s.braid and s.run in lifted)}


def _owner(draft: Draft, where: Point) -> int | None:
    goal, name = draft.goal, part_of(where)
    if name in goal.remove:
        return draft.of_part[name]
    if name in goal.replace and where not in goal.label and where not in goal.usable:
        lacks = goal.parts[name].kind.lug(where.partition(".")[2]) is None
        return draft.of_part[name] if lacks else None
    return None


def add_ties(draft: Draft, going: Iterable[Strand]) -> None:
    """Where parts that go tied nets together: the raw joins of the blocks round such a spot are cleared by them."""
    spot = Union()
    round_it: dict[Point, set[Point]] = defaultdict(set)
    owner: dict[Point, int] = {}
    for strand in going:
        mine = [w for w in (strand.a, strand.b) if _owner(draft, w) is not None]
        owner |= {w: draft.of_part[part_of(w)] for w in mine}
        if len(mine) == 2:
            spot.join(*mine)
        elif mine:
            round_it[mine[0]].add(strand.b if mine[0] == strand.a else strand.a)
    near: dict[Point, set[Point]] = defaultdict(set)
    for here, others in round_it.items():
        near[spot.find(here)] |= others
    for where, number in owner.items():
        others = near[spot.find(where)]
        if len({draft.net_of[w] for w in others if w in draft.net_of}) > 1:
            draft.intents[number].unties = True
            draft.intents[number].keys |= draft.keys("join", {b for w in others for b in draft.blocks_at(w)})
