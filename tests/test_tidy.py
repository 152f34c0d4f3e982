"""The canonical layout: comments stay, tidying twice changes nothing, and the circuit is the same."""

from __future__ import annotations

import random
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as some

from netdiff.circuit import Circuit, Found
from netdiff.language import Faulty, Model, Unit, read, read_model_text, read_unit_text
from netdiff.language.tidy import tidy_file, tidy_read
from tests import generate
from tests.texts import model

ROOT = Path(__file__).resolve().parents[1]


def tidy(text: str, stock: Model | None = None) -> str:
    """The tidied text: of a found file if the model is given, else of a stock file."""
    if stock is None:
        return tidy_read(model(text))
    found, faults = read_unit_text(text, stock, "u.found")
    assert found is not None, faults
    return tidy_read(found)


def placeless(value: Any) -> Any:
    """The value without the places of its statements: tidying may drop blank lines."""
    if isinstance(value, Circuit):
        return {name: placeless(getattr(value, name)) for name in Circuit.__slots__}
    if isinstance(value, Found):
        return {name: placeless(getattr(value, name)) for name in Found.__slots__ if name != "missing_places"}
    if isinstance(value, dict):
        return {key: placeless(item) for key, item in value.items()}
    if isinstance(value, tuple) and not hasattr(value, "_fields"):
        return tuple(placeless(item) for item in value)
    if hasattr(value, "places"):
        return value._replace(places=()) if isinstance(value, tuple) else replace(value, places=())
    return value


MESSY = """\ufeff
# A heading — it’s kept
stock “Test set”      # the model


drawing "sheet 3" ,M thousand

zone rear "Rear"
  R1 resistor 20M 1/2W 10% "screen"   # dropping
# between the parts
C12 capacitor .05 600V "coupling"
C3 capacitor 250mmf
V1 tube 811A
R104 resistor 470 5W wirewound
S2 rotary 2x6 at 3
P3 plug 3
net b+ supply 600V
net rf rf 1.8..30MC 52Ω
T1 transformer
winding T1 1--2,115Vac,4ohm,"primary"
b+–R1—V1.g1
wire V1.f1—b+,4in ,20AWG,“green -- or — blue”
state on1 "x" :S2 at 5
ohms V1.g1--b+=.47meg   20%
volts V1.g1 -- b+=1..2kV in on1
ohms V1.g1 -- b+ = >20M
signal s:V1.g1>b+
"""

NEAT = """# A heading — it’s kept
stock "Test set"  # the model

drawing "sheet 3", M thousand

zone rear "Rear"
R1    resistor 20k 0.5W 10%  "screen"  # dropping
# between the parts
C12   capacitor 0.05uF 600V  "coupling"
C3    capacitor 250pF
V1    tube 811A
R104  resistor 470ohm 5W wirewound
S2    rotary 2x6 at 3
P3    plug 3
net b+  supply 600V
net rf  rf 1.8..30MHz 52ohm
T1  transformer
winding T1 1 -- 2, 115Vac, 4ohm, "primary"
b+ -- R1 -- V1.g1
wire V1.f1 -- b+, 4in, 20AWG, "green -- or — blue"
state on1 "x": S2 at 5
ohms V1.g1 -- b+ = 470k 20%
volts V1.g1 -- b+ = 1000..2000V in on1
ohms V1.g1 -- b+ = >20k
signal s: V1.g1 > b+
"""


def test_the_layout() -> None:
    assert tidy(MESSY) == NEAT
    assert tidy(NEAT) == NEAT


def test_old_units_and_bare_numbers() -> None:
    values = {
        "resistor 470": "470ohm", "resistor 4k7": "4.7k", "resistor 2.2meg": "2.2M", "capacitor .001": "0.001uF",
        "capacitor 500": "500pF", "capacitor 8mfd": "8uF", "capacitor 100uuf": "100pF", "choke 8hy": "8H",
        "coil 2.5mh": "2.5mH", "resistor 1k 1/4W": "1k 0.25W", "capacitor 10n 1kV": "0.01uF 1000V",
    }  # fmt: skip
    for words, meant in values.items():
        kind = words.split()[0]
        assert tidy(f'stock "x"\nX1 {words}\n') == f'stock "x"\nX1  {kind} {meant}\n'


