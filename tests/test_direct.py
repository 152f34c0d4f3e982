"""Voltages at work: dividers and loads, the meter's own current, regulators, what a short or two supplies do."""

from __future__ import annotations

import itertools

import pytest

from netdiff.comparison.merged import as_found
from netdiff.electrical import Alternating, Interval, Operating, measured_supplies, operate
from tests.texts import compared, model

HEAD = 'stock "T"\nground chassis\n'
DIVIDER = (
    HEAD
    + """
R1 resistor 10k 2W 10%
R2 resistor 10k 2W 10%
net b+ supply 200V
net mid
b+ -- R1 -- mid
mid -- R2 -- chassis
"""
)
SET = (
    HEAD
    + """
J1 inlet-2
S1 switch-spst
F1 fuse 1A 250V
T1 transformer
V1 tube 5Y3GT
V2 tube 6V6GT
L1 choke 10H 100mA 200ohm
C1 electrolytic 16u 450V
R1 resistor 50k 5W 10%
R2 resistor 270 2W 10%
R3 resistor 470k 0.5W 10%
winding T1 1 -- 2, 117Vac, 8ohm, "primary"
winding T1 3 -- 4 -- 5, 600Vac, 200ohm
winding T1 6 -- 7, 5Vac, 0.1ohm
winding T1 8 -- 9, 6.3Vac, 0.1ohm
net line mains 117Vac
net b+ supply 250V
net heater heater 6.3Vac
J1.L -- F1 -- S1 -- line -- T1.1
J1.N -- T1.2
T1.3 -- V1.pa
T1.5 -- V1.pb
T1.4 -- chassis
T1.6 -- V1.f1
T1.7 -- V1.f2
V1.f2 -- L1 -- b+
b+ -- C1.+/- -- chassis
b+ -- R1 -- chassis
T1.8 -- heater -- V2.h1
T1.9 -- chassis -- V2.h2
b+ -- V2.p -- V2.g2
V2.k -- R2 -- chassis
V2.g1 -- R3 -- chassis
state playing: S1 on
load 45mA V2.p -- V2.k in playing
"""
)


def solved(text: str, state: str) -> Operating:
    return operate(model(text).circuit(frozenset()), state)


def test_a_divider_stands_where_ohm_says() -> None:
    volts = solved(DIVIDER, "powered").volts("mid")
    assert volts is not None and volts.nominal == pytest.approx(100, rel=1e-4)


def test_bounds_of_first_order_hold_every_corner_of_small_tolerances() -> None:
    """Exact up to the square of the tolerance: at 1 % all corners lie within the bounds and a ten-thousandth."""
    values = (10e3, 22e3, 4.7e3, 1e3)

    def at(corner: tuple[float, ...]) -> Interval:
        parts = "".join(
            f"R{n} resistor {v * k:.3f} 1%\n" for n, (v, k) in enumerate(zip(values, corner, strict=True), 1)
        )
        wires = "b+ -- R1 -- a\na -- R2 -- chassis\na -- R3 -- c\nc -- R4 -- chassis\n"
        volts = solved(f"{HEAD}{parts}net b+ supply 200V\nnet a\nnet c\n{wires}", "powered").volts("c")
        assert volts is not None
        return volts

    bound = at((1, 1, 1, 1))
    for corner in itertools.product((0.99, 1.01), repeat=4):
        assert bound.low * 0.9999 <= at(corner).nominal <= bound.high * 1.0001


def test_the_meter_draws_its_own_current() -> None:
    """1000 ohms per volt on its 250 V range across one of two 100 k: 250k beside the 50k behind the point."""
    text = DIVIDER.replace("10k", "100k")
    at = solved(text, "powered")
    shown = at.shown("mid", "", 250e3)
    assert shown is not None and shown.nominal == pytest.approx(100 * 250 / 300, rel=1e-4)


def test_a_rectifier_supply_meets_its_declared_voltage_and_dies_with_the_switch() -> None:
    playing = solved(SET, "playing").volts("b+")
    assert playing is not None and playing.nominal == pytest.approx(250, rel=1e-3)
    off = operate(model(SET + "state off: S1 off\n").circuit(frozenset()), "off").volts("b+")
    assert off is not None and off.nominal == pytest.approx(0, abs=1e-6)


def test_heaters_get_what_their_winding_gives() -> None:
    at = Alternating(model(SET).circuit(frozenset()), "playing")
    assert at.volts("V2.h1", "V2.h2") == pytest.approx(6.3, rel=0.01)
    assert at.volts("V1.f1", "V1.f2") == pytest.approx(5.0, rel=0.01)


def test_a_tube_without_plate_voltage_draws_no_current() -> None:
    cut = SET.replace("b+ -- V2.p -- V2.g2", "net p\np -- V2.p -- V2.g2")
    at = operate(model(cut).circuit(frozenset()), "playing", measured_supplies(model(SET).circuit(frozenset())))
    cathode = at.volts("V2.k")
    assert cathode is not None and cathode.nominal == pytest.approx(0, abs=1e-6)
    assert at.volts("V2.p") is None, "nothing holds it against anything"


