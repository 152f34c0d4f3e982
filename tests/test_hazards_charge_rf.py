"""Hazards of charge, of aerial leads, and of gaps; and the figures for what the comparison has told."""

from __future__ import annotations

import math

import pytest

from netdiff import compare, read
from netdiff.comparison import Comparison
from netdiff.comparison.results import Finding
from netdiff.hazards import charge, examine, insulation, rf
from netdiff.hazards.examining import sides
from tests.hazardous import compared, told

MINE = {rule.kind for rule in (*charge.RULES, *rf.RULES, *insulation.RULES)}


def figures(comparison: Comparison) -> dict[str, str]:
    """The sentences of figures, by kind of finding."""
    _, found = sides(comparison)
    said = [*rf.numbers(found), *insulation.numbers(found)]
    return {comparison.finding(name).kind: words for name, words in said}


def test_a_unit_as_drawn_by_good_practice_has_none() -> None:
    assert [one.says for one in told() if one.kind in MINE - {"overstressed"}] == []
    assert figures(compared()) == {}


def test_every_rule_has_a_reason_and_a_source() -> None:
    for rule in (*charge.RULES, *rf.RULES, *insulation.RULES):
        assert rule.why and rule.source and rule.looks_for


@pytest.mark.parametrize("how", ["missing", "cut"])
def test_a_bleeder_that_is_gone_leaves_the_charge(how: str) -> None:
    change = ("b+ -- R1 -- chassis\n", "" if how == "missing" else "b+ -- R1 -- open\n")
    (one,) = told(change, more="missing R1\n" if how == "missing" else "", kind="no-bleeder")
    assert "R1" in one.parts and "C2" in one.parts and not one.drawn
    assert "nothing discharges it" in one.says and "which the drawing has for that" in one.says


def test_without_its_bleeder_a_choke_input_supply_is_told_at_its_crest() -> None:
    (one,) = told(("b+ -- R1 -- chassis\n", ""), more="missing R1\n", kind="no-bleeder")
    volts = 400 * math.pi / 2
    assert f"{volts:.0f} V" in one.says


def test_a_drawing_without_a_bleeder() -> None:
    bare = (('R1 resistor 10k 50W "bleeder"\n', ""), ("b+ -- R1 -- chassis\n", ""))
    (one,) = told(stock=bare, kind="no-bleeder")
    assert one.drawn and "The drawing has it too." in one.says


def test_one_of_two_stores_that_the_drawing_leaves_charged_is_still_the_drawings() -> None:
    two = (
        ('R1 resistor 10k 50W "bleeder"\n', "C4 electrolytic 8u 450V\nR4 resistor 4.7k 5W\n"),
        ("b+ -- R1 -- chassis\n", "b+ -- R4 -- b2\nb2 -- C4.+/- -- chassis\n"),
        ("net b+ supply 400V\n", "net b+ supply 400V\nnet b2 supply 300V\n"),
    )
    (both,) = told(stock=two, kind="no-bleeder")
    assert both.drawn and set(both.nets) == {"b+", "b2"}
    (left,) = told(("b+ -- R4 -- b2\n", "b+ -- R4 -- ?R9 -- b2\nb2 -- ?R8 -- chassis\n"),
                   more="?R8 resistor 10k 20W\n?R9 resistor 100M\n", stock=two, kind="no-bleeder")  # fmt: skip
    assert left.drawn and left.nets == ("b+",)


def test_a_bleeder_made_of_two_is_a_bleeder() -> None:
    two = "b+ -- ?R1 -- ?R2 -- chassis\n"
    more = "missing R1\n?R1 resistor 5k 50W\n?R2 resistor 5k 50W\n"
    assert told(("b+ -- R1 -- chassis\n", two), more=more, kind="no-bleeder") == []


def test_a_way_that_takes_minutes() -> None:
    more = "missing R1\n?R1 resistor 10M\n"
    (one,) = told(("b+ -- R1 -- chassis\n", "b+ -- ?R1 -- chassis\n"), more=more, kind="no-bleeder")
    assert "minutes" in one.says and "10 MΩ" in one.says


def test_a_lost_safety_choke_says_what_would_stand_on_the_aerial() -> None:
    (one,) = told(("out -- L3 -- chassis\n", ""), more="missing L3\n", kind="no-safety-choke")
    assert one.parts == ("L3",) and "J2.center" in one.terminals
    assert "C3, rated 2500 V" in one.says and "400 V" in one.says


def test_a_safety_choke_that_is_there_is_no_finding() -> None:
    assert told(more="L3 choke 1mH 30ohm\n", kind="no-safety-choke") == []


COAX = "coax C3.2 -- J2.center, cable W2, RG-58, 200mm, braid chassis -- J2.shell\n"


