"""What previous owners did most often (common practice), each on a small set: told, once, and nothing beside it that
is not so. And the harmless neighbour of each, which is not told."""

from __future__ import annotations

import random
from collections.abc import Callable

import pytest

from netdiff.comparison import Comparison, compare
from netdiff.hazards import examine
from netdiff.language import read_model, read_unit_text
from tests.modifier import Unit, write
from tests.test_hazards import ROOT, TRACED, found, of_kind


def says(comparison: Comparison, kind: str) -> str:
    return " ".join(one.says for one in of_kind(comparison, kind))


def added(head: str, *wires: str, at: str = "b+ -- R1 -- chassis") -> Comparison:
    """The set with foreign parts wired in."""
    names = " ".join(line.split()[0] for line in head.splitlines())
    return found((at, "\n".join((at, *wires))), head=head, trace=f"{TRACED.rstrip()} {names}\n")


def test_a_capacitor_ahead_of_the_choke() -> None:
    comparison = added("?C9 electrolytic 16u 600V\n", "V1.f2 -- ?C9.+/- -- chassis")
    assert "?C9 lies ahead of the choke" in says(comparison, "wrong-supply")
    assert "b+ rises from 250 V" in says(comparison, "wrong-supply")
    assert "V2.p stands at" in says(comparison, "overstressed") and "315 V at most" in says(comparison, "overstressed")


def test_a_choke_that_is_bridged() -> None:
    comparison = found(("b+ -- R1 -- chassis", "b+ -- R1 -- chassis\nL1.1 -- L1.2"))
    assert "C1 lies ahead of the choke" in says(comparison, "wrong-supply")


def test_a_capacitor_behind_the_choke_is_none_ahead_of_it() -> None:
    comparison = added("?C9 electrolytic 16u 450V\n", "b+ -- ?C9.+/- -- chassis")
    assert of_kind(comparison, "wrong-supply") == []


def test_heaters_on_the_plate_supply() -> None:
    comparison = found(("T1.9 -- chassis -- V2.h2", "T1.9 -- b+\nT1.9 -- V2.h2"))
    assert "Between the heater and the cathode of V2 (" in says(comparison, "overstressed")


@pytest.mark.parametrize(("ohms", "told"), [("100k", True), ("470k", True), ("100M", False)])
def test_a_leak_into_a_grid(ohms: str, told: bool) -> None:
    comparison = added(f"?R9 resistor {ohms}\n", "V2.g1 -- ?R9 -- b+")
    assert ("above its cathode" in says(comparison, "lost-bias")) == told


def test_a_switch_that_is_bridged_or_left_out_of_the_way() -> None:
    bridged = found(("b+ -- R1 -- chassis", "b+ -- R1 -- chassis\nS1.1 -- S1.2"))
    moved = found(("J1.L -- F1 -- S1 -- line -- T1.1", "J1.L -- F1 -- S1 -- line\nF1.2 -- T1.1"))
    for comparison in (bridged, moved):
        (one,) = of_kind(comparison, "defeated-protection")
        assert one.parts == ("S1",) and "no longer switches the set off" in one.says


def test_a_lamp_behind_the_switch_moves_nothing() -> None:
    comparison = added("?DS9 lamp 120V 100mA\n", "line -- ?DS9.1\nJ1.N -- ?DS9.2")
    assert of_kind(comparison, "defeated-protection") == [] and of_kind(comparison, "hot-chassis") == []


def test_the_chassis_as_the_return_of_a_lamp() -> None:
    comparison = added("?DS9 lamp 120V 100mA\n", "line -- ?DS9.1\nchassis -- ?DS9.2")
    assert "Chassis is the return of ?DS9" in says(comparison, "hot-chassis")


@pytest.mark.parametrize(
    ("wire", "winding"), [("T1.3 -- T1.5", "from T1.3 to T1.5"), ("heater -- chassis", "from T1.8 to T1.9")]
)
def test_a_winding_that_is_shorted(wire: str, winding: str) -> None:
    comparison = found(("b+ -- R1 -- chassis", f"b+ -- R1 -- chassis\n{wire}"))
    assert winding in says(comparison, "overstressed") and "is shorted" in says(comparison, "overstressed")


