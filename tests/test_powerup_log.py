"""The log of a power-up: what may be logged when, what counts as passed, the file, the command."""

from __future__ import annotations

import json
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import date
from functools import cache
from math import inf
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import netdiff
from netdiff import cli
from netdiff.hazards import examine
from netdiff.language import Model
from netdiff.powerup import log
from netdiff.powerup.log import Broken, Entry, Refused, Standing, Unknown, logged, passes, read, standing, text_of
from netdiff.powerup.plan import Plan, plan_of
from netdiff.powerup.stages import Ask

ROOT = Path(__file__).resolve().parents[1]
DAY = "2026-03-02"


@cache
def planned(name: str = "lantern") -> Plan:
    model = netdiff.read(ROOT / "netlists" / f"{name}.stock")
    assert isinstance(model, Model)
    return plan_of(model.circuit(model.variants()[0]))


def good(ask: Ask) -> str:
    """A reading that passes."""
    if ask.quantity == "yes":
        return "yes"
    if ask.open:
        return "open"
    low = ask.low if ask.low is not None else (ask.high or 0.0)
    high = ask.high if ask.high is not None else low
    unit = {"Vac": "Vac", "ohm": "ohm", "": ""}.get(ask.unit, ask.unit)
    return f"{(low + high) / 2:.6f}{unit}"


def walked(plan: Plan, upto: str = "") -> tuple[Entry, ...]:
    """Every stage before this one passed."""
    entries: tuple[Entry, ...] = ()
    for stage in plan.stages:
        if stage.key == upto:
            break
        entries = logged(plan, entries, stage.key, [f"{a.name}={good(a)}" for a in stage.musts], DAY)
    return entries


def states(plan: Plan, entries: Sequence[Entry]) -> dict[str, str]:
    return {one.stage.key: one.state for one in standing(plan, entries)}


@pytest.mark.parametrize("name", ["lantern", "five-tube-acdc", "harbourlight-hl45"])
def test_a_set_is_walked_from_the_first_stage_to_the_last(name: str) -> None:
    plan = planned(name)
    assert set(states(plan, walked(plan)).values()) == {"passed"}
    assert read_back(walked(plan)) == walked(plan)


def read_back(entries: tuple[Entry, ...]) -> tuple[Entry, ...]:
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "a.powerup"
        path.write_text(text_of(entries), encoding="utf-8")
        return read(path)


def test_no_stage_is_logged_before_those_it_stands_on() -> None:
    plan = planned()
    with pytest.raises(Refused, match="stands on look"):
        logged(plan, (), "cold", ["b+=open"], DAY)
    for number, stage in enumerate(plan.stages[1:], 1):
        with pytest.raises(Refused, match=f"stands on {plan.stages[number - 1].key}"):
            logged(plan, walked(plan, plan.stages[number - 1].key), stage.key, ["x=1"], DAY)


def test_a_reading_outside_its_limits_stops_what_follows_until_it_is_read_again() -> None:
    plan = planned()
    entries = walked(plan, "heaters")
    bad = logged(plan, entries, "heaters", ["V1.h1--V1.h2=5.5Vac", "lit=yes", "no-plate-volts=yes"], DAY)
    assert states(plan, bad)["heaters"] == "failed" and not bad[-3].passed
    with pytest.raises(Refused, match="stands on heaters"):
        logged(plan, bad, "low-reduced", ["b+=200V"], DAY)
    again = logged(plan, bad, "heaters", ["V1.h1--V1.h2=6.3Vac"], DAY)
    assert states(plan, again)["heaters"] == "passed" and bad[-3] in again, "what failed stays in the record"
    logged(plan, again, "low-reduced", ["b+=200V"], DAY)


def test_a_stage_that_fails_later_stops_what_had_passed_after_it() -> None:
    plan = planned()
    entries = logged(plan, walked(plan), "cold", ["b+=3k"], DAY)
    assert states(plan, entries)["cold"] == "failed"
    with pytest.raises(Refused):
        logged(plan, entries, "keying", ["keying=yes"], DAY)
    assert {state for key, state in states(plan, entries).items() if key not in ("look", "cold")} == {"waits"}


