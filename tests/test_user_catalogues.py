"""Catalogues of the user's own: taken over, or refused with the line that is wrong. Nothing in them is executed."""

from __future__ import annotations

import os
import time
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from netdiff.catalogue import Catalogue, standard
from netdiff.catalogue.catalogue import MOST_LIKES
from netdiff.catalogue.plain import LARGEST, MOST, Faults, read_text
from netdiff.circuit import Fault, Place

AT = Place("set.stock", 3)

GOOD = """\
kinds:
  doorbell:
    title: doorbell
    letters: DS
    like: lamp
    words: brass
  key:
    terminals: tip sleeve
    ends: tip sleeve
    positions: up down
    contacts: {down: tip/sleeve}
  crossbar:
    letters: S
    poles: 2
    pole: c 1 2
    positions: left right
    contacts: {left: c/1, right: c/2}
    value: ohm
    ratings: [V, A]
tubes:
  6AG7-MINE:
    title: power pentode
    base: octal
    heater: 6.3V 0.65A
    pins: "1 sh, 2 h, 3 is, 4 g1, 5 k, 6 g2, 7 h, 8 p"
    max: {plate_volts: 300, plate_watts: 9}
    also: 6AG7
    source: looked at on the bench
  6146W: {like: 6146, max: {plate_volts: 500}}
"""


def extend(tmp_path: Path, text: str | bytes, name: str = "my-parts.yaml") -> tuple[Catalogue, tuple[Fault, ...]]:
    path = tmp_path / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return standard().extended(path, AT)


def refused(tmp_path: Path, text: str | bytes) -> Fault:
    catalogue, faults = extend(tmp_path, text)
    assert catalogue is standard()
    assert len(faults) == 1, faults
    return faults[0]


def test_kinds_and_tubes_of_a_user(tmp_path: Path) -> None:
    catalogue, faults = extend(tmp_path, GOOD)
    assert not faults
    bell = catalogue.make("doorbell", ["6.3V", "brass"])
    assert bell.kind is not None
    assert (bell.kind.title, bell.kind.letters, bell.kind.plugs, bell.value) == ("doorbell", ("DS",), True, 6.3)
    key = catalogue.make("key", []).kind
    assert key is not None
    assert (key.ends, key.positions, key.contacts[0].positions) == (("tip", "sleeve"), ("up", "down"), {"down"})
    bar = catalogue.make("crossbar", ["left/right"]).kind
    assert bar is not None
    assert [lug.name for lug in bar.terminals] == ["ca", "a1", "a2", "cb", "b1", "b2"]
    tube = catalogue.make("tube", ["6ag7"]).kind
    assert tube is not None
    assert (tube.type, tube.facts["source"], tube.facts["plate_watts"]) == ("6AG7-MINE", "looked at on the bench", 9)
    more = catalogue.make("tube", ["6146W"]).kind
    assert more is not None
    assert (more.facts["plate_volts"], more.facts["plate_watts"], more.facts["heater_amps"]) == (500, 20, 1.25)
    assert standard().make("doorbell", []).kind is None, "the shipped catalogue does not change"
    assert catalogue.make("resistor", ["10k"]).value == 10e3


def test_catalogues_that_use_one_another(tmp_path: Path) -> None:
    (tmp_path / "more").mkdir()
    (tmp_path / "more" / "bells.yaml").write_text("kinds: {bell: {like: lamp}}")
    (tmp_path / "shared.yaml").write_text("use: more/bells.yaml\nkinds: {gong: {like: bell, letters: LS}}")
    catalogue, faults = extend(tmp_path, "use: [shared.yaml, more/bells.yaml]\nkinds: {chime: {like: gong}}")
    assert not faults
    made = catalogue.make("chime", [])
    assert made.kind is not None
    assert made.kind.letters == ("LS",)


def test_one_catalogue_on_top_of_another(tmp_path: Path) -> None:
    first, _ = extend(tmp_path, GOOD, "one.yaml")
    path = tmp_path / "two.yaml"
    path.write_text("kinds: {chime: {like: doorbell}}\ntubes: {6AG7-YOURS: {like: 6AG7-MINE}}")
    second, faults = first.extended(path, AT)
    assert not faults
    assert second.make("chime", ["brass"]).kind is not None
    assert second.make("tube", ["6AG7-YOURS"]).kind is not None


