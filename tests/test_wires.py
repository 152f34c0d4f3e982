"""Wire lists: written for a spreadsheet, read back to the same circuit."""

from __future__ import annotations

import csv
import io
import json
import random
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import netdiff
from netdiff.cli import run
from netdiff.language import Model, Unit, read, read_model_text, read_unit_text
from netdiff.reporting import cells, from_wires, wires
from tests import generate, modifier, same
from tests.test_writing_found import knows_the_same
from tests.test_writing_out import FULL
from tests.texts import model

ROOT = Path(__file__).parents[1]
DEMO = sorted(ROOT.glob("netlists/*.stock"))
UNITS = sorted(ROOT.glob("examples/*.found"))
LANTERN = ROOT / "netlists" / "lantern.stock"


def again(listed: wires.WireList, folder: Path, *, separator: str = ",", of: str = "") -> str:
    """The text that comes of a list of which every row was read."""
    name = str(folder / "list.csv")
    out = folder / f"again.{listed.circuit}"
    got = from_wires.read_list(wires.as_file(listed, separator), name, out, of=of)
    assert not got.unread, got.unread
    return got.text


# --- there and back


@pytest.mark.parametrize("path", DEMO, ids=lambda path: path.stem)
@pytest.mark.parametrize("separator", [",", ";", "\t"], ids=["comma", "semicolon", "tab"])
def test_a_drawing_of_the_demo_comes_back(path: Path, separator: str, tmp_path: Path) -> None:
    drawn = read(path)
    assert isinstance(drawn, Model)
    text = again(wires.of_thing(drawn), tmp_path, separator=separator)
    back, faults = read_model_text(text, "again.stock")
    assert back is not None, faults
    circuit = drawn.circuit(drawn.variants()[0])
    assert same.parts(back.circuit()) == same.parts(circuit)
    assert same.runs(back.circuit()) == same.runs(circuit)
    assert same.rest(back.circuit()) == same.rest(circuit)


@pytest.mark.parametrize("path", UNITS, ids=lambda path: path.stem)
def test_a_unit_of_the_demo_comes_back(path: Path) -> None:
    one = netdiff.read(path)
    assert isinstance(one, Unit)
    text = again(wires.of_thing(one), path.parent)
    back, faults = read_unit_text(text, one.model, one.file, path.parent)
    assert back is not None, faults
    variant = wires.active(one)
    knows_the_same(one.found(variant), back.found(variant))
    assert back.production == one.production and back.title == one.title


def test_everything_that_a_stock_file_may_say_comes_back(tmp_path: Path) -> None:
    drawn = model(FULL)
    back, faults = read_model_text(again(wires.of_thing(drawn), tmp_path), "again.stock")
    assert back is not None, faults
    for what in (same.parts, same.runs, same.rest):
        assert what(back.circuit()) == what(drawn.circuit())


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10**6), st.integers(1, 40), st.sampled_from(",;\t"))
def test_random_drawings_come_back(seed: int, size: int, separator: str) -> None:
    drawn = model(generate.stock(random.Random(seed), size))
    back, faults = read_model_text(again(wires.of_thing(drawn), Path("."), separator=separator), "again.stock")
    assert back is not None, faults
    for what in (same.parts, same.runs, same.rest):
        assert what(back.circuit()) == what(drawn.circuit())


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10**6), st.integers(0, 6))
def test_modified_units_come_back_from_a_shuffled_list(seed: int, count: int) -> None:
    """Each row stands for itself: sorted or shuffled, the list says the same."""
    drawn = read(LANTERN)
    assert isinstance(drawn, Model)
    bench = modifier.modified(drawn.circuit(), seed, count)
    one, faults = read_unit_text(modifier.write(bench, "lantern.stock"), drawn, "u.found")
    assert one is not None, faults
    listed = wires.of_thing(one)
    rows = list(listed.rows)
    random.Random(seed).shuffle(rows)
    text = again(listed._replace(rows=tuple(rows)), ROOT / "netlists")
    back, faults = read_unit_text(text, drawn, "u.found")
    assert back is not None, faults
    # What is told in another order may be listed in another order.
    one_found, other = one.found(), back.found()
    assert same.parts(one_found.circuit) == same.parts(other.circuit)
    assert same.nets(one_found.circuit) == same.nets(other.circuit)
    assert same.runs(one_found.circuit, unit=True) == same.runs(other.circuit, unit=True)
    assert (one_found.traced, one_found.missing, one_found.mentioned) == (other.traced, other.missing, other.mentioned)


