"""How much of the stock circuit was looked at: every wired terminal agrees, differs, or was not traced."""

from __future__ import annotations

from collections import defaultdict

from netdiff.circuit import part_of
from netdiff.comparison.results import Coverage, Finding, Tally
from netdiff.comparison.scene import Scene

NO_ZONE = ""
"""Parts that stand in no zone."""


def coverage(scene: Scene, findings: tuple[Finding, ...]) -> Coverage:
    """Counts the terminals that the drawing connects, tie points left out."""
    differ = {where for raw in scene.raw.values() for where in raw.points if raw.sort in ("cut", "join", "place")}
    changed = {name for raw in scene.raw.values() if raw.sort == "part" for name in raw.parts}
    differ |= {
        where for f in findings if f.kind in ("unshielded-run", "open-braid", "wrong-wire") for where in f.terminals
    }
    tallies: dict[str, list[int]] = defaultdict(lambda: [0, 0, 0, 0])
    not_traced, different = [], []
    for name, part in scene.stock.parts.items():
        tally = tallies[part.zone or NO_ZONE]
        for lug in part.kind.terminals:
            where = f"{name}.{lug.name}"
            if lug.tie or len(scene.drawn.members[scene.drawn.index[where]]) < 2:
                continue
            tally[0] += 1
            # What went with a part that was replaced by another kind was looked at, in its way.
            replaced = f"kind:{name}" in scene.raw and where not in scene.compared
            looked = replaced or where in scene.traced or name in scene.found.as_drawn or where in scene.landing
            if looked and (where in differ or part_of(where) in changed):
                tally[2] += 1
                different.append(where)
            elif where in scene.traced or name in scene.found.as_drawn:
                tally[1] += 1
            else:
                tally[3] += 1
                not_traced.append(where)
    zones = {zone: Tally(*tally) for zone, tally in tallies.items() if tally[0]}
    total = Tally(*(sum(tally[i] for tally in tallies.values()) for i in range(4)))
    return Coverage(total, zones, tuple(not_traced), tuple(different))
