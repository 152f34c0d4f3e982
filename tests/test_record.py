"""The record of the work, the unit as left as a drawing, and the commands round the ticks."""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

import netdiff
from netdiff.cli import run
from netdiff.language import Model
from netdiff.reporting import record as report
from netdiff.worklist.progress import Refused, progress, take_reading, tick
from netdiff.worklist.record import compared_again
from netdiff.worklist.ticks import Sheet, beside
from tests.test_progress_kept import DAY, ROOT, work_of


@pytest.fixture
def bench(tmp_path: Path) -> Path:
    """A copy of the demo, so that ticks have a place of their own; the found file of the kitchen radio."""
    shutil.copytree(ROOT / "netlists", tmp_path / "netlists")
    (tmp_path / "examples").mkdir()
    return Path(shutil.copy(ROOT / "examples" / "kitchen-radio.found", tmp_path / "examples"))


def steps(found: Path, capsys: pytest.CaptureFixture[str]) -> list[str]:
    run(["worklist", str(found), "--json"])
    return [step["name"] for step in json.loads(capsys.readouterr().out)["steps"]]


@cache
def facts(sheet: Sheet, name: str = "kitchen-radio") -> dict[str, object]:
    work = work_of(name)
    return report.as_json(work, sheet, progress(work, sheet), compared_again(work, sheet))


def some_work() -> Sheet:
    work = work_of("kitchen-radio")
    sheet = tick(work, Sheet(), "replace_C17", on=DAY, reads=["46n"], meter="No. 3", fitted="47n 250Vac X2")
    sheet = tick(work, sheet, "replace_R3", on="2026-03-10", reads=["5.1M"], because="all that | there <b>was</b>")
    sheet = tick(work, sheet, "solder_C9.2_b-", on="2026-03-10")
    return take_reading(work, sheet, "chassis -- b- = 219k", on="2026-03-11", meter="No. 3")


def test_the_record_tells_found_done_kept_and_not_checked() -> None:
    told = facts(some_work())
    by_title = {one["title"]: one for one in told["modifications"]}  # type: ignore[attr-defined]
    assert by_title["R3 drifted"]["state"] == "undone"
    assert by_title["C13 of another value"]["state"] == "as found"
    kept = [one for one in by_title.values() if one["state"] == "stays"]
    assert [one["reason"] for one in kept] == ["inrush limiter, clear of the wax parts: spares the heaters, stays"]
    assert (told["done"], told["from"], told["to"], told["meters"]) == (3, DAY, "2026-03-10", ["No. 3"])
    assert [one["step"] for one in told["not_measured"]] == ["solder_C9.2_b-"]  # type: ignore[attr-defined]
    assert told["not_looked_at"]["terminals"] == 16  # type: ignore[index]
    assert len(told["not_done"]) == len(work_of("kitchen-radio").steps) - 3  # type: ignore[arg-type]
    assert told["cautions"]


def test_readings_stand_beside_each_other() -> None:
    rows = {(row["what"], row["quantity"], row["state"]): row for row in facts(some_work())["readings"]}  # type: ignore[attr-defined]
    row = rows["chassis to b-", "ohms", "rest"]
    assert (row["before"], row["after"], row["meter"]) == ("215 kΩ", "219 kΩ", "No. 3")
    assert row["drawing"].startswith("220 kΩ")
    row = rows["R3", "ohms", "rest"]
    assert (row["drawing"], row["before"], row["after"]) == ("3.3 MΩ 20 %", "5.1 MΩ", "5.1 MΩ")


def test_a_reading_outside_its_limits_shows_with_its_reason() -> None:
    text = report.as_markdown(facts(some_work()))
    assert "**outside its limits**" in text
    appendix = text[text.index("## Appendix") :]
    assert "R3 measures 5.1 MΩ and should be 2.64 MΩ to 3.96 MΩ" in appendix
    assert "inrush limiter" in appendix
    assert "Nothing in this record says that the unit is safe" in text


def test_what_a_user_wrote_is_no_markup() -> None:
    """The page as a reader of Markdown builds it: no element, and no cell, that is not the record's own."""
    text = report.as_markdown(facts(some_work()))
    assert "<b>" not in text and "all that \\| there &lt;b&gt;was&lt;/b&gt;" in text
    work = work_of("kitchen-radio")
    evil = "[x](javascript:1) `a` # *b* _c_ <img src=x>\n| d |\x1b[31m"
    found = replace(work.comparison.found, circuit=replace(work.comparison.found.circuit, title=evil))
    work = replace(work, comparison=replace(work.comparison, found=found))
    told = report.as_json(work, Sheet(), progress(work, Sheet()), work.comparison)
    head = report.as_markdown(told).splitlines()[0]
    assert head.startswith("# \\[x\\](javascript:1) \\`a\\` \\# \\*b\\* \\_c\\_ &lt;img src=x&gt; \\| d \\|�\\[31m")
    for line in report.as_markdown(told).splitlines():
        if line.startswith("| ") and "readings" not in line:
            assert line.replace("\\|", "").count("|") in (4, 9), line


def test_a_reading_that_belongs_to_no_step() -> None:
    work = work_of("kitchen-radio")
    sheet = take_reading(work, Sheet(), "V5.8 = 121V in playing", on=DAY)
    assert sheet.later[0].reading.what == "V5.k -- b-"
    again = take_reading(work, sheet, "V5.k--b- = 119V in playing", on=DAY)
    assert [one.reading.value for one in again.later] == [119.0]
    for told, says in (
        ("V5.k = 121V", "in a state"),
        ("V5.k = 121V in plaing", "nearest is playing"),
        ("V55.k = 3k", "There is no V55.k"),
        ("b- = 3k", "Both ends"),
        ("3k", "no reading"),
        ("line -- b- = 3uF", "ohms, volts, or open"),
    ):
        with pytest.raises(Refused, match=says):
            take_reading(work, Sheet(), told, on=DAY)


