"""Laws of the work list, on random circuits that were damaged at random.

Whether two circuits are one is asked of networkx (``same_circuit``), not of the comparison.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace

import networkx as nx
from hypothesis import given, settings
from hypothesis import strategies as st

from netdiff.circuit import OPEN, UNFOLLOWED, Circuit, Found, Part, Remark, Run, is_net, part_of
from netdiff.comparison import Comparison, compare_circuits
from netdiff.comparison.merged import scene_of
from netdiff.worklist import Step, WorkList, apply, worklist
from netdiff.worklist.limits import apart
from netdiff.worklist.progress import waits_for
from tests import random_circuits
from tests.circuits import names_used, same_circuit, without_braids

seeds = st.integers(0, 2**32)
sizes = st.integers(2, 16)
edits = st.integers(0, 5)


def shielded(stock: Circuit, rng: random.Random) -> Circuit:
    """The stock circuit with coax for some leads that are all of their net; a braid may do what a lead did.

    A longer way of leads whose make nobody noted would pass for the coax: hence nets of two terminals.
    """
    runs = list(stock.runs)
    size = Counter(w for run in runs for w in (run.a, run.b))
    fixed = [run for run in runs if not any(part_of(w)[:1] in ("R", "C") or is_net(w) for w in (run.a, run.b))]
    if "chassis" not in size:
        return stock
    chosen = [run for run in fixed if size[run.a] == size[run.b] == 1][:2]
    bonds = [run for run in fixed if run not in chosen]
    for count, run in enumerate(chosen, 1):
        braid = rng.choice([("chassis", OPEN), (OPEN, "chassis"), ("chassis", "chassis")])
        if bonds and rng.random() < 0.5:
            bond = bonds.pop(rng.randrange(len(bonds)))
            braid = (bond.a, bond.b)
            if rng.random() < 0.5:
                runs.remove(bond)
        runs[runs.index(run)] = replace(run, conductor="coax", cable=f"W{count}", cable_type="RG-58", braid=braid)
    return replace(stock, runs=tuple(runs))


def told(stock: Circuit, found: Found, rng: random.Random) -> Found:
    """The coax of the drawing put into the unit, sound or spoilt; leads led over tie points and splices."""
    runs = list(found.circuit.runs)
    for run in stock.runs:
        plain = [other for other in runs if {other.a, other.b} == {run.a, run.b} and not other.conductor]
        if run.conductor == "coax" and plain:
            there = set(found.circuit.parts)
            c, d = (w if not part_of(w) or part_of(w) in there else OPEN for w in run.braid or ())
            runs = [other for other in runs if other not in plain]
            roll = rng.random()
            if roll < 0.25:
                runs.append(Run(run.a, run.b, "wire"))
            elif roll < 0.4:
                runs.append(replace(run, braid=(OPEN, OPEN)))
            elif roll < 0.5:
                runs.append(replace(run, braid=(c, OPEN)))
            elif roll < 0.6:
                runs.append(replace(run, braid=("V1.p" if "V1" in there else OPEN, d)))
            else:
                runs.append(replace(run, braid=(c, d)))
    for count in range(rng.randint(0, 3)):
        if not runs:
            break
        spot = rng.choice([f"TB9.{count + 1}", f"splice{count}"])
        number = rng.randrange(len(runs))
        run = runs[number]
        if run.conductor:
            continue
        runs[number : number + 1] = [replace(run, b=spot), replace(run, a=spot)]
        for other, next_run in enumerate(runs):
            if not next_run.conductor and next_run.a == run.a and next_run.b != spot and rng.random() < 0.5:
                runs[other] = replace(next_run, a=spot)
    ties = {end for run in runs for end in (run.a, run.b) if part_of(end) == "TB9"}
    return replace(found, circuit=replace(found.circuit, runs=tuple(runs)), traced=found.traced | ties)


def unit(seed: int, size: int, count: int, traced: float = 1.0) -> tuple[Circuit, Found]:
    """A stock circuit and a unit of it; one ground stays sound, so that there is a chassis in every unit."""
    rng = random.Random(seed)
    stock = shielded(random_circuits.circuit(rng, size), rng)
    found = told(stock, random_circuits.unit(stock, rng, count, traced=traced), rng)
    lug, bond = Part("J90", random_circuits.JACK), Run("J90.sleeve", "chassis")
    one, other = (replace(c, parts={**c.parts, "J90": lug}, runs=(*c.runs, bond)) for c in (stock, found.circuit))
    return one, replace(
        found, circuit=other, traced=found.traced | set(lug.points()), mentioned=found.mentioned | {"J90"}
    )


def wiring(one: Circuit) -> nx.Graph:
    """Points and what conducts between them: cores and braids."""
    graph = nx.Graph()
    for part in one.parts.values():
        graph.add_nodes_from(part.points())
    for run in one.runs:
        for a, b in [(run.a, run.b), run.braid or (OPEN, OPEN)]:
            if not {a, b} & {OPEN, UNFOLLOWED}:
                graph.add_edge(a, b)
    return graph


def prefixes(work: WorkList) -> Iterator[tuple[Step, Circuit, Circuit]]:
    """Each step with the circuit before and after it."""
    now = work.comparison.found.circuit
    for step in work.steps:
        before, now = now, apply(step, now)
        yield step, before, now


def done(work: WorkList) -> Circuit:
    now = work.comparison.found.circuit
    for step in work.steps:
        now = apply(step, now)
    return now


def chains_in_order(work: WorkList, now: Circuit) -> Circuit:
    """Two parts in series are the same chain in either order: those found exchanged, told in the drawing's order."""
    alignment = scene_of(work.comparison).alignment
    pairs = {name for pair in alignment.reordered for name in pair}
    names = {seen: drawn for seen, drawn in alignment.alias.items() if part_of(seen) in pairs}
    runs = [replace(run, a=names.get(run.a, run.a), b=names.get(run.b, run.b)) for run in now.runs]
    return replace(now, runs=tuple(runs))


