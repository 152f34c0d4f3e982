"""What must be cleared before power, the gravest first, each in the sentence of the finding that says what can happen.

The title of a modification says what somebody did ("S3 bridged"), not what it can do. Where its findings have a hazard,
the hazard's own sentence stands for it.
"""

from __future__ import annotations

import re
from typing import Final

from netdiff.comparison.results import Comparison, Finding
from netdiff.reporting.html.model import Line

# In each grade the gravest first: what reaches somebody who only touches the set, then whoever opens it, then a fire,
# then the set itself. A letter after a kind is the class of the part. Source: common practice, after the order in which
# restorers' lists name the risks: shock, fire, destruction.
GRADES: Final[tuple[tuple[str, ...], ...]] = (
    (
        "hot-chassis", "defeated-interlock", "hot-terminal", "missing-cover", "no-bleeder", "no-safety-choke",
        "no-safety-ground", "wrong-leg", "reversed P", "reversed J", "broken-ground", "exposed-conductor",
    ),
    ("unfused", "wrong-fuse", "unsafe-line-capacitor"),
    (
        "defeated-protection", "overstressed", "screen-without-plate", "lost-bias", "open-grid-return", "wrong-supply",
    ),
)  # fmt: skip
OTHER: Final = len(GRADES)
"""The grade of everything else."""
SAID_WHY: Final = 2
"""Of the first grades the reason stands there too."""


def before_power(comparison: Comparison) -> tuple[Line, ...]:
    """A line for each modification that must be cleared before power, and for each finding that belongs to none."""
    held = [one for one in comparison.findings if one.hold == "power"]
    lines = [(_rank(one), _line(one, f"#{one.id}")) for one in held if not one.modification]
    for mod in comparison.modifications:
        mine = [one for one in held if one.modification == mod.id]
        if mod.hold == "power" and mine:
            worst = min(mine, key=_rank)
            lines.append((_rank(worst), _line(worst, f"#{mod.id}", mod.title, mod.kept)))
    out: list[Line] = []
    for _, line in sorted(lines, key=lambda one: one[0]):
        told = any(line.why == one.why for one in out)
        out.append(line._replace(why="") if told else line)
    return tuple(out)


def _rank(finding: Finding) -> tuple[int, bool, int]:
    """The grade; what was done to the set before what the factory built; the place in the grade."""
    letters = {re.sub(r"[^A-Z].*", "", name.lstrip("?")) for name in finding.parts}
    names = [finding.kind, *(f"{finding.kind} {letter}" for letter in letters)]
    for grade, kinds in enumerate(GRADES):
        places = [kinds.index(name) for name in names if name in kinds]
        if places:
            return grade, finding.drawn, min(places)
    return OTHER, finding.drawn, 0


def _line(finding: Finding, href: str, title: str = "", stays: bool = False) -> Line:
    grade = _rank(finding)[0]
    says = title if title and grade == OTHER else _first_sentence(finding.says)
    why = finding.why if grade < SAID_WHY else ""
    return Line(says, href, why, stays=stays, drawn=finding.drawn)


def _first_sentence(text: str) -> str:
    """Up to the first full stop that a sentence follows, and that is no part of a label: `J2.tip` goes on."""
    for stop in re.finditer(r"\.(?= [A-Za-z?])", text):
        head = text[: stop.end()]
        if head.count("“") == head.count("”"):
            return head
    return text
