"""The work list as a person carries it to the bench: cautions, then step after step, each with its proof."""

from __future__ import annotations

from netdiff.cautions import for_cold_work
from netdiff.reporting.page import HOLD_HEADINGS, HOLD_STYLES, Page, print_cautions
from netdiff.reporting.plain import counted
from netdiff.reporting.terminal import zone_title
from netdiff.worklist.steps import Step, WorkList


def print_worklist(page: Page, work: WorkList) -> None:
    result = work.comparison
    page.line(f"Work list: {result.found.circuit.title}, back to {result.stock.title}", style="bold")
    page.line(f"{result.found.circuit.file}, {result.stock.file}")
    print_cautions(page, work.cautions or for_cold_work())
    page.blank()
    page.line(counted(len(work.steps), "step") + "." if work.steps else "No step: nothing that was traced differs.")
    titles = {one.id: one.title for one in result.modifications}
    number = 0
    for hold, steps in work.by_hold():
        page.heading(HOLD_HEADINGS[hold], style=HOLD_STYLES[hold])
        if steps[0].action != "discharge":
            # Ticked or not: whoever takes the work up again does it again.
            for step in (one for one in work.discharges if one.hold == hold):
                _step(page, work, step, 0, "")
        for step in steps:
            number += 1
            _step(page, work, step, number, titles.get(step.modification, ""))
    if work.stays:
        page.heading("Stays as it is")
        for one in work.stays:
            page.line(f"{one.title}: {one.reason}" if one.reason else one.title, indent=2, lead="- ")
    left = result.coverage.total.not_traced
    if left:
        page.blank()
        page.line(f"Nobody looked at {counted(left, 'terminal')} of the drawing: no step here is about them.")


def _step(page: Page, work: WorkList, step: Step, number: int, title: str) -> None:
    page.blank()
    lead = f"{number:3}. " if number else "  *  "
    indent = len(lead)
    for caution in step.cautions:  # read before the hand moves
        page.line(caution, indent=indent, lead="Caution: ")
    page.line(step.says, lead=lead, style="bold")
    for proof in step.proofs:
        if proof.says:
            page.line(proof.says, indent=indent, lead="Then: ")
    about = [step.name]
    if step.zone:
        about.append(zone_title(work.comparison.stock, step.zone))
    if step.reasons:
        about.append("clears " + " ".join(step.reasons))
    if title:
        about.append(f"{step.modification}: {title}")
    page.line("; ".join(about), indent=indent)
