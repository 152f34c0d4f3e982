"""Gaps beside what their voltage asks for, and ratings that follow a part."""

from __future__ import annotations

import pytest

from netdiff.circuit import Kind, Part
from netdiff.electrical import clearance, derating
from netdiff.electrical.limits import extended, using


def test_a_gap_and_its_judgement() -> None:
    two = clearance.judge(0.002, 480)
    assert not two.enough and two.needed == pytest.approx(0.0025) and "IPC-2221" in two.source
    assert clearance.judge(0.0025, 480).enough
    assert not clearance.judge(0.0025, 2 * 480).enough


def test_a_shop_that_wants_more_air(tmp_path) -> None:  # type: ignore[no-untyped-def]
    path = tmp_path / "limits.yaml"
    path.write_text("limits: {gap_margin: {value: 1.48}}\n", encoding="utf-8")
    limits, faults = extended(path)
    assert not faults
    with using(limits):
        assert clearance.least(480) == pytest.approx(0.0025 * 1.48)
        assert clearance.least_in_equipment(700) == pytest.approx(0.0025 * 1.48)
    assert clearance.least(480) == pytest.approx(0.0025)


def test_an_unknown_column_is_an_error() -> None:
    with pytest.raises(KeyError):
        clearance.least(480, "wet")


RESISTOR = Kind("resistor", family="resistor")


def test_a_resistor_in_the_heat_of_its_chassis() -> None:
    assert derating.resistor_watts(Part("R1", RESISTOR, ratings={"W": 2.0})) == pytest.approx(2.0)
    assert derating.resistor_watts(Part("R1", RESISTOR, ratings={"W": 2.0}), 100) == pytest.approx(1.0)
    hot = Part("R1", RESISTOR, ratings={"W": 10.0}, words=("wirewound",))
    assert derating.resistor_watts(hot, 150) == pytest.approx(6.0)
    assert derating.resistor_watts(Part("R1", RESISTOR)) is None


def test_crest_of_a_filter() -> None:
    assert derating.crest_volts(400) == pytest.approx(440)
    assert derating.crest_volts(-400, 15) == pytest.approx(415)
