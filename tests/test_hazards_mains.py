"""Hazards of the mains side: fuses, legs, line capacitors, live chassis, earth, guards, terminals outside."""

from __future__ import annotations

import math

import pytest

from netdiff import compare, read
from netdiff.comparison.results import Finding
from netdiff.hazards import examine
from netdiff.hazards.earthing import RULES as EARTHING
from netdiff.hazards.guards import RULES as GUARDS
from netdiff.hazards.mains import RULES as MAINS
from tests.hazardous import told

MINE = {rule.kind for rule in (*MAINS, *EARTHING, *GUARDS)}


def only(found: list[Finding], kind: str) -> Finding:
    mine = [one for one in found if one.kind in MINE]
    assert [one.kind for one in mine] == [kind], [(one.kind, one.says) for one in mine]
    return mine[0]


def test_a_unit_as_drawn_by_good_practice_has_none() -> None:
    assert [one.says for one in told() if one.kind in MINE] == []


def test_every_rule_has_a_reason_and_a_source() -> None:
    for rule in (*MAINS, *EARTHING, *GUARDS):
        assert rule.why and rule.source and rule.looks_for and rule.hold == "power"


def test_a_bridged_fuse_says_what_hangs_behind_it() -> None:
    one = only(told(("line -- F2 -- S2", "F2.1 -- F2.2\nline -- F2 -- S2")), "wrong-fuse")
    assert "F2" in one.parts and "T2 (“plate”)" in one.says and "F1 (3 A) alone" in one.says
    assert one.modification and not one.drawn


def test_a_fuse_of_thrice_the_rating() -> None:
    one = only(told(more="F1 fuse 10A 250V\n"), "wrong-fuse")
    assert "10 A" in one.says and "3.3 times" in one.says and one.parts == ("F1",)


@pytest.mark.parametrize("fuse", ["F1 fuse 3A 250V\n", "F1 fuse 2A 250V\n"])
def test_a_fuse_of_the_rating_or_less_is_none(fuse: str) -> None:
    assert [one for one in told(more=fuse) if one.kind in MINE] == []


def test_a_fan_tapped_before_the_fuse() -> None:
    more = "?B1 motor 115Vac\n"
    one = only(told(("W1.L -- F1", "W1.L -- ?B1 -- W1.N\nW1.L -- F1"), more=more), "unfused")
    assert one.parts == ("?B1",)


def test_a_drawing_without_a_fuse_is_told_once_as_the_drawings() -> None:
    bare = (("F1 fuse 3A 250V\n", ""), ('F2 fuse 1A 250V "plate"\n', ""), ("-- F1 --", "--"), ("-- F2 --", "--"))
    one = only(told(stock=bare), "unfused")
    assert one.drawn and "The drawing has it too." in one.says


def test_line_and_neutral_exchanged_put_fuse_and_switch_in_the_neutral() -> None:
    found = told(("W1.L -- F1", "W1.N -- F1"), ("W1.N -- neutral", "W1.L -- neutral"), kind="wrong-leg")
    assert {one.parts[0] for one in found} == {"F1", "S1", "F2"}
    assert any("still live" in one.says for one in found)


def test_a_plug_that_may_go_in_either_way_round_has_no_wrong_leg() -> None:
    two = (("W1 cord-3", "W1 cord-2"), ("W1.E -- chassis\n", ""))
    found = told(("W1.L -- F1", "W1.N -- F1"), ("W1.N -- neutral", "W1.L -- neutral"), stock=two)
    assert not [one for one in found if one.kind == "wrong-leg"]
    assert [one.drawn for one in found if one.kind == "no-safety-ground"] == [True]


def test_a_common_capacitor_from_line_to_chassis() -> None:
    one = only(told(more="C1 capacitor .01u 600V paper\n"), "unsafe-line-capacitor")
    # 2 pi 60 Hz 0.01 uF 115 V
    assert not one.drawn and "430 µA" in one.says and "Y class" in one.says
    assert math.isclose(2 * math.pi * 60 * 0.01e-6 * 115, 433e-6, rel_tol=0.01)


