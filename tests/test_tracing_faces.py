"""Tracing and the quick look on the command line, in a dialogue and on paper."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterable
from concurrent.futures import ThreadPoolExecutor
from contextvars import copy_context
from html.parser import HTMLParser
from pathlib import Path

import pytest

from netdiff.cautions import for_cold_work
from netdiff.cli import run
from netdiff.language import read_unit
from netdiff.reporting import dialogue
from netdiff.reporting.dialogue import talk
from netdiff.tracing.quick import CAUTIONS, groups
from netdiff.tracing.session import Session, only_looking

HERE = Path(__file__).resolve().parent.parent
LANTERN = HERE / "netlists" / "lantern.stock"
HARBOUR = HERE / "netlists" / "harbourlight-hl45.stock"


@pytest.fixture
def stock(tmp_path: Path) -> Path:
    return Path(shutil.copy(LANTERN, tmp_path))


def said(session: Session, lines: Iterable[str], capsys: pytest.CaptureFixture[str]) -> str:
    """What a dialogue prints when somebody types these lines."""
    waiting = iter(lines)

    def ask(_: str) -> str:
        try:
            return next(waiting)
        except StopIteration:
            raise EOFError from None

    talk(session, ask=ask)
    return capsys.readouterr().out


# --- the dialogue


def test_a_dialogue_confirms_asks_and_writes(stock: Path, capsys: pytest.CaptureFixture[str]) -> None:
    session = Session.open(stock)
    out = said(session, ("yes", "none", "none", "y but V1.k", "key", "quit"), capsys)
    flat = " ".join(out.split())
    assert all(" ".join(line.split()) in flat for line in for_cold_work())
    assert flat.index("Type yes") < flat.index("look it over")
    assert "at V1.k: key" in stock.with_suffix(".found").read_text(encoding="utf-8")


def test_without_yes_no_question_is_asked(stock: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = said(Session.open(stock), ("no", "none"), capsys)
    assert "look it over" not in out
    assert len(stock.with_suffix(".found").read_text(encoding="utf-8").splitlines()) == 1


def test_commands_of_the_dialogue(stock: Path, capsys: pytest.CaptureFixture[str]) -> None:
    lines = (
        "yes",
        "help",
        "far",
        "next",
        "last",
        "compare",
        "go J2.shell",
        "chassis",
        "undo",
        "go nowhere",
        "undo",
        "",
    )
    out = said(Session.open(stock), lines, capsys)
    for words in ("What you can type", "How far it is", "Taken back: at J2.shell: chassis", "There is no zone, part",
                  "There is nothing to take back"):  # fmt: skip
        assert words in " ".join(out.split())


def test_a_contradiction_shows_both_sides(stock: Path, capsys: pytest.CaptureFixture[str]) -> None:
    session = Session.open(stock)
    out = said(session, ("yes", "go J1.tip", "V1.k", "go V1.k", "R2"), capsys)
    assert "the file, line 2: at J1.tip: V1.k" in " ".join(out.split())
    assert "your answer: at V1.k: R2" in " ".join(out.split())


def test_a_text_in_a_file_repaints_nothing(stock: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = stock.read_text(encoding="utf-8").replace("coax output", "x").replace('"output"', '"[bold]<b>out</b>"')
    stock.write_text(text, encoding="utf-8")
    out = said(Session.open(stock), ("yes", "go J2", "\x1b[2Jy"), capsys)
    assert "[bold]<b>out</b>" in out and "\x1b" not in out


def test_a_broken_file_is_shown_and_the_dialogue_waits(stock: Path, capsys: pytest.CaptureFixture[str]) -> None:
    session = Session.open(stock)
    found = stock.with_suffix(".found")
    good = found.read_text(encoding="utf-8")

    def lines() -> Iterable[str]:
        yield "yes"
        found.write_text(good + "nonsense here\n", encoding="utf-8")
        yield "none"
        found.write_text(good, encoding="utf-8")
        yield ""
        yield "none"

    out = " ".join(said(session, lines(), capsys).split())
    assert "Mend it" in out and "reads without a fault again" in out
    assert "looked over" in found.read_text(encoding="utf-8")


# --- the command


def test_the_next_questions_on_the_command_line(stock: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["trace", str(stock), "--next"]) == 0
    out = capsys.readouterr().out
    assert "1. " in out and "Unplug the unit" in out
    assert not stock.with_suffix(".found").exists(), "asking what comes next begins no file"
    assert run(["trace", str(stock), "--next", "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["cautions"] == list(for_cold_work())
    assert answer["questions"][0]["form"] == "zone" and answer["questions"][0]["offers"]


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["--sheet", "under"], "-o OUT.html"),
        (["-o", "x.html"], "--sheet ZONE"),
        (["--next", "--zone", "nowhere"], "has no zone nowhere"),
        (["--next", "--production", "late"], "no production late"),
    ],
)
def test_trouble_is_told(stock: Path, arguments: list[str], says: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["trace", str(stock), *arguments]) == 2
    assert says in " ".join(capsys.readouterr().err.split())


def test_a_broken_found_file_is_trouble_for_the_list(stock: Path, capsys: pytest.CaptureFixture[str]) -> None:
    found = stock.with_suffix(".found")
    found.write_text(f'found "A" of "{stock.name}"\nnonsense\n', encoding="utf-8")
    assert run(["trace", str(found), "--next"]) == 2
    assert f"{found.name}:2" in capsys.readouterr().err


# --- paper


class Cells(HTMLParser):
    """The first cell of every row, in order."""

    def __init__(self) -> None:
        super().__init__()
        self.rows: list[list[str]] = []
        self.inside = False
        self.scripts = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.scripts += tag in ("script", "iframe", "img", "link")
        if tag == "tr":
            self.rows.append([])
        if tag in ("td", "th") and self.rows:
            self.rows[-1].append("")
            self.inside = True

    def handle_endtag(self, tag: str) -> None:
        self.inside = self.inside and tag not in ("td", "th")

    def handle_data(self, data: str) -> None:
        if self.inside:
            self.rows[-1][-1] += data


def cells(page: Path) -> Cells:
    out = Cells()
    out.feed(page.read_text(encoding="utf-8"))
    return out


def test_the_sheet_has_every_lug_of_the_zone_in_the_order_of_tracing(tmp_path: Path) -> None:
    page = tmp_path / "sheet.html"
    assert run(["trace", str(HARBOUR), "--production", "late", "--sheet", "audio", "-o", str(page)]) == 0
    session = only_looking(HARBOUR, "late")
    session.zone = "audio"
    firsts = [row[0].split()[0] for row in cells(page).rows if row and row[0].strip()]
    circuit = session.plan.circuit
    lugs = [point for part in circuit.parts.values() if part.zone == "audio" for point in part.points()]
    for point in lugs:
        part = circuit.parts[point.partition(".")[0]]
        assert point in firsts or part.designator in firsts
    order = [name for question in session.questions(100) if question.form == "part" for name in question.parts]
    lug = {name: circuit.parts[name].points()[0] for name in order}
    place = {name: firsts.index(lug[name]) if lug[name] in firsts else _last(firsts, name) for name in order}
    assert [place[name] for name in order] == sorted(place.values())
    assert cells(page).scripts == 0


def _last(words: list[str], word: str) -> int:
    return len(words) - 1 - words[::-1].index(word)


def test_a_sheet_escapes_what_files_say(stock: Path, tmp_path: Path) -> None:
    text = stock.read_text(encoding="utf-8").replace('"output"', '"<script>alert(1)</script>"')
    stock.write_text(text, encoding="utf-8")
    page = tmp_path / "sheet.html"
    assert run(["trace", str(stock), "--sheet", "rear", "-o", str(page)]) == 0
    assert cells(page).scripts == 0
    assert "&lt;script&gt;" in page.read_text(encoding="utf-8")
    assert run(["first-look", str(stock), "-o", str(page)]) == 0
    assert cells(page).scripts == 0 and "&lt;script&gt;" in page.read_text(encoding="utf-8")


# --- the quick look


def test_the_quick_look_has_everything_that_can_be_seen_from_outside() -> None:
    circuit = only_looking(HARBOUR, "late").plan.circuit
    seen = {part.designator for group in groups(circuit) for part in group.parts}
    wanted = {
        name
        for name, part in circuit.parts.items()
        if name.rstrip("0123456789") in ("J", "F", "M", "S", "V", "T", "DS", "Y") or part.kind.name == "potentiometer"
    }
    assert wanted <= seen
    assert {"C56A", "C45B", "C58", "L13", "C30"} <= seen
    assert not {"R22", "C37", "L11", "TB5", "E5"} & seen
    assert [group.key for group in groups(circuit)][:2] == ["mains", "fuses"]


def test_the_quick_look_says_do_not_plug_it_in(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["first-look", str(HARBOUR)]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert all(" ".join(line.split()) in out for line in CAUTIONS)
    assert run(["first-look", str(HARBOUR), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["cautions"] == list(CAUTIONS)


def test_the_answers_of_a_quick_look_make_a_found_file_that_compare_reads(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    stock = Path(shutil.copy(HARBOUR, tmp_path))
    found = tmp_path / "new.found"
    typed = iter(
        ["yes", "J6 cord-3", "y", "F1 15A", "y", '?J1 phono-socket "new hole"', "y", "y", "y", "missing V5", "y"]
    )

    monkeypatch.setattr("netdiff.reporting.dialogue._from_pipe", lambda says: _next(typed))
    assert (
        run(["first-look", str(stock), "--answer", str(found), "--production", "late", "--title", "At the market"]) == 0
    )
    out = " ".join(capsys.readouterr().out.split())
    unit, faults = read_unit(found)
    assert unit is not None, faults
    assert unit.title == "At the market"
    for words in (
        "What it points to",
        "What a price should allow for",
        "Parts to find and fit: ",
        "Somebody has rebuilt it (?J1)",
    ):
        assert words in out
    assert run(["compare", str(found), "--json"]) == 1
    kinds = {finding["kind"] for finding in json.loads(capsys.readouterr().out)["findings"]}
    assert {"wrong-part", "wrong-value", "missing-part", "added-part"} <= kinds
    # Going on later asks only what is left, and confirms anew.
    session = Session.open(found, quick=True)
    keys = [question.key for question in session.questions(20)]
    assert "look fuses" not in keys and "look iron" in keys and not session.confirmed


def _next(typed: Iterable[str]) -> str:
    try:
        return next(iter(typed))
    except StopIteration:
        raise EOFError from None


def test_a_quick_look_settles_no_terminal(tmp_path: Path) -> None:
    shutil.copy(LANTERN, tmp_path)
    session = Session.open(tmp_path / "lantern.stock", quick=True)
    session.confirm("yes")
    while session.question() is not None:
        assert session.answer("y").taken
    result = session.comparison()
    assert result is not None and result.coverage.total.agree == 0 and result.findings == ()


# --- the terminal


def test_after_a_long_pause_the_unit_is_confirmed_anew(
    stock: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    now = [0.0]
    monkeypatch.setattr("netdiff.reporting.dialogue.time.monotonic", lambda: now[0])

    def lines() -> Iterable[str]:
        yield "yes"
        yield "none"
        now[0] += 3600
        yield "none"
        yield "no"

    out = said(Session.open(stock), lines(), capsys)
    assert out.count("Type yes") == 2 and "Then no question is asked" in out
    assert stock.with_suffix(".found").read_text(encoding="utf-8").count("looked over") == 1


def test_the_keyboard_completes_what_the_drawing_has(stock: Path) -> None:
    from prompt_toolkit.completion import CompleteEvent
    from prompt_toolkit.document import Document

    session = Session.open(stock)
    session.confirm("yes")
    session.ask("V1.g2")
    for typed in ("R1.", "R2.1,R1.", 'wire J1.tip, "red"; R1.'):
        found = list(dialogue.completer(session).get_completions(Document(typed), CompleteEvent()))
        assert found[0].text == "R1.2" and typed[: len(typed) + found[0].start_position] + "R1.2" == typed + "2"


def test_lines_come_from_the_keyboard(stock: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from prompt_toolkit.application import create_app_session
    from prompt_toolkit.input import create_pipe_input
    from prompt_toolkit.output import DummyOutput

    monkeypatch.setattr("sys.stdin.isatty", lambda: True)
    monkeypatch.setattr("sys.stdout.isatty", lambda: True)
    with create_pipe_input() as keys, create_app_session(input=keys, output=DummyOutput()):
        keys.send_text("yes\rnone\rquit\r")
        # In a thread of its own: a browser's tests leave a loop behind in the main one.
        with ThreadPoolExecutor(1) as alone:
            alone.submit(copy_context().run, talk, Session.open(stock)).result()
    assert "looked over" in stock.with_suffix(".found").read_text(encoding="utf-8")
