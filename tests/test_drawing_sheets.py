"""Diagrams as SVG: everything that differs is said and seen, nothing lies on anything, user text is text."""

from __future__ import annotations

import random
import re
import time
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import pytest

import netdiff
from netdiff.circuit import Circuit, Run, Zone
from netdiff.comparison import Comparison, compare_circuits
from netdiff.drawing import CannotDraw, draw, modification_svg, modification_svgs, overview_svg
from netdiff.drawing.assemble import Assembly
from netdiff.drawing.figure import figures, packed
from netdiff.drawing.ink import measure, wrapped
from netdiff.drawing.model import Picture
from netdiff.drawing.overview import zones_of
from netdiff.drawing.sheet import picture
from netdiff.drawing.words import clip
from netdiff.drawing.zoning import homes
from netdiff.language import Model, Unit
from tests import random_circuits
from tests.bench.drawings import random_units
from tests.circuits import as_found, circuit
from tests.drawn import FONTS, SVG, clashes, cut_off, labels, overlaps, struck, width
from tests.test_drawing import attic

HERE = Path(__file__).parents[1]


@pytest.fixture(scope="module")
def found() -> Comparison:
    return attic()


@pytest.fixture(scope="module")
def harbour() -> Comparison:
    unit = netdiff.read(HERE / "examples/harbourlight-0417.found")
    assert isinstance(unit, Unit)
    return netdiff.compare(unit)


@pytest.fixture(scope="module")
def drawn(harbour: Comparison) -> list[str]:
    """Every modification of the demo."""
    return modification_svgs(harbour)


def texts(svg: str | bytes) -> list[str]:
    return [label.text for label in labels(svg if isinstance(svg, str) else svg.decode())]


def panels(svg: str) -> dict[str, ElementTree.Element]:
    return {
        group.get("class", "").split(" ")[1]: group
        for group in ElementTree.fromstring(svg).iter(f"{SVG}g")
        if group.get("class", "").startswith("panel ")
    }


def classes(root: ElementTree.Element) -> set[str]:
    return {word for group in root.iter(f"{SVG}g") for word in group.get("class", "").split()}


def words_in(root: ElementTree.Element) -> str:
    return " | ".join("".join(node.itertext()) for node in root.iter(f"{SVG}text"))


# --- one modification: as drawn and as found --------------------------------------------------------------------------


def number_of(comparison: Comparison, part: str) -> str:
    return next(m.id for m in comparison.modifications if part in m.parts or part in m.title)


def test_both_panels_say_what_was_done(found: Comparison) -> None:
    """The relay in the output lead: the coax is in the one panel, the relay and two pieces of wire in the other."""
    sides = panels(modification_svg(found, number_of(found, "?K1")))
    assert "W1 RG-58" in words_in(sides["stock"])
    assert "NOT IN THE UNIT" in words_in(sides["stock"])
    assert "braid on chassis" in words_in(sides["stock"])
    assert "?K1" not in words_in(sides["stock"])
    assert "?K1" in words_in(sides["found"])
    assert "INSERTED" in words_in(sides["found"])
    assert "RG-58" not in words_in(sides["found"])
    assert {"touched"} <= classes(sides["stock"])
    assert {"added", "missing"} <= classes(sides["found"])


def test_every_kind_of_difference_of_the_demo_is_said_in_words(harbour: Comparison, drawn: list[str]) -> None:
    says = {
        "?C1": "ACROSS C56A", "F2": "BYPASSED", "J6": "OTHER PART", "C61": "REVERSED", "R52": "MOVED TO HERE",
        "L10": "MISSING", "V5.sh": "GROUND LOST", "J4.3": "ADDED", "TB3.3": "OTHER WIRE", "F1": "OTHER VALUE",
        "C29": "LOWER RATING", "R17": "charred", "C20.2": "WRONG LUG", "Y1": "EXCHANGED", "braid": "BRAID OPEN",
        "CR1": "OTHER CONSTRUCTION", "R18": "measured 46", "R30": "SUBSTITUTED", "?A1": "INSERTED",
    }  # fmt: skip
    for about, word in says.items():
        titles = [m for m in harbour.modifications if about in m.title.split() or about in m.title or about in m.parts]
        assert titles, about
        shown = [drawn[harbour.modifications.index(one)] for one in titles]
        assert any(word in " | ".join(texts(svg)) for svg in shown), (about, word)