def test_a_line_that_is_shorted() -> None:
    comparison = found(("b+ -- R1 -- chassis", "b+ -- R1 -- chassis\nline -- J1.N"))
    assert "The two sides of the line are joined" in says(comparison, "overstressed")
    assert "winding" not in says(comparison, "overstressed")


def test_electrolytics_in_series_want_resistors_across_them() -> None:
    pair = "?C8 electrolytic 47u 200V\n?C9 electrolytic 47u 200V\n"
    wires = "b+ -- ?C8.+\n?C8.- -- ?C9.+\n?C9.- -- chassis"
    assert "share" in says(added(pair, wires), "overstressed")
    across = "?R8 resistor 100k 2W\n?R9 resistor 100k 2W\n"
    held = added(pair + across, wires, "b+ -- ?R8 -- ?C8.-\n?C9.+ -- ?R9 -- chassis")
    assert "share" not in says(held, "overstressed")


def test_a_tube_with_twice_the_heater() -> None:
    comparison = found(head="V2 tube 6L6GC\n")
    (one,) = [one for one in of_kind(comparison, "overstressed") if "heater winding" in one.says]
    assert "900 mA with V2" in one.says and "450 mA" in one.says and one.hold == "deliver"


def test_a_supply_that_is_shorted_has_not_lost_its_bleeder() -> None:
    comparison = found(("b+ -- R1 -- chassis", "b+ -- R1 -- chassis\nb+ -- chassis"))
    assert of_kind(comparison, "no-bleeder") == []
    assert of_kind(comparison, "lost-bias") == [], "no cathode resistor is gone where only the current is"


class Tidy(random.Random):
    """A bench that writes the drawing's own order."""

    def random(self) -> float:
        return 0.99


def transmitter(change: Callable[[Unit], object]) -> Comparison:
    """The HL-45 with a change, everything traced."""
    model, faults = read_model(ROOT / "netlists" / "harbourlight-hl45.stock")
    assert model is not None and not faults
    unit = Unit(model.circuit(frozenset({"late"})), Tidy(1))
    change(unit)
    read, faults = read_unit_text(write(unit, "harbourlight-hl45.stock"), model, "t.found")
    assert read is not None and not faults, faults
    return examine(compare(read))


def test_a_rectifier_of_which_nobody_noted_what_it_is_made_of() -> None:
    comparison = transmitter(lambda unit: unit.lines.append("CR1 rectifier 450V 100mA"))
    assert [one.says for one in comparison.findings if not one.drawn] == []


def test_contacts_exchanged_so_that_the_plates_are_on_in_standby() -> None:
    def exchange(unit: Unit) -> None:
        for lead in unit.leads:
            lead.a, lead.b = (one.replace("K1.noa", "K1.nca") for one in (lead.a, lead.b))

    says_ = says(transmitter(exchange), "defeated-protection")
    assert "T2 (“plate”) is on in the state standby; the drawing has it off there." in says_


def test_a_plate_transformer_moved_past_door_delay_and_relay() -> None:
    def move(unit: Unit) -> None:
        (lead,) = [one for one in unit.leads if {one.a, one.b} == {"TB8.6", "T2.1"}]
        lead.a, lead.b = "T2.1", "TB8.2"

    comparison = transmitter(move)
    assert [one.parts for one in of_kind(comparison, "defeated-interlock")] == [("S3",)]
    assert {one.parts for one in of_kind(comparison, "defeated-protection")} == {("K1",), ("K2",)}


def test_a_regulator_that_is_gone_lifts_the_screens() -> None:
    comparison = transmitter(lambda unit: unit.missing.append("V10"))
    assert "mod-scr stands at" in says(comparison, "wrong-supply")
    assert "V8.g2 stands at" in says(comparison, "overstressed")
