"""Tube bases and heaters beside published data.

Only what was read in the named source stands here. The rest of `tubes.yaml` is from memory and says so
in its row; nothing here checks it. Sources:

- S1, S2, S21, S22, S23: a maker's data sheets of parts made today under the old type numbers
  (files TUBEEH-62413, -72382, -66052, -60146, -75984). They name sections "first" and "second" triode;
  the first is section a here.
- S3: radio-electronics.com, table of tube pin connections (EB91 is the 6AL5, ECC81 the 12AT7, ECC82 the 12AU7).
- S4, S5, S6, S7, S8: tubeofile.com, a hobby data base made by software from scans: second hand.
- S9: US Army TM 11-6625-316-12, page 0048.
- S10, S11: angelfire.com, Fun with Tubes, three figures.
- S12: frostburg.edu, wing813amp. S13: vacuumtubes.io, 0D3.
- S15: perceptioro.com, 6SN7. S16: grokipedia.com, All American Five. S18: scribd.com 589737256.
"""

from __future__ import annotations

import pytest

from netdiff.catalogue import standard
from netdiff.circuit import Kind

SEEN = [
    ("6V6GT", "S1", "1 -, 2 h1, 3 p, 4 g2, 5 g1, 6 -, 7 h2, 8 k"),
    ("6SN7GT", "S2", "1 g1b, 2 pb, 3 kb, 4 g1a, 5 pa, 6 ka, 7 h1, 8 h2"),
    ("6AL5", "S3", "1 ka, 2 pdb, 3 h1, 4 h2, 5 kb, 6 is, 7 pda"),
    ("12AT7", "S3", "1 pb, 2 g1b, 3 kb, 4 h1, 5 h2, 6 pa, 7 g1a, 8 ka, 9 ht"),
    ("12AU7", "S3", "1 pb, 2 g1b, 3 kb, 4 h1, 5 h2"),
    ("6CG7", "S21", "1 pb, 2 g1b, 3 kb, 4 h1, 5 h2, 6 pa, 7 g1a, 8 ka"),
    ("6AQ8", "S23", "1 pb, 2 g1b, 3 kb, 4 h1, 5 h2, 6 pa, 7 g1a, 8 ka, 9 is"),
    ("EL34", "S22", "1 g3, 2 h1, 3 p, 4 g2, 5 g1, 6 -, 7 h2, 8 k"),
    # The source has base 7CH for the 6BY6; that the 6BE6 shares it is from memory.
    ("6BE6", "S8", "1 g1, 2 k, 3 h1, 4 h2, 5 p, 6 g2, 7 g3"),
    ("12BE6", "S8", "1 g1, 2 k, 3 h1, 4 h2, 5 p, 6 g2, 7 g3"),
    ("5R4GY", "S4", "1 -, 3 -, 4 pb, 5 -, 6 pa, 7 -"),
    ("0A2", "S10", "1 p, 2 k, 4 k-4, 5 p-5, 7 k-7"),
    ("0B2", "S10", "1 p, 2 k, 4 k-4, 5 p-5, 7 k-7"),
    ("12AX7", "S10 and S11", "2 g1b, 3 kb, 4 h1, 5 h2, 6 pa, 7 g1a, 8 ka, 9 ht"),
    ("6SQ7", "S9", "7 h1, 8 h2"),
    ("6CL6", "S10", "4 h1, 5 h2"),
    ("6L6G", "S10", "2 h1, 7 h2"),
]


def tube(name: str) -> Kind:
    kind = standard().make("tube", [name]).kind
    assert kind is not None
    return kind


@pytest.mark.parametrize(("name", "source", "pins"), SEEN, ids=[row[0] for row in SEEN])
def test_pins(name: str, source: str, pins: str) -> None:
    kind = tube(name)
    for pin in pins.split(", "):
        number, electrode = pin.split()
        lug = kind.lug(number)
        assert lug is not None, (source, pin)
        if electrode == "-":
            assert lug.tie, (source, pin)
            assert lug.name == number, (source, pin)
        else:
            assert lug.name == electrode, (source, pin)


def test_the_published_types_are_at_least_ten() -> None:
    assert len({name for name, _, pins in SEEN if pins.count(",") >= 4}) >= 10


@pytest.mark.parametrize(("old", "name"), [("EB91", "6AL5"), ("ECC81", "12AT7"), ("ECC82", "12AU7")])
def test_european_names_of_the_same_tube(old: str, name: str) -> None:
    """S3 lists these types under their European names."""
    assert tube(old) is tube(name)


