"""Where a lead goes, for one screen and as JSON."""

from __future__ import annotations

from typing import Any

from netdiff.comparison.follow import Following, Reach, Step
from netdiff.reporting.plain import clean

MOST = 12
"""Lines of one list on a screen; what is left is counted."""


def told(result: Following) -> str:
    out = [f"{result.start}, state {result.state}"]
    if result.here:
        out.append(f"Joined by conductors: {_list(result.here)}.")
    elif result.looked:
        out.append("Nothing is soldered to it.")
    if not result.looked:
        drawn = f"; the drawing joins it to {_list(result.should_be)}" if result.should_be else ""
        out.append(f"Nobody looked at all that lands there{drawn}.")
    for title, reaches, none_on_the_way in (
        ("Joined by contacts that are closed:", result.closed, ""),
        ("What feeds it, the nearest named nets first:", result.feeds, "straight"),
        ("What it leads to:", result.operates, "straight"),
    ):
        if reaches:
            out.append(title)
            out += [f"  {_line(reach, none_on_the_way)}" for reach in reaches[:MOST]]
            if len(reaches) > MOST:
                out.append(f"  and {len(reaches) - MOST} more")
    return "\n".join(clean(line) for line in out)


def as_json(result: Following) -> dict[str, Any]:
    def reach(one: Reach) -> dict[str, Any]:
        return {"at": one.where, "what": one.what, "path": [_step(step) for step in one.path]}

    return {
        "from": result.start,
        "state": result.state,
        "looked_at": result.looked,
        "drawing_joins": list(result.should_be),
        "joined": list(result.here),
        "by_contacts": [reach(one) for one in result.closed],
        "fed_by": [reach(one) for one in result.feeds],
        "leads_to": [reach(one) for one in result.operates],
    }


def _step(step: Step) -> dict[str, str]:
    return {"way": step.way, "over": step.over, "to": step.to}


def _line(reach: Reach, straight: str) -> str:
    path = " → ".join(_words(step) for step in reach.path) or straight
    return f"{reach.where} ({reach.what}): {path}"


def _words(step: Step) -> str:
    if step.way == "part":
        return f"through {step.over} to {step.to}"
    return f"{step.over}, to {step.to}" if step.way == "contact" else step.to


def _list(items: tuple[str, ...]) -> str:
    more = f" and {len(items) - MOST} more" if len(items) > MOST else ""
    return ", ".join(items[:MOST]) + more
