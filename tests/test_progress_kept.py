"""Progress that is kept: ticks, their file, the unit as left."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import netdiff
from netdiff.circuit import Circuit, Found, Remark, Run
from netdiff.comparison import compare_circuits
from netdiff.hazards import examine
from netdiff.language import Faulty, Unit
from netdiff.quantities import show
from netdiff.worklist import WorkList, worklist
from netdiff.worklist.progress import Refused, named, progress, tick, untick, waits_for
from netdiff.worklist.record import as_left, compared_again, left
from netdiff.worklist.ticks import Later, Measured, Sheet, Tick, beside, load, read_text, update, write_text
from netdiff.worklist.wanted import wanted
from tests.test_worklist_laws import done as all_done
from tests.test_worklist_laws import edits, seeds, sizes, unit

ROOT = Path(__file__).resolve().parents[1]
DAY = "2026-03-09"


@cache
def work_of(name: str) -> WorkList:
    read = netdiff.read(ROOT / "examples" / f"{name}.found")
    assert isinstance(read, Unit)
    return netdiff.worklist(examine(netdiff.compare(read)))


def harbour() -> WorkList:
    return work_of("harbourlight-0417")


def ticked(work: WorkList, names: list[str]) -> Sheet:
    sheet = Sheet()
    for name in names:
        sheet = tick(work, sheet, name, on=DAY)
    return sheet


def contents(one: Circuit | Found) -> tuple[Mapping[str, object], Counter[Run]]:
    circuit = one.circuit if isinstance(one, Found) else one
    return dict(circuit.parts), Counter(circuit.runs)


# --- laws -------------------------------------------------------------------------------------------------------------


def any_order(work: WorkList, rng: random.Random) -> list[str]:
    """All steps in an order that the list allows, drawn at random."""
    waits, order = waits_for(work), []
    left_over = {step.name for step in work.steps}
    while left_over:
        free = sorted(name for name in left_over if not set(waits[name]) & left_over)
        order.append(rng.choice(free))
        left_over.discard(order[-1])
    return order


@settings(max_examples=30, deadline=None)
@given(seeds, sizes, edits)
def test_another_order_that_the_list_allows_ends_the_same(seed: int, size: int, count: int) -> None:
    """Carried out in the very order of the ticks: with nothing but `apply`."""
    from netdiff.worklist import apply

    work = worklist(compare_circuits(*unit(seed, size, count)))
    now = work.comparison.found.circuit
    for name in any_order(work, random.Random(seed)):
        now = apply(work.step(name), now)
    assert contents(now) == contents(all_done(work))
    names = any_order(work, random.Random(seed + 1))
    assert contents(as_left(work, ticked(work, names))) == contents(all_done(work))


@settings(max_examples=25, deadline=None)
@given(seeds, sizes, edits)
def test_any_part_of_the_work_is_a_sound_circuit_and_undoing_goes_back(seed: int, size: int, count: int) -> None:
    rng = random.Random(seed)
    work = worklist(compare_circuits(*unit(seed, size, count)))
    order = any_order(work, rng)
    order = order[: rng.randint(0, len(order))]
    sheets = [Sheet()]
    for name in order:
        sheets.append(tick(work, sheets[-1], name, on=DAY))
        as_left(work, sheets[-1])
    back = sheets[-1]
    for name, before in zip(reversed(order), reversed(sheets[:-1]), strict=True):
        back = untick(work, back, name)
        assert back == before
    assert as_left(work, back) == work.comparison.found


@settings(max_examples=30, deadline=None)
@given(seeds, sizes, edits)
def test_a_step_that_was_built_on_is_not_taken_back(seed: int, size: int, count: int) -> None:
    work = worklist(compare_circuits(*unit(seed, size, count)))
    sheet = ticked(work, [step.name for step in work.steps])
    for name, needs in waits_for(work).items():
        for other in needs:
            with pytest.raises(Refused, match="take"):
                untick(work, sheet, other)
            with pytest.raises(Refused, match="waits for"):
                tick(work, Sheet(), name, on=DAY)


@settings(max_examples=30, deadline=None)
@given(seeds, sizes, edits)
def test_when_all_is_done_no_finding_is_left_but_the_kept_ones(seed: int, size: int, count: int) -> None:
    stock, found = unit(seed, size, count)
    first = compare_circuits(stock, found)
    work = worklist(first)
    again = compared_again(work, ticked(work, [step.name for step in work.steps]))
    assert left(again) == ()
    if not first.findings:
        return
    chosen = random.Random(seed).choice(first.findings)
    spot = (*chosen.parts, *chosen.terminals)[0]
    work = worklist(compare_circuits(stock, replace(found, keeps=(Remark((spot,), "stays"),))))
    sheet = ticked(work, [step.name for step in work.steps])
    for one in work.stays:
        for name in set(one.parts) & set(found.circuit.parts):
            assert as_left(work, sheet).circuit.parts[name] == found.circuit.parts[name]


def test_the_demo_is_proven_finished() -> None:
    """Of units that were traced in part, what comes to light by the work is told, and nothing else."""
    for name in ("harbourlight-0417", "kitchen-radio"):
        work = work_of(name)
        sheet = ticked(work, [step.name for step in work.steps])
        again = compared_again(work, sheet)
        assert [again.finding(one).says for one in left(again)] == [], name
        assert any(one.kept for one in again.modifications)
        # A part that goes in as the drawing has it brings the drawing's own hazards with it.
        assert {f.kind for f in work.comparison.findings if f.drawn} <= {f.kind for f in again.findings if f.drawn}
        assert compared_again(work, Sheet()).findings == work.comparison.findings


# --- readings ---------------------------------------------------------------------------------------------------------


def test_a_reading_within_its_limits_is_taken_for_what_it_can_only_be() -> None:
    sheet = tick(harbour(), Sheet(), "replace_R18", on=DAY, reads=["35.1k"], meter="No. 3")
    assert sheet.ticks == (Tick("replace_R18", DAY, (Measured("R18", "ohm", 35100.0),), "No. 3"),)
    assert as_left(harbour(), sheet).circuit.parts["R18"].measured == 35100.0


def test_a_reading_outside_its_limits_needs_a_reason() -> None:
    # R18 is 35 kΩ 10 % on the drawing: 31.5 to 38.5 kΩ.
    for value in ("31.4k", "38.6k", "open", ">20M", "0"):
        with pytest.raises(Refused, match=r"31\.5 kΩ to 38\.5 kΩ.*--because"):
            tick(harbour(), Sheet(), "replace_R18", on=DAY, reads=[value])
    for value in ("31.5k", "38.5k"):
        tick(harbour(), Sheet(), "replace_R18", on=DAY, reads=[value])
    sheet = tick(harbour(), Sheet(), "replace_R18", on=DAY, reads=["39k"], because="all that the shop had")
    assert sheet.ticks[0].because == "all that the shop had"
    again = compared_again(harbour(), sheet)
    assert [f.kind for f in again.findings if "R18" in f.parts] == ["drifted-part"]


def test_paths_read_as_the_list_says() -> None:
    name = "bond_E5.1_V5.sh"
    assert [(one.what, one.says) for one in wanted(harbour(), harbour().step(name))] == [
        ("V5.sh -- E5.1", "at most 1 Ω")
    ]
    tick(harbour(), Sheet(), name, on=DAY, reads=["0.2"])
    with pytest.raises(Refused, match="at most 1 Ω"):
        tick(harbour(), Sheet(), name, on=DAY, reads=["1.2"])
    both = "move_Y1.1_S7.3_S7.1"
    assert [one.says for one in wanted(harbour(), harbour().step(both))] == ["10 MΩ or more, or open", "at most 1 Ω"]
    with pytest.raises(Refused, match="asks for 2 readings"):
        tick(harbour(), Sheet(), both, on=DAY, reads=["0.2"])
    for reads in (["open", "0.2"], ["S7.1 -- Y1.1 = 0.2", "Y1.1--S7.3=>20M"]):
        assert len(tick(harbour(), Sheet(), both, on=DAY, reads=reads).ticks[0].readings) == 2
    with pytest.raises(Refused, match="10 MΩ or more, or open"):
        tick(harbour(), Sheet(), both, on=DAY, reads=["Y1.1 -- S7.3 = 4M"])
    with pytest.raises(Refused, match="twice"):
        tick(harbour(), Sheet(), both, on=DAY, reads=["Y1.1 -- S7.3 = open", "S7.3 -- Y1.1 = open"])


def test_a_resistance_in_the_set_is_held_to_what_the_step_predicts() -> None:
    """R3, 3.3 MΩ 20 %, and alone between its points: 2.64 to 3.96 MΩ, and the meter's own 3 %."""
    work = work_of("kitchen-radio")
    own, path = wanted(work, work.step("replace_R3"))
    assert (own.what, path.what) == ("R3", "detected -- avc")
    assert path.low == pytest.approx(2.64e6 * 0.97) and path.high == pytest.approx(3.96e6 * 1.03, rel=1e-4)
    tick(work, Sheet(), "replace_R3", on=DAY, reads=["detected -- avc = 4.05M"])
    with pytest.raises(Refused, match=r'say so: --reads "detected -- avc = 4\.05 MΩ"'):
        tick(work, Sheet(), "replace_R3", on=DAY, reads=["4.05M"])