def test_a_no_is_a_failure() -> None:
    plan = planned()
    entries = logged(plan, (), "look", ["fuses=yes", "tubes=no", "wiring=yes"], DAY)
    assert states(plan, entries)["look"] == "failed"


def test_readings_for_the_record_may_be_left_out_but_not_fail() -> None:
    plan = planned("harbourlight-hl45")
    entries = walked(plan, "reform")
    assert states(plan, entries)["cold"] == "passed"
    assert states(plan, logged(plan, entries, "cold", ["V5.k=5k"], DAY))["cold"] == "failed"


def test_neither_an_edited_value_nor_an_edited_verdict_passes() -> None:
    plan = planned()
    entries = walked(plan, "heaters")
    one = Entry(DAY, "heaters", "V1.h1--V1.h2", "9Vac", True)
    other = Entry(DAY, "heaters", "V1.h1--V1.h2", "6.3Vac", False)
    for edited in (one, other):
        assert states(plan, (*entries, edited))["heaters"] == "failed"


def test_entries_that_nobody_asks_for_any_more_do_not_count() -> None:
    plan = planned()
    stray = Entry(DAY, "cold", "hv", "3k", False)
    assert log.unasked(plan, (stray, *walked(plan))) == (stray,)
    assert set(states(plan, (stray, *walked(plan))).values()) == {"passed"}


@pytest.mark.parametrize(
    ("stage", "word", "says"),
    [
        ("cold", "bb=3k", "no bb; the nearest is b\\+"),
        ("cld", "b+=3k", "no stage cld; the nearest is cold"),
        ("cold", "b+=3V", "read in ohms, such as 15.6k"),
        ("cold", "b+", "is no reading; such as b\\+=VALUE"),
        ("cold", "b+=3 k", "without blanks"),
        ("cold", "b+=maybe", "no reading of b\\+"),
        ("look", "fuses=5A", "yes or no"),
    ],
)
def test_a_slip_is_told_in_words_and_logs_nothing(stage: str, word: str, says: str) -> None:
    plan = planned()
    with pytest.raises(Unknown, match=says):
        logged(plan, walked(plan, "cold"), stage, [word], DAY)


@pytest.mark.parametrize("word", ["b+=-5", "b+=>-5", "b+=-5ohm"])
def test_what_no_meter_shows_is_refused(word: str) -> None:
    plan = planned()
    with pytest.raises(Unknown, match="never negative"):
        logged(plan, walked(plan, "cold"), "cold", [word], DAY)
    for ask in (Ask("h", "volts", 5.9, 6.6, ac=True), Ask("C1", "amps", 0.0, 1e-3), Ask("K2", "seconds", 30.0)):
        with pytest.raises(Unknown, match="never negative"):
            log.value_of(ask, "-1")
    assert log.value_of(Ask("bias", "volts", -150.0, -122.0), "-136V") == -136


def test_a_day_is_neither_to_come_nor_before_the_inspection() -> None:
    plan, today = replace(planned(), inspected="2026-02-21"), date(2026, 3, 2)
    for day, says in (("2026-03-03", "has not come yet"), ("2026-02-20", "before the inspection of the unit, 2026-02")):
        with pytest.raises(Unknown, match=says):
            logged(plan, (), "look", ["fuses=yes"], day, today=today)
    for day in ("2026-02-21", "2026-03-02"):
        assert logged(plan, (), "look", ["fuses=yes"], day, today=today)[0].on == day
    with pytest.raises(Unknown, match="no day"):
        logged(plan, (), "look", ["fuses=yes"], "20260301", today=today)


@pytest.mark.parametrize(("on", "note"), [("yesterday", ""), ("2026-02-30", ""), (DAY, 'a "b"'), (DAY, "a\nb")])
def test_days_and_notes_are_one_line_of_what_they_are(on: str, note: str) -> None:
    with pytest.raises(Unknown):
        logged(planned(), (), "look", ["fuses=yes"], on, note)


