"""One run told in several lines: which lines are of one run, and what they say of it together."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Any, Final

from netdiff.circuit import UNFOLLOWED, Run
from netdiff.language.faults import Source

_STRENGTH: Final = {"seen": 3, "metered": 2, "assumed": 1, "as-drawn": 0}
_DESCRIBING: Final = ("cable_type", "length", "gauge", "bare", "braid")


def tell_again(source: Source, known: list[Run], run: Run) -> None:
    """One more telling between two points: of a run that is known, or of another beside it."""
    for index, other in enumerate(known):
        turned = run.a != other.a
        if turned and run.direct and other.direct:
            continue
        again = _turn(run) if turned and not run.direct else run
        base = _turn(other) if turned and run.direct else other
        if _same_run(base, again):
            clash = _clash(base, again)
            if clash:
                says = f"this run is said otherwise in line {other.places[0].line}: {clash}"
                source.fault(run.places[0], says)
            known[index] = _merged(base, again)
            return
    known.append(run)


def _turn(run: Run) -> Run:
    return replace(run, a=run.b, b=run.a, braid=run.braid and (run.braid[1], run.braid[0]))


def _same_run(one: Run, other: Run) -> bool:
    if not one.conductor or not other.conductor:
        return True
    if one.cable or other.cable:
        return one.cable == other.cable
    return one.conductor == other.conductor and all(
        getattr(one, name) == getattr(other, name) for name in (*_DESCRIBING, "text")
    )


def _clash(one: Run, other: Run) -> str:
    if not one.conductor or not other.conductor:
        return ""
    if one.conductor != other.conductor:
        return f"{one.conductor} there, {other.conductor} here"
    for name in _DESCRIBING:
        a, b = getattr(one, name), getattr(other, name)
        if name == "braid" and a and b and all(x == y or UNFOLLOWED in (x, y) for x, y in zip(a, b, strict=True)):
            continue
        if a is not None and b is not None and a != b and a != "" and b != "":
            return f"another {name.replace('_', ' ')}"
    return ""


def _merged(one: Run, other: Run) -> Run:
    if other.conductor and not one.conductor:
        one, other = other, one
    fields: dict[str, Any] = {"places": tuple(dict.fromkeys(one.places + other.places))}
    for name in ("cable", "cable_type", "length", "gauge", "bare"):
        if not getattr(one, name) and getattr(other, name):
            fields[name] = getattr(other, name)
    if other.text and other.text != one.text:
        fields["text"] = f"{one.text}; {other.text}" if one.text else other.text
    if other.braid is not None:
        fields["braid"] = other.braid if one.braid is None else tuple(
            y if x == UNFOLLOWED else x for x, y in zip(one.braid, other.braid, strict=True)
        )  # fmt: skip
    if other.gaps:
        fields["gaps"] = tuple(dict.fromkeys(one.gaps + other.gaps))
    if other.conditions:
        fields["conditions"] = tuple(dict.fromkeys(one.conditions + other.conditions))
    if other.direct:
        fields["direct"] = True
    if _STRENGTH[other.evidence] > _STRENGTH[one.evidence]:
        fields["evidence"] = other.evidence
    fields["places"] = tuple(sorted(fields["places"]))
    return replace(one, **fields)


def check_cables(source: Source, runs: Iterable[Run]) -> None:
    """Cores of one cable are in one sheath: its type and braid are said once, or alike."""
    known: dict[str, Run] = {}
    for run in runs:
        if not run.cable:
            continue
        other = known.setdefault(run.cable, run)
        if other is run or (other.a, other.b) == (run.a, run.b):
            continue
        where = source.where(other.places[0])
        if run.cable_type and other.cable_type and run.cable_type != other.cable_type:
            source.fault(run.places[0], f"the cable {run.cable} is another type in {where}", run.cable_type)
        if run.braid and other.braid and not _one_braid(run.braid, other.braid):
            source.fault(run.places[0], f"the braid of {run.cable} is said otherwise in {where}", "braid")


def _one_braid(one: tuple[str, str], other: tuple[str, str]) -> bool:
    return any(
        all(x == y or UNFOLLOWED in (x, y) for x, y in zip(one, ends, strict=True)) for ends in (other, other[::-1])
    )
