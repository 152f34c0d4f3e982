"""The hazards that follow from the wiring: small rules, a module a family, run on the drawing and on the unit.

A family is one module of this package with a tuple ``RULES``; nothing else needs to know of it.
"""

from __future__ import annotations

from netdiff.hazards.examining import examine, rules

__all__ = ["examine", "rules"]
