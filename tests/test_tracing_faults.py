"""Tracing when things go wrong: two writers, a kill, a full disk, a read-only file, a drawing that changes, a broken
file. No answer that was taken is ever lost, and nobody's line is overwritten."""

from __future__ import annotations

import errno
import os
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

from netdiff import writing
from netdiff.language import read_unit
from netdiff.tracing import notebook
from netdiff.tracing.session import Session
from tests.test_tracing import begun, looked_over, statements, text

HERE = Path(__file__).resolve().parent.parent

WRITER = """
import sys
from netdiff.tracing.session import Session
session = Session.open(sys.argv[1])
session.confirm("yes")
for number in range(int(sys.argv[3])):
    outcome = session.answer(f'note "{sys.argv[2]} {number}"', token=f"{sys.argv[2]}-{number}")
    print(number if outcome.taken else f"! {outcome.says}", flush=True)
"""


def writer(session: Session, name: str, count: int) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", WRITER, str(session.path), name, str(count)], cwd=HERE, text=True, stdout=subprocess.PIPE
    )


# --- two writers


def test_two_sessions_see_each_other_and_lose_nothing(tmp_path: Path) -> None:
    one = looked_over(begun(tmp_path))
    two = Session.open(one.path)
    two.confirm("yes")
    one.ask("J1.tip")
    two.ask("J2.shell")
    assert one.answer("V1.k").taken
    outcome = two.answer("chassis")
    assert outcome.taken and outcome.changed
    assert {"at J1.tip: V1.k", "at J2.shell: chassis"} <= set(statements(one))
    assert one.changed() and one.answer('note V1 "dusty"').taken


def test_two_sessions_that_answer_the_same_question_are_shown_both_sides(tmp_path: Path) -> None:
    one = looked_over(begun(tmp_path))
    two = Session.open(one.path)
    two.confirm("yes")
    one.ask("J1.tip")
    two.ask("J1.tip")
    assert one.answer("V1.k").taken
    before = text(one)
    outcome = two.answer("chassis")
    clash = outcome.contradiction
    assert not outcome.taken and clash is not None and text(one) == before
    assert [line.text for line in clash.lines] == ["at J1.tip: V1.k"]
    assert clash.answer == ("at J1.tip: chassis",)


def test_the_same_answer_from_two_sessions_stands_once(tmp_path: Path) -> None:
    one = looked_over(begun(tmp_path))
    two = Session.open(one.path)
    two.confirm("yes")
    one.ask("J1.tip")
    two.ask("J1.tip")
    assert one.answer("V1.k").taken
    assert two.answer("V1.k").taken
    assert statements(one).count("at J1.tip: V1.k") == 1