def test_what_a_meter_shows_is_read_as_it_is_said() -> None:
    isolation = Ask("J1.L", "ohms", 1e6, None, open=True)
    assert log.value_of(isolation, "open") == inf
    assert passes(isolation, ">20M") and passes(isolation, "open") and not passes(isolation, "900k")
    supply = Ask("hv", "ohms", 13e3, 18e3)
    assert passes(supply, "15.6k") and not passes(supply, "open")
    with pytest.raises(Unknown, match="higher range"):
        log.value_of(supply, ">10k")
    direct, alternating = Ask("b", "volts", -150.0, -122.0), Ask("h", "volts", 5.9, 6.6, ac=True)
    assert passes(direct, "-136V") and not passes(direct, "136V") and passes(alternating, "6.3V")
    with pytest.raises(Unknown, match="volts, direct"):
        log.value_of(direct, "136Vac")
    assert passes(Ask("C1", "amps", 0.0, 1.1e-3), "0.8mA") and not passes(Ask("C1", "amps", 0.0, 1.1e-3), "1.2mA")


@given(st.floats(-1e6, 1e6), st.floats(0, 1e6), st.floats(-2e6, 2e6))
def test_limits_hold_what_lies_between_them(low: float, width: float, value: float) -> None:
    ask = Ask("x", "volts", low, low + width)
    if low < value < low + width:
        assert ask.holds(value)
    if value < low - 1 or value > low + width + 1:
        assert not ask.holds(value)


@st.composite
def attempts(draw: st.DrawFn) -> list[tuple[str, list[str]]]:
    plan = planned()
    out = []
    for _ in range(draw(st.integers(1, 25))):
        stage = draw(st.sampled_from(plan.stages))
        asks = draw(st.lists(st.sampled_from(stage.asks), min_size=1, max_size=4))
        out.append((stage.key, [f"{a.name}={draw(st.sampled_from([good(a), good(a), _bad(a)]))}" for a in asks]))
    return out


def _bad(ask: Ask) -> str:
    if ask.quantity == "yes":
        return "no"
    return {"ohms": "1ohm", "volts": "9kV", "amps": "3A"}[ask.quantity]


@settings(max_examples=60, deadline=None)
@given(attempts())
def test_whatever_is_tried_no_stage_passes_over_one_that_has_not(tries: list[tuple[str, list[str]]]) -> None:
    """And a refused attempt changes nothing; what was logged stays, oldest first, and the file gives it back."""
    plan, entries = planned(), tuple[Entry, ...]()
    for key, words in tries:
        before = standing(plan, entries)
        waits = _of(before, key).behind
        try:
            after = logged(plan, entries, key, words, DAY)
        except Refused:
            assert waits
            continue
        assert not waits and after[: len(entries)] == entries and len(after) == len(entries) + len(words)
        entries = after
        seen = [one.state for one in standing(plan, entries)]
        assert "passed" not in seen[next((i for i, s in enumerate(seen) if s != "passed"), len(seen)) :]
    assert read_back(entries) == entries


def _of(standings: Sequence[Standing], key: str) -> Standing:
    return next(one for one in standings if one.stage.key == key)


# --- the file


@pytest.mark.parametrize(
    "line",
    [
        "cold hv = 3k passed",
        "2026-03-02 cold hv = 3k",
        "2026-02-30 cold hv = 3k passed",
        "2026-03-02 cold hv 3k passed",
    ],
)
def test_a_log_that_was_broken_by_hand_is_told_with_its_line(tmp_path: Path, line: str) -> None:
    path = tmp_path / "a.powerup"
    path.write_text(f"# log\n\n{DAY} look fuses = yes passed\n{line}\n", encoding="utf-8")
    with pytest.raises(Broken, match=r"a\.powerup:4"):
        read(path)
    path.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(Broken, match="UTF-8"):
        read(path)


def test_two_who_log_at_once_lose_nothing(tmp_path: Path) -> None:
    path = tmp_path / "a.powerup"
    path.write_text(text_of((Entry(DAY, "look", "fuses", "yes", True),)), encoding="utf-8")

    def one(number: int) -> tuple[Entry, ...]:
        return log.add(path, lambda entries: (*entries, Entry(DAY, "cold", f"n{number}", "3k", True)))

    with ThreadPoolExecutor(8) as pool:
        added = list(pool.map(one, range(24)))
    assert [len(each) for each in added] == [1] * 24 and len(read(path)) == 25
    assert {e.reading for e in read(path)} == {"fuses", *(f"n{i}" for i in range(24))}
    assert [p.name for p in tmp_path.iterdir()] == ["a.powerup"]


