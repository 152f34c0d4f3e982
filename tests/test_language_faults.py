"""Bad input: every fault of a file in one run, each with its place, what is wrong, and what would be right."""

from __future__ import annotations

import os
import time
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as some

from netdiff.circuit import Fault, Place
from netdiff.language import Faulty, read, read_model, read_model_text, read_unit, read_unit_text, render_fault
from netdiff.language.reading import LONGEST_LINE, read_statements
from tests.texts import model

HEAD = 'stock "t"\nnet b+ supply 250V\nnet key control\n'
FOUND = 'found "u" of "t.stock"\n'


def told(*lines: str) -> list[tuple[int, int, str, str]]:
    """Line, column, what is wrong and the hint, of a stock file with these lines after its head."""
    read_, faults = read_model_text(HEAD + "\n".join(lines), "t.stock")
    assert (read_ is None) == bool(faults)
    return [(fault.place.line - 3, fault.place.column, fault.says, fault.hint) for fault in faults]


def only(*lines: str) -> tuple[int, int, str, str]:
    (fault,) = told(*lines)
    return fault


def of_unit(*lines: str, stock: str = HEAD) -> list[tuple[int, str]]:
    _, faults = read_unit_text(FOUND + "\n".join(lines), model(stock), "t.found")
    return [(fault.place.line - 1, fault.says) for fault in faults]


# --- files


def at(path: Path, content: bytes | str) -> Path:
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    return path


def fault_of(path: Path) -> Fault:
    with pytest.raises(Faulty) as caught:
        read(path)
    (fault,) = caught.value.faults
    assert fault.place.file == str(path) or fault.place.file.endswith(".stock")
    return fault


def test_an_empty_file(tmp_path: Path) -> None:
    assert fault_of(at(tmp_path / "a.stock", "")).says == "the file is empty"
    assert fault_of(at(tmp_path / "b.found", "\n# only a remark\n")).says == "the file is empty"


def test_a_binary_file(tmp_path: Path) -> None:
    assert fault_of(at(tmp_path / "a.stock", bytes(range(256)) * 100)).says == "this is a binary file, not text"
    fault = fault_of(at(tmp_path / "b.stock", b'stock "caf\xe9"\n'))
    assert (fault.says, fault.place.line, fault.place.column) == ("the file is not UTF-8 text: byte 0xe9", 1, 11)
    assert fault_of(at(tmp_path / "c.stock", 'stock "x"'.encode("utf-16"))).says == "the file is UTF-16"


def test_control_characters_are_told_and_not_printed(tmp_path: Path) -> None:
    path = at(tmp_path / "a.stock", 'stock "x"\nR1 resistor 1k "\x1b[2Jgone"\nR1.1 -- chassis\n')
    fault = fault_of(path)
    assert fault.says == "there is a control character (U+001B) in the line"
    assert "\x1b" not in render_fault(fault)


