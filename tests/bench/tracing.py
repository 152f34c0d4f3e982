"""What tracing by questions costs and gives, on the demo units, answered by a person who sees only what is asked.

    python -m tests.bench.tracing [--quick]

Three figures. Questions beside the terminals that were looked at (goal: at most 0.6 a terminal on the nearly stock
unit). The share of the findings that is known after a quarter of the questions, beside a plain order from top to
bottom, one terminal a question, and beside the same questions in the order of the drawing without a look over the
zones first (goal: twice the plain order). The time from an answer to the next question (goal: 100 ms). And whether the
comparison at the end is the one that the full found file gives.
"""

from __future__ import annotations

import argparse
import re
import shutil
import statistics
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from netdiff.circuit import part_of
from netdiff.comparison import Comparison, compare
from netdiff.language import Unit, read_unit
from netdiff.language import statements as st
from netdiff.tracing.questions import Question
from netdiff.tracing.session import Session
from tests.tracing_person import Person

HERE = Path(__file__).resolve().parents[2]
DEMO = "harbourlight-0417"
NEARLY_STOCK = "harbourlight-0388"
LATE = frozenset({"late"})
_NAMES = re.compile(r"\??[A-Z]+[0-9]+[A-Z]?(?=[./ ,:]|$)")


class Told(NamedTuple):
    """What tracing came to: questions, the seconds of each from answer to next question, comparisons on the way."""

    questions: int
    seconds: tuple[float, ...]
    computing: tuple[float, ...]
    """The same, without what other programs of the machine and the disk took."""
    on_the_way: tuple[frozenset[tuple[str, ...]], ...]
    comparison: Comparison
    looked: int
    keys: tuple[str, ...]


def folder() -> Path:
    """A folder of its own with the demo's drawing and photos in their places."""
    place = Path(tempfile.mkdtemp(prefix="tracing-"))
    (place / "netlists").mkdir()
    (place / "examples").mkdir()
    shutil.copytree(HERE / "examples" / "photos", place / "examples" / "photos")
    shutil.copy(HERE / "netlists" / "harbourlight-hl45.stock", place / "netlists")
    return place


def full(name: str) -> Unit:
    unit, faults = read_unit(HERE / "examples" / f"{name}.found")
    assert unit is not None, faults
    return unit


def without_zone(unit: Unit, zone: str) -> str:
    """The found file as far as it goes before somebody traces a zone: without all that speaks of its parts."""
    found = unit.found(LATE)
    stock = unit.model.circuit(LATE)
    inside = {name for name, part in (*stock.parts.items(), *found.circuit.parts.items()) if part.zone == zone}
    kept = (st.FoundHead, st.Inspected, st.By, st.Observed, st.ReadingLine, st.Photo, st.Keep)
    out = []
    for line in unit.statements:
        text = unit.source.lines[line.place.line - 1]
        if isinstance(line, st.Traced):
            targets = [word for word in line.targets if word != zone and (part_of(word) or word) not in inside]
            but = [word for word in line.but if (part_of(word) or word) not in inside]
            tail = f" but {' '.join(but)}" if but else ""
            out += [f"{'as-drawn' if line.as_drawn else 'traced'} {' '.join(targets)}{tail}"] if targets else []
        elif isinstance(line, kept) or not set(_NAMES.findall(re.sub(r'"[^"]*"', "", text.partition("#")[0]))) & inside:
            out.append(text)
    return "\n".join(out) + "\n"


def head(unit: Unit) -> str:
    """Only the first line: nothing was looked at yet."""
    line = next(line for line in unit.statements if isinstance(line, st.FoundHead))
    text = unit.source.lines[line.place.line - 1]
    return text + ("\n" if "production" in text else " production late\n")


def trace(unit: Unit, start: str, zone: str = "", *, watch: bool = False, most: int = 1000) -> Told:
    """Answer every question of a session that begins with a text, as the person does who has this unit."""
    place = folder()
    path = place / "examples" / "unit.found"
    path.write_text(start, encoding="utf-8")
    person = Person(unit, LATE)
    session = Session.open(path, zone=zone)
    assert not session.faults, session.faults
    session.confirm("yes")
    seconds, computing, on_the_way, keys = [], [], [], []
    before = _looked(session)
    question = session.question()
    while question is not None and len(keys) < most:
        answer = person.answer(question)
        start_of, cpu = time.perf_counter(), time.process_time()
        outcome = session.answer(answer)
        following = session.question()
        seconds.append(time.perf_counter() - start_of)
        computing.append(time.process_time() - cpu)
        assert outcome.taken, (question.key, answer, outcome)
        keys.append(question.key)
        question = following
        if watch:
            result = session.comparison()
            assert result is not None
            on_the_way.append(named(result))
    result = session.comparison()
    assert result is not None
    looked = _looked(session) - before
    shutil.rmtree(place)
    return Told(len(keys), tuple(seconds), tuple(computing), tuple(on_the_way), result, looked, tuple(keys))


