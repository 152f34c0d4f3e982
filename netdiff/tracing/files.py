"""The found file and the drawing that it names, read again whenever one of them changed on the disk."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

from netdiff.circuit import Fault, Place
from netdiff.language import Model, Unit, read_model_text
from netdiff.language.found import unit_from_statements
from netdiff.language.paths import beside
from netdiff.language.reading import decoded, file_text, read_statements
from netdiff.language.statements import FoundHead


class Drawing(NamedTuple):
    """A stock file as it was read: its model, or its faults."""

    path: Path
    content: bytes
    model: Model | None
    faults: tuple[Fault, ...]


@dataclass(frozen=True, slots=True)
class Reading:
    """A found file as it was read. ``unit`` is None while it, or its drawing, is faulty."""

    content: bytes
    unit: Unit | None
    faults: tuple[Fault, ...]
    drawing: Drawing | None


def read(path: Path, content: bytes, drawing: Drawing | None) -> Reading:
    """Reads the content of a found file; ``drawing`` is used again if the file names it and it has not changed."""
    name = os.fspath(path)
    text, fault = decoded(content, name)
    if fault is not None:
        return Reading(content, None, (fault,), drawing)
    source, statements = read_statements(text, "found", name)
    head = next((line for line in statements if isinstance(line, FoundHead)), None)
    if head is None:
        return Reading(content, None, source.sorted(), drawing)
    target = beside(path.parent, head.stock)
    if isinstance(target, str):
        source.fault(head.place, f'"{head.stock}": {target}', f'"{head.stock}"')
        return Reading(content, None, source.sorted(), drawing)
    drawing = drawn(target, drawing)
    if drawing.model is None:
        return Reading(content, None, (*source.sorted(), *drawing.faults), drawing)
    unit, faults = unit_from_statements(source, statements, drawing.model, path.parent)
    return Reading(content, unit, faults, drawing)


def drawn(path: Path, known: Drawing | None) -> Drawing:
    """The drawing at a path; the one that is known if its content is still the same."""
    name = os.path.normpath(path)
    try:
        content = path.read_bytes()
    except OSError:
        _, fault = file_text(path, name)
        return Drawing(path, b"", None, (fault or Fault(Place(name, 1), "the file cannot be read"),))
    if known is not None and known.path == path and known.content == content:
        return known
    text, fault = decoded(content, name)
    if fault is not None:
        return Drawing(path, content, None, (fault,))
    model, faults = read_model_text(text, name, path.parent)
    return Drawing(path, content, model, faults)


def active_production(unit: Unit) -> frozenset[str]:
    """The production that the unit is taken to be: named, else the one that fits best, as in a comparison."""
    if unit.production is not None:
        return unit.production
    if not unit.model.productions:
        return frozenset()
    from netdiff.comparison import compare

    return compare(unit).stock.production
