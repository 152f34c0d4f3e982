"""How the found file of a new unit begins: one line that names the unit and its drawing."""

from __future__ import annotations

import os
from pathlib import Path

from netdiff import writing
from netdiff.circuit import Fault
from netdiff.language.faults import Faulty, listed
from netdiff.language.spelling import quoted
from netdiff.tracing import files, words


def is_stock(path: Path, content: bytes) -> bool:
    from netdiff.language.reading import kind_of

    return kind_of(content.decode("utf-8-sig", errors="replace"), path.name) == "stock"


def begin(stock: Path, found: Path | None = None, title: str = "", production: str = "") -> Path:
    """A new found file for a unit of this model: only its first line. Raises `netdiff.Faulty` or OSError."""
    path = found if found is not None else stock.with_suffix(".found")
    writing.swap(path, None, first_line(stock, production, title, path.parent))
    return path


def first_line(stock: Path, production: str = "", title: str = "", folder: Path | None = None) -> bytes:
    """How the found file of a new unit begins, in a folder (the drawing's)."""
    drawing = files.drawn(stock, None)
    if drawing.model is None:
        raise Faulty(drawing.faults)
    model = drawing.model
    if production and production not in model.productions:
        says = f"the drawing has no production {production}"
        raise Faulty([Fault(words.place(stock, 1), says, hint=listed(model.productions, "and") or "it has none")])
    relative = os.path.relpath(stock.resolve(), (folder or stock.parent).resolve()).replace(os.sep, "/")
    name = title or f"{model.title}, unit on the bench"
    text = f"found {quoted(name)} of {quoted(relative)}{f' production {production}' if production else ''}\n"
    return text.encode()
