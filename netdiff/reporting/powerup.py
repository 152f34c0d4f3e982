"""The power-up as a sheet to take to the bench: cautions, what stands in the way, then stage by stage with blanks."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import Any, Final

from netdiff.cautions import BEFORE_TOUCHING
from netdiff.comparison.results import Finding
from netdiff.powerup.log import Entry, Standing
from netdiff.powerup.plan import Plan
from netdiff.powerup.stages import COLD, Ask, Stage, sourced, sources_of, table
from netdiff.reporting.page import Page, print_cautions
from netdiff.reporting.plain import counted

NOT_CLEARED: Final = "NOT CLEARED FOR POWER"
BLANK: Final = "________"
WIDEST_NOTE: Final = 36
BASIS: Final = {
    "factory": "factory's chart", "drawing": "drawing", "computed": "computed", "trade": "practice", "": "",
}  # fmt: skip
_STATES: Final = {
    "passed": "passed",
    "failed": "FAILED",
    "open": "next",
    "waits": "waits for {behind}",
    "held": "held: findings are open",
}


def print_plan(
    page: Page, plan: Plan, standings: Sequence[Standing], *, anyway: bool = False, stale: bool = False,
    unasked: Sequence[Entry] = (),
) -> None:  # fmt: skip
    """The whole sheet; while something is open, the list of that, and with ``anyway`` the cold stages."""
    page.line(f"First power-up: {plan.title}", style="bold")
    print_cautions(page, plan.cautions)
    if not plan.cleared:
        _refusal(page, plan)
        if not anyway:
            page.blank()
            page.line("With --anyway the cold stages are printed, and none with power.")
            return
    _unseen(page, plan)
    if plan.open_r_f and plan.cleared:
        page.heading("No r.f. before these are cleared", style="bold yellow")
        _findings(page, plan.open_r_f)
    shown = [s for s in standings if plan.cleared or s.stage.key in COLD]
    if plan.cleared:
        _before(page, plan)
    _overview(page, plan, shown)
    if stale:
        page.blank()
        page.line(
            "The found file was written after the last entry of the log: stages that the change touches are done again."
        )
    if unasked:
        page.blank()
        page.line("In the log, and asked for by no stage as the unit is wired now, so that it counts for nothing:")
        page.points(map(str, unasked))
    for number, one in enumerate(shown, 1):
        _stage(page, plan, one, number)
    page.heading("Sources")
    for mark, says in sources_of(s.stage for s in shown).items():
        page.line(f"{says}.", indent=2, lead=f"{mark:4}")
    page.blank()
    if plan.cleared:
        page.line(
            "A stage that has passed says what was read that day. It does not say that the unit is safe.", style="bold"
        )
    else:
        page.line(f"{NOT_CLEARED}. Here the sheet ends: no voltage from anywhere.", style="bold red")


def _refusal(page: Page, plan: Plan) -> None:
    page.heading(f"{NOT_CLEARED}: {counted(len(plan.open_power), 'finding')} to be cleared first", style="bold red")
    _findings(page, plan.open_power)
    page.blank()
    page.line(
        "`netdiff worklist` says how the wiring is put back. Write what was mended into the found file, or tick its "
        "step and count the ticks with --as-left. A modification that stays is said with `keep` and the reason.",
        indent=2,
    )
    if plan.keeps:
        page.blank()
        page.line(
            "What no modification brought about, such as what the drawing has too, is open until it is mended or until "
            "a line of the found file names it, with the reason why it may stay. Whoever writes it answers for it:",
            indent=2,
        )
        for name, line in plan.keeps.items():
            page.line(line, indent=2, lead=f"{name}  ")


def _findings(page: Page, findings: Sequence[Finding]) -> None:
    for finding in findings:
        page.line(f"{finding.says} {finding.why}".rstrip(), indent=2, lead=f"{finding.id}  ")


def _unseen(page: Page, plan: Plan) -> None:
    if plan.kept:
        page.heading("Kept, and else it would hold the power back")
        page.line("Whoever marked it to stay answers for it.", indent=2)
        _findings(page, plan.kept)
    if plan.not_traced:
        page.heading("What nobody looked at")
        page.line(
            f"{counted(plan.not_traced, 'terminal')} of the drawing. Nothing is known of them, good or bad.", indent=2
        )
        if plan.unseen:
            page.line(f"{', '.join(plan.unseen)}.", indent=2, lead="On the mains or a supply, so look before power: ")


def _before(page: Page, plan: Plan) -> None:
    page.heading("Before the first stage")
    page.points(table()["before"])
    page.heading("Stop at once, in every stage", style="bold red")
    page.points(table()["anywhere"])
    if plan.notes or plan.draw.how:
        page.heading("About this set")
        page.points(plan.notes)
        if plan.draw.how:
            page.points([f"At work it draws: {plan.draw.how}."])


def _overview(page: Page, plan: Plan, shown: Sequence[Standing]) -> None:
    page.heading("Stages" if plan.cleared else f"Cold stages. {NOT_CLEARED}")
    for number, one in enumerate(shown, 1):
        page.line(f"{one.stage.title}: {said(one)}", indent=2, lead=f"{number:2}. {one.stage.key:16} ")


def said(one: Standing) -> str:
    return _STATES[one.state].format(behind=one.behind)


def _stage(page: Page, plan: Plan, one: Standing, number: int) -> None:
    stage = one.stage
    style = {"failed": "bold red", "held": "bold red"}.get(one.state, "bold")
    page.blank()
    page.line("-" * 72)
    page.line(f"{stage.title} ({stage.key}): {said(one)}", lead=f"{number}. ", style=style)
    page.line(stage.why, indent=3)
    if one.state == "held":
        names = [finding.id for finding in plan.held(stage)]
        page.line(f"Not before {', '.join(names)} {'is' if len(names) == 1 else 'are'} cleared.", indent=3)
    for caution in plan.cautions_of(stage):
        page.line(caution, indent=3, lead="Caution: ")
    for heading, lines in (("Connect", stage.connect), ("Set", stage.set), ("Watch", stage.watch)):
        if lines:
            page.line(f"{heading}:", indent=3)
            page.points(lines, indent=5)
    page.line("Pull the plug if:" if stage.powered else "Go no further if:", indent=3, style="bold")
    page.points(stage.stop, indent=5)
    ground = plan.anatomy.circuit.ground
    against = f", against {ground} where one point is named" if any(a.b == ground for a in stage.asks) else ""
    _readings(page, one, [a for a in stage.asks if a.must], f"Read and write down{against}")
    _readings(page, one, [a for a in stage.asks if not a.must], "For the record")
    page.line(f"Date {BLANK}  Meter {BLANK}{BLANK}  Line {BLANK} V  By {BLANK}{BLANK}", indent=3)
    if stage.powered:
        page.line("After it, before a hand goes in:", indent=3, style="bold")
        page.points(BEFORE_TOUCHING, indent=5)
        if stage.charge:
            page.line("What holds charge:", indent=3)
            page.points(stage.charge, indent=5)
    page.line(f"{stage.source}.", indent=3, lead="From: ")


def _readings(page: Page, one: Standing, asks: Sequence[Ask], heading: str) -> None:
    if not asks:
        return
    page.line(f"{heading}:", indent=3)
    rows: list[tuple[str, ...]] = []
    for ask in asks:
        if ask.quantity != "yes":
            rows.append((f"     {ask.name}", ask.limits, BASIS[ask.basis], _result(one.results.get(ask.name))))
            rows += [(f"       {line}", "", "", "") for line in textwrap.wrap(ask.says, WIDEST_NOTE)]
    if rows:
        page.table(("     reading", "limits", "from", "read"), rows)
    for ask in asks:
        if ask.quantity == "yes":
            page.line(f"{ask.says}: {_result(one.results.get(ask.name), BLANK[:4])}", indent=5, lead=f"{ask.name}  ")


def _result(entry: Entry | None, blank: str = BLANK) -> str:
    return blank if entry is None else f"{entry.value} {'passed' if entry.passed else 'FAILED'}"


def print_logged(page: Page, plan: Plan, new: Sequence[Entry], standings: Sequence[Standing], key: str) -> None:
    """What the new entries mean, and what comes next."""
    here = next(s for s in standings if s.stage.key == key)
    for entry in new:
        ask = here.stage.ask(entry.reading)
        limits = f", limits {ask.limits}" if ask is not None and ask.quantity != "yes" else ""
        if entry.passed:
            page.line(f"{key}  {entry.reading} = {entry.value}: passed{limits}.")
        else:
            page.line(
                f"{key}  {entry.reading} = {entry.value}: FAILED{limits}. It is recorded as failed.", style="bold red"
            )
    if here.state == "failed":
        page.line(
            f"{key} has failed. No stage after it is logged until it is read again within its limits.", style="bold red"
        )
        if here.stage.powered:
            page.line("Unplug, discharge, prove dead, and find out why.", style="bold")
    elif here.missing:
        page.line(f"Still to be read in {key}: {', '.join(a.name for a in here.missing)}.")
    else:
        following = next((s for s in standings if s.state in ("open", "held", "failed")), None)
        page.line(f"{key} has passed.", style="bold")
        if following is None:
            page.line("Every stage has been logged. That says what was read, not that the unit is safe.")
        else:
            held = f" It is {said(following)}." if following.state != "open" else ""
            page.line(f"Next: {following.stage.key}. {following.stage.title}.{held}")
    if here.stage.powered:
        print_cautions(page, BEFORE_TOUCHING)


def as_json(
    plan: Plan, standings: Sequence[Standing], *, anyway: bool = False, unasked: Sequence[Entry] = ()
) -> dict[str, Any]:
    shown = [s for s in standings if plan.cleared or (anyway and s.stage.key in COLD)]
    return {
        "cautions": list(plan.cautions),
        "unit": plan.title,
        "cleared": plan.cleared,
        "headed": "" if plan.cleared else NOT_CLEARED,
        "open": [{**_finding(f), "keep": plan.keeps.get(f.id, "")} for f in plan.open_power],
        "open_before_rf": [_finding(f) for f in plan.open_r_f],
        "kept": [_finding(f) for f in plan.kept],
        "not_traced": plan.not_traced,
        "look_before_power": list(plan.unseen),
        "before": list(table()["before"]) if plan.cleared else [],
        "stop_anywhere": list(table()["anywhere"]) if plan.cleared else [],
        "draws": {"watts": float(f"{plan.draw.watts:.3g}"), "from": plan.draw.how},
        "notes": list(plan.notes) if plan.cleared else [],
        "stages": [_stage_json(plan, s) for s in shown],
        "unasked": [str(entry) for entry in unasked],
    }


def _finding(finding: Finding) -> dict[str, Any]:
    return {"id": finding.id, "kind": finding.kind, "says": finding.says, "why": finding.why, "hold": finding.hold}


def _stage_json(plan: Plan, one: Standing) -> dict[str, Any]:
    stage: Stage = one.stage
    return {
        "cautions": list(plan.cautions_of(stage)),
        "stage": stage.key,
        "title": stage.title,
        "state": one.state,
        "waits_for": one.behind if one.state == "waits" else "",
        "powered": stage.powered,
        "makes_rf": stage.r_f,
        "why": stage.why,
        "connect": list(stage.connect),
        "set": list(stage.set),
        "watch": list(stage.watch),
        "stop": list(stage.stop),
        "readings": [_ask_json(a, one.results.get(a.name)) for a in stage.asks],
        "after": list(BEFORE_TOUCHING) if stage.powered else [],
        "charge": list(stage.charge),
        "source": sourced(stage.source),
    }


def _ask_json(ask: Ask, entry: Entry | None) -> dict[str, Any]:
    read: dict[str, Any] = {"read": None, "on": None, "passed": None}
    if entry is not None:
        read = {"read": entry.value, "on": entry.on, "passed": entry.passed}
    return {
        "name": ask.name, "quantity": ask.quantity, "unit": ask.unit, "low": ask.low, "high": ask.high,
        "open": ask.open, "from": ask.basis, "a": ask.a, "b": ask.b, "state": ask.state, "must": ask.must,
        "says": ask.says, **read,
    }  # fmt: skip


def print_refused(page: Page, plan: Plan, says: str) -> None:
    """Why nothing was logged."""
    print_cautions(page, plan.cautions)
    if not plan.cleared:
        _refusal(page, plan)
    page.blank()
    page.line(f"Nothing was logged: {says}", style="bold red")


def refused_json(plan: Plan, says: str) -> dict[str, Any]:
    return {
        "cautions": list(plan.cautions),
        "unit": plan.title,
        "cleared": plan.cleared,
        "refused": says,
        "open": [{**_finding(f), "keep": plan.keeps.get(f.id, "")} for f in plan.open_power],
        "open_before_rf": [_finding(f) for f in plan.open_r_f],
    }
