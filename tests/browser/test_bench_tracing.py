"""A whole unit traced on the page: by touch, by keyboard, by a numeric pad; what comes out is what the file says."""

from __future__ import annotations

import shutil
import signal
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

import netdiff
from netdiff.commands.shared import examined
from netdiff.comparison import Comparison
from netdiff.language import Model, Unit, read_unit_text
from netdiff.tracing.questions import Question
from netdiff.tracing.session import Session
from tests.browser.bench import Bench, Hand, Keys, Pad, asked, confirm
from tests.browser.person import Person

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture
def lantern(tmp_path: Path) -> Path:
    shutil.copy(ROOT / "netlists" / "lantern.stock", tmp_path)
    return tmp_path / "lantern.stock"


@pytest.fixture
def benches() -> Iterator[Callable[..., Bench]]:
    made: list[Bench] = []

    def start(file: Path, *more: str) -> Bench:
        made.append(Bench(file, *more))
        return made[-1]

    yield start
    said = [one.end(signal.SIGKILL) for one in made]
    assert not any("Traceback" in text for text in said), said


def attic() -> Unit:
    """The demo's small unit; its added resistor has the name that the page gives to the first one."""
    model = netdiff.read(ROOT / "netlists" / "lantern.stock")
    assert isinstance(model, Model)
    text = (ROOT / "examples" / "attic.found").read_text(encoding="utf-8")
    unit, faults = read_unit_text(text.replace("?R9", "?R1"), model)
    assert unit is not None, faults
    return unit


def told(result: Comparison) -> list[tuple[Any, ...]]:
    return sorted((f.kind, f.hold, f.parts, f.terminals, f.nets) for f in result.findings)


def trace(page: Any, hand: Hand, file: Path, person: Person, most: int = 60) -> int:
    """Answers until nothing is asked; how many answers it took."""
    session = Session.open(file)
    for number in range(most):
        about = asked(page)
        if not about:
            return number
        # The test reads the question from the file as any other program would.
        session.changed()
        question = next((one for one in session.questions(50) if one.about == about), None) or session.ask(about)
        assert isinstance(question, Question)
        hand.answer(person.answer(question))
        assert not page.locator("#told .warning").count(), page.locator("#told").text_content()
    raise AssertionError(f"after {most} answers {asked(page)} is still asked")


@pytest.mark.parametrize("way", [Hand, Keys, Pad], ids=["touch", "keyboard", "numeric pad"])
def test_a_whole_unit(way: type[Hand], lantern: Path, benches: Callable[..., Bench], page_at: Any) -> None:
    bench = benches(lantern)
    page = page_at(360, has_touch=True)
    page.goto(bench.url)
    hand = way(page)
    hand.zones = {name: part.zone for name, part in attic().model.circuit().parts.items()}
    if way is Hand:
        confirm(page)
    else:
        page.wait_for_selector("#confirm[open]")
        for key in ("1", "2", "3", "Enter"):
            hand.key(key)  # type: ignore[attr-defined]
        page.wait_for_function("() => document.getElementById('question').dataset.about")
    count = trace(page, hand, lantern.with_suffix(".found"), Person(attic().found()))
    result, known = netdiff.compare(netdiff.read(lantern.with_suffix(".found"))), netdiff.compare(attic())
    assert told(result) == told(known)
    assert result.coverage.total == known.coverage.total
    print(f"\n{way.__name__}: {count} answers for {known.coverage.total.terminals} terminals")
    # What was found is on the page, by hold, without asking.
    everything = examined(attic()).findings
    assert len(everything) >= len(known.findings)
    page.wait_for_function("n => document.querySelectorAll('#found li').length === n", arg=len(everything))
    assert page.locator("#found details").count() == len({finding.hold for finding in everything})
