"""The page: one self-contained HTML file for the owner of a unit, for the bench and for the record.

``made`` takes a comparison and gives the file's text with what could not be shown. The page asks nobody for
anything: pictures, drawings, style and scripts are inside it, and everything can be read without scripts.
"""

from __future__ import annotations

from netdiff.reporting.html.building import Made, made
from netdiff.reporting.html.sections import Money

__all__ = ["Made", "Money", "made"]
