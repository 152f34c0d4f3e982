"""Circuits as graphs for graph programs."""

from __future__ import annotations

import io
from dataclasses import replace
from pathlib import Path
from typing import Any

import networkx as nx

import netdiff
from netdiff.circuit import Run
from netdiff.cli import run
from netdiff.language import Model
from netdiff.reporting import graphml
from tests.texts import model, unit

ROOT = Path(__file__).parents[1]


def back(data: bytes) -> Any:
    return nx.read_graphml(io.BytesIO(data), force_multigraph=True)


def test_parts_terminals_nets_and_runs_are_there() -> None:
    drawn = netdiff.read(ROOT / "netlists" / "lantern.stock")
    assert isinstance(drawn, Model)
    circuit = drawn.circuit()
    made = back(graphml.of_circuit(circuit))
    sorts = nx.get_node_attributes(made, "sort")
    assert {n for n, sort in sorts.items() if sort == "part"} == set(circuit.parts)
    assert {n for n, sort in sorts.items() if sort == "terminal"} == {
        p for x in circuit.parts.values() for p in x.points()
    }
    assert {n for n, sort in sorts.items() if sort == "net"} == {*circuit.nets, "chassis"}
    assert made.nodes["R1"] == {
        "label": "R1", "sort": "part", "kind": "resistor", "value": 22e3, "unit": "ohm", "says": "screen dropping",
        "zone": "under",
    }  # fmt: skip
    runs = [(a, b, data) for a, b, data in made.edges(data=True) if data["sort"] == "run"]
    assert len(runs) == len(circuit.runs)
    (coax,) = [data for a, b, data in runs if {a, b} == {"C1.2", "J2.center"}]
    assert (coax["conductor"], coax["cable"], coax["type"], coax["metres"]) == ("coax", "W1", "RG-58", 0.18)
    assert [{a, b} for a, b, data in made.edges(data=True) if data["sort"] == "braid"] == [{"chassis", "J2.shell"}]
    assert made.graph["title"] == circuit.title


def edges(made: Any, where: str) -> set[frozenset[str]]:
    return {
        frozenset((a, b)) for a, b, data in made.edges(data=True) if data.get("in") == where and data["sort"] == "run"
    }


def test_the_comparison_says_what_is_where() -> None:
    made = back(graphml.of_comparison(netdiff.compare(netdiff.read(ROOT / "examples" / "attic.found"))))
    gone = [("J1.tip", "key"), ("V1.k", "key"), ("J1.sleeve", "chassis"), ("J2.shell", "chassis"),
            ("C1.2", "J2.center"), ("C1.2", "rf"), ("R1.2", "V1.g2")]  # fmt: skip
    assert edges(made, "drawing") == {frozenset(pair) for pair in gone}
    assert not edges(made, "nobody looked")
    assert {frozenset(("C1.2", "?K1.c")), frozenset(("V1.k", "J1.sleeve"))} <= edges(made, "unit")
    assert frozenset(("b+", "R1.1")) in edges(made, "both")
    assert made.nodes["?K1"]["in"] == "unit" and made.nodes["V1"]["in"] == "both"
    assert made.nodes["R1"]["value"] == 22e3 and made.nodes["R1"]["value_found"] == 10e3
    assert made.nodes["J1"]["findings"].startswith("reversed: ") and made.nodes["J1"]["hold"] == "power"
    assert "hold" not in made.nodes["C3"]
    assert "Unplug the unit" in made.graph["cautions"]


def test_what_nobody_looked_at_is_neither_there_nor_gone() -> None:
    one = unit(
        'stock "S"\nR1 resistor 1k\nR2 resistor 1k\nV1 tube 6V6GT\nR1 -- V1.p\nR2.1 -- V1.k\nR1.1 -- R2.2\n',
        'found "u" of "t.stock"\ntraced V1\nR1.2 -- V1.g2\n',
    )
    made = back(graphml.of_comparison(netdiff.compare(one)))
    assert frozenset(("R2.2", "R1.1")) in edges(made, "nobody looked")
    assert frozenset(("R1.2", "V1.p")) in edges(made, "drawing")
    assert frozenset(("R1.2", "V1.g2")) in edges(made, "unit")


def test_loose_ends_and_odd_texts_are_legal() -> None:
    circuit = model('stock "S"\nR1 resistor 1k "<&>"\nR1.1 -- open\nR1.2 -- ?\n').circuit()
    odd = Run("R1.1", "chassis", "wire", text='a\x07b ￾ <x a="1">&amp;')
    made = back(graphml.of_circuit(replace(circuit, runs=(*circuit.runs, odd))))
    assert made.nodes["R1"]["says"] == "<&>"
    loose = {data["sort"] for _, data in made.nodes(data=True)} - {"part", "terminal", "net"}
    assert loose == {"open", "not followed"}
    (text,) = [data["text"] for _, _, data in made.edges(data=True) if "text" in data]
    assert text == 'a�b � <x a="1">&amp;'


def test_the_command_writes_each_circuit(tmp_path: Path) -> None:
    attic = str(ROOT / "examples" / "attic.found")
    sizes = {}
    for which in ("stock", "found", "both"):
        out = tmp_path / f"{which}.graphml"
        assert run(["wires", attic, "-o", str(out), "--circuit", which]) == 0
        sizes[which] = set(nx.read_graphml(out).nodes)
    assert "?K1" in sizes["found"] and "?K1" not in sizes["stock"]
    assert sizes["both"] == sizes["stock"] | sizes["found"]
    default = tmp_path / "default.graphml"
    assert run(["wires", attic, "-o", str(default)]) == 0
    assert default.read_bytes() == (tmp_path / "both.graphml").read_bytes()
