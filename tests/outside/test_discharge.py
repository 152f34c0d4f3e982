"""Charge and discharge beside worked examples, and whole networks beside a differential-equation solver.

Lessons In Electric Circuits, vol. I, chapter on time constants (public copies, seen): 15 V decaying with one second.
IEC 60335-1, 8.1.4, as quoted in a forum, and EN 61010-1 as quoted in a mailing list (copy): 0.1 uF to 450 V, then 45
uC, and 350 mJ above 15 kV, which nearly meet. Amplifier builders' list of February 1999 (copy): bleeders of 100 ohms
per volt, 4500 V -> 450 kilohms, 10 mA, 45 W. The rest is arithmetic, done here again by a solver that shares no code.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from netdiff.electrical.charge import dangerous, energy, left, seconds_to, stores
from netdiff.language import read_model_text


@pytest.mark.parametrize(
    ("seconds", "volts"),
    [(0.5, 9.098), (1, 5.518), (2, 2.030), (3, 0.747), (4, 0.275), (5, 0.101), (6, 0.03718), (10, 0.000681)],
)
def test_decay_of_the_lessons(seconds: float, volts: float) -> None:
    assert left(15, seconds, 10e3, 100e-6) == pytest.approx(volts, rel=2e-3)
    assert seconds_to(15, volts, 10e3, 100e-6) == pytest.approx(seconds, rel=2e-3)


@pytest.mark.parametrize(("end", "seconds"), [(60, 3.863), (50, 4.081), (42.4, 4.279), (30, 4.694), (295.8, 1.948)])
def test_a_bleeder_of_100_ohms_per_volt(end: float, seconds: float) -> None:
    assert seconds_to(1500, end, 150e3, 8e-6) == pytest.approx(seconds, abs=1e-3)


def test_without_its_bleeder_a_meter_takes_minutes() -> None:
    assert seconds_to(1500, 60, 10e6, 8e-6) == pytest.approx(257.5, abs=0.1)
    assert seconds_to(1500, 60, math.inf, 8e-6) == math.inf
    assert energy(8e-6, 1500) == pytest.approx(9.0)


def test_the_limits_nearly_meet() -> None:
    """0.1 uF at 450 V is 45.0 uC; 45 uC at 15 kV is 337.5 mJ, near the 350 mJ above that."""
    assert dangerous(450, 0.1001e-6) and not dangerous(450, 0.0999e-6)
    assert not dangerous(451, 0.0997e-6) and dangerous(451, 0.0999e-6)
    assert energy(45e-6 / 15e3, 15e3) == pytest.approx(0.3375)


@pytest.mark.parametrize(("volts", "nanofarads"), [(1000, 45), (1500, 30), (3000, 15)])
def test_capacitance_of_45_microcoulombs(volts: float, nanofarads: float) -> None:
    assert dangerous(volts, nanofarads * 1.001e-9)
    assert not dangerous(volts, nanofarads * 0.999e-9)


def ladder(volts: list[float], farads: list[float], ohms: list[float]) -> str:
    """Stores in a row, a resistor from each to the next, the last of them to ground."""
    count = len(volts)
    lines = ['stock "ladder"', "ground chassis"]
    lines += [f"C{i + 1} capacitor {farads[i] * 1e6:.6f}uF 1000V" for i in range(count)]
    lines += [f"R{i + 1} resistor {ohms[i]:.3f}ohm" for i in range(count)]
    lines += [f"net n{i + 1} supply {volts[i]:.3f}V" for i in range(count)]
    lines += [f"n{i + 1} -- C{i + 1} -- chassis" for i in range(count)]
    lines += [f"n{i + 1} -- R{i + 1} -- {f'n{i + 2}' if i + 1 < count else 'chassis'}" for i in range(count)]
    return "\n".join(lines) + "\n"


rungs = st.integers(1, 4).flatmap(
    lambda count: st.tuples(
        st.lists(st.floats(61, 900), min_size=count, max_size=count),
        st.lists(st.floats(1.1e-6, 60e-6), min_size=count, max_size=count),
        st.lists(st.floats(500, 80e3), min_size=count, max_size=count),
    )
)


@settings(max_examples=25, deadline=None)
@given(rungs)
def test_stores_that_discharge_through_each_other(rung: tuple[list[float], list[float], list[float]]) -> None:
    """Node equations of the ladder, integrated; each store's last crossing of 60 V is where it is told."""
    volts, farads, ohms = rung
    model, faults = read_model_text(ladder(volts, farads, ohms), "ladder.stock")
    assert model is not None, faults
    told = {store.net: store for store in stores(model.circuit())}
    assert set(told) == {f"n{i + 1}" for i in range(len(volts))}
    count = len(volts)
    leaving = np.zeros((count, count))
    for i in range(count):
        leaving[i, i] += 1 / ohms[i]
        if i + 1 < count:
            leaving[i + 1, i + 1] += 1 / ohms[i]
            leaving[i, i + 1] -= 1 / ohms[i]
            leaving[i + 1, i] -= 1 / ohms[i]
    rates = -leaving / np.array(farads)[:, None]
    for i in range(count):
        store = told[f"n{i + 1}"]
        assert store.ohms == pytest.approx(sum(ohms[i:]), rel=1e-6)
        if store.seconds > 0:
            span = (0.0, store.seconds * 1.2)
            solved = solve_ivp(
                lambda _, v: rates @ v, span, np.array(volts), method="LSODA", rtol=1e-8, atol=1e-6,
                t_eval=[store.seconds, store.seconds * 1.2],
            )  # fmt: skip
            assert solved.y[i][0] == pytest.approx(60, rel=2e-3)
            assert solved.y[i][1] < 60


def test_bleeders_of_a_hundred_ohms_per_volt_are_no_slow_ones() -> None:
    volts = 4500.0
    assert volts / (100 * volts) == pytest.approx(10e-3)
    assert volts**2 / (100 * volts) == pytest.approx(45)
    for farads in (4e-6, 8e-6, 32e-6):
        assert seconds_to(volts, 60, 100 * volts, farads) < 63