def test_a_short_across_a_supply_says_what_gives_way() -> None:
    stock = model(SET).circuit(frozenset())
    shorted = SET.replace("C1 electrolytic 16u 450V\n", "C1 electrolytic 16u 450V\nR9 resistor 1 1W\n").replace(
        "V2.k -- R2", "b+ -- R9 -- chassis\nV2.k -- R2"
    )
    at = operate(model(shorted).circuit(frozenset()), "playing", measured_supplies(stock))
    assert len(at.trouble) == 1
    assert "where the drawing asks" in at.trouble[0]
    assert "nan" not in at.trouble[0].lower()


def test_two_supplies_joined_by_a_modification_say_so() -> None:
    stock = HEAD + (
        "R1 resistor 10k 5W\nR2 resistor 10k 5W\nnet b+ supply 300V\nnet low supply 100V\nb+ -- R1 -- chassis\n"
        "low -- R2 -- chassis\n"
    )
    found = 'found "u" of "t.stock"\ntraced R1 R2\nb+ -- R1 -- chassis\nlow -- R2 -- chassis\nb+ -- low\n'
    comparison = compared(stock, found)
    at = operate(as_found(comparison), "powered", measured_supplies(comparison.stock))
    assert any("b+ and low" in says or "low and b+" in says for says in at.trouble)


def test_a_regulator_holds_and_goes_out() -> None:
    text = HEAD + (
        "V1 tube 0D3\nR1 resistor 5k 10W\nR2 resistor {load}\nnet b+ supply 300V\nnet r\n"
        "b+ -- R1 -- r\nr -- V1.p\nV1.k -- chassis\nr -- R2 -- chassis\n"
    )
    held = solved(text.replace("{load}", "20k"), "powered").volts("r")
    assert held is not None and 148 <= held.nominal <= 155
    out = solved(text.replace("{load}", "2k"), "powered").volts("r")
    assert out is not None and out.nominal == pytest.approx(300 * 2 / 7, rel=1e-3)


def test_watts_and_amperes_of_a_part() -> None:
    at = solved(DIVIDER, "powered")
    watts, amps = at.watts("R1"), at.amps("R1")
    assert watts is not None and watts.nominal == pytest.approx(1.0, rel=1e-3)
    assert amps is not None and amps.nominal == pytest.approx(0.01, rel=1e-3)
    assert at.watts("R9") is None and at.amps("R9") is None


def test_capacitor_input_charges_higher_than_choke_input() -> None:
    stock = model(SET).circuit(frozenset())
    ahead = SET.replace("V2.k -- R2", "C2 electrolytic 8u 450V\nV1.f2 -- C2.+/- -- chassis\nV2.k -- R2")
    volts = operate(model(ahead).circuit(frozenset()), "playing", measured_supplies(stock)).volts("b+")
    assert volts is not None and volts.nominal > 300


def test_values_of_any_size_divide_as_ohm_says() -> None:
    """A perfect meter; a real one would show nothing."""
    for ohms in ("1000000G", "1"):
        volts = solved(DIVIDER.replace("10k 2W", ohms), "powered").volts("mid")
        assert volts is not None and volts.nominal == pytest.approx(100, rel=1e-2)


def test_a_tube_that_asks_for_more_than_its_resistor_gives_bottoms() -> None:
    """220k from 250 V give 1.1 mA to a shorted plate: 1 mA leaves 30 V, of 2 mA nothing is left. With the resistor
    drifted upward the plate falls, it does not rise."""
    text = (
        HEAD + "V1 tube 6J5GT\nR1 resistor 220k 10%\nnet b+ supply 250V\nb+ -- R1 -- V1.p\nV1.k -- chassis\nstate t\n"
    )
    plates = []
    for amps in ("1mA", "2mA"):
        volts = solved(f"{text}load {amps} V1.p -- V1.k in t\n", "t").volts("V1.p")
        assert volts is not None
        plates.append(volts.nominal)
    assert plates[0] == pytest.approx(30, rel=1e-3) and 0 < plates[1] < 1


def test_tubes_in_series_carry_one_current() -> None:
    """Nothing but the two tubes holds the joint between them: it lies where the smaller current lets it."""
    text = (
        HEAD
        + "V1 tube 6J5GT\nV2 tube 6J5GT\nR1 resistor 10k 10%\nnet b+ supply 250V\nnet joint\nb+ -- R1 -- V1.p\n"
        + "V1.k -- joint -- V2.p\nV2.k -- chassis\nstate t\nload 2mA V1.p -- V1.k in t\nload 3mA V2.p -- V2.k in t\n"
    )
    at = solved(text, "t")
    plate = at.volts("V1.p")
    assert plate is not None and plate.nominal == pytest.approx(230, rel=1e-3)