def test_a_reading_taken_again_proves_what_the_old_one_denied() -> None:
    """As found hv read 50 kΩ for want of its bleeder: that is no reading of the unit with the bleeder in."""
    work = work_of("harbourlight-0417")
    sheet = Sheet()
    for step in work.steps:
        sheet = tick(work, sheet, step.name, on=DAY)
    assert not [f for f in compared_again(work, sheet).findings if f.kind == "reading-off"]
    wrong = take_reading(work, sheet, "hv -- chassis = 50k", on=DAY)
    assert [f.kind for f in compared_again(work, wrong).findings if "hv" in f.says and f.kind == "reading-off"]


# --- the commands -----------------------------------------------------------------------------------------------------


def test_ticking_from_the_command_line(bench: Path, capsys: pytest.CaptureFixture[str]) -> None:
    found = str(bench)
    assert run(["worklist", found, "--done", "replace_C17", "--reads", "47n", "--on", DAY]) == 0
    assert "C17 reads 0.047 µF, within its limits" in capsys.readouterr().out
    kept = beside(bench).read_bytes()
    for wrong in (
        ["--done", "replace_C71"],
        ["--done", "replace_R3", "--reads", "9M"],
        ["--done", "replace_R3", "replace_R99"],
        ["--done", "replace_R3", "--on", "yesterday"],
        ["--undone", "replace_R3"],
        ["--reads", "nowhere = 3k"],
        ["--on", DAY],
        ["--because", "x"],
        ["--done", "replace_R3", "replace_C13", "--reads", "3k"],
    ):
        assert run(["worklist", found, *wrong]) == 2, wrong
        assert beside(bench).read_bytes() == kept, wrong
    assert "nearest is replace_C17" in capsys.readouterr().err
    assert run(["worklist", found, "--undone", "replace_C17"]) == 0
    assert "done replace" not in beside(bench).read_text(encoding="utf-8")


def test_a_broken_tick_file_is_told_with_its_line(bench: Path, capsys: pytest.CaptureFixture[str]) -> None:
    beside(bench).write_text("# mine\ndone replace_C17 on 2026-03-09\nI did the cord too\n")
    for command in (
        ["worklist"],
        ["compare", "--as-left"],
        ["worklist", "--parts"],
        ["worklist", "--done", "replace_R3"],
    ):
        assert run([*command[:1], str(bench), *command[1:]]) == 2
        assert "kitchen-radio.done:3:1: this is no tick" in capsys.readouterr().err
    assert run(["compare", str(bench)]) == 1


def test_the_work_is_proven_finished(bench: Path, capsys: pytest.CaptureFixture[str]) -> None:
    names = steps(bench, capsys)
    assert run(["compare", str(bench), "--as-left"]) == 1
    assert run(["worklist", str(bench), "--done", *names, "--on", DAY]) == 0
    capsys.readouterr()
    assert run(["worklist", str(bench)]) == 0
    assert f"All {len(names)} steps are ticked" in capsys.readouterr().out
    assert run(["compare", str(bench), "--as-left"]) == 0
    text = " ".join(capsys.readouterr().out.split())
    assert "nothing that was traced differs from the drawing but what is marked to stay (1 modification)" in text
    assert "Nobody looked at 16 of the 120 terminals" in text
    assert run(["compare", str(bench), "--as-left", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["as_left"]["findings_left"] == []


def test_the_unit_as_left_is_the_next_persons_drawing(bench: Path, capsys: pytest.CaptureFixture[str]) -> None:
    names = steps(bench, capsys)
    out = bench.with_name("left.stock")
    run(["worklist", str(bench), "--done", "replace_C17", "--fitted", "47n 250Vac X2", "--on", DAY])
    run(["worklist", str(bench), "--done", *(name for name in names if name != "replace_C17"), "--on", DAY])
    assert run(["worklist", str(bench), "--as-left-circuit", str(out)]) == 0
    model = netdiff.read(out)
    assert isinstance(model, Model)
    circuit = model.circuit(model.variants()[0])
    assert (circuit.parts["C17"].value, circuit.parts["C17"].words) == (47e-9, ("X2",))
    assert circuit.parts["R4"].value == 500e3
    # The kept limiter is in it, under a name that a drawing can have; what was removed is not.
    assert circuit.parts["RT1"].kind.name == "thermistor"
    assert "J1" not in circuit.parts and not any(name.startswith("?") for name in circuit.parts)
    text = out.read_text(encoding="utf-8")
    assert "inrush limiter" in text and "16 of 120 terminals" in text and "Nothing here says that a" not in text
    assert run(["worklist", str(bench), "--as-left-circuit", str(bench.with_name("left.txt"))]) == 2


def test_record_files(bench: Path, capsys: pytest.CaptureFixture[str]) -> None:
    run(["worklist", str(bench), "--done", "replace_C17", "--on", DAY])
    page, data = bench.with_name("rec.md"), bench.with_name("rec.json")
    assert run(["worklist", str(bench), "--record", "-o", str(page)]) == 0
    assert run(["worklist", str(bench), "--record", "-o", str(data)]) == 0
    assert page.read_text(encoding="utf-8").startswith("# Kitchen radio")
    assert json.loads(data.read_text(encoding="utf-8"))["done"] == 1
    assert run(["worklist", str(bench), "--record", "-o", str(bench.with_name("rec.txt"))]) == 2
    capsys.readouterr()
    assert run(["worklist", str(bench), "--record"]) == 0
    assert capsys.readouterr().out == page.read_text(encoding="utf-8")
