"""The as-left record: what was found, what was done, what stays and why, the readings, what nobody checked.

One content in two forms: JSON for another program, Markdown for the file that stays with the unit.
Whatever a user wrote is data: in the Markdown it can be no markup.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import Any, Final

from netdiff.cautions import for_readings
from netdiff.circuit import Reading
from netdiff.comparison.results import HOLDS, Comparison, Modification
from netdiff.quantities import show
from netdiff.reporting.page import HOLD_WORDS
from netdiff.reporting.plain import clean, counted
from netdiff.reporting.terminal import parts_and_terminals, zone_title
from netdiff.worklist.progress import Progress
from netdiff.worklist.record import drawn_hazards, left
from netdiff.worklist.steps import WorkList
from netdiff.worklist.ticks import Sheet
from netdiff.worklist.wanted import outside, wanted

_UNITS: Final = {"ohms": "ohm", "volts": "V", "amps": "A", "watts": "W"}
_QUANTITY: Final = {
    "ohm": "ohms",
    "V": "volts",
    "Vac": "volts",
    "A": "amps",
    "W": "watts",
    "F": "farads",
    "H": "henries",
}


def as_json(work: WorkList, sheet: Sheet, now: Progress, again: Comparison) -> dict[str, Any]:
    """Everything that the record says. ``again`` is the unit as left, compared with its drawing."""
    result = work.comparison
    found = result.found
    return {
        "cautions": list(for_readings()),
        "unit": {
            "title": found.circuit.title, "file": found.circuit.file, "inspected": found.inspected, "by": found.by,
        },
        "drawing": {
            "title": result.stock.title, "file": result.stock.file, "drawing": result.stock.drawing,
            "production": result.production,
        },
        "done": len(now.done),
        "steps": len(work.steps),
        "from": min((tick.on for _, tick in now.done), default=""),
        "to": max((tick.on for _, tick in now.done), default=""),
        "meters": _meters(sheet),
        "left": _left(again),
        "modifications": [_modification(work, now, one) for one in result.modifications],
        "work": [_work(work, step, tick) for step, tick in now.done],
        "readings": _readings(work, sheet, now),
        "not_done": [
            {"step": step.name, "hold": step.hold, "says": step.says, "parts": list(step.parts)} for step in now.open
        ],
        "not_measured": [
            {"step": step.name, "wanted": [f"{one.what}: {one.says}" for one in wanted(work, step)]}
            for step, tick in now.done
            if wanted(work, step) and not tick.readings
        ],
        "not_looked_at": {
            "terminals": again.coverage.total.not_traced,
            "of": again.coverage.total.terminals,
            "zones": {
                zone_title(again.stock, zone): parts_and_terminals(again.stock, _in_zone(again, zone))
                for zone, tally in again.coverage.zones.items()
                if tally.not_traced
            },
        },
        "notes": [{"of": list(note.of), "says": note.text} for note in found.notes],
        "stray": [{"step": tick.step, "on": tick.on} for tick in now.stray],
    }  # fmt: skip


def _meters(sheet: Sheet) -> list[str]:
    names = [tick.meter for tick in sheet.ticks] + [one.meter for one in sheet.later]
    return list(dict.fromkeys(name for name in names if name))


def _left(again: Comparison) -> list[dict[str, str]]:
    """Findings that are left and the drawing's own hazards, the most urgent first."""
    ids = {*left(again), *drawn_hazards(again)}
    rest = [finding for finding in again.findings if finding.id in ids]
    rest.sort(key=lambda finding: HOLDS.index(finding.hold))
    return [{"kind": one.kind, "hold": one.hold, "says": one.says, "why": one.why} for one in rest]


def _modification(work: WorkList, now: Progress, one: Modification) -> dict[str, Any]:
    found = {finding.id: finding for finding in work.comparison.findings}
    names = [step.name for step in work.steps if set(step.reasons) & set(one.findings)]
    done = {step.name for step, _ in now.done}
    ticked = [name for name in names if name in done]
    if one.kept:
        state = "stays"
    elif names and len(ticked) == len(names):
        state = "undone"
    else:
        state = "partly undone" if ticked else "as found"
    return {
        "title": one.title,
        "hold": one.hold,
        "found": [found[name].says for name in one.findings],
        "state": state,
        "reason": one.reason,
        "steps": names,
        "done": ticked,
    }


def _work(work: WorkList, step: Any, tick: Any) -> dict[str, Any]:
    limits = {one.what: one.says for one in wanted(work, step)}
    wrong = {one.what for one, _ in outside(work, step, tick.readings)}
    return {
        "step": step.name,
        "on": tick.on,
        "says": step.says,
        "zone": zone_title(work.comparison.stock, step.zone) if step.zone else "",
        "readings": [
            {
                "what": one.what, "reads": str(one), "value": one.value, "unit": one.unit,
                "limits": limits.get(one.what, ""), "within": one.what not in wrong,
            }
            for one in tick.readings
        ],
        "fitted": tick.fitted,
        "meter": tick.meter,
        "because": tick.because,
    }  # fmt: skip