def again(work: WorkList, now: Circuit) -> Comparison:
    """The comparison made again after work, as well traced as before."""
    found = work.comparison.found
    fitted = {part.designator for step in work.steps for part in step.change.parts_on}
    mentioned = frozenset(found.mentioned & set(now.parts) | fitted)
    after = replace(found, circuit=now, missing=found.missing - fitted, mentioned=mentioned, conditions=())
    return compare_circuits(work.comparison.stock, after)


@settings(max_examples=80, deadline=None)
@given(seeds, sizes, edits)
def test_all_steps_end_at_the_stock_circuit(seed: int, size: int, count: int) -> None:
    stock, found = unit(seed, size, count)
    work = worklist(compare_circuits(stock, found))
    now = done(work)
    assert same_circuit(stock, chains_in_order(work, now), names_used(found.circuit))
    assert again(work, now).raw == ()


@settings(max_examples=50, deadline=None)
@given(seeds, sizes, edits)
def test_every_prefix_is_a_sound_circuit(seed: int, size: int, count: int) -> None:
    stock, found = unit(seed, size, count)
    work = worklist(compare_circuits(stock, found))
    for step, _, now in prefixes(work):
        for run in now.runs:
            for end in (run.a, run.b, *(run.braid or ())):
                name = part_of(end)
                assert not name or name == "TB9" or name in now.parts, (step.name, end)
    order = {step.name: place for place, step in enumerate(work.steps)}
    assert all(order[name] < order[step.name] for step in work.steps for name in step.needs)


@settings(max_examples=50, deadline=None)
@given(seeds, sizes, edits)
def test_no_hold_ends_with_a_new_tie_or_a_new_opening(seed: int, size: int, count: int) -> None:
    """When a hold is cleared, nets that belong apart are not tied unless they were as found, and what belongs
    together and was together as found is not apart."""
    stock, found = unit(seed, size, count)
    work = worklist(compare_circuits(stock, found))
    final = {w: i for i, net in enumerate(nx.connected_components(wiring(done(work)))) for w in net}
    counted = {
        w
        for part in stock.parts.values()
        for w, lug in zip(part.points(), part.kind.terminals, strict=True)
        if not lug.tie
    }

    def ties(one: Circuit) -> set[tuple[int, int]]:
        out = set()
        for net in nx.connected_components(wiring(one)):
            nets = sorted({final[w] for w in net & counted if w in final})
            out |= {(a, b) for i, a in enumerate(nets) for b in nets[i + 1 :]}
        return out

    def together(one: Circuit) -> set[tuple[str, str]]:
        out = set()
        for net in nx.connected_components(wiring(one)):
            points = sorted(net & counted)
            out |= {(a, b) for i, a in enumerate(points) for b in points[i + 1 :] if final.get(a) == final.get(b)}
        return out

    as_found = ties(found.circuit), together(found.circuit)
    previous = None
    for step, before, _ in prefixes(work):
        if previous is not None and step.hold != previous:
            assert ties(before) <= as_found[0], step.name
            assert as_found[1] <= together(before), step.name
        previous = step.hold