def _looked(session: Session) -> int:
    """Terminals that the drawing wires, lugs of strips left out, that somebody has looked at."""
    return sum(zone.looked for zone in session.progress())


def named(result: Comparison) -> frozenset[tuple[str, ...]]:
    """Findings by what they say of what."""
    return frozenset((f.kind, f.hold, f.says, f.why, *f.parts, *f.terminals, *f.nets) for f in result.findings)


def plainly(unit: Unit, start: str, zones: list[str]) -> Iterator[frozenset[tuple[str, ...]]]:
    """The plain order: every terminal of the drawing from top to bottom, one a question; what is found after each.

    A part that is missing, changed or burnt is told at its first terminal, a stranger where a lead of it is met.
    """
    place = folder()
    path = place / "examples" / "unit.found"
    path.write_text(start, encoding="utf-8")
    person = Person(unit, LATE)
    session = Session.open(path)
    session.confirm("yes")
    for name, part in person.plan.circuit.parts.items():
        if part.zone not in zones:
            continue
        for number, point in enumerate(part.points()):
            if not person.plan.danger.wired(point):
                continue
            _tell(person, session, name, point, first=number == 0)
            result = session.comparison()
            assert result is not None
            yield named(result)
    shutil.rmtree(place)


def _tell(person: Person, session: Session, name: str, point: str, *, first: bool) -> None:
    if first and name in person.gone:
        session.answer(f"missing {name}")
    if session.state.gone(name):
        return
    line = person.line(name)
    if first and line and person.found.circuit.parts[name].read_off:
        session.answer(line)
    if point not in session.state.found.traced and point in person.found.traced:
        question = session.ask(point)
        if isinstance(question, Question):
            for stranger in {part_of(to) for to, _ in person.runs(point) if to.startswith("?")}:
                if stranger not in session.state.parts:
                    session.answer(person.line(stranger))
            session.ask(point)
            session.answer(person.lug(point))


def share(known: frozenset[tuple[str, ...]], final: frozenset[tuple[str, ...]]) -> float:
    return len(known & final) / len(final) if final else 1.0


def report(name: str, told: Told, wanted: Comparison, what: str) -> None:
    same = named(told.comparison) == named(wanted)
    milliseconds = sorted(second * 1000 for second in told.seconds)
    middle, slow = statistics.median(milliseconds), milliseconds[int(len(milliseconds) * 0.95)]
    print(
        f"{name}, {what}: {told.questions} questions for {told.looked} terminals looked at "
        f"({told.questions / told.looked:.2f} each; goal at most 0.6); {len(wanted.findings)} findings in the full "
        f"file, the same at the end: {'yes' if same else 'NO'}; answer to next question {middle:.0f} ms, "
        f"95 % within {slow:.0f} ms, slowest {milliseconds[-1]:.0f} ms (goal 100), "
        f"of which computing {statistics.median(told.computing) * 1000:.0f} ms, "
        f"slowest {max(told.computing) * 1000:.0f} ms"
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--quick", action="store_true", help="the audio zone alone")
    quick = parser.parse_args().quick
    demo = full(DEMO)
    wanted = compare(demo)
    zone = trace(demo, without_zone(demo, "audio"), "audio")
    report(DEMO, zone, wanted, "audio zone, the rest traced before")
    if quick:
        return
    stock = full(NEARLY_STOCK)
    report(NEARLY_STOCK, trace(stock, head(stock)), compare(stock), "from nothing")
    told = trace(demo, head(demo), watch=True)
    report(DEMO, told, wanted, "from nothing")
    final = named(wanted)
    quarter = told.questions // 4
    zones = list(demo.model.circuit(LATE).zones)
    plain = [share(known, final) for known in plainly(demo, head(demo), zones)]
    mine = [share(known, final) for known in told.on_the_way]
    print(
        f"findings known after a quarter of the questions ({quarter}): {mine[quarter - 1]:.0%}; "
        f"in the plain order after as many: {plain[quarter - 1]:.0%} (goal twice); after half: "
        f"{mine[2 * quarter - 1]:.0%} and {plain[2 * quarter - 1]:.0%}; the plain order takes {len(plain)} questions "
        f"in all, and knows {plain[len(plain) // 4 - 1]:.0%} after a quarter of them"
    )


if __name__ == "__main__":
    main()
