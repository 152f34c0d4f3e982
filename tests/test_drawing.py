"""What a diagram shows, before anything is placed: it connects what the circuits connect, and leaves nothing out."""

from __future__ import annotations

import itertools
import random
import re
from dataclasses import replace

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from netdiff.circuit import Circuit, Net, Run, Zone, part_of, terminal_of
from netdiff.comparison import Comparison, compare_circuits
from netdiff.comparison.scene import build
from netdiff.drawing import CannotDraw, graph
from netdiff.drawing.model import End, Picture
from netdiff.drawing.sheet import picture
from netdiff.drawing.style import MARKS, escape, escape_field
from netdiff.drawing.views import around, in_zone, of_modification, seen_as
from netdiff.drawing.words import clip
from netdiff.drawing.zoning import followable, homes
from netdiff.nets import Union, circuit_nets
from tests import random_circuits
from tests.circuits import as_found, circuit

LANTERN = {
    "J1": ("jack-2", None), "J2": ("coax-socket", None), "R1": ("resistor", 22e3), "R2": ("resistor", 47e3),
    "C1": ("capacitor", 1e-9), "C2": ("electrolytic", 16e-6), "C3": ("capacitor", 140e-12), "L1": ("choke", 12e-6),
    "V1": ("tube 6V6GT", None),
}  # fmt: skip
COMMON = (
    "b+ -- C2.+", "C2.- -- chassis", "b+ -- L1.1", "L1.2 -- V1.p", "b+ -- C3.1", "C3.2 -- V1.p",
    "chassis -- R2.1", "R2.2 -- V1.g1", "V1.h1 -- chassis", "V1.p -- C1.1", "b+ -- R1.1",
)  # fmt: skip
REAR = {"J1", "J2"}


def zoned(one: Circuit) -> Circuit:
    parts = {name: replace(part, zone="rear" if name in REAR else "under") for name, part in one.parts.items()}
    zones = {"rear": Zone("rear", "Rear apron"), "under": Zone("under", "Under the chassis")}
    foreign = {name: replace(part, zone="") for name, part in parts.items() if part.foreign}
    return replace(one, parts={**parts, **foreign}, zones=zones)


def lantern() -> Circuit:
    nets = (Net("chassis"), Net("b+", "supply", 250.0), Net("heater", "heater", 6.3, ac=True), Net("key"), Net("rf"))
    return zoned(
        circuit(
            LANTERN, *COMMON, "R1.2 -- V1.g2", "V1.k -- key -- J1.tip", "J1.sleeve -- chassis", "V1.h2 -- heater",
            "C1.2 -- rf", "coax C1.2 -- J2.center, cable W1, RG-58, braid chassis J2.shell", "J2.shell -- chassis",
            nets=nets, title="Lantern",
        )
    )  # fmt: skip


def attic() -> Comparison:
    """A relay in the output lead, the key jack reversed, the socket's shell loose, a resistor in series with R1."""
    stock = lantern()
    unit = circuit(
        {**LANTERN, "?K1": ("relay-spdt", None), "?R9": ("resistor", 12e3), "R1": ("resistor", 10e3)},
        *COMMON, "R1.2 -- ?R9.1", "?R9.2 -- V1.g2", "V1.k -- J1.sleeve", "J1.tip -- chassis",
        "V1.h2 -- heater -- ?K1.coil2", "chassis -- ?K1.coil1", "wire C1.2 -- ?K1.c", "wire ?K1.no -- J2.center",
        nets=stock.nets.values(), title="Attic find",
    )  # fmt: skip
    return compare_circuits(stock, as_found(zoned(unit), stock=stock))


@pytest.fixture(scope="module")
def found() -> Comparison:
    return attic()


def joined(one: Picture, side: str) -> Union:
    """What the lines of one circuit join, by terminal and by joint."""
    union = Union()
    for line in one.lines:
        if getattr(line.presence, side):
            union.join(f"{line.a.item} {line.a.terminal}", f"{line.b.item} {line.b.terminal}")
    return union


# --- the lines of either circuit connect exactly what that circuit connects ------------------------------------------


