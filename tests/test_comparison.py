"""What the comparison says of each thing that can have been done, on one small amplifier."""

from __future__ import annotations

from pathlib import Path

import pytest

from netdiff.comparison import compare
from netdiff.language import read_unit
from tests.texts import compared, kinds, unit

HERE = Path(__file__).resolve().parent.parent

STOCK = """stock "Two-stage test amplifier"
ground chassis
zone all "All of it"
J1 jack-2 "input"
J2 coax-socket "output"
V1 tube 6SJ7
V2 tube 6V6GT
CR1 rectifier
F1 fuse 1A
S1 switch-spst "mains"
T1 transformer
winding T1 1 -- 2, 115Vac, 8ohm
winding T1 3 -- 4, 250Vac, 120ohm
winding T1 5 -- 6, 6.3Vac
R1 resistor 470k 0.5W 10% "grid leak"
R2 resistor 220k 0.5W 10% "plate load"
R3 resistor 1k 0.5W 10%
R4 resistor 470k 0.5W 10%
R5 resistor 20k 2W 10% "dropping"
R6 resistor 100k 2W 20% "bleeder"
C1 capacitor .01u 400V
C2 electrolytic 16u 450V
C3 capacitor .05u 400V
C4 capacitor .1u 600V
L1 coil 5mH
W1 cord-2
net line mains 115Vac
net neutral mains
net b+ supply 300V
net heater heater 6.3Vac
net out rf 1.8..7MHz 50ohm 20W
W1.L -- F1 -- S1.1
S1.2 -- line -- T1.1
W1.N -- neutral -- T1.2
T1.3 -- CR1.a/k -- b+ -- C2.+/- -- chassis
T1.4 -- chassis -- T1.5
T1.6 -- heater
b+ -- R6 -- chassis
V1.h1 -- chassis -- V2.h1
V1.h2 -- heater -- V2.h2
J1.tip -- R1 -- chassis
J1.tip -- V1.g1
J1.sleeve -- chassis
V1.k -- R3 -- chassis
V1.g3 -- chassis
V1.p -- R2 -- b+
V1.g2 -- R5 -- b+
V1.g2 -- C4 -- V1.g3, direct
V1.p -- C1 -- V2.g1
V2.g1 -- R4 -- chassis
V2.k -- chassis
V2.g2 -- b+
V2.p -- L1 -- b+
V2.p -- C3 -- out
coax C3.2 -- J2.center, cable W2, RG-58, 200mm, braid chassis -- J2.shell
"""

FOUND_HEAD = 'found "No. 1" of "t.stock"\ntraced all\n'
BODY = STOCK.split("net out")[1].split("\n", 1)[1]


def found(*changes: tuple[str, str], more: str = "", head: str = FOUND_HEAD) -> str:
    """The stock wiring told again, with lines exchanged."""
    body = BODY.replace(", direct", "")
    for old, new in changes:
        assert old in body, old
        body = body.replace(old, new)
    return head + more + body


def test_the_same_wiring_is_no_difference() -> None:
    result = compared(STOCK, found())
    assert result.findings == ()
    assert result.coverage.total.not_traced == 0
    assert result.coverage.total.differ == 0