@pytest.mark.parametrize(
    ("name", "told", "says"),
    [
        ("replace_R18", "35V", "measured in ohms"),
        ("replace_R18", "much", "no reading"),
        ("replace_R18", "R17 = 3k", "no reading of R17"),
        ("braid_E5.1_TB5.1", "3", "proven by looking"),
        ("replace_R188", "35k", "nearest is replace_R18"),
    ],
)
def test_what_is_no_reading_of_the_step_is_refused(name: str, told: str, says: str) -> None:
    with pytest.raises(Refused, match=says):
        tick(harbour(), Sheet(), name, on=DAY, reads=[told])


def test_a_step_that_waits_is_refused_and_names_what_it_waits_for() -> None:
    with pytest.raises(Refused, match=r"waits for remove_xC3_xC4: do and tick it first"):
        tick(harbour(), Sheet(), "fit_C33", on=DAY)
    with pytest.raises(Refused, match="is no date"):
        tick(harbour(), Sheet(), "replace_R18", on="9 March")
    with pytest.raises(Refused, match=r"not ticked\. The nearest is replace_R18"):
        untick(harbour(), ticked(harbour(), ["replace_R18"]), "replace_R1")


def test_ticks_of_steps_that_left_the_list_are_told_and_kept() -> None:
    sheet = Sheet((Tick("replace_R99", DAY), Tick("replace_R18", DAY)))
    now = progress(harbour(), sheet)
    assert [one.step for one in now.stray] == ["replace_R99"]
    assert [step.name for step, _ in now.done] == ["replace_R18"]
    assert len(now.open) == len(harbour().steps) - 1
    assert untick(harbour(), sheet, "replace_R99").ticks == sheet.ticks[1:]


