"""How short the work list is, and whether it keeps its laws.

    python -m tests.bench.work [--units 500] [--seed 1] [--parts 10000]

Takes the circuits of ``netlists/`` and generated ones, applies one to eight random modifications
(``tests/modifier.py``), makes the work list, and carries it out in the model. Prints in how many units each law holds,
the number of steps beside the number of raw differences and beside a lower bound, how many steps a reading proves, and
in how many of those a step done wrong would be seen; then the time for a large unit with fifty modifications.

The lower bound counts what no list can do without, from the wiring alone: a hand for every part that comes, goes or is
another (those soldered to each other as one), and for every net the fewest conductors that must come off or go on, a
moved lead doing both.
"""

from __future__ import annotations

import argparse
import random
import time
from collections import Counter, defaultdict
from collections.abc import Mapping
from dataclasses import replace
from math import inf
from pathlib import Path
from typing import NamedTuple

import networkx as nx

from netdiff.circuit import OPEN, UNFOLLOWED, Circuit, Part, Remark, Run, part_of
from netdiff.comparison import Comparison, compare, compare_circuits
from netdiff.comparison.merged import scene_of
from netdiff.electrical import Ohmmeter
from netdiff.language import read_unit_text
from netdiff.nets import Union
from netdiff.worklist import Step, WorkList, apply, worklist
from netdiff.worklist.goal import Goal
from netdiff.worklist.limits import apart
from netdiff.worklist.listing import goal_of
from netdiff.worklist.ohms import whole_unit
from netdiff.worklist.progress import waits_for
from tests.bench.modified import models
from tests.bench.scale import pair
from tests.circuits import names_used
from tests.modifier import modified, write

LOOKS = {"discharge", "inspect", "tighten", "clean", "resolder", "set"}
"""Actions that leave the wiring as it is."""


