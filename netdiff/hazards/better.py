"""What somebody did better than the factory: said with the finding, so that nobody takes it out unasked."""

from __future__ import annotations

from collections.abc import Iterator

from netdiff.readings.side import Side


def earth_brought(side: Side, name: str) -> bool:
    """Whether a cord or inlet brings an earth that the drawing's does not, onto metal that is not on the line."""
    here = side.circuit.parts.get(name)
    drawn = side.stock.parts.get(name)
    if here is None or drawn is None or here.kind.lug("E") is None or drawn.kind.lug("E") is not None:
        return False
    if not side.same(f"{name}.E", side.circuit.ground):
        return False
    return not (side.can_reach(f"{name}.L") or side.can_reach(f"{name}.N"))


def cords(side: Side) -> Iterator[tuple[str, str]]:
    """A three-wire cord in a two-wire cord's place."""
    for finding in side.comparison.findings:
        for name in finding.parts:
            if finding.kind == "wrong-part" and earth_brought(side, name):
                yield (
                    finding.id,
                    f"The earth that it brings is better than stock: `keep {name}` with the reason leaves it in.",
                )


FIGURES = (cords,)
