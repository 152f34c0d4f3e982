"""The catalogue for ``netdiff kinds``: the list of kinds, and one kind or tube type in full."""

from __future__ import annotations

from typing import Any

from netdiff.catalogue import standard
from netdiff.catalogue.describe import describe, listing, nearest_name
from netdiff.reporting.plain import counted


def all_told() -> str:
    """A line a kind, and the tube types."""
    catalogue = standard()
    rows = listing(catalogue)
    name_width, title_width = (max(len(row[column]) for row in rows) for column in (0, 1))
    lines = [f"{name:{name_width}}  {title:{title_width}}  {terminals}" for name, title, terminals in rows]
    types = catalogue.tube_types()
    return "\n".join([*lines, "", f"{counted(len(types), 'tube type')}: {' '.join(types)}"])


def all_as_json() -> dict[str, Any]:
    catalogue = standard()
    rows = listing(catalogue)
    return {
        "kinds": [{"name": name, "title": title, "terminals": terminals} for name, title, terminals in rows],
        "tubes": list(catalogue.tube_types()),
    }


def told(name: str) -> str | None:
    """None where the catalogue has no such kind or tube type."""
    lines = describe(standard(), name)
    return None if lines is None else "\n".join(lines)


def as_json(name: str) -> dict[str, Any]:
    return {"name": name, "says": describe(standard(), name) or []}


def unknown(name: str) -> str:
    near = nearest_name(standard(), name)
    return f"the catalogue has no kind of part and no tube type {name!r}" + (
        f"; the nearest is {near}." if near else "."
    )