def _readings(work: WorkList, sheet: Sheet, now: Progress) -> list[dict[str, str]]:
    """A row a place and state: what the drawing's chart says, what was read before and after."""
    rows: dict[tuple[str, frozenset[str], str], dict[str, str]] = {}

    def row(quantity: str, ends: Sequence[str], state: str) -> dict[str, str]:
        key = (quantity, frozenset(ends), state)
        if key not in rows:
            blank = dict.fromkeys(("drawing", "before", "after", "on", "meter"), "")
            rows[key] = {"what": " to ".join(ends), "quantity": quantity, "state": state, **blank}
        return rows[key]

    result = work.comparison
    ground = result.stock.ground
    for one in result.found.circuit.readings:
        row(one.quantity, _ends(one, ground), one.state)["before"] = _shown(one)
    for name, part in result.found.circuit.parts.items():
        if part.measured is not None and part.kind.unit:
            row(_QUANTITY.get(part.kind.unit, ""), (name,), "rest")["before"] = show(part.measured, part.kind.unit)
    for _, tick in now.done:
        for reading in tick.readings:
            it = row(_QUANTITY[reading.unit], reading.what.split(" -- "), "rest")
            it.update(after=str(reading), on=tick.on, meter=tick.meter)
    for later in sheet.later:
        it = row(_QUANTITY[later.reading.unit], later.reading.what.split(" -- "), later.state or "rest")
        it.update(after=str(later.reading), on=later.on, meter=later.meter)
    for chart in result.stock.readings:
        known = rows.get((chart.quantity, frozenset(_ends(chart, ground)), chart.state))
        if known is not None:
            known["drawing"] = _shown(chart)
    for it in rows.values():
        drawn = result.stock.parts.get(it["what"])
        if drawn is not None and drawn.value is not None and drawn.kind.unit:
            tolerance = f" {show(drawn.tolerance, '%')}" if drawn.tolerance else ""
            it["drawing"] = show(drawn.value, drawn.kind.unit) + tolerance
    return list(rows.values())


def _ends(one: Reading, ground: str) -> tuple[str, ...]:
    if one.quantity in ("amps", "watts"):
        return (one.a, one.b) if one.b else (one.a,)
    return one.a, one.b or ground


def _shown(one: Reading) -> str:
    unit = _UNITS[one.quantity]
    if one.open:
        return "open"
    if one.nominal is None:
        if one.low is not None and one.high is not None:
            return f"{show(one.low, unit)} to {show(one.high, unit)}"
        return f"more than {show(one.low, unit)}" if one.low is not None else "open"
    says = show(one.nominal, unit)
    if one.low is not None and one.high is not None and one.low < one.high:
        says += f" ({show(one.low, unit)} to {show(one.high, unit)})"
    return says


def _in_zone(again: Comparison, zone: str) -> list[str]:
    parts = again.stock.parts
    return [w for w in again.coverage.not_traced if (p := parts.get(w.partition(".")[0])) and p.zone == zone]


# --- Markdown ---------------------------------------------------------------------------------------------------------


def as_markdown(facts: dict[str, Any]) -> str:
    """The record of ``as_json`` as a page that reads well as it stands, and prints."""
    return (
        "\n".join([*_head(facts), *_found_and_done(facts), *_measured(facts), *_open(facts), *_appendix(facts)]) + "\n"
    )


def _head(facts: dict[str, Any]) -> Iterable[str]:
    unit, drawing = facts["unit"], facts["drawing"]
    yield f"# {_t(unit['title'])}: as left"
    yield ""
    yield f"- Unit: {_t(unit['file'])}" + (f", inspected {_t(unit['inspected'])}" if unit["inspected"] else "") + (
        f" by {_t(unit['by'])}" if unit["by"] else "")  # fmt: skip
    yield f"- Drawing: {_t(drawing['title'])}, {_t(drawing['drawing'] or drawing['file'])}"
    if drawing["production"]:
        yield f"- {_t(drawing['production'])}"
    span = f", {facts['from']} to {facts['to']}" if facts["from"] else ""
    yield f"- Work: {facts['done']} of {counted(facts['steps'], 'step')} done{span}"
    yield f"- Meters: {_t(', '.join(facts['meters'])) or 'not noted'}"
    yield ""
    yield "Nothing in this record says that the unit is safe. Before a hand goes in:"
    yield ""
    yield from (f"- {_t(caution)}" for caution in facts["cautions"])
    yield ""
    yield "## What is left"
    yield ""
    if facts["left"]:
        yield from (f"- **{HOLD_WORDS[one['hold']]}**: {_t(one['says'])} {_t(one['why'])}" for one in facts["left"])
    else:
        yield "No finding is left but the kept ones, by the ticks and by what was traced."
    yield ""


