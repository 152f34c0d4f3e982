"""Results as JSON objects. Keys stand in the order in which they are documented."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from netdiff.cautions import for_cold_work

if TYPE_CHECKING:
    from netdiff.comparison.results import Comparison, Finding, Modification
    from netdiff.worklist.steps import Step, WorkList


def dumps(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, indent=1)


def comparison(result: Comparison) -> dict[str, Any]:
    total = result.coverage.total
    return {
        "cautions": list(for_cold_work()),
        **_circuits(result),
        "coverage": {
            "terminals": total.terminals,
            "agree": total.agree,
            "differ": total.differ,
            "not_traced": total.not_traced,
        },
        "modifications": [_modification(one) for one in result.modifications],
        "findings": [_finding(one) for one in result.findings],
        "notes": list(result.notes),
        "production": result.production,
        "look_next": list(result.look_next),
        "cost": result.cost,
    }


def worklist(work: WorkList) -> dict[str, Any]:
    return {
        "cautions": list(work.cautions or for_cold_work()),
        **_circuits(work.comparison),
        "steps": [_step(step) for step in work.steps],
        "stays": [_modification(one) | {"reason": one.reason} for one in work.stays],
    }


def _circuits(result: Comparison) -> dict[str, Any]:
    found = result.found.circuit
    return {
        "stock": {"title": result.stock.title, "file": result.stock.file},
        "found": {"title": found.title, "file": found.file},
    }


def _modification(one: Modification) -> dict[str, Any]:
    return {
        "id": one.id,
        "title": one.title,
        "kept": one.kept,
        "findings": list(one.findings),
        "parts": list(one.parts),
    }


def _finding(one: Finding) -> dict[str, Any]:
    return {
        "id": one.id,
        "kind": one.kind,
        "hold": one.hold,
        "parts": list(one.parts),
        "terminals": list(one.terminals),
        "nets": list(one.nets),
        "modification": one.modification,
        "says": one.says,
        "why": one.why,
        "at": [str(place) for place in one.at],
        "drawn": one.drawn,
    }


def _step(step: Step) -> dict[str, Any]:
    return {
        "name": step.name,
        "action": step.action,
        "hold": step.hold,
        "zone": step.zone,
        "parts": list(step.parts),
        "points": list(step.points),
        "says": step.says,
        "clears": list(step.reasons),
        "modification": step.modification,
        "needs": list(step.needs),
        "cautions": list(step.cautions),
        "proofs": [
            {"expect": proof.expect, "a": proof.a, "b": proof.b, "through": list(proof.through), "says": proof.says}
            for proof in step.proofs
        ],
    }
