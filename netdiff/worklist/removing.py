"""Parts that go, come or are replaced, and what goes with them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from netdiff.circuit import OPEN, Part, Point, part_of
from netdiff.nets import Union
from netdiff.worklist.bench import Strand, natural
from netdiff.worklist.draft import Draft, Intent
from netdiff.worklist.goal import Goal, in_one_can


def add_parts(draft: Draft) -> None:
    """One intent a part: foreign parts out, wrong parts replaced or exchanged, missing parts in."""
    goal = draft.goal
    keys: dict[str, set[str]] = defaultdict(set)
    for key, raw in goal.raw.items():
        if raw.sort in ("part", "state") and len(raw.parts) == 1:
            keys[raw.parts[0]].add(key)
    for name in sorted(goal.remove, key=natural):
        draft.of_part[name] = draft.add(Intent("remove", [name], off_parts=[name], keys=set(keys[name])))
    exchanged = _exchanged(goal)
    for name in sorted(goal.replace, key=natural):
        if name in draft.of_part:
            continue
        names = [name, exchanged[name]] if name in exchanged else [name]
        if goal.spoilt & {name, *(sections := in_one_can(name, goal.parts))}:
            names = sorted({name, *(one for one in sections if one in goal.replace)}, key=natural)
        intent = Intent(
            "exchange" if name in exchanged else "replace",
            names,
            on_parts=[goal.parts[one] for one in names],
            off_parts=[one for one in names if one in goal.stock_name],
            keys={key for one in names for key in keys[one]},
        )
        draft.of_part |= dict.fromkeys(names, draft.add(intent))
    for name in sorted(goal.fit, key=natural):
        intent = Intent("fit", [name], on_parts=[goal.parts[name]], keys=set(keys[name]))
        draft.of_part[name] = draft.add(intent)


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