def described(runs: tuple[Run, ...], rng: random.Random, chance: float) -> tuple[Run, ...]:
    """Some of the runs as cables, some of those with a braid."""
    out: list[Run] = []
    for run in runs:
        if rng.random() < chance:
            conductor = rng.choice(["coax", "wire", "shielded", "bare"])
            run = replace(run, conductor=conductor, length=0.1, cable=f"W{len(out)}")
        out.append(run)
    return tuple(out)


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10**9), st.integers(0, 8), st.sampled_from([1.0, 1.0, 0.6]))
def test_the_picture_connects_what_the_circuits_connect(seed: int, edits: int, traced: float) -> None:
    rng = random.Random(seed)
    stock = random_circuits.circuit(rng, 14)
    unit = random_circuits.unit(stock, rng, edits, traced=traced)
    stock = replace(stock, runs=described(stock.runs, rng, 0.3))
    unit = replace(unit, circuit=replace(unit.circuit, runs=described(unit.circuit.runs, rng, 0.2)))
    comparison = compare_circuits(stock, unit)
    scene = build(stock, unit)
    shown = picture(comparison)
    nets = {
        "stock": {where: net for where, net in scene.drawn.index.items() if _terminal(shown, where)},
        "found": {
            where: net
            for where, net in scene.here.items()
            if _terminal(shown, where) and part_of(where) not in scene.missing
        },
    }
    for side, net_of in nets.items():
        union = joined(shown, side)
        for a, b in itertools.combinations(sorted(net_of), 2):
            together = union.find(_node(a)) == union.find(_node(b))
            assert together == (net_of[a] == net_of[b]), f"{side}: {a} and {b}"


def _terminal(shown: Picture, where: str) -> bool:
    box = shown.boxes.get(part_of(where))
    return box is not None and terminal_of(where) in box.terminals


def _node(where: str) -> str:
    return f"{part_of(where)} {terminal_of(where)}"


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10**9), st.integers(1, 8))
def test_no_modification_is_left_out(seed: int, edits: int) -> None:
    rng = random.Random(seed)
    stock = random_circuits.circuit(rng, 14)
    comparison = compare_circuits(stock, random_circuits.unit(stock, rng, edits))
    shown = picture(comparison)
    numbers = {n for box in shown.boxes.values() for n in box.numbers} | {n for ln in shown.lines for n in ln.numbers}
    speaking = {f.modification for f in comparison.findings if f.parts or f.terminals}
    assert numbers == {int(name.removeprefix("mod-")) for name in speaking}
    assert [entry.number for entry in shown.entries] == list(range(1, len(comparison.modifications) + 1))


def test_a_circuit_against_itself_has_nothing_to_mark() -> None:
    stock = lantern()
    shown = picture(compare_circuits(stock, as_found(stock, stock=stock)))
    assert {box.mark for box in shown.boxes.values()} | {line.mark for line in shown.lines} == {""}
    alone = picture(stock)
    for side in ("stock", "found"):
        assert {frozenset(g) for g in joined(shown, side).groups()} == {
            frozenset(g) for g in joined(alone, side).groups()
        }


def test_what_nobody_looked_at_is_dotted() -> None:
    stock = lantern()
    seen = [where for where in circuit_nets(stock).index if part_of(where) not in ("R2", "")]
    shown = picture(compare_circuits(stock, as_found(stock, stock=stock, traced=seen)))
    assert shown.boxes["R2"].mark == "unseen"
    assert MARKS["unseen"].line == "dotted"
    assert "nobody looked" in shown.notes[0]


# --- what it says ----------------------------------------------------------------------------------------------------


def test_a_ground_is_a_symbol_at_each_terminal_and_no_star() -> None:
    many = {f"R{n}": ("resistor", 1e3) for n in range(1, 101)}
    one = circuit(many, *(f"R{n}.1 -- chassis" for n in range(1, 101)), *(f"R{n}.2 -- b+" for n in range(1, 101)))
    source = graph(one).source
    assert source.count("⊥") >= 100
    assert source.count("→ b+".replace(" ", "\\ ")) >= 100
    assert not re.search(r"R\d+:t\d+ --", source)


def test_coax_is_a_double_line_with_its_length() -> None:
    one = lantern()
    one = replace(one, runs=tuple(replace(r, length=0.18) if r.conductor == "coax" else r for r in one.runs))
    source = graph(one).source
    assert "W1 RG-58 180 mm" in source
    assert re.search(r'color="#4d4d4d:white:#4d4d4d"', source)
    bare = replace(one, runs=tuple(replace(r, conductor="bare") if r.conductor == "coax" else r for r in one.runs))
    assert "bare 180 mm" in graph(bare).source
    assert ":white:" not in graph(bare).source


def test_nets_with_a_name_are_labelled_joints() -> None:
    shown = picture(lantern())
    named = {joint.text for joint in shown.joints.values() if joint.sort == "name"}
    assert named == {"key", "rf", "heater 6.3 V AC"}
    assert {joint.text: joint.detail for joint in shown.joints.values() if joint.sort == "supply"} == {"b+": "250 V"}


def test_tie_points_name_the_joint() -> None:
    one = circuit(
        {"R1": ("resistor", 1.0), "R2": ("resistor", 2.0), "TB1": ("strip", None)}, "R1.2 -- TB1.3", "R2.1 -- TB1.3"
    )
    assert [joint.text for joint in picture(one).joints.values()] == ["TB1.3"]