def unit_of(number: int, seed: int, circuits: list) -> Comparison | None:  # type: ignore[type-arg]
    model = circuits[number % len(circuits)]
    stock = model.circuit(frozenset(list(model.productions)[-1:]))
    most = max(1, len(stock.parts) // 8)
    text = write(modified(stock, seed * 1_000_003 + number, min(1 + number % 8, most)), Path(model.file).name)
    unit, faults = read_unit_text(text, model, "bench.found")
    return None if unit is None or faults else compare(unit)


def carried_out(steps: list[Step] | tuple[Step, ...], start: Circuit) -> Circuit:
    for step in steps:
        start = apply(step, start)
    return start


# --- the laws ---------------------------------------------------------------------------------------------------------


class Same(NamedTuple):
    """A circuit as far as it counts: equal ones are the same circuit. Nothing of the comparison is used."""

    nets: Counter[tuple[str, ...]]
    """Terminals that conductors join, and net names that both circuits use; tie points and splices are wiring. The two
    ends of a part that may be turned round bear one name."""
    parts: frozenset[tuple[object, ...]]
    """With the nets of such ends."""
    shields: Counter[tuple[object, ...]]


def as_it_counts(one: Circuit, names: frozenset[str], *, braids: bool = True) -> Same:
    wired = Union()
    for part in one.parts.values():
        for where in part.points():
            wired.add(where)
    for run in one.runs:
        for a, b in ((run.a, run.b), run.braid if braids and run.braid else (OPEN, OPEN)):
            if not {a, b} & {OPEN, UNFOLLOWED}:
                wired.join(a, b)

    def named(where: str) -> str:
        part = one.parts.get(part_of(where))
        lug = part.kind.lug(where.partition(".")[2]) if part is not None else None
        if part is None or lug is None:
            return where if where in names else ""
        if lug.tie:
            return ""
        return f"{part.designator}.end" if _turns(part) and lug.name in (part.kind.ends or ()) else where

    nets: dict[str, tuple[str, ...]] = {}
    for group in wired.groups():
        nets |= dict.fromkeys(group, tuple(sorted(filter(None, map(named, group)))))
    parts = {
        (part.designator, part.kind.name, part.kind.type, part.value, _ends_of(part, nets))
        for part in one.parts.values()
        if "TB" not in part.kind.letters
    }
    shields: Counter[tuple[object, ...]] = Counter()
    for run in one.runs:
        if run.conductor in ("coax", "shielded"):
            ends = zip((run.a, run.b), run.braid or (OPEN, OPEN), strict=True)
            shields[run.conductor, frozenset((nets.get(a, a), nets.get(b, b)) for a, b in ends)] += 1
    shown = Counter(net for group in wired.groups() if (net := nets[group[0]]))
    return Same(shown, frozenset(parts), shields)


def _turns(part: Part) -> bool:
    ends = part.kind.ends
    return ends is not None and ((ends[0],), (ends[1],)) in part.kind.swaps


def _ends_of(part: Part, nets: Mapping[str, tuple[str, ...]]) -> tuple[tuple[str, ...], ...]:
    return tuple(sorted(nets[f"{part.designator}.{end}"] for end in part.kind.ends or ())) if _turns(part) else ()


def ends_at_stock(work: WorkList) -> bool:
    """Done in order, the whole unit (what nobody looked at as drawn) is the drawing's circuit, under its names."""
    scene = scene_of(work.comparison)
    now = carried_out(work.steps, whole_unit(goal_of(work.comparison, scene), scene))
    alias, same = scene.alignment.alias, scene.alignment.same

    def name(where: str) -> str:
        own, _, terminal = where.partition(".")
        return alias.get(where, f"{same[own]}.{terminal}" if own in same and terminal else where)

    def drawn(run: Run) -> Run:
        return replace(run, a=name(run.a), b=name(run.b), braid=run.braid and (name(run.braid[0]), name(run.braid[1])))

    parts = {same.get(own, own): replace(part, designator=same.get(own, own)) for own, part in now.parts.items()}
    now = replace(now, parts=parts, runs=tuple(map(drawn, now.runs)))
    used = names_used(now) & names_used(work.comparison.stock)
    one, other = (as_it_counts(circuit, used) for circuit in (now, work.comparison.stock))
    # Of a shielded run only part may have been looked at: its braid is judged on units that were looked over whole.
    return one.nets == other.nets and one.parts == other.parts


def prefixes_are_sound(work: WorkList) -> bool:
    now = work.comparison.found.circuit
    loose = {end for run in now.runs for end in (run.a, run.b)} - {
        where for part in now.parts.values() for where in part.points()
    }
    for step in work.steps:
        try:
            now = apply(step, now)
        except ValueError:
            return False
        for run in now.runs:
            for end in (run.a, run.b, *(run.braid or ())):
                if (
                    part_of(end)
                    and part_of(end) not in now.parts
                    and end not in loose
                    and not part_of(end).startswith("TB")
                ):
                    return False
    return True


def superfluous(work: WorkList) -> int:
    """Steps whose leaving out ends at the same circuit."""
    start = work.comparison.found.circuit
    end, names, count = carried_out(work.steps, start), names_used(start), 0
    for left_out in work.steps:
        if left_out.action in LOOKS or (left_out.action == "replace" and not _other(left_out, start)):
            continue
        try:
            now = carried_out([step for step in work.steps if step is not left_out], start)
        except ValueError:
            continue
        if _as_made(end) == _as_made(now):
            count += all(
                as_it_counts(end, names, braids=b) == as_it_counts(now, names, braids=b) for b in (True, False)
            )
    return count


def _other(step: Step, start: Circuit) -> bool:
    """Whether the part that goes in differs from the one that comes out: a worn one may be as drawn."""
    return bool(step.change.parts_off or step.change.runs_off or step.change.runs_on) or any(
        (old := start.parts.get(part.designator)) is None or (old.kind, old.value) != (part.kind, part.value)
        for part in step.change.parts_on
    )


def _as_made(one: Circuit) -> Counter[tuple[object, ...]]:
    """What the graphs do not tell: conductors, bare lengths, ratings, construction, the very lug."""
    made: Counter[tuple[object, ...]] = Counter()
    for run in one.runs:
        made[frozenset((run.a, run.b)), run.conductor, run.cable_type, run.gauge, run.bare, run.gaps] += 1  # type: ignore[index]
    for part in one.parts.values():
        made[part.designator, part.words, tuple(sorted(part.ratings.items())), part.conditions, part.measured] += 1
    return made


def any_order(work: WorkList, rng: random.Random) -> bool:
    start = work.comparison.found.circuit
    waits, left, order = waits_for(work), list(work.steps), []
    while left:
        ahead = {step.name for step in left}
        order.append(rng.choice([step for step in left if not ahead & set(waits[step.name])]))
        left.remove(order[-1])
    try:
        ends = [carried_out(steps, start) for steps in (work.steps, order)]
    except ValueError:
        return False
    one, other = (as_it_counts(end, names_used(start)) for end in ends)
    return one == other


def kept_untouched(comparison: Comparison, rng: random.Random) -> bool:
    """One modification kept: no step clears it, none takes its parts, and they are there at the end."""
    if not comparison.findings:
        return True
    chosen = rng.choice(comparison.findings)
    spot = rng.choice([*chosen.parts, *chosen.terminals])
    found = replace(comparison.found, keeps=(Remark((spot,), "stays"),))
    work = worklist(compare_circuits(comparison.stock, found))
    stays = {name for one in work.stays for name in one.findings}
    parts = {part for one in work.stays for part in one.parts} & found.circuit.parts.keys()
    untouched = not any(stays & set(step.reasons) or parts & set(step.change.parts_off) for step in work.steps)
    return bool(work.stays) and untouched and parts <= carried_out(work.steps, found.circuit).parts.keys()


# --- the readings -----------------------------------------------------------------------------------------------------


def readings(work: WorkList) -> Counter[str]:
    """Beside an ohmmeter on the whole circuit at each stage: inside the limits, and outside when done wrong.

    Done wrong: not done at all; each end that was soldered left open, one at a time; the other lead of a part with two
    in place of the right one. A step counts as told where, for each of these that it can be done wrong in and that a
    meter could see at one of its points, some reading of it falls outside its limits.
    """
    out: Counter[str] = Counter()
    scene = scene_of(work.comparison)
    before = whole_unit(goal_of(work.comparison, scene), scene)
    for step in work.steps:
        after = apply(step, before)
        if step.action != "discharge":
            out["steps"] += 1
            told = [proof for proof in step.proofs if proof.reads is not None]
            ohms = [proof for proof in told if proof.expect not in ("value", "dead") and not proof.without]
            out["with a reading"] += bool(told)
            if ohms:
                meter = Ohmmeter(after)
                for proof in ohms:
                    out["readings"] += 1
                    assert proof.reads is not None
                    value = meter.between(proof.a, proof.b).nominal
                    low, high = proof.reads.low * (1 - 1e-6) - 1e-6, proof.reads.high * (1 + 1e-6) + 1e-6
                    out["inside"] += low <= value and (value <= high or value == inf == proof.reads.high)
                for name, wrong in done_wrong(step, before, after).items():
                    out[f"{name}: steps"] += 1
                    other = Ohmmeter(wrong)
                    # On a part that is not in its place there is nothing to put the probe to.
                    seen = any(
                        not (other.has(proof.a) and other.has(proof.b))
                        or (proof.reads is not None and apart(proof.reads, other.between(proof.a, proof.b)))
                        for proof in ohms
                    )
                    out[f"{name}: seen"] += seen or any(proof.expect == "value" for proof in told)
        before = after
    return out


def done_wrong(step: Step, before: Circuit, after: Circuit) -> dict[str, Circuit]:
    out = {}
    if step.action in ("cut", "move", "remove", "solder", "bond", "fit"):
        out["not done"] = before
    on = [run for run in step.change.runs_on if run.joins and run in after.runs]
    if step.action in ("solder", "bond", "run", "fit") and on:
        runs = list(after.runs)
        runs.remove(on[0])
        out["an end open"] = replace(after, runs=tuple(runs))
    if step.action == "move" and len(step.change.runs_off) == len(on) == 1:
        gone, new = step.change.runs_off[0], on[0]
        for mine in {gone.a, gone.b} & {new.a, new.b}:
            part = before.parts.get(part_of(mine))
            if part is None or part.kind.ends is None or not part.kind.hangs:
                continue
            first, last = (f"{part.designator}.{end}" for end in part.kind.ends)
            other = last if mine == first else first
            leads = [run for run in before.runs if other in (run.a, run.b) and run.joins]
            there = new.b if new.a == mine else new.a
            if len(leads) == 1 and there != other:
                runs = [run for run in before.runs if run is not leads[0]]
                out["the other lead"] = replace(before, runs=(*runs, Run(other, there)))
    return out


# --- the bound --------------------------------------------------------------------------------------------------------


def lower_bound(comparison: Comparison) -> int:
    """The fewest hands that can bring the unit to its goal."""
    goal = goal_of(comparison, scene_of(comparison))
    return parts_bound(goal) + wires_bound(goal)


def parts_bound(goal: Goal) -> int:
    """One for every part that comes or is another, one for every bunch of foreign parts soldered to each other; a bunch
    on a part that is replaced goes with it."""
    bunches = nx.Graph()
    bunches.add_nodes_from(goal.remove)
    hosts = {name for name in goal.replace if name in goal.stock_name}
    for run in goal.unit.runs:
        first, second = part_of(run.a), part_of(run.b)
        if {first, second} <= goal.remove | hosts and first != second:
            bunches.add_edge(first, second)
    alone = sum(not (group & hosts) for group in nx.connected_components(bunches))
    wrong = [name for name in goal.replace if goal.parts[name].kind.plugs and f"kind:{name}" in goal.raw]
    return alone + len(goal.fit) + len(goal.replace) - len(wrong) // 2


def wires_bound(goal: Goal) -> int:
    """For every found net that holds n goal nets at least n - 1 conductors off; for every goal net in p pieces at least
    p - 1 on, less what the leads of new parts may do; one moved lead is both."""
    new = goal.fit | goal.replace | goal.remove
    wired = nx.Graph()
    wired.add_nodes_from(where for where in goal.label if part_of(where) not in new)
    for run in goal.unit.runs:
        for a, b in ((run.a, run.b), run.braid or (OPEN, OPEN)):
            if not {a, b} & {OPEN, UNFOLLOWED} and part_of(a) not in new and part_of(b) not in new:
                wired.add_edge(a, b)
    wired.add_edges_from((a, b) for a, b in goal.unseen if part_of(a) not in new and part_of(b) not in new)
    off = 0
    pieces: dict[int, set[int]] = defaultdict(set)
    for number, group in enumerate(nx.connected_components(wired)):
        nets = {goal.label[where] for where in group if where in goal.label}
        off += max(0, len(nets) - 1)
        for net in nets:
            pieces[net].add(number)
    leads = Counter(goal.label[where] for where in goal.label if part_of(where) in new)
    on = sum(max(0, len(its) - 1 - leads[net]) for net, its in pieces.items())
    return max(off, on)


# --- all of it --------------------------------------------------------------------------------------------------------


def run(units: int, seed: int) -> None:
    circuits = models(seed)
    rng = random.Random(seed)
    laws: Counter[str] = Counter()
    told: Counter[str] = Counter()
    steps = raw = bound = extra = done = looks = 0
    seconds = 0.0
    for number in range(units):
        comparison = unit_of(number, seed, circuits)
        if comparison is None:
            continue
        start = time.perf_counter()
        work = worklist(comparison)
        seconds += time.perf_counter() - start
        done += 1
        hands = [step for step in work.steps if step.action != "discharge"]
        looks += sum(step.action in LOOKS or step.action in ("re-dress", "braid") for step in hands)
        steps += len(hands)
        raw += len(comparison.raw)
        bound += lower_bound(comparison)
        over = superfluous(work)
        extra += over
        laws["ends at the drawing"] += ends_at_stock(work)
        laws["every prefix is sound"] += prefixes_are_sound(work)
        laws["no step is superfluous"] += not over
        laws["any order that is allowed ends the same"] += any_order(work, rng)
        laws["a kept modification is untouched"] += kept_untouched(comparison, rng)
        told += readings(work)
    print(
        f"{done} units on {len(circuits)} circuits, one to eight modifications, {seconds / done * 1000:.0f} ms a list"
    )
    for name, count in laws.items():
        print(f"  {name:<42} {count} of {done}")
    of_wiring = steps - looks
    print(f"  {steps} steps ({looks} of them looks, braids and sleeves) for {raw} raw differences: {steps / raw:.2f}")
    print(f"  beside the lower bound of {bound}: {of_wiring / bound:.2f}")
    print(
        f"  a reading proves {told['with a reading']} of {told['steps']} steps "
        f"({told['with a reading'] / told['steps']:.1%});"
    )
    print(f"  the computed value lies inside the limits in {told['inside']} of {told['readings']} readings;")
    for name in ("not done", "an end open", "the other lead"):
        if told[f"{name}: steps"]:
            share = told[f"{name}: seen"] / told[f"{name}: steps"]
            print(
                f"  done wrong ({name}): seen in {told[f'{name}: seen']} of {told[f'{name}: steps']} steps "
                f"({share:.1%})"
            )


def large(parts: int, seed: int) -> None:
    comparison = compare_circuits(*pair(parts, seed))
    start = time.perf_counter()
    work = worklist(comparison)
    print(
        f"{parts:,} parts, {len(comparison.raw)} raw differences, {len(work.steps)} steps: "
        f"{time.perf_counter() - start:.1f} s"
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--units", type=int, default=500)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--parts", type=int, default=10_000)
    given = parser.parse_args()
    print(f"seed {given.seed}")
    run(given.units, given.seed)
    if given.parts:
        large(given.parts, given.seed)


if __name__ == "__main__":
    main()
