"""What the diagram says of a part, a conductor and a difference, in few words."""

from __future__ import annotations

import unicodedata
from typing import Final

from netdiff.circuit import Circuit, Part, Run
from netdiff.comparison import Comparison
from netdiff.comparison.words import kind_words, value_words
from netdiff.quantities import show

LONGEST: Final = 34
"""Characters of a text line in a box or on a conductor; what is longer ends in an ellipsis."""

BOX_WORDS: Final = {
    "added-part": "added", "inserted-part": "inserted", "missing-part": "missing", "wrong-part": "other part",
    "wrong-value": "other value", "drifted-part": "drifted", "low-rating": "lower rating",
    "wrong-construction": "other construction", "exchanged-parts": "exchanged", "substituted-part": "substituted",
    "bypassed-part": "bypassed", "condition": "bad condition",
}  # fmt: skip
"""Kind of finding -> the word on the parts that it speaks of; any other kind is its own word."""

OF_LINES: Final = frozenset({
    "open-connection", "added-connection", "moved-lead", "broken-ground", "unshielded-run", "open-braid", "wrong-wire",
    "exposed-conductor",
})  # fmt: skip
"""Kinds that speak of conductors: the line carries the word, not the parts at its ends."""

CUT_WORDS: Final = {
    "broken-ground": "ground lost", "moved-lead": "moved from here", "inserted-part": "cut here", "reversed": "missing",
}  # fmt: skip
JOIN_WORDS: Final = {"moved-lead": "moved to here", "bypassed-part": "bridged"}
RUN_WORDS: Final = {
    "unshielded-run": "not shielded", "open-braid": "braid open", "wrong-wire": "other wire",
    "exposed-conductor": "bare metal", "condition": "bad condition",
}  # fmt: skip

CONDUCTOR_WORDS: Final = {
    "bare": "bare", "bus": "bus wire", "twisted": "twisted", "strap": "strap", "shielded": "shielded", "coax": "coax",
    "wire": "wire",
}  # fmt: skip


def clip(text: str, most: int = LONGEST) -> str:
    """One line of printable text, at most ``most`` characters long.

    Whatever would steer a printer or turn the direction of writing is left out: a label is data.
    """
    kept = "".join(" " if c.isspace() else c for c in text[: 4 * most] if c.isspace() or _prints(c))
    line = " ".join(kept.split())
    cut = len(text) > 4 * most
    return line if len(line) <= most and not cut else f"{line[: most - 1].rstrip()}…"


def _prints(character: str) -> bool:
    return unicodedata.category(character) not in ("Cc", "Cf", "Cs", "Co", "Cn")


def part_lines(part: Part) -> tuple[str, ...]:
    """Value or kind, then the label: what stands under the designator."""
    value = value_words(part) if part.kind.unit and part.value is not None else ""
    if part.span is not None and part.kind.unit and not value:
        value = f"{show(part.span[0], part.kind.unit)} to {show(part.span[1], part.kind.unit)}"
    kind = "terminal strip" if part.kind.name == "strip" else kind_words(part)
    first = value or (part.kind.type if part.kind.name == "tube" else f"{kind} {value_words(part)}")
    lines = [clip(first)]
    if part.label:
        lines.append(f"“{clip(part.label, LONGEST - 2)}”")
    if part.measured is not None:
        lines.append(f"measured {show(part.measured, part.kind.unit)}")
    lines += [clip(condition) for condition in part.conditions]
    return tuple(line for line in lines if line)


def run_text(run: Run) -> str:
    """``W1 RG-58 coax 180 mm``, and on a second line where the braid lands."""
    words = [run.cable, run.cable_type]
    if not run.cable_type or run.conductor != "coax":
        words.append(CONDUCTOR_WORDS.get(run.conductor, run.conductor))
    words.append(show(run.length, "m") if run.length else "")
    if run.bare:
        words.append(f"{show(run.bare, 'm')} bare")
    lines = [clip(" ".join(word for word in words if word))]
    if run.braid is not None:
        a, b = run.braid
        lines.append(clip(f"braid {a}" if a == b else f"braid {a} / {b}"))
    return "\n".join(lines)


def volts(circuit: Circuit, name: str) -> str:
    """A net's nominal voltage, empty where the drawing gives none."""
    net = circuit.nets.get(name)
    return show(net.volts, "Vac" if net.ac else "V") if net is not None and net.volts else ""


def box_word(kind: str) -> str:
    return BOX_WORDS.get(kind, kind.replace("-", " "))


def number_of(comparison: Comparison) -> dict[str, int]:
    """Modification id -> the number that the diagram calls it by."""
    return {modification.id: count for count, modification in enumerate(comparison.modifications, 1)}
