"""The command line: exit codes, JSON, and what it says to bad input."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from netdiff.cli import main, run
from netdiff.commands.shared import DIFFERENT, SAME, TROUBLE

ROOT = Path(__file__).resolve().parents[1]
STOCK = str(ROOT / "netlists" / "lantern.stock")
FOUND = str(ROOT / "examples" / "attic.found")
EXPECTED = {"reversed", "broken-ground", "inserted-part", "unshielded-run", "substituted-part"}


@pytest.fixture
def clean_unit(tmp_path: Path) -> str:
    """A unit as drawn, as far as one looked."""
    (tmp_path / "lantern.stock").write_text(Path(STOCK).read_text(encoding="utf-8"), encoding="utf-8")
    unit = tmp_path / "clean.found"
    unit.write_text('found "No. 1" of "lantern.stock"\nas-drawn under\n', encoding="utf-8")
    return str(unit)


@pytest.fixture
def faulty(tmp_path: Path) -> str:
    file = tmp_path / "faulty.stock"
    file.write_text('stock "Faulty"\nR1 resistor 22k\nR1.3 -- chassis\nR2.1 -- chassis\n', encoding="utf-8")
    return str(file)


def test_compare(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["compare", FOUND, "--json"]) == DIFFERENT
    found = json.loads(capsys.readouterr().out)
    assert {one["kind"] for one in found["findings"] if not one["drawn"]} == EXPECTED
    assert run(["compare", FOUND]) == DIFFERENT
    assert "Clear before any power is applied" in capsys.readouterr().out


def test_a_clean_unit_compares_clean(clean_unit: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["compare", clean_unit]) == SAME
    text = capsys.readouterr().out
    assert "No difference in what was traced." in text
    assert "Nobody looked at" in text
    assert run(["worklist", clean_unit]) == SAME
    assert "Before a hand goes in" in capsys.readouterr().out


def test_worklist(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["worklist", FOUND, "--json"]) == DIFFERENT
    work = json.loads(capsys.readouterr().out)
    assert work["cautions"]
    assert all(step["says"] and step["name"] for step in work["steps"])
    assert run(["worklist", FOUND]) == DIFFERENT
    assert work["steps"][0]["says"][:30] in capsys.readouterr().out


def test_check(faulty: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["check", STOCK, FOUND]) == SAME
    assert capsys.readouterr().out.count("no fault") == 2
    assert run(["check", STOCK, faulty]) == TROUBLE
    text = capsys.readouterr().out
    assert f"{faulty}:3:" in text
    assert f"{faulty}:4:" in text
    assert "^" in text
    assert "2 faults" in text
    assert run(["check", "--json", faulty, STOCK]) == TROUBLE
    files = json.loads(capsys.readouterr().out)["files"]
    assert [len(one["faults"]) for one in files] == [2, 0]
    assert [fault["line"] for fault in files[0]["faults"]] == [3, 4]


@pytest.mark.parametrize("command", ["compare", "worklist", "tidy"])
def test_faults_go_to_the_error_stream_or_into_json(
    command: str, faulty: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run([command, faulty]) == TROUBLE
    said = capsys.readouterr()
    assert not said.out
    assert f"{faulty}:3:" in said.err
    assert run([command, faulty, "--json"]) == TROUBLE
    assert {fault["line"] for fault in json.loads(capsys.readouterr().out)["faults"]} == {3, 4}


def test_a_drawing_is_no_unit(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["compare", STOCK]) == TROUBLE
    assert "is a drawing" in capsys.readouterr().err
    assert run(["worklist", STOCK, "--json"]) == TROUBLE
    assert "is a drawing" in json.loads(capsys.readouterr().out)["trouble"]


@pytest.mark.parametrize("command", [["check"], ["compare"], ["worklist"], ["tidy"], ["draw", "-o", "out.svg"]])
@pytest.mark.parametrize("what", ["missing", "folder", "binary", "empty"])
def test_no_traceback_for_bad_input(
    command: list[str], what: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    file = tmp_path / "bad.found"
    if what == "folder":
        file.mkdir()
    elif what != "missing":
        file.write_bytes(bytes(range(256)) if what == "binary" else b"")
    assert run([*command, "bad.found"]) == TROUBLE
    said = capsys.readouterr()
    assert "bad.found" in said.out + said.err
    assert "Traceback" not in said.out + said.err
    assert sorted(os.listdir(tmp_path)) == ([] if what == "missing" else ["bad.found"])


def test_draw(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "unit.svg"
    assert run(["draw", FOUND, "-o", str(out)]) == SAME
    assert "<svg" in out.read_text(encoding="utf-8")
    assert run(["draw", STOCK, "-o", str(tmp_path / "stock.dot"), "--around", "V1", "--json"]) == SAME
    made = json.loads(capsys.readouterr().out.partition("\n")[2])
    assert made["made"].endswith("stock.dot")
    for wrong in (["-o", "unit.jpeg"], ["-o", str(out), "--around", "Q9"], ["-o", str(tmp_path / "no" / "unit.svg")]):
        assert run(["draw", FOUND, *wrong]) == TROUBLE
    said = capsys.readouterr().err
    assert ".svg, .png, .pdf, .dot" in said
    assert "Q9" in said
    assert f"{tmp_path / 'no' / 'unit.svg'}: No such file or directory" in said


def test_tidy(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["tidy", STOCK]) == SAME
    text = capsys.readouterr().out
    file = tmp_path / "lantern.stock"
    file.write_text(Path(STOCK).read_text(encoding="utf-8"), encoding="utf-8")
    assert run(["tidy", str(file), "-o", str(file)]) == SAME
    assert not capsys.readouterr().out
    assert file.read_text(encoding="utf-8") == text
    assert run(["tidy", str(file)]) == SAME
    assert capsys.readouterr().out == text


def test_kinds(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["kinds"]) == SAME
    text = capsys.readouterr().out
    assert "relay-spdt" in text
    assert "6V6GT" in text
    assert run(["kinds", "6V6GT"]) == SAME
    assert "6.3 V" in capsys.readouterr().out
    assert run(["kinds", "relay-spdtt"]) == TROUBLE
    assert "relay-spdt" in capsys.readouterr().err
    assert run(["kinds", "--json"]) == SAME
    assert {"kinds", "tubes"} == set(json.loads(capsys.readouterr().out))


def test_wrong_arguments_are_trouble() -> None:
    for words in ([], ["solder"], ["compare"], ["compare", FOUND, "--colour"], ["draw", FOUND]):
        with pytest.raises(SystemExit) as stop:
            run(words)
        assert stop.value.code == TROUBLE


def test_a_crash_does_not_say_that_a_unit_differs(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def crash(_: object) -> int:
        raise ZeroDivisionError

    crash.__name__ = "check"

    monkeypatch.setattr("netdiff.commands.check.run", crash)
    monkeypatch.setattr(sys, "argv", ["netdiff", "check", STOCK])
    with pytest.raises(SystemExit) as stop:
        main()
    assert stop.value.code == TROUBLE
    assert "a fault of the program" in capsys.readouterr().err


def test_a_reader_that_goes_away_is_no_trouble_worth_a_word() -> None:
    command = f"{sys.executable} -m netdiff kinds | head -1"
    done = subprocess.run(command, shell=True, cwd=ROOT, capture_output=True, timeout=60)
    assert done.stdout.startswith(b"resistor")
    assert not done.stderr
