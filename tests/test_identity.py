"""Identity without markings, interchangeable things, and what is no modification."""

from __future__ import annotations

import pytest

from tests.texts import compared, kinds

STOCK = """stock "Identity"
ground chassis
zone all
V1 tube 12AX7
V2 tube 6V6GT
V3 tube 6146
R1 resistor 100k
R2 resistor 100k
R3 resistor 1k
R4 resistor 47k
R5 resistor 470
R6 resistor 22k
R7 resistor 22k
C1 capacitor .01u
C2 electrolytic 20u 25V
S1 switch-dpdt
T1 transformer
winding T1 1 -- 2, 6.3Vac
winding T1 3 -- 4, 5Vac
J1 jack-2
L1 coil 2mH
net b+ supply 250V
net heater heater 6.3Vac
V1.pa -- R1 -- b+
V1.pb -- R2 -- b+
V1.ka -- R3 -- chassis
V1.kb -- chassis
V1.g1a -- J1.tip
J1.sleeve -- chassis
V1.pa -- C1 -- V1.g1b
V1.g1b -- R4 -- chassis
V2.k -- R5 -- chassis
V2.k -- C2.+/- -- chassis
V2.g1 -- V1.pb
V2.g2 -- R6 -- R7 -- b+
V2.p -- L1 -- b+
V2.h1 -- heater -- T1.1
V2.h2 -- chassis -- T1.2
V1.h1 -- heater
V1.h2 -- chassis
V3.k -- chassis
V3.g1 -- S1.ca
V3.g2 -- S1.cb
S1.a1 -- b+
S1.b1 -- chassis
S1.a2 -- V2.k
S1.b2 -- T1.3
"""
BODY = "V1.pa" + STOCK.split("V1.pa", 1)[1]
HEAD = 'found "No. 1" of "t.stock"\ntraced all\n'


def found(*changes: tuple[str, str], more: str = "") -> str:
    body = BODY
    for old, new in changes:
        assert old in body, old
        body = body.replace(old, new)
    return HEAD + more + body


@pytest.mark.parametrize(
    ("lost", "new", "line"),
    [("R5", "?R905", "?R905 resistor 470"), ("C1", "?C901", "?C901 .01u"), ("R1", "?R901", "?R901 resistor 100k")],
)
def test_a_lost_marking_is_found_by_the_wiring(lost: str, new: str, line: str) -> None:
    line = line.replace("?C901 .01u", "?C901 capacitor .01u")
    text = found((f"-- {lost} --", f"-- {new} --"), more=f"traced {new}\n{line}\n")
    result = compared(STOCK, text)
    assert result.findings == ()
    assert any(new in note and lost in note for note in result.notes)


def test_equally_good_answers_are_both_named() -> None:
    stock = STOCK.replace("V2.k -- R5 -- chassis\n", "V2.k -- R5 -- chassis\nR8 resistor 470\nV2.k -- R8 -- chassis\n")
    text = found(("V2.k -- R5 -- chassis\n", "V2.k -- ?R1 -- chassis\nV2.k -- ?R2 -- chassis\n"),
                 more="traced ?R1 ?R2\n?R1 resistor 470\n?R2 resistor 470\n")  # fmt: skip
    result = compared(stock, text)
    assert result.findings == ()
    assert "?R1 is R5 or R8: they are wired alike." in result.notes


def test_several_lost_markings_in_a_row_are_found_from_their_neighbours() -> None:
    text = found(("R6 -- R7", "?R1 -- ?R2"), more="traced ?R1 ?R2\n?R1 resistor 22k\n?R2 resistor 22k\n")
    assert compared(STOCK, text).findings == ()


def test_two_designators_mixed_up_are_recognised() -> None:
    text = found(
        ("V1.ka -- R3 -- chassis", "V1.ka -- R4 -- chassis"), ("V1.g1b -- R4 -- chassis", "V1.g1b -- R3 -- chassis")
    )
    result = compared(STOCK, text)
    assert kinds(result) == [("exchanged-parts", ("R3", "R4"))]
    assert "what is called R3 in the file sits where R4 belongs" in result.findings[0].says


def test_the_halves_of_a_double_tube_are_interchangeable_and_noted() -> None:
    swap = {
        "V1.pa": "V1.pB",
        "V1.ka": "V1.kB",
        "V1.g1a": "V1.g1B",
        "V1.pb": "V1.pa",
        "V1.kb": "V1.ka",
        "V1.g1b": "V1.g1a",
    }
    body = BODY
    for old, new in swap.items():
        body = body.replace(old, new)
    result = compared(STOCK, HEAD + body.replace("B ", "b ").replace("B\n", "b\n"))
    assert result.findings == ()
    assert any("halves" in note for note in result.notes)