def test_the_lug_that_is_wanted_and_the_lug_that_is_used_are_named(harbour: Comparison, drawn: list[str]) -> None:
    at = next(i for i, m in enumerate(harbour.modifications) if "C20.2" in m.title)
    sides = panels(drawn[at])
    assert "E3.1" in words_in(sides["stock"])
    assert "E4.1" in words_in(sides["found"])
    assert "E4.1" not in words_in(sides["stock"])


def test_the_same_parts_stand_in_the_same_places(drawn: list[str]) -> None:
    for svg in drawn:
        sides = panels(svg)
        heads = {side: _heads(root) for side, root in sides.items()}
        both = heads["stock"].keys() & heads["found"].keys()
        shifts = {
            (
                round(heads["found"][n][0] - heads["stock"][n][0], 1),
                round(heads["found"][n][1] - heads["stock"][n][1], 1),
            )
            for n in both
        }
        assert len(shifts) <= 1, svg[:200]


def _heads(root: ElementTree.Element) -> dict[str, tuple[float, float]]:
    """Where each part's designator stands."""
    out = {}
    for group in root.iter(f"{SVG}g"):
        name = group.get("data-part")
        for node in group.iter(f"{SVG}text"):
            if name and "".join(node.itertext()) == name:
                out[name] = float(node.get("x", "0")), float(node.get("y", "0"))
    return out


def test_parts_and_conductors_can_be_found_by_a_page(found: Comparison) -> None:
    svg = modification_svg(found, number_of(found, "?K1"), prefix="p-")
    root = ElementTree.fromstring(svg)
    parts = {g.get("data-part") for g in root.iter(f"{SVG}g") if g.get("class", "").startswith("part")}
    assert {"?K1", "C1", "J2"} <= parts
    points = {p for g in root.iter(f"{SVG}g") for p in g.get("data-points", "").split()}
    assert {"?K1.c", "?K1.no", "C1.2", "J2.center"} <= points
    ids = [node.get("id") for node in root.iter() if node.get("id")]
    assert len(ids) == len(set(ids)) == 2
    assert all(str(name).startswith("p-") for name in ids)
    assert root.find(f"{SVG}title") is not None
    assert root.find(f"{SVG}desc") is not None


def test_ids_differ_between_the_diagrams_of_a_page(found: Comparison) -> None:
    every = [i for svg in modification_svgs(found, prefix="x-") for i in re.findall(r' id="([^"]*)"', svg)]
    assert len(every) == len(set(every)) == 2 * len(found.modifications)


def test_a_fragment_takes_the_colours_of_its_page_and_a_file_has_paper(found: Comparison) -> None:
    svg = modification_svg(found, "1")
    assert "currentColor" in svg
    assert "<rect" not in svg
    assert b'fill="#ffffff"' in draw(found, modification="1")


def test_one_side_alone(found: Comparison) -> None:
    number = number_of(found, "?K1")
    stock, unit = (draw(found, modification=number, view=view) for view in ("stock", "found"))  # type: ignore[arg-type]
    assert "?K1" not in texts(stock)
    assert any("RG-58" in text for text in texts(stock))
    assert any(text == "?K1" for text in texts(unit))
    assert not any("RG-58" in text for text in texts(unit))


