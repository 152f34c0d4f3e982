"""What the page sends becomes one statement of the language that says just that, or is refused."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as some

import netdiff
from netdiff.bench import wording
from netdiff.bench.wording import Unclear, answer
from netdiff.circuit import Found
from netdiff.language import Model, read_unit_text
from netdiff.tracing.answers import Answer, Item

ROOT = Path(__file__).resolve().parents[1]
HEAD = 'found "one" of "lantern.stock"\n'


@pytest.fixture(scope="module")
def model() -> Model:
    model = netdiff.read(ROOT / "netlists" / "lantern.stock")
    assert isinstance(model, Model)
    return model


def found(model: Model, line: str) -> Found:
    unit, faults = read_unit_text(HEAD + line + "\n", model)
    assert unit is not None, (line, faults)
    return unit.found()


TEXT = some.text(max_size=60).map(lambda text: "".join(c for c in text if c.isprintable())).filter(str.strip)


@given(TEXT)
def test_a_note_says_what_was_typed(text: str) -> None:
    model = netdiff.read(ROOT / "netlists" / "lantern.stock")
    assert isinstance(model, Model)
    (note,) = found(model, answer({"kind": "note", "of": "R1", "text": text}).words).notes
    # Curly quotes are read as straight ones, whoever typed them (netdiff/language/README.md).
    curly = str.maketrans("“”„‟‘’‚‛–—―−", "\"\"\"\"''''----")
    assert note.text.translate(curly) == " ".join(text.split()).translate(curly)
    assert note.of == ("R1",)


@pytest.mark.parametrize(("sent", "words"), [
    ({"value": "10", "unit": "k", "watts": "1"}, "10k 1W"),
    ({"value": "10k", "watts": "1W", "conditions": ["charred"], "measured": "35", "measured_unit": "k"},
     "10k 1W, charred, measured 35k"),
    ({"conditions": ["cracked", "charred"]}, ", cracked, charred"),
    ({"words": "10k 25W", "text": 'a "big" one'}, '10k 25W, "a ""big"" one"'),
])  # fmt: skip
def test_a_part_as_it_was_read(model: Model, sent: dict[str, Any], words: str) -> None:
    assert answer({"kind": "read", "about": "R1", **sent}) == Answer("read", "R1", words=words)
    part = found(model, f"R1 {words}").circuit.parts["R1"]
    assert part.conditions or part.value == 10_000


@pytest.mark.parametrize(("sent", "words"), [
    ({"quantity": "ohms", "a": "J1.tip", "b": "chassis", "value": "0"}, "ohms J1.tip -- chassis = 0"),
    ({"quantity": "ohms", "a": "R1.1", "b": "R1.2", "value": ">20M"}, "ohms R1.1 -- R1.2 = >20M"),
    ({"quantity": "ohms", "a": "R1.1", "b": "R1.2", "value": "open"}, "ohms R1.1 -- R1.2 = open"),
    ({"quantity": "ohms", "a": "R1.1", "b": "R1.2", "value": "470"}, "ohms R1.1 -- R1.2 = 470ohm"),
])  # fmt: skip
def test_a_reading(model: Model, sent: dict[str, Any], words: str) -> None:
    one = answer({"kind": "reading", **sent})
    assert one.words == words and not wording.powered(one)
    (reading,) = found(model, words).circuit.readings
    assert (reading.a, reading.b) == (sent["a"], sent["b"])


@pytest.mark.parametrize("quantity", wording.POWERED)
def test_a_reading_under_power_is_known_as_one(quantity: str) -> None:
    assert wording.powered(
        answer({"kind": "reading", "quantity": quantity, "a": "V1.p", "value": "240", "state": "on"})
    )
    assert wording.powered(answer({"kind": "statement", "words": f"{quantity} V1.p = 240V in on"}))


def test_what_lands_with_a_new_part() -> None:
    one = answer({"kind": "these", "about": "V1.g2", "items": [
        {"to": "R1", "conductor": ""},
        {"to": "?R9", "new": {"part": "resistor", "value": "12", "unit": "k", "watts": "1", "text": "brown"}},
        {"to": "J1.tip", "conductor": "coax", "length": "90mm", "braid_here": "chassis", "braid_there": ""},
    ]})  # fmt: skip
    assert one.items[0] == Item("R1")
    assert one.items[1] == Item("?R9", declare='resistor 12k 1W "brown"')
    assert one.items[2] == Item("J1.tip", conductor="coax", length="90mm", braid=("chassis", "?"))


@pytest.mark.parametrize("sent", [
    {}, {"kind": "delete"}, {"kind": ["as-drawn"]}, {"kind": "these"}, {"kind": "these", "items": [{}]},
    {"kind": "these", "items": ["R1"]}, {"kind": "these", "items": {"to": "R1"}}, {"kind": "but"},
    {"kind": "read"}, {"kind": "statement"}, {"kind": "note", "text": "  "}, {"kind": "condition", "of": "R1"},
    {"kind": "reading", "quantity": "henries", "a": "R1", "value": "1"}, {"kind": "foreign", "name": "?R1"},
    {"kind": "note", "text": "x" * 3000}, {"kind": "note", "text": "a\x00b"}, {"kind": "note", "text": "a\x1b[31m"},
    {"kind": "note", "text": "\u202egnp.exe"}, {"kind": "these", "items": [{"to": "R1"}] * 100}, {"kind": 7},
])  # fmt: skip
def test_what_is_no_answer_is_refused(sent: dict[str, Any]) -> None:
    with pytest.raises(Unclear):
        answer(sent)


FIELDS = ["kind", "about", "items", "but", "words", "to", "new", "part", "text", "value"]
JSON = some.recursive(
    some.none() | some.booleans() | some.integers() | some.text(max_size=20),
    lambda inner: some.lists(inner, max_size=4) | some.dictionaries(some.sampled_from(FIELDS), inner, max_size=5),
    max_leaves=15,
)  # fmt: skip


@given(some.dictionaries(some.sampled_from(["kind", "about", "items", "but", "words", "text", "of"]), JSON),
       some.sampled_from(["these", "but", "read", "statement", "note", "as-drawn", "foreign", "reading"]))  # fmt: skip
def test_anything_is_an_answer_of_one_line_or_refused(sent: dict[str, Any], kind: str) -> None:
    try:
        one = answer({**sent, "kind": kind})
    except Unclear:
        return
    every = [one.about, one.words, *one.but, *(word for item in one.items for word in item if isinstance(word, str))]
    assert all(word.isprintable() for word in every), "a line end would be a second statement"
