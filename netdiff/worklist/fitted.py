"""What went in where it is not what the drawing has: the value that is made today, a safety class, a higher rating."""

from __future__ import annotations

from dataclasses import replace

from netdiff.catalogue import standard
from netdiff.circuit import Part
from netdiff.comparison.words import kind_words
from netdiff.worklist.steps import Step, WorkList
from netdiff.worklist.wanted import Refused


def fitted_part(work: WorkList, step: Step, told: str) -> Part:
    """The part that a step put in, from words as a part line has them: ``47n 250Vac X2``, ``36k 25W wirewound``.

    Raises Refused where the step puts in none or several, or the words say no such part.
    """
    part = _put_in(work, step)
    words = told.split()
    kind = part.kind.name
    if words and words[0] in standard().names():
        kind, *words = words
    made = standard().make(kind, words)
    if made.kind is None:
        trouble = made.trouble
        hint = f": {trouble.says}" + (f" ({trouble.hint})" if trouble.hint else "") if trouble else ""
        raise Refused(f"“{told}” says no {kind_words(part)}{hint}.")
    if {lug.name for lug in made.kind.terminals} != {lug.name for lug in part.kind.terminals}:
        raise Refused(
            f"{kind_words(replace(part, kind=made.kind)).capitalize()} has other terminals than {part.designator}: "
            "write it into the found file with its wiring, and `keep` it."
        )
    return replace(
        part, kind=made.kind, value=made.value, span=made.span, ratings=made.ratings, tolerance=made.tolerance,
        words=made.words, read_off=True, measured=None, conditions=(),
    )  # fmt: skip


def _put_in(work: WorkList, step: Step) -> Part:
    stock = work.comparison.stock.parts
    names = [part.designator for part in step.change.parts_on] if step.action in ("replace", "fit", "inspect") else []
    if not names and step.action == "inspect":
        names = [name for name in step.parts if name in stock]
    if len(names) != 1:
        raise Refused(f"{step.name} puts in {'no' if not names else 'more than one'} part: --fitted is said of one.")
    return stock.get(names[0]) or next(part for part in step.change.parts_on)
