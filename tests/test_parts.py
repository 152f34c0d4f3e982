"""What to buy for the demo units, read as a restorer would; and what is never bought."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given, settings

from netdiff.cli import run
from netdiff.comparison import compare_circuits
from netdiff.reporting.parts import COLUMNS, as_csv, as_json
from netdiff.worklist import worklist
from netdiff.worklist.parts import Line, Shopping, needed, shopping
from tests.test_progress_kept import ROOT, harbour, work_of
from tests.test_worklist_laws import edits, seeds, sizes, unit


@cache
def goods_of(name: str) -> Shopping:
    return shopping(work_of(name))


def lines(name: str = "harbourlight-0417") -> dict[str, Line]:
    """By the part that they are for."""
    return {part: line for line in goods_of(name).needed for part in line.parts}


def test_harbour_what_is_bought() -> None:
    says = {name: line.spec.says for name, line in lines().items()}
    assert says["C56A"] == "electrolytic capacitor 22 µF, 450 V or more"
    assert says["C61"] == "electrolytic capacitor 47 µF, 250 V or more"
    assert says["R45"] == "resistor 24 kΩ, 50 W or more, wirewound"
    assert says["F2"].startswith("fuse 3 A") and says["F1"].startswith("fuse 5 A")
    assert says["V13"] == says["V14"] == "866A tube"
    assert says["C69"] == "capacitor 0.01 µF, 250 V AC or more, Y2"
    assert says["C29"] == "capacitor 0.0022 µF, 2500 V or more, mica"
    assert says["R20"] == "resistor 47 Ω, 2 W or more, non-inductive"
    assert says["TB3.3 to TB9.1"] == "18 AWG hook-up wire, 1000 V or more"


def test_harbour_alike_ones_stand_together() -> None:
    by_part = lines()
    assert by_part["C69"] is by_part["C70"]
    assert by_part["C69"].pieces == 2
    assert by_part["V13"].pieces == 2
    # The leaking section and the one that shares its can.
    assert by_part["C56A"].parts == ("C56A", "C56B")
    coax = by_part["M2.2 to J5.center"]
    assert (coax.spec.says, coax.pieces, coax.metres) == ("RG-8 coax", 0, 0.6)


def test_what_the_work_list_uses_again_is_not_bought() -> None:
    """Moved, exchanged and re-landed parts stay; what comes out is no purchase; the kept cord is kept."""
    bought = set(lines())
    assert not bought & {"Y1", "Y3", "R52", "C20", "J6", "S3", "K2", "?C1", "?A1", "E8", "W1"}
    assert "W1" in lines("kitchen-radio")


def test_what_stood_the_wrong_way_round_leaks_or_is_on_the_mains_is_bought() -> None:
    why = {item.part: item.why for item in needed(harbour(), harbour().steps)}
    assert why["C61"] == "wrong way round"
    assert why["C56A"] == "leaking"
    assert why["R17"] == "charred"
    assert why["F2"] == "blown"
    assert why["C69"] == "from the line to metal, no safety class"
    kitchen = lines("kitchen-radio")
    assert kitchen["C17"].spec.says == "capacitor 0.047 µF, 250 V AC or more, X2"
    assert kitchen["C18"].spec.says == "capacitor 0.01 µF, 250 V AC or more, Y2"
    assert not kitchen["C18"].items[0].within
    assert any("8.8 mA" in note for note in kitchen["C18"].notes)


def test_age_is_told_apart_and_what_was_renewed_is_not_in_it() -> None:
    aged = {name for line in goods_of("harbourlight-0417").aged for name in line.parts}
    assert {"C42", "C48", "C9", "C44", "CR2"} <= aged
    assert not aged & {"C61", "C40", "C56A", "C69", "C65", "C17"}
    assert not aged & set(lines())
    # Of the modulator nobody knows whether its parts are the old ones.
    assert "C54" not in aged
    assert {"C9", "C12", "C15"} == {name for line in goods_of("kitchen-radio").aged for name in line.parts}


def test_what_is_done_is_not_bought_again() -> None:
    work = harbour()
    done = {"replace_R18", "replace_C56A", "replace_C56B", "run_J5.center_M2.2", "replace_F2"}
    left = shopping(work, [step for step in work.steps if step.name not in done])
    names = {name for line in left.needed for name in line.parts}
    assert not names & {"R18", "C56A", "C56B", "F2", "M2.2 to J5.center"}
    assert {"C70", "R45", "C61"} <= names


@settings(max_examples=20, deadline=None)
@given(seeds, sizes, edits)
def test_each_part_that_a_step_puts_in_is_bought_once(seed: int, size: int, count: int) -> None:
    work = worklist(compare_circuits(*unit(seed, size, count)))
    items = list(needed(work, work.steps))
    put_in = sorted(p.designator for s in work.steps if s.action in ("replace", "fit") for p in s.change.parts_on)
    assert sorted(item.part for item in items if item.why in ("replaced", "missing")) == put_in
    bought = [item.part for item in items if item.drawn is not None]
    assert len(set(bought)) == len(bought)
    assert not any(name.startswith("?") for name in bought)


def test_lengths_are_cut_with_some_more() -> None:
    line = lines("kitchen-radio")["R4.arm to C12.1"]
    assert (line.items[0].metres, line.metres) == (0.08, 0.5)
    three = line._replace(items=(line.items[0]._replace(metres=0.45),) * 3)
    assert three.metres == pytest.approx(1.7)


def test_csv_has_a_row_a_line_and_no_formula() -> None:
    goods = goods_of("harbourlight-0417")
    rows = list(csv.DictReader(io.StringIO(as_csv(goods))))
    assert len(rows) == len(goods.needed) + len(goods.aged)
    row = next(row for row in rows if row["for"] == "C29")
    assert (row["count"], row["value"], row["unit"], row["volts"]) == ("1", "2.2e-09", "F", "2500")
    assert (row["off_percent"], row["within_tolerance"], row["needed"]) == ("+10.0", "yes", "before power")
    assert tuple(rows[0]) == COLUMNS
    assert (row["metres"], row["watts"], row["notes"]) == ("", "", "")
    evil = goods.needed[0].items[0]._replace(part='=cmd|" /C calc"!A0', why="@SUM(1)")
    text = as_csv(goods._replace(needed=(goods.needed[0]._replace(items=(evil,)),), aged=()))
    (row,) = csv.DictReader(io.StringIO(text))
    assert row["for"].startswith("'=") and row["why"].startswith("'@")


def test_json_and_the_files(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    goods = goods_of("harbourlight-0417")
    told = as_json(harbour(), goods)
    assert sum(line["count"] for line in told["needed"]) == sum(line.pieces for line in goods.needed)
    found = str(ROOT / "examples" / "kitchen-radio.found")
    out = tmp_path / "parts.csv"
    assert run(["worklist", found, "--parts", "-o", str(out)]) == 0
    assert out.read_text(encoding="utf-8").startswith("count,metres,what")
    assert run(["worklist", found, "--parts", "-o", str(tmp_path / "parts.xls")]) == 2
    assert run(["worklist", found, "-o", str(out)]) == 2
    capsys.readouterr()
    assert run(["worklist", found, "--parts"]) == 0
    text = capsys.readouterr().out
    assert "1 x  capacitor 0.047 µF, 250 V AC or more, X2" in text
    assert text.count("NOT within its tolerance") == 1  # C18
    assert not list(tmp_path.glob("*.xls"))


def test_a_label_is_no_markup(capsys: pytest.CaptureFixture[str]) -> None:
    from netdiff.reporting.page import Page
    from netdiff.reporting.parts import print_parts

    work = harbour()
    circuit = replace(work.comparison.found.circuit, title="[bold]\x1b[31mNo. 1")
    found = replace(work.comparison.found, circuit=circuit)
    other = replace(work, comparison=replace(work.comparison, found=found))
    print_parts(Page(), other, shopping(other), 1)
    text = capsys.readouterr().out
    assert "[bold]�[31mNo. 1" in text and "\x1b" not in text
