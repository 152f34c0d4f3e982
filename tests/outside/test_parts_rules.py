"""What is bought, beside published rules: preferred numbers, safety classes, power, electrolytics, fuses."""

from __future__ import annotations

import math

import eseries
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from netdiff.catalogue import standard
from netdiff.circuit import Part
from netdiff.worklist.buying import Seen, choose, today
from netdiff.worklist.mains import Position
from netdiff.worklist.wanted import table


def part(name: str, line: str) -> Part:
    kind, *words = line.split()
    made = standard().make(kind, words)
    assert made.kind is not None, made.trouble
    return Part(name, made.kind, made.value, made.span, made.ratings, made.tolerance, made.words)


# IEC 60063, by the eseries library.
SERIES = {name: eseries.ESeries[name] for name in ("E12", "E24", "E96")}


@given(st.floats(1.0, 1e7), st.sampled_from([0.01, 0.05, 0.1, 0.2]))
def test_a_bought_resistor_is_a_preferred_number_and_the_nearest_of_its_series(ohms: float, tolerance: float) -> None:
    one = today(ohms, tolerance, "resistor")
    nearest = eseries.find_nearest(SERIES[one.series], ohms)
    assert math.isclose(abs(one.value - ohms), abs(nearest - ohms), rel_tol=1e-6, abs_tol=ohms * 1e-6)
    assert math.isclose(one.value, eseries.find_nearest(SERIES[one.series], one.value), rel_tol=1e-6)


@given(st.floats(1.0, 1e7), st.sampled_from([0.1, 0.2]))
def test_a_preferred_number_is_always_within_an_old_tolerance(ohms: float, tolerance: float) -> None:
    """E24 steps are about 10 %: the nearest is never further off than 5 % and a little."""
    assert abs(today(ohms, tolerance, "resistor").off) <= tolerance


# Old values beside the nearest of E12 and E24, computed with the eseries library; a drawing's 20 % leaves room for E12.
@pytest.mark.parametrize(
    ("drawn", "bought"),
    [(0.05e-6, 0.047e-6), (0.02e-6, 0.022e-6), (0.01e-6, 0.01e-6), (0.5e-6, 0.47e-6), (500e-12, 470e-12)],
)
def test_old_capacitor_values(drawn: float, bought: float) -> None:
    assert math.isclose(today(drawn, 0.2, "capacitor").value, bought, rel_tol=1e-9)


# IEC 60384-14: class X where a failure exposes nobody to a shock (across the line), class Y where it could (line to
# accessible metal); the definition as in a draft of the standard on an engineering mailing list.
def test_classes_of_line_capacitors() -> None:
    across = choose(part("C1", "capacitor .05u 400V paper"), position=Position(False, 117, 60))
    metal = choose(part("C1", "capacitor .01u 1600V paper"), position=Position(True, 115, 60))
    assert (across.spec.words, metal.spec.words) == (("X2",), ("Y2",))
    assert all(one.spec.volts_ac and one.spec.volts_ac >= 117 and one.spec.volts is None for one in (across, metal))
    assert choose(part("C1", "capacitor .05u 400V"), position=Position(False, 230, 50)).spec.volts_ac == 275
    # elsewhere no class is asked for
    assert choose(part("C1", "capacitor .05u 400V paper")).spec.words == ("film",)


# Leakage check of service manuals: 0.75 V across 1500 ohms, that is 0.5 mA, the most from exposed metal to earth.
@given(st.floats(1e-9, 1e-6), st.sampled_from([(115.0, 60.0), (117.0, 60.0), (230.0, 50.0)]))
@example(1.133837666698936e-08, (117.0, 60.0))
def test_no_capacitor_to_metal_passes_more_than_may_leak(farads: float, mains: tuple[float, float]) -> None:
    volts, hertz = mains
    one = choose(part("C1", f"capacitor {farads * 1e12:.0f}p 400V"), position=Position(True, volts, hertz))
    current = 2 * math.pi * hertz * (one.spec.value or 0) * volts
    drawn = 2 * math.pi * hertz * farads * volts
    assert current <= 0.5e-3 * 1.001
    assert bool(one.notes) == (drawn > 0.5e-3 * 1.001)


# Rated watts twice the dissipated ones: rule of thumb, equal to the 50 % rows of resistor derating tables in the manner
# of NSWC Crane SD-18.
@given(st.floats(0.01, 40.0), st.sampled_from([0.5, 1.0, 2.0, 10.0, 25.0]))
def test_a_resistor_is_loaded_to_half_of_its_rating_at_the_most(dissipated: float, rated: float) -> None:
    one = choose(part("R1", f"resistor 10k {rated:g}W"), Seen(None, dissipated)).spec
    assert one.watts is not None
    assert one.watts >= max(2 * dissipated, rated) * 0.999
    assert one.watts in table("parts")["ratings"]["resistor_watts"]["rows"]
    told = choose(part("R1", f"resistor 10k {rated:g}W"), Seen(None, dissipated)).notes
    assert bool(told) == (2 * dissipated > rated * 1.001)


# A capacitor maker's guide: rated volts above d.c. and peak ripple together. IEC 60384-4 (from memory): surge 1.15
# times the rating up to 315 V, 1.10 above.
@given(st.floats(1.0, 440.0), st.sampled_from([25, 50, 150, 350, 450]))
def test_an_electrolytic_is_rated_above_what_it_sees(seen: float, rated: int) -> None:
    one = choose(part("C1", f"electrolytic 20u {rated}V"), Seen(seen)).spec
    assert one.volts is not None
    assert one.volts > seen
    assert one.volts >= rated * 0.999


def test_beyond_what_is_made_two_go_in_series() -> None:
    one = choose(part("C1", "electrolytic 8u 600V"), Seen(520.0))
    assert any("in series" in note for note in one.notes)


# -20/+100 %: what old electrolytics were sold to, common practice.
@pytest.mark.parametrize(
    ("drawn", "bought"), [(8, 10), (16, 22), (20, 22), (25, 22), (30, 33), (40, 47), (50, 47), (100, 100), (500, 470)]
)
def test_an_electrolytic_is_replaced_by_the_same_or_the_next_value(drawn: float, bought: float) -> None:
    one = choose(part("C1", f"electrolytic {drawn}u 450V"))
    assert math.isclose(one.spec.value or 0, bought * 1e-6, rel_tol=1e-6)
    assert one.within


# A rectifier tube's greatest first capacitor stands in tube manuals; no more is bought than that and the drawing allow.
def test_the_rectifiers_limit_is_told() -> None:
    one = choose(part("C1", "electrolytic 16u 450V"), most=20e-6)
    assert any("rectifier takes 20 µF" in note for note in one.notes) == ((one.spec.value or 0) > 20e-6)
    assert (one.spec.value or 0) <= 20e-6 or one.notes


# UL 248-14 and every fuse maker: never a higher rating than the drawing's.
def test_a_fuse_is_the_drawings_fuse() -> None:
    one = choose(part("F1", "fuse 5A 250V slow"))
    assert (one.spec.value, one.spec.volts, one.spec.words) == (5.0, 250.0, ("slow",))
    assert any("Never a higher rating" in note for note in one.notes)