@pytest.mark.parametrize(
    ("change", "more", "expected"),
    [
        (("V1.k -- R3 -- chassis", "V1.k -- R3"), "", [("broken-ground", ("R3",))]),
        (("V1.p -- C1 -- V2.g1", "V1.p -- C1"), "", [("open-connection", ("C1",))]),
        (("V2.k -- chassis", "V2.k -- chassis -- b+"), "", [("added-connection", ())]),
        (("J1.sleeve -- chassis", "J1.sleeve -- V1.g2"), "", [("moved-lead", ("J1",))]),
        (("b+ -- C2.+/- -- chassis", "b+ -- C2.-/+ -- chassis"), "", [("reversed", ("C2",))]),
        (("T1.3 -- CR1.a/k -- b+", "T1.3 -- CR1.k/a -- b+"), "", [("reversed", ("CR1",))]),
        (("V1.k -- R3 -- chassis\n", ""), "missing R3\n", [("missing-part", ("R3",))]),
        (("V1.k -- R3 -- chassis\n", ""), "", [("missing-part", ("R3",))]),
        (("V1.k", "V1.k"), "V1 tube 6SK7\n", [("wrong-part", ("V1",))]),
        (("V1.k", "V1.k"), "R4 resistor 47k\n", [("wrong-value", ("R4",))]),
        (("V1.k", "V1.k"), "R4 resistor 510k\n", []),
        (("V1.k", "V1.k"), "R4 470k, measured 780k\n", [("drifted-part", ("R4",))]),
        (("V1.k", "V1.k"), "C4 capacitor .1u 200V\n", [("low-rating", ("C4",))]),
        (("V1.k", "V1.k"), "R5, charred\n", [("condition", ("R5",))]),
        (("W1.L -- F1 -- S1.1", "W1.L -- F1 -- S1.1\nF1.1 -- F1.2"), "", [("bypassed-part", ("F1",))]),
        (
            ("V1.p -- C1 -- V2.g1", "V1.p -- C1 -- ?C9 -- V2.g1"),
            "?C9 capacitor .01u\ntraced ?C9\n",
            [("inserted-part", ("?C9",))],
        ),
        (
            ("V1.g2 -- R5 -- b+", "V1.g2 -- ?R8 -- ?R9 -- b+"),
            "?R8 resistor 10k 1W\n?R9 resistor 10k 1W\ntraced ?R8 ?R9\nmissing R5\n",
            [("substituted-part", ("R5", "?R8", "?R9"))],
        ),
        (
            ("V1.g2 -- R5 -- b+", "V1.g2 -- ?R8 -- b+\nV1.g2 -- ?R9 -- b+"),
            "?R8 resistor 39k 1W\n?R9 resistor 39k 1W\ntraced ?R8 ?R9\nmissing R5\n",
            [("substituted-part", ("R5", "?R8", "?R9"))],
        ),
        (
            ("V1.g2 -- C4 -- V1.g3", "V1.g2 -- C4 -- V1.g3\nV1.g2 -- ?C9 -- chassis"),
            "?C9 capacitor .1u\ntraced ?C9\n",
            [("bypassed-part", ("C4", "?C9"))],
        ),
        (
            ("V1.g2 -- C4 -- V1.g3", "V1.g2 -- C4 -- V1.g3\nV1.p -- ?C9 -- V2.k"),
            "?C9 capacitor 100p\ntraced ?C9\n",
            [("added-part", ("?C9",))],
        ),
        (
            ("coax C3.2 -- J2.center, cable W2, RG-58, 200mm, braid chassis -- J2.shell",
             "wire C3.2 -- J2.center, 150mm\nJ2.shell -- chassis"),
            "",
            [("unshielded-run", ("C3", "J2"))],
        ),
        (("RG-58, 200mm, braid chassis -- J2.shell", "RG-58, 200mm, braid open -- J2.shell\nJ2.shell -- chassis"), "",
         [("open-braid", ("C3", "J2"))]),
        (("RG-58", "RG-59"), "", [("wrong-wire", ("C3", "J2"))]),
        (("V2.p -- L1 -- b+", "V2.p -- L1\nwire L1.2 -- b+, bare 30mm"), "", [("exposed-conductor", ("L1",))]),
        (("V1.g2 -- R5 -- b+", "V1.g2 -- ?R7 -- b+"), "?R7 resistor 20k 2W\ntraced ?R7\n", []),
        (
            ("V1.g2 -- R5 -- b+", "V1.g2 -- ?R7 -- b+"),
            "?R7 resistor 47k 2W\ntraced ?R7\n",
            [("wrong-value", ("R5", "?R7"))],
        ),
    ],
)  # fmt: skip
def test_each_thing_is_named(change: tuple[str, str], more: str, expected: list[tuple[str, tuple[str, ...]]]) -> None:
    assert kinds(compared(STOCK, found(change, more=more))) == expected