def test_an_x_capacitor_to_the_chassis_is_the_wrong_class() -> None:
    one = only(told(more="C1 capacitor .01u 600V X2\n"), "unsafe-line-capacitor")
    assert "class X2" in one.says


def test_a_large_capacitor_makes_the_chassis_live() -> None:
    found = told(more="C1 capacitor .1u 600V Y2\n", kind="hot-chassis")
    assert len(found) == 1 and "4.3 mA" in found[0].says and "C1" in found[0].parts


def test_the_neutral_on_the_chassis() -> None:
    (one,) = told(("W1.N -- neutral", "W1.N -- neutral -- chassis"), kind="hot-chassis")
    assert "one side of the line" in one.says


@pytest.mark.parametrize("line", ["W1.E -- open", "W1.E -- TB1.1"])
def test_an_earth_wire_that_goes_nowhere(line: str) -> None:
    one = only(told(("W1.E -- chassis", line)), "no-safety-ground")
    assert one.terminals == ("W1.E",) and "does not reach the chassis" in one.says


@pytest.mark.parametrize(("reading", "bad"), [("0.05", False), ("0", False), ("0.4", True), ("open", True)])
def test_a_measured_bond(reading: str, bad: bool) -> None:
    found = told(more=f"ohms W1.E -- chassis = {reading}\n", kind="no-safety-ground")
    assert bool(found) is bad


def test_a_strapped_door_switch() -> None:
    one = only(told(("line -- F2", "S2.1 -- S2.2\nline -- F2")), "defeated-interlock")
    assert "S2 (“cabinet door”)" in one.says and "T2 (“plate”) can be on" in one.says


def test_a_door_switch_taken_out_and_its_leads_joined() -> None:
    found = told(("-- S2 --", "--"), more="missing S2\n", kind="defeated-interlock")
    assert len(found) == 1


def test_a_strapped_delay() -> None:
    one = only(told(("K1.no -- T2.1", "K1.c -- K1.no\nK1.no -- T2.1")), "defeated-protection")
    assert "no longer waits for K1" in one.says and "30 s" in one.says


def test_a_missing_cover() -> None:
    one = only(told(("bolted E1.1 -- chassis\n", ""), more="missing E1\n"), "missing-cover")
    assert one.parts == ("E1",)


def test_a_supply_on_the_frame_of_a_jack() -> None:
    changes = ("J1.sleeve -- chassis", "J1.sleeve -- ?R1 -- b+")
    (one,) = told(changes, more="?R1 resistor 100k\n", kind="hot-terminal")
    assert one.terminals == ("J1.sleeve",) and one.parts == ("J1",)
    assert "metal that a hand holds" in one.says


def test_a_socket_on_the_line() -> None:
    more = "?J1 phono-socket\n"
    (one,) = told(("W1.N -- neutral", "W1.N -- neutral\nline -- ?J1.shell"), more=more, kind="hot-terminal")
    assert one.terminals == ("?J1.shell",) and "metal that a hand holds" in one.says and "115 V AC" in one.says


def expected(name: str) -> list[Finding]:
    result = examine(compare(read(f"examples/{name}.found")))  # type: ignore[arg-type]
    return [one for one in result.findings if one.kind in MINE]


def test_the_kitchen_radio() -> None:
    """The last column of its list of what must be found."""
    found = {(one.kind, part) for one in expected("kitchen-radio") for part in one.parts if not one.drawn}
    assert found >= {("hot-chassis", "W1"), ("unsafe-line-capacitor", "C17"), ("hot-terminal", "?J1")}


def test_the_coast_station() -> None:
    found = {(one.kind, part) for one in expected("harbourlight-0417") for part in one.parts if not one.drawn}
    assert found >= {
        ("wrong-fuse", "F1"),
        ("wrong-fuse", "F2"),
        ("defeated-interlock", "S3"),
        ("defeated-protection", "K2"),
    }


def test_a_unit_as_drawn_has_only_what_the_drawing_has() -> None:
    assert all(one.drawn for one in expected("harbourlight-0388"))
