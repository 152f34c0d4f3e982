"""Hazards: each rule on a circuit that has it and one that has not; the demo's are all found."""

from __future__ import annotations

from pathlib import Path

import pytest

from netdiff.comparison import Comparison, Finding, compare
from netdiff.hazards import examine, rules
from netdiff.language import read_unit
from tests.texts import compared

ROOT = Path(__file__).resolve().parent.parent
SET = """
stock "T"
ground chassis
J1 inlet-2
S1 switch-spst
F1 fuse 1A 250V
T1 transformer
V1 tube 5Y3GT
V2 tube 6V6GT
L1 choke 10H 100mA 200ohm
C1 electrolytic 16u 450V
R1 resistor 50k 5W 10%
R2 resistor 270 2W 10%
R3 resistor 470k 0.5W 10%
R4 resistor 1k 1W 10%
C2 electrolytic 25u 50V
K1 relay-spst 6V 100ohm
winding T1 1 -- 2, 117Vac, 8ohm, "primary"
winding T1 3 -- 4 -- 5, 600Vac, 200ohm
winding T1 6 -- 7, 5Vac, 0.1ohm
winding T1 8 -- 9, 6.3Vac, 0.1ohm
net line mains 117Vac
net b+ supply 250V
net heater heater 6.3Vac
J1.L -- F1 -- S1 -- line -- T1.1
J1.N -- T1.2
T1.3 -- V1.pa
T1.5 -- V1.pb
T1.4 -- chassis
T1.6 -- V1.f1
T1.7 -- V1.f2
V1.f2 -- L1 -- b+
b+ -- C1.+/- -- chassis
b+ -- R1 -- chassis
T1.8 -- heater -- V2.h1
T1.9 -- chassis -- V2.h2
b+ -- V2.p
b+ -- R4 -- V2.g2
V2.k -- R2 -- chassis
V2.k -- C2.+/- -- chassis
V2.g1 -- R3 -- chassis
state playing: S1 on
load 40mA V2.p -- V2.k in playing
load 5mA V2.g2 -- V2.k in playing
"""
START = SET.index("J1.L --")
END = SET.index("state playing")
WIRES = SET[START:END]
TRACED = 'found "u" of "t.stock"\ntraced J1 S1 F1 T1 V1 V2 L1 C1 R1 R2 R3 R4 C2\n'


def found(*changes: tuple[str, str], head: str = "", trace: str = TRACED) -> Comparison:
    wires = WIRES
    for old, new in changes:
        assert old in wires
        wires = wires.replace(old, new)
    return examine(compared(SET, trace + head + wires))


def of_kind(comparison: Comparison, kind: str) -> list[Finding]:
    return [one for one in comparison.findings if one.kind == kind and not one.drawn]


def new(comparison: Comparison) -> set[str]:
    return {one.kind for one in comparison.findings if not one.drawn and not one.explains}


def test_a_unit_as_drawn_has_only_the_drawings_own_hazards() -> None:
    comparison = found()
    assert comparison.modifications == ()
    assert all(one.drawn and one.modification == "" for one in comparison.findings)
    assert all(one.says.endswith("The drawing has it too.") for one in comparison.findings)


def test_a_grid_that_lost_its_return() -> None:
    (one,) = of_kind(found(("V2.g1 -- R3 -- chassis", "V2.g1 -- R3\nR3.2 -- open")), "open-grid-return")
    assert one.terminals == ("V2.g1",) and one.hold == "power" and one.modification == "mod-1"


def test_a_cathode_resistor_that_is_bridged() -> None:
    (one,) = of_kind(found(("V2.k -- R2 -- chassis", "V2.k -- R2 -- chassis\nV2.k -- chassis")), "lost-bias")
    assert "V2.k" in one.says and "12.1 V" in one.says


def test_a_screen_that_is_fed_alone() -> None:
    (one,) = of_kind(found(("b+ -- V2.p", "V2.p -- open")), "screen-without-plate")
    assert "V2.g2" in one.says


def test_a_cathode_that_is_cut_off() -> None:
    cut = (
        ("V2.k -- R2 -- chassis", "R2.1 -- open\nR2.2 -- chassis"),
        ("V2.k -- C2.+/- -- chassis", "V2.k -- C2.+/- -- chassis"),
    )
    says = [one.says for one in of_kind(found(*cut), "overstressed")]
    assert any("V2.k has no way to ground" in text for text in says)


def test_a_reversed_electrolytic_tells_its_voltage() -> None:
    says = [one.says for one in of_kind(found(("V2.k -- C2.+/-", "V2.k -- C2.-/+")), "overstressed")]
    assert any(text.startswith("C2 sees 12.") and "the wrong way round" in text for text in says)


def test_silicon_in_a_rectifiers_place_tells_the_rise() -> None:
    wires = [
        ("T1.3 -- V1.pa\n", "T1.3 -- ?CR1.a\n"), ("T1.5 -- V1.pb\n", "T1.5 -- ?CR2.a\n"),
        ("T1.7 -- V1.f2\nV1.f2 -- L1", "T1.7 -- ?CR1.k\n?CR1.k -- ?CR2.k\n?CR1.k -- L1"),
        ("T1.6 -- V1.f1\n", "T1.6 -- ?CR1.k\n"),
    ]  # fmt: skip
    head = "missing V1\n?CR1 diode silicon 1kV 1A\n?CR2 diode silicon 1kV 1A\n"
    comparison = found(*wires, head=head, trace=TRACED.replace(" V1", "").rstrip() + " ?CR1 ?CR2\n")
    (one,) = [f for f in of_kind(comparison, "wrong-supply") if "CR" in f.says]
    assert "5Y3GT" in one.says and "b+ rises from 250 V" in one.says


