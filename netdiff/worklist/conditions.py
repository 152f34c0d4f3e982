"""What is done about the condition of a part, a terminal or a conductor."""

from __future__ import annotations

from typing import Final, Literal

from netdiff.circuit import Part, Run
from netdiff.worklist.wanted import table

Cure = Literal["replace", "run", "tighten", "clean", "resolder", "look"]

_ON: Final = {"part", "point", "run", "bolted"}


def is_worn(part: Part, condition: str) -> bool:
    """Whether nobody uses such a part again in that condition. ``part`` is as drawn."""
    rows = table("parts")["worn"]
    kinds: list[str] = []
    if condition in rows and condition not in ("words", "source"):
        kinds += rows[condition]
    for word, its in rows["words"].items():
        if word in _words(condition):
            kinds += its
    if condition == "frayed" and part.kind.name.partition("-")[0] in table("conditions")["frayed_parts"]:
        return True
    return bool({"any", part.kind.name, part.kind.family} & set(kinds))


def turned_for_good(part: Part | None) -> bool:
    """Whether a part that stood the wrong way round is not turned round and used again: polarised capacitors."""
    return part is not None and part.kind.polarised and part.kind.family == "capacitor"


def of_part(part: Part, condition: str) -> Cure:
    """``part`` is as drawn."""
    if condition not in table("conditions")["measure_first"] and is_worn(part, condition):
        return "replace"
    return _cure(condition, "part")


def of_point(condition: str) -> Cure:
    return _cure(condition, "point")


def of_run(run: Run, condition: str) -> Cure:
    return _cure(condition, "bolted" if run.conductor == "bolted" else "run")


def _cure(condition: str, on: str) -> Cure:
    assert on in _ON
    rows = table("conditions")
    for word in (condition, *_words(condition)):
        row = rows.get(word)
        if isinstance(row, dict) and on in row:
            cure: Cure = row[on]
            return cure
    return "look"


def says(cure: Cure, what: str, condition: str) -> str:
    """The sentence of a cure other than a new part or conductor."""
    if cure == "look":
        return f"Look at {what}: {condition}."
    return str(table("conditions")["says"][cure]).format(what=what, condition=condition)


def measure_first(what: str, conditions: tuple[str, ...]) -> str:
    """What is added to a look at a part that may have to be replaced."""
    if set(conditions) & set(table("conditions")["measure_first"]):
        return " " + str(table("conditions")["says"]["measure"]).format(what=what)
    return ""


def _words(condition: str) -> list[str]:
    return condition.lower().replace(",", " ").replace(".", " ").split()