def test_names_are_forgiving_of_capitals_only() -> None:
    assert named(harbour(), "REPLACE_r18").name == "replace_R18"


def test_what_went_in_is_what_the_unit_has() -> None:
    """A safety capacitor in place of the drawing's: the hazard is gone, and its value is within the tolerance."""
    work = work_of("kitchen-radio")
    plain = tick(work, Sheet(), "replace_C17", on=DAY)
    safe = tick(work, Sheet(), "replace_C17", on=DAY, fitted="47n 250Vac X2", reads=["46n"])
    kinds = [[f.kind for f in compared_again(work, one).findings if "C17" in f.parts] for one in (plain, safe)]
    assert kinds == [["unsafe-line-capacitor"], []]
    part = as_left(work, safe).circuit.parts["C17"]
    assert (part.value, part.words, part.ratings["Vac"], part.measured) == (47e-9, ("X2",), 250.0, 46e-9)
    large = tick(work, Sheet(), "replace_R4", on=DAY, fitted="1M", because="a new one, as found")
    assert [f.kind for f in compared_again(work, large).findings if f.parts == ("R4",)] == ["wrong-value"]
    can = tick(work, Sheet(), "replace_C16A", on=DAY, fitted="47u 160V")
    assert as_left(work, can).circuit.parts["C16A"].value == 47e-6
    for told, says in (("47n 3ohm", "says no capacitor"), ("strip 4", "other terminals")):
        with pytest.raises(Refused, match=says):
            tick(work, Sheet(), "replace_C17", on=DAY, fitted=told)
    with pytest.raises(Refused, match="puts in no part"):
        tick(work, Sheet(), "solder_C9.2_b-", on=DAY, fitted="1k")