# --- cells


@given(st.text(max_size=30))
def test_a_guarded_cell_is_no_formula_and_comes_back(text: str) -> None:
    guarded = cells.guarded(text)
    assert cells.unguarded(guarded) == text
    assert guarded.lstrip("\t\r\n \v\f")[:1] not in tuple("=+-@") or not guarded.strip()


@given(
    st.lists(st.lists(st.text(st.characters(exclude_characters="\0"), max_size=12), min_size=2, max_size=5), max_size=6)
)
def test_any_cells_come_back(rows: list[list[str]]) -> None:
    rows = [["from", "to"], *rows]
    for separator in cells.SEPARATORS:
        data = cells.written(rows, separator).encode("utf-8-sig", "surrogatepass")
        try:
            data.decode("utf-8")
        except UnicodeDecodeError:
            return
        sheet = cells.read(data, lambda found: found[:1] == (("from", "to"),))
        assert [list(row) for row in sheet.rows] == rows


def test_formulas_of_a_hostile_file_are_texts(tmp_path: Path) -> None:
    drawn = model(
        'stock "=cmd()"\nR1 resistor 1k "=HYPERLINK(""x"")"\nR2 resistor 1k "@sum"\nchassis -- R1 -- R2 -- chassis\n'
    )
    listed = wires.of_thing(drawn)
    rows = list(csv.reader(io.StringIO(wires.as_csv(listed), newline="")))
    assert not [cell for row in rows for cell in row if cell[:1] in tuple("=+-@\t\r")]
    back, _ = read_model_text(again(listed, tmp_path), "x.stock")
    assert back is not None and back.circuit().parts["R1"].label == '=HYPERLINK("x")'
    assert back.circuit().parts["R2"].label == "@sum"


def test_the_file_begins_with_the_mark_of_utf_8() -> None:
    drawn = model('stock "µ and Ω"\nR1 resistor 1k\nchassis -- R1 -- chassis\n')
    assert wires.as_file(wires.of_thing(drawn)).startswith(b"\xef\xbb\xbfrow,from,to,")


# --- other people's lists

STOCK = """stock "S"
J1 jack-2
V1 tube 6V6GT
R1 resistor 22k
C1 electrolytic 20u
net b+ supply 250V
net mic audio
b+ -- R1 -- V1.p
b+ -- C1.+/- -- chassis
J1.tip -- mic -- V1.g1
J1.sleeve -- chassis
V1.k -- chassis
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "s.stock").write_text(STOCK, encoding="utf-8")
    return tmp_path


def got(
    folder: Path, text: str | bytes, *, partly: bool = False, kind: str = "", of: str = "s.stock"
) -> from_wires.Read:
    data = text if isinstance(text, bytes) else text.encode()
    stock = str(folder / of) if of else ""
    return from_wires.read_list(data, str(folder / "in.csv"), folder / "unit.found", kind=kind, of=stock, partly=partly)


@pytest.mark.parametrize(
    ("headings", "row", "line"),
    [
        ("From,To", "V1.8,chassis", "V1.8 -- chassis"),
        ("from point;to point;Remarks", "V1-8;GND;yellow", 'V1.8 -- chassis, "yellow"'),
        ("A\tB\tColor", "V1 pin 8\tB+\tred", 'V1.8 -- b+, "red"'),
        ("a,b,wire,awg,Length (in)", "v1.8,Chassis,bus,18,12", "bus V1.8 -- chassis, 12in, 18AWG"),
        ("FROM,TO,Length mm,Gauge,conductor", "V1:8,chassis,90,AWG 20,Wire", "wire V1.8 -- chassis, 90mm, 20AWG"),
        ("From,To,Cable,Length mm", "V1.8,chassis,W7,90", 'V1.8 -- chassis, "cable W7, 90mm"'),
        ("From,To,Cable type,Length mm", "J1.tip,V1.g1,rg-58,90", "coax J1.tip -- V1.g1, RG-58, 90mm"),
        ("From,To,Bare mm", "J1.tip,V1.g1,20", "wire J1.tip -- V1.g1, bare 20mm"),
        ("From;To;Wire;Length [cm]", "V1/8;chassis;wire;12,5", "wire V1.8 -- chassis, 125mm"),
        ("From,To,Wire,Length", 'V1.8,chassis,wire,"90,5 mm"', "wire V1.8 -- chassis, 90.5mm"),
        ("From,To,Wire,Length", 'V1.8,chassis,wire,"4"""', "wire V1.8 -- chassis, 4in"),
        ("From part,From pin,To part,To pin", "V1,8,J1,sleeve", "V1.8 -- J1.sleeve"),
        ("Wire no,From,To,Type,Shield", "W3,J1.tip,V1.g1,coax RG-58,chassis -- open",
         "coax J1.tip -- V1.g1, cable W3, RG-58, braid chassis -- open"),
        ("From,To,Cable,Braid from,Braid to", "J1.tip,V1.g1,W3,J1.sleeve,not connected",
         "shielded J1.tip -- V1.g1, cable W3, braid J1.sleeve -- open"),
        ("from,to", "V1.8,not followed", "V1.8 -- ?"),
        ("from,to,condition,known", "V1.8,chassis,frayed,Metered", "V1.8 -- chassis, metered, frayed"),
        ("from,to,condition", "V1.8,chassis,smells odd", 'V1.8 -- chassis, "smells odd"'),
        ("from,to,lands", "V1.8,J1.sleeve,direct", "V1.8 -- J1.sleeve, direct"),
    ],
)  # fmt: skip
def test_headings_and_cells_are_forgiven(folder: Path, headings: str, row: str, line: str) -> None:
    read_ = got(folder, f"{headings}\n{row}\n")
    assert not read_.unread, read_.unread
    assert line in read_.text.splitlines()


