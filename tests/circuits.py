"""Circuits made directly, without a text: for tests of the floors above the language.

>>> c = circuit({"R1": ("resistor", 22e3), "V1": ("tube 6V6GT", None)}, "b+ -- R1.1", "R1.2 -- V1.g2")
>>> [(run.a, run.b) for run in c.runs]
[('b+', 'R1.1'), ('R1.2', 'V1.g2')]
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from itertools import pairwise

from netdiff.circuit import (
    OPEN,
    UNFOLLOWED,
    Circuit,
    Contact,
    Found,
    Kind,
    Lug,
    Net,
    Part,
    Run,
    Winding,
    is_net,
    part_of,
)


def _lugs(words: str) -> tuple[Lug, ...]:
    return tuple(Lug(word.rstrip("*"), tie=word.endswith("*")) for word in words.split())


_TUBE = _lugs("h1 p g2 g1 k h2 6*")
KINDS = {
    "resistor": Kind("resistor", "resistor", letters=("R",), terminals=_lugs("1 2"), ends=("1", "2"),
                     swaps=((("1",), ("2",)),), hangs=True, unit="ohm", family="resistor"),
    "capacitor": Kind("capacitor", "capacitor", letters=("C",), terminals=_lugs("1 2"), ends=("1", "2"),
                      swaps=((("1",), ("2",)),), hangs=True, unit="F", family="capacitor"),
    "electrolytic": Kind("electrolytic", "electrolytic", letters=("C",), terminals=_lugs("+ -"), ends=("+", "-"),
                         polarised=True, hangs=True, unit="F", family="capacitor"),
    "choke": Kind("choke", "choke", letters=("L",), terminals=_lugs("1 2"), ends=("1", "2"),
                  swaps=((("1",), ("2",)),), unit="H", family="inductor"),
    "fuse": Kind("fuse", "fuse", letters=("F",), terminals=_lugs("1 2"), ends=("1", "2"), swaps=((("1",), ("2",)),),
                 plugs=True, unit="A"),
    "meter": Kind("meter", "meter", letters=("M",), terminals=_lugs("+ -"), ends=("+", "-"), polarised=True),
    "jack-2": Kind("jack-2", "jack", letters=("J",), terminals=_lugs("tip sleeve")),
    "jack-3": Kind("jack-3", "jack", letters=("J",), terminals=_lugs("tip ring sleeve")),
    "coax-socket": Kind("coax-socket", "coax socket", letters=("J",), terminals=_lugs("center shell")),
    "strip": Kind("strip", "terminal strip", letters=("TB",), terminals=_lugs("1* 2* 3* 4*")),
    "relay-spdt": Kind("relay-spdt", "relay", letters=("K",), terminals=_lugs("coil1 coil2 c no nc"),
                       positions=("off", "on"), swaps=((("coil1",), ("coil2",)),),
                       contacts=(Contact("c", "no", frozenset({"on"})), Contact("c", "nc", frozenset({"off"})))),
    "tube 6V6GT": Kind("tube", "beam power tube", "6V6GT", ("V",), _TUBE, plugs=True, swaps=((("h1",), ("h2",)),)),
    "tube 6K6GT": Kind("tube", "power pentode", "6K6GT", ("V",), _TUBE, plugs=True, swaps=((("h1",), ("h2",)),)),
    "tube 6SN7GT": Kind("tube", "twin triode", "6SN7GT", ("V",), _lugs("g1a pa ka g1b pb kb h1 h2"), plugs=True,
                        swaps=((("h1",), ("h2",)), (("g1a", "pa", "ka"), ("g1b", "pb", "kb")))),
    "transformer": Kind("transformer", "transformer", letters=("T",), terminals=_lugs("1 2 3 4"), family="transformer"),
}  # fmt: skip


def part(designator: str, kind: str, value: float | None = None, zone: str = "") -> Part:
    return Part(designator, KINDS[kind], value, zone=zone)


def chain(text: str) -> list[Run]:
    """``A -- B -- C``; with ``coax``, ``wire``, ``bolted`` … in front, and after a comma ``braid A B``, ``direct``."""
    text, *rest = (piece.strip() for piece in text.split(","))
    word = text.partition(" ")[0]
    conductor = word if word in {"wire", "coax", "shielded", "bolted", "bare", "bus"} else ""
    points = [piece.strip() for piece in text.removeprefix(conductor).split("--")]
    runs = [Run(a, b, conductor) for a, b in pairwise(points)]
    for attribute in rest:
        name, *words = attribute.split()
        if name == "braid":
            runs = [replace(run, braid=(words[0], words[1])) for run in runs]
        elif name == "cable":
            runs = [replace(run, cable=words[0]) for run in runs]
        elif name == "direct":
            runs[-1] = replace(runs[-1], direct=True)
        else:
            runs = [replace(run, cable_type=name) for run in runs]
    return runs


def circuit(
    parts: Mapping[str, tuple[str, float | None]],
    *chains: str,
    nets: Iterable[Net] = (),
    windings: tuple[Winding, ...] = (),
    title: str = "test",
) -> Circuit:
    declared = {net.name: net for net in nets}
    runs = tuple(run for text in chains for run in chain(text))
    for run in runs:
        for end in (run.a, run.b):
            if is_net(end) and end not in declared:
                declared[end] = Net(end)
    return Circuit(
        title,
        f"{title}.stock",
        parts={name: part(name, kind, value) for name, (kind, value) in parts.items()},
        nets=declared,
        runs=runs,
        windings=windings,
    )


def all_points(one: Circuit) -> frozenset[str]:
    """Every terminal of every part and of every run."""
    points = {where for p in one.parts.values() for where in p.points()}
    for run in one.runs:
        points |= {end for end in (run.a, run.b, *(run.braid or ())) if part_of(end)}
    return frozenset(points)


def as_found(
    one: Circuit, *, stock: Circuit, traced: Iterable[str] | None = None, missing: Iterable[str] = ()
) -> Found:
    """The circuit as a bench that traced everything (or these points) would tell it."""
    unfollowed = frozenset(
        end
        for run in one.runs
        if UNFOLLOWED in (run.a, run.b)
        for end in (run.a, run.b)
        if end not in (OPEN, UNFOLLOWED)
    )
    gone = frozenset(missing)
    return Found(
        one,
        traced=all_points(one) if traced is None else frozenset(traced),
        missing=gone,
        mentioned=frozenset(one.parts) | gone,
        unfollowed=unfollowed,
    )


def names_used(one: Circuit) -> frozenset[str]:
    return frozenset(end for run in one.runs for end in (run.a, run.b, *(run.braid or ())) if is_net(end))


def without_braids(one: Circuit) -> Circuit:
    return replace(one, runs=tuple(replace(run, braid=None) for run in one.runs))


def same_circuit(stock: Circuit, other: Circuit, names: frozenset[str] | None = None) -> bool:
    """Whether two circuits are one: isomorphic graphs of parts, terminals, nets and shielded runs.

    Nothing of the comparison is used. Parts are told by designator, kind and value; terminals by
    name, interchangeable ones by what they are interchangeable in; nets only by what is on them, and
    by those of ``names`` that the first circuit uses (else: that both use). A part without a known
    designator may be any of its kind that the second circuit lacks. Tie points, and strips that the
    first circuit lacks, are wiring and not parts.
    """
    import networkx as nx

    shown = names_used(stock) & (names_used(other) if names is None else names)
    shared = frozenset(stock.parts) & frozenset(other.parts)
    first, second = (_graph(one, shown, frozenset(stock.parts), shared) for one in (stock, other))
    return bool(nx.vf2pp_is_isomorphic(first, second, node_label="label"))


def _graph(one: Circuit, names: frozenset[str], known: frozenset[str], shared: frozenset[str]):  # type: ignore[no-untyped-def]
    import networkx as nx

    wiring = nx.Graph()
    for p in one.parts.values():
        wiring.add_nodes_from(p.points())
    for run in one.runs:
        for a, b in [(run.a, run.b), run.braid or (OPEN, OPEN)]:
            wiring.add_nodes_from({a, b} - {OPEN, UNFOLLOWED})
            if not {a, b} & {OPEN, UNFOLLOWED}:
                wiring.add_edge(a, b)
    net_of = {where: number for number, net in enumerate(nx.connected_components(wiring)) for where in net}
    graph = nx.Graph()

    def net(where: str) -> tuple[str, int]:
        node = ("net", net_of[where])
        if node not in graph:
            graph.add_node(node, label="net")
        return node

    for p in one.parts.values():
        if p.kind.name == "strip" and p.designator not in known:
            continue
        body = ("part", p.designator)
        graph.add_node(body, label=(p.designator if p.designator in shared else "?", p.kind.name, p.kind.type, p.value))
        group = {t: (i, side) for i, swap in enumerate(p.kind.swaps) for side in (0, 1) for t in swap[side]}
        for lug in p.kind.terminals:
            if lug.tie:
                continue
            terminal = ("terminal", p.designator, lug.name)
            if lug.name in group:
                i, side = group[lug.name]
                graph.add_node(terminal, label=("of a pair", i, p.kind.swaps[i][side].index(lug.name)))
                half = ("half", p.designator, i, side)
                graph.add_node(half, label=("half", i))
                graph.add_edges_from([(body, half), (half, terminal)])
            else:
                graph.add_node(terminal, label=("alone", lug.name))
                graph.add_edge(body, terminal)
            graph.add_edge(terminal, net(f"{p.designator}.{lug.name}"))
    for name in sorted(names):
        graph.add_node(("name", name), label=name)
        if name in net_of:
            graph.add_edge(("name", name), net(name))
    for number, run in enumerate(one.runs):
        if run.conductor in ("coax", "shielded"):
            body = ("run", number)
            graph.add_node(body, label=(run.conductor, run.cable_type))
            for side, end in enumerate((run.a, run.b)):
                graph.add_node((*body, side), label="end")
                graph.add_edges_from([(body, (*body, side)), ((*body, side), net(end))])
                braid = (run.braid or (OPEN, OPEN))[side]
                graph.add_node((*body, side, "braid"), label="braid")
                graph.add_edge((*body, side), (*body, side, "braid"))
                if braid not in (OPEN, UNFOLLOWED):
                    graph.add_edge((*body, side, "braid"), net(braid))
    # A net on which nothing is but tie points is no net of the drawing.
    for node in [n for n in graph if n[0] == "net" and not graph.degree(n)]:
        graph.remove_node(node)
    return graph
