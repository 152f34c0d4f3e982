"""From a comparison to its work list."""

from __future__ import annotations

from netdiff.cautions import for_cold_work
from netdiff.comparison.merged import scene_of
from netdiff.comparison.results import Comparison
from netdiff.comparison.scene import Scene
from netdiff.worklist.goal import Goal, set_goal
from netdiff.worklist.limits import with_limits
from netdiff.worklist.ohms import whole_unit
from netdiff.worklist.planner import Reason, plan
from netdiff.worklist.steps import WorkList


def worklist(comparison: Comparison) -> WorkList:
    """The steps that return the unit to stock, cleared by hold.

    Modifications that are kept are left alone. What nobody looked at is left alone. Done in order in
    the model (``apply``), the steps end at the drawing's circuit, and at every step no net of the
    unit is tied to another that the drawing keeps apart and that was not tied to it as found.
    """
    stays = tuple(one for one in comparison.modifications if one.kept)
    left = {name for one in stays for name in one.findings}
    scene = scene_of(comparison)
    goal = goal_of(comparison, scene)
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
    steps = with_limits(whole_unit(goal, scene), plan(goal, reasons))
    return WorkList(comparison, steps, stays, for_cold_work())


def goal_of(comparison: Comparison, scene: Scene) -> Goal:
    """What the unit shall be: the drawing, but for the modifications that stay."""
    left = {name for one in comparison.modifications if one.kept for name in one.findings}
    kept = frozenset(key for finding in comparison.findings if finding.id in left for key in finding.explains)
    return set_goal(scene, {raw.key: raw for raw in comparison.raw}, kept)
