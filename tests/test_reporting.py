"""What a person and a program are told, on comparisons made by hand."""

from __future__ import annotations

import io
import json
from types import MappingProxyType
from typing import Any

from netdiff import cautions
from netdiff.circuit import Circuit, Fault, Found, Kind, Lug, Part, Place, Zone
from netdiff.comparison.results import Comparison, Coverage, Finding, Modification, Tally
from netdiff.reporting import json_out
from netdiff.reporting.faults import as_json, listed
from netdiff.reporting.page import HOLD_WORDS, WIDEST, Page
from netdiff.reporting.plain import clean
from netdiff.reporting.terminal import parts_and_terminals, print_comparison
from netdiff.reporting.work import print_worklist
from netdiff.worklist.steps import Proof, Step, WorkList

RESISTOR = Kind("resistor", terminals=(Lug("1"), Lug("2")))
TUBE = Kind("tube", type="6V6GT", terminals=(Lug("k"), Lug("g1"), Lug("p"), Lug("6", tie=True)))


def circuit(title: str, file: str, **more: Any) -> Circuit:
    parts = {
        "R1": Part("R1", RESISTOR, zone="under"),
        "R2": Part("R2", RESISTOR, zone="under"),
        "V1": Part("V1", TUBE, zone="under"),
    }
    zones = {"under": Zone("under", "Under the chassis")}
    return Circuit(title, file, parts=MappingProxyType(parts), zones=MappingProxyType(zones), **more)


REVERSED = Finding(
    "reversed",
    "J1: tip and sleeve are exchanged.",
    "power",
    "The key's frame is at cathode voltage.",
    parts=("J1",),
    terminals=("J1.sleeve", "J1.tip"),
    nets=("chassis", "key"),
    at=(Place("a.found", 16, 3), Place("a.found", 17, 1)),
    id="finding-1",
    modification="mod-1",
)
RELAY = Finding(
    "inserted-part",
    "?K1 [bold]stands[/bold] between C1.2 and J2.center \x1b[31m.",
    "transmit",
    "It is on the radio-frequency path.",
    parts=("?K1",),
    id="finding-2",
    modification="mod-2",
)
LABEL = Finding("condition", "R1 is charred.", "none", "", parts=("R1",), id="finding-3", modification="mod-3")


def comparison(**more: Any) -> Comparison:
    values: dict[str, Any] = {
        "stock": circuit("Lantern", "l.stock", drawing="sheet 3"),
        "found": Found(circuit("No. 41", "a.found"), inspected="2026-03-02", by="bench 2"),
        "findings": (REVERSED, RELAY, LABEL),
        "modifications": (
            Modification("mod-1", "key jack reversed", ("finding-1",), hold="power"),
            Modification("mod-2", "a relay in the output", ("finding-2",), ("?K1",), hold="transmit"),
            Modification("mod-3", "R1 charred", ("finding-3",), kept=True, reason="history"),
        ),
        "coverage": Coverage(
            Tally(9, 4, 2, 3), MappingProxyType({"under": Tally(9, 4, 2, 3)}), ("R2.1", "R2.2", "V1.g1"), ("J1.tip",)
        ),
        "notes": ("V1: the halves serve in each other's place; equal.",),
    }
    return Comparison(**(values | more))


def printed(result: Comparison) -> str:
    stream = io.StringIO()
    print_comparison(Page(stream), result)
    return stream.getvalue()


def test_a_person_reads_the_cautions_then_the_danger_then_the_rest() -> None:
    text = printed(comparison())
    order = [
        "No. 41, inspected 2026-03-02 by bench 2",
        cautions.BEFORE_TOUCHING[0],
        "3 findings in 3 modifications: 1 before power, 1 before transmitting, 1 worth knowing.",
        "Nobody looked at 3 of the 9 terminals",
        "Clear before any power is applied",
        "The key's frame is at cathode voltage.",
        "mod-1  key jack reversed",
        "mod-2  a relay in the output",
        "mod-3  R1 charred",
        "It stays: history",
        "Notes",
        "What was looked at",
        "Nobody looked at",
    ]
    places = [text.index(words) for words in order[:-1]] + [text.rindex(order[-1])]
    assert places == sorted(places)
    assert "See a.found:16, 17" in text
    assert "Under the chassis: R2, V1 (g1)" in text
    assert max(len(line) for line in text.splitlines()) <= WIDEST


def test_nothing_in_a_file_repaints_the_screen() -> None:
    text = printed(comparison())
    assert "?K1 [bold]stands[/bold] between" in text
    assert "\x1b" not in text


def test_colour_only_on_a_terminal_and_never_alone() -> None:
    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    stream = Terminal()
    print_comparison(Page(stream), comparison())
    assert "\x1b[" in stream.getvalue()
    assert "\x1b[" not in printed(comparison())
    assert all(words in printed(comparison()) for words in (HOLD_WORDS["power"], HOLD_WORDS["transmit"]))


