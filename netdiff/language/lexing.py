"""Lines into words, words into classes. Both come from the definitions in the grammar files.

A line is split by one regular expression, and every word is sorted once and remembered: the same
words come again and again, and a file of a hundred thousand lines should not take long to read.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Final

SPLITTING: Final = ("TEXT", "COMMENT", "_DASH", "COMMA", "COLON", "EQUAL", "MORE", "VALUE")
SORTING: Final = ("QUERY", "TERMINAL", "PASS", "DESIGNATOR", "NAME", "VALUE")
CONNECTING: Final = ("PRODUCTION", "IN", "AT", "OF", "ON", "TO", "BUT", "OPEN", "BRAID")
RESERVED: Final = "RESERVED"
STRAY_QUOTE: Final = "STRAY_QUOTE"
"""A quote that nothing closes. No grammar has it, so that it is always a fault."""

# What telephones and word processors put in the place of the plain character; one for one, so that columns
# hold. Long dashes are in the grammar: they stand for two characters, and inside a text they stay.
ALIKE: Final = str.maketrans(
    {
        **dict.fromkeys("“”„‟″＂", '"'),
        **dict.fromkeys("−‐‑", "-"),
        **dict.fromkeys("\u00a0\u2007\u202f\u200b\u2060\ufeff\u2028\u2029\u0085", " "),
    }
)

# Control characters have no business in a text file, and those that turn the direction of writing
# could make a line look like another one.
CONTROL: Final = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u200e\u200f\u202a-\u202e\u2066-\u2069]")


class Lexicon:
    """The lexemes of one grammar; ``reserved`` are the words of the language, of both kinds of file.

    ``opening`` has the classes of words at the beginning of a statement, ``inner`` of those anywhere else.
    """

    def __init__(self, definitions: Iterable[tuple[str, str, bool]], reserved: Iterable[str]) -> None:
        """``definitions`` are name, regular expression, and whether it is a fixed word."""
        full: dict[str, str] = {}
        patterns: dict[str, str] = {}
        self.opening: dict[str, str] = {}
        for name, pattern, fixed in definitions:
            short = short_name(name)
            full[short] = str(name)
            patterns[short] = pattern
            if fixed:
                self.opening[re.sub(r"\\(.)", r"\1", pattern)] = str(name)
        self.reserved = tuple(reserved)
        self.inner = dict.fromkeys(self.reserved, RESERVED) | {
            word: name for word, name in self.opening.items() if not word[0].isalpha() or short_name(name) in CONNECTING
        }
        self.split = re.compile("|".join(patterns[name] for name in SPLITTING) + '|"')
        self._classes = [(full[name], re.compile(patterns[name]).fullmatch) for name in SORTING]
        self._signs = {"#": full["COMMENT"], '"': full["TEXT"]}

    def sort(self, word: str) -> str:
        """The class of one word as the splitting left it."""
        if word == '"':
            return STRAY_QUOTE
        sign = self._signs.get(word[0])
        if sign is not None:
            return sign
        if word in ("--", "–", "—"):
            return "_DASH"
        for name, fits in self._classes:
            if fits(word):
                return name
        return "VALUE"

    def column(self, line: str, word: str, nth: int = 0) -> int:
        """Where the word stands in the line, from 1; 1 if it does not."""
        for match in self.split.finditer(line):
            if match[0] == word:
                if nth == 0:
                    return match.start() + 1
                nth -= 1
        return 1


def short_name(name: str) -> str:
    """A class or rule as its own file calls it, without the name of the file that it was imported from."""
    return name.removeprefix("common__")


def unquoted(text: str) -> str:
    return text[1:-1].replace('""', '"')