def test_a_file_that_is_used_twice_is_read_once(tmp_path: Path) -> None:
    """A drawing and a unit may use the same catalogue."""
    first, _ = extend(tmp_path, GOOD)
    (tmp_path / "sub").mkdir()
    again, faults = first.extended(tmp_path / "sub" / ".." / "my-parts.yaml", AT)
    assert not faults
    assert again.names() == first.names()


@pytest.mark.parametrize(
    "tag",
    [
        "!!python/object/apply:os.mkdir [{path}]",
        '!!python/object/apply:os.system ["mkdir {path}"]',
        "!!python/name:os.mkdir",
        "!<tag:yaml.org,2002:python/object/apply:os.mkdir> [{path}]",
        "!mine {{}}",
        "!!binary aGVsbG8=",
    ],
)
def test_nothing_is_executed(tmp_path: Path, tag: str) -> None:
    made = tmp_path / "executed"
    fault = refused(tmp_path, f"kinds:\n  bell: {tag.format(path=made)}\n")
    assert not made.exists()
    assert "nothing in it is executed" in fault.says
    assert (fault.place.line, fault.place.column) == (2, 9)
    assert fault.text.startswith("  bell: !")


@pytest.mark.parametrize(
    ("text", "line", "says", "hint"),
    [
        ("kinds:\n  bell:\n    like: lamp\n    leters: DS\n", 4, "`leters` says nothing of a kind", "`letters`"),
        ("kind:\n  bell: {like: lamp}\n", 1, "`kind` is no table", "`kinds`"),
        ("- a\n- b\n", 1, "is no catalogue", "tables"),
        ("kinds: [a, b]\n", 1, "is a table", ""),
        ("kinds:\n  bell:\n", 2, "says nothing", ""),
        ("kinds:\n  Bell: {like: lamp}\n", 2, "no name of a kind", "small letters"),
        ("kinds:\n  lamp: {like: neon}\n", 2, "`lamp` is in the catalogue already", "another name"),
        ("kinds:\n  bell: {like: lmap}\n", 2, "like `lmap`, which is not there", "`lamp`"),
        ("kinds:\n  bell: {like: bell}\n", 2, "like itself", ""),
        ("kinds:\n  bell: {like: lamp, plugs: perhaps}\n", 2, "yes or no", ""),
        ("kinds:\n  bell: {like: lamp, hangs: but}\n  x: {title: x}", 3, "no terminals", ""),
        ("kinds:\n  bell: {like: lamp, hangs: perhaps}\n", 2, "`hangs`", "but can"),
        ("kinds:\n  bell: {like: lamp, value: volt}\n", 2, "`volt` is no unit", "V"),
        ("kinds:\n  bell: {like: lamp, letters: {a: b}}\n", 2, "a text or a list", ""),
        ("kinds:\n  bell: {like: lamp, title: [a]}\n", 2, "is one text", ""),
        ("kinds:\n  bell: {like: lamp, size: NxN}\n", 2, "no size", "NxM"),
        ("kinds:\n  bell: {like: lamp, size: TYPE}\n", 2, "table `tubes`", ""),
        ("kinds:\n  bell: {terminals: 1 2, ends: 1 3}\n", 2, "names `3`", "it has 1 2"),
        ("kinds:\n  bell: {terminals: 1 2, ends: 1}\n", 2, "two terminals", ""),
        ("kinds:\n  bell: {terminals: 1 1}\n", 2, "answer to `1`", ""),
        ("kinds:\n  bell: {terminals: a.b}\n", 2, "no name of a terminal", ""),
        ("kinds:\n  bell: {terminals: 1 2 3, swaps: 1 ~ 2 3}\n", 2, "as many terminals", ""),
        ("kinds:\n  bell: {terminals: 1 2, contacts: {on: 1/2}}\n", 2, "no position `on`", "none"),
        ("kinds:\n  bell: {terminals: 1 2, positions: on off, contacts: {on: 1/3}}\n", 2, "names `3`", ""),
        ("kinds:\n  bell: {terminals: 1 2, positions: on off, contacts: on}\n", 2, "is a table", "{on: c/no"),
        ("kinds:\n  bell: {pole: c 1, poles: 99}\n", 2, "number from 1", ""),
        ("kinds:\n  bell: {like: lamp}\n  bell: {like: neon}\n", 3, "`bell` stands here twice", "line 2"),
        ("kinds:\n  ? [a]\n  : {like: lamp}\n", 2, "a key is a word", ""),
        ("kinds: {}\n---\nkinds: {}\n", 2, "one YAML document", ""),
        ("kinds:\n\tbell: {}\n", 2, "no YAML", ""),
        ("kinds: {bell: {like: lamp\n", 2, "no YAML", ""),
        ("kinds:\n  a: &x {like: lamp}\n  b: *x\n", 2, "no anchors", "like"),
        ("a: &a [*a]\n", 1, "no anchors", ""),
        ("tubes:\n  6x9: {like: 807}\n", 2, "no name of a tube", ""),
        ("tubes:\n  807: {like: 6146}\n", 2, "`807` is in the catalogue already", ""),
        ("tubes:\n  808: {like: 809}\n", 2, "not there", ""),
        ("tubes:\n  808: {like: 807, heater: 6.3V}\n", 2, "volts and amperes", "6.3V 0.3A"),
        ("tubes:\n  808: {like: 807, base: octall}\n", 2, "no base", "`octal`"),
        ("tubes:\n  808: {like: 807, pins: '1 h, 2 h, 9 p'}\n", 2, "no pin `9`", ""),
        ("tubes:\n  808: {like: 807, pins: '1 h, 2 h, 2 p'}\n", 2, "pin 2 is there twice", ""),
        ("tubes:\n  808: {like: 807, pins: '1 h, 2 h, 3 q'}\n", 2, "`q` at pin 3", ""),
        ("tubes:\n  808: {like: 807, pins: '1 h, 2 p'}\n", 2, "1 ends of a heater", ""),
        ("tubes:\n  808: {like: 807, max: {plate_volt: 1}}\n", 2, "`plate_volt` is no figure", "`plate_volts`"),
        ("tubes:\n  808: {like: 807, max: {plate_volts: 1kV}}\n", 2, "is a number", ""),
        ("tubes:\n  808: {like: 807, max: 600}\n", 2, "table of figures", ""),
        ("tubes:\n  808: {like: 807, confidence: C}\n", 2, "stay out", "A or B"),
        ("tubes:\n  808: {like: 807, pin: 1}\n", 2, "`pin` says nothing of a tube", "`pins`"),
        ("tubes:\n  808: {title: triode}\n  809: {like: 807}\n", 2, "has no `base`", ""),
        ("tubes:\n  808: {like: 807, also: 6146}\n", 2, "`6146` is 6146 already", ""),
        ("tubes:\n  808: {like: 807, tap: 2 3}\n", 2, "two pins and the volts", ""),
    ],
)  # fmt: skip
def test_what_is_wrong_is_told_with_its_line(tmp_path: Path, text: str, line: int, says: str, hint: str) -> None:
    catalogue, faults = extend(tmp_path, text)
    assert catalogue is standard()
    fault = faults[0]
    assert fault.place.file == str(tmp_path / "my-parts.yaml")
    assert fault.place.line == line
    assert says in fault.says
    assert hint in fault.hint
    lines = text.splitlines()
    assert fault.text == (lines[line - 1] if line <= len(lines) else "")