def test_what_names_nothing_to_draw_is_left_out_or_told(found: Comparison) -> None:
    other = replace(found.modifications[0], id="mod-5", title="something about the cabinet", findings=())
    more = replace(found, modifications=(*found.modifications, other))
    assert modification_svgs(more)[-1] == ""
    with pytest.raises(CannotDraw, match="nothing to draw"):
        modification_svg(more, "mod-5")


# --- the whole --------------------------------------------------------------------------------------------------------


def test_the_overview_has_every_zone_part_and_modification(harbour: Comparison) -> None:
    svg = overview_svg(harbour)
    words = texts(svg)
    for zone in harbour.stock.zones.values():
        assert zone.title in words
    strips = {name for name, part in harbour.stock.parts.items() if part.kind.family == "strip"}
    heads = {head for text in words for head in text.split(" / ")}
    assert set(harbour.stock.parts) - strips <= heads
    for number, one in enumerate(harbour.modifications, 1):
        assert any(text.startswith(f"{number}  ") and one.title[:60] in text for text in words)
        assert str(number) in words  # in its ring


def test_the_overview_has_the_shape_of_a_sheet(harbour: Comparison) -> None:
    wide, high = map(float, re.findall(r'width="([\d.]+)" height="([\d.]+)"', overview_svg(harbour))[0])
    assert 0.9 < wide / high < 1.8  # A4 lying: 1.41


def test_a_small_unit_is_one_drawing_with_its_values(found: Comparison) -> None:
    words = texts(draw(found))
    for word in ("10 kΩ", "0.001 µF", "ADDED", "REVERSED"):
        assert any(word in text for text in words), word
    assert {modification.title for modification in found.modifications} <= {t.split("  ", 1)[-1] for t in words}


@pytest.mark.parametrize("name", ["netlists/lantern.stock", "netlists/five-tube-acdc.stock"])
def test_a_circuit_alone(name: str) -> None:
    model = netdiff.read(HERE / name)
    assert isinstance(model, Model)
    one = model.circuit(model.variants()[0])
    svg = draw(one).decode()
    strips = {name for name, part in one.parts.items() if part.kind.family == "strip"}
    assert set(one.parts) - strips <= set(texts(svg))
    assert not overlaps(svg)
    assert not cut_off(svg)
    assert not {"added", "missing", "changed", "touched"} & classes(ElementTree.fromstring(svg))


def test_around_a_part_and_a_zone(harbour: Comparison) -> None:
    near = draw(harbour, around="V3").decode()
    assert {"V3", "R11", "C20"} <= set(texts(near))
    assert set(panels(near)) == {"stock", "found"}
    zone = draw(harbour, zone="control").decode()
    assert {"K1 (part)", "K2", "S3"} <= set(texts(zone))
    assert "V3" not in texts(zone)
    for svg in (near, zone):
        assert not overlaps(svg)
        assert not cut_off(svg)


# --- readable ---------------------------------------------------------------------------------------------------------


def assert_readable(svg: str) -> None:
    assert overlaps(svg) == []
    assert cut_off(svg) == []
    assert struck(svg) == []


def test_no_word_of_the_demo_lies_on_another_or_is_cut_off(harbour: Comparison, drawn: list[str]) -> None:
    assert len(drawn) == len(harbour.modifications)
    for svg in (*drawn, overview_svg(harbour)):
        assert_readable(svg)


def test_no_word_lies_on_another_in_random_units() -> None:
    for _, comparison in random_units(4, 11):
        for svg in (*modification_svgs(comparison), overview_svg(comparison)):
            if svg:
                assert_readable(svg)


def test_lines_that_are_not_joined_never_look_joined() -> None:
    """No piece of a line lies on a piece of a line of another net, on either side."""
    sheets: list[Picture] = []
    for seed in range(6):
        rng = random.Random(seed)
        stock = random_circuits.circuit(rng, 24)
        sheets.append(picture(compare_circuits(stock, random_circuits.unit(stock, rng, 6))))
    for _, comparison in random_units(3, 12):
        sheets += zones_of(homes(picture(comparison))).values()
    for figure in figures([Assembly(sheet) for sheet in sheets]):
        for side in ("stock", "found"):
            assert clashes(figure, side) == []


