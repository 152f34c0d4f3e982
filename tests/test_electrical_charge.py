"""Stored charge: which places count, how they are called, what discharges them."""

from __future__ import annotations

import math

import pytest

from netdiff import read
from netdiff.circuit import Circuit
from netdiff.electrical.charge import stores
from netdiff.electrical.limits import extended, using
from netdiff.electrical.modulation import between, swings
from netdiff.language import Model, read_model_text


def circuit(text: str) -> Circuit:
    model, faults = read_model_text(f'stock "t"\nground chassis\n{text}\n', "t.stock")
    assert model is not None, [fault.says for fault in faults]
    return model.circuit()


SUPPLY = """
T1 transformer
V1 tube 5U4G
L1 choke 10H 70ohm
C1 electrolytic 16u 450V
C2 electrolytic 16u 450V
R1 resistor 25k 25W
net b+ supply 400V
winding T1 1 -- 2 -- 3, 800Vac, 100ohm
winding T1 4 -- 5, 5Vac, 0.05ohm
T1.1 -- V1.pa
T1.3 -- V1.pb
T1.2 -- chassis
T1.4 -- V1.f1
T1.5 -- V1.f2
V1.f2 -- C1.+/- -- chassis
V1.f2 -- L1 -- b+
b+ -- C2.+/- -- chassis
"""


def test_a_choke_makes_one_store_of_two_sections() -> None:
    (one,) = stores(circuit(SUPPLY + "b+ -- R1 -- chassis"))
    assert one.net == "b+" and set(one.parts) == {"C1", "C2"}
    assert one.farads == pytest.approx(32e-6) and one.volts == 400
    assert one.ohms == pytest.approx(25e3)
    assert one.seconds == pytest.approx(25e3 * 32e-6 * math.log(400 / 60))
    assert one.joules == pytest.approx(2.56)


def test_no_bleeder_no_end() -> None:
    (one,) = stores(circuit(SUPPLY.replace("R1 resistor 25k 25W\n", "")))
    assert one.ohms == one.seconds == math.inf


def test_a_cold_tube_discharges_nothing() -> None:
    text = SUPPLY.replace("R1 resistor 25k 25W\n", "V2 tube 6V6GT\nR2 resistor 250\nT2 transformer\n")
    text += "winding T2 1 -- 2, 300ohm\nb+ -- T2.1\nT2.2 -- V2.p\nb+ -- V2.g2\nV2.k -- R2 -- chassis"
    (one,) = stores(circuit(text))
    assert one.seconds == math.inf


def test_a_switch_open_at_rest_takes_the_bleeder_away() -> None:
    text = SUPPLY + "S1 switch-spst off/on\nb+ -- S1 -- R1 -- chassis"
    (one,) = stores(circuit(text.replace("S1 switch-spst off/on", "S1 switch-spst")))
    assert one.seconds == math.inf


def test_an_unnamed_place_behind_a_rectifier_counts_by_its_rating() -> None:
    text = SUPPLY.replace("net b+ supply 400V", "net b+")
    (one,) = stores(circuit(text + "b+ -- R1 -- chassis"))
    assert one.by_rating and one.volts == 450


def test_volts_that_somebody_worked_out_win_where_they_are_higher() -> None:
    (one,) = stores(circuit(SUPPLY + "b+ -- R1 -- chassis"), known=lambda a, b: 430.0)
    assert one.volts == 430
    (one,) = stores(circuit(SUPPLY + "b+ -- R1 -- chassis"), known=lambda a, b: 200.0)
    assert one.volts == 400


def test_an_ohmmeter_of_the_callers_own() -> None:
    (one,) = stores(circuit(SUPPLY + "b+ -- R1 -- chassis"), ohms=lambda a, b: 1e6)
    assert one.ohms == 1e6


def test_a_negative_supply_and_small_capacitors() -> None:
    text = """
C1 electrolytic 40u 250V
C2 capacitor .01 600V
C3 electrolytic 25u 25V
R1 resistor 4k
R2 resistor 330
V1 tube 6V6GT
net bias bias -135V
net b+ supply 300V
bias -- C1.-/+ -- chassis
bias -- R1 -- chassis
b+ -- C2 -- chassis
V1.k -- C3.+/- -- chassis
V1.k -- R2 -- chassis
"""
    (one,) = stores(circuit(text))
    assert one.net == "bias" and one.volts == 135 and one.parts == ("C1",)
    assert one.across == ("chassis", "bias")


def test_the_demo_supplies() -> None:
    model = read("netlists/harbourlight-hl45.stock")
    assert isinstance(model, Model)
    told = {store.net: store for store in stores(model.circuit(frozenset({"late"})))}
    assert {"hv", "lv", "bias"} <= set(told)
    assert set(told["hv"].parts) == {"C58", "C59"}
    assert told["hv"].ohms == pytest.approx(15.6e3, rel=0.02)  # the factory's chart
    assert told["lv"].ohms == pytest.approx(9.6e3, rel=0.02)
    assert all(store.seconds < 10 for store in told.values())


def test_a_users_limit_counts(tmp_path) -> None:  # type: ignore[no-untyped-def]
    path = tmp_path / "limits.yaml"
    path.write_text("limits:\n  discharged: {value: 30V, source: our shop}\n", encoding="utf-8")
    limits, faults = extended(path)
    assert not faults
    text = SUPPLY + "b+ -- R1 -- chassis"
    with using(limits):
        (slow,) = stores(circuit(text))
    (fast,) = stores(circuit(text))
    assert slow.seconds == pytest.approx(25e3 * 32e-6 * math.log(400 / 30))
    assert slow.seconds > fast.seconds


# --- crests


def test_a_modulated_supply_sees_twice_its_dc() -> None:
    model = read("netlists/harbourlight-hl45.stock")
    assert isinstance(model, Model)
    told = swings(model.circuit(frozenset({"late"})))
    assert told["hv-mod"].crest == 930 and "T4" in told["hv-mod"].because
    assert told["hv"].crest == 480 and not told["hv"].because
    assert told["V8.p"].crest == 960
    assert told["V3.p"].crest == 1860 and "tuned" in told["V3.p"].because
    assert between(told, "hv-mod", "chassis") == 930
    assert between(told, "hv-mod", "fin-bias") == 930 + 63
    assert between(told, "hv-mod", "hv") == 930
    assert between(told, "hv-mod", "J1.tip") is not None
    assert between(told, "hv-mod", "nowhere") is None


def test_a_keyed_choke_input_supply_without_bleeder_climbs() -> None:
    text = SUPPLY.replace("V1.f2 -- C1.+/- -- chassis", "b+ -- C1.+/- -- chassis")
    assert swings(circuit(text.replace("25k 25W", "10k 25W") + "b+ -- R1 -- chassis"))["b+"].crest == 400
    # 10 H smooths down to a load of 11.3 kilohms: 25 are too many.
    assert swings(circuit(text + "b+ -- R1 -- chassis"))["b+"].crest > 600
    climbing = swings(circuit(text.replace("R1 resistor 25k 25W\n", "")))["b+"]
    assert climbing.crest == pytest.approx(400 * math.pi / 2, rel=1e-3) and "choke input" in climbing.because
    # With a capacitor straight behind the rectifier there is nothing to climb to.
    assert swings(circuit(SUPPLY.replace("R1 resistor 25k 25W\n", "")))["b+"].crest == 400