def test_a_heater_on_the_wrong_winding() -> None:
    swapped = (("T1.8 -- heater -- V2.h1", "T1.8 -- V1.f1"), ("T1.6 -- V1.f1", "T1.6 -- heater -- V2.h1"))
    more = (("T1.9 -- chassis -- V2.h2", "T1.9 -- V1.f2"), ("T1.7 -- V1.f2", "T1.7 -- chassis -- V2.h2"))
    says = [one.says for one in of_kind(found(*swapped, *more), "wrong-supply")]
    assert any("heater of V1" in text and "6.3 V" in text for text in says)


def test_a_foreign_relay_coil_on_the_supply_burns() -> None:
    head = "?K1 relay-spst 6V 100ohm\n"
    wires = ("b+ -- R1 -- chassis", "b+ -- R1 -- chassis\n?K1.coil1 -- b+\n?K1.coil2 -- chassis")
    says = [one.says for one in of_kind(found(wires, head=head, trace=TRACED.rstrip() + " ?K1\n"), "wrong-supply")]
    assert any("coil of ?K1" in text and "more than it stands" in text for text in says)


def test_a_part_above_its_rating_tells_both_circuits() -> None:
    comparison = found(head="R2 270 0.25W\n")
    (one,) = [f for f in of_kind(comparison, "overstressed") if f.parts == ("R2",)]
    assert "0.547 W" in one.says and "rated for 0.25 W" in one.says and "As drawn: 0.547 W of 2 W" in one.says


def test_a_shorted_supply_says_what_would_happen() -> None:
    says = [one.says for one in of_kind(found(("b+ -- V2.p", "b+ -- V2.p\nV1.f2 -- chassis")), "overstressed")]
    assert any("would have to give" in text for text in says), says


def test_a_reading_that_nothing_explains_becomes_a_finding() -> None:
    stock, unit = SET, TRACED + WIRES + "ohms V2.g1 -- chassis = 12k\n"
    (one,) = of_kind(examine(compared(stock, unit)), "reading-off")
    assert "V2.g1 to chassis reads 12 kΩ" in one.says and "470 kΩ (423 kΩ to 517 kΩ)" in one.says


def test_every_rule_says_what_it_looks_for_and_where_that_is_from() -> None:
    assert len(rules()) >= 25
    for rule in rules():
        assert rule.looks_for and rule.why.endswith(".") and rule.source, rule.kind


def expected(name: str) -> list[tuple[str, set[str]]]:
    """The column "hazard on top" of ``NAME.expected.md``: the kind, and the parts it must speak of."""
    out = []
    for line in (ROOT / "examples" / f"{name}.expected.md").read_text(encoding="utf-8").splitlines():
        cells = [cell.strip() for cell in line.strip().strip("|").split("|")]
        if line.startswith("|") and len(cells) >= 5 and cells[4].startswith("`"):
            out += [(kind.strip("` "), set(cells[2].split())) for kind in cells[4].split(",")]
    return out


@pytest.mark.parametrize("name", ["harbourlight-0417", "kitchen-radio"])
def test_every_hazard_of_the_demo_is_found(name: str) -> None:
    unit, faults = read_unit(ROOT / "examples" / f"{name}.found")
    assert unit is not None and not faults
    comparison = examine(compare(unit))
    rows = expected(name)
    assert len(rows) >= 2
    for kind, parts in rows:
        assert any(one.kind == kind and parts & set(one.parts) for one in comparison.findings), (kind, parts)


def test_the_clean_unit_has_no_hazard_but_the_drawings() -> None:
    unit, _ = read_unit(ROOT / "examples" / "harbourlight-0388.found")
    assert unit is not None
    assert new(examine(compare(unit))) == set()


def test_ids_are_numbered_through_and_every_finding_is_in_its_modification() -> None:
    unit, _ = read_unit(ROOT / "examples" / "harbourlight-0417.found")
    assert unit is not None
    comparison = examine(compare(unit))
    assert [one.id for one in comparison.findings] == [f"finding-{n}" for n in range(1, len(comparison.findings) + 1)]
    for one in comparison.modifications:
        assert all(comparison.finding(name).modification == one.id for name in one.findings)
    assert sum(len(one.findings) for one in comparison.modifications) == sum(
        bool(one.modification) for one in comparison.findings
    )


def test_a_leaking_coupling_capacitor_is_held_before_power() -> None:
    stock = SET.replace("V2.g1 -- R3 -- chassis", "V2.g1 -- R3 -- chassis\nC3 capacitor .02u 600V\nb+ -- C3 -- V2.g1")
    wires = WIRES.replace("V2.g1 -- R3 -- chassis", "V2.g1 -- R3 -- chassis\nb+ -- C3 -- V2.g1")
    trace = TRACED.replace(" C2\n", " C2 C3\n")
    comparison = examine(compared(stock, trace + "C3 leaking\n".replace("C3 leaking", "C3, leaking") + wires))
    (one,) = of_kind(comparison, "lost-bias")
    assert one.parts == ("C3",) and one.hold == "power" and "drives the grid positive" in one.says


def test_too_large_a_capacitor_behind_a_rectifier_tube() -> None:
    wires = ("V1.f2 -- L1 -- b+", "V1.f2 -- L1 -- b+\nV1.f2 -- ?C9.+/- -- chassis")
    head = "?C9 electrolytic 100u 450V\n"
    comparison = found(wires, head=head, trace=TRACED.rstrip() + " ?C9\n")
    assert any("100 µF stand right behind V1 (?C9); a 5Y3GT takes 20 µF" in one.says for one in comparison.findings)
