"""The graphs beside the readers of two general graph libraries, and beside the elements of the GraphML format.

Sources: The GraphML File Format (namespace http://graphml.graphdrawing.org/xmlns; `graphml`, `key`, `graph`,
`node`, `edge`, `data`), and the readers of networkx and rustworkx.
"""

from __future__ import annotations

from pathlib import Path
from xml.etree import ElementTree

import networkx as nx
import pytest
import rustworkx

import netdiff
from netdiff.cli import run
from netdiff.language import Model

ROOT = Path(__file__).parents[2]
CASES = [
    *((ROOT / "examples" / "attic.found", which) for which in ("stock", "found", "both")),
    (ROOT / "examples" / "kitchen-radio.found", "both"),
    *((path, None) for path in sorted(ROOT.glob("netlists/*.stock"))),
]
GRAPHML = "{http://graphml.graphdrawing.org/xmlns}"


@pytest.mark.parametrize(("path", "which"), CASES, ids=[f"{p.stem}-{w}" for p, w in CASES])
def test_two_libraries_read_it_alike(path: Path, which: str | None, tmp_path: Path) -> None:
    out = tmp_path / "out.graphml"
    assert run(["wires", str(path), "-o", str(out), *(["--circuit", which] if which else [])]) == 0
    first = nx.read_graphml(out, force_multigraph=True)
    (second,) = rustworkx.read_graphml(str(out))
    assert first.number_of_nodes() == second.num_nodes() > 10
    assert first.number_of_edges() == second.num_edges() > 10
    labels = {data["label"] for _, data in first.nodes(data=True)}
    assert labels == {node["label"] for node in second.nodes()}
    ends = sorted(tuple(sorted((a, b))) for a, b in first.edges())
    names = [node["id"] for node in second.nodes()]
    assert ends == sorted(tuple(sorted((names[a], names[b]))) for a, b in second.edge_list())


def test_its_elements_are_those_of_the_format(tmp_path: Path) -> None:
    out = tmp_path / "out.graphml"
    run(["wires", str(ROOT / "examples" / "attic.found"), "-o", str(out)])
    root = ElementTree.parse(out).getroot()
    assert root.tag == f"{GRAPHML}graphml"
    assert {element.tag.removeprefix(GRAPHML) for element in root.iter()} == {
        "graphml", "key", "graph", "node", "edge", "data",
    }  # fmt: skip
    declared = {key.get("id") for key in root.iter(f"{GRAPHML}key")}
    assert {data.get("key") for data in root.iter(f"{GRAPHML}data")} <= declared
    nodes = {node.get("id") for node in root.iter(f"{GRAPHML}node")}
    assert {edge.get(end) for edge in root.iter(f"{GRAPHML}edge") for end in ("source", "target")} <= nodes


def test_components_over_the_runs_are_the_nets() -> None:
    """networkx's own components over what conducts are the nets that the drawing has."""
    from netdiff.reporting.graphml import graph
    from tests import same

    for path in sorted(ROOT.glob("netlists/*.stock")):
        drawn = netdiff.read(path)
        assert isinstance(drawn, Model)
        circuit = drawn.circuit(drawn.variants()[0])
        made = graph(circuit)
        runs = nx.Graph((a, b) for a, b, data in made.edges(data=True) if data["sort"] == "run")
        assert {frozenset(group) for group in nx.connected_components(runs)} == same.nets(circuit)