# --- the file ---------------------------------------------------------------------------------------------------------

words = st.text(max_size=30).map(lambda text: " ".join(text.split()))
values = st.floats(1e-12, 1e9).map(lambda x: float(f"{x:.4g}"))
points = st.sampled_from(["R18", "E8.1 -- C61.+", "b+ -- chassis", "?K1.coil1 -- V5.g1"])


def round_reading(what: str, value: float, bound: str) -> Measured:
    from netdiff.worklist.ticks import measured

    one = measured(what, "open" if bound == "open" else f"{bound}{show(value, 'ohm')}", "ohm")
    assert one is not None
    return one


readings = st.builds(round_reading, points, st.floats(0.1, 1e9), st.sampled_from(["", ">", "open"]))
ticks = st.builds(Tick, st.from_regex(r"[a-z]+_[A-Z0-9.+-]+", fullmatch=True), st.just(DAY), st.tuples(readings))


@settings(max_examples=60, deadline=None)
@given(st.lists(ticks, unique_by=lambda one: one.step, max_size=4), words, words, st.lists(readings, max_size=2))
def test_what_is_written_is_read_again(kept: list[Tick], meter: str, because: str, more: list[Measured]) -> None:
    kept = [one._replace(meter=meter, because=because) for one in kept]
    sheet = Sheet(tuple(kept), tuple(Later(one, DAY, meter, "phone") for one in more), ("# by hand",))
    text = write_text(sheet)
    again, faults = read_text(text, "a.done")
    assert not faults
    assert write_text(again) == text
    assert [one.readings for one in again.ticks] == [one.readings for one in kept]


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("done replace_R18", "no tick"),
        ("replace_R18 on 2026-03-09", "no tick"),
        ("done replace_R18 on 2026-13-09", "no date"),
        ('done replace_R18 on 2026-03-09, becuase "x"', "nearest is because"),
        ("done replace_R18 on 2026-03-09, reads 35k", "no reading"),
        ("done replace_R18 on 2026-03-09, reads R18 = lots", "no reading"),
        ("done replace_R18 on 2026-03-09, because no quotes", "because"),
        ('done replace_R18 on 2026-03-09, meter "one quote', "meter"),
        ("measured hv -- chassis = 15k", "no tick"),
        ("measured hv -- chassis = lots on 2026-03-09", "no reading"),
        ("\x00\x01", "no tick"),
    ],
)
def test_a_file_that_was_broken_by_hand_names_the_line(tmp_path: Path, line: str, says: str) -> None:
    found = tmp_path / "unit.found"
    found.write_text("x")
    path = beside(found)
    good = "# mine\n\ndone replace_F1 on 2026-03-08\n"
    path.write_text(good + line + "\n", encoding="utf-8")
    before = path.read_bytes()
    with pytest.raises(Faulty) as caught:
        update(found, lambda sheet: sheet)
    (fault,) = caught.value.faults
    assert f"{fault.place.line}" == ("1" if "\x00" in line else "4") or fault.place.line == 4
    assert says in f"{fault.says} {fault.hint}" or "binary" in fault.says
    assert path.read_bytes() == before


def test_a_step_ticked_twice_by_hand_is_a_fault() -> None:
    _, faults = read_text("done a on 2026-03-09\ndone a on 2026-03-10\n", "a.done")
    assert [(fault.place.line, fault.says) for fault in faults] == [(2, "a is ticked twice")]


