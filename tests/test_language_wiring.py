"""Chains into runs: the ends of parts that may be turned round, and runs that are told again."""

from __future__ import annotations

import random
from collections.abc import Iterable

import pytest
from hypothesis import given
from hypothesis import strategies as some

from netdiff.circuit import Circuit, Gap, Run, is_net, part_of
from netdiff.language import Model, read_model_text
from netdiff.language.joined import Joined
from tests import generate
from tests.texts import model, unit

HEAD = """stock "t"
net b+ supply 250V
net key control
J1 jack-2
V1 tube 6V6GT
V2 tube 6V6GT
R5 resistor 22k
R6 resistor 10k
C1 capacitor .01
C14 electrolytic 20u
CR2 rectifier
P1 potentiometer 500k
TB1 strip 6
"""


def circuit(*lines: str) -> Circuit:
    return model(HEAD + "\n".join(lines)).circuit()


def hops(*lines: str) -> list[tuple[str, str]]:
    return [(run.a, run.b) for run in circuit(*lines).runs]


def faults(*lines: str) -> list[tuple[int, str, str]]:
    read, found = read_model_text(HEAD + "\n".join(lines))
    assert (read is None) == bool(found)
    first = HEAD.count("\n")
    return [(fault.place.line - first, fault.says, fault.hint) for fault in found]


# --- chains


def test_a_chain_passes_through_parts() -> None:
    assert hops("J1.tip -- C1 -- V1.g1 -- CR2.k/a -- b+") == [
        ("J1.tip", "C1.1"), ("C1.2", "V1.g1"), ("V1.g1", "CR2.k"), ("CR2.a", "b+"),
    ]  # fmt: skip


def test_pins_and_aliases_are_the_electrode() -> None:
    assert hops("V1.5 -- V2.g1", "V1.8 -- P1.2") == [("V1.g1", "V2.g1"), ("V1.k", "P1.arm")]


def test_open_and_unfollowed_join_nothing() -> None:
    runs = circuit("V1.p -- ? -- V2.p", "V1.k -- open").runs
    assert [(r.a, r.b) for r in runs] == [("V1.p", "?"), ("?", "V2.p"), ("V1.k", "open")]
    assert not any(run.joins for run in runs)


# --- ends


def test_the_first_end_is_first() -> None:
    assert hops("b+ -- R5 -- V1.p") == [("b+", "R5.1"), ("R5.2", "V1.p")]
    assert hops("R5 -- V1.p") == [("R5.1", "V1.p")]


def test_a_part_is_met_twice() -> None:
    assert set(hops("b+ -- R5 -- V1.p", "V1.p -- R5 -- b+")) == {("b+", "R5.1"), ("R5.2", "V1.p")}


def test_the_other_side_may_be_on_another_lug() -> None:
    joined = Joined(circuit("b+ -- R5 -- V1.p", "TB1.2 -- R5 -- b+", "TB1.2 -- V1.g1").runs)
    assert joined.find("R5.2") == joined.find("TB1.2") == joined.find("V1.g1") != joined.find("R5.1")


def test_other_parts_decide() -> None:
    joined = Joined(circuit("b+ -- R5 -- R6 -- V1.p", "V1.p -- R6 -- R5 -- b+", "key -- C1 -- b+").runs)
    assert joined.find("R6.2") == joined.find("V1.p") != joined.find("R6.1")
    assert joined.find("R5.2") == joined.find("R6.1") != joined.find("b+")


def test_a_decision_far_away_decides() -> None:
    # R5 is named, so that its own passage has to be decided by R6's.
    joined = Joined(circuit("R5.1 -- key", "TB1.1 -- R5 -- TB1.2", "b+ -- R6 -- key", "TB1.2 -- R6 -- b+").runs)
    assert joined.find("TB1.2") == joined.find("R5.1") == joined.find("key")
    assert joined.find("TB1.1") == joined.find("R5.2")


def test_a_lead_beside_a_named_end_is_the_other_end() -> None:
    assert hops("V1.p -- C1", "C1.2 -- key") == [("V1.p", "C1.1"), ("C1.2", "key")]
    assert hops("V1.p -- C1", "C1.1 -- key") == [("V1.p", "C1.2"), ("C1.1", "key")]


def test_a_lead_on_the_net_of_a_named_end_is_that_end() -> None:
    joined = Joined(circuit("V1.p -- C1", "C1.2 -- key", "V1.p -- key").runs)
    assert joined.find("C1.2") == joined.find("V1.p") != joined.find("C1.1")


def test_one_passage_beside_a_named_end() -> None:
    assert hops("V1.p -- C1 -- key", "C1.2 -- V2.g1") == [("V1.p", "C1.1"), ("C1.2", "key"), ("C1.2", "V2.g1")]


def test_two_leads_on_two_nets_are_the_two_ends() -> None:
    assert hops("V1.p -- R5", "R5 -- b+") == [("V1.p", "R5.1"), ("R5.2", "b+")]


