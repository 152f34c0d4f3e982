"""Lines into statements, by the LALR grammars.

The classes of a line's words are its *shape*. Lark parses each shape once; what it found is kept as
a plan that picks words by their index, and every further line of that shape only fills in the plan.
Files have some dozens of shapes, however long they are.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cache
from typing import Final

from lark import Token, Tree
from lark.exceptions import UnexpectedInput, UnexpectedToken

from netdiff.circuit import Place
from netdiff.language.lexing import STRAY_QUOTE, Lexicon, short_name
from netdiff.language.plans import PLANS
from netdiff.language.statements import Statement
from netdiff.language.tables import from_grammar, from_tables, reserved_words

MOST_SHAPES: Final = 5000
LONGEST_SHAPE: Final = 100
"""Shapes that are remembered: a file of ever new ones must not fill the memory."""

Plan = Callable[[Sequence[str], Place], Statement]


class Misfit:
    """A shape that no statement has: the index of the first word that does not fit, and what would."""

    __slots__ = ("expected", "index")

    def __init__(self, index: int, expected: frozenset[str]) -> None:
        self.index = index
        self.expected = expected


class Grammar:
    """One of the two grammars, with the shapes it has met."""

    def __init__(self, kind: str) -> None:
        self.kind = kind
        self._lark = from_tables(kind) or from_grammar(kind)
        self.lexicon = Lexicon(
            ((t.name, t.pattern.to_regexp(), t.pattern.type == "str") for t in self._lark.terminals), reserved_words()
        )
        self._plans: dict[tuple[str, ...], Plan | Misfit] = {}

    def plan(self, shape: tuple[str, ...]) -> Plan | Misfit:
        known = self._plans.get(shape)
        if known is not None:
            return known
        plan = self._parse(shape)
        if len(shape) <= LONGEST_SHAPE:
            if len(self._plans) >= MOST_SHAPES:
                self._plans.clear()
            self._plans[shape] = plan
        return plan

    def _parse(self, shape: tuple[str, ...]) -> Plan | Misfit:
        try:
            tree = self._lark.parse(shape)
        except UnexpectedToken as stop:
            index = stop.token.value if isinstance(stop.token.value, int) else len(shape)
            accepts = stop.accepts or stop.expected
            return Misfit(index, frozenset(short_name(name) for name in accepts))
        except UnexpectedInput:
            return Misfit(shape.index(STRAY_QUOTE) if STRAY_QUOTE in shape else 0, frozenset())
        return planned(tree)


def planned(tree: Tree[Token]) -> Plan:
    """The plan of a statement's tree; ``start`` and ``statement`` only wrap."""
    while short_name(tree.data) in ("start", "statement"):
        (tree,) = tree.children  # type: ignore[assignment]
    return PLANS[short_name(tree.data)](tree)


@cache
def grammar(kind: str) -> Grammar:
    """``stock`` or ``found``."""
    return Grammar(kind)
