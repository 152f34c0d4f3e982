"""The comparison finds nothing exactly where two labelled graphs are isomorphic, as networkx judges it.

The outside here is mathematics: networkx (VF2++) decides whether two graphs are one. Circuits and units
are random texts (``tests/generate.py``); the graphs are made from what lies behind the texts, so that
neither the reader nor the comparison has a hand in them.

A part is a node with its designator, kind and value; each terminal is a node, each net is a node.
Terminals that the trade does not tell apart (the ends of a resistor, two heater pins, the halves of a
twin triode: common practice) hang on like nodes, one for each side that may change places. A net name
counts where the unit's text uses it; a lug is a place to solder to and no more.
"""

from __future__ import annotations

import random
import re

import networkx as nx
from hypothesis import example, given, settings
from hypothesis import strategies as st

from netdiff.comparison import Comparison, compare
from netdiff.language import read_model_text, read_unit_text
from tests.generate import EDITS, NETS, Wiring, damage, part_of, read, stock, tell

NAMED = re.compile(r"(?<![\w.])(" + "|".join(re.escape(name) for name in NETS) + r")(?![\w+])")


def graph(unit: Wiring, names: set[str]) -> nx.Graph:
    """The labelled graph of a wiring; ``names`` are the net names that count."""
    out = nx.Graph()
    for number, net in enumerate(unit.nets()):
        out.add_node(number, label="net")
        for where in net:
            if where in names:
                out.add_node(where, label=where)
                out.add_edge(where, number)
            elif part_of(where) in unit.parts and unit.parts[part_of(where)][0] != "strip":
                out.add_node(where)
                out.add_edge(where, number)
    for name, (kind, which) in unit.parts.items():
        out.add_node(name, label=(name, kind, which))
        twins = unit.sort(name).twins
        sides = {t: (pair, side) for pair, both in enumerate(twins) for side in (0, 1) for t in both[side]}
        for terminal in unit.sort(name).terminals if kind != "strip" else ():
            where = f"{name}.{terminal}"
            if terminal not in sides:
                out.nodes[where]["label"] = terminal
                out.add_edge(name, where)
                continue
            pair, side = sides[terminal]
            out.nodes[where]["label"] = twins[pair][side].index(terminal)
            out.add_node((name, pair, side), label=("side", pair))
            out.add_edges_from([(name, (name, pair, side)), ((name, pair, side), where)])
    out.remove_nodes_from([node for node in list(out) if isinstance(node, int) and not out.degree(node)])
    # A name that stands for nothing but lugs says nothing.
    out.remove_nodes_from([n for n in names if n in out and out.degree(next(iter(out[n]))) == 1])
    out.remove_nodes_from([node for node in list(out) if isinstance(node, int) and not out.degree(node)])
    return out


def coloured(one: nx.Graph) -> nx.Graph:
    """The same graph with finer labels: what lies round a node, by networkx's Weisfeiler-Lehman hashes.

    An isomorphism keeps them, so that the answer stays the same; but the search meets few equal labels
    and ends soon.
    """
    nx.set_node_attributes(one, {node: str(label) for node, label in one.nodes(data="label")}, "label")
    hashes = nx.weisfeiler_lehman_subgraph_hashes(one, node_attr="label", iterations=8)
    nx.set_node_attributes(one, {node: (one.nodes[node]["label"], *hashes[node]) for node in one}, "label")
    return one


def same(drawn: Wiring, unit: Wiring, text: str) -> bool:
    used = {name for line in text.splitlines() for name in NAMED.findall(line.partition(",")[0])}
    first, second = (coloured(graph(one, used)) for one in (drawn, unit))
    return bool(nx.vf2pp_is_isomorphic(first, second, node_label="label"))


def compared(stock_text: str, found_text: str) -> Comparison:
    model, faults = read_model_text(stock_text, "generated.stock")
    assert model is not None, faults
    assert not faults, faults
    unit, faults = read_unit_text(found_text, model, "generated.found")
    assert unit is not None, (faults, found_text)
    assert not faults, (faults, found_text)
    return compare(unit)


@settings(max_examples=250, deadline=None)
@given(st.integers(0, 2**32), st.integers(2, 24), st.lists(st.sampled_from(EDITS), max_size=3))
@example(seed=0, parts=12, edits=[])
def test_no_difference_exactly_where_the_graphs_are_isomorphic(seed: int, parts: int, edits: list[str]) -> None:
    rng = random.Random(seed)
    stock_text = stock(rng, parts)
    drawn, unit = read(stock_text), read(stock_text)
    for edit in edits:
        damage(unit, rng, edit)
    found_text = tell(unit, drawn, rng)
    result = compared(stock_text, found_text)
    says = f"{stock_text}\n{found_text}\n" + "\n".join(f.says for f in result.findings)
    if same(drawn, unit, found_text):
        assert not result.findings, says
        assert not result.raw, says
    else:
        assert result.findings, says
        assert result.raw, says


def test_both_answers_occur() -> None:
    """The law above is not kept by circuits that are always the same, or never."""
    answers = []
    for seed in range(60):
        rng = random.Random(seed)
        stock_text = stock(rng, 10)
        drawn, unit = read(stock_text), read(stock_text)
        damage(unit, rng)
        answers.append(same(drawn, unit, tell(unit, drawn, rng)))
    assert 3 < sum(answers) < 50


@settings(max_examples=100, deadline=None)
@given(st.integers(0, 2**32), st.integers(2, 60))
def test_a_telling_is_the_same_circuit(seed: int, parts: int) -> None:
    rng = random.Random(seed)
    stock_text = stock(rng, parts)
    found_text = tell(read(stock_text), read(stock_text), rng)
    result = compared(stock_text, found_text)
    assert not result.findings, f"{stock_text}\n{found_text}\n" + "\n".join(f.says for f in result.findings)
    assert result.coverage.total.not_traced == 0