def test_pins_that_the_tube_joins_inside() -> None:
    """S10: the 0A2 and 0B2 have their anode at 1 and 5, their cathode at 2, 4 and 7."""
    for name in ("0A2", "0B2"):
        kind = tube(name)
        joined = [{lug.aliases[0] for lug in kind.terminals if lug.name in group} for group in kind.inside]
        assert joined == [{"1", "5"}, {"2", "4", "7"}]


def test_the_two_ways_to_heat_a_12ax7() -> None:
    """S10: 6.3 V goes to pin 9 against 4 and 5 joined. The currents are from memory; the power must be one."""
    facts = tube("12AX7").facts
    assert facts["heater_parallel_volts"] == 6.3
    one = facts["heater_volts"] * facts["heater_amps"]  # type: ignore[operator]
    other = facts["heater_parallel_volts"] * facts["heater_parallel_amps"]  # type: ignore[operator]
    assert one == pytest.approx(other)


@pytest.mark.parametrize(
    ("name", "source", "volts", "amps"),
    [
        ("6SN7GT", "S15", 6.3, 0.6), ("6SQ7", "S9", 6.3, None), ("1625", "S18", 12.6, None), ("5U4G", "S5", 5.0, 3.0),
        ("12SA7", "S16", 12.6, 0.15), ("12SK7", "S16", 12.6, 0.15), ("12SQ7", "S16", 12.6, 0.15),
        ("50L6GT", "S16", 50.0, 0.15), ("35Z5GT", "S16", 35.0, 0.15), ("12BE6", "S16", 12.6, 0.15),
        ("12BA6", "S16", 12.6, 0.15), ("35W4", "S16", 35.0, 0.15),
    ],
)  # fmt: skip
def test_heaters(name: str, source: str, volts: float, amps: float | None) -> None:
    facts = tube(name).facts
    assert facts["heater_volts"] == volts, source
    assert amps is None or facts["heater_amps"] == amps, source


@pytest.mark.parametrize(
    ("name", "source", "milliamps"),
    [("6SN7GT", "S2", (550, 650)), ("6CG7", "S21", (550, 680)), ("6AQ8", "S23", (400, 485)),
     ("EL34", "S22", (1350, 1650))],
)  # fmt: skip
def test_heater_currents_within_the_maker_s_limits(name: str, source: str, milliamps: tuple[int, int]) -> None:
    amps = tube(name).facts["heater_amps"]
    assert isinstance(amps, float)
    assert milliamps[0] <= amps * 1000 <= milliamps[1], source


@pytest.mark.parametrize(
    ("name", "source", "volts"),
    [("0A2", "S12", 150), ("0B2", "S12", 108), ("0A3", "S13", 75), ("0B3", "S13", 90), ("0C3", "S13", 105),
     ("0D3", "S13", 150)],
)  # fmt: skip
def test_regulators(name: str, source: str, volts: float) -> None:
    assert tube(name).facts["regulated_volts"] == volts, source
    assert "heater_volts" not in tube(name).facts


@pytest.mark.parametrize(
    ("name", "source", "figure", "value"),
    [
        ("5R4GY", "S4", "inverse_volts", 2800), ("5R4GY", "S4", "first_capacitor", 4e-6),
        ("5R4GY", "S4", "drop_volts", 67),
        ("5Y3GT", "S6", "plate_amps", 0.125), ("5Y3GT", "S6", "drop_volts", 60),
        ("5Y3GT", "S6", "first_capacitor", 20e-6),
        ("6X4", "S7", "rms_volts_capacitor", 325), ("6X4", "S7", "rms_volts_choke", 450),
        ("6X4", "S7", "plate_amps", 0.07),
        ("6X4", "S7", "drop_volts", 22), ("6L6G", "S14: audioxpress.com, Selecting a Power Tube", "plate_watts", 19),
        ("6L6GC", "S14: audioxpress.com, Selecting a Power Tube", "plate_watts", 30),
    ],
)  # fmt: skip
def test_ratings(name: str, source: str, figure: str, value: float) -> None:
    assert tube(name).facts[figure] == value, source


def test_pins_that_nobody_could_verify_stay_out() -> None:
    """The 6DQ5's doubled pins and pins 1 and 3 of the 6AG7 were found in no source."""
    assert {"6DQ5", "6AG7"}.isdisjoint(standard().tube_types())