def test_comments_written_by_hand_stay(tmp_path: Path) -> None:
    found = tmp_path / "unit.found"
    found.write_text("x")
    beside(found).write_text("# bench notes\ndone a on 2026-03-09\n")
    update(found, lambda sheet: sheet._replace(ticks=(*sheet.ticks, Tick("b", DAY))))
    text = beside(found).read_text(encoding="utf-8")
    assert "# bench notes\n" in text and text.index("done a") < text.index("done b")


WRITER = """
import sys
from netdiff.worklist.ticks import Tick, update
for number in range(100000):
    new = Tick(f"{sys.argv[2]}_{number}", "2026-03-09")
    update(sys.argv[1], lambda old: old._replace(ticks=(*old.ticks, new)[-40:]))
    print(number, flush=True)
"""

KILLED = """
import os, sys, tempfile
from netdiff.worklist.ticks import Tick, beside, load, update

found, rounds = sys.argv[1], int(sys.argv[2])
calls = ("mkstemp", "fdopen", "fsync", "chmod", "replace", "listdir", "unlink")


def dies(call, count, name):
    module = tempfile if call == "mkstemp" else os
    real, seen = getattr(module, call), [0]

    def die(*args, **more):
        seen[0] += 1
        if seen[0] == count:
            os._exit(9)
        return real(*args, **more)

    setattr(module, call, die)
    update(found, lambda sheet: sheet._replace(ticks=(*sheet.ticks, Tick(name, "2026-03-09"))))
    os._exit(0)


kept, died = (), 0
for number in range(rounds):
    child = os.fork()
    if child == 0:
        try:
            dies(calls[number % len(calls)], 1 + number // len(calls) % 2, f"step_{number}")
        finally:
            os._exit(7)
    died += os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 9
    now = tuple(one.step for one in load(beside(found)).ticks)
    assert now in (kept, (*kept, f"step_{number}")), (now, kept)
    kept = now
update(found, lambda sheet: sheet)
print(died, len(kept))
"""


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")
def test_killed_at_any_call_to_the_system_nothing_but_the_last_tick_is_lost(tmp_path: Path) -> None:
    """Hundreds of writers, each killed right before one of the calls by which a file is written."""
    found = tmp_path / "unit.found"
    found.write_text("x")
    done = subprocess.run(
        [sys.executable, "-c", KILLED, str(found), "210"], stdout=subprocess.PIPE, text=True, cwd=ROOT, check=True
    )
    died, kept = map(int, done.stdout.split())
    assert died > 80 and kept > 40
    assert sorted(os.listdir(tmp_path)) == ["unit.done", "unit.found"]


@pytest.mark.skipif(sys.platform == "win32", reason="kills with a signal")
def test_killed_at_a_random_moment_the_file_is_whole(tmp_path: Path) -> None:
    found = tmp_path / "unit.found"
    found.write_text("x")
    rng = random.Random(1)
    told = -1
    for turn in range(8):
        writer = subprocess.Popen(
            [sys.executable, "-c", WRITER, str(found), f"turn{turn}"], stdout=subprocess.PIPE, text=True, cwd=ROOT
        )
        assert writer.stdout is not None
        said = writer.stdout.readline()
        time.sleep(rng.random() * 0.03)
        writer.send_signal(signal.SIGKILL)
        said += writer.communicate()[0]
        sheet = load(beside(found))
        assert sheet.ticks and len(sheet.ticks) <= 40
        told = max(told, len(said.splitlines()))
    assert told > 1


def test_two_writers_lose_nothing(tmp_path: Path) -> None:
    found = tmp_path / "unit.found"
    found.write_text("x")
    code = (
        "import sys\nfrom netdiff.worklist.ticks import Tick, update\n"
        "for i in range(40):\n"
        "    update(sys.argv[1], lambda s: s._replace(ticks=(*s.ticks, Tick(f'{sys.argv[2]}_{i}', '2026-03-09'))))\n"
    )
    both = [subprocess.Popen([sys.executable, "-c", code, str(found), who], cwd=ROOT) for who in ("a", "b")]
    assert [one.wait() for one in both] == [0, 0]
    assert len(load(beside(found)).ticks) == 80