def test_a_part_with_its_ends_joined() -> None:
    joined = Joined(circuit("b+ -- R5 -- key", "key -- b+", "key -- R5 -- b+").runs)
    assert joined.find("R5.1") == joined.find("R5.2") == joined.find("b+")


@pytest.mark.parametrize(
    "lines",
    [
        ("b+ -- R5 -- V1.p", "V1.g1 -- R5 -- V2.g1"),
        ("b+ -- R5 -- V1.p", "R5 -- V1.g1"),
        ("b+ -- R5", "V1.p -- R5", "V1.g1 -- R5"),
        ("R5.1 -- b+", "R5.2 -- V1.p", "V1.g1 -- R5"),
        ("R5.1 -- b+", "V1.g1 -- R5 -- V1.p", "V2.g1 -- R5 -- V2.p"),
    ],
)
def test_two_circuits_fit(lines: tuple[str, ...]) -> None:
    found = faults(*lines)
    assert {says for _, says, _ in found} == {"R5: two circuits fit, for nothing says which end is meant here"}
    assert all("R5.1" in hint and "R5.2" in hint for _, _, hint in found)


def test_no_choice_fits() -> None:
    found = faults("b+ -- R5 -- V1.p", "b+ -- R5 -- key", "key -- R5 -- V1.p")
    assert [(line, says) for line, says, _ in found] == [
        (3, "R5: no choice of its ends fits every line that speaks of it")
    ]


def test_a_polarised_part_shows_its_two_ways() -> None:
    assert faults("b+ -- C14 -- chassis", "b+ -- C14") == [
        (1, "C14 is polarised: the chain must say which way it passes", "C14.+/- or C14.-/+"),
        (2, "C14 is polarised: the line must say which of its leads is meant", "C14.+ or C14.-"),
    ]


def test_a_chain_through_three_terminals() -> None:
    assert faults("b+ -- P1 -- chassis") == [
        (1, "a chain cannot pass through P1: a potentiometer has 3 terminals", "name the terminals: ccw arm cw")
    ]


def test_connected_to_itself() -> None:
    assert [says for _, says, _ in faults("R5.1 -- R5.1", "b+ -- R6 -- R6 -- key", "V1.5 -- V1.g1", "b+ -- b+")] == [
        "R5.1 is connected to itself", "R6 is connected to itself", "V1.g1 is connected to itself",
        "b+ is connected to itself",
    ]  # fmt: skip
    assert not faults("R5.1 -- R5.2")


def _turned(lines: Iterable[str], rng: random.Random) -> list[str]:
    out = []
    for line in lines:
        if rng.random() < 0.5:
            items = line.split(" -- ")
            line = " -- ".join(reversed(items))
        out.append(line)
    return out


@given(some.integers(0, 10_000))
def test_order_direction_and_repetition_make_no_difference(seed: int) -> None:
    """Every part told once or twice, lines in any order and direction: the same nets but for the names of ends."""
    rng = random.Random(seed)
    points = ["b+", "key", "chassis", "V1.p", "V1.g1", "V2.p", "V2.g1", "TB1.1", "TB1.2"]
    # No two parts between the same pair of nets, else their lines would say the same.
    pairs = rng.sample([(a, b) for a in points for b in points if a < b], 3)
    lines = [f"{a} -- {part} -- {b}" for (a, b), part in zip(pairs, ("R5", "R6", "C1"), strict=True)]
    more = [*lines, *rng.choices(lines, k=rng.randint(0, 4))]
    rng.shuffle(more)
    told = _nets(circuit(*_turned(more, rng)))
    assert told == _nets(circuit(*lines))


def _nets(of: Circuit) -> set[frozenset[str]]:
    """The nets with the ends of resistors and capacitors called by their parts."""
    return {
        frozenset(part_of(point) if part_of(point)[:1] in ("R", "C") else point for point in net)
        for net in Joined(of.runs).nets().values()
    }


@given(some.integers(0, 10_000), some.integers(1, 60))
def test_the_reader_agrees_with_another(seed: int, size: int) -> None:
    """`tests.generate` takes its own texts apart without the project's reader."""
    text = generate.stock(random.Random(seed), size)
    mine = Joined(model(text).circuit().runs)
    its = generate.read(text)
    for net in its.nets():
        points = [point for point in net if point in mine or is_net(point)]
        assert len({mine.find(point) for point in points}) <= 1
    sizes = sorted(len(net) for net in its.nets() if len(net) > 1)
    assert sorted(len(net) for net in mine.nets().values() if len(net) > 1) == sizes


# --- runs


def runs(*lines: str) -> list[Run]:
    return list(circuit(*lines).runs)


