"""What somebody marked to stay, and the lines that mark a hazard of the drawing, which is open until one names it."""

from __future__ import annotations

from collections.abc import Iterable

from netdiff.circuit import part_of
from netdiff.comparison.results import Comparison, Finding


def kept(comparison: Comparison) -> frozenset[str]:
    """Findings of kept modifications, and those of none of which a ``keep`` names a part, terminal or net."""
    of = {name for one in comparison.found.keeps for name in one.of}
    named = {f.id for f in comparison.findings if not f.modification and of & _words(f)}
    return frozenset(named | {name for one in comparison.modifications if one.kept for name in one.findings})


def _words(finding: Finding) -> set[str]:
    return {*finding.parts, *finding.terminals, *finding.nets, *map(part_of, finding.terminals)} - {""}


def lines(comparison: Comparison, findings: Iterable[Finding]) -> dict[str, str]:
    """The id of each of these that no modification brought about -> the line of the found file that keeps it.

    Of the words that name it the one is taken that keeps no modification, if there is one; what the line keeps
    besides is said with it.
    """
    out = {}
    for finding in findings:
        if finding.modification:
            continue
        order = (*finding.parts, *finding.nets, *finding.terminals)
        words = sorted(dict.fromkeys(order), key=lambda word: len(_modifications(comparison, word)))
        if words:
            besides = (*_modifications(comparison, words[0]), *_hazards(comparison, finding, words[0]))
            more = f"  (keeps {', '.join(besides)} too)" if besides else ""
            out[finding.id] = f'keep {words[0]} "…"{more}'
    return out


def _modifications(comparison: Comparison, word: str) -> tuple[str, ...]:
    """Open modifications that a ``keep`` of this word would cover: by a part or terminal of theirs, never by a net."""
    open_ = {one.id for one in comparison.modifications if not one.kept}
    named = (f.modification for f in comparison.findings if word in {*f.parts, *f.terminals})
    return tuple(dict.fromkeys(name for name in named if name in open_))


def _hazards(comparison: Comparison, finding: Finding, word: str) -> tuple[str, ...]:
    """Other open hazards of no modification that it would cover."""
    done = kept(comparison)
    return tuple(
        one.id
        for one in comparison.findings
        if not one.modification and one.hold != "none" and one.id not in (*done, finding.id) and word in _words(one)
    )