def _found_and_done(facts: dict[str, Any]) -> Iterable[str]:
    yield "## What was found, and what became of it"
    yield ""
    if facts["modifications"]:
        yield from _table(
            ("found", "before", "what became of it"),
            (
                (
                    one["title"] + ": " + " ".join(one["found"]),
                    HOLD_WORDS[one["hold"]].removeprefix("before "),
                    _became(one),
                )
                for one in facts["modifications"]
            ),
        )
    else:
        yield "Nothing that was traced differed from the drawing."
    yield ""
    yield "## Work done"
    yield ""
    if not facts["work"]:
        yield "None."
    for one in facts["work"]:
        yield f"- {one['on']}: {_t(one['says'])} ({_code(one['step'])})"
        if one["fitted"]:
            yield f"  - Fitted: {_t(one['fitted'])}"
        for reading in one["readings"]:
            word = "" if reading["within"] else ", **outside its limits**"
            limits = f" (to be {_t(reading['limits'])})" if reading["limits"] else ""
            yield f"  - {_t(reading['what'])} reads {_t(reading['reads'])}{limits}{word}"
        if one["because"]:
            yield f"  - Because: {_t(one['because'])}"
    yield ""


def _became(one: dict[str, Any]) -> str:
    if one["state"] == "stays":
        return f"stays: {one['reason']}" if one["reason"] else "stays"
    if one["state"] == "partly undone":
        return f"partly undone, {len(one['done'])} of {counted(len(one['steps']), 'step')}"
    return str(one["state"])


def _measured(facts: dict[str, Any]) -> Iterable[str]:
    yield "## Readings before and after"
    yield ""
    if not facts["readings"]:
        yield "None was noted."
        yield ""
        return
    yield "At rest means unplugged and discharged. Readings before are those of the found file."
    yield ""
    yield from _table(
        ("between", "", "state", "drawing", "before", "after", "on", "meter"),
        (
            tuple(one[key] for key in ("what", "quantity", "state", "drawing", "before", "after", "on", "meter"))
            for one in facts["readings"]
        ),
    )
    yield ""


def _open(facts: dict[str, Any]) -> Iterable[str]:
    yield "## What was not done and not checked"
    yield ""
    for one in facts["not_done"]:
        yield f"- Not done, {HOLD_WORDS[one['hold']]}: {_t(one['says'])} ({_code(one['step'])})"
    for one in facts["not_measured"]:
        yield f"- Done and not measured: {_code(one['step'])} ({_t('; '.join(one['wanted']))})"
    unseen = facts["not_looked_at"]
    if unseen["terminals"]:
        yield f"- Nobody looked at {unseen['terminals']} of the {unseen['of']} terminals of the drawing:"
        yield from (f"  - {_t(zone)}: {_t(what)}" for zone, what in unseen["zones"].items())
    else:
        yield "- All terminals of the drawing were looked at."
    for one in facts["stray"]:
        yield f"- Ticked on {one['on']}, and no longer on the work list: {_code(one['step'])}"
    yield "- What the wiring does not show: the state of tubes, the alignment, insulation under voltage."
    yield ""
    if facts["notes"]:
        yield "Notes of the bench:"
        yield ""
        yield from (
            f"- {_t(' '.join(one['of']))}{': ' if one['of'] else ''}{_t(one['says'])}" for one in facts["notes"]
        )
        yield ""


def _appendix(facts: dict[str, Any]) -> Iterable[str]:
    yield "## Appendix to the drawing: what stays other than drawn"
    yield ""
    kept = [one for one in facts["modifications"] if one["state"] == "stays"]
    for one in kept:
        yield f"- **{_t(one['title'])}**. {_t(' '.join(one['found']))} Reason: {_t(one['reason'] or 'none was noted')}"
    out = [(one, r) for one in facts["work"] for r in one["readings"] if not r["within"]]
    for one, reading in out:
        says = f"{reading['what']} measures {reading['reads']} and should be {reading['limits']}"
        yield f"- {_t(says)}. Reason: {_t(one['because'])}"
    if not kept and not out:
        yield "Nothing was marked to stay."
    yield ""
    yield "| done by | date | signature |"
    yield "| --- | --- | --- |"
    yield "| &nbsp; | &nbsp; | &nbsp; |"


def _table(titles: Sequence[str], rows: Iterable[Sequence[str]]) -> Iterable[str]:
    yield "| " + " | ".join(titles) + " |"
    yield "|" + " --- |" * len(titles)
    for row in rows:
        yield "| " + " | ".join(_t(cell) for cell in row) + " |"


_MARKUP: Final = re.compile(r"([\\`*_{}\[\]<>|#~&!$])")


def _t(text: str) -> str:
    """A user's text, with nothing in it that Markdown or HTML would take for its own."""
    return _MARKUP.sub(_harmless, clean(text))


def _code(name: str) -> str:
    """A step's name as it is typed."""
    return "`" + clean(name).replace("`", "") + "`"


def _harmless(match: re.Match[str]) -> str:
    sign = match[1]
    return {"<": "&lt;", ">": "&gt;", "&": "&amp;"}.get(sign, f"\\{sign}")
