"""The comparison finds nothing exactly where two labelled graphs are isomorphic, as networkx judges it.

The outside here is mathematics: networkx (VF2++) decides whether two graphs are one. Circuits and units
are random texts (``tests/generate.py``); the graphs are made from what lies behind the texts, so that
neither the reader nor the comparison has a hand in them.

A part is a node with its designator, kind and value; each terminal is a node, each net is a node.
Terminals that the trade does not tell apart (the ends of a resistor, two heater pins, the halves of a
twin triode: common practice) hang on like nodes, one for each side that may change places. A net name
counts where the unit's text uses it; a lug is a place to solder to and no more.

There is one licence: in which order parts in series follow one another cannot be told from outside
(common practice counts it among the electrically equal choices). The comparison may take that for no
difference, if it says so.
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


def graph(unit: Wiring, names: set[str], *, ordered: bool = True) -> nx.Graph:
    """The labelled graph of a wiring; ``names`` are the net names that count.

    Unless ``ordered``, the parts of a series chain are one node: in which order they follow one another
    cannot be told from outside the chain.
    """
    nets = [[w for w in net if w in names or (part_of(w) in unit.parts and unit.parts[part_of(w)][0] != "strip")]
            for net in unit.nets()]  # fmt: skip
    nets = [net for net in nets if any(part_of(where) for where in net)]
    out = nx.Graph()
    chain_of = {} if ordered else series(unit, nets)
    for number, net in enumerate(nets):
        here = {part_of(where) for where in net}
        if len(net) == len(here) == 2 and here <= chain_of.keys() and len({chain_of[name] for name in here}) == 1:
            continue
        out.add_node(number, label="net")
        for where in net:
            out.add_node(where, label=where)
            out.add_edge(where, number)
    for name, (kind, which) in unit.parts.items():
        chain = chain_of.get(name)
        if chain is not None:
            body = ("chain", chain)
            members = sorted((n, *unit.parts[n]) for n, c in chain_of.items() if c == chain)
            out.add_node(body, label=tuple(members))
            for where in (f"{name}.1", f"{name}.2"):
                if where in out:
                    out.nodes[where]["label"] = "end"
                    out.add_edge(body, where)
            continue
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
    return out


def series(unit: Wiring, nets: list[list[str]]) -> dict[str, int]:
    """Part -> number of its chain: interchangeable two-ended parts, and nothing else on the nets between them."""
    joints = nx.MultiGraph()
    for net in nets:
        names = [part_of(where) for where in net]
        if len(net) == 2 and "" not in names and names[0] != names[1]:
            if all(unit.sort(name).ends and unit.sort(name).twins for name in names):
                joints.add_edge(*names)
    # A ring has no outside.
    chains = [chain for chain in nx.connected_components(joints) if joints.subgraph(chain).size() == len(chain) - 1]
    return {name: number for number, chain in enumerate(chains) for name in chain}


def coloured(one: nx.Graph) -> nx.Graph:
    """The same graph with finer labels: what lies round a node, by networkx's Weisfeiler-Lehman hashes.

    An isomorphism keeps them, so that the answer stays the same; but the search meets few equal labels
    and ends soon.
    """
    nx.set_node_attributes(one, {node: str(label) for node, label in one.nodes(data="label")}, "label")
    hashes = nx.weisfeiler_lehman_subgraph_hashes(one, node_attr="label", iterations=8)
    nx.set_node_attributes(one, {node: (one.nodes[node]["label"], *hashes[node]) for node in one}, "label")
    return one


def same(drawn: Wiring, unit: Wiring, text: str, *, ordered: bool = True) -> bool:
    used = {name for line in text.splitlines() for name in NAMED.findall(line.partition(",")[0])}
    first, second = (coloured(graph(one, used, ordered=ordered)) for one in (drawn, unit))
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
    elif same(drawn, unit, found_text, ordered=False):
        # Only the order within a series chain is another: no difference to the set, but worth a word.
        assert result.findings or result.notes, says
    else:
        assert result.findings, says
        assert result.raw, says


def test_the_order_of_two_parts_in_series_is_no_difference() -> None:
    head = 'stock "x"\nzone z\nR1 resistor 1k\nR2 resistor 22k\nJ1 jack-2\n'
    result = compared(head + "J1.tip -- R1 -- R2 -- J1.sleeve\n",
                      'found "y" of "x.stock"\ntraced z\nJ1.tip -- R2 -- R1 -- J1.sleeve\n')  # fmt: skip
    assert not result.findings
    assert any("R1" in note and "R2" in note for note in result.notes)


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
