"""The drawings of the page: one of each modification, one of the whole unit, laid out once."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from netdiff import drawing
from netdiff.comparison.results import Comparison


class Pictures(NamedTuple):
    """SVG fragments; ``trouble`` says why there are none."""

    of: dict[str, str]
    """By the id of the modification."""
    overview: str
    zones: tuple[str, ...] = ()
    """Of an overview that paper shows too small: each zone of it, to be printed alone."""
    trouble: str = ""


def pictures(comparison: Comparison) -> Callable[[], Pictures]:
    """Begins the layout, and gives what waits for it: meanwhile the rest of the page is reckoned."""
    try:
        drawn = drawing.unit_svgs(comparison, ("near-", "unit-"))
    except drawing.CannotDraw as reason:
        trouble = str(reason)
        return lambda: Pictures({}, "", trouble=trouble)

    def finish() -> Pictures:
        try:
            each, whole = drawn()
        except drawing.CannotDraw as reason:
            return Pictures({}, "", trouble=str(reason))
        of = {one.id: svg for one, svg in zip(comparison.modifications, each, strict=True)}
        return Pictures(of, whole.svg, whole.zones)

    return finish