def test_no_difference_is_no_clearance() -> None:
    text = printed(comparison(findings=(), modifications=(), notes=()))
    assert "No difference in what was traced." in text
    assert "Nobody looked at 3 of the 9 terminals" in text
    assert "Nothing below means that the unit is safe" in text
    whole = comparison(findings=(), modifications=(), coverage=Coverage(Tally(9, 9)))
    assert "All 9 terminals of the drawing were looked at." in printed(whole)


def test_json_has_the_documented_keys_in_order() -> None:
    made = json.loads(json_out.dumps(json_out.comparison(comparison())))
    documented = ["cautions", "stock", "found", "coverage", "modifications", "findings"]
    assert list(made) == [*documented, "notes", "production", "look_next", "cost"]
    assert made["cautions"] == list(cautions.for_cold_work())
    assert made["stock"] == {"title": "Lantern", "file": "l.stock"}
    assert list(made["coverage"].items()) == [("terminals", 9), ("agree", 4), ("differ", 2), ("not_traced", 3)]
    assert made["modifications"][1] == {
        "id": "mod-2",
        "title": "a relay in the output",
        "kept": False,
        "findings": ["finding-2"],
        "parts": ["?K1"],
    }
    assert list(made["findings"][0].items()) == [
        ("id", "finding-1"),
        ("kind", "reversed"),
        ("hold", "power"),
        ("parts", ["J1"]),
        ("terminals", ["J1.sleeve", "J1.tip"]),
        ("nets", ["chassis", "key"]),
        ("modification", "mod-1"),
        ("says", "J1: tip and sleeve are exchanged."),
        ("why", "The key's frame is at cathode voltage."),
        ("at", ["a.found:16", "a.found:17"]),
        ("drawn", False),
    ]


def work() -> WorkList:
    proof = Proof("open", "J1.tip", "chassis", says="J1.tip to chassis reads open.")
    steps = (
        Step(
            "move-J1", "move", "Move the lead.", "power", reasons=("finding-1",), modification="mod-1", proofs=(proof,)
        ),
        Step("remove-xK1", "remove", "Take the relay out.", "transmit", zone="under", cautions=("Hot coil.",)),
    )
    return WorkList(comparison(), steps, stays=(comparison().modifications[2],))


def test_the_work_list_goes_from_the_cautions_to_the_last_step() -> None:
    stream = io.StringIO()
    print_worklist(Page(stream), work())
    text = stream.getvalue()
    order = [
        cautions.BEFORE_TOUCHING[0],
        "2 steps.",
        "Clear before any power is applied",
        "  1. Move the lead.",
        "Then: J1.tip to chassis reads open.",
        "move-J1; clears finding-1; mod-1: key jack reversed",
        "Clear before RF is made",
        "Caution: Hot coil.",
        "  2. Take the relay out.",
        "remove-xK1; Under the chassis",
        "Stays as it is",
        "R1 charred: history",
        "Nobody looked at 3 terminals",
    ]
    places = [text.index(words) for words in order]
    assert places == sorted(places)


def test_the_work_list_as_json() -> None:
    made = json_out.worklist(work())
    assert list(made) == ["cautions", "stock", "found", "steps", "stays"]
    assert [step["name"] for step in made["steps"]] == ["move-J1", "remove-xK1"]
    assert made["steps"][0]["proofs"][0]["expect"] == "open"
    assert made["stays"][0]["reason"] == "history"


def test_what_stays_is_still_told_before_power() -> None:
    kept = Modification("mod-1", "key jack reversed", ("finding-1",), kept=True, reason="so", hold="power")
    text = printed(comparison(findings=(REVERSED,), modifications=(kept,)))
    assert "at cathode voltage. It is marked to stay" in " ".join(text.split())


def test_parts_and_terminals() -> None:
    stock = circuit("t", "t.stock")
    assert parts_and_terminals(stock, ("V1.k", "V1.g1", "V1.p", "R1.2")) == "V1, R1 (2)"


def test_faults_are_told_once_each() -> None:
    one = Fault(Place("a.stock", 7, 5), "R5 has no terminal '3'", "b+ -- \tR5.3", 4, "resistor has 1 2")
    assert listed((one, one)).count("R5 has") == 1
    assert "1 fault;" in listed((one, one))
    assert len(as_json((one, one))) == 1
    long = Fault(Place("a.stock", 1), "too long", "x" * 2_000_000)
    assert len(listed((long,))) < 1000
    assert len(as_json((long,))[0]["text"]) <= 1000


def test_clean_keeps_words_and_drops_control() -> None:
    assert clean("22 kΩ “green” ½") == "22 kΩ “green” ½"
    assert clean("a\x1b[2J\u202eb\x7f\n") == "a\ufffd[2J\ufffdb\ufffd "
