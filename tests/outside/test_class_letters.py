"""Class letters beside the reference-designation standard (IEEE 315 clause 22.4, taken over by ASME Y14.44).

The standard's own pages were not at hand. `SEEN` was read in texts that work from it: the US Navy's
drafting manual NAVEDTRA 14040 (A), a post of 2018 in an engineers' forum that lists the uses of the clause,
an encyclopedia (K). `COPY` was read in a list of low trust on a hobby server. `MEMORY` was read nowhere.
"""

from __future__ import annotations

import pytest

from netdiff.catalogue import standard

SEEN = {
    "A": "assembly", "C": "capacitor", "D": "diode", "DS": "lamp", "E": "terminal", "J": "jack", "K": "relay",
    "L": "inductor", "P": "plug", "R": "resistor", "RV": "varistor", "VR": "regulator", "Z": "network",
}  # fmt: skip
COPY = {
    "AR": "amplifier", "AT": "attenuator", "B": "motor", "BT": "battery", "CB": "circuit breaker", "CR": "rectifier",
    "DL": "delay line", "F": "fuse", "FL": "filter", "G": "generator", "HY": "hybrid", "LS": "loudspeaker",
    "MG": "motor-generator", "MK": "microphone", "MP": "mechanical part", "PS": "power supply", "Q": "transistor",
    "RT": "thermistor", "S": "switch", "T": "transformer", "TB": "terminal board", "TC": "thermocouple",
    "U": "integrated circuit", "V": "electron tube", "W": "cable", "Y": "crystal",
}  # fmt: skip
MEMORY = {"HR": "heater", "HT": "headphones", "I": "lamp", "M": "meter", "X": "socket"}

# What a kind of part is called on a drawing that keeps to the standard.
KINDS = {
    "resistor": "R", "potentiometer": "R", "rheostat": "R", "capacitor": "C", "electrolytic": "C", "variable": "C",
    "coil": "L", "choke": "L", "transformer": "T", "tube": "V", "diode": "CR", "rectifier": "CR", "crystal": "Y",
    "jack-2": "J", "coax-socket": "J", "octal-plug": "P", "plug": "P", "fuse": "F", "lamp": "DS", "neon": "DS",
    "meter": "M", "switch-spst": "S", "rotary": "S", "relay-dpdt": "K", "strip": "TB", "speaker": "LS", "motor": "B",
    "battery": "BT", "thermistor": "RT", "cord-3": "W", "ground-lug": "E",
}  # fmt: skip


@pytest.mark.parametrize(("letters", "meaning"), [*SEEN.items(), *COPY.items(), *MEMORY.items()])
def test_meaning(letters: str, meaning: str) -> None:
    assert meaning in standard().class_letters[letters]


def test_nothing_else_is_in_the_list() -> None:
    assert set(standard().class_letters) == {*SEEN, *COPY, *MEMORY}


@pytest.mark.parametrize(("name", "letters"), KINDS.items())
def test_the_letters_of_a_kind(name: str, letters: str) -> None:
    row = standard().row(name)
    assert row is not None
    assert row.letters[0] == letters


def test_every_kind_has_letters_of_the_standard() -> None:
    for name in standard().names():
        row = standard().row(name)
        assert row is not None
        assert row.letters, name
        assert set(row.letters) <= set(standard().class_letters), name