def test_construction_of_a_run() -> None:
    (run,) = runs('wire V1.p -- TB1.1, 12in, 20AWG, "green", bare 25mm, gap 3mm to chassis, cable W7')
    assert (run.conductor, run.cable, run.gauge, run.text, run.bare) == ("wire", "W7", 20, "green", 0.025)
    assert run.length == pytest.approx(0.3048)
    assert run.gaps == (Gap(0.003, "chassis"),)


def test_a_braid_is_a_conductor() -> None:
    (run,) = runs("coax V1.p -- TB1.1, RG8, braid chassis -- TB1.2")
    assert run.cable_type == "RG8"
    joined = Joined([run])
    assert joined.find("chassis") == joined.find("TB1.2") != joined.find("V1.p")
    # and it decides which end of a part is meant
    nets = Joined(circuit("coax V1.p -- TB1.1, braid chassis -- TB1.2", "R5.2 -- chassis", "b+ -- R5 -- TB1.2").runs)
    assert nets.find("R5.1") == nets.find("b+")


def test_a_plain_chain_tells_a_run_again() -> None:
    (run,) = runs("V1.p -- TB1.1", "coax TB1.1 -- V1.p, 180mm", "V1.p -- TB1.1")
    assert (run.conductor, run.length, len(run.places)) == ("coax", 0.18, 3)


def test_two_described_runs_are_two() -> None:
    assert len(runs("wire V1.p -- TB1.1, 90mm", "wire V1.p -- TB1.1, 60mm")) == 2
    assert len(runs("wire V1.p -- TB1.1, 90mm", "wire TB1.1 -- V1.p, 90mm")) == 1
    assert len(runs("wire V1.p -- TB1.1, cable W1", "wire V1.p -- TB1.1, cable W2")) == 2


def test_one_name_is_one_run_and_attributes_add_up() -> None:
    (run,) = runs(
        "coax V1.p -- TB1.1, cable W1, braid chassis -- open",
        'coax TB1.1 -- V1.p, cable W1, 180mm, braid ? -- chassis, "black"',
    )
    assert (run.a, run.b, run.braid, run.length, run.text) == ("V1.p", "TB1.1", ("chassis", "open"), 0.18, "black")


def test_one_name_said_in_two_ways() -> None:
    found = faults("coax V1.p -- TB1.1, cable W1, 180mm", "coax V1.p -- TB1.1, cable W1, 200mm")
    first = HEAD.count("\n") + 1
    assert [(line, says) for line, says, _ in found] == [
        (2, f"this run is said otherwise in line {first}: another length")
    ]


def test_cores_of_one_cable() -> None:
    first, second = runs("shielded V1.p -- TB1.1, cable W1, braid chassis -- open", "shielded V2.p -- TB1.2, cable W1")
    assert first.cable == second.cable == "W1"
    assert second.braid is None
    assert [said for _, said, _ in faults(
        "shielded V1.p -- TB1.1, cable W1, RG-58, braid chassis -- open",
        "shielded V2.p -- TB1.2, cable W1, RG-8, braid open -- open",
    )] == [f"the cable W1 is another type in line {HEAD.count(chr(10)) + 1}",
           f"the braid of W1 is said otherwise in line {HEAD.count(chr(10)) + 1}"]  # fmt: skip
    assert not faults("shielded V1.p -- TB1.1, cable W1, braid chassis -- open",
                      "shielded TB1.2 -- V2.p, cable W1, braid open -- chassis")  # fmt: skip


def test_direct_is_the_last_hop() -> None:
    first, second = runs("V1.k -- C14.+/- -- TB1.3, direct")
    assert (first.direct, second.direct, second.b) == (False, True, "TB1.3")
    (again,) = runs("TB1.3 -- C14.-", "C14.- -- TB1.3, direct")
    assert (again.a, again.b, again.direct) == ("C14.-", "TB1.3", True)
    assert faults("V1.k -- chassis, direct") == [(1, "`direct` is said of a chain that ends on a terminal", "")]


def test_a_plain_chain_has_no_construction() -> None:
    assert faults("V1.p -- TB1.1, 90mm") == [
        (1, "a plain chain says nothing of the conductor", "say what it is: wire V1.p -- TB1.1, 90mm")
    ]


def test_a_conductor_has_two_ends() -> None:
    assert faults("wire V1.p -- TB1.1 -- V2.p")[0][1] == "a line with a conductor has two items; this one has 3"


def test_sections_of_a_can_share_a_lug() -> None:
    read: Model = model('stock "t"\nC16A electrolytic 20u\nC16B electrolytic 8u\nC17 electrolytic 8u\n')
    assert [(run.a, run.b, run.conductor) for run in read.circuit().runs] == [("C16A.-", "C16B.-", "body")]
    taken = unit('stock "t"\nC16A electrolytic 20u\nC16B electrolytic 8u\n', 'found "u" of "t.stock"\n')
    assert [(run.a, run.b, run.conductor) for run in taken.found().circuit.runs] == [("C16A.-", "C16B.-", "body")]