# --- the command


@pytest.fixture
def lantern(tmp_path: Path) -> Path:
    """A unit that is as drawn, its drawing's own hazards marked to stay."""
    (tmp_path / "lantern.stock").write_bytes((ROOT / "netlists" / "lantern.stock").read_bytes())
    path = tmp_path / "shelf.found"
    text = 'found "No. 1, restored" of "lantern.stock"\nas-drawn rear under\n'
    path.write_text(text, encoding="utf-8")
    for finding in examine(netdiff.compare(netdiff.read(path))).findings:
        if finding.hold in ("power", "transmit"):
            text += f'keep {(*finding.parts, *finding.terminals, *finding.nets)[0]} "seen, and made safe"\n'
    path.write_text(text, encoding="utf-8")
    return path


def test_a_cleared_unit_is_walked_by_the_command(lantern: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.run(["powerup", str(lantern)]) == 1
    sheet = capsys.readouterr().out
    assert sheet.index("Unplug the unit") < sheet.index("Stages") and "________" in sheet and "NOT CLEARED" not in sheet
    for stage in planned().stages:
        words = [f"{a.name}={good(a)}" for a in stage.musts]
        code = cli.run(["powerup", str(lantern), "--log", stage.key, *words, "--on", DAY, "--note", "meter 2"])
        assert code == (0 if stage is planned().stages[-1] else 1), capsys.readouterr().out
        assert f"{stage.key} has passed." in capsys.readouterr().out
    kept = lantern.with_suffix(".powerup").read_text(encoding="utf-8")
    assert f'{DAY} look fuses = yes passed "meter 2"' in kept
    assert cli.run(["powerup", str(lantern), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert next(iter(told)) == "cautions" and {s["state"] for s in told["stages"]} == {"passed"}
    assert "safe" in told["cautions"][-1]


def test_a_failure_is_told_recorded_and_stops(lantern: Path, capsys: pytest.CaptureFixture[str]) -> None:
    cli.run(["powerup", str(lantern), "--log", "look", "fuses=yes", "tubes=yes", "wiring=yes"])
    capsys.readouterr()
    assert cli.run(["powerup", str(lantern), "--log", "cold", "b+=3k"]) == 1
    out = capsys.readouterr().out
    assert "FAILED, limits open, or over 50 kΩ. It is recorded as failed." in out and "No stage after it" in out
    assert "b+ = 3k failed" in lantern.with_suffix(".powerup").read_text(encoding="utf-8")
    assert cli.run(["powerup", str(lantern), "--log", "reform", "C2=0.1mA"]) == 1
    assert "Nothing was logged: reform is not logged: it stands on cold" in capsys.readouterr().out


def test_entries_that_nobody_asks_for_any_more_are_told(lantern: Path, capsys: pytest.CaptureFixture[str]) -> None:
    kept = (Entry(DAY, "look", "fuses", "yes", True), Entry(DAY, "cold", "hv", "3k", False))
    lantern.with_suffix(".powerup").write_text(text_of(kept), encoding="utf-8")
    assert cli.run(["powerup", str(lantern)]) == 1
    assert f"it counts for nothing: - {DAY} cold hv = 3k failed" in " ".join(capsys.readouterr().out.split())
    assert cli.run(["powerup", str(lantern), "--json"]) == 1
    assert json.loads(capsys.readouterr().out)["unasked"] == [f"{DAY} cold hv = 3k failed"]


def test_trouble_leaves_the_log_as_it_was(lantern: Path, capsys: pytest.CaptureFixture[str]) -> None:
    cli.run(["powerup", str(lantern), "--log", "look", "fuses=yes"])
    before = lantern.with_suffix(".powerup").read_bytes()
    for words in (["look", "fuses"], ["lok", "fuses=yes"], ["look", "fuses=5"], ["look"]):
        assert cli.run(["powerup", str(lantern), "--log", *words]) == 2
    assert cli.run(["powerup", str(lantern), "--on", DAY]) == 2
    assert lantern.with_suffix(".powerup").read_bytes() == before
    lantern.with_suffix(".powerup").write_text("scribble\n", encoding="utf-8")
    assert cli.run(["powerup", str(lantern)]) == 2
    assert "shelf.powerup:1" in capsys.readouterr().err


@pytest.mark.parametrize("name", ["attic", "kitchen-radio"])
def test_a_unit_with_open_findings_is_refused(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    path = ROOT / "examples" / f"{name}.found"
    assert cli.run(["powerup", str(path)]) == 1
    out = capsys.readouterr().out
    assert "NOT CLEARED FOR POWER" in out and "Stages" not in out and "finding-1" in out
    assert cli.run(["powerup", str(path), "--anyway"]) == 1
    out = capsys.readouterr().out
    assert "Cold stages. NOT CLEARED FOR POWER" in out and "Cold readings" in out
    assert "Connect:\n     - A series lamp" not in out and "Electrolytics" not in out and "bench supply" not in out
    assert cli.run(["powerup", str(path), "--log", "heaters" if name == "attic" else "full", "lit=yes"]) == 1
    assert "must be cleared before it" in capsys.readouterr().out
    assert not path.with_suffix(".powerup").exists()
    assert cli.run(["powerup", str(path), "--json", "--anyway"]) == 1
    told = json.loads(capsys.readouterr().out)
    assert next(iter(told)) == "cautions" and not told["cleared"] and told["headed"] == "NOT CLEARED FOR POWER"
    assert [s["powered"] for s in told["stages"]] == [False, False]


def test_ticked_steps_count_when_they_are_asked_to(capsys: pytest.CaptureFixture[str]) -> None:
    path = str(ROOT / "examples" / "attic.found")
    assert cli.run(["powerup", path, "--as-left"]) == 1
    assert "NOT CLEARED FOR POWER" in capsys.readouterr().out


def test_hazards_of_the_drawing_are_told_once_as_left(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "lantern.stock").write_bytes((ROOT / "netlists" / "lantern.stock").read_bytes())
    path = tmp_path / "shelf.found"
    path.write_text('found "No. 1" of "lantern.stock"\nas-drawn rear under\n', encoding="utf-8")
    said = []
    for options in ([], ["--as-left"]):
        cli.run(["powerup", str(path), "--json", *options])
        told = json.loads(capsys.readouterr().out)
        said.append(([(f["kind"], f["says"], f["keep"]) for f in told["open"]], told["open_before_rf"]))
    assert said[0] == said[1] and said[0][0] and len(set(said[0][0])) == len(said[0][0])


def test_the_refusal_prints_the_lines_that_keep(capsys: pytest.CaptureFixture[str]) -> None:
    cli.run(["powerup", str(ROOT / "examples" / "kitchen-radio.found")])
    assert 'keep V5 "…"' in capsys.readouterr().out


def test_a_new_finding_holds_what_had_passed() -> None:
    plan = planned()
    entries = walked(plan)
    finding = examine(netdiff.compare(netdiff.read(ROOT / "examples" / "attic.found"))).findings[0]
    held = replace(plan, open_power=(finding,))
    found = states(held, entries)
    assert found["look"] == found["cold"] == "passed" and set(found.values()) == {"passed", "held"}


def test_cautions_stand_at_every_powered_stage(lantern: Path, capsys: pytest.CaptureFixture[str]) -> None:
    cli.run(["powerup", str(lantern)])
    out = capsys.readouterr().out
    powered = [s for s in planned().stages if s.powered]
    assert out.count("After it, before a hand goes in:") == len(powered)
    assert out.count("Unplug the unit and tag the cord") == len(powered) + 1
    assert out.count("Caution: Clip the meter on cold") == len(powered)


def test_what_a_file_calls_itself_cannot_repaint_the_screen(lantern: Path, capsys: pytest.CaptureFixture[str]) -> None:
    cli.run(["powerup", str(lantern)])
    assert "\x1b" not in capsys.readouterr().out
