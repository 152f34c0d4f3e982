"""What to say of a line that no statement fits."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from netdiff.language.faults import listed, nearest
from netdiff.language.lexing import STRAY_QUOTE, Lexicon
from netdiff.language.parsing import Misfit

_MEANS: Final = {
    "_DASH": "`--`",
    "TERMINAL": "a terminal (V5.g1)",
    "NAME": "a name",
    "DESIGNATOR": "a part (R12)",
    "PASS": "a part with the way through it (C14.+/-)",
    "QUERY": "`?`",
    "OPEN": "`open`",
    "TEXT": 'a text in quotes ("...")',
    "VALUE": "a value",
    "COMMA": "a comma",
    "COLON": "a colon",
    "EQUAL": "`=`",
    "MORE": "`>`",
    "$END": "the end of the line",
}
_OTHER_KIND: Final = {
    "stock": {
        "found", "inspected", "by", "traced", "as-drawn", "missing", "observed", "photo", "keep", "note", "at",
    },
    "found": {"stock", "drawing", "load", "signal", "production", "only"},
}  # fmt: skip


def explain(kind: str, misfit: Misfit, words: Sequence[str], types: Sequence[str], lexicon: Lexicon) -> tuple[str, str]:
    """What is wrong at ``words[misfit.index]``, and a hint."""
    index, expected = misfit.index, misfit.expected
    word = words[index] if index < len(words) else ""
    if STRAY_QUOTE in types:
        return "a quote is opened and not closed", 'a text stands between two quotes: "..."'
    first = words[0]
    if first in _OTHER_KIND[kind]:
        other = "found" if kind == "stock" else "stock"
        return f"`{first}` belongs in a .{other} file", ""
    if "_DASH" in expected and (word[:1] == "-" or words[index : index + 2] == ["=", ">"]):
        return f"`{word}` joins nothing", "two dashes join: A -- B"
    if index == 0 or (index == 1 and types[0] == "NAME" and "_DASH" in expected):
        return _no_statement(first, lexicon)
    if word in lexicon.reserved and "NAME" in expected:
        return f"`{word}` is a word of the language and names nothing else", f"another name, such as {word}1"
    if expected == {"NAME"} and word:
        return f"`{word}` is no name", _as_name(word)
    wanted = _wanted(expected, lexicon)
    if not word:
        return f"the line ends too early: expected {wanted}", ""
    hint = f"expected {wanted}"
    if word[0].islower() and "." in word and "TERMINAL" in expected:
        hint = f"a designator starts with a capital: {word[0].upper()}{word[1:]}"
    return f"`{word}` does not belong here", hint


def _no_statement(first: str, lexicon: Lexicon) -> tuple[str, str]:
    if first in lexicon.reserved:
        return f"`{first}` begins no statement", ""
    if first[0].isupper() and first.lower() not in lexicon.reserved and not any(c.isdigit() for c in first):
        return f"`{first}` is no point", f"a net name starts with a lower-case letter: {first.lower()}"
    if first[0].isupper():
        return f"`{first}` is no part and no terminal", "a part has class letters and a number: R12; a terminal V5.g1"
    if "." in first and first[0].islower():
        return f"`{first}` is no terminal", f"a designator starts with a capital: {first[0].upper()}{first[1:]}"
    near = nearest(first, lexicon.reserved)
    hint = f"the nearest is `{near}`" if near else "a line begins with a word of the language, a part or a point"
    return f"no statement begins with `{first}`", hint


def _as_name(word: str) -> str:
    lower = "".join(c for c in word.lower() if c.isalnum() or c in "_+-")
    return "a name starts with a lower-case letter" + (f": {lower}" if lower[:1].isalpha() else "")


def _wanted(expected: frozenset[str], lexicon: Lexicon) -> str:
    named = [_MEANS[name] for name in _MEANS if name in expected]
    fixed = {name.removeprefix("common__"): word for word, name in lexicon.opening.items()}
    extra = [f"`{fixed[name]}`" for name in sorted(expected) if name in fixed and name not in _MEANS]
    if len(extra) <= 4:
        named += extra
    return listed(named) or "something else"