@pytest.mark.parametrize(
    ("headings", "row", "reason"),
    [
        ("from,to", "V1.8,", "there is no point in the column `to`"),
        ("from,to", "V1.g9,chassis", "V1 has no terminal 'g9': tube 6V6GT has"),
        ("from,to", "V2.1,chassis", "the drawing has no V2"),
        ("from,to", "V1.8,bee", "no line declares the net bee"),
        ("from,to", "C1,chassis", "C1 is polarised"),
        ("from,to", "V1.8,V1.8", "connected to itself"),
        ("from,to", "V1.8 -- b+,chassis", "is no terminal and no net name"),
        ("from,to", "V1.8,chassis # rest", "is no terminal and no net name"),
        ("from,to,length", "V1.8,chassis,90", "has no unit"),
        ("from,to,length mm", 'V1.8,chassis,"1,200"', "may be 1200 or 1.200"),
        ("from,to,length mm", "V1.8,chassis,long", "`long` is no length"),
        ("from,to,awg", "V1.8,chassis,0.5mm2", "is no gauge"),
        ("from,to,known", "V1.8,chassis,metred", "the nearest is metered"),
        ("from,to,gap", "V1.8,chassis,near", "is no gap"),
        ("from,to,cable", "V1.8,chassis,to the lamp", "is no name of a cable"),
        ("from,to,lands", "V1.8,chassis,maybe", "does not say where the wire lands"),
        ("from,to,part", ",,V1 V2", "terminal|V1V2"),
        ("from,to,part,kind", ",,?R9,resistr 22k", "resistor"),
        ("from,to,part,kind", ",,?R9,\"resistor 22k, charred\"", "says nothing of a part"),
        ("from,to,part,kind,measured", ",,R1,,\"18,k\"", "no quantity"),
        ("from,to,statement", ",,traced V7", "the drawing has no V7"),
        ("row,from,to", "statement,,", "none stands in it"),
        ("from,to,note", ",,lost", "neither what is joined to what"),
    ],
)  # fmt: skip
def test_a_row_that_is_not_read_is_named_with_its_reason(folder: Path, headings: str, row: str, reason: str) -> None:
    import re

    good = ",V1.k,chassis" if headings.startswith("row") else "V1.k,chassis"
    read_ = got(folder, f"{headings}\n{good}\n{row}\n")
    assert not read_.text, "nothing half written"
    assert [one.row for one in read_.unread] == [3]
    assert re.search(reason if "|" in reason else re.escape(reason), read_.unread[0].reason), read_.unread[0].reason
    rest = got(folder, f"{headings}\n{good}\n{row}\n", partly=True)
    assert "V1.k -- chassis\n" in rest.text and "# Row 3 of the list was not read: " in rest.text
    assert read_unit_text(rest.text, model(STOCK), "x.found")[0] is not None


