"""Comparisons from two texts, for tests."""

from __future__ import annotations

from netdiff.comparison import Comparison, compare
from netdiff.language import Model, Unit, read_model_text, read_unit_text


def model(text: str) -> Model:
    read, faults = read_model_text(text, "t.stock")
    assert read is not None and not faults, [(f.place.line, f.says, f.hint) for f in faults]
    return read


def unit(stock: str, found: str) -> Unit:
    read, faults = read_unit_text(found, model(stock), "t.found")
    assert read is not None and not faults, [(f.place.line, f.says, f.hint) for f in faults]
    return read


def compared(stock: str, found: str) -> Comparison:
    result = compare(unit(stock, found))
    explained = sorted(key for finding in result.findings for key in finding.explains)
    assert explained == sorted(raw.key for raw in result.raw), "each raw difference has exactly one finding"
    return result


def kinds(comparison: Comparison) -> list[tuple[str, tuple[str, ...]]]:
    """Kind and parts of every finding, in a stable order."""
    return sorted((f.kind, f.parts) for f in comparison.findings)