def test_a_modification_is_drawn_in_well_under_a_second(harbour: Comparison) -> None:
    """All of them together, so that a busy machine does not matter; the start of the layout is within."""
    begun = time.process_time()
    count = len(modification_svgs(harbour))
    assert (time.process_time() - begun) / count < 0.2


def test_words_are_measured_as_the_font_has_them() -> None:
    if not FONTS.exists():
        pytest.skip("the font is not on this machine")
    for text in ("R12", "0.001 µF 1200 V", "“hung across the old can”", "GROUND LOST", "→ ?K1.coil2", "22 kΩ ±10 %"):
        for bold in (False, True):
            assert measure(text, 10, bold) >= width(text, 10, bold) - 0.5
            assert measure(text, 10, bold) <= 1.12 * width(text, 10, bold)


def test_lines_of_text_keep_to_their_room() -> None:
    text = "an unidentified relay inserted in the radio-frequency lead " * 3
    lines = wrapped(text, 9, 200)
    assert " ".join(lines) == text.strip()
    assert max(measure(line, 9) for line in lines) <= 200


def test_rectangles_are_packed_apart() -> None:
    rng = random.Random(5)
    for count in (0, 1, 7, 40):
        sizes = [(rng.uniform(5, 300), rng.uniform(5, 200)) for _ in range(count)]
        spots, wide, high = packed(sizes, 1.4, 6)
        for i, ((x, y), (w, h)) in enumerate(zip(spots, sizes, strict=True)):
            assert 0 <= x <= x + w <= wide + 0.01
            assert 0 <= y <= y + h <= high + 0.01
            for (u, v), (k, m) in list(zip(spots, sizes, strict=True))[:i]:
                assert x + w + 5.9 < u or u + k + 5.9 < x or y + h + 5.9 < v or v + m + 5.9 < y


# --- user text is data ------------------------------------------------------------------------------------------------

HOSTILE = [
    '"] ; V9 [label="x', "a\\nb\\lc\\Gd\\N", "trailing backslash\\", "\\", "{a|b|<c> d}", "<b>bold</b>",
    "<<i>html</i>>",
    "<TABLE><TR><TD>x</TD></TR></TABLE>", "</text><script>alert(1)</script>", "&lt;script&gt; &amp; &#60; &copy; & co",
    "]]><!-- --><![CDATA[", "javascript:alert(1)", "%n%s\\E\\T\\H\\L", "' onload='alert(1)", "line\none\r\n\ttwo",
    "nul \x00 bell \x07 escape \x1b[31m", "\u202egnp.exe\u2066 \u200f\ufeff", "😀 naïve Ω µ 漢字 नि", "\ud800 lone",
    "x" * 10_000, '"' * 10_000, "//comment", "/* comment */", "#line", "${HOME} $(ls) `ls`", "  ", "…", "-->",
    "R1:t0:n",
]  # fmt: skip


def labelled(words: list[str]) -> Circuit:
    """A circuit with each text as a label, a zone title, a cable, a cable type, a condition and a construction word."""
    one = circuit(
        {f"R{n}": ("resistor", 1e3) for n in range(1, len(words) + 1)},
        *(f"R{n}.2 -- R{n + 1}.1" for n in range(1, len(words))),
    )
    parts = {
        f"R{n}": replace(one.parts[f"R{n}"], label=word, zone=f"z{n}", conditions=(word,))
        for n, word in enumerate(words, 1)
    }
    zones = {f"z{n}": Zone(f"z{n}", word) for n, word in enumerate(words, 1)}
    runs = tuple(
        replace(run, conductor="coax", cable=word, cable_type=word, text=word, braid=(word, "open"))
        for run, word in zip(one.runs, words, strict=False)
    )
    return replace(one, title=words[0], drawing=words[-1], parts=parts, zones=zones, runs=runs)


