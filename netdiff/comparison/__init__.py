"""Comparison of the wiring as found with the factory circuit."""

from netdiff.comparison.engine import compare, compare_circuits
from netdiff.comparison.results import HOLDS, Comparison, Coverage, Finding, Hold, Modification, Raw, Tally

__all__ = [
    "HOLDS",
    "Comparison",
    "Coverage",
    "Finding",
    "Hold",
    "Modification",
    "Raw",
    "Tally",
    "compare",
    "compare_circuits",
]
