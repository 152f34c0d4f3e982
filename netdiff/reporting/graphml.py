"""Circuits as GraphML, for programs that draw and search graphs.

Nodes are parts, terminals and net names; edges say which terminal is of which part (``sort`` is
``terminal``), and what a conductor joins (``run``, ``braid``). Of a comparison every node and edge says
in ``in`` whether it is in the ``drawing``, in the ``unit`` or in ``both``, and nodes carry the findings that
speak of them. In a unit an edge of the drawing is in ``both`` where the unit joins its ends too, over
whatever lugs; where nobody looked, it says ``nobody looked``.
"""

from __future__ import annotations

import io
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any, Final

from netdiff.cautions import for_cold_work
from netdiff.circuit import OPEN, UNFOLLOWED, Circuit, Part, Point, Run, is_net, part_of
from netdiff.nets import Union
from netdiff.reporting.plain import clean

if TYPE_CHECKING:
    from netdiff.comparison import Comparison

DRAWING: Final = "drawing"
UNIT: Final = "unit"
BOTH: Final = "both"
_NO_XML: Final = dict.fromkeys((0xFFFE, 0xFFFF, *range(0xD800, 0xE000)), "\N{REPLACEMENT CHARACTER}")
NOT_LOOKED: Final = "nobody looked"


def of_circuit(circuit: Circuit) -> bytes:
    """The circuit as a GraphML file."""
    return _written(graph(circuit), circuit.title)


def of_comparison(comparison: Comparison) -> bytes:
    """Drawing and unit laid over each other as a GraphML file."""
    title = f"{comparison.found.circuit.title}, beside {comparison.stock.title}"
    made = comparison_graph(comparison)
    made.graph["cautions"] = "\n".join(for_cold_work())
    return _written(made, title)


def graph(circuit: Circuit) -> Any:
    """A `networkx.MultiGraph` of the circuit; attributes are texts and numbers."""
    import networkx as nx

    out: Any = nx.MultiGraph()
    _add_parts(out, circuit.parts.values())
    for run in circuit.runs:
        _add_run(out, run, circuit)
    for net in circuit.nets.values():
        _add_point(out, net.name, circuit)
    return out


def comparison_graph(comparison: Comparison) -> Any:
    """A `networkx.MultiGraph` of both circuits; a part or terminal of both is one node, under its stock name."""
    import networkx as nx

    from netdiff.comparison.merged import scene_of

    scene = scene_of(comparison)
    stock, unit, drawn = scene.stock, scene.found.circuit, scene.drawn.index
    out: Any = nx.MultiGraph()
    _add_parts(out, stock.parts.values())
    _add_parts(out, (part for name, part in scene.found_parts.items() if name not in stock.parts))
    seen = _nets(scene.runs)
    for run in stock.runs:
        if seen.find(run.a) == seen.find(run.b):
            where = BOTH
        else:
            # Nets are completed by the drawing where nobody looked, and nowhere else.
            where = NOT_LOOKED if scene.here.get(run.a, -1) == scene.here.get(run.b, -2) else DRAWING
        _add_run(out, run, stock, f"{DRAWING} ", {"in": where})
    for run in scene.runs:
        if run.evidence != "as-drawn":  # the drawing's own run stands for it
            both = drawn.get(run.a, -1) == drawn.get(run.b, -2)
            _add_run(out, run, unit, f"{UNIT} ", {"in": BOTH if both else UNIT})
    for circuit in (stock, unit):
        for name in circuit.nets:
            _add_point(out, name, circuit)
    names = {**dict.fromkeys(stock.parts), **dict.fromkeys(stock.nets), stock.ground: None}
    there = {*(scene.found_parts.keys() - scene.missing), *unit.nets, unit.ground}
    for node, data in out.nodes(data=True):
        name = part_of(node) or node
        looked = name in there or name in scene.missing
        data["in"] = (BOTH if name in there else DRAWING if looked else NOT_LOOKED) if name in names else UNIT
    for name, part in scene.found_parts.items():
        data = out.nodes[name]
        for key, value in _given(_says(part)).items():
            if data.get(key) != value:
                data[f"{key}_found"] = value
    _add_findings(out, comparison)
    return out


