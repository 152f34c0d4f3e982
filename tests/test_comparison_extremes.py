"""Units that nobody would bring, and still get a true answer."""

from __future__ import annotations

import random
from dataclasses import replace

from netdiff.circuit import Circuit, Found, Run, part_of, terminal_of
from netdiff.comparison import Comparison, compare_circuits
from tests.random_circuits import Bench, circuit, found, rewired


def sound(result: Comparison) -> Comparison:
    explained = sorted(key for finding in result.findings for key in finding.explains)
    assert explained == sorted(raw.key for raw in result.raw)
    return result


def whole(stock: Circuit) -> frozenset[str]:
    return frozenset(where for part in stock.parts.values() for where in part.points())


def test_everything_joined_to_ground() -> None:
    rng = random.Random(1)
    stock = circuit(rng, 400)
    bench = Bench(dict(stock.parts), rewired(stock, rng))
    bench.leads += [[where, "chassis"] for part in stock.parts.values() for where in part.points()]
    result = sound(compare_circuits(stock, found(stock, bench, rng)))
    joined = {where for raw in result.raw if raw.sort == "join" for where in raw.points}
    assert len(joined) > 400
    assert not [raw for raw in result.raw if raw.sort == "cut"]


def test_thousands_of_unidentified_parts() -> None:
    rng = random.Random(2)
    stock = circuit(rng, 4500)
    lost = {name: f"?{name}" for name, part in stock.parts.items() if part.kind.hangs}
    assert len(lost) > 3000

    def written(where: str) -> str:
        return f"{lost[part_of(where)]}.{terminal_of(where)}" if part_of(where) in lost else where

    parts = {lost.get(name, name): replace(part, designator=lost.get(name, name)) for name, part in stock.parts.items()}
    leads = [[written(a), written(b)] for a, b in rewired(stock, rng)]
    result = sound(compare_circuits(stock, found(stock, Bench(parts, leads), rng)))
    # Parts that hang only among each other cannot be told apart; nearly all others are.
    assert len(result.raw) < len(lost) / 50


def test_no_part_in_common() -> None:
    stock, other = circuit(random.Random(3), 300), circuit(random.Random(4), 300)

    def foreign(where: str) -> str:
        return f"?{where}" if part_of(where) else where

    parts = {f"?{name}": replace(part, designator=f"?{name}") for name, part in other.parts.items()}
    runs = tuple(replace(run, a=foreign(run.a), b=foreign(run.b)) for run in other.runs)
    unit = Found(
        replace(other, parts=parts, runs=runs),
        traced=whole(stock) | {foreign(w) for w in whole(other)},
        mentioned=frozenset(parts),
    )
    result = sound(compare_circuits(stock, unit))
    kinds = {finding.kind for finding in result.findings}
    assert "missing-part" in kinds
    assert "added-part" in kinds


def test_circuits_without_parts() -> None:
    nothing = Circuit("nothing", "nothing.stock")
    result = sound(compare_circuits(nothing, Found(nothing)))
    assert result.findings == ()
    assert result.coverage.total.terminals == 0


def test_one_net_that_holds_every_terminal() -> None:
    stock = circuit(random.Random(5), 400)
    one = replace(stock, runs=tuple(Run("chassis", where) for where in sorted(whole(stock))))
    same = sound(compare_circuits(one, Found(one, traced=whole(one), mentioned=frozenset(one.parts))))
    assert same.findings == ()
    other = sound(compare_circuits(one, Found(stock, traced=whole(one), mentioned=frozenset(one.parts))))
    assert other.findings