def test_the_mark_stands_under_the_key(tmp_path: Path) -> None:
    fault = refused(tmp_path, "kinds:\n  bell: {like: lamp, leters: DS}\n")
    assert fault.text[fault.place.column - 1 :][: fault.width] == "leters"


def test_every_fault_in_one_run(tmp_path: Path) -> None:
    text = "kind: {}\nkinds:\n  a: {like: b}\n  c: {ltters: R}\ntubes:\n  808: {base: 3}\n"
    _, faults = extend(tmp_path, text)
    assert {fault.place.line for fault in faults} == {1, 3, 4, 6}


def test_kinds_that_are_like_each_other(tmp_path: Path) -> None:
    _, faults = extend(tmp_path, "kinds:\n  a: {like: b}\n  b: {like: c}\n  c: {like: a}\n  d: {like: a}\n")
    assert [fault.place.line for fault in faults] == [2, 3, 4]
    assert "`a` is like itself: a is like b is like c is like a" in faults[0].says


def test_what_is_like_a_faulty_kind_is_no_fault_of_its_own(tmp_path: Path) -> None:
    fault = refused(tmp_path, "kinds:\n  b: {like: a}\n  a: {terminals: 1 2, ends: 1 4}\n  c: {like: b}\n")
    assert fault.place.line == 3


def test_a_key_taken_over_that_no_longer_fits_points_at_like(tmp_path: Path) -> None:
    _, faults = extend(tmp_path, "kinds:\n  bell:\n    terminals: x y\n    like: lamp\n")
    assert {fault.place.line for fault in faults} == {4}


