"""Found files: what is so, what was looked at, and what is as drawn."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from hypothesis import assume, given
from hypothesis import strategies as some

from netdiff.circuit import Circuit, Found, Lug, Reading, Run, part_of
from netdiff.language import read_model, read_unit_text
from netdiff.language.joined import Joined
from tests import generate
from tests.texts import compared, model, unit

ROOT = Path(__file__).resolve().parents[1]

STOCK = """stock "t"
net b+ supply 250V
net heater heater 6.3Vac
zone rear "Rear apron"
J1 jack-2 "key"
J2 coax-socket
zone under
R1 resistor 22k 2W 10% "screen"
R2 resistor 47k 0.5W
C1 capacitor .01 400V
C2 electrolytic 16u 450V
V1 tube 6V6GT
S1 rotary 2x6 at 2
T1 transformer
winding T1 1 -- 2, 115Vac
winding T1 3 -- 4, 6.3Vac
F1 fuse 2A
b+ -- C2.+/- -- chassis
b+ -- R1 -- V1.g2
chassis -- R2 -- V1.g1
V1.p -- C1 -- J2.center
coax J2.center -- S1.ca, cable W1, RG-58, 180mm, braid J2.shell -- chassis
V1.k -- J1.tip
J1.sleeve -- chassis
bolted J2.shell -- chassis
T1.3 -- heater -- V1.h1
T1.4 -- V1.h2 -- chassis
state on1 "on": S1 at 3
signal audio: V1.g1 > V1.p
load 45mA V1.p -- V1.k in on1
"""
HEAD = 'found "u" of "t.stock"\n'


def found(*lines: str, stock: str = STOCK) -> Found:
    return unit(stock, HEAD + "\n".join(lines)).found()


def faults(*lines: str, stock: str = STOCK) -> list[tuple[int, str]]:
    read, told = read_unit_text(HEAD + "\n".join(lines), model(stock), "t.found")
    assert (read is None) == bool(told)
    return [(fault.place.line - 1, fault.says) for fault in told]


def hops(of: Found, evidence: str = "seen") -> set[frozenset[str]]:
    return {frozenset((run.a, run.b)) for run in of.circuit.runs if run.evidence == evidence}


def pairs(*texts: str) -> set[frozenset[str]]:
    return {frozenset(text.split(" -- ")) for text in texts}


# --- parts


def test_stock_parts_need_no_declaration() -> None:
    part = found("V1.k -- J1.sleeve").circuit.parts["R1"]
    assert (part.value, part.ratings, part.label, part.read_off, part.places) == (22e3, {"W": 2}, "screen", False, ())


def test_a_part_as_read() -> None:
    part = found('R1 10k 25W, charred, "replaced", measured 11k').circuit.parts["R1"]
    assert (part.kind.name, part.value, part.ratings, part.tolerance) == ("resistor", 10e3, {"W": 25}, 0.1)
    assert (part.measured, part.conditions, part.read_off) == (11e3, ("charred", "replaced"), True)
    assert (part.zone, part.label, part.places[0].line) == ("under", "screen", 2)


def test_what_was_not_read_is_the_drawings() -> None:
    part = found("R1 25W").circuit.parts["R1"]
    assert (part.value, part.ratings, part.read_off) == (22e3, {"W": 25}, True)
    part = found("R1, loose").circuit.parts["R1"]
    assert (part.value, part.read_off, part.conditions) == (22e3, False, ("loose",))
    part = found("S1 at 5").circuit.parts["S1"]
    assert (part.kind.type, part.at) == ("2x6", "5")


def test_several_lines_of_one_part_add_up() -> None:
    part = found("R1 10k", "R1, charred", "R1 resistor 25W", "R1, measured 9k").circuit.parts["R1"]
    assert (part.value, part.ratings, part.conditions, part.measured) == (10e3, {"W": 25}, ("charred",), 9e3)
    assert [place.line for place in part.places] == [2, 3, 4, 5]


def test_another_kind_has_its_own_terminals() -> None:
    part = found("V1 tube 6J5GT", "V1.p -- b+").circuit.parts["V1"]
    assert part.kind.type == "6J5GT"
    assert part.kind.lug("g2") is None
    assert faults("V1 tube 6J5GT", "V1.g2 -- b+")[0][0] == 2


def test_foreign_parts() -> None:
    taken = found("zone rear", "?K1 relay-spdt 6V", "?A1 unknown", "?A1.red -- ?K1.c", "?A1.blue -- chassis")
    assert taken.circuit.parts["?K1"].zone == "rear"
    assert [lug.name for lug in taken.circuit.parts["?A1"].kind.terminals] == ["blue", "red"]
    assert faults("?K2.c -- chassis") == [(1, "no line says what ?K2 is")]
    assert faults("R9 resistor 10k", "R9.1 -- chassis") == [
        (1, "the drawing has no R9: a part that it does not have starts with `?`")
    ]
    assert faults("R9.1 -- chassis") == [(1, "the drawing has no R9: a part that it does not have starts with `?`")]


def test_strips_need_no_declaration() -> None:
    part = found("TB7.2 -- V1.k", "TB7.11 -- V1.k").circuit.parts["TB7"]
    assert part.kind.terminals == (Lug("2", tie=True), Lug("11", tie=True))


def test_nets_are_the_drawings_and_joints_in_the_air() -> None:
    taken = found("net splice1", "V1.k -- splice1 -- J1.tip")
    assert taken.circuit.nets["b+"].volts == 250
    assert "splice1" in taken.circuit.nets
    assert faults("V1.k -- splce") == [(1, "no line declares the net splce")]


def test_the_rest_is_the_drawings() -> None:
    taken = found("inspected 2026-03-02", 'by "bench 2"')
    assert (taken.inspected, taken.by) == ("2026-03-02", "bench 2")
    circuit = taken.circuit
    assert (circuit.ground, set(circuit.states), len(circuit.windings)) == ("chassis", {"on1"}, 2)
    assert [load.amps for load in circuit.loads] == [0.045]
    assert not circuit.readings
    assert not circuit.runs


# --- missing


def test_missing() -> None:
    taken = found("missing R1 V1", "missing socket F1")
    assert taken.missing == {"R1", "V1", "F1"}
    assert taken.missing_sockets == {"F1"}
    assert not {"R1", "F1"} & taken.circuit.parts.keys()
    assert "V1" in taken.circuit.parts, "its socket stays"
    assert {"R1.1", "F1.2"} <= taken.traced
    assert taken.missing_places["V1"].line == 2
    assert faults("missing R1", "R1.1 -- chassis", "R1 10k") == [
        (2, "R1 is missing (line 2), and this line uses it"), (3, "R1 is missing (line 2), and here it is"),
    ]  # fmt: skip
    assert faults("missing socket R1", "missing R9", "missing ?K1") == [
        (1, "R1 has no socket: a resistor is wired in"), (2, "the drawing has no R9, so it is not missing"),
        (3, "the drawing has no ?K1, so it is not missing"),
    ]  # fmt: skip
    assert not faults("missing V1", "V1.g1 -- chassis")
    assert not faults("missing V1", 'note V1 "gone"', 'photo "a.jpg" of V1')


# --- traced


def test_traced_zones_parts_terminals() -> None:
    assert found("traced rear").traced == {"J1.tip", "J1.sleeve", "J2.center", "J2.shell"}
    assert found("traced R1 V1.g1").traced == {"R1.1", "R1.2", "V1.g1"}
    assert found("traced rear but J1 J2.shell").traced == {"J2.center"}
    assert found("zone rear", "?R9 resistor 1k", "traced rear but J1 J2").traced == {"?R9.1", "?R9.2"}
    assert found("TB1.3 -- V1.k", "traced TB1").traced == {"TB1.3"}


def test_at_traces_the_lug_and_not_what_lands_there() -> None:
    taken = found('at TB3.2: R1 C1 V1.p ? "green wire"', "at TB3.3: open", "at splice: R2", "net splice")
    assert hops(taken) == pairs("TB3.2 -- R1.1", "TB3.2 -- C1.1", "TB3.2 -- V1.p", "TB3.2 -- ?", "splice -- R2.1")
    # R1 and C1 hang by their leads, the tube does not; a net is no lug.
    assert taken.traced == {"TB3.2", "TB3.3", "R1.1", "C1.1"}
    assert taken.unfollowed == {"TB3.2"}


def test_lead_ends() -> None:
    line = "V1.g2 -- R1 -- TB1.1"
    assert "R1.2" in found("traced V1.g2", line).traced
    assert found("traced V1.g2", f"{line}, metered").traced == {"V1.g2"}
    assert found("traced V1.g2", "wire V1.g2 -- R1.2, 90mm").traced == {"V1.g2"}
    # A lead on a lead that is on a traced lug is not on a traced lug.
    assert found("traced V1.g2", "V1.g2 -- R1.2", "R1.2 -- R2.1").traced == {"V1.g2", "R1.2"}
    # A switch is bolted in: its lugs are traced by being traced.
    assert found("traced V1.g2", "V1.g2 -- S1.ca").traced == {"V1.g2"}


def test_contradictions_at_a_lug() -> None:
    assert faults("at TB1.1: open", "V1.k -- TB1.1") == [
        (2, "nothing lands on TB1.1 (line 2), and this line puts something there")
    ]
    assert faults("at TB1.1: open R1") == [(1, "nothing lands on TB1.1, and something does")]


# --- as drawn


def test_as_drawn_joins_what_was_looked_at() -> None:
    taken = found("as-drawn V1 R1 R2")
    nets = Joined(taken.circuit.runs)
    assert nets.find("R1.2") == nets.find("V1.g2")
    assert nets.find("R2.1") == nets.find("chassis") == nets.find("V1.h2")
    assert nets.find("R2.2") == nets.find("V1.g1")
    assert "C1.1" not in nets
    assert "T1.3" not in nets
    assert taken.as_drawn == {"V1", "R1", "R2"}
    assert {"V1.p", "R1.1"} <= taken.traced
    assert all(run.evidence == "as-drawn" for run in taken.circuit.runs)
    assert taken.circuit.parts["R1"].read_off


def test_as_drawn_zone_but() -> None:
    taken = found("as-drawn under but V1 R1.2")
    assert "R2" in taken.as_drawn
    assert "R1.1" in taken.as_drawn
    assert not {"V1", "R1", "R1.2", "V1.p"} & taken.as_drawn


def test_as_drawn_takes_over_construction() -> None:
    taken = found("as-drawn J2 S1")
    (coax,) = [run for run in taken.circuit.runs if run.conductor == "coax"]
    assert (coax.cable, coax.cable_type, coax.length, coax.evidence) == ("W1", "RG-58", 0.18, "as-drawn")
    assert coax.braid == ("J2.shell", "chassis")
    assert Run("J2.shell", "chassis", "bolted", evidence="as-drawn", places=coax.places) in taken.circuit.runs
    # Nobody looked at the socket's shell.
    (coax,) = [run for run in found("as-drawn J2.center S1").circuit.runs if run.conductor == "coax"]
    assert coax.braid == ("?", "chassis")


def test_as_drawn_leaves_what_is_put_elsewhere() -> None:
    taken = found("as-drawn T1", "V1.h2 -- heater", "traced V1")
    nets = Joined(taken.circuit.runs)
    assert nets.find("T1.4") == nets.find("chassis") != nets.find("V1.h2")
    assert nets.find("T1.3") == nets.find("heater") == nets.find("V1.h2")


def test_as_drawn_keeps_apart_what_the_file_keeps_apart() -> None:
    taken = found("?R9 resistor 1k", "as-drawn R1", "b+ -- ?R9 -- C2.+", "traced C2")
    nets = Joined(taken.circuit.runs)
    assert nets.find("R1.1") == nets.find("b+") != nets.find("C2.+")


AIR = """stock "t"
net b+ supply 250V
R1 resistor 1k
S1 rotary 1x3
C1 capacitor .01
C2 capacitor .02
TB1 strip 3
V1 tube 6V6GT
V2 tube 6V6GT
b+ -- R1 -- S1.1 -- C1 -- chassis
V1.k -- chassis
V1.g1 -- TB1.1 -- C2 -- V2.g1
"""


@pytest.mark.parametrize("air", ["at S1.1: open", "traced S1\nS1.1 -- open"])
@pytest.mark.parametrize("drawn", ["as-drawn R1", "as-drawn R1.2 C1.1", "as-drawn V1 V2 R1 C1 C2"])
def test_a_lug_in_the_air_stays_there_whatever_its_neighbours_are(air: str, drawn: str) -> None:
    for lines in ((air, drawn), (drawn, air)):
        nets = Joined(found(*lines, stock=AIR).circuit.runs)
        assert "S1.1" not in {point for net in nets.nets().values() if len(net) > 1 for point in net}
        assert [(f.kind, f.terminals) for f in compared(AIR, HEAD + "\n".join(lines)).findings] == [
            ("open-connection", ("S1.1",))
        ]


def test_the_neighbours_of_a_lug_in_the_air_are_still_joined() -> None:
    nets = Joined(found("at S1.1: open", "as-drawn R1 C1", stock=AIR).circuit.runs)
    assert nets.find("R1.2") == nets.find("C1.1")


def test_an_end_in_the_air_that_another_line_puts_somewhere_is_there() -> None:
    # Two leads at the lug: one of them ends in the air.
    nets = Joined(found("S1.1 -- open", "S1.1 -- C1.1", "as-drawn R1", stock=AIR).circuit.runs)
    assert nets.find("R1.2") == nets.find("S1.1") == nets.find("C1.1")


def test_a_ground_in_the_air_is_lost_beside_a_neighbour_as_drawn() -> None:
    # The other capacitor is on the chassis, whose name is a place to be at.
    taken = compared(AIR, HEAD + "at V1.k: open\nas-drawn C1")
    assert [f.terminals for f in taken.findings] == [("V1.k",)]


def test_nothing_is_taken_along_over_a_lug_in_the_air() -> None:
    nets = Joined(found("traced V1.g1", "at TB1.1: open", "as-drawn C2", stock=AIR).circuit.runs)
    assert "V1.g1" not in nets


def test_in_the_air_and_as_drawn_is_a_fault_that_names_both_lines() -> None:
    in_the_air = [(1, "S1 is as drawn (line 2), and line 3 says that nothing lands on S1.1")]
    assert faults("as-drawn S1", "at S1.1: open", stock=AIR) == in_the_air
    assert faults("as-drawn S1.1", "S1.1 -- open", stock=AIR) == in_the_air
    assert not faults("as-drawn S1", "at S1.2: open", stock=AIR), "the drawing has nothing there either"
    ((line, says),) = faults("as-drawn V2", "at C2.2: open", stock=AIR)
    assert line == 1
    assert says == "V2.g1 is as drawn (line 2), but every other terminal of its net is put elsewhere: C2.2 in line 3"


def test_two_that_are_as_drawn_are_somewhere_without_the_others() -> None:
    nets = Joined(found("as-drawn R1 C1", "at S1.1: b+", stock=AIR).circuit.runs)
    assert nets.find("R1.2") == nets.find("C1.1")


def test_as_drawn_contradictions_name_both_lines() -> None:
    assert faults("as-drawn R1", "R1 10k") == [(1, "R1 is as drawn (line 2), and line 3 reads it otherwise")]
    assert faults("as-drawn R1", "V1.k -- R1.2", "V1.k -- J1.tip") == [
        (1, "R1 is as drawn (line 2), and line 3 puts R1.2 elsewhere")
    ]
    ((line, says),) = faults("as-drawn V1.g2", "R1.2 -- chassis", "R1.1 -- b+")
    assert line == 1
    assert "every other terminal of its net is put elsewhere: R1.2 in line 3" in says
    assert faults("as-drawn under", "missing R1") == [(1, "under is as drawn, and R1 is missing (line 3)")]
    assert not faults("as-drawn under but R1", "missing R1")
    assert not faults("as-drawn R1", "R1 22k 2W, charred")
    assert faults("as-drawn ?K1", "?K1 relay-spdt") == [(1, "the drawing has no ?K1, so it is not as drawn")]


def test_ends_have_the_names_of_the_drawing() -> None:
    # The drawing has R1.1 on b+; this file meets it from the other side.
    taken = found("V1.g2 -- R1 -- b+")
    assert hops(taken) == pairs("V1.g2 -- R1.2", "R1.1 -- b+")
    # Where a line names an end, that is its name.
    taken = found("V1.g2 -- R1.1", "R1 -- b+")
    assert hops(taken) == pairs("V1.g2 -- R1.1", "R1.2 -- b+")


# --- the rest


def test_readings() -> None:
    taken = found(
        "ohms R1.1 -- R1.2 = >20M", "ohms C1.1 -- C1.2 = open", "ohms V1.k = 0", "volts V1.g1 = -20V in on1",
        "ohms R2.1 -- R2.2 = 47k 10%", "volts V1.p = 230..250V in on1",
    )  # fmt: skip
    plain = [(r.quantity, r.a, r.b, r.nominal, r.low, r.high, r.open, r.state) for r in taken.circuit.readings]
    assert plain == [
        ("ohms", "R1.1", "R1.2", None, 20e6, None, False, "rest"),
        ("ohms", "C1.1", "C1.2", None, None, None, True, "rest"),
        ("ohms", "V1.k", "", 0, None, None, False, "rest"),
        ("volts", "V1.g1", "", -20, None, None, False, "on1"),
        ("ohms", "R2.1", "R2.2", 47e3, pytest.approx(42300), pytest.approx(51700), False, "rest"),
        ("volts", "V1.p", "", 240, 230, 250, False, "on1"),
    ]
    # A reading joins nothing.
    assert not taken.circuit.runs
    assert isinstance(taken.circuit.readings[0], Reading)


def test_remarks() -> None:
    taken = found(
        'photo "img/a.jpg" of J1 V1.8, "new jack"', 'keep J2.shell "stays"', 'note "anything"', 'note R1 "hot"',
        "observed audio at V1.5 = weak", "V1.8, cold-joint, \"grey\"", "?F1 fuse 3A", 'keep ?F1 "in the cord"',
    )  # fmt: skip
    assert [(p.file, p.of, p.text) for p in taken.photos] == [("img/a.jpg", ("J1", "V1.k"), "new jack")]
    assert [(k.of, k.text) for k in taken.keeps] == [(("J2.shell",), "stays"), (("?F1",), "in the cord")]
    assert [(n.of, n.text) for n in taken.notes] == [((), "anything"), (("R1",), "hot")]
    assert [(o.signal, o.at, o.what) for o in taken.observations] == [("audio", "V1.g1", "weak")]
    assert [(point, what) for point, what, _ in taken.conditions] == [("V1.k", "cold-joint"), ("V1.k", "grey")]


def test_mentioned() -> None:
    taken = found("V1.k -- R1 -- TB1.1", "traced J1", 'note J2 "?"', "R2, loose")
    assert taken.mentioned == {"V1", "R1", "TB1", "J1", "R2"}


def test_observations_and_states_are_checked() -> None:
    assert faults("observed video at V1.p = week") == [
        (1, "the drawing has no signal video"), (1, "`week` is no strength of a signal"),
    ]  # fmt: skip
    assert faults("volts V1.p = 1V", "volts V1.p = 1V in on2", "state on1: S1 at 4") == [
        (1, "volts are read in a state"), (2, "no line declares the state on2"),
        (3, "the state on1 is said otherwise in line 28 of t.stock"),
    ]  # fmt: skip


# --- productions

VARIANTS = (
    STOCK
    + """production early "to 99"
