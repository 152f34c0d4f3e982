"""From a comparison to its work list."""

from __future__ import annotations

from dataclasses import replace

from netdiff.cautions import for_cold_work
from netdiff.comparison.merged import scene_of
from netdiff.comparison.results import Comparison, Modification
from netdiff.comparison.scene import Scene
from netdiff.readings.side import Side
from netdiff.worklist.buying_told import told
from netdiff.worklist.conditions import turned_for_good
from netdiff.worklist.discharge import among, discharges, with_nets
from netdiff.worklist.earth import with_earths
from netdiff.worklist.goal import Goal, set_goal
from netdiff.worklist.limits import with_limits
from netdiff.worklist.mains import live_points
from netdiff.worklist.ohms import whole_unit
from netdiff.worklist.planner import Reason, plan
from netdiff.worklist.setting import with_settings
from netdiff.worklist.steps import WorkList


def worklist(comparison: Comparison) -> WorkList:
    """The steps that return the unit to stock, cleared by hold, each hold opened by a discharge.

    Modifications that are kept are left alone. What nobody looked at is left alone. Done in order in
    the model (``apply``), the steps end at the drawing's circuit, and at every step no net of the
    unit is tied to another that the drawing keeps apart and that was not tied to it as found.
    """
    stays, kept = what_stays(comparison)
    left = {name for one in stays for name in one.findings}
    scene = scene_of(comparison)
    goal = goal_of(comparison, scene, kept)
    own = {drawn: found for found, drawn in scene.alignment.alias.items()}
    mine = {drawn: found for found, drawn in scene.alignment.same.items()}
    reasons = tuple(
        Reason(
            finding.id,
            finding.hold,
            finding.modification,
            finding.says,
            finding.explains,
            tuple(mine.get(name, name) for name in finding.parts),
            tuple(own.get(where, where) for where in finding.terminals),
            finding.kind,
            finding.follows,
        )
        for finding in comparison.findings
        if finding.id not in left and not (finding.drawn or finding.kind == "reading-off")
    )
    unit = whole_unit(goal, scene)
    drawing = Side(comparison, comparison.stock)
    planned = told(drawing, with_limits(unit, plan(goal, reasons)))
    settled = with_settings(comparison.stock, drawing.nets, planned)
    steps = tuple(with_earths(comparison, scene, unit, settled))
    opening = discharges(comparison, with_nets(unit, comparison.stock), steps)
    return WorkList(comparison, among(opening, steps), stays, for_cold_work(), opening)


def what_stays(comparison: Comparison) -> tuple[tuple[Modification, ...], frozenset[str]]:
    """The modifications that stay, and the keys of their raw differences.

    A part to which a kept connection leads stays with it, whoever put it there.
    """
    explains = {finding.id: finding.explains for finding in comparison.findings}
    kept = [one for one in comparison.modifications if one.kept]
    keys = {key for one in kept for name in one.findings for key in explains[name]}
    carry = {f"extra:{part}": one for one in kept for part in one.parts}
    keys |= carry.keys() & {raw.key for raw in comparison.raw}
    out = list(kept)
    for one in comparison.modifications:
        its = [key for name in one.findings for key in explains[name]]
        if not one.kept and its and keys.issuperset(its):
            chief = next(carry[key] for key in its if key in carry)
            out.append(replace(one, kept=True, reason=f"what stays leads to it: {chief.title}"))
    return tuple(out), frozenset(keys)


def goal_of(comparison: Comparison, scene: Scene, kept: frozenset[str] | None = None) -> Goal:
    """What the unit shall be: the drawing, but for the modifications that stay."""
    if kept is None:
        _, kept = what_stays(comparison)
    turned = {
        name
        for finding in comparison.findings
        if finding.kind == "reversed" and not kept.issuperset(finding.explains)
        for name in finding.parts
        if turned_for_good(comparison.stock.parts.get(name))
    }
    return set_goal(scene, {raw.key: raw for raw in comparison.raw}, kept, turned, live_points(comparison, scene))