def assert_harmless(svg: bytes) -> None:
    root = ElementTree.fromstring(svg)
    tags = {node.tag.removeprefix(SVG) for node in root.iter()}
    assert tags <= {"svg", "g", "title", "desc", "path", "circle", "rect", "text"}
    for node in root.iter():
        for name in node.attrib:
            assert "href" not in name
            assert not name.lower().startswith("on")
            assert name != "style"
    assert b"<!" not in svg
    assert set(re.findall(rb"https?://[^\"'<> ]*", svg)) <= {b"http://www.w3.org/2000/svg"}
    steering = "\u202e\u2066\u200f\ufeff\x00\x1b"
    assert not set(svg.decode()) & set(steering)


def test_hostile_text_comes_out_as_text() -> None:
    one = labelled(HOSTILE)
    svg = draw(one)
    assert_harmless(svg)
    shown = " | ".join(texts(svg))
    for word in HOSTILE:
        assert clip(word, 20).rstrip("…") in shown, word
    assert max(map(len, texts(svg))) <= 160
    parts = {g.get("data-part") for g in ElementTree.fromstring(svg).iter(f"{SVG}g")} - {None}
    assert parts == set(one.parts)
    assert not overlaps(svg.decode())
    assert not cut_off(svg.decode())


def test_hostile_text_in_a_unit_comes_out_as_text() -> None:
    stock = labelled(HOSTILE)
    parts = {
        name: replace(part, value=9e9, conditions=(*part.conditions, HOSTILE[7])) for name, part in stock.parts.items()
    }
    runs = tuple(run for number, run in enumerate(stock.runs) if number % 3)
    more = tuple(Run(f"R{n}.1", f"R{n}.2", text=word) for n, word in enumerate(HOSTILE, 1))
    unit = replace(stock, title=HOSTILE[5], parts=parts, runs=(*runs, *more))
    comparison = compare_circuits(stock, as_found(unit, stock=stock))
    for svg in (*modification_svgs(comparison), overview_svg(comparison)):
        if svg:
            assert_harmless(svg.encode())
            assert not cut_off(svg)


def test_hostile_names_come_out_as_text() -> None:
    """Designators and nets cannot look like this in a file; a circuit made by a program could."""
    evil = 'R1"];x[label="'
    one = circuit(
        {"R1": ("resistor", 1e3), "R2": ("resistor", 1e3)}, "R1.1 -- R2.1", "R1.2 -- net<b>\\", "R2.2 -- chassis"
    )
    parts = {evil: replace(one.parts["R1"], designator=evil), "R2": one.parts["R2"]}
    runs = tuple(
        replace(run, a=run.a.replace("R1.", f"{evil}."), b=run.b.replace("R1.", f"{evil}.")) for run in one.runs
    )
    svg = draw(replace(one, parts=parts, runs=runs))
    assert_harmless(svg)
    assert evil in texts(svg)
    assert any("net<b>" in text for text in texts(svg))


def test_hostile_modification_titles_come_out_as_text(found: Comparison) -> None:
    bad = '\\N"<b>&amp;{x}'
    other = replace(found, modifications=tuple(replace(m, title=bad) for m in found.modifications))
    svg = draw(other)
    assert_harmless(svg)
    assert sum(text.endswith(bad) for text in texts(svg)) == len(found.modifications)
    assert any(text.endswith(bad) for text in texts(draw(other, modification="1")))
    assert_harmless(modification_svg(other, "1").encode())


def test_empty_circuits_are_drawn() -> None:
    empty = Circuit("nothing", "nothing.stock")
    assert "nothing" in texts(draw(empty))
    nothing = compare_circuits(empty, as_found(empty, stock=empty))
    assert "nothing" in texts(draw(nothing))
    assert modification_svgs(nothing) == []