def test_poles_of_a_switch_taken_over_whole_are_no_difference() -> None:
    body = BODY.replace("S1.ca", "S1.X").replace("S1.cb", "S1.ca").replace("S1.X", "S1.cb")
    body = body.replace("S1.a1", "S1.X1").replace("S1.b1", "S1.a1").replace("S1.X1", "S1.b1")
    body = body.replace("S1.a2", "S1.X2").replace("S1.b2", "S1.a2").replace("S1.X2", "S1.b2")
    assert compared(STOCK, HEAD + body).findings == ()


def test_one_throw_of_a_switch_exchanged_is_a_difference() -> None:
    body = BODY.replace("S1.a1", "S1.X1").replace("S1.b1", "S1.a1").replace("S1.X1", "S1.b1")
    assert compared(STOCK, HEAD + body).findings


def test_two_parts_in_series_in_exchanged_order_are_noted() -> None:
    stock = STOCK.replace("R7 resistor 22k", "R7 resistor 10k")
    result = compared(stock, found(("V2.g2 -- R6 -- R7 -- b+", "V2.g2 -- R7 -- R6 -- b+")))
    assert result.findings == ()
    assert "R6 and R7 are in series in exchanged order; equal." in result.notes


def test_a_free_pin_as_tie_point_is_noted() -> None:
    result = compared(STOCK, found(("V2.g2 -- R6 -- R7 -- b+", "V2.g2 -- R6 -- V2.6 -- R7 -- b+")))
    assert result.findings == ()
    assert any("V2.6" in note and "tie point" in note for note in result.notes)


def test_a_pin_that_the_tube_joins_inside_is_no_tie_point() -> None:
    """Pin 4 of a 6146 is its cathode too: a screen lead parked there is grounded by the tube."""
    result = compared(STOCK, found(("V2.g2 -- R6 -- R7 -- b+", "V2.g2 -- R6 -- V3.4 -- R7 -- b+")))
    assert [f.kind for f in result.findings] == ["added-connection"]


def test_a_supply_fed_from_another_winding() -> None:
    text = found(("V2.h1 -- heater -- T1.1", "V2.h1 -- heater -- T1.3"), ("S1.b2 -- T1.3", "S1.b2 -- T1.1"))
    result = compared(STOCK, text)
    assert kinds(result) == [("reversed", ("T1",))]
    (other,) = compared(STOCK, found(("V2.h1 -- heater -- T1.1", "V2.h1 -- heater -- T1.3"))).modifications
    assert other.title == "Heater fed from another winding"
    assert other.hold == "power"


def test_a_stage_cut_out_and_bridged() -> None:
    text = found(("V1.pa -- C1 -- V1.g1b\n", "V1.pa -- V1.g1b\n"), more="missing C1\n")
    assert sorted(f.kind for f in compared(STOCK, text).findings) == ["added-connection", "missing-part"]


def test_a_rewired_socket_is_one_modification() -> None:
    pins = {"V2.g1 -- V1.pb": "V2.p -- V1.pb", "V2.p -- L1": "V2.g1 -- L1", "V2.k -- R5": "V2.g2 -- R5",
            "V2.k -- C2": "V2.g2 -- C2", "S1.a2 -- V2.k": "S1.a2 -- V2.g2", "V2.g2 -- R6": "V2.k -- R6"}  # fmt: skip
    text = found(*pins.items(), more="V2 tube 6L6GC\n")
    result = compared(STOCK, text)
    assert len(result.modifications) == 1
    assert "wrong-part" in [f.kind for f in result.findings]


def test_a_connector_with_more_contacts() -> None:
    stock = STOCK.replace("V1.g1a -- J1.tip\nJ1.sleeve -- chassis", "V1.g1a -- J1.tip\nJ1.sleeve -- chassis")
    result = compared(stock, found(more="J1 jack-3\n"))
    assert [f.kind for f in result.findings] == ["wrong-part"]


def test_a_substitute_of_six_parts_in_series_and_parallel() -> None:
    chain = "V1.ka -- ?R1 -- ?R2 -- chassis\nV1.ka -- ?R3 -- ?R4 -- chassis\nV1.ka -- ?R5 -- ?R6 -- chassis"
    parts = "".join(f"?R{n} resistor 1.5k 0.5W\n" for n in range(1, 7))
    text = found(("V1.ka -- R3 -- chassis", chain), more=f"missing R3\ntraced ?R1 ?R2 ?R3 ?R4 ?R5 ?R6\n{parts}")
    (finding,) = compared(STOCK, text).findings
    assert finding.kind == "substituted-part"
    assert "together 1 kΩ, the value agrees" in finding.says
    assert "together they stand 3 W" in finding.says