def test_an_editor_that_saves_while_an_answer_is_being_written_keeps_its_lines(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    session = looked_over(begun(tmp_path))
    session.ask("J1.tip")
    swap, calls = writing.swap, []

    def late(path: Path, was: bytes | None, content: bytes) -> None:
        if not calls:
            path.write_text(text(session) + 'note J2 "typed in the editor"\n', encoding="utf-8")
        calls.append(path)
        swap(path, was, content)

    monkeypatch.setattr(writing, "swap", late)
    outcome = session.answer("V1.k")
    assert outcome.taken and outcome.changed and len(calls) == 2
    assert statements(session)[-2:] == ['note J2 "typed in the editor"', "at J1.tip: V1.k"]


def test_many_writers_at_once_lose_no_answer(tmp_path: Path) -> None:
    session = begun(tmp_path)
    count = 6
    writers = [writer(session, name, count) for name in ("anna", "bert", "carl")]
    for one in writers:
        out, _ = one.communicate(timeout=60)
        assert out.split() == [str(number) for number in range(count)]
    lines = statements(session)
    assert sorted(lines) == sorted(f'note "{name} {n}"' for name in ("anna", "bert", "carl") for n in range(count))
    numbers = [line.step for line in notebook.marked(session.path.read_bytes())]
    assert len(numbers) == len(set(numbers)) == 3 * count


# --- killed


def test_a_kill_at_any_moment_loses_at_most_the_answer_being_typed(tmp_path: Path) -> None:
    session = begun(tmp_path)
    for round_ in range(3):
        process = writer(session, f"round{round_}", 100_000)
        assert process.stdout is not None
        taken: list[str] = []
        reader = threading.Thread(target=lambda out=process.stdout, into=taken: into.extend(out))  # type: ignore[misc]
        reader.start()
        deadline = time.monotonic() + 20
        while len(taken) < 3 + 4 * round_ and time.monotonic() < deadline:
            time.sleep(0.001)
        os.kill(process.pid, signal.SIGKILL)
        process.wait()
        reader.join()
        unit, faults = read_unit(session.path)
        assert unit is not None, faults
        written = {line for line in statements(session) if f"round{round_} " in line}
        acknowledged = {f'note "round{round_} {line.strip()}"' for line in taken if line.strip().isdigit()}
        assert acknowledged <= written and len(written) <= len(acknowledged) + 1
    session.changed()
    assert session.answer("none").taken  # the lock went with the process


# --- disk and permissions


def test_a_full_disk_is_told_and_leaves_the_file_as_it_was(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    session = begun(tmp_path)
    before = text(session)

    def full(handle: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", full)
        outcome = session.answer("none", "token")
    assert not outcome.taken and "space" in outcome.says and text(session) == before
    assert [path.name for path in tmp_path.iterdir() if path.name.endswith(".part")] == []
    outcome = session.answer("none", "token")
    assert outcome.taken and not outcome.repeated


def test_a_read_only_file_is_told_and_not_written(tmp_path: Path) -> None:
    session = begun(tmp_path)
    before = text(session)
    session.path.chmod(0o444)
    outcome = session.answer("none")
    assert not outcome.taken and "read-only" in outcome.says and text(session) == before
    assert not session.undo().taken
    session.path.chmod(0o640)
    assert session.answer("none").taken
    assert session.path.stat().st_mode & 0o777 == 0o640


def test_a_file_that_was_taken_away_is_told_and_may_come_back(tmp_path: Path) -> None:
    session = begun(tmp_path)
    held = tmp_path / "away"
    session.path.rename(held)
    assert session.changed()
    assert not session.answer("none").taken and not session.path.exists()
    held.rename(session.path)
    assert session.answer("none").taken


def test_a_new_found_file_never_takes_the_place_of_another(tmp_path: Path) -> None:
    session = begun(tmp_path)
    before = text(session)
    with pytest.raises(FileExistsError):
        Session.open(tmp_path / "model.stock", found=session.path)
    assert text(session) == before


# --- what somebody else changes


def test_a_changed_drawing_is_followed(tmp_path: Path) -> None:
    session = looked_over(begun(tmp_path))
    stock = tmp_path / "model.stock"
    stock.write_text(stock.read_text(encoding="utf-8") + "zone rear\nJ9 jack-2\nJ9.tip -- J1.tip\n", encoding="utf-8")
    assert any("drawing" in says for says in session.changed())
    assert isinstance(session.ask("J9"), type(session.question()))
    keys = [question.key for question in session.questions(30)]
    assert "J9" in keys
    assert session.answer("y").taken


def test_a_drawing_that_is_broken_now_stops_the_questions_and_is_named(tmp_path: Path) -> None:
    session = begun(tmp_path)
    stock = tmp_path / "model.stock"
    good = stock.read_text(encoding="utf-8")
    stock.write_text(good + "R1 resistor 10k charred\n", encoding="utf-8")
    session.changed()
    assert session.question() is None and session.faults
    outcome = session.answer("none")
    assert not outcome.taken and "model.stock" in outcome.says
    stock.write_text(good, encoding="utf-8")
    assert session.answer("none").taken


def test_a_broken_hand_edit_is_named_by_its_line_and_tracing_goes_on_when_it_is_mended(tmp_path: Path) -> None:
    session = looked_over(begun(tmp_path))
    good = text(session)
    session.path.write_text(good + "R1 resistor 10k charred\n", encoding="utf-8")
    line = len(good.splitlines()) + 1
    assert any(f":{line}" in says for says in session.changed())
    assert session.question() is None
    broken = text(session)
    outcome = session.answer("y")
    assert not outcome.taken and f"unit.found:{line}" in outcome.says and text(session) == broken
    session.path.write_text(good + "R1 resistor 10k, charred\n", encoding="utf-8")
    outcome = session.answer("y")
    assert outcome.taken and outcome.changed
    assert statements(session)[-2] == "R1 resistor 10k, charred"


def test_a_broken_file_is_opened_so_that_it_can_be_mended(tmp_path: Path) -> None:
    path = begun(tmp_path).path
    path.write_text("nonsense\n", encoding="utf-8")
    session = Session.open(path)
    session.confirm("yes")
    assert session.faults and session.question() is None and session.comparison() is None
    path.write_text('found "A" of "model.stock"\n', encoding="utf-8")
    assert session.changed() and session.question() is not None
