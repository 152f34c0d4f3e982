"""The drawings of the page: one of each modification, one of the whole unit, laid out once."""

from __future__ import annotations

from typing import NamedTuple

from netdiff import drawing
from netdiff.comparison.results import Comparison


class Pictures(NamedTuple):
    """SVG fragments; ``trouble`` says why there are none."""

    of: dict[str, str]
    """By the id of the modification."""
    overview: str
    trouble: str = ""


def pictures(comparison: Comparison) -> Pictures:
    try:
        each = drawing.modification_svgs(comparison, prefix="near-")
        whole = drawing.overview_svg(comparison, prefix="unit-")
    except drawing.CannotDraw as reason:
        return Pictures({}, "", str(reason))
    return Pictures({one.id: svg for one, svg in zip(comparison.modifications, each, strict=True)}, whole)
