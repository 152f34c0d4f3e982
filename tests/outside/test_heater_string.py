"""The series heater string of the classic five-tube AC/DC receiver, typed as a netlist.

Sources, as read for this check:

- An encyclopaedia article "All American Five" (grokipedia.com): one string of five heaters across the
  line, 150 mA, about 120 V in all; 12SA7, 12SK7, 12SQ7, 50L6, 35Z5. Seen.
- Heater volts stand in the first digits of the American type numbers (12 is 12.6 V): common practice.
- Sums and quotients are arithmetic: 12.6 + 12.6 + 12.6 + 50 + 35 = 122.8 V; 12.6 V / 150 mA = 84 ohms,
  50 V / 150 mA = 333.3 ohms, 35 V / 150 mA = 233.3 ohms; 818.7 ohms in all; 142.9 mA from 117 V.
- Heater pins (12SQ7 at 7 and 8, the others at 2 and 7), the tap of the 35Z5 at pin 3, and the order of
  the string: from memory, and common practice.

The volts and amperes come from the catalogue, the order from the wiring.
"""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import networkx as nx
import pytest

from netdiff.circuit import Circuit
from netdiff.language import read_model, read_model_text

HERE = Path(__file__).resolve().parents[2]

STRING = """stock "Heater string of a five-tube AC/DC receiver"
ground b-
W1 cord-2
S1 switch-spst
DS1 lamp 6.3V 150mA "dial lamp"
V1 tube 12SA7GT "converter"
V2 tube 12SK7GT "IF amplifier"
V3 tube 12SQ7GT "detector, first audio"
V4 tube 50L6GT "output"
V5 tube 35Z5GT "rectifier"
net b-
net line mains 117Vac
W1.L -- line -- V5.2
line -- DS1 -- V5.3
V5.7 -- V4.7
V4.2 -- V2.7
V2.2 -- V1.7
V1.2 -- V3.8
V3.7 -- b- -- S1 -- W1.N
"""

PUBLISHED_VOLTS = {"V1": 12.6, "V2": 12.6, "V3": 12.6, "V4": 50.0, "V5": 35.0}


def typed() -> Circuit:
    model, faults = read_model_text(STRING, "string.stock")
    assert model is not None, faults
    assert not faults, faults
    return model.circuit()


def shipped() -> Circuit:
    model, faults = read_model(HERE / "netlists" / "five-tube-acdc.stock")
    assert model is not None, faults
    assert not faults, faults
    return model.circuit(frozenset({"early"}))


def string(circuit: Circuit) -> list[str]:
    """The tubes whose heaters lie between the line and B-, in order."""
    graph = nx.Graph((run.a, run.b) for run in circuit.runs if run.joins)
    for name, part in circuit.parts.items():
        if part.kind.name == "tube":
            graph.add_edge(f"{name}.h1", f"{name}.h2", heater=name)
    wiring = nx.Graph(graph.edges)
    for name in PUBLISHED_VOLTS:
        wiring.remove_edge(f"{name}.h1", f"{name}.h2")
        assert not nx.has_path(wiring, f"{name}.h1", f"{name}.h2"), f"the heater of {name} is bridged"
        wiring.add_edge(f"{name}.h1", f"{name}.h2")
    way = nx.shortest_path(graph, "line", "b-")
    return [graph.edges[step]["heater"] for step in pairwise(way) if "heater" in graph.edges[step]]


def heater(circuit: Circuit, name: str) -> tuple[float, float]:
    facts = circuit.parts[name].kind.facts
    return float(facts["heater_volts"]), float(facts["heater_amps"])


@pytest.mark.parametrize("circuit", [typed, shipped])
def test_the_string_is_in_the_usual_order(circuit) -> None:  # type: ignore[no-untyped-def]
    assert string(circuit()) == ["V5", "V4", "V2", "V1", "V3"]


@pytest.mark.parametrize("circuit", [typed, shipped])
def test_volts_current_and_resistance_are_the_published_ones(circuit) -> None:  # type: ignore[no-untyped-def]
    one = circuit()
    values = {name: heater(one, name) for name in string(one)}
    assert {name: volts for name, (volts, _) in values.items()} == PUBLISHED_VOLTS
    assert {amps for _, amps in values.values()} == {0.15}
    assert sum(volts for volts, _ in values.values()) == pytest.approx(122.8)
    ohms = {name: volts / amps for name, (volts, amps) in values.items()}
    assert ohms == pytest.approx({"V1": 84, "V2": 84, "V3": 84, "V4": 333.3, "V5": 233.3}, rel=2e-4)
    assert sum(ohms.values()) == pytest.approx(818.7, rel=1e-4)
    assert 117 / sum(ohms.values()) == pytest.approx(0.1429, rel=5e-4)


def test_a_heater_taken_out_of_the_string_is_noticed() -> None:
    """The check above does not hold of any wiring whatever."""
    model, _ = read_model_text(STRING.replace("V2.2 -- V1.7", "V2.7 -- V1.7"), "string.stock")
    assert model is not None
    assert string(model.circuit()) == ["V5", "V4", "V1", "V3"]


def test_the_lamp_lies_across_the_tapped_part_of_the_rectifier_heater() -> None:
    kind = typed().parts["V5"].kind
    tap, first = kind.lug("3"), kind.lug("2")
    assert tap is not None
    assert first is not None
    assert (tap.name, first.name) == ("ht", "h1")
    assert {str(pin) for pin in str(kind.facts["tap_pins"]).split()} == {"2", "3"}
