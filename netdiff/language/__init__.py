"""The circuit language: two kinds of file, read into circuits, every fault with its place."""

from __future__ import annotations

import os
from os import PathLike
from pathlib import Path

from netdiff.circuit import Fault, Place
from netdiff.language.faults import Faulty, render_fault
from netdiff.language.found import Unit, unit_from_statements, unit_from_text
from netdiff.language.paths import beside
from netdiff.language.reading import file_text, kind_of, read_statements
from netdiff.language.statements import FoundHead
from netdiff.language.stock import Model, model_from_text

__all__ = [
    "Faulty", "Model", "Unit", "read", "read_model", "read_model_text", "read_unit", "read_unit_text",
    "render_fault",
]  # fmt: skip


def read(path: str | PathLike[str]) -> Model | Unit:
    """Reads a stock or a found file, by its first word; raises `Faulty` with every fault of it."""
    name = os.fspath(path)
    text, fault = file_text(Path(path), name)
    if fault is not None:
        raise Faulty([fault])
    result: Model | Unit | None
    result, faults = read_unit(path) if kind_of(text, name) == "found" else read_model(path)
    if result is None:
        raise Faulty(faults)
    return result


def read_model(path: str | PathLike[str]) -> tuple[Model | None, tuple[Fault, ...]]:
    """A stock file's model, or None and every fault of the file."""
    path, name = Path(path), os.fspath(path)
    text, fault = file_text(path, name)
    if fault is not None:
        return None, (fault,)
    if kind_of(text) == "found":
        return None, (Fault(Place(name, 1), "this is a found file, not a stock file"),)
    return read_model_text(text, name, path.parent)


def read_unit(path: str | PathLike[str]) -> tuple[Unit | None, tuple[Fault, ...]]:
    """A found file's unit with the model that it names, or None and every fault of both files."""
    path, name = Path(path), os.fspath(path)
    text, fault = file_text(path, name)
    if fault is not None:
        return None, (fault,)
    if kind_of(text) == "stock":
        return None, (Fault(Place(name, 1), "this is a stock file, not a found file"),)
    source, statements = read_statements(text, "found", name)
    head = next((s for s in statements if isinstance(s, FoundHead)), None)
    if head is None:
        return None, source.sorted()
    word = '"' + head.stock.replace('"', '""') + '"'
    target = beside(path.parent, head.stock)
    if isinstance(target, str):
        source.fault(head.place, f"{word}: {target}", word)
        return None, source.sorted()
    text, fault = file_text(target, os.path.normpath(target))
    if fault is not None:
        source.fault(head.place, f"{word}: {fault.says}", word, fault.hint)
        return None, source.sorted()
    if kind_of(text) == "found":
        source.fault(head.place, f"{word} is a found file, not a stock file", word)
        return None, source.sorted()
    model, faults = read_model_text(text, os.path.normpath(target), target.parent)
    if model is None:
        return None, (*source.sorted(), *faults)
    return unit_from_statements(source, statements, model, path.parent)


def read_model_text(
    text: str, name: str = "text.stock", folder: Path | None = None
) -> tuple[Model | None, tuple[Fault, ...]]:
    """As `read_model`, from a text; ``folder`` is where the paths in it start."""
    from netdiff.catalogue import standard

    return model_from_text(text, name, folder, standard())


def read_unit_text(
    text: str, model: Model, name: str = "text.found", folder: Path | None = None
) -> tuple[Unit | None, tuple[Fault, ...]]:
    """As `read_unit`, from a text and a model that is read already."""
    return unit_from_text(text, name, model, folder)
