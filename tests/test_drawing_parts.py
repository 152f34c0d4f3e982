"""The drawing of one part on the bench, and the symbols: every terminal has its place."""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Iterator
from pathlib import Path
from xml.etree import ElementTree

import pytest

import netdiff
from netdiff.catalogue import standard
from netdiff.circuit import Circuit, Part
from netdiff.drawing import part_svg
from netdiff.drawing.bench import angle, pins
from netdiff.drawing.ink import fragment
from netdiff.drawing.ink import svg as drawn_as
from netdiff.drawing.symbol import Symbol
from netdiff.drawing.symbols import symbol
from netdiff.language import Model
from tests.drawn import SVG, cut_off, overlaps

HERE = Path(__file__).parents[1]


def harbour() -> Circuit:
    model = netdiff.read(HERE / "netlists/harbourlight-hl45.stock")
    assert isinstance(model, Model)
    return model.circuit(model.variants()[-1])


CIRCUIT = harbour()


def one_of_each() -> Iterator[Part]:
    seen = set()
    for part in CIRCUIT.parts.values():
        key = (part.kind.name, part.kind.type, len(part.kind.terminals))
        if key not in seen:
            seen.add(key)
            yield part


def every_tube() -> list[str]:
    return sorted(standard().tube_types())


def wanted(part: Part) -> list[str]:
    names = [lug.name for lug in part.kind.terminals if not lug.tie]
    return names or [t for w in CIRCUIT.windings if w.part == part.designator for t in w.terminals] or ["1", "2"]


def assert_sound(drawn: Symbol, terminals: list[str]) -> None:
    """Every terminal has a port of its own, on the edge of the symbol on the side where lines arrive."""
    assert set(terminals) <= set(drawn.ports)
    places = [(round(port.x), round(port.y)) for port in drawn.ports.values()]
    assert len(set(places)) == len(places)
    svg = fragment([drawn_as(ink) for ink in drawn.ink], drawn.area, title="symbol")
    assert not overlaps(svg)
    for port in drawn.ports.values():
        assert port.ways in ("L", "R", "LR")
        level = [p for p in drawn.ports.values() if p is not port and abs(p.y - port.y) < 5]
        for other in level:  # a line that arrives here runs over no other port
            assert not (port.ways == "L" and other.x < port.x)
            assert not (port.ways == "R" and other.x > port.x)


@pytest.mark.parametrize("part", list(one_of_each()), ids=lambda part: part.designator)
def test_every_terminal_of_a_symbol_can_be_reached(part: Part) -> None:
    names = wanted(part)
    assert_sound(symbol(part, names, CIRCUIT.windings), names)
    turned = symbol(part, names, CIRCUIT.windings).flipped()
    assert_sound(turned, names)


@pytest.mark.parametrize("name", every_tube())
def test_every_tube_of_the_catalogue_has_a_symbol_and_a_base(name: str) -> None:
    kind = standard().tube(name)
    assert kind is not None
    part = Part("V1", kind)
    names = [lug.name for lug in kind.terminals if not lug.tie and not lug.inner]
    assert_sound(symbol(part, names), names)
    svg = part_svg(part, {names[0]})
    assert not overlaps(svg)
    assert not cut_off(svg)
    points = {g.get("data-point") for g in ElementTree.fromstring(svg).iter(f"{SVG}g")} - {None}
    assert points == {f"V1.{lug.name}" for lug in kind.terminals}


# --- the base from below ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("base", "count", "step", "first"),
    [
        # Octal: eight pins 45 degrees apart, the key between 8 and 1 (common practice; IEC 60067 has the sheet).
        ("octal", 8, 45.0, 22.5),
        # Seven-pin miniature: eight places, one left out. Noval: ten places, one left out (common practice).
        ("seven-pin miniature", 7, 45.0, 45.0),
        ("noval", 9, 36.0, 36.0),
        ("four-pin", 4, 90.0, 45.0),
    ],
)
def test_pins_stand_where_the_base_has_them(base: str, count: int, step: float, first: float) -> None:
    angles = [angle(base, count, pin) for pin in range(1, count + 1)]
    assert angles[0] == pytest.approx(first)
    assert [b - a for a, b in itertools.pairwise(angles)] == pytest.approx([step] * (count - 1))
    assert 360 - angles[-1] == pytest.approx(first)  # the same on both sides of the key or gap


def test_pins_are_counted_clockwise_seen_from_below() -> None:
    """6SJ7, octal 8N: shell 1, heater 2 and 7, suppressor 3, grid 4, cathode 5, screen 6, plate 8. Key at the foot."""
    svg = part_svg(CIRCUIT.parts["V5"])
    at = {}
    for group in ElementTree.fromstring(svg).iter(f"{SVG}g"):
        circle = group.find(f"{SVG}circle")
        if circle is not None and group.get("data-point"):
            at[str(group.get("data-point")).removeprefix("V5.")] = (
                float(circle.get("cx", "")),
                float(circle.get("cy", "")),
            )
    turns = {name: math.degrees(math.atan2(-x, y)) % 360 for name, (x, y) in at.items()}  # clockwise from six o'clock
    assert sorted(turns, key=lambda name: turns[name]) == ["sh", "h1", "g3", "g1", "k", "g2", "h2", "p"]
    assert at["sh"][0] < 0 < at["p"][0]  # pin 1 left of the key, pin 8 right of it
    assert pins(CIRCUIT.parts["V5"].kind)["4"] == "g1"


def test_marked_terminals_are_told_by_more_than_colour() -> None:
    plain, marked = part_svg(CIRCUIT.parts["V5"]), part_svg(CIRCUIT.parts["V5"], {"g1"})
    group = next(g for g in ElementTree.fromstring(marked).iter(f"{SVG}g") if g.get("data-point") == "V5.g1")
    assert group.get("class") == "terminal marked"
    assert len(list(group.iter(f"{SVG}circle"))) == 2  # ringed
    assert all(node.get("font-weight") == "bold" for node in group.iter(f"{SVG}text"))
    assert "marked" not in plain
    assert "marked: g1" in marked  # and said to people who hear the page


def test_a_strip_says_from_which_end_its_lugs_are_counted() -> None:
    svg = part_svg(CIRCUIT.parts["TB8"], {"3"}, prefix="a-")
    words = ["".join(node.itertext()) for node in ElementTree.fromstring(svg).iter(f"{SVG}text")]
    assert [word for word in words if word.isdecimal()] == ["1", "2", "3", "4", "5", "6"]
    assert any("from the marked end" in word for word in words)
    assert set(re.findall(r' id="([^"]*)"', svg)) == {"a-diagram-title", "a-diagram-says"}


@pytest.mark.parametrize("part", list(one_of_each()), ids=lambda part: part.designator)
def test_every_kind_of_part_has_a_drawing_with_all_its_terminals(part: Part) -> None:
    svg = part_svg(part, windings=CIRCUIT.windings)
    points = {g.get("data-point") for g in ElementTree.fromstring(svg).iter(f"{SVG}g")} - {None}
    assert {f"{part.designator}.{lug.name}" for lug in part.kind.terminals} <= points
    assert not cut_off(svg)
    assert not overlaps(svg)