production late "from 100"
only early: R7 resistor 1k
only late: R7 resistor 2k
only late: C7 capacitor .02
R7.1 -- V1.g2
only late: V1.p -- C7 -- chassis
"""
)


def test_productions_of_a_model() -> None:
    read = model(VARIANTS)
    assert read.productions == {"early": "to 99", "late": "from 100"}
    early, late = (read.circuit(frozenset({name})) for name in ("early", "late"))
    assert (early.parts["R7"].value, late.parts["R7"].value) == (1e3, 2e3)
    assert "C7" not in early.parts
    assert len(late.runs) == len(early.runs) + 2
    assert late.production == {"late"}


def test_a_unit_of_a_production() -> None:
    head = 'found "u" of "t.stock" production late\n'
    named, told = read_unit_text(head + "C7.1 -- V1.p\n", model(VARIANTS))
    assert named is not None, told
    assert named.production == {"late"}
    # Where no production is named, what one of them has is no fault.
    assert not faults("C7.1 -- V1.p", stock=VARIANTS)
    assert unit(VARIANTS, HEAD).production is None
    _, told = read_unit_text('found "u" of "t.stock" production lte\n', model(VARIANTS))
    assert [(f.says, f.hint) for f in told] == [("the stock file has no production lte", "the nearest is late")]


# --- laws


def partition(circuit: Circuit) -> set[frozenset[str]]:
    return {frozenset(points) for points in Joined(circuit.runs).nets().values()}


@pytest.mark.parametrize("path", sorted((ROOT / "netlists").glob("*.stock")), ids=lambda path: path.name)
def test_a_whole_set_as_drawn_is_the_drawing(path: Path) -> None:
    read, told = read_model(path)
    assert read is not None, told
    drawn = read.circuit(read.variants()[0])
    zones = " ".join(drawn.zones)
    # What stands in no zone is named.
    homeless = " ".join(part.designator for part in drawn.parts.values() if not part.zone)
    taken, told = read_unit_text(f"{HEAD}as-drawn {zones} {homeless}\n", read)
    assert taken is not None, told
    seen = taken.found(read.variants()[0])
    assert partition(seen.circuit) == partition(drawn)
    assert {point for part in drawn.parts.values() for point in part.points()} <= seen.traced
    described = {(r.conductor, r.cable, r.length, r.braid) for r in drawn.runs if r.conductor}
    assert {(r.conductor, r.cable, r.length, r.braid) for r in seen.circuit.runs if r.conductor} == described


@given(some.integers(0, 100_000), some.integers(2, 30))
def test_half_told_half_as_drawn_is_the_drawing(seed: int, size: int) -> None:
    rng = random.Random(seed)
    text = generate.stock(rng, size)
    read = model(text)
    drawn = read.circuit()
    chains = [line for line in text.splitlines() if " -- " in line]
    told = [line for line in chains if rng.random() < 0.5]
    parts = sorted(drawn.parts)
    looked = unit(text, "\n".join([HEAD, *told, f"traced {' '.join(parts)}", f"as-drawn {' '.join(parts)}"]))
    assert partition(looked.found().circuit) == partition(drawn)


@given(some.integers(0, 100_000), some.integers(2, 30))
def test_a_lug_in_the_air_is_found_however_much_else_is_as_drawn(seed: int, size: int) -> None:
    """Everything but one part is as drawn, and nothing lands on one terminal of that."""
    rng = random.Random(seed)
    text = generate.stock(rng, size)
    read = model(text)
    drawn = read.circuit()
    wired = Joined(drawn.runs).nets().values()
    lugs = sorted(point for net in wired if len(net) > 1 for point in net if "." in point)
    assume(lugs)
    lug = rng.choice(lugs)
    parts = " ".join(sorted(drawn.parts.keys() - {part_of(lug)}))
    lines = [f"at {lug}: open", *([f"as-drawn {parts}"] if parts else [])]
    rng.shuffle(lines)
    taken, told = read_unit_text("\n".join([HEAD, *lines]), read)
    if taken is None:
        # The only neighbour is as drawn, and cannot be without it.
        assert all("every other terminal of its net" in fault.says and f"{lug} in line" in fault.says for fault in told)
        return
    nets = Joined(taken.found().circuit.runs)
    assert lug not in nets or nets.nets()[nets.find(lug)] == [lug]