def test_a_line_of_fifty_megabytes(tmp_path: Path) -> None:
    path = at(tmp_path / "a.stock", b'stock "x"\n' + b"R1 -- " * (50 * 1024 * 1024 // 6) + b"\n")
    begin = time.monotonic()
    fault = fault_of(path)
    assert time.monotonic() - begin < 10
    assert fault.place.line == 2
    assert f"a line may have {LONGEST_LINE}" in fault.says
    assert len(render_fault(fault)) < 1000


def test_a_file_that_is_too_large(tmp_path: Path) -> None:
    path = tmp_path / "a.stock"
    with path.open("wb") as file:
        file.truncate(70 * 1024 * 1024)
    assert "million bytes" in fault_of(path).says


def test_a_file_of_too_many_lines() -> None:
    _, faults = read_model_text("b+ -- key\n" * 1_000_001)
    assert [fault.says for fault in faults] == ["the file has 1000002 lines; it may have 1000000"]


def test_no_file_a_folder_a_pipe(tmp_path: Path) -> None:
    assert fault_of(tmp_path / "none.stock").says == "there is no such file"
    assert fault_of(tmp_path).says == "this is a folder, not a file"
    os.mkfifo(tmp_path / "pipe.stock")
    assert fault_of(tmp_path / "pipe.stock").says == "this is no ordinary file"


def test_many_faulty_lines_in_linear_time() -> None:
    text = HEAD + "".join(f"wire A{i}.1 B{i}.2 -- -- {'x ' * (i % 50)}\n" for i in range(20_000))
    begin = time.monotonic()
    _, faults = read_model_text(text)
    assert time.monotonic() - begin < 20
    assert len(faults) == 20_000


def test_the_first_statement() -> None:
    _, faults = read_model_text("ground chassis\n")
    assert [(f.place.line, f.says) for f in faults] == [(1, "the first statement is not `stock`")]
    _, faults = read_model_text('ground chassis\nstock "x"\nstock "y"\n')
    assert [(f.place.line, f.says) for f in faults] == [
        (2, "`stock` is not the first statement"), (3, "`stock` is said twice: line 2 says it too"),
    ]  # fmt: skip


# --- the stock file of a found file


def unit_fault(tmp_path: Path, of: str) -> str:
    path = at(tmp_path / "u.found", f'found "u" of "{of}"\n')
    _, faults = read_unit(path)
    (fault,) = faults
    assert (fault.place.line, fault.place.column) == (1, 14)
    return fault.says


def test_the_stock_file_of_a_found_file(tmp_path: Path) -> None:
    at(tmp_path / "other.found", 'found "o" of "x.stock"\n')
    (tmp_path / "folder.stock").mkdir()
    assert unit_fault(tmp_path, "none.stock") == '"none.stock": there is no such file'
    assert unit_fault(tmp_path, "folder.stock") == '"folder.stock": this is a folder, not a file'
    assert unit_fault(tmp_path, "other.found") == '"other.found" is a found file, not a stock file'
    assert unit_fault(tmp_path, "u.found") == '"u.found" is a found file, not a stock file'
    assert unit_fault(tmp_path, "") == '"": there is no path between the quotes'
    assert unit_fault(tmp_path, "/dev/zero") == '"/dev/zero": a path is relative to this file'


def test_the_stock_file_may_lie_beside(tmp_path: Path) -> None:
    (tmp_path / "a").mkdir()
    (tmp_path / "b").mkdir()
    at(tmp_path / "a" / "m.stock", 'stock "m"\n')
    unit, faults = read_unit(at(tmp_path / "b" / "u.found", 'found "u" of "../a/m.stock"\n'))
    assert unit is not None, faults
    assert unit.model.title == "m"


def test_faults_of_both_files(tmp_path: Path) -> None:
    at(tmp_path / "m.stock", 'stock "m"\nR1 resistr\n')
    _, faults = read_unit(at(tmp_path / "u.found", 'found "u" of "m.stock"\ntraced\n'))
    assert [Path(f.place.file).name for f in faults] == ["u.found", "m.stock"]


def test_a_file_of_the_other_kind(tmp_path: Path) -> None:
    stock, found = at(tmp_path / "m.stock", 'stock "m"\n'), at(tmp_path / "u.found", 'found "u" of "m.stock"\n')
    assert [f.says for f in read_unit(stock)[1]] == ["this is a stock file, not a found file"]
    assert [f.says for f in read_model(found)[1]] == ["this is a found file, not a stock file"]
    assert told("traced rear")[0][2] == "`traced` belongs in a .found file"
    assert of_unit("signal a: V1.p > V1.k")[0][1] == "`signal` belongs in a .stock file"


@pytest.mark.parametrize("path", ["../secret.yaml", "sub/../../secret.yaml", "/etc/passwd", "~/x.yaml", "link.yaml"])
def test_use_never_leaves_the_folder(tmp_path: Path, path: str) -> None:
    folder = tmp_path / "inner"
    folder.mkdir()
    (folder / "sub").mkdir()
    at(tmp_path / "secret.yaml", "kinds: {}\n")
    (folder / "link.yaml").symlink_to(tmp_path / "secret.yaml")
    fault = fault_of(at(folder / "m.stock", f'stock "m"\nuse "{path}"\n'))
    assert fault.place.line == 2
    assert "out of the folder" in fault.says or "relative to this file" in fault.says


@pytest.mark.parametrize("path", ["../img.jpg", "/img.jpg", "a/../../img.jpg", "link/img.jpg"])
def test_photo_never_leaves_the_folder(tmp_path: Path, path: str) -> None:
    folder = tmp_path / "inner"
    folder.mkdir()
    (folder / "link").symlink_to(tmp_path)
    at(folder / "m.stock", 'stock "m"\n')
    _, faults = read_unit(at(folder / "u.found", f'found "u" of "m.stock"\nphoto "{path}"\n'))
    (fault,) = faults
    assert "out of the folder" in fault.says or "relative to this file" in fault.says


def test_catalogues_that_are_bad(tmp_path: Path) -> None:
    at(tmp_path / "evil.yaml", "!!python/object/apply:os.system ['touch owned']\n")
    at(tmp_path / "loop.yaml", "use: [loop.yaml]\nkinds: {}\n")
    for name in ("evil.yaml", "loop.yaml", "none.yaml"):
        _, faults = read_model(at(tmp_path / "m.stock", f'stock "m"\nuse "{name}"\nA1 wobbler\n'))
        assert faults
        # What is unknown may be in the catalogue that could not be read.
        assert not any("wobbler" in fault.says for fault in faults)
    assert not (tmp_path / "owned").exists()


# --- lines


def test_every_fault_in_one_run() -> None:
    assert [fault[0] for fault in told(
        "R5 resistor 10k charred", "gruond chassis", "V5 tube 807", "V5.g4 -- chassis", "b+ - key", 'R6 resistor 1k "x',
        "R7 resistr 10k", "b+ -- R8.1", "net suply supply 250 V",
    )] == [1, 2, 4, 5, 6, 7, 8, 9]  # fmt: skip


def test_a_terminal_that_a_tube_does_not_have() -> None:
    assert told("V5 tube 807", "V5.g4 -- chassis", "V5.9 -- chassis")[0] == (
        2, 1, "V5 has no terminal 'g4': tube 807 has h1 g2 g1 k h2 p", "the nearest is V5.g2",
    )  # fmt: skip


def test_the_forgotten_comma() -> None:
    assert only("R5 resistor 10k charred") == (
        1, 17, "`charred` says nothing of a resistor", "a comma before the condition: R5 resistor 10k, charred",
    )  # fmt: skip
    assert of_unit("?R5 resistor 10k measured 9k") == [(1, "`measured` says nothing of a resistor")]


def test_the_blank_before_a_unit() -> None:
    assert only("R5 resistor 10 k")[3] == "without the blank: 10k"
    assert only("net x supply 250 V")[3] == "without the blank: 250V"
    assert only("wire b+ -- key, 90 mm")[3] == "without the blank: 90mm"


def test_unknown_units() -> None:
    assert only("R5 resistor 10kQ")[2] == "`10kQ` says nothing of a resistor"
    assert only("C5 capacitor 10H")[1] == 14
    assert only("wire b+ -- key, 90")[3] == "a length has a unit: 90mm, 4in"
    assert only("ohms b+ = 20V") == (1, 11, "`20V` is volts", "expected ohms")
    assert only("ohms b+ = 20zz") == (1, 11, "`20zz` is no quantity", "expected ohms")
    assert only("state x: power off", "load 3V b+ -- key in x")[2] == "`3V` is volts"
    assert only("T1 transformer", "winding T1 1 -- 2, 5W")[2] == "`5W` is watts"


def test_the_same_part_twice() -> None:
    assert only("R5 resistor 10k", "R5 resistor 10k")[:3] == (2, 1, "R5 is declared twice: line 4 declares it too")
    assert of_unit("?R5 resistor 10k", "?R5 resistor 22k") == [(2, "?R5 is read otherwise in line 2")]
    assert of_unit("?R5 resistor 10k", "?R5 coil 1mH") == [(2, "?R5 is another part in line 2: resistor")]


def test_two_nets_named_ground() -> None:
    assert only("ground chassis", "ground frame")[:3] == (2, 8, "two nets named ground: line 4 names chassis")
    assert of_unit("ground b+") == [(1, "two nets named ground: the drawing names chassis")]
    assert not told("ground chassis", "ground chassis", "net chassis earth")


def test_contradicting_statements() -> None:
    assert only("net b+ supply 300V")[2] == "the net b+ is declared otherwise in line 2"
    assert only('zone a "A"', 'zone a "B"')[2] == 'zone a has another title in line 4: "A"'
    assert only("S1 switch-spst", "state x: S1 on", "state x: S1 off")[2] == "the state x is said otherwise in line 5"
    assert only("S1 switch-spst", "state x: S1 on, S1 off")[2] == "S1 is at on and at off in one state"
    assert only("wire b+ -- key, 90mm, 80mm")[2] == "two words say different things of one run: `80mm` is the second"
    assert only("state rest: power off")[1:3] == (
        7, "`rest` always exists: power off, tubes in, nothing plugged into jacks",
    )  # fmt: skip
    assert only("state x", "volts b+ -- b+ = 3V in x")[2] == "both ends of the reading are b+"
    assert only("signal s: b+ > key", "signal s: key > b+")[2] == "the signal s is said twice: line 4 says it too"


def test_unbalanced_quotes() -> None:
    assert only('R5 resistor 10k "bias')[1:3] == (17, "a quote is opened and not closed")
    assert only('zone rear "a" b"')[1:3] == (16, "a quote is opened and not closed")


def test_what_a_person_types_for_two_dashes() -> None:
    for joint in ("-", "->", "=>"):
        assert only(f"b+ {joint} key")[2:] == (f"`{joint[0]}` joins nothing", "two dashes join: A -- B")


def test_words_in_the_wrong_case() -> None:
    assert only("V1 tube 807", "b+ -- v1.p")[3] == "a designator starts with a capital: V1.p"
    assert only("V1 tube 807", "v1.p -- b+")[2:] == (
        "`v1.p` is no terminal",
        "a designator starts with a capital: V1.p",
    )
    assert only("R1 resistor 1k", "b+ -- r1")[3] == "the nearest is R1"
    assert only("A -- b+")[2] == "`A` is no point"
    assert only("Net x")[2] == "`Net` is no part and no terminal"


def test_names_that_nobody_declared_are_told_once() -> None:
    assert told("b+ -- ky", "key -- ky", "R9.1 -- b+", "R9.2 -- key") == [
        (1, 7, "no line declares the net ky", "the nearest is key"), (3, 1, "no line declares R9", ""),
    ]  # fmt: skip


def test_a_faulty_line_has_no_consequences() -> None:
    assert [fault[0] for fault in told("R5 resistr 10k", "b+ -- R5 -- key", "R5.1 -- key")] == [1]
    assert [fault[0] for fault in told("net k2 contrl", "b+ -- k2")] == [1]
    assert [fault[0] for fault in told("C14 electrolytic 8u #", "C14A electrolytc", "C14A.- -- C14.-")] == [2]
    assert [fault[0] for fault in told("state on1: X1 on", "volts b+ = 1V in on1")] == [1]
    assert of_unit("?K1 relay-sdpt", "?K1.c -- b+", "traced ?K1") == [
        (1, "the catalogue has no kind of part `relay-sdpt`")
    ]


def test_drawings_have_no_conditions_and_no_strangers() -> None:
    assert told("R5 resistor 1k, charred", "b+ -- key, assumed", "?R6 resistor 1k", "wire b+ -- key, frayed") == [
        (1, 17, "`charred` after the comma is said of a unit, not of a drawing",
         "value, ratings and tolerance stand before a comma, parted by blanks"),
        (2, 12, "`assumed` is said of a unit, not of a drawing", ""),
        (3, 1, "?R6: a drawing has no unidentified part", "without the `?`: R6"),
        (4, 17, "`frayed` is said of a unit, not of a drawing", ""),
    ]  # fmt: skip


def test_productions() -> None:
    assert only("production late", "only lte: b+ -- key")[2:] == (
        "no line declares the production lte",
        "the nearest is late",
    )
    assert only("production late", "only late: zone rear")[2] == "this statement holds for the whole file"
    assert only("production a", "production a")[2] == "the production a is declared twice"
    # A part may be declared twice if no production has both.
    variants = ("production a", "production b")
    assert not told(*variants, "only a: R1 resistor 1k", "only b: R1 resistor 2k", "R1.1 -- b+")
    assert (
        only(*variants, "only a: R1 resistor 1k", "R1 resistor 2k")[2] == "R1 is declared twice: line 6 declares it too"
    )
    assert only(*variants, "only a: R1 resistor 1k", "R1.1 -- b+")[2] == "no line declares R1"


def test_productions_that_do_not_go_together() -> None:
    stock = HEAD + "production a\nproduction b\nonly a: R1 resistor 1k\nonly b: R1 resistor 2k\n"
    _, faults = read_unit_text('found "u" of "t.stock" production a b\n', model(stock), "t.found")
    assert [(f.place.file, f.place.line, f.says) for f in faults] == [
        ("t.stock", 7, "R1 is declared twice: line 6 declares it too")
    ]


def test_dates() -> None:
    assert of_unit("inspected 2026-13-02") == [(1, "`2026-13-02` is no date")]
    assert not of_unit("inspected 2026-03-02")


def test_many_unknown_names_in_a_large_file() -> None:
    lines = [f"R{i} resistor 1k" for i in range(1, 20_000)] + [f"Q{i}.1 -- R{i}.1" for i in range(1, 3000)]
    begin = time.monotonic()
    assert len(told(*lines)) == 2999
    assert time.monotonic() - begin < 20


def test_windings() -> None:
    head = ("T1 transformer", "R1 resistor 1k", "winding T1 1 -- 2, 115Vac")
    assert only(*head, "T1.3 -- b+")[2] == "T1 has no terminal '3': transformer has 1 2"
    assert only(*head, "winding R1 1 -- 2")[2].startswith("R1 is no transformer or tapped coil")
    assert only(*head, "winding T1 3 -- 3")[2] == "a winding of T1 has the same terminal twice"


def test_states() -> None:
    head = ("S1 switch-spst", "V1 tube 807", "R1 resistor 1k")
    assert only(*head, "state x: S1 onn")[2:] == ("S1 has no position onn: switch-spst has off on", "the nearest is on")
    assert only(*head, "state x: R1 on")[2] == "R1 has no positions: it is a resistor"
    assert not told(*head, "state x: V1 out, S1 at on")


def test_rendering() -> None:
    fault = read_model_text('stock "x"\nV5 tube 807\n\tV5.g4 -- chassis\n', "a.stock")[1][0]
    assert render_fault(fault) == "\n".join([
        "a.stock:3:2: V5 has no terminal 'g4': tube 807 has h1 g2 g1 k h2 p",
        "   V5.g4 -- chassis",
        "   ^^^^^",
        "  the nearest is V5.g2",
    ])  # fmt: skip
    long = render_fault(Fault(Place("f", 1, 5000), "says", "x" * 9000, 3))
    assert max(len(line) for line in long.splitlines()) < 130
    assert long.splitlines()[2].index("^") == 2 + 2 + 60 - 1 + 1


@given(some.text(alphabet='AR1v.?-+=>:,"# \n“—xt', max_size=60))
def test_nothing_makes_the_reader_fall(text: str) -> None:
    read_model_text(HEAD + text)
    read_unit_text(FOUND + text, model(HEAD))


@given(some.text(max_size=40))
def test_every_word_keeps_its_place(text: str) -> None:
    source, statements = read_statements(text, "stock", "t")
    for fault in source.faults:
        line = source.lines[fault.place.line - 1]
        assert 1 <= fault.place.column <= len(line) + 1
    assert all(1 <= statement.place.line <= len(source.lines) for statement in statements)
