"""What ``netdiff check`` says of files: what each holds, or what is wrong with it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from netdiff.circuit import Fault, is_foreign
from netdiff.language.faults import render_fault
from netdiff.reporting.faults import as_json as faults_as_json
from netdiff.reporting.plain import clean, counted

if TYPE_CHECKING:
    from netdiff.language import Model, Unit


class Checked(NamedTuple):
    """One file: ``kind`` is ``stock``, ``found``, or empty where it could not be read."""

    file: str
    kind: str = ""
    title: str = ""
    holds: str = ""
    faults: tuple[Fault, ...] = ()


def of_file(file: str, thing: Model | Unit) -> Checked:
    from netdiff.language import Model

    return _of_model(file, thing) if isinstance(thing, Model) else _of_unit(file, thing)


def _of_model(file: str, model: Model) -> Checked:
    circuit = model.circuit(model.variants()[0])
    holds = f"{counted(len(circuit.parts), 'part')}, {counted(len(circuit.runs), 'connection')}"
    if model.productions:
        holds += f", productions {' '.join(model.productions)}"
    return Checked(file, "stock", model.title, holds)


def _of_unit(file: str, unit: Unit) -> Checked:
    found = unit.found(unit.model.variants()[0] if unit.production is None else unit.production)
    foreign = sum(is_foreign(name) for name in found.circuit.parts)
    holds = (
        f"beside {unit.model.file}, {counted(len(found.traced), 'terminal')} traced, "
        f"{counted(foreign, 'part')} not identified in the drawing"
    )
    return Checked(file, "found", unit.title, holds)


def told(checked: Sequence[Checked]) -> str:
    """A paragraph a file; a fault of a shared stock file is told once."""
    out: list[str] = []
    known: set[Fault] = set()
    for one in checked:
        fresh = [fault for fault in dict.fromkeys(one.faults) if fault not in known]
        known.update(fresh)
        out += [render_fault(fault) for fault in fresh]
        if one.faults:
            out.append(clean(f"{one.file}: {counted(len(set(one.faults)), 'fault')}"))
        else:
            out.append(clean(f"{one.file}: {one.title}: {one.holds}; no fault"))
    return "\n".join(out)


def as_json(checked: Sequence[Checked]) -> dict[str, Any]:
    return {
        "files": [
            {"file": one.file, "kind": one.kind, "title": one.title, "faults": faults_as_json(one.faults)}
            for one in checked
        ]
    }
