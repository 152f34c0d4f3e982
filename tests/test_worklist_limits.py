"""The readings that prove the steps: true at their stage of the work, and other than before."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator
from itertools import combinations
from math import inf
from pathlib import Path

import pytest

from netdiff.circuit import Circuit
from netdiff.comparison import Comparison, compare
from netdiff.comparison.merged import scene_of
from netdiff.electrical import Ohmmeter
from netdiff.electrical.resistive import Network, reduced
from netdiff.language import read_model, read_unit, read_unit_text
from netdiff.worklist import WorkList, apply, worklist
from netdiff.worklist.limits import apart
from netdiff.worklist.listing import goal_of
from netdiff.worklist.ohms import meshed, whole_unit
from netdiff.worklist.steps import Step
from tests.bench.modified import models
from tests.bench.work import ends_at_stock, prefixes_are_sound, readings, unit_of
from tests.modifier import modified, write
from tests.texts import compared

EXAMPLES = Path(__file__).resolve().parent.parent / "examples"


def demo(name: str) -> Comparison:
    unit, faults = read_unit(EXAMPLES / f"{name}.found")
    assert unit is not None and not faults
    return compare(unit)


def stages(work: WorkList) -> Iterator[tuple[Step, Circuit, Circuit]]:
    """Each step with the whole unit before and after it."""
    scene = scene_of(work.comparison)
    at = whole_unit(goal_of(work.comparison, scene), scene)
    for step in work.steps:
        after = apply(step, at)
        yield step, at, after
        at = after


def check(work: WorkList) -> tuple[int, int]:
    """Every measured proof beside an ohmmeter on the whole circuit at that stage. Returns how many steps are proved by
    a reading, and how many there are."""
    measured = 0
    for step, _, after in stages(work):
        ready: Ohmmeter | None = None
        for proof in step.proofs:
            if proof.reads is None or proof.without or proof.expect in ("value", "dead"):
                continue
            ready = ready or Ohmmeter(after)
            real = ready.between(proof.a, proof.b)
            back = ready.between(proof.b, proof.a)
            for value in (real.nominal, back.nominal):
                assert proof.reads.low * (1 - 1e-9) - 1e-6 <= value, (step.name, proof, value)
                assert value == inf or value <= proof.reads.high * (1 + 1e-9) + 1e-6, (step.name, proof, value)
            assert proof.wrong is not None and apart(proof.reads, proof.wrong)
        measured += step.action != "discharge" and any(proof.reads is not None for proof in step.proofs)
    return measured, sum(step.action not in ("inspect", "discharge") for step in work.steps)


@pytest.mark.parametrize("name", ["harbourlight-0417", "kitchen-radio", "attic"])
def test_readings_of_the_demo_hold_on_the_whole_circuit(name: str) -> None:
    measured, steps = check(worklist(demo(name)))
    assert measured >= steps / 3


MODEL = read_model(EXAMPLES.parent / "netlists" / "harbourlight-hl45.stock")[0]


@pytest.mark.parametrize("seed", range(10))
def test_readings_of_random_units_hold(seed: int) -> None:
    assert MODEL is not None
    stock = MODEL.circuit(frozenset({"late"}))
    unit, faults = read_unit_text(write(modified(stock, seed, 1 + seed % 8), "t.stock"), MODEL, "bench.found")
    assert unit is not None and not faults
    check(worklist(compare(unit)))


def test_what_is_done_wrong_is_seen() -> None:
    """On units of one to eight modifications: every computed value lies inside its limits, and of the steps that have a
    reading at least nine in ten fall outside when not done, when an end is left open, when the other lead is taken."""
    circuits = models(7)
    told: Counter[str] = Counter()
    for number in range(10):
        comparison = unit_of(number, 7, circuits)
        assert comparison is not None
        work = worklist(comparison)
        assert ends_at_stock(work) and prefixes_are_sound(work)
        told += readings(work)
    assert told["readings"] > 40
    assert told["inside"] == told["readings"]
    for name in ("not done", "an end open", "the other lead"):
        assert told[f"{name}: seen"] >= 0.9 * told[f"{name}: steps"] > 0, (name, told)


def test_the_halves_read_as_the_whole_does() -> None:
    """A network reduced again and again, by either way of reducing, reads between what is left as it did."""
    rng = random.Random(5)
    for count in (12, 40):
        edges = [(a, b, 10 ** rng.uniform(-1, 6)) for a in range(count) for b in range(a) if rng.random() < 0.6]
        keep = set(range(0, count, 3))
        whole = Network(count, edges)
        for reduce in (reduced, meshed):
            small = Network(count, reduce(count, edges, keep))
            for a, b in combinations(sorted(keep), 2):
                assert small.between(a, b) == pytest.approx(whole.between(a, b), rel=1e-9)


def test_a_reading_through_a_switch_says_to_open_it() -> None:
    work = worklist(demo("harbourlight-0417"))
    (proof,) = work.step("cut_S3.1_S3.2").proofs
    assert proof.says == "With S3 open, S3.1 to S3.2 reads open; still joined, it reads continuity."


def test_a_blown_fuse_does_not_hide_its_bridge() -> None:
    (proof,) = worklist(demo("harbourlight-0417")).step("cut_F2.1_F2.2").proofs
    assert proof.expect == "open"


def test_a_resistor_is_read_on_its_lugs_against_an_end_left_open() -> None:
    proofs = worklist(demo("harbourlight-0417")).step("fit_R45").proofs
    (proof,) = (one for one in proofs if one.expect == "ohms")
    assert proof.reads is not None and proof.wrong is not None
    assert {proof.a, proof.b} == {"TB3.3", "TB3.4"}
    assert proof.reads.low < 16.7e3 < proof.reads.high < proof.wrong.low
    assert "with an end still open" in proof.says


STOCK = """
stock "T"
ground chassis
R1 resistor 10k 1W 10%
R2 shunt 5ohm 1%
M1 meter 1mA 50ohm
net a
a -- R1 -- M1.+
M1.+ -- R2 -- M1.-
M1.- -- chassis
"""


def test_no_reading_goes_through_a_movement() -> None:
    """A shunt that is missing: on its lugs an ohmmeter would drive the movement alone."""
    found = 'found "u" of "t.stock"\ntraced R1 M1\nmissing R2\na -- R1 -- M1.+\nM1.- -- chassis\n'
    work = worklist(compared(STOCK, found))
    (step,) = (step for step in work.steps if step.action == "fit")
    for proof in step.proofs:
        assert proof.expect == "inspect" or {proof.a, proof.b} != {"M1.+", "M1.-"}, proof