def test_an_unidentified_part_is_drawn_where_it_hangs(found: Comparison) -> None:
    assert homes(picture(found)).boxes["?R9"].zone == "under"


def test_a_part_hung_across_another_says_across_which() -> None:
    """Between a supply and ground, where no line leads to a neighbour, it still stands in that part's zone."""
    stock = lantern()
    parts = {**LANTERN, "?C9": ("electrolytic", 47e-6)}
    more = circuit(parts, "?C9.+ -- C2.+", "?C9.- -- chassis")
    unit = replace(stock, parts={**stock.parts, "?C9": more.parts["?C9"]}, runs=(*stock.runs, *more.runs))
    box = homes(picture(compare_circuits(stock, as_found(unit, stock=stock)))).boxes["?C9"]
    assert box.words == ("added", "across C2")
    assert box.zone == "under"


def test_differences_differ_by_more_than_colour() -> None:
    looks = [MARKS[mark] for mark in ("", "missing", "added", "changed", "unseen")]
    for first, second in itertools.combinations(looks, 2):
        assert first.line != second.line or abs(first.width - second.width) >= 1
    for style in MARKS.values():
        assert contrast(style.color, "#ffffff") >= 3  # WCAG 2.1, 1.4.11: graphical objects
        assert contrast(style.text, style.fill) >= 4.5  # WCAG 2.1, 1.4.3: text
    for first, second in itertools.combinations((MARKS["missing"], MARKS["added"], MARKS["changed"]), 2):
        # Apart in lightness too, for a black and white print.
        assert contrast(first.color, second.color) >= 1.4


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two sRGB colours as WCAG 2.1 defines it."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def luminance(color: str) -> float:
    channels = [int(color[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.03928 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


# --- views and neighbourhoods ----------------------------------------------------------------------------------------


def test_the_drawing_alone_and_the_unit_alone(found: Comparison) -> None:
    whole = picture(found)
    stock, unit = seen_as(whole, "stock"), seen_as(whole, "found")
    assert "?K1" not in stock.boxes
    assert "?K1" in unit.boxes
    assert {line.conductor for line in stock.lines} == {"", "coax"}
    assert {line.conductor for line in unit.lines} == {"", "wire"}
    assert {box.mark for box in stock.boxes.values()} == {"", "touched"}
    assert {line.mark for line in unit.lines} == {"", "added"}
    assert "22 kΩ" in stock.boxes["R1"].drawn[0]
    assert "10 kΩ" in unit.boxes["R1"].seen[0]
    for one in (stock, unit):
        reached = {end.item for line in one.lines for end in (line.a, line.b)}
        assert set(one.joints) <= reached


def test_around_a_part_shows_it_and_what_shares_a_net_with_it() -> None:
    shown = around(picture(lantern()), "C1")
    assert set(shown.boxes) == {"C1", "V1", "L1", "C3", "J2"}
    assert "Around C1" in shown.subtitle
    grid = next(joint for line in shown.lines for joint in [shown.joints.get(line.b.item)] if line.a == End("V1", "g1"))
    assert grid is not None
    assert grid.text == "R2.2"  # it says where the net goes on


def test_a_zone_shows_its_parts_and_where_its_nets_go() -> None:
    shown = in_zone(picture(lantern()), "rear")
    assert set(shown.boxes) == REAR
    assert any("V1.k" in joint.text for joint in shown.joints.values())
    assert any(line.conductor == "coax" and shown.joints[line.b.item].text == "C1.2" for line in shown.lines
               if line.a.item == "J2" and line.b.item in shown.joints)  # fmt: skip


def test_a_modification_shows_its_neighbourhood(found: Comparison) -> None:
    number = next(m.id for m in found.modifications if "?K1" in m.parts).removeprefix("mod-")
    shown = of_modification(picture(found), number)
    assert {"?K1", "C1", "J2"} <= set(shown.boxes)
    assert "R2" not in shown.boxes
    assert [entry.number for entry in shown.entries] == [int(number)]
    assert of_modification(picture(found), f"mod-{number}") == shown


@pytest.mark.parametrize(
    ("wanted", "says"),
    [
        ({"around": "V11"}, "nearest is V1"),
        ({"around": "\u202e\x00no"}, "There is no part"),
        ({"zone": "raer"}, "nearest is rear"),
        ({"modification": "9"}, "numbered 1 to"),
        ({"modification": "two"}, "There is no modification two"),
        ({"modification": "9" * 5000}, "There is no modification"),
        ({"around": "V1", "zone": "rear"}, "one of"),
    ],
)
def test_what_is_not_there_is_said(found: Comparison, wanted: dict[str, str], says: str) -> None:
    with pytest.raises(CannotDraw, match=says):
        graph(found, **wanted)  # type: ignore[arg-type]


def test_a_circuit_alone_has_no_modifications() -> None:
    with pytest.raises(CannotDraw, match="there is none"):
        graph(lantern(), modification="1")


# --- a large sheet ---------------------------------------------------------------------------------------------------


def stages(count: int) -> Circuit:
    """A chain of amplifier stages, each in a zone of its own: five parts a stage."""
    parts: dict[str, tuple[str, float | None]] = {}
    chains = []
    for n in range(1, count + 1):
        parts |= {f"V{n}": ("tube 6V6GT", None), f"C{n}": ("capacitor", 1e-8), f"R{n}": ("resistor", 470e3),
                  f"R{500 + n}": ("resistor", 270.0), f"R{700 + n}": ("resistor", 22e3)}  # fmt: skip
        chains += [
            f"C{n}.2 -- V{n}.g1", f"R{n}.1 -- V{n}.g1", f"R{n}.2 -- chassis", f"R{500 + n}.1 -- V{n}.k",
            f"R{500 + n}.2 -- chassis", f"R{700 + n}.1 -- b+", f"R{700 + n}.2 -- V{n}.p", f"V{n}.g2 -- b+",
            f"V{n}.h1 -- chassis", f"V{n}.h2 -- heater", f"V{n}.p -- C{n + 1}.1" if n < count else f"V{n}.p -- out",
        ]  # fmt: skip
    one = circuit(parts, *chains, nets=(Net("heater", "heater", 6.3, ac=True),), title="Many stages")
    zones = {f"z{n}": Zone(f"z{n}", f"Stage {n}") for n in range(1, count + 1)}
    moved = {
        name: replace(part, zone=f"z{int(re.sub('[^0-9]', '', name)) % 100 or 100}") for name, part in one.parts.items()
    }
    return replace(one, parts=moved, zones=zones)


def test_no_plain_line_crosses_the_zones_of_a_large_sheet() -> None:
    whole = homes(picture(stages(20)))
    shown = followable(whole)
    zone_of = {name: box.zone for name, box in shown.boxes.items()}
    for line in shown.lines:
        zones = {zone_of[end.item] for end in (line.a, line.b) if end.item in zone_of}
        assert len(zones) == 1
    for joint in shown.joints.values():
        reached = {zone_of[e.item] for line in shown.lines_of(joint.name) for e in (line.a, line.b) if e.terminal}
        assert joint.repeated or len(reached) == 1
    tags = {joint.text for joint in shown.joints.values()}
    assert any("C8.1" in text for text in tags)  # V7.p says where it goes on …
    assert any("V7.p" in text for text in tags)  # … and C8.1 where it comes from
    assert followable(homes(picture(lantern()))) == homes(picture(lantern()))


def test_differences_in_a_large_sheet_name_both_their_ends() -> None:
    """A cable and an added lead across the zones of a large sheet: each end says where the other is."""
    stock = stages(20)
    stock = replace(stock, runs=(*stock.runs, Run("V3.k", "V9.k", "coax", "W1")))
    unit = replace(stock, runs=(*stock.runs, Run("V5.p", "V12.p")))
    comparison = compare_circuits(stock, as_found(unit, stock=stock))
    shown = followable(homes(picture(comparison)))
    ends = {line.a.item: shown.joints[line.b.item].text for line in shown.lines if line.conductor == "coax"}
    assert ends == {"V3": "V9.k", "V9": "V3.k"}
    added = [line for line in shown.lines if line.mark == "added"]
    assert {shown.joints[line.b.item].text for line in added} & {"V5.p", "V12.p", "R705.2", "R712.2"}
    assert graph(comparison).source.count("[1] ADDED") == 2


# --- user text in DOT -------------------------------------------------------------------------------------------------


@given(st.text(max_size=200))
@example("a" * 35)
@example("\u202e\u2066")
def test_clipped_text_is_one_printable_line(text: str) -> None:
    short = clip(text)
    assert len(short) <= 34
    assert short == short.strip()
    assert all(c.isprintable() for c in short)
    assert clip(short) == short
    if text.isascii() and text.isprintable() and len(" ".join(text.split())) <= 34:
        assert short == " ".join(text.split())


@given(st.text(alphabet='{}|<>\\" &;nlrGN', max_size=20))
def test_escaped_text_reads_back(text: str) -> None:
    """Undone by the rules of DOT for labels, an escaped text is the text."""
    assert unescape(escape(text)) == text
    assert unescape(escape_field(text)) == text
    bare = re.sub(r"\\.", "", escape_field(text))
    assert not set(bare) & set("{}|<> ")
    assert not set(escape(text)) & set("<>")


def unescape(label: str) -> str:
    out = re.sub(r"\\(.)", r"\1", label)
    assert not re.search(r"&(?!amp;|lt;|gt;)", out)
    return out.replace("&lt;", "<").replace("&gt;", ">").replace("&amp;", "&")