@pytest.mark.parametrize(
    "change",
    [
        ("J1.tip -- R1 -- chassis", "chassis -- R1 -- J1.tip"),
        ("V1.h1 -- chassis -- V2.h1\nV1.h2 -- heater -- V2.h2", "V1.h2 -- chassis -- V2.h1\nV1.h1 -- heater -- V2.h2"),
        ("V1.p -- R2 -- b+", "V1.p -- TB7.3 -- R2 -- b+\ntraced TB7"),
        ("V1.p -- R2 -- b+", "V1.p -- R2 -- V2.g2\nV2.g2 -- b+\nb+ -- R2"),
        ("V2.k -- chassis", "V2.k -- chassis -- V2.k"),
    ],
)
def test_what_is_electrically_equal_is_no_finding(change: tuple[str, str]) -> None:
    assert compared(STOCK, found(change)).findings == ()


def test_what_nobody_looked_at_is_neither_finding_nor_pass() -> None:
    text = 'found "No. 2" of "t.stock"\ntraced V2\nV2.k -- chassis\nV2.g2 -- b+\n'
    result = compared(STOCK, text)
    spoken = {where for finding in result.findings for where in finding.terminals}
    assert not any(where.startswith("V1") for where in spoken)
    assert result.coverage.total.not_traced > 20
    assert "V1.g1" in result.coverage.not_traced


def test_a_closed_net_tells_what_is_absent_from_it() -> None:
    """Everything on V1.k is traced and R3 is not there: known without looking at R3."""
    text = 'found "No. 2" of "t.stock"\ntraced V1.k\n'
    result = compared(STOCK, text)
    assert [(f.kind, f.terminals) for f in result.findings] == [("open-connection", ("V1.k",))] or [
        (f.kind, f.terminals) for f in result.findings
    ] == [("open-connection", ("R3.1",))]


def test_an_unfollowed_lead_keeps_a_net_open() -> None:
    text = 'found "No. 2" of "t.stock"\nat V1.k: ?\n'
    assert compared(STOCK, text).findings == ()


def test_a_meter_that_reads_open_tells_points_apart() -> None:
    text = 'found "No. 2" of "t.stock"\nohms J1.sleeve -- chassis = open\n'
    assert [f.kind for f in compared(STOCK, text).findings] == ["broken-ground"]


def test_a_kept_modification_is_marked_with_its_reason() -> None:
    change = ("V1.g2 -- C4 -- V1.g3", "V1.g2 -- C4 -- V1.g3\nV1.p -- ?C9 -- V2.k")
    more = '?C9 capacitor 100p\ntraced ?C9\nkeep ?C9 "cures a howl"\n'
    (modification,) = compared(STOCK, found(change, more=more)).modifications
    assert modification.kept
    assert modification.reason == "cures a howl"
    assert modification.parts == ("?C9",)


def test_two_parts_in_each_others_place() -> None:
    change = ("V1.k -- R3 -- chassis", "V1.k -- R5 -- chassis")
    other = ("V1.g2 -- R5 -- b+", "V1.g2 -- R3 -- b+")
    assert kinds(compared(STOCK, found(other, change))) == [("exchanged-parts", ("R3", "R5"))]


def test_a_bypass_returned_to_another_point_of_the_same_net() -> None:
    change = ("V1.g2 -- C4 -- V1.g3", "V1.g2 -- C4 -- V2.k")
    assert kinds(compared(STOCK, found(change))) == [("wrong-lug", ("C4", "V1"))]


def test_the_hold_follows_the_net_and_the_part() -> None:
    (fuse,) = compared(STOCK, found(("W1.L -- F1 -- S1.1", "W1.L -- F1 -- S1.1\nF1.1 -- F1.2"))).findings
    assert fuse.hold == "power"
    assert "fuse" in fuse.why
    (cable,) = compared(STOCK, found(("RG-58", "RG-59"))).findings
    assert cable.hold == "transmit"


def test_a_receiver_has_no_hold_before_transmitting() -> None:
    stock = STOCK.replace(" 20W", "")
    (cable,) = compared(stock, found(("RG-58", "RG-59"))).findings
    assert cable.hold == "deliver"