def test_every_row_that_is_not_read_is_named(folder: Path) -> None:
    read_ = got(folder, "from,to\nV1.9,chassis\n\nV1.8,\nV1.8,chassis\nV8.1,b+\n")
    assert [one.row for one in read_.unread] == [2, 4, 6]
    assert got(folder, "from,to\nV1.9,chassis\n\nV1.8,\nV1.8,chassis\nV8.1,b+\n", partly=True).wires == 1


def test_a_part_that_is_not_read_is_not_blamed_on_its_wires(tmp_path: Path) -> None:
    text = "part,kind,from,to\nR1,resistr 1k,,\n,,R1.1,chassis\n,,R1.2,chassis\n"
    read_ = from_wires.read_list(text.encode(), "x.csv", tmp_path / "x.stock")
    assert [one.row for one in read_.unread] == [2]


def test_a_list_with_a_title_above_its_headings_is_read(folder: Path) -> None:
    read_ = got(folder, "Wiring of unit 3,,\n12 March,,\n\nNo.,From,To\n1,V1.8,chassis\n2,V1.5,mic\n")
    assert read_.wires == 2 and read_.notes == ("The column `No.` was not read.",)


def test_what_a_conductor_is_is_not_guessed(folder: Path) -> None:
    """A list without such a column must not make findings of an unshielded run."""
    read_ = got(folder, "from,to,cable,length mm\nJ1.tip,mic,W1,80\nmic,V1.g1,W2,90\n")
    assert 'J1.tip -- mic, "cable W1, 80mm"' in read_.text
    assert read_.notes[0].startswith("2 rows: not said what the conductor is")


def test_what_is_no_list_is_told(folder: Path) -> None:
    for data, says in (
        (b"", "nothing in the list"), (b"alpha,beta\n1,2\n", "no row of headings"), (b"\0\1\2", "binary"),
        (b"from,to\n" + b"x" * 200_000, "no row of cells"), (b"\xff\xfefro", "UTF-16"),
    ):  # fmt: skip
        with pytest.raises(from_wires.NoListError, match=says):
            got(folder, data)


def test_texts_of_other_encodings_are_read(folder: Path) -> None:
    text = "from\tto\tnote\nV1.8\tchassis\tgrün\n"
    assert '"grün"' in got(folder, text.encode("utf-16")).text
    latin = got(folder, text.encode("cp1252"))
    assert '"grün"' in latin.text and "Windows-1252" in latin.notes[0]
    assert "V1.8 -- chassis" in got(folder, "sep=;\r\nfrom;to\r\nV1.8;chassis\r\n").text


def test_rows_keep_the_numbers_of_the_spreadsheet(folder: Path) -> None:
    """A cell of several lines is one row; the line that names the separator is one too."""
    read_ = got(folder, 'from,to,note\nV1.k,chassis,"two\nlines"\nV1.9,chassis,\n')
    assert [one.row for one in read_.unread] == [3]
    assert [one.row for one in got(folder, "sep=,\nfrom,to\nV1.9,chassis\n").unread] == [3]


def test_the_drawing_has_to_be_known(folder: Path) -> None:
    with pytest.raises(from_wires.NoListError, match="--of"):
        got(folder, "from,to\nV1.8,chassis\n", of="", kind="found")
    with pytest.raises(netdiff.Faulty):
        got(folder, "from,to\nV1.8,chassis\n", of="nowhere.stock")
    drawing = wires.as_file(wires.of_thing(model(STOCK)))
    with pytest.raises(from_wires.NoListError, match="of a drawing"):
        got(folder, drawing, of="", kind="found")
    unit = wires.as_file(wires.of_thing(netdiff.read(UNITS[0])))
    with pytest.raises(from_wires.NoListError, match="of a unit"):
        got(folder, unit, of="", kind="stock")


# --- the commands


