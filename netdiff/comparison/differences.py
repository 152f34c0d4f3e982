"""Raw differences of the parts themselves: extra, missing, other than drawn, in bad condition."""

from __future__ import annotations

from netdiff.circuit import Part
from netdiff.comparison.limits import limits, within_tolerance
from netdiff.comparison.results import Raw
from netdiff.comparison.scene import Scene, add_raw


def raw_parts(scene: Scene) -> None:
    """Add a raw difference for everything in which a part differs from the drawing's."""
    for name in sorted(scene.missing):
        add_raw(scene, Raw(f"missing:{name}", "part", parts=(name,)))
    for name, part in scene.found_parts.items():
        drawn = scene.stock.parts.get(name)
        if drawn is None:
            if "TB" not in part.kind.letters and not _joint(part):
                add_raw(scene, Raw(f"extra:{name}", "part", parts=(name,)))
            continue
        for what in differences(drawn, part):
            add_raw(scene, Raw(f"{what}:{name}", "part", parts=(name,)))
        for condition in part.conditions:
            add_raw(scene, Raw(f"condition:{part.designator}:{condition}", "state", parts=(name,)))
    for part in scene.found_parts.values():
        if part.designator not in scene.stock.parts and part.conditions:
            for condition in part.conditions:
                key = f"condition:{part.designator}:{condition}"
                if key not in scene.raw:
                    add_raw(scene, Raw(key, "state", parts=(part.designator,)))
    for where, condition, _place in scene.found.conditions:
        add_raw(scene, Raw(f"condition:{where}:{condition}", "state", points=(scene.alignment(where),)))


def _joint(part: Part) -> bool:
    return part.kind.name in {"strip", "splice"}


def differences(drawn: Part, part: Part) -> list[str]:
    """In what a found part differs from the drawn one: ``kind``, ``value``, ``drift``, ``rating``, ``construction``."""
    if not part.read_off and part.measured is None:
        return []
    if part.kind.name != drawn.kind.name or (part.kind.type and drawn.kind.type and part.kind.type != drawn.kind.type):
        return ["kind"]
    out = []
    if not within_tolerance(drawn, part.value):
        out.append("value")
    elif part.measured is not None and not within_tolerance(drawn, part.measured):
        out.append("drift")
    if low_ratings(drawn, part):
        out.append("rating")
    if other_construction(drawn, part):
        out.append("construction")
    return out


def low_ratings(drawn: Part, part: Part) -> list[str]:
    """Units of the ratings that are below the drawing's, beyond the slack of one rating class."""
    slack = 1 - float(limits()["rating_slack"]["value"])
    return [
        unit
        for unit, wanted in drawn.ratings.items()
        if unit != "A" and unit in part.ratings and part.ratings[unit] < wanted * slack
    ]


def other_construction(drawn: Part, part: Part) -> tuple[str, str] | None:
    """The drawn and the found construction, where the found one may not stand in for the drawn."""
    wrong = limits()["construction"]["wrong"]
    for wanted in drawn.words:
        if wanted in part.words:
            return None
        for got in part.words:
            if got in wrong.get(wanted, ()):
                return wanted, got
    return None