def _add_findings(out: Any, comparison: Comparison) -> None:
    for finding in comparison.findings:
        for node in dict.fromkeys((*finding.parts, *finding.terminals, *finding.nets)):
            if node in out:
                data = out.nodes[node]
                said = _legal(f"{finding.kind}: {finding.says}")
                data["findings"] = f"{data['findings']}\n{said}" if "findings" in data else said
                data["hold"] = min(data.get("hold", "none"), finding.hold, key=_URGENCY.index)


_URGENCY: Final = ("power", "transmit", "deliver", "none")


def _nets(runs: Iterable[Run]) -> Union:
    out = Union()
    for run in runs:
        if run.joins:
            out.join(run.a, run.b)
    return out


def _add_parts(out: Any, parts: Iterable[Part]) -> None:
    for part in parts:
        kind = part.kind
        value = {"value": part.value, "unit": kind.unit} if part.value is not None else {}
        _node(
            out, part.designator, sort="part", kind=kind.name, type=kind.type, says=part.label, zone=part.zone, **value
        )
        for where in part.points():
            _node(out, where, sort="terminal", part=part.designator)
            out.add_edge(part.designator, where, key=f"of {where}", sort="terminal")


def _says(part: Part) -> dict[str, Any]:
    unit = part.kind.unit if part.value is not None else ""
    return {"kind": part.kind.name, "type": part.kind.type, "says": part.label, "value": part.value, "unit": unit}


def _add_point(out: Any, where: Point, circuit: Circuit) -> None:
    """A net name, or a terminal that its part's kind does not list."""
    if where in out:
        return
    if is_net(where):
        net = circuit.nets.get(where)
        volts = {"volts": net.volts} if net is not None and net.volts is not None else {}
        _node(out, where, sort="net", purpose=net.purpose if net is not None else "", **volts)
    else:
        _node(out, where, sort="terminal", part=part_of(where))


def _add_run(out: Any, run: Run, circuit: Circuit, key: str = "", extra: dict[str, str] | None = None) -> None:
    number = out.number_of_edges()
    ends = [_end(out, where, number, side, circuit) for side, where in (("a", run.a), ("b", run.b))]
    told = {
        "sort": "run", "conductor": run.conductor, "cable": run.cable, "type": run.cable_type, "metres": run.length,
        "awg": run.gauge, "text": run.text, "known": "" if run.evidence == "seen" else run.evidence,
        "condition": ", ".join(run.conditions),
    }  # fmt: skip
    out.add_edge(*ends, key=f"{key}run {number}", **_given({**told, **(extra or {})}))
    if run.braid is not None:
        shield = [
            _end(out, where, number, f"braid {side}", circuit) for side, where in zip("ab", run.braid, strict=True)
        ]
        braid = {"sort": "braid", "cable": run.cable, **(extra or {})}
        out.add_edge(*shield, key=f"{key}braid {number}", **_given(braid))


def _end(out: Any, where: Point, number: int, side: str, circuit: Circuit) -> str:
    """The node of an end; an end in the air, or one that nobody followed, is a node of its own."""
    if where in (OPEN, UNFOLLOWED):
        name = f"{'open' if where == OPEN else 'not followed'}, run {number} {side}"
        _node(out, name, sort="open" if where == OPEN else "not followed")
        return name
    _add_point(out, where, circuit)
    return where


def _node(out: Any, name: str, **told: Any) -> None:
    out.add_node(name, label=_legal(name), **_given(told))


def _legal(text: str) -> str:
    """Without the characters that XML has no place for."""
    return clean(text).translate(_NO_XML)


def _given(told: dict[str, Any]) -> dict[str, Any]:
    """What is said, in the types that GraphML has; an empty attribute is none."""
    return {k: _legal(v) if isinstance(v, str) else float(v) for k, v in told.items() if v not in (None, "")}


def _written(made: Any, title: str) -> bytes:
    import networkx as nx

    made.graph["title"] = _legal(title)
    out = io.BytesIO()
    nx.write_graphml_xml(made, out)
    return out.getvalue()
