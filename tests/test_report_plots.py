"""Plots: what is drawn stands where its number says, is told in words too, and no text in it is markup."""

from __future__ import annotations

import math
from itertools import pairwise
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from netdiff.reporting import plots
from netdiff.reporting.plots import Curve, Discharge, Span, ticks
from tests.report_units import HOSTILE

SVG = "{http://www.w3.org/2000/svg}"
OHMS = st.floats(min_value=0.5, max_value=1e8)


def read(svg: str) -> ElementTree.Element:
    return ElementTree.fromstring(svg)


def texts(svg: str) -> list[str]:
    return [one.text or "" for one in read(svg).iter(f"{SVG}text")]


def bars(svg: str) -> list[tuple[float, float]]:
    """Left and right end of every bar but the key's."""
    rects = [one for one in read(svg).iter(f"{SVG}rect") if one.get("height") == "12"]
    ends = [(float(one.attrib["x"]), float(one.attrib["x"]) + float(one.attrib["width"])) for one in rects]
    return ends[:-1]


@given(st.floats(-1e4, 1e4), st.floats(1.0, 1e6))
def test_ticks_are_round_and_enclose_the_range(low: float, width: float) -> None:
    marks = ticks(low, low + width)
    slack = 1e-6 * (abs(low) + width)
    assert marks[0] <= low + slack and marks[-1] >= low + width - slack
    assert 2 <= len(marks) <= 8
    step = marks[1] - marks[0]
    digits = step / 10.0 ** math.floor(math.log10(step) + 1e-6)
    assert min(abs(digits - d) for d in (1, 2, 5)) < 1e-4


@given(st.lists(st.tuples(OHMS, st.floats(1.0, 10.0)), min_size=2, max_size=12))
def test_resistances_stand_in_the_order_of_their_size(values: list[tuple[float, float]]) -> None:
    spans = [Span(f"R{n}", low, low, low * times) for n, (low, times) in enumerate(values)]
    found = bars(plots.chart("ohms", spans))
    assert len(found) == len(spans)
    order = sorted(range(len(spans)), key=lambda n: spans[n].low + spans[n].high)
    for a, b in pairwise(order):
        if spans[a].low <= spans[b].low and spans[a].high <= spans[b].high:
            assert found[a][0] <= found[b][0] + 2 and found[a][1] <= found[b][1] + 2
    left, right = 190, plots.WIDTH - 130
    assert all(left - 2 <= a < b <= right + 2 for a, b in found)


def test_zero_and_open_have_places_of_their_own() -> None:
    svg = plots.chart(
        "ohms", [Span("a", 0, 0, 0.2, 0.1), Span("b", math.inf, math.inf, math.inf, 9600, True), Span("c", 9, 10, 11)]
    )
    zero, opened, ten = bars(svg)
    assert zero[0] < ten[0] - 20 and opened[0] > ten[1] + 30
    assert {"0", "open", "9.6 kΩ OFF"} <= set(texts(svg))


def test_a_value_outside_is_told_by_shape_and_by_word() -> None:
    inside = plots.chart("volts", [Span("V5.g2", 250, 270, 290, 262, False, "V")])
    outside = plots.chart("volts", [Span("V5.g2", 250, 270, 290, 310, True, "V")])
    assert inside.count("<circle") == 1 and outside.count("<circle") == 2  # one of them is the key's
    assert "310 V OFF" in texts(outside) and "262 V" in texts(inside)
    assert "outside" in (read(outside).findtext(f"{SVG}desc") or "")


def test_negative_volts_stand_left_of_zero() -> None:
    bias, plate = bars(
        plots.chart("volts", [Span("bias", -50, -45, -40, unit="V"), Span("hv", 560, 600, 640, unit="V")])
    )
    assert bias[1] < plate[0]


@pytest.mark.parametrize("tau", [0.05, 1.0, 40.0])
def test_a_discharge_crosses_the_line_when_the_formula_says(tau: float) -> None:
    """U = U0 exp(-t/RC), so it is under 60 V after RC ln(U0/60)."""
    svg = plots.discharge("charge", [Discharge("hv", 600, tau)])
    line = read(svg).find(f"{SVG}polyline")
    assert line is not None
    points = [tuple(map(float, pair.split(","))) for pair in line.attrib["points"].split()]
    (x0, y0), (x1, _) = points[0], points[-1]
    seconds = 1.25 * tau * math.log(10)  # the axis ends a quarter behind the last crossing
    bottom = 280.0
    for x, y in points:
        volts = 600 * math.exp(-(x - x0) / (x1 - x0) * seconds / tau)
        assert (bottom - y) / (bottom - y0) == pytest.approx(volts / 600, abs=0.003)
    assert f"under 60 V after {tau * math.log(10):.3g}"[:20] in (read(svg).findtext(f"{SVG}desc") or "")


def test_a_store_without_a_path_stays_up_and_says_so() -> None:
    svg = plots.discharge("charge", [Discharge("hv", 600, math.inf), Discharge("lv", 305, 1.0)])
    assert "hv (no path)" in texts(svg)
    assert "no discharge path" in (read(svg).findtext(f"{SVG}desc") or "")


def test_names_at_the_ends_of_curves_do_not_touch() -> None:
    svg = plots.discharge("charge", [Discharge(f"s{n}", 100 + n, 1.0) for n in range(5)])
    heights = sorted(float(one.attrib["y"]) for one in read(svg).iter(f"{SVG}text") if (one.text or "").startswith("s"))
    assert all(b - a >= 13.9 for a, b in pairwise(heights))


def test_a_ratio_rises_with_its_curve() -> None:
    svg = plots.ratio("swr", [Curve("wire", tuple((f * 1e6, 1 + f / 10) for f in (2, 3, 4)))])
    line = read(svg).find(f"{SVG}polyline")
    assert line is not None
    heights = [float(pair.split(",")[1]) for pair in line.attrib["points"].split()]
    assert heights == sorted(heights, reverse=True)
    assert "1.40 at 4 MHz" in (read(svg).findtext(f"{SVG}desc") or "")


def test_nothing_to_show_is_no_plot() -> None:
    assert plots.chart("x", []) == plots.discharge("x", []) == plots.ratio("x", []) == ""


@pytest.mark.parametrize("text", HOSTILE, ids=range(len(HOSTILE)))
def test_hostile_text_is_text(text: str) -> None:
    for svg in (
        plots.chart(text, [Span(text, 1, 2, 3, 4, True)]),
        plots.discharge(text, [Discharge(text, 600, 1.0)]),
        plots.ratio(text, [Curve(text, ((1e6, 1.0), (2e6, 1.5)))]),
    ):
        root = read(svg)
        assert {one.tag.removeprefix(SVG) for one in root.iter()} <= {
            "svg", "title", "desc", "text", "path", "rect", "circle", "polyline",
        }  # fmt: skip
        assert not [name for one in root.iter() for name in one.attrib if name.startswith("on")]
        assert all(len(one) <= 120 for one in texts(svg))
