"""A session line by line in a terminal, with completion; from a pipe, the same lines without it."""

from __future__ import annotations

import json
import re
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from typing import TYPE_CHECKING, Any, Final

from netdiff.cautions import for_cold_work
from netdiff.reporting import tracing as told
from netdiff.reporting.page import Page, print_cautions
from netdiff.tracing.answers import Outcome
from netdiff.tracing.quick import CAUTIONS

if TYPE_CHECKING:
    from prompt_toolkit.completion import Completer

    from netdiff.tracing.questions import Question
    from netdiff.tracing.session import Session

DONE: Final = "Nothing is open: everything that can be seen was looked at. The rest stays unknown."

_WORD_END: Final = re.compile(r"[\s,;:]+")

PAUSE: Final = 45 * 60.0
"""Seconds after which the person confirms anew: electrolytics have had time to regain charge. Own judgement."""

Ask = Callable[[str], str]
"""Prompts for a line; raises EOFError at the end and KeyboardInterrupt when somebody has enough."""


def talk(session: Session, as_json: bool = False, ask: Ask | None = None) -> None:
    """Asks until nothing is open or the person has enough. Every answer is in the file as soon as it is taken."""
    Dialogue(session, as_json, ask or _asker(session)).run()


class Dialogue:
    def __init__(self, session: Session, as_json: bool, ask: Ask) -> None:
        self.session = session
        self.as_json = as_json
        self.ask = ask
        self.page = Page()

    def run(self) -> None:
        cautions = CAUTIONS if self.session.quick else for_cold_work()
        self._say({"cautions": list(cautions)}, lambda: print_cautions(self.page, cautions))
        try:
            if not self._confirmed():
                return
            self._loop()
        except (EOFError, KeyboardInterrupt):
            pass
        says = f"Everything that was taken is in {self.session.path}."
        self._say({"says": says}, lambda: self.page.line(says))

    def _say(self, data: dict[str, Any], text: Callable[[], object]) -> None:
        if self.as_json:
            print(json.dumps(data, ensure_ascii=False), flush=True)
        else:
            text()

    def _confirmed(self) -> bool:
        """Before the first question, and on every resume."""
        says = self.session.must_confirm
        self._say({"confirm": says}, lambda: self.page.heading(says))
        if self.session.confirm(self.ask("yes? ")):
            return True
        says = "Then no question is asked. Come back when it is."
        self._say({"says": says}, lambda: self.page.line(says))
        return False

    def _loop(self) -> None:
        shown = ""
        heard = time.monotonic()
        while True:
            changed = self.session.changed()
            self._changed(changed)
            question = self._question(shown if not changed else "")
            if question is None and self.session.unit is not None:
                self._say({"done": DONE}, lambda: self.page.line(DONE, style="bold"))
                return
            shown = question.key if question is not None else ""
            line = self.ask(f"{shown or 'mended?'} > ").strip()
            if time.monotonic() - heard > PAUSE and not self._confirmed():
                return
            heard = time.monotonic()
            if line.lower() in ("quit", "q", "exit"):
                return
            if self._command(line):
                shown = ""
                continue
            if not line:
                continue
            if question is None:
                continue  # the file is broken: whatever was typed, look again
            outcome = self.session.answer(line)
            self._outcome(outcome)

    def _question(self, shown: str) -> Question | None:
        if self.session.unit is None:
            faults = self.session.faults
            says = "The file cannot be read as it stands. Mend it in your editor, save it, and press Enter here."
            self._say(
                {"faults": [str(fault.place) for fault in faults], "says": says},
                lambda: told.print_faults(self.page, faults, says),
            )
            return None
        question = self.session.question()
        if question is not None and question.key != shown:
            self._show(question)
        return question

    def _changed(self, changed: Sequence[str]) -> None:
        if changed:
            self._say({"changed": list(changed)}, lambda: told.print_changed(self.page, changed))

    def _show(self, question: Question) -> None:
        self._say(
            {"question": told.question_as_json(question)},
            lambda: told.print_question(self.page, question, offers=True),
        )

    def _outcome(self, outcome: Outcome) -> None:
        self._say({"outcome": told.outcome_as_json(outcome)}, lambda: told.print_outcome(self.page, outcome))

    def _command(self, line: str) -> bool:
        """Something that is no answer; whether the line was such."""
        word, _, rest = line.partition(" ")
        match word.lower():
            case "help" | "h":
                told.print_help(self.page)
            case "undo":
                self._outcome(self.session.undo(int(rest) if rest.strip().isdecimal() else 1))
            case "last":
                told.print_recent(self.page, self.session.recent(10))
            case "next":
                told.print_questions(self.page, self.session.questions(10))
            case "far":
                told.print_progress(self.page, self.session.progress())
            case "compare":
                result = self.session.comparison()
                if result is not None:
                    told.print_findings(self.page, result)
            case "go" if rest.strip():
                outcome = self.session.ask(rest)
                if isinstance(outcome, Outcome):
                    self._outcome(outcome)
            case _:
                return False
        return True


def _asker(session: Session) -> Ask:
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        return _from_pipe
    from prompt_toolkit import PromptSession

    prompt: PromptSession[str] = PromptSession(completer=completer(session), complete_while_typing=False)
    return lambda says: prompt.prompt(says)


def completer(session: Session) -> Completer:
    """Completion of the word before the cursor, for the question in hand."""
    from prompt_toolkit.completion import Completer, Completion
    from prompt_toolkit.document import Document

    class Words(Completer):
        def get_completions(self, document: Document, _event: object) -> Iterator[Completion]:
            text = document.text_before_cursor
            for word in session.completions(text):
                yield Completion(word, start_position=-len(_WORD_END.split(text)[-1]))

    return Words()


def _from_pipe(says: str) -> str:
    print(says, end="", flush=True)
    line = sys.stdin.readline()
    if not line:
        raise EOFError
    print(line.rstrip("\n"), flush=True)
    return line
