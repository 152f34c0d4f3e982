"""Laws of the comparison, on random circuits."""

from __future__ import annotations

import random
from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from netdiff.comparison import Comparison, compare_circuits
from tests.random_circuits import circuit, unit

seeds = st.integers(0, 2**32)


def absences(result: Comparison) -> set[str]:
    """What a comparison says is absent: points that left their net, parts that are not there."""
    out = {where for raw in result.raw if raw.sort == "cut" for where in raw.points}
    return out | {name for raw in result.raw if raw.key.startswith("missing:") for name in raw.parts}


@settings(max_examples=150, deadline=None)
@given(seeds, st.integers(2, 30), st.integers(0, 5), st.sampled_from([1.0, 1.0, 0.7, 0.3]))
def test_every_raw_difference_has_exactly_one_finding(seed: int, size: int, edits: int, traced: float) -> None:
    rng = random.Random(seed)
    stock = circuit(rng, size)
    result = compare_circuits(stock, unit(stock, rng, edits, traced=traced))
    explained = sorted(key for finding in result.findings for key in finding.explains)
    assert explained == sorted(raw.key for raw in result.raw)
    assert {f.modification for f in result.findings} == {m.id for m in result.modifications}


@settings(max_examples=100, deadline=None)
@given(seeds, st.integers(2, 40), st.sampled_from([1.0, 0.5]))
def test_the_same_wiring_told_otherwise_is_no_difference(seed: int, size: int, traced: float) -> None:
    rng = random.Random(seed)
    stock = circuit(rng, size)
    result = compare_circuits(stock, unit(stock, rng, 0, traced=traced))
    assert result.findings == ()
    assert result.raw == ()


@settings(max_examples=100, deadline=None)
@given(seeds, st.integers(2, 25), st.integers(1, 4))
def test_tracing_less_never_finds_more_absent(seed: int, size: int, edits: int) -> None:
    """Taking a statement of tracing away never adds a finding that something is absent."""
    rng = random.Random(seed)
    stock = circuit(rng, size)
    whole = unit(stock, rng, edits, kinds=("cut", "join", "move", "stranger", "series"))
    less = replace(whole, traced=frozenset(where for where in whole.traced if rng.random() < 0.8))
    count = len([raw for raw in compare_circuits(stock, less).raw if raw.sort == "cut"])
    assert count <= len([raw for raw in compare_circuits(stock, whole).raw if raw.sort == "cut"])


@settings(max_examples=100, deadline=None)
@given(seeds, st.integers(2, 25), st.integers(1, 4))
def test_tracing_more_never_takes_back_a_connection_found(seed: int, size: int, edits: int) -> None:
    """Adding true statements never removes a finding that was true: what is joined stays joined."""
    rng = random.Random(seed)
    stock = circuit(rng, size)
    whole = unit(stock, rng, edits, kinds=("cut", "join", "move", "stranger", "series"))
    less = replace(whole, traced=frozenset(where for where in whole.traced if rng.random() < 0.6))
    joined = len([raw for raw in compare_circuits(stock, less).raw if raw.sort == "join"])
    assert joined <= len([raw for raw in compare_circuits(stock, whole).raw if raw.sort == "join"])


@settings(max_examples=40, deadline=None)
@given(seeds, st.integers(2, 25))
def test_nothing_traced_and_nothing_written_finds_nothing(seed: int, size: int) -> None:
    rng = random.Random(seed)
    stock = circuit(rng, size)
    blank = unit(stock, rng, 3)
    blank = replace(
        blank,
        circuit=replace(blank.circuit, runs=(), parts=dict(stock.parts)),
        traced=frozenset(),
        missing=frozenset(),
        mentioned=frozenset(),
    )
    result = compare_circuits(stock, blank)
    assert result.raw == ()
    assert result.coverage.total.agree == 0


@settings(max_examples=60, deadline=None)
@given(seeds, st.integers(2, 20), st.integers(1, 4))
def test_the_order_of_statements_does_not_matter(seed: int, size: int, edits: int) -> None:
    rng = random.Random(seed)
    stock = circuit(rng, size)
    first = unit(stock, rng, edits)
    runs = list(first.circuit.runs)
    rng.shuffle(runs)
    second = replace(first, circuit=replace(first.circuit, runs=tuple(runs)))
    one, other = compare_circuits(stock, first), compare_circuits(stock, second)
    assert len(one.raw) == len(other.raw)
    assert one.cost == other.cost