def test_figures_of_an_open_wire() -> None:
    said = figures(compared((COAX, "wire C3.2 -- J2.center, 150mm, 20AWG\n")))["unshielded-run"]
    low, high = (rf.rf.effect(0.15, hertz, 52, 20, rf.wire.diameter(20)) for hertz in (3.5e6, 7e6))
    assert "150 mm" in said and "1/286 of a wavelength at 7 MHz" in said
    assert f"{low.swr:.2f} to {high.swr:.2f} in 52 Ω" in said
    assert "at most" in said and "upper estimate" in said


def test_a_length_that_nobody_noted() -> None:
    said = figures(compared((COAX, "wire C3.2 -- J2.center\n")))["unshielded-run"]
    assert "Nobody noted its length" in said


def test_a_braid_open_at_one_end_counts_as_open_wire() -> None:
    said = figures(compared((COAX, COAX.replace("chassis -- J2.shell", "chassis -- open"))))["open-braid"]
    assert "does not go from end to end" in said and "200 mm" in said


def test_a_braid_whose_ends_lost_their_ground() -> None:
    lug = (
        ("braid chassis -- J2.shell", "braid E2.1 -- J2.shell"),
        ("E1 block 1", "E2 ground-lug\nE1 block 1"),
        ("bolted E1.1 -- chassis", "bolted E1.1 -- chassis\nbolted E2.1 -- chassis"),
    )
    both = (("J2.shell -- chassis\n", ""), ("\nbolted E2.1 -- chassis", ""))
    found = told(*both, stock=lug, kind="open-braid")
    assert {one.terminals for one in found} == {("J2.shell",), ("E2.1",)}
    assert all("W2" in one.says and one.hold == "transmit" for one in found)
    # Through the braid itself either end grounds the other.
    assert told(both[0], stock=lug, kind="open-braid") == []


def test_another_cable() -> None:
    said = figures(compared((COAX, COAX.replace("RG-58", "RG-59"))))["wrong-wire"]
    assert "73 Ω" in said and "SWR" in said


def test_a_foreign_relay_in_the_aerial_lead() -> None:
    lead = "wire C3.2 -- ?K1.c, 60mm\nwire ?K1.no -- J2.center, 90mm\n"
    (one,) = [f for f in told((COAX, lead), more="?K1 relay-spdt 6V\n") if f.kind == "unshielded-run"]
    assert "?K1" in one.parts and "crest" in one.says and one.hold == "transmit"
    ceramic = told((COAX, lead), more="?K1 relay-spdt 6V antenna\n", kind="unshielded-run")
    assert ceramic == []


HV = "b+ -- R2 -- V2.g2\n"


@pytest.mark.parametrize(("gap", "bad"), [("3mm", False), ("2mm", True)])
def test_a_gap_on_the_mains(gap: str, bad: bool) -> None:
    """115 V r.m.s. passes the table for boards at 1.25 mm; the mains ask for 3."""
    found = told(("line -- T1.1", f"wire line -- T1.1, 100mm, gap {gap} to chassis"), kind="exposed-conductor")
    assert bool(found) is bad


def test_figures_of_a_gap_with_the_key_up() -> None:
    comparison = compared(
        ("b+ -- R1 -- chassis\n", ""), (HV, "wire b+ -- R2.1, 50mm, gap 2mm to chassis\nR2.2 -- V2.g2\n"),
        more="missing R1\n",
    )  # fmt: skip
    said = figures(comparison)["exposed-conductor"]
    assert "628 V crest" in said and "key up" in said and "3.14 mm" in said


def test_a_gap_that_only_the_crest_asks_for() -> None:
    changes = (("b+ -- R1 -- chassis\n", ""), (HV, "wire b+ -- R2.1, 50mm, gap 2.7mm to chassis\nR2.2 -- V2.g2\n"))
    (one,) = told(*changes, more="missing R1\n", kind="exposed-conductor")
    assert "2.7 mm" in one.says and "3.14 mm" in one.says
    assert told(changes[1], kind="exposed-conductor") == []


def expected(name: str) -> list[Finding]:
    result = examine(compare(read(f"examples/{name}.found")))  # type: ignore[arg-type]
    return [one for one in result.findings if one.kind in MINE]


def test_the_coast_station() -> None:
    """The last column of its list of what must be found."""
    found = {(one.kind, part) for one in expected("harbourlight-0417") for part in one.parts if not one.drawn}
    assert found >= {("no-bleeder", "R45"), ("no-safety-choke", "L10")}


def test_figures_of_the_coast_station() -> None:
    said = figures(compare(read("examples/harbourlight-0417.found")))  # type: ignore[arg-type]
    assert "130 mm" in said["unshielded-run"] and "45 W" in said["unshielded-run"]
    assert "320 mm" in said["inserted-part"]
    assert "754 V crest" in said["exposed-conductor"]