@settings(max_examples=50, deadline=None)
@given(seeds, st.integers(2, 12), edits)
def test_no_step_is_superfluous(seed: int, size: int, count: int) -> None:
    """Leaving one step out ends elsewhere, or the list cannot be carried out.

    A lead that the drawing has beside a braid counts, though the braid would carry the net too.
    """
    stock, found = unit(seed, size, count)
    work = worklist(compare_circuits(stock, found))
    names, end = names_used(found.circuit), done(work)
    for left_out in work.steps:
        if left_out.action == "discharge":
            continue
        now = found.circuit
        try:
            for step in work.steps:
                now = now if step is left_out else apply(step, now)
        except ValueError:
            continue
        same = same_circuit(end, now, names) and same_circuit(without_braids(end), without_braids(now), names)
        assert not same, left_out.name


@settings(max_examples=50, deadline=None)
@given(seeds, sizes, edits, st.sampled_from([1.0, 0.7, 0.4]))
def test_every_finding_has_a_step_and_every_step_a_finding(seed: int, size: int, count: int, traced: float) -> None:
    stock, found = unit(seed, size, count, traced)
    work = worklist(compare_circuits(stock, found))
    assert {name for step in work.steps for name in step.reasons} == {f.id for f in work.comparison.findings}
    assert all(step.reasons for step in work.steps if step.action != "discharge")
    assert len({step.name for step in work.steps}) == len(work.steps)


@settings(max_examples=50, deadline=None)
@given(seeds, sizes, edits, st.sampled_from([0.8, 0.5, 0.2]))
def test_what_was_found_is_cleared_however_little_was_traced(seed: int, size: int, count: int, traced: float) -> None:
    """What is still different afterwards came to light by the work: a lead off a wrong net shows what it lacks."""
    stock, found = unit(seed, size, count, traced)
    work = worklist(compare_circuits(stock, found))
    left = again(work, done(work)).raw
    assert not {raw.key for raw in left} & {raw.key for raw in work.comparison.raw}
    assert {raw.sort for raw in left} <= {"cut"}


@settings(max_examples=50, deadline=None)
@given(seeds, sizes, st.integers(1, 5))
def test_a_kept_modification_is_untouched(seed: int, size: int, count: int) -> None:
    stock, found = unit(seed, size, count)
    first = compare_circuits(stock, found)
    if not first.findings:
        return
    rng = random.Random(seed)
    chosen = rng.choice(first.findings)
    spot = rng.choice([*chosen.parts, *chosen.terminals])
    kept = replace(found, keeps=(Remark((spot,), "stays"),))
    work = worklist(compare_circuits(stock, kept))
    assert work.stays
    stays = {name for one in work.stays for name in one.findings}
    kept_keys = {key for f in work.comparison.findings if f.id in stays for key in f.explains}
    added = {key.removeprefix("extra:") for key in kept_keys if key.startswith("extra:")}
    for step in work.steps:
        assert not stays & set(step.reasons)
        assert not added & set(step.change.parts_off)
    assert added <= set(done(work).parts)
    # Where no other modification meets the kept one, no step touches a lead of it, and it is there as before.
    wired = wiring(found.circuit)
    alignment = scene_of(work.comparison).alignment
    own = {drawn: seen for seen, drawn in alignment.alias.items()}
    near = {w for name in added for w in found.circuit.parts[name].points()}
    near |= {own.get(w, w) for raw in work.comparison.raw if raw.key in kept_keys for w in raw.points}
    near = {w for net in nx.connected_components(wired) if net & near for w in net}
    others = [raw for raw in work.comparison.raw if raw.key not in kept_keys]
    parts = {alignment.same.get(part_of(w), part_of(w)) for w in near}
    if not any({own.get(w, w) for w in raw.points} & near or parts & set(raw.parts) for raw in others):
        for step in work.steps:
            for run in step.change.runs_off:
                assert not {run.a, run.b} & near, step.name
        # A braid may have to stay open where it would bridge what stays apart, and what it carried with it.
        stay = Counter(raw.sort for raw in work.comparison.raw if raw.key in kept_keys)
        left = Counter(raw.sort for raw in again(work, done(work)).raw)
        vanished = names_used(found.circuit) - names_used(done(work))
        assert stay["braid"] or vanished or left - Counter(braid=left["braid"]) == stay


