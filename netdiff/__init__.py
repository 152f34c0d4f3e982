"""Finds what separates the wiring of a unit on the bench from the wiring that its factory drew.

``read`` a stock or found file, ``compare`` a unit with its drawing, make a ``worklist`` of what
brings it back. Nothing here prints, and no result ever means that a unit is safe.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from netdiff.worklist import worklist

if TYPE_CHECKING:
    from os import PathLike

    from netdiff.circuit import Circuit, Fault, Found
    from netdiff.comparison import Comparison
    from netdiff.language import Model, Unit

__all__ = ["Faulty", "compare", "read", "worklist"]


class Faulty(Exception):
    """A file that cannot be used; ``faults`` says why, each with file, line and column."""

    def __init__(self, faults: tuple[Fault, ...]) -> None:
        first = faults[0]
        more = f" (and {len(faults) - 1} more)" if len(faults) > 1 else ""
        super().__init__(f"{first.place}: {first.says}{more}")
        self.faults = faults


def read(path: str | PathLike[str]) -> Model | Unit:
    """Read a ``.stock`` file (a Model) or a ``.found`` file (a Unit, with its stock file).

    Raises Faulty with every fault of the file, and OSError where it cannot be opened.
    """
    from pathlib import Path

    from netdiff.language import read_model, read_unit

    file = Path(path)
    result, faults = read_unit(file) if file.suffix == ".found" else read_model(file)
    if faults or result is None:
        raise Faulty(faults)
    return result


def compare(stock: Unit | Circuit, found: Found | None = None) -> Comparison:
    """Compare a unit with its drawing, or one circuit as found with one as drawn."""
    from netdiff import comparison
    from netdiff.circuit import Circuit

    if not isinstance(stock, Circuit):
        return comparison.compare(stock)
    if found is None:
        raise TypeError("a circuit as drawn needs one as found beside it")
    return comparison.compare_circuits(stock, found)
