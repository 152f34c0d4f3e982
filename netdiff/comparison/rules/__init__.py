"""The rules that name what was done: each looks at the scene and explains raw differences by findings.

They run in the order of ``ALL``: what explains much by little comes first. A rule takes the raw
differences that its finding accounts for (``scene.take``), so that none is told twice.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from netdiff.comparison.results import Finding
from netdiff.comparison.rules import (
    absent,
    bridges,
    conditions,
    conductors,
    exchanges,
    insertions,
    leads,
    networks,
    properties,
    strangers,
)
from netdiff.comparison.scene import Scene

Rule = Callable[[Scene], Iterator[Finding]]

ALL: tuple[Rule, ...] = (
    networks.substituted,
    exchanges.exchanged,
    exchanges.reversed_terminals,
    insertions.inserted,
    strangers.in_place_of,
    absent.missing,
    properties.other_than_drawn,
    strangers.across,
    bridges.bypassed,
    leads.broken_ground,
    leads.moved,
    leads.opened,
    leads.added,
    strangers.added,
    conductors.runs,
    conductors.exposed,
    conductors.wrong_lug,
    conditions.noted,
)

MATTERS_OF_OPINION: frozenset[Rule] = frozenset(
    {
        exchanges.exchanged,
        exchanges.reversed_terminals,
        networks.substituted,
        insertions.inserted,
        bridges.bypassed,
    }
)
"""Rules without which the same differences can be read in another way, perhaps a cheaper one."""