def test_a_found_file() -> None:
    stock = 'stock "x"\nC1 capacitor .01\nR1 resistor 1k\nnet b+\n'
    text = 'found “u” of "x.stock"\nC1 .05 ,charred,measured 40n\n?R9 resistor 470\nat TB1.2:C1 ? "a"\nb+--R1--?\n'
    neat = (
        'found "u" of "x.stock"\nC1   0.05uF, charred, measured 0.04uF\n?R9  resistor 470ohm\n'
        'at TB1.2: C1 ? "a"\nb+ -- R1 -- ?\n'
    )
    assert tidy(text, model(stock)) == neat
    assert tidy(neat, model(stock)) == neat


def test_a_faulty_file_is_not_tidied(tmp_path: Path) -> None:
    path = tmp_path / "a.stock"
    path.write_text('stock "x"\nR1   resistr 1k\n')
    with pytest.raises(Faulty):
        tidy_file(path)
    assert path.read_text() == 'stock "x"\nR1   resistr 1k\n'


def same_circuit(before: Model | Unit, text: str) -> None:
    after: Model | Unit | None
    if isinstance(before, Model):
        after, faults = read_model_text(text, before.file)
        assert after is not None, faults
        for active in before.variants():
            assert placeless(after.circuit(active)) == placeless(before.circuit(active))
    else:
        after, faults = read_unit_text(text, before.model, before.file)
        assert after is not None, faults
        for active in before.model.variants():
            assert placeless(after.found(active)) == placeless(before.found(active))
            assert placeless(after.found(active).circuit) == placeless(before.found(active).circuit)


FILES = sorted([*(ROOT / "netlists").glob("*.stock"), *(ROOT / "examples").glob("*.found")])


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_files_of_the_house(path: Path) -> None:
    before = read(path)
    text = tidy_read(before)
    same_circuit(before, text)
    assert tidy(text, before.model if isinstance(before, Unit) else None) == text


def messed(text: str, rng: random.Random) -> str:
    """The same statements as somebody in a hurry types them."""
    out = []
    for line in text.splitlines():
        if rng.random() < 0.2:
            out.append(rng.choice(["", "   ", '# a remark, -- with "things"', "\t# ü"]))
        if " -- " in line:
            line = line.replace(" -- ", rng.choice(["--", " -- ", " — ", "–", "  --  "]))
        words = line.split(" ")
        if '"' not in line:
            line = rng.choice([" ", "  ", "\t"]).join(words)
        line = rng.choice(["", "", "  "]) + line + rng.choice(["", "", " ", "  # why", "#x"])
        out.append(line)
    return rng.choice(["\n", "\r\n"]).join(out) + "\n" * rng.randint(0, 3)


@given(some.integers(0, 100_000), some.integers(1, 25))
def test_tidying_random_files(seed: int, size: int) -> None:
    rng = random.Random(seed)
    drawn = generate.stock(rng, size)
    stock = model(messed(drawn, rng))
    text = tidy_read(stock)
    same_circuit(stock, text)
    assert tidy(text) == text
    found, faults = read_unit_text(messed(generate.retranscribe(drawn, rng, rng.randint(0, 3)), rng), stock)
    assert found is not None, faults
    text = tidy_read(found)
    same_circuit(found, text)
    assert tidy(text, stock) == text


@given(some.integers(0, 100_000))
def test_comments_stay_with_their_lines(seed: int) -> None:
    rng = random.Random(seed)
    lines = generate.stock(rng, 6).splitlines()
    marked = [f"{line}  # {number}" for number, line in enumerate(lines)]
    tidied = tidy("\n".join(marked)).splitlines()
    assert [line.rpartition("#")[2] for line in tidied if line] == [f" {n}" for n in range(len(lines))]