def test_a_catalogue_that_uses_itself(tmp_path: Path) -> None:
    fault = refused(tmp_path, "use: my-parts.yaml\n")
    assert "leads back" in fault.says
    (tmp_path / "b.yaml").write_text("kinds: {}\nuse: [my-parts.yaml]\n")
    _, faults = extend(tmp_path, "use: b.yaml\n")
    assert [(Path(fault.place.file).name, fault.place.line) for fault in faults] == [("b.yaml", 2)]
    assert "leads back to my-parts.yaml" in faults[0].says


@pytest.mark.parametrize("word", ["../out.yaml", "sub/../../out.yaml", "/etc/passwd", "link.yaml"])
def test_nothing_outside_the_folder_is_read(tmp_path: Path, word: str) -> None:
    inside = tmp_path / "set"
    (inside / "sub").mkdir(parents=True)
    (tmp_path / "out.yaml").write_text("kinds: {bell: {like: lamp}}")
    (inside / "link.yaml").symlink_to(tmp_path / "out.yaml")
    assert "outside the folder" in refused(inside, f"use: {word}\n").says


def test_a_catalogue_that_is_not_there(tmp_path: Path) -> None:
    catalogue, faults = standard().extended(tmp_path / "no.yaml", AT)
    assert catalogue is standard()
    assert [fault.place for fault in faults] == [AT]
    assert "no.yaml" in faults[0].says
    fault = refused(tmp_path, "kinds: {}\nuse: no.yaml\n")
    assert fault.place.line == 2


def test_a_folder_is_no_catalogue(tmp_path: Path) -> None:
    _, faults = standard().extended(tmp_path, AT)
    assert [fault.place for fault in faults] == [AT]


@pytest.mark.parametrize("data", [b"\xff\xfe\x00k", bytes(range(256)), b"kinds: \x00\n", os.urandom(4096)])
def test_a_binary_file(tmp_path: Path, data: bytes) -> None:
    catalogue, faults = extend(tmp_path, data)
    assert catalogue is standard()
    assert len(faults) == 1


@pytest.mark.parametrize(
    "text", ["", "# nothing yet\n", "\ufeffkinds: {bell: {like: lamp}}\n", "kinds: {}\r\ntubes: {}\r\n"]
)
def test_empty_files_marks_and_line_ends_are_fine(tmp_path: Path, text: str) -> None:
    assert extend(tmp_path, text)[1] == ()


@pytest.mark.parametrize(
    "text",
    [
        "a: " + "[" * 100_000,
        "a: " + "{a: " * 100_000,
        "- " * 100_000,
        "a: [" + "1, " * (MOST + 1) + "1]",
        "a: &a [1,1,1,1,1,1,1,1,1]\n" + "".join(f"b{i}: &b{i} [*a,*a,*a,*a,*a,*a]\n" for i in range(30)),
        "x" * (LARGEST + 1),
        "a: '" + "x" * (LARGEST - 10) + "'\n",
        "? " * 50_000,
    ],
    ids=["deep list", "deep table", "deep dashes", "long list", "alias bomb", "huge", "huge text", "deep keys"],
)
def test_bombs_are_bounded(tmp_path: Path, text: str) -> None:
    start = time.monotonic()
    catalogue, faults = extend(tmp_path, text)
    assert catalogue is standard()
    assert len(faults) == 1
    assert time.monotonic() - start < 10
    assert len(faults[0].says) < 300


@pytest.mark.parametrize(("count", "fine"), [(MOST_LIKES - 1, True), (MOST_LIKES, False), (3000, False)])
def test_a_long_chain_of_likes(tmp_path: Path, count: int, fine: bool) -> None:
    rows = "".join(f"  k{i}: {{like: k{i - 1}}}\n" for i in range(1, count))
    catalogue, faults = extend(tmp_path, f"kinds:\n  k0: {{like: lamp}}\n{rows}")
    assert (not faults) is fine
    assert (catalogue.make(f"k{count - 1}", []).kind is not None) is fine


@given(st.text(alphabet="kindstub: {}[]-!&*'\"\n,lamp123", max_size=80))
def test_any_text_is_data_or_a_fault(text: str) -> None:
    faults = Faults("my-parts.yaml", [])
    spot = read_text(text, faults)
    assert spot is None or not faults.met
    for fault in faults.met:
        assert fault.place.line >= 1
        assert fault.says