@settings(max_examples=50, deadline=None)
@given(seeds, sizes, edits)
def test_a_reading_tells_what_the_wiring_then_is(seed: int, size: int, count: int) -> None:
    stock, found = unit(seed, size, count)
    work = worklist(compare_circuits(stock, found))
    for step, before, now in prefixes(work):
        for proof in step.proofs:
            if proof.expect == "continuity":
                assert nx.has_path(wiring(now), proof.a, proof.b)
                # What was joined before is told from the joint that the step makes again: without that it is open.
                assert proof.wrong is not None and proof.wrong.low > 0
                if "still open" not in proof.says:
                    old = wiring(before)
                    assert not (proof.a in old and proof.b in old and nx.has_path(old, proof.a, proof.b))
            elif proof.expect == "open":
                graph = wiring(now)
                for part in now.parts.values():
                    if part.designator == proof.without:
                        continue
                    if part.kind.name == "resistor":
                        graph.add_edge(*part.points())
                    if part.kind.name == "tube":
                        graph.add_edge(f"{part.designator}.h1", f"{part.designator}.h2")
                graph.add_nodes_from((proof.a, proof.b))
                assert not nx.has_path(graph, proof.a, proof.b), (step.name, proof)
            else:
                assert proof.says
            if proof.expect == "value":
                assert proof.reads is not None and proof.wrong is not None
                assert proof.reads.high < proof.wrong.low or proof.wrong.high < proof.reads.low
            elif proof.reads is not None and proof.expect != "dead":
                assert proof.wrong is not None and apart(proof.reads, proof.wrong)
                assert proof.other is None or apart(proof.reads, proof.other)


@settings(max_examples=50, deadline=None)
@given(seeds, sizes, edits)
def test_any_order_that_the_list_allows_ends_the_same(seed: int, size: int, count: int) -> None:
    stock, found = unit(seed, size, count)
    work = worklist(compare_circuits(stock, found))
    rng = random.Random(seed)
    waits = waits_for(work)
    end, names = done(work), names_used(found.circuit)
    left, now = list(work.steps), found.circuit
    while left:
        ahead = {step.name for step in left}
        step = rng.choice([step for step in left if not ahead & set(waits[step.name])])
        left.remove(step)
        now = apply(step, now)
    assert same_circuit(end, now, names)


@settings(max_examples=50, deadline=None)
@given(seeds, sizes, edits)
def test_every_hold_opens_with_a_discharge(seed: int, size: int, count: int) -> None:
    work = worklist(compare_circuits(*unit(seed, size, count)))
    for _, steps in work.by_hold():
        assert steps[0].action == "discharge"
        assert [step.action for step in steps].count("discharge") == 1
        assert len(steps) > 1
    assert work.discharges == tuple(step for step in work.steps if step.action == "discharge")


@settings(max_examples=50, deadline=None)
@given(seeds, sizes, edits)
def test_nothing_is_soldered_to_a_part_and_taken_off_again(seed: int, size: int, count: int) -> None:
    """No conductor that a step puts on comes off in a later one, but under another name or with its braid landed."""
    work = worklist(compare_circuits(*unit(seed, size, count)))
    put_on: dict[Run, str] = {}
    for step in work.steps:
        for run in step.change.runs_off:
            if run in put_on and step.action not in ("braid", "replace", "exchange"):
                raise AssertionError((put_on[run], step.name, run))
        put_on |= dict.fromkeys(step.change.runs_on, step.name)


@settings(max_examples=40, deadline=None)
@given(seeds, sizes, edits)
def test_the_list_made_again_is_the_same(seed: int, size: int, count: int) -> None:
    stock, found = unit(seed, size, count)
    assert worklist(compare_circuits(stock, found)).steps == worklist(compare_circuits(stock, found)).steps
