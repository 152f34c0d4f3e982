"""Tracing as a person at a terminal sees it: questions, what became of an answer, how far it is."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from netdiff.circuit import Fault
from netdiff.comparison.results import HOLDS, Comparison
from netdiff.language.faults import render_fault
from netdiff.reporting.page import HOLD_HEADINGS, HOLD_STYLES, Page
from netdiff.reporting.plain import counted
from netdiff.tracing.answers import Outcome, Step, ZoneProgress
from netdiff.tracing.questions import Question

HELP = (
    ("y", "as drawn, parts and values too; `y but V5.g1 R5`: but for these, which are asked next"),
    ("R5 C7.2 TB1.2 ?", "these land here and nothing else; `?` is a lead that you did not follow"),
    ('wire TB1.2, 90mm, 20AWG, "red"', "a described conductor; several things on one line are parted by ;"),
    ("shielded J1.ring, cable W1, 350mm, braid open -- E5.1", "a shielded one: where its braid ends here and there"),
    ("… metered, assumed, frayed, bare 25mm, gap 3mm to S1.1", "after a comma: how a lead is known, how it looks"),
    ("?R3 resistor 680 1W", "a part that the drawing does not have"),
    ("open", "nothing lands here"),
    ("some R5", "this lands here, the rest cannot be seen"),
    ("n", "not as drawn: ask lug by lug"),
    ("is 10k 25W, charred, measured 35k", "what is printed on the part, its condition, its own value"),
    ("missing", "the part is not there (`missing R7` for another)"),
    ("cannot see / skip", "not to be seen / ask me later"),
    ("ohms V1.g1 -- chassis = 470k, photo …, note …, A -- B", "any line of the language"),
    ("instead …", "what you type stands, and a line of mine that says otherwise gives way"),
    ("go TB5.3, go audio", "ask about this now"),
    ("undo, undo 3, last", "take answers back; show the last ones"),
    ("next, far, compare", "the questions to come; how far it is; what it amounts to"),
    ("quit", "everything that was taken is in the file already"),
)


def print_help(page: Page) -> None:
    page.heading("What you can type")
    for word, says in HELP:
        page.line(says, indent=2, lead=f"{word}:  ")


def print_changed(page: Page, changed: Iterable[str]) -> None:
    for says in changed:
        page.line(says, lead="! ")


def print_question(page: Page, question: Question, number: int = 0, offers: bool = False) -> None:
    page.blank()
    lead = f"{number}. " if number else ""
    page.line(f"{question.zone_title}: {question.key}", lead=lead, style="bold")
    page.line(question.says, indent=2)
    if question.form in ("zone", "look"):
        page.line(", ".join(lead.says for lead in question.drawn), indent=4, lead="the drawing has:  ")
    elif len(question.points) > 1:
        for lug in question.points:
            there = [lead.says for lead in question.drawn if lead.at == lug]
            page.line("; ".join(there) or "nothing", indent=4, lead=f"{lug}:  ")
    for lead_known in question.known:
        page.line(f"{lead_known.at}: {lead_known.says} (line {lead_known.line})", indent=4, lead="known:  ")
    if offers:
        page.line(" | ".join(offer.word for offer in question.offers), indent=2, lead="you can say:  ")


def print_questions(page: Page, questions: Iterable[Question]) -> None:
    for number, question in enumerate(questions, 1):
        print_question(page, question, number)
        page.line(question.why, indent=2, lead="why:  ")


def print_outcome(page: Page, outcome: Outcome) -> None:
    print_changed(page, outcome.changed)
    if outcome.taken:
        page.line(outcome.says, lead="= ")
        return
    page.line(outcome.says, lead="! ", style="bold")
    clash = outcome.contradiction
    if clash is not None:
        for line in clash.lines:
            page.line(line.text, indent=4, lead=f"the file, line {line.number}:  ")
        for text in clash.answer:
            page.line(text, indent=4, lead="your answer:  ")
        if clash.yields:
            page.line("If yours is right, say it again with `instead` before it; else say what is.", indent=4)
        else:
            page.line("A hand wrote that line: change it in the file if it is wrong, and go on here.", indent=4)
    elif outcome.faults:
        print_faults(page, outcome.faults)


def print_faults(page: Page, faults: Iterable[Fault], says: str = "") -> None:
    for fault in faults:
        for line in render_fault(fault).split("\n"):
            page.line(line, indent=4)
    if says:
        page.line(says, style="bold")


def print_progress(page: Page, zones: Iterable[ZoneProgress]) -> None:
    page.heading("How far it is")
    rows = [(z.title + (f" ({z.danger})" if z.danger else ""), z.terminals, z.looked, z.questions) for z in zones]
    page.table(
        ("  zone", "terminals", "looked at", "open questions"),
        ((f"  {name}", *map(str, numbers)) for name, *numbers in rows),
    )


def print_recent(page: Page, steps: Iterable[Step]) -> None:
    page.heading("The last answers, the newest first")
    for step in steps:
        for line in step.lines:
            note = " (changed by hand since)" if step.edited else ""
            page.line(f"{line.text}{note}", indent=2, lead=f"{step.number}  line {line.number}:  ")


def print_findings(page: Page, result: Comparison) -> None:
    """What the answers amount to, the most urgent first."""
    page.heading("What it points to")
    for hold in HOLDS:
        here = [finding for finding in result.findings if finding.hold == hold]
        if here:
            page.line(HOLD_HEADINGS[hold], indent=2, style=HOLD_STYLES[hold])
            for finding in here:
                page.line(finding.says, indent=4, lead="- ")
    if not result.findings:
        page.line("Nothing that was seen differs from the drawing.", indent=2)
    total = result.coverage.total
    page.line(f"Nobody looked at {total.not_traced} of {counted(total.terminals, 'terminal')}.", indent=2)


def print_allowances(page: Page, result: Comparison) -> None:
    """For whoever buys."""
    page.heading("What a price should allow for")
    page.points(allowances(result))
    file = result.found.circuit.file
    page.line(f"netdiff compare {file} says it in full; netdiff worklist {file} --estimate what it takes.", indent=2)


def allowances(result: Comparison) -> list[str]:
    """Sentences, by what the findings mean for whoever pays. Common practice."""
    kinds: dict[str, list[str]] = {}
    for finding in result.findings:
        for name in finding.parts:
            kinds.setdefault(finding.kind, []).append(name)
    out = []
    buy = [name for kind in ("missing-part", "wrong-part", "wrong-value") for name in kinds.get(kind, ())]
    if buy:
        out.append(f"Parts to find and fit: {', '.join(dict.fromkeys(buy))}.")
    if kinds.get("added-part") or kinds.get("inserted-part"):
        names = ", ".join(dict.fromkeys([*kinds.get("added-part", ()), *kinds.get("inserted-part", ())]))
        out.append(f"Somebody has rebuilt it ({names}): the wiring behind has to be traced and put back, by the hour.")
    if kinds.get("condition"):
        out.append(f"Repair or replacement by condition: {', '.join(dict.fromkeys(kinds['condition']))}.")
    power = sum(finding.hold == "power" for finding in result.findings)
    if power:
        out.append(
            f"{counted(power, 'finding')} must be cleared before any power: it cannot be tried out where it stands."
        )
    total = result.coverage.total
    out.append(
        f"Of {counted(total.terminals, 'terminal')} nobody has seen {total.not_traced}: what is not known is not free. "
        "Electrolytic and paper capacitors of that age are renewed in any case, and tracing takes days, not hours."
    )
    return out


def question_as_json(question: Question) -> dict[str, Any]:
    return {
        "key": question.key,
        "form": question.form,
        "about": question.about,
        "zone": question.zone,
        "zone_title": question.zone_title,
        "says": question.says,
        "drawn": [{"at": lead.at, "to": lead.to, "says": lead.says} for lead in question.drawn],
        "known": [{"at": lead.at, "to": lead.to, "says": lead.says, "line": lead.line} for lead in question.known],
        "offers": [{"kind": offer.kind, "word": offer.word, "says": offer.says} for offer in question.offers],
        "why": question.why,
        "settles": question.settles,
        "parts": list(question.parts),
        "points": list(question.points),
    }


def outcome_as_json(outcome: Outcome) -> dict[str, Any]:
    clash = outcome.contradiction
    return {
        "taken": outcome.taken,
        "says": outcome.says,
        "step": outcome.step,
        "statements": list(outcome.statements),
        "changed": list(outcome.changed),
        "contradiction": None
        if clash is None
        else {
            "says": clash.says,
            "lines": [{"line": line.number, "text": line.text} for line in clash.lines],
            "answer": list(clash.answer),
            "yields": clash.yields,
        },
    }