def test_productions_are_tried_and_named() -> None:
    stock = STOCK.replace(
        "V1.k -- R3 -- chassis\n",
        'production early "to 500"\nproduction late "from 501"\nV1.k -- R3 -- chassis\n'
        "only late: V1.k -- C5 -- chassis\nonly late: C5 capacitor 10u\n",
    )
    late = compared(stock, found(("V1.k -- R3 -- chassis", "V1.k -- R3 -- chassis\nV1.k -- C5 -- chassis")))
    assert late.findings == ()
    assert "late" in late.production
    early = compared(stock, found())
    assert early.findings == ()
    assert "early" in early.production


def test_the_small_pair() -> None:
    read, faults = read_unit(HERE / "examples" / "attic.found")
    assert read is not None and not faults
    result = compare(read)
    assert kinds(result) == [
        ("broken-ground", ("J2",)),
        ("inserted-part", ("?K1",)),
        ("reversed", ("J1",)),
        ("substituted-part", ("R1", "?R9")),
        ("unshielded-run", ("C1", "J2", "?K1")),
    ]
    assert len(result.modifications) == 4
    relay = next(m for m in result.modifications if "?K1" in m.parts)
    assert len(relay.findings) == 2
    open_run = next(f for f in result.findings if f.kind == "unshielded-run")
    assert "150 mm" in open_run.says and "180 mm" in open_run.says and "RG-58" in open_run.says
    assert result.coverage.total.not_traced == 0
    pair = next(f for f in result.findings if f.kind == "substituted-part")
    assert "22 kΩ" in pair.says and "1.83 W" in pair.says


def test_unit_reads() -> None:
    assert unit(STOCK, found()).title == "No. 1"


def test_a_reversed_electrolytic_is_found_under_a_new_one() -> None:
    change = ("b+ -- C2.+/- -- chassis", "b+ -- C2.-/+ -- chassis\nb+ -- ?C9.+/- -- chassis")
    result = compared(STOCK, found(change, more="?C9 electrolytic 47u 450V\ntraced ?C9\n"))
    assert kinds(result) == [("bypassed-part", ("C2", "?C9")), ("reversed", ("C2",))]


def test_a_reversed_electrolytic_is_found_when_nothing_else_was_looked_at() -> None:
    result = compared(STOCK, 'found "No. 2" of "t.stock"\nb+ -- C2.-/+ -- chassis\n')
    assert kinds(result) == [("reversed", ("C2",))]


def test_an_empty_socket_can_be_wired_to() -> None:
    """Diodes across the empty socket of a tube: what is wired there is compared, and the tube is missing."""
    change = ("V2.p -- L1 -- b+", "V2.p -- L1 -- b+\nV2.p -- ?CR1.a/k -- V2.k")
    result = compared(STOCK, found(change, more="missing V2\n?CR1 diode\ntraced ?CR1\n"))
    assert kinds(result) == [("added-part", ("?CR1",)), ("missing-part", ("V2",))]


def test_an_empty_socket_of_which_no_line_speaks_is_only_a_missing_tube() -> None:
    body = [line for line in BODY.splitlines() if "V2" not in line]
    result = compared(STOCK, FOUND_HEAD + "missing V2\n" + "\n".join(body))
    assert ("missing-part", ("V2",)) in kinds(result)
    assert not any("V2" in finding.parts and finding.kind != "missing-part" for finding in result.findings)


def test_an_unnamed_net_counts_as_the_one_that_feeds_it() -> None:
    """Between fuse and switch the mains has no name in the drawing; it is the mains all the same."""
    (finding,) = compared(STOCK, found(("W1.L -- F1 -- S1.1", "W1.L -- F1"))).findings
    assert finding.kind == "open-connection"
    assert finding.hold == "power"


def test_what_the_drawing_calls_a_safety_part_is_one() -> None:
    stock = STOCK.replace("L1 coil 5mH", 'L1 coil 5mH\nL2 coil 2mH "safety choke"').replace(
        "V2.p -- C3 -- out", "V2.p -- C3 -- out\nJ2.center -- L2 -- chassis"
    )
    (finding,) = compared(stock, found(more="missing L2\n")).findings
    assert finding.hold == "power"
