"""What one person did on one evening: findings that share foreign parts, conductors or a stock connection.

Each modification gets the title that a colleague would give it, after its leading finding: one
small function a kind.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from netdiff.circuit import is_foreign, natural
from netdiff.comparison.holds import earlier
from netdiff.comparison.results import HOLDS, Finding, Hold, Modification
from netdiff.comparison.scene import Scene
from netdiff.comparison.words import a_or_an, kind_words, plural, some
from netdiff.nets import Union

Title = Callable[[Scene, Finding], str]

LEADING = (
    "inserted-part", "substituted-part", "bypassed-part", "wrong-part", "exchanged-parts", "reversed", "added-part",
    "moved-lead", "missing-part", "broken-ground", "added-connection", "open-connection", "unshielded-run",
    "open-braid", "wrong-wire", "wrong-lug", "wrong-value", "low-rating", "wrong-construction", "drifted-part",
    "exposed-conductor", "condition",
)  # fmt: skip
"""Which finding of a modification gives it its title: the first of these kinds."""


def group(scene: Scene, findings: list[Finding]) -> tuple[tuple[Finding, ...], tuple[Modification, ...]]:
    """Number the findings and put each into its modification. The most urgent come first."""
    union = Union()
    for number, finding in enumerate(findings):
        union.add(f"finding {number}")
        for tag in finding.foreign:
            union.join(f"finding {number}", tag)
    groups: dict[str, list[Finding]] = {}
    for number, finding in enumerate(findings):
        groups.setdefault(union.find(f"finding {number}"), []).append(finding)
    ordered = sorted(groups.values(), key=_order)
    numbered: list[Finding] = []
    modifications: list[Modification] = []
    for count, members in enumerate(ordered, 1):
        members.sort(key=lambda f: (LEADING.index(f.kind), f.at, f.says))
        names = []
        for finding in members:
            name = f"finding-{len(numbered) + 1}"
            names.append(name)
            numbered.append(replace(finding, id=name, modification=f"mod-{count}"))
        reason = _kept(scene, members)
        hold: Hold = "none"
        for finding in members:
            hold = earlier(hold, finding.hold)
        parts = sorted(
            {p for f in members for p in f.parts if is_foreign(p) or p not in scene.stock.parts}, key=natural
        )
        modifications.append(
            Modification(
                f"mod-{count}",
                title(scene, members),
                tuple(names),
                tuple(parts),
                kept=reason is not None,
                reason=reason or "",
                hold=hold,
            )
        )
    return tuple(numbered), tuple(modifications)


def _order(members: list[Finding]) -> tuple[int, int, str]:
    first = min(members, key=lambda f: LEADING.index(f.kind))
    return min(HOLDS.index(f.hold) for f in members), LEADING.index(first.kind), first.says


def _kept(scene: Scene, members: list[Finding]) -> str | None:
    """The reason why this modification stays, where the file says so by one of its parts or terminals."""
    speaks = {name for f in members for name in (*f.parts, *f.terminals)}
    speaks |= {tag.removeprefix("part ") for f in members for tag in f.foreign if tag.startswith("part ")}
    for keep in scene.found.keeps:
        if any(of in speaks or scene.alignment(of) in speaks for of in keep.of):
            return keep.text or "kept"
    return None


def title(scene: Scene, members: list[Finding]) -> str:
    """The title of a modification with these findings, the leading one first."""
    first = members[0]
    alike = [finding for finding in members if finding.kind == first.kind]
    if first.kind == "wrong-part" and len(alike) > 1:
        words = f"{_instead(scene, first)} in place of {some(finding.parts[0] for finding in alike)}"
    else:
        words = _fed_otherwise(scene, members) or _TITLES[first.kind](scene, first)
    return words[:1].upper() + words[1:]


def _fed_otherwise(scene: Scene, members: list[Finding]) -> str:
    """The title of a supply that lost one winding and took another."""
    feeds = [tag for finding in members for tag in finding.foreign if tag.startswith("feed ")]
    net = next((int(tag.removeprefix("feed ")) for tag in feeds if feeds.count(tag) > 1), -1)
    kinds = {finding.kind for finding in members}
    if net < 0 or not {"open-connection", "added-connection"} <= kinds:
        return ""
    return f"{scene.net_name(net)} fed from another winding"


def _thing(scene: Scene, name: str) -> str:
    """``an unidentified relay`` for a foreign part, ``R5`` for a stock part."""
    part = scene.found_parts.get(name)
    if name in scene.stock.parts or part is None:
        return name
    words = kind_words(part)
    if part.kind.name == "unknown":
        return "an unidentified thing"
    return f"an unidentified {words} ({name})"


def _foreign(scene: Scene, finding: Finding) -> str:
    names = [name for name in finding.parts if name not in scene.stock.parts]
    return some(_thing(scene, name) for name in names)


def _own(scene: Scene, finding: Finding) -> str:
    return some(name for name in finding.parts if name in scene.stock.parts)


def _where(finding: Finding) -> str:
    return some(finding.terminals, 2)


def _inserted(scene: Scene, finding: Finding) -> str:
    rf = any(scene.stock.nets[n].purpose == "rf" for n in finding.nets if n in scene.stock.nets)
    place = f"the {finding.nets[0]} lead" if finding.nets else f"the lead between {_where(finding)}"
    if rf:
        place = f"the radio-frequency lead at {_where(finding)}"
    return f"{_foreign(scene, finding)} inserted in {place}"


def _reversed(_: Scene, finding: Finding) -> str:
    names = [where.partition(".")[2] for where in finding.terminals]
    return f"{finding.parts[0]} wired the wrong way round ({some(names)})"


def _pieces(scene: Scene, finding: Finding) -> int:
    name, *others = finding.parts
    still_there = name in scene.found_parts and scene.found_parts[name].designator == name
    return len(others) + (1 if still_there else 0)


def _instead(scene: Scene, finding: Finding) -> str:
    part = scene.found_parts.get(finding.parts[-1]) or scene.found_parts.get(finding.parts[0])
    return a_or_an(kind_words(part)) if part is not None else "another part"


def _supply(scene: Scene, finding: Finding) -> str:
    return f" on {finding.nets[0]}" if finding.nets else ""


_TITLES: dict[str, Title] = {
    "inserted-part": _inserted,
    "substituted-part": lambda s, f: f"{f.parts[0]} made up of {plural(_pieces(s, f), 'part')}",
    "bypassed-part": lambda s, f: (
        f"{_foreign(s, f)} across {_own(s, f)}" if _foreign(s, f) else f"{_own(s, f)} bridged"
    ),
    "wrong-part": lambda s, f: f"{_instead(s, f)} in place of {f.parts[0]}",
    "exchanged-parts": lambda s, f: f"{some(f.parts)} exchanged",
    "reversed": _reversed,
    "added-part": lambda s, f: f"{_foreign(s, f)} added{_supply(s, f)}",
    "moved-lead": lambda s, f: f"{_where(f)} moved to another place",
    "missing-part": lambda s, f: f"{f.parts[0]} missing",
    "broken-ground": lambda s, f: f"{_where(f)} lost {'its' if len(f.terminals) == 1 else 'their'} ground",
    "added-connection": lambda s, f: f"{some(f.nets) if len(f.nets) > 1 else _where(f)} joined",
    "open-connection": lambda s, f: f"{_where(f)} cut off",
    "unshielded-run": lambda s, f: f"{' to '.join(f.terminals[:2])} in open wire",
    "open-braid": lambda s, f: f"a braid open at {f.terminals[0]}",
    "wrong-wire": lambda s, f: f"another conductor from {' to '.join(f.terminals[:2])}",
    "wrong-lug": lambda s, f: f"{f.terminals[0]} on another lug than drawn",
    "wrong-value": lambda s, f: f"{f.parts[0]} of another value",
    "low-rating": lambda s, f: f"{f.parts[0]} of a lower rating",
    "wrong-construction": lambda s, f: f"{f.parts[0]} of another construction",
    "drifted-part": lambda s, f: f"{f.parts[0]} drifted",
    "exposed-conductor": lambda s, f: f"bare metal at {_where(f)}",
    "condition": lambda s, f: f"{some(f.parts) or _where(f)}: {f.explains[0].rpartition(':')[2]}",
}
