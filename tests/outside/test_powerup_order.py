"""The order of the stages and their limits beside what public pages and handbooks say.

Each row has its source. *Seen* was read on the page for this check; *practice* is common practice of the
trade and is written in many places; *memory* is from memory and only a loose check.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

import netdiff
from netdiff.language import Model
from netdiff.powerup.consumption import lamp_tubes_out
from netdiff.powerup.forming import leakage, series_resistor
from netdiff.powerup.plan import Plan, plan_of
from netdiff.powerup.stages import figure, order, table

ROOT = Path(__file__).resolve().parents[2]

BEFORE = [
    # Web page "Before turning on the power" (angelfire.com, funwithtubes, 9.1), seen: do not plug it in; capacitors
    # and resistors are checked first; the power transformer is tried with all tubes out of their sockets.
    ("cold", "tubes-out"),
    ("reform", "tubes-out"),
    ("tubes-out", "heaters"),
    # Web page on powering a radio with a lamp in series (antiqueradio.org, dimbulb), seen: inspection, tube tests and
    # capacitors before the lamp; the lamp before the bare line.
    ("look", "tubes-out"),
    ("low-reduced", "low"),
    ("low-reduced", "full"),
    # Mailing list of computer collectors (classiccmp.org), on transmitting tubes, seen: filaments first, then bias
    # for a while, then the high tension.
    ("heaters", "bias"),
    ("bias", "low-reduced"),
    ("bias", "high-reduced"),
    # Web page "Mercury-vapor rectifier tubes" (hifitubes.nl), seen: filaments alone for 30 minutes before the first
    # high voltage, then a delay each time.
    ("conditioning", "high-reduced"),
    # Diary of a museum's transmitter restoration, May 2021, seen: rectifiers first at a few percent of the line, the
    # filter later.
    ("high-reduced", "carrier"),
    # "Peak the grid, dip the plate, load": the usual rule of tuning (electronicstheory.com, tetrode), seen.
    ("drive", "carrier-reduced"),
    ("carrier-reduced", "carrier"),
    # Practice: the modulator never runs without the final as its load, so the carrier comes first.
    ("carrier", "modulator"),
    ("modulator", "modulation"),
    ("carrier", "keying"),
]


@cache
def planned(name: str) -> Plan:
    model = netdiff.read(ROOT / "netlists" / f"{name}.stock")
    assert isinstance(model, Model)
    return plan_of(model.circuit(model.variants()[0]))


@pytest.mark.parametrize("name", ["harbourlight-hl45", "five-tube-acdc", "lantern"])
@pytest.mark.parametrize(("first", "then"), BEFORE)
def test_stages_stand_in_the_order_of_the_handbooks(name: str, first: str, then: str) -> None:
    keys = [stage.key for stage in planned(name).stages]
    assert order().index(first) < order().index(then)
    if first in keys and then in keys:
        assert keys.index(first) < keys.index(then)


def test_between_them_the_demo_sets_have_every_stage() -> None:
    """So that no row above is empty."""
    seen = {s.key for name in ("harbourlight-hl45", "five-tube-acdc", "lantern") for s in planned(name).stages}
    assert seen == set(order()) >= {key for pair in BEFORE for key in pair}


@pytest.mark.parametrize(
    ("microfarads", "volts", "milliamperes"),
    [
        # University page on measuring leakage, quoting JAN-C-62: I(mA) = K C(uF) + 0.3 with K 0.01 to 100 V, 0.02 to
        # 250 V, 0.025 to 350 V, 0.04 to 450 V; its own example is 20 uF at 450 V with 1.1 mA. Seen by an earlier
        # reader; the other rows are the formula worked out by hand.
        (20, 450, 1.1),
        (16, 450, 0.94),
        (40, 250, 1.1),
        (30, 350, 1.05),
        (25, 25, 0.55),
        (100, 50, 1.3),
        (10, 101, 0.5),
    ],
)
def test_leakage_limits(microfarads: float, volts: float, milliamperes: float) -> None:
    assert leakage(microfarads * 1e-6, volts) * 1e3 == pytest.approx(milliamperes, rel=1e-9)


def test_forming_current() -> None:
    """Mailing list October 2017 and pages on reforming: 5 to 10 mA at most, about 90 k from 450 V gives 5 mA."""
    for volts in (25, 50, 150, 250, 450, 600):
        assert 0.6 * 5e-3 <= volts / series_resistor(volts) <= 5.0001e-3
    assert 90e3 <= series_resistor(450) <= 100e3


def test_lamp_with_the_tubes_out() -> None:
    """40 to 60 W (pages on lamps in series, practice); less for a set that draws no more itself."""
    assert lamp_tubes_out(300) == 60 and lamp_tubes_out(120) == 40 and lamp_tubes_out(30) == 25


def test_heater_tolerance() -> None:
    """Practice: 5 % for transmitting tubes, 10 % for receiving ones."""
    assert (figure("heater_limits")["transmitter"], figure("heater_limits")["receiver"]) == (0.05, 0.10)


def test_filter_cans_after_a_leak() -> None:
    """Memory, and the physics of heat: a can of 35 mm by 75 mm holds about 100 g of aluminium and paste, some 100 J/K,
    and gives off about 10 W/(m² K) over 0.01 m²: a time constant of a quarter of an hour. Half of
    what a few minutes of leakage warmed is gone ten minutes later, so the hand is on it at once."""
    seconds = 100 / (10 * 0.01)
    assert 2.718 ** (-600 / seconds) < 0.6
    assert "at once" in table()["stages"]["low-reduced"]["asks"]["cans-cold"]


def test_an_output_grid_at_zero_stays_at_zero() -> None:
    """Practice, and tube manuals (memory): reverse grid current of a sound small power tube is 1 µA or less, which is
    half a volt in a grid leak of 0.5 MΩ, the most that manuals allow with cathode bias."""
    assert 1e-6 * 0.5e6 <= figure("grid_limits")["up"] <= 1.0 and figure("grid_limits")["down"] >= -3.0


def test_mercury_waits_half_an_hour_and_half_a_minute() -> None:
    """hifitubes.nl, seen: 30 minutes of filament alone after the mercury was disturbed, later 30 seconds."""
    assert "30 minutes" in table()["stages"]["conditioning"]["watch"][0]
    delay = planned("harbourlight-hl45").stage("conditioning")
    assert delay is not None and [a.low for a in delay.asks if a.quantity == "seconds"] == [30]


def test_every_stage_and_figure_names_its_source() -> None:
    import re

    rows = [*table()["stages"].values(), *table()["figures"].values()]
    assert all(row.get("source") for row in rows)
    marks = {mark for row in rows for mark in re.findall(r"\bS\d+\b", row["source"])}
    assert marks <= set(table()["sources"])
    assert all(row["stop"] and row["watch"] for row in table()["stages"].values())
