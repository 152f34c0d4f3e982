"""A tracing session: one found file, the drawing that it names, and what is asked next.

    session = Session.open(Path("unit.found"))      # or a .stock file: begins a new found file beside it
    session.confirm("yes")                          # unplugged, discharged, proved dead: again on every resume
    question = session.question()
    outcome = session.answer(Answer("as-drawn"), token="…")

The found file is the only memory: every answer is appended to it at once, so that a restart goes on where the last
answer left off, and so that a text editor may have the file open at the same time.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Final

from netdiff import writing
from netdiff.circuit import Fault, Point
from netdiff.tracing import clashes, files, notebook, quick, spelling, telling, typed, words
from netdiff.tracing.answers import Answer, Contradiction, Line, Outcome, Step, ZoneProgress
from netdiff.tracing.asking import looked_over, open_questions, question_on
from netdiff.tracing.beginning import begin, first_line, is_stock
from netdiff.tracing.plan import Plan
from netdiff.tracing.questions import Question
from netdiff.tracing.state import State

if TYPE_CHECKING:
    from netdiff.circuit import Circuit
    from netdiff.comparison import Comparison
    from netdiff.language import Model, Unit

CONFIRM: Final = (
    "Is the unit unplugged and its cord tagged, every capacitor discharged through a resistor and shorted, proved dead "
    "with a meter, and the jumper still on? Type yes."
)
_TRIES: Final = 20
"""So often an answer is laid on what others wrote meanwhile before it is given back to the person."""


class Session:
    """Not thread-safe: one caller at a time. Several sessions (processes, people) on one file are safe."""

    def __init__(self, path: Path, reading: files.Reading, zone: str = "", quick: bool = False) -> None:
        self.path = path
        self.zone = zone
        """Ask in this zone only; empty: everywhere."""
        self.quick = quick
        """The quick look before buying: only what can be seen from outside."""
        self.confirmed = False
        """The person has confirmed `must_confirm` since this session was opened. Until then no answer is taken."""
        self._reading = reading
        self._active: frozenset[str] | None = None
        self._plan: Plan | None = None
        self._state: State | None = None
        self._hand: Question | None = None
        self._kept = False
        """The question in hand was chosen by the person although it was answered before."""

    @classmethod
    def open(
        cls, path: Path | str, *, zone: str = "", found: Path | str = "", title: str = "", production: str = "",
        quick: bool = False,
    ) -> Session:  # fmt: skip
        """A session on a found file. A stock file begins a new found file: ``found``, or ``NAME.found`` beside it,
        which must not be there yet. Raises `netdiff.Faulty` or OSError; a found file that is broken now is opened."""
        path = Path(path)
        content = path.read_bytes()
        if is_stock(path, content):
            path = begin(path, Path(found) if found else None, title, production)
            content = path.read_bytes()
        return cls(path, files.read(path, content, None), zone, quick)

    # --- what there is

    @property
    def faults(self) -> tuple[Fault, ...]:
        """What is wrong with the found or the stock file at the moment: a hand edit broke it. Mend it and go on."""
        return self._reading.faults

    @property
    def unit(self) -> Unit | None:
        return self._reading.unit

    @property
    def model(self) -> Model | None:
        return self._reading.drawing.model if self._reading.drawing is not None else None

    @property
    def stock(self) -> Circuit | None:
        """The drawing, of the production that the unit is taken to be."""
        return self.plan.circuit if self.unit is not None else None

    @property
    def plan(self) -> Plan:
        assert self.unit is not None
        if self._active is None:
            self._active = files.active_production(self.unit)
        if self._plan is None:
            self._plan = Plan(self.unit.model.circuit(self._active))
        return self._plan

    @property
    def state(self) -> State:
        unit = self.unit
        assert unit is not None
        if self._state is None:
            plan = self.plan
            self._state = State(unit, unit.found(self._active or frozenset()), plan)
        return self._state

    @property
    def must_confirm(self) -> str:
        """What the person confirms by typing yes, on every resume."""
        return quick.CONFIRM if self.quick else CONFIRM

    def confirm(self, word: str) -> bool:
        """The person types ``yes``: the unit is dead. Anything else is no."""
        self.confirmed = word.strip().lower() == "yes"
        return self.confirmed

    def changed(self) -> Sequence[str]:
        """Looks whether an editor (or another session) changed the found or the stock file; sentences that say what."""
        before = self._reading
        try:
            content = notebook.read(self.path)
        except OSError as error:
            says = f"cannot be read: {error.strerror}"
            fault = Fault(words.place(self.path, 1), f"the file {says}", hint="put it back, and go on")
            self._take(replace(before, unit=None, faults=(fault,), content=b""))
            return (f"{self.path} {says}.",) if before.content else ()
        drawing = files.drawn(before.drawing.path, before.drawing) if before.drawing is not None else None
        if content == before.content and drawing is before.drawing:
            return ()
        self._take(files.read(self.path, content, drawing))
        return words.what_changed(self.path, before, self._reading)

    def _take(self, reading: files.Reading) -> None:
        if self._reading.drawing is not reading.drawing or (
            reading.unit is not None
            and self._active is not None
            and reading.unit.production not in (None, self._active)
        ):
            self._plan = self._active = None
        self._reading = reading
        self._state = None

    # --- asking

    def question(self) -> Question | None:
        """The most useful question now; None when nothing is open (or the file is faulty: see ``faults``)."""
        if self.unit is None:
            return None
        if self._hand is None or (self._answered(self._hand) and not self._kept):
            self._kept = False
            self._hand = next(self._open(), None)
        return self._hand

    def questions(self, most: int = 10) -> tuple[Question, ...]:
        """The next questions, as far as can be seen now."""
        return tuple(islice(self._open(), most)) if self.unit is not None else ()

    def _open(self) -> Iterator[Question]:
        return quick.open_groups(self.state) if self.quick else open_questions(self.state, self.zone)

    def ask(self, what: str) -> Question | Outcome:
        """Go to any zone, part or terminal, looked at or not; an Outcome with the nearest name if there is none."""
        if self.unit is None:
            return words.faulty(self.path, self.faults)
        question = question_on(self.state, what.strip())
        if question is None:
            return Outcome(False, words.no_such(self.state, what.strip()))
        self._hand, self._kept = question, self._answered(question)
        return question

    def take_up(self, key: str, most: int = 200) -> None:
        """Take in hand the open question with this key, if it is among the next ``most``: answers that waited somewhere
        come later than they were given, and a socket is asked about together with what hangs on it."""
        hand = self.question()
        if hand is None or hand.key != key:
            shown = next((one for one in self.questions(most) if one.key == key), None)
            if shown is not None:
                self._hand, self._kept = shown, False

    def _answered(self, question: Question) -> bool:
        """Somebody answered it meanwhile, in this session or another."""
        if question.form == "look":
            return question.key not in {other.key for other in quick.open_groups(self.state)}
        if question.form == "zone":
            return looked_over(self.state, question.about)
        if question.form == "lug":
            return question.about in self.state.found.traced
        return not any(self.state.open(name) for name in question.parts)

    # --- answering

    def answer(self, answer: Answer | str, token: str = "") -> Outcome:
        """Write an answer to the question in hand. A text is read by `typed.parse`. The same token is taken once,
        also after a restart."""
        if not self.confirmed:
            return Outcome(False, f"Nothing was written. First: {self.must_confirm}")
        told: list[str] = []
        before = self._reading.content
        for _ in range(_TRIES):
            told += self.changed()
            again = notebook.known_token(self._reading.content, token) if token else None
            if again is not None:
                return Outcome(
                    True, f"That answer was taken before, as step {again.number}.", again.number,
                    tuple(line.text for line in again.lines), repeated=True, changed=tuple(told),
                )  # fmt: skip
            if self.unit is None:
                return words.faulty(self.path, self.faults, tuple(told))
            try:
                outcome = self._try(answer, token, self._reading.content != before)
            except writing.Changed:
                continue
            except telling.Unclear as unclear:
                outcome = Outcome(False, str(unclear))
            except OSError as error:
                outcome = words.not_written(self.path, error)
            return replace(outcome, changed=tuple(told))
        says = f"{self.path} is being written all the time; nothing was written."
        return Outcome(False, says, unsaved=True, changed=tuple(told))

    def _try(self, given: Answer | str, token: str, meanwhile: bool) -> Outcome:
        hand = self._hand or self.question()
        answer = typed.parse(given, hand, self.state.unit.catalogue.names()) if isinstance(given, str) else given
        question = self._meant(answer, hand)
        state = self.state
        fresh = self._again(question)
        if meanwhile and not self._kept and self._answered(question) and answer.kind != "statement":
            return self._clash_of_writers(question, answer)
        lines = telling.statements(state, fresh, answer)
        found = self._clashes(fresh, answer)
        here = {number for clash in found for number in clash.lines if number}
        if found and not (answer.instead and self._yields(here)):
            return self._contradicted([clash.says for clash in found], here, lines)
        for clash in found:
            lines += spelling.amended(self._reading.content, clash.lines, clash.word)
        for _ in range(_TRIES):
            content, step = notebook.appended(self._reading.content, lines, token, sorted(here))
            reading = files.read(self.path, content, self._reading.drawing)
            if reading.unit is not None:
                break
            if not spelling.spell_out(state, self._reading.content, reading.faults, lines, here):
                return self._faulty_answer(reading, lines)
        writing.swap(self.path, self._reading.content, content)
        self._take(reading)
        self._kept = False
        self._hand = None if answer.kind != "statement" or question.form in ("zone", "look") else question
        return Outcome(True, words.taken(lines), step, tuple(lines))

    def _meant(self, answer: Answer, hand: Question | None) -> Question:
        if answer.about and (hand is None or answer.about not in (hand.about, hand.key)):
            question = question_on(self.state, answer.about)
            if question is None:
                raise telling.Unclear(words.no_such(self.state, answer.about))
            return question
        if hand is None:
            if answer.kind == "statement":
                return Question("", "zone", "", "", "", "")
            raise telling.Unclear("No question is open.")
        return hand

    def _again(self, question: Question) -> Question:
        """The question as the file stands now: the same stop, what is still open of it."""
        if question.form == "look":
            return question
        if question.form == "zone" or len(question.parts) < 2:
            return question_on(self.state, question.about) or question
        now = [p for p in question.points if p not in self.state.found.traced]
        parts = tuple(name for name in question.parts if self.state.open(name))
        return replace(question, points=tuple(now), parts=parts) if parts else question

    def _clashes(self, question: Question, answer: Answer) -> list[clashes.Clash]:
        state = self.state
        if answer.kind not in ("these", "nothing") or question.form in ("zone", "look"):
            return []
        at: Point = (
            question.about if question.form == "lug" else question.points[0] if len(question.points) == 1 else ""
        )
        if not at:
            return []
        told = clashes.told_already(state, at)
        return told or clashes.clashes(state, at, answer.items)

    def _yields(self, numbers: set[int]) -> bool:
        mine = {line.number for line in notebook.marked(self._reading.content) if not line.edited}
        return numbers <= mine

    def _contradicted(self, says: list[str], numbers: set[int], lines: Sequence[str]) -> Outcome:
        text = notebook.text_lines(self._reading.content)
        shown = tuple(Line(number, notebook.bare(text[number - 1])) for number in sorted(numbers))
        told = " ".join(says)
        yields = bool(numbers) and self._yields(numbers)
        return Outcome(
            False, f"{told} Both cannot be so; nothing was written.",
            contradiction=Contradiction(told, shown, tuple(lines), yields),
        )  # fmt: skip

    def _faulty_answer(self, reading: files.Reading, lines: Sequence[str]) -> Outcome:
        """The language itself will not have the answer: another line says otherwise, or a word is wrong."""
        last = len(notebook.text_lines(self._reading.content))
        numbers = {fault.place.line for fault in reading.faults if fault.place.line < last}
        for fault in reading.faults:
            numbers |= {int(word) for word in re.findall(r"line (\d+)", fault.says) if int(word) < last}
        if numbers:
            outcome = self._contradicted(
                [f"{fault.says[0].upper()}{fault.says[1:]}." for fault in reading.faults], numbers, lines
            )
            return replace(outcome, faults=reading.faults)
        says = "; ".join(f"{fault.says}{f' ({fault.hint})' if fault.hint else ''}" for fault in reading.faults)
        return Outcome(False, f"Not written: {says}.", statements=(), faults=reading.faults)

    def _clash_of_writers(self, question: Question, answer: Answer) -> Outcome:
        state = self.state
        points = question.points or (question.about,)
        numbers = {
            state.said.get(p) or state.at.get(p) or next((lead.line for lead in state.known(p)), 0) for p in points
        }
        numbers |= {place.line for name in question.parts if (place := state.found.missing_places.get(name))}
        try:
            lines = telling.statements(state, question, answer)
        except telling.Unclear:
            lines = []
        text = notebook.text_lines(self._reading.content)
        said = {" ".join(notebook.bare(text[n - 1]).split()) for n in numbers if n}
        if lines and said >= set(lines):
            return Outcome(True, "Somebody has written the same meanwhile; it stands once.", repeated=True)
        return self._contradicted(
            [f"While you looked, somebody wrote about {question.about} too."], numbers - {0}, lines
        )

    # --- looking back

    def undo(self, count: int = 1) -> Outcome:
        """Take the last steps back, the newest first; a line that a hand has changed since stays."""
        for _ in range(_TRIES):
            told = tuple(self.changed())
            content = was = self._reading.content
            taken: list[str] = []
            stay: list[int] = []
            last = 0
            for step in notebook.steps(was)[: max(count, 0)]:
                content, lines, kept = notebook.without(content, step.number)
                taken += lines
                stay += kept
                last = step.number
            if not last:
                return Outcome(False, "There is nothing to take back.", changed=told)
            reading = files.read(self.path, content, self._reading.drawing)
            if reading.unit is None and self.unit is not None:
                says = "Other lines need what would be taken back; nothing was changed."
                return Outcome(False, says, faults=reading.faults, changed=told)
            try:
                writing.swap(self.path, was, content)
            except writing.Changed:
                continue
            except OSError as error:
                return replace(words.not_written(self.path, error), changed=told)
            self._take(reading)
            self._hand = None
            return Outcome(True, words.undone(taken, stay), last, tuple(taken), changed=told)
        return Outcome(False, f"{self.path} is being written all the time; nothing was changed.")

    def recent(self, count: int = 10) -> tuple[Step, ...]:
        """The last steps, the newest first."""
        return tuple(notebook.steps(self._reading.content)[:count])

    def progress(self) -> tuple[ZoneProgress, ...]:
        """Zone by zone, in the order in which they are asked."""
        return words.progress(self.state) if self.unit is not None else ()

    def comparison(self) -> Comparison | None:
        """What the file amounts to now (a tenth of a second to some seconds); None while it is faulty."""
        from netdiff.comparison import compare

        return compare(self.unit) if self.unit is not None else None

    def completions(self, text: str, question: Question | None = None) -> tuple[str, ...]:
        """Words that may stand where ``text`` ends, the likeliest first: whole words, not endings."""
        return words.completions(self.state, text, question or self._hand) if self.unit is not None else ()


def only_looking(path: Path, production: str = "") -> Session:
    """A session that only asks: a stock file alone begins no file on the disk. Raises `netdiff.Faulty` or OSError."""
    content = path.read_bytes()
    if not is_stock(path, content):
        return Session(path, files.read(path, content, None))
    return Session(
        path.with_suffix(".found"), files.read(path.with_suffix(".found"), first_line(path, production), None)
    )


__all__ = ["CONFIRM", "Session", "begin", "only_looking"]
