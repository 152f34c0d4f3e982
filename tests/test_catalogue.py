"""The catalogue: every kind, every tube, every word after a kind."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

import netdiff.catalogue.catalogue as module
from netdiff.catalogue import Catalogue, Made, standard
from netdiff.catalogue.describe import describe, listing, nearest_name
from netdiff.catalogue.plain import Faults, Spot, read_text
from netdiff.circuit import Contact, Kind

FOLDER = Path(module.__file__).parent


def make(line: str, *, m_thousand: bool = False) -> Made:
    kind, *words = line.split()
    return standard().make(kind, words, m_thousand=m_thousand)


def kind_of(line: str) -> Kind:
    made = make(line)
    assert made.kind is not None, made.trouble
    return made.kind


def terminals(line: str) -> str:
    return " ".join(lug.name for lug in kind_of(line).terminals)


# --- kinds

TERMINALS = {
    "resistor": "1 2", "potentiometer": "ccw arm cw", "rheostat": "1 2", "slider-resistor": "1 tap 2",
    "capacitor": "1 2", "electrolytic": "+ -", "variable": "1 2", "trimmer": "1 2", "feed-through": "1 2 case",
    "coil": "1 2", "choke": "1 2", "tapped-coil": "", "transformer": "", "diode": "a k", "rectifier": "a k",
    "bridge": "ac1 ac2 + -", "crystal": "1 2", "jack-2": "tip sleeve", "jack-3": "tip ring sleeve",
    "jack-2-break": "tip sleeve break", "jack-3-break": "tip ring sleeve break", "mic-socket-1": "1 shell",
    "mic-socket-4": "1 2 3 4 shell", "coax-socket": "center shell", "phono-socket": "center shell",
    "octal-socket": "1 2 3 4 5 6 7 8", "octal-plug": "1 2 3 4 5 6 7 8", "connector 3": "1 2 3 shell",
    "plug 2": "1 2 shell", "cord-2": "L N", "cord-3": "L N E", "inlet-2": "L N", "inlet-3": "L N E",
    "outlet-2": "L N", "outlet-3": "L N E", "fuse": "1 2", "lamp": "1 2", "neon": "1 2", "meter": "+ -",
    "rf-meter": "1 2", "shunt": "1 2", "switch-spst": "1 2", "switch-spdt": "c 1 2", "switch-dpst": "a1 a2 b1 b2",
    "switch-dpdt": "ca a1 a2 cb b1 b2", "switch-3pdt": "ca a1 a2 cb b1 b2 cc c1 c2",
    "switch-4pdt": "ca a1 a2 cb b1 b2 cc c1 c2 cd d1 d2", "rotary 1x4": "c 1 2 3 4",
    "rotary 2x3": "ca a1 a2 a3 cb b1 b2 b3", "pushbutton": "1 2", "interlock": "1 2", "relay-spst": "coil1 coil2 c no",
    "relay-spdt": "coil1 coil2 c no nc", "relay-dpst": "coil1 coil2 ca noa cb nob",
    "relay-dpdt": "coil1 coil2 ca noa nca cb nob ncb", "relay-3pdt": "coil1 coil2 ca noa nca cb nob ncb cc noc ncc",
    "relay-4pdt": "coil1 coil2 ca noa nca cb nob ncb cc noc ncc cd nod ncd", "delay-relay": "h1 h2 c no",
    "strip": "", "strip 3": "1 2 3", "board 2": "1 2", "ground-lug": "1", "speaker": "1 2", "phones": "1 2",
    "motor": "1 2", "thermistor": "1 2", "battery": "+ -", "loop": "1 2", "block in out gnd": "in out gnd",
    "unknown": "",
}  # fmt: skip


@pytest.mark.parametrize(("line", "wanted"), TERMINALS.items())
def test_terminals(line: str, wanted: str) -> None:
    assert terminals(line) == wanted


def test_every_kind_is_looked_at() -> None:
    mics = {"mic-socket-2", "mic-socket-3"}
    assert {line.split()[0] for line in TERMINALS} | mics | {"tube"} == set(standard().names())


@pytest.mark.parametrize("line", ["tapped-coil", "transformer", "strip", "unknown"])
def test_kinds_that_take_any_terminal(line: str) -> None:
    assert kind_of(line).any_terminal
    assert not kind_of("strip 3").any_terminal


@pytest.mark.parametrize(
    ("line", "name", "wanted"),
    [
        ("potentiometer", "2", "arm"),
        ("coax-socket", "centre", "center"),
        ("cord-3", "PE", "E"),
        ("rectifier", "+", "k"),
    ],
)
def test_aliases(line: str, name: str, wanted: str) -> None:
    lug = kind_of(line).lug(name)
    assert lug is not None
    assert lug.name == wanted


@pytest.mark.parametrize("line", [*TERMINALS, *(f"tube {name}" for name in standard().tube_types())])
def test_a_kind_holds_together(line: str) -> None:
    kind = kind_of(line)
    names = [lug.name for lug in kind.terminals]
    answers = [name for lug in kind.terminals for name in (lug.name, *lug.aliases)]
    assert len(set(answers)) == len(answers), "two terminals answer to one name"
    used = [*(kind.ends or ()), *kind.shared]
    used += [name for swap in kind.swaps for side in swap for name in side]
    used += [name for group in kind.inside for name in group]
    used += [name for contact in kind.contacts for name in (contact.a, contact.b)]
    assert set(used) <= set(names)
    for first, second in kind.swaps:
        assert len(first) == len(second)
        assert not set(first) & set(second)
    for contact in kind.contacts:
        assert contact.positions <= set(kind.positions)
    assert not (kind.polarised and any(set(kind.ends or ()) == {*a, *b} for a, b in kind.swaps))


def test_every_kind_says_from_where_it_comes() -> None:
    rows = [standard().row(name) for name in standard().names()]
    assert all(row is not None and row.source and row.title for row in rows)


@pytest.mark.parametrize(
    ("line", "swap"),
    [
        ("resistor", (("1",), ("2",))),
        ("relay-dpdt", (("ca", "noa", "nca"), ("cb", "nob", "ncb"))),
        ("relay-dpdt", (("coil1",), ("coil2",))),
        ("rotary 3x2", (("ca", "a1", "a2"), ("cc", "c1", "c2"))),
        ("tube 6SN7GT", (("g1a", "ka", "pa"), ("g1b", "kb", "pb"))),
        ("tube 6SN7GT", (("h1",), ("h2",))),
        ("tube 5U4G", (("pa",), ("pb",))),
        ("tube 832A", (("g1a", "pa"), ("g1b", "pb"))),
    ],
)
def test_what_is_interchangeable(line: str, swap: tuple[tuple[str, ...], tuple[str, ...]]) -> None:
    assert swap in kind_of(line).swaps


@pytest.mark.parametrize("line", ["electrolytic", "diode", "meter", "battery", "jack-2", "cord-2", "switch-spdt"])
def test_what_is_not(line: str) -> None:
    assert kind_of(line).swaps == ()


@pytest.mark.parametrize("name", ["35Z5GT", "35W4", "5V4G"])
def test_a_heater_whose_ends_differ(name: str) -> None:
    """The tap lies near one end, or the cathode is on one: the ends are not interchangeable."""
    assert all("h1" not in (*a, *b) for a, b in kind_of(f"tube {name}").swaps)


def closed(line: str, position: str) -> set[str]:
    kind = kind_of(line)
    assert position in kind.positions
    return {f"{contact.a}/{contact.b}" for contact in kind.contacts if position in contact.positions}


@pytest.mark.parametrize(
    ("line", "position", "wanted"),
    [
        ("switch-spst", "off", ""), ("switch-spst", "on", "1/2"), ("switch-spdt", "2", "c/2"),
        ("switch-dpst", "on", "a1/a2 b1/b2"), ("switch-dpdt", "1", "ca/a1 cb/b1"), ("rotary 2x3", "3", "ca/a3 cb/b3"),
        ("rotary 1x3", "2", "c/2"), ("relay-spdt", "off", "c/nc"), ("relay-dpdt", "on", "ca/noa cb/nob"),
        ("relay-dpst", "off", ""), ("interlock", "closed", "1/2"), ("interlock", "open", ""),
        ("jack-2", "open", ""), ("jack-2", "closed", "tip/sleeve"), ("jack-2-break", "open", "tip/break"),
        ("jack-2-break", "closed", "tip/sleeve"), ("jack-2-break", "plugged", ""),
        ("jack-3-break", "open", "tip/break"), ("delay-relay", "on", "c/no"), ("pushbutton", "on", "1/2"),
    ],
)  # fmt: skip
def test_contacts(line: str, position: str, wanted: str) -> None:
    assert closed(line, position) == set(wanted.split())


@pytest.mark.parametrize(
    ("line", "rest"),
    [("switch-spst", "off"), ("relay-4pdt", "off"), ("interlock", "closed"), ("jack-3", "open"), ("rotary 1x9", "1"),
     ("tube 807", "in"), ("fuse", "in")],
)  # fmt: skip
def test_position_at_rest(line: str, rest: str) -> None:
    assert kind_of(line).positions[0] == rest


@pytest.mark.parametrize(
    ("line", "hangs"),
    [("resistor", True), ("capacitor", True), ("electrolytic", True), ("electrolytic can", False), ("diode", True),
     ("capacitor bathtub", False), ("tube 807", False), ("transformer", False), ("jack-2", False), ("strip 3", False),
     ("switch-spst", False), ("relay-spst", False), ("coax-socket", False), ("choke", False)],
)  # fmt: skip
def test_what_hangs_by_its_leads(line: str, hangs: bool) -> None:
    assert kind_of(line).hangs is hangs


def test_what_plugs_in() -> None:
    assert {line.split()[0] for line in [*TERMINALS, "tube 807"] if kind_of(line).plugs} == {
        "tube", "crystal", "fuse", "lamp", "neon",
    }  # fmt: skip


def test_the_same_words_give_the_same_kind() -> None:
    one, other = make("resistor 20k 10W"), make("resistor 47k wirewound")
    assert one.kind is other.kind
    assert kind_of("tube 6v6gt") is kind_of("tube 6V6-GT") is kind_of("tube 6V6GT")
    assert kind_of("rotary 2x6") is not kind_of("rotary 2x5")
    assert make("resistor 20k 10W") is make("resistor 20k 10W")


# --- tubes


def test_there_are_at_least_sixty_tube_types() -> None:
    assert len(standard().tube_types()) >= 60


BASES = {
    "octal": 8, "seven-pin miniature": 7, "noval": 9, "four-pin": 4, "five-pin": 5, "six-pin": 6,
    "medium seven-pin": 7, "giant seven-pin": 7, "giant five-pin": 5, "septar": 7, "special eight-pin": 8,
}  # fmt: skip


@pytest.mark.parametrize("name", standard().tube_types())
def test_every_pin_of_every_tube(name: str) -> None:
    kind = kind_of(f"tube {name}")
    for number in range(1, BASES[str(kind.facts["base"])] + 1):
        lug = kind.lug(str(number))
        assert lug is not None, number
        assert not (lug.tie and lug.inner)
    assert kind.lug(str(BASES[str(kind.facts["base"])] + 1)) is None
    leads = {lug.name for lug in kind.terminals} & {"h1", "h2", "f1", "f2"}
    if "heater_volts" in kind.facts:
        assert leads in ({"h1", "h2"}, {"f1", "f2"})
    else:
        assert not leads
        assert "regulated_volts" in kind.facts
    assert kind.facts["confidence"] in ("A", "B")
    assert kind.facts["source"]
    assert "[S" not in str(kind.facts["source"]), "a mark that no source explains"


def test_pins_of_the_807() -> None:
    assert terminals("tube 807") == "h1 g2 g1 k h2 p"
    assert kind_of("tube 807").lug("cap") is kind_of("tube 807").lug("p")


def test_doubled_pins() -> None:
    kind = kind_of("tube 6146")
    assert terminals("tube 6146") == "k h1 g2 k-4 g1 k-6 h2 sh p"
    assert kind.inside == (("k", "k-4", "k-6"),)
    assert ((("k-4",), ("k-6",))) in kind.swaps


def test_pins_without_an_electrode() -> None:
    free = kind_of("tube 6L6G").lug("6")
    assert free is not None
    assert free.tie
    inner = kind_of("tube 0A2").lug("3")
    assert inner is not None
    assert (inner.tie, inner.inner) == (False, True)
    assert kind_of("tube 0D3").inside == (("3", "7"),)


@pytest.mark.parametrize(
    ("name", "groups"),
    [("0A2", ("p p-5", "k k-4 k-7")), ("6AQ5", ("g1 g1-7",)), ("6CL6", ("g1 g1-9", "g2 g2-8")), ("6C4", ("p p-5",)),
     ("5763", ("g1 g1-9",)), ("4-125A", ("g2 g2-4",)), ("12BY7A", ("g3 g3-9",)), ("0C3", ("3 7",)), ("6V6GT", ())],
)  # fmt: skip
def test_joined_inside(name: str, groups: tuple[str, ...]) -> None:
    assert sorted(" ".join(group) for group in kind_of(f"tube {name}").inside) == sorted(groups)


@pytest.mark.parametrize(
    ("other", "name"), [("VR-150", "0D3"), ("OA2", "0A2"), ("6CU6", "6BQ6GTB"), ("ECC83", "12AX7")]
)
def test_other_names_of_a_tube(other: str, name: str) -> None:
    assert kind_of(f"tube {other}").type == name


def test_what_two_types_share_and_what_not() -> None:
    old, new = kind_of("tube 6146"), kind_of("tube 6146B")
    assert old.terminals == new.terminals
    assert (new.facts["heater_amps"], new.facts["icas_plate_watts"], new.facts["icas_plate_volts"]) == (1.125, 35, 750)
    assert old.facts["icas_plate_watts"] == 25


# --- the words of a part line


@pytest.mark.parametrize(
    ("line", "value", "ratings", "tolerance", "words"),
    [
        ("resistor 20k 50W 10% wirewound", 20e3, {"W": 50}, 0.1, ("wirewound",)),
        ("resistor wirewound 10% 50W 20k", 20e3, {"W": 50}, 0.1, ("wirewound",)),
        ("resistor 1/2W 470", 470, {"W": 0.5}, None, ()),
        ("resistor yellow-violet-orange-silver", 47e3, {}, 0.1, ()),
        ("resistor yellow-violet-orange-silver 5%", 47e3, {}, 0.05, ()),
        ("resistor 5% yellow-violet-orange-silver", 47e3, {}, 0.05, ()),
        ("resistor", None, {}, None, ()),
        ("capacitor .01 600V paper", 1e-8, {"V": 600}, None, ("paper",)),
        ("capacitor 250 mica", 250e-12, {}, None, ("mica",)),
        ("capacitor 0.1u 250Vac x2", 1e-7, {"Vac": 250}, None, ("X2",)),
        ("capacitor 4700p X1/Y2", 4.7e-9, {}, None, ("X1/Y2",)),
        ("electrolytic 40mfd 450V", 40e-6, {"V": 450}, None, ()),
        ("choke 8H 100mA 250ohm", 8.0, {"A": 0.1, "ohm": 250}, None, ()),
        ("coil 2.5mH pi-wound", 2.5e-3, {}, None, ("pi-wound",)),
        ("fuse 3A 250V slow", 3.0, {"V": 250}, None, ("slow",)),
        ("crystal 7020kc", 7.02e6, {}, None, ()),
        ("lamp 6.3V 0.15A", 6.3, {"A": 0.15}, None, ()),
        ("relay-spdt 6V 40ohm", None, {"V": 6, "ohm": 40}, None, ()),
        ("diode 1N34A germanium", None, {}, None, ("germanium",)),
        ("resistor 10k WireWound metal-film", 10e3, {}, None, ("wirewound", "metal-film")),
        ("resistor 10k wire-wound", 10e3, {}, None, ("wirewound",)),
        ("transformer 6.3Vac 3A filament", None, {"Vac": 6.3, "A": 3}, None, ("filament",)),
    ],
)
def test_words(
    line: str, value: float | None, ratings: dict[str, float], tolerance: float | None, words: tuple[str, ...]
) -> None:
    made = make(line)
    assert made.trouble is None
    assert made.value == (None if value is None else pytest.approx(value))
    assert dict(made.ratings) == pytest.approx(ratings)
    assert made.tolerance == tolerance
    assert made.words == words


@pytest.mark.parametrize(
    ("line", "unit", "value"),
    [("meter 1mA", "A", 1e-3), ("meter 300V", "V", 300), ("lamp 6.3Vac", "Vac", 6.3), ("meter", "A", None)],
)
def test_the_unit_that_was_read(line: str, unit: str, value: float | None) -> None:
    assert (kind_of(line).unit, make(line).value) == (unit, value)


def test_drawings_that_write_m_for_a_thousand() -> None:
    assert make("resistor 20M").value == pytest.approx(20e6)
    assert make("resistor 20M", m_thousand=True).value == pytest.approx(20e3)


def test_the_range_of_an_adjustable_part() -> None:
    made = make("variable 10..140p")
    assert made.span == pytest.approx((10e-12, 140e-12))
    assert made.value == pytest.approx(140e-12)


def test_types() -> None:
    assert [kind_of(line).type for line in ("diode 1n4007", "rotary 2x6", "connector 8", "strip", "tube 6sn7")] == [
        "1N4007", "2x6", "8", "", "6SN7GT",
    ]  # fmt: skip


def test_positions_that_the_line_names() -> None:
    made = make("switch-spdt cw/phone at phone")
    assert made.kind is not None
    assert (made.kind.positions, made.at) == (("cw", "phone"), "phone")
    assert made.kind.contacts == (Contact("c", "1", frozenset({"cw"})), Contact("c", "2", frozenset({"phone"})))
    assert make("switch-spdt at phone cw/phone").at == "phone"
    assert make("rotary 1x3 at 3").at == "3"


@pytest.mark.parametrize(
    ("line", "index", "says", "hint"),
    [
        ("resistor 10k charred", 1, "charred", "a condition goes after a comma"),
        ("resistor 10k measured", 1, "measured", "after a comma"),
        ("resistor 10k wirewond", 1, "wirewond", "the nearest is `wirewound`"),
        ("resistor 10k 20k", 1, "said already", ""),
        ("resistor 10k 1W 2W", 2, "said already", ""),
        ("resistor 10uF", 0, "takes no farads", "ohms"),
        ("resistor 10..20k", 0, "no range", ""),
        ("resistor 1k wirewound wirewound", 2, "twice", ""),
        ("crystal 7020", 0, "of what", "7MHz"),
        ("fuse 3", 0, "of what", "3A"),
        ("coax-socket 3", 0, "bare number", "ohms"),
        ("capacitor 10..20p", 0, "no range", ""),
        ("variable 20..10p", 0, "no range", ""),
        ("capacitor -10p", 0, "less than nothing", ""),
        ("jack-2 6V", 0, "takes no volts", ""),
        ("fuse 3A 10%", 1, "takes no tolerance", ""),
        ("resitor 10k", -1, "no kind of part `resitor`", "the nearest is `resistor`"),
        ("relay 6V", -1, "no kind of part", "relay-spst, relay-spdt"),
        ("cap 1u", -1, "no kind of part", "the nearest is `capacitor`"),
        ("6V6GT", -1, "type of tube", "tube 6V6GT"),
        ("qqqqq", -1, "no kind of part", "netdiff kinds"),
        ("tube", -1, "a tube has a type", "tube 6V6GT"),
        ("tube 6L7", 0, "no tube `6L7`", "the nearest is"),
        ("tube 6SL7GTX", 0, "no tube", "6SL7GT"),
        ("tube 6DQ5", 0, "no tube", "use"),
        ("tube 6V6GT 250V", 1, "takes no volts", ""),
        ("rotary", -1, "poles and positions", "2x6"),
        ("rotary 2", 0, "poles and positions", "2x6"),
        ("rotary 99x99", 0, "goes to", ""),
        ("connector", -1, "how many", "connector 8"),
        ("connector 0", 0, "how many", ""),
        ("connector 5000", 0, "how many", ""),
        ("strip 3x4", 0, "how many", ""),
        ("board two", 0, "how many", ""),
        ("block", -1, "names of its terminals", ""),
        ("block in in", 1, "twice", ""),
        ("block in o.ut", 1, "no name of a terminal", ""),
        ("switch-spdt at", 0, "names the position", "at 1"),
        ("switch-spdt at 3", 1, "no position `3`", "1, 2"),
        ("switch-spdt cw/phone at 1", 2, "no position `1`", "cw, phone"),
        ("switch-spdt at 1 at 2", 2, "twice", ""),
        ("switch-spdt cw/phone/am", 0, "names 3 positions", "1, 2"),
        ("switch-spdt cw/cw", 0, "one name", ""),
        ("switch-spdt cw/p:h", 0, "no name of a position", ""),
        ("switch-spdt a/b c/d", 1, "named already", ""),
        ("resistor 10k at 1", 1, "no positions", ""),
        ("tube 807 at in", 1, "no positions", ""),
        ("unknown what", 0, "says nothing", "quotes"),
    ],
)  # fmt: skip
def test_words_that_cannot_be_placed(line: str, index: int, says: str, hint: str) -> None:
    made = make(line)
    assert made.kind is None
    assert made.trouble is not None
    assert made.trouble.index == index
    assert says in made.trouble.says
    assert hint in made.trouble.hint


ODD = [
    "10k", "1/2W", "2x6", "at", "in", "1", "10%", "6V6GT", "cw/phone", "..", "1..2", "--", "1N34", "wirewound", "1e9W",
    "-5V", "0", "²", "٣", "1/0W", "NaN",
]  # fmt: skip


@given(
    st.sampled_from([*standard().names(), "thing"]),
    st.lists(
        st.one_of(
            st.text(max_size=8),
            st.sampled_from(ODD),
        ),
        max_size=5,
    ),
    st.booleans(),
)
def test_whatever_stands_there_is_a_part_or_a_trouble(name: str, words: list[str], m_thousand: bool) -> None:
    made = standard().make(name, words, m_thousand=m_thousand)
    assert (made.kind is None) == (made.trouble is not None)
    if made.trouble is not None:
        assert -1 <= made.trouble.index < max(len(words), 1)
        assert made.trouble.says
    elif made.kind is not None and made.at:
        assert made.at in made.kind.positions


# --- the shipped files


def _texts(spot: Spot) -> object:
    if isinstance(spot.value, dict):
        return {key: _texts(inner) for key, inner in spot.value.items()}
    return [_texts(inner) for inner in spot.value] if isinstance(spot.value, list) else spot.value


@pytest.mark.parametrize("name", ["kinds", "tubes", "letters"])
def test_shipped_files_read_as_yaml_reads_them(name: str) -> None:
    text = (FOLDER / f"{name}.yaml").read_text(encoding="utf-8")
    faults = Faults(name, [])
    spot = read_text(text, faults)
    assert not faults.met
    assert spot is not None
    assert _texts(spot) == yaml.load(text, Loader=yaml.BaseLoader)  # texts only
    assert yaml.safe_load(text).keys() == _texts(spot).keys()  # type: ignore[attr-defined]


def test_places_point_at_what_was_read() -> None:
    text = (FOLDER / "tubes.yaml").read_text(encoding="utf-8")
    spot = read_text(text, Faults("tubes.yaml", []))
    assert spot is not None
    lines = text.splitlines()
    for name, row in spot.value["tubes"].value.items():  # type: ignore[index,call-overload,union-attr]
        assert lines[row.line - 1][row.column - 1 :].startswith(f"{name}:")


def test_it_reads_the_same_without_the_c_library(monkeypatch: pytest.MonkeyPatch) -> None:
    text = (FOLDER / "kinds.yaml").read_text(encoding="utf-8")
    with_it = read_text(text, Faults("kinds.yaml", []))
    monkeypatch.delattr(yaml, "CSafeLoader", raising=False)
    assert read_text(text, Faults("kinds.yaml", [])) == with_it


# --- in words


def test_the_list_has_every_kind() -> None:
    rows = listing(standard())
    assert [name.split()[0] for name, _, _ in rows] == list(standard().names())
    assert ("rotary NxM", "rotary switch") in [row[:2] for row in rows]
    assert all(title and names for _, title, names in rows)


def test_a_tube_in_words() -> None:
    lines = describe(standard(), "6146")
    assert lines is not None
    text = "\n".join(lines)
    for part in (
        "tube 6146: beam power tube, octal base", "  1: k  cathode", "  5: g1  grid 1", "  cap: p  plate",
        "joined inside: k k-4 k-6", "heater: 6.3 V 1.25 A", "plate, at most: 600 V (CCS)", "source: from memory",
    ):  # fmt: skip
        assert part in text
    assert lines.index("  1: k  cathode, beam plates") < lines.index("  cap: p  plate")


def test_a_kind_in_words() -> None:
    text = "\n".join(describe(standard(), "resistor") or ())
    for part in ("class letters: R", "terminals: 1 2", "interchangeable: 1 with 2", "resistance: in Ω", "wirewound"):
        assert part in text


@pytest.mark.parametrize("name", [*standard().names(), *standard().tube_types(), "vr-150"])
def test_everything_has_words(name: str) -> None:
    lines = describe(standard(), name)
    assert lines
    assert all(line.strip() and "\n" not in line for line in lines)


def test_names_that_are_not_there() -> None:
    assert describe(standard(), "6DQ5") is None
    assert nearest_name(standard(), "resitor") == "resistor"
    assert nearest_name(standard(), "12AX8") == "12AX7"


def test_nearest_kind() -> None:
    catalogue: Catalogue = standard()
    assert [catalogue.nearest(word) for word in ("pot", "xtal", "capcitor", "zzzzzz")] == [
        "potentiometer", "crystal", "capacitor", "",
    ]  # fmt: skip