def test_there_and_back_by_the_commands(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "sub").mkdir()
    listed, back = tmp_path / "sub" / "attic.csv", tmp_path / "back.found"
    attic = str(ROOT / "examples" / "attic.found")
    assert run(["wires", attic, "-o", str(listed)]) == 0
    assert run(["from-wires", str(listed), "-o", str(back)]) == 0
    assert "every row was read" in capsys.readouterr().out
    told = []
    for file in (attic, str(back)):
        assert run(["compare", file, "--json"]) == 1
        value = json.loads(capsys.readouterr().out)
        told.append([(f["kind"], f["parts"], f["says"]) for f in value["findings"]])
    assert told[0] == told[1]


def test_the_list_goes_to_the_terminal_too(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["wires", str(LANTERN)]) == 0
    out = capsys.readouterr().out
    assert out.startswith("row,from,to,") and "wire,C1.2,J2.center,coax,W1,RG-58,180,chassis,J2.shell" in out
    assert run(["wires", str(ROOT / "examples" / "attic.found"), "--circuit", "stock"]) == 0
    assert capsys.readouterr().out == out


def test_the_production_may_be_chosen(capsys: pytest.CaptureFixture[str]) -> None:
    radio = str(ROOT / "netlists" / "five-tube-acdc.stock")
    assert run(["wires", radio, "--production", "late"]) == 0
    assert "DS1" in (late := capsys.readouterr().out) and ",R11,resistor 150ohm" in late
    assert run(["wires", radio]) == 0
    assert ",R11,resistor 150ohm" not in capsys.readouterr().out
    assert run(["wires", radio, "--production", "middle"]) == 2
    assert "it has early and late" in capsys.readouterr().err


def test_a_unit_that_names_no_production_is_shown_as_it_is_compared() -> None:
    text = (
        'stock "S"\nproduction early\nproduction late\nV1 tube 6V6GT\nR1 resistor 1k\nR2 resistor 2k\n'
        "only early: V1.p -- R1 -- chassis\nonly late: V1.p -- R1 -- V1.k\nR2.1 -- V1.g1\nR2.2 -- chassis\n"
    )
    one, faults = read_unit_text('found "u" of "t.stock"\ntraced V1\nV1.p -- R1 -- V1.k\nR2 -- V1.g1\n', model(text))
    assert one is not None, faults
    assert wires.active(one) == {"late"}
    assert wires.active(one, "early") == {"early"}


def test_nothing_is_written_where_a_row_is_not_read(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (folder / "in.csv").write_text("from,to\nV1.9,chassis\nV1.8,chassis\n", encoding="utf-8")
    out = folder / "out.found"
    words = ["from-wires", str(folder / "in.csv"), "--of", str(folder / "s.stock"), "-o", str(out)]
    assert run(words) == 2
    told = capsys.readouterr().out
    assert told.startswith("row 2: V1 has no terminal '9'") and "nothing is written" in told
    assert not out.exists()
    assert run([*words, "--partly"]) == 1
    assert isinstance(netdiff.read(out), Unit)
    out.write_text("somebody's notes", encoding="utf-8")
    assert run([*words, "--partly"]) == 2
    assert "is there already" in capsys.readouterr().err and out.read_text(encoding="utf-8") == "somebody's notes"
    assert run([*words, "--partly", "--replace"]) == 1
    assert isinstance(netdiff.read(out), Unit)


def test_trouble_is_told_in_words(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for words, says in (
        (["wires", str(LANTERN), "-o", "x.pdf"], ".graphml"),
        (["wires", str(LANTERN), "--circuit", "found"], "is a drawing"),
        (["wires", str(ROOT / "examples" / "attic.found"), "--circuit", "both"], "of one circuit"),
        (["from-wires", str(folder / "no.csv")], "No such file"),
        (["from-wires", str(folder / "s.stock")], "no row of headings"),
        (["from-wires", str(folder / "s.stock"), "-o", "x.txt"], "must end in"),
    ):
        assert run(words) == 2
        assert says in capsys.readouterr().err


def test_ten_thousand_rows_in_a_few_seconds(tmp_path: Path) -> None:
    import time

    drawn = model(generate.stock(random.Random(3), 5000))
    assert len(drawn.circuit().runs) > 9000
    start = time.process_time()
    data = wires.as_file(wires.of_thing(drawn))
    written = time.process_time()
    assert written - start < 3  # 0.2 s where nobody else is at work
    assert from_wires.read_list(data, "x.csv", tmp_path / "x.stock").text
    assert time.process_time() - written < 8
