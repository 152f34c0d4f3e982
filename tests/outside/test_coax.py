"""Coaxial cable data beside physics and beside the sources.

Capacitance, impedance and velocity of a line are bound: C = 1 / (Z v) (textbook). Greatest voltages of RG-58 C and
RG-213 from MIL-C-17G slash sheets 28 and 74 as quoted in a mailing list of 2004 (copy); outer diameters from public
notebooks (seen). Figures that the table marks as from memory are checked by physics alone.
"""

from __future__ import annotations

import pytest

from netdiff.electrical.coax import cable, cables, differences, peak_volts, swr_of
from netdiff.electrical.rf import LIGHT


@pytest.mark.parametrize("one", cables(), ids=lambda one: one.name)
def test_capacitance_follows_from_impedance_and_velocity(one) -> None:  # type: ignore[no-untyped-def]
    assert one.farads_per_metre == pytest.approx(1 / (one.ohms * one.velocity * LIGHT), rel=0.015)
    assert len(one.sure) == 5 and set(one.sure) <= {"seen", "copy", "memory"}


@pytest.mark.parametrize(
    ("name", "inches"), [("RG-8", 0.405), ("RG-59", 0.242), ("RG-213", 0.405), ("RG-58C", 0.195), ("RG-174", 0.101)]
)
def test_outer_diameters(name: str, inches: float) -> None:
    one = cable(name)
    assert one is not None
    assert one.diameter == pytest.approx(inches * 0.0254)


@pytest.mark.parametrize(("name", "ohms", "volts"), [("RG-58C", 50, 1400), ("RG-213", 50, 3700)])
def test_specification_sheets(name: str, ohms: float, volts: float) -> None:
    one = cable(name)
    assert one is not None
    assert (one.ohms, one.volts) == (ohms, volts)


@pytest.mark.parametrize("written", ["RG-8", "RG8", "rg-8/u", "RG 8/U", "RG8U", "RG-8U"])
def test_the_ways_of_writing_a_type(written: str) -> None:
    assert cable(written) == cable("RG-8") is not None


@pytest.mark.parametrize("written", ["", "RG", "RG-9999", "8", "coax", "RG-8-RG-8", "RG-8/U/U"])
def test_what_is_no_known_type(written: str) -> None:
    assert cable(written) is None


def test_what_another_type_means() -> None:
    assert differences("RG-8", "RG-8A/U") == ()
    assert any("2300 V AC" in said and "4000 V AC" in said for said in differences("RG-8", "RG-59"))
    assert any("73 Ω" in said for said in differences("RG-8", "RG-59"))
    assert differences("RG-8", "XY-1") == ("no table here has XY-1",)


def test_crest_on_a_line() -> None:
    """45 W in 52 ohms: 68.4 V crest; four times the power at the crest of full modulation doubles it (textbook)."""
    assert peak_volts(45, 52) == pytest.approx(68.41, abs=0.01)
    assert peak_volts(45, 52, depth=1.0) == pytest.approx(peak_volts(180, 52))
    assert peak_volts(45, 52, swr=4) == pytest.approx(2 * peak_volts(45, 52))


def test_a_short_piece_of_other_cable_hardly_reflects() -> None:
    one = cable("RG-59")
    assert one is not None
    assert 1.0 < swr_of(one, 52, 0.45, 4e6) < 1.05
    quarter = LIGHT * one.velocity / 4e6 / 4
    assert swr_of(one, 52, quarter, 4e6) == pytest.approx((73 / 52) ** 2, rel=1e-6)
