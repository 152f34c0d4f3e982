"""Finds what separates the wiring of a unit on the bench from the wiring that its factory drew.

``read`` a stock or found file, ``compare`` a unit with its drawing, make a ``worklist`` of what
brings it back. Nothing here prints, and no result ever means that a unit is safe.
"""

from __future__ import annotations

import sys
from types import ModuleType
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from os import PathLike

    from netdiff.circuit import Circuit, Found
    from netdiff.comparison import Comparison
    from netdiff.language import Faulty, Model, Unit
    from netdiff.worklist import WorkList

__all__ = ["Faulty", "compare", "read", "worklist"]


def read(path: str | PathLike[str]) -> Model | Unit:
    """Read a stock file (a Model) or a found file (a Unit, with the model that it names).

    Raises Faulty with every fault of the file, one that cannot be opened included.
    """
    from pathlib import Path

    from netdiff.language import read as read_file

    return read_file(Path(path))


def compare(stock: Unit | Circuit, found: Found | None = None) -> Comparison:
    """Compare a unit with its drawing, or one circuit as found with one as drawn."""
    from netdiff import comparison
    from netdiff.circuit import Circuit

    if not isinstance(stock, Circuit):
        return comparison.compare(stock)
    if found is None:
        raise TypeError("a circuit as drawn needs one as found beside it")
    return comparison.compare_circuits(stock, found)


def worklist(comparison: Comparison) -> WorkList:
    """The steps that bring the unit back to stock, in order, each with the reading that proves it."""
    from netdiff.worklist import worklist as steps

    return steps(comparison)


def __getattr__(name: str) -> Any:
    if name == "Faulty":
        from netdiff.language import Faulty

        return Faulty
    raise AttributeError(f"module 'netdiff' has no attribute {name!r}")


class _Face(ModuleType):
    """Keeps ``netdiff.worklist`` the function: the import of the package of that name would take its place."""

    def __setattr__(self, name: str, value: object) -> None:
        if name != "worklist" or not isinstance(value, ModuleType):
            super().__setattr__(name, value)


sys.modules[__name__].__class__ = _Face
