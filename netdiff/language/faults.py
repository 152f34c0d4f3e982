"""Faults are values: where, what is wrong in the trade's words, and the nearest thing that would be right."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence
from typing import Final

from netdiff.circuit import Fault, Place, Point
from netdiff.language.lexing import CONTROL, Lexicon

_BEFORE: Final = 60
_AFTER: Final = 50
_MANY: Final = 1000
"""Of more words than these only those are compared that begin alike and are about as long."""


class Faulty(Exception):
    """A file that cannot be read; ``faults`` has every fault of it."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(render_fault(fault) for fault in self.faults))


def render_fault(fault: Fault) -> str:
    """The fault for a person: place and what is wrong, the line with a mark under the place, the hint.

    >>> print(render_fault(Fault(Place("a.stock", 7, 1), "V5 has no terminal 'g4'", "V5.g4 -- b+", 5, "V5.g1")))
    a.stock:7:1: V5 has no terminal 'g4'
      V5.g4 -- b+
      ^^^^^
      V5.g1
    """
    lines = [_plain(f"{fault.place.file}:{fault.place.line}:{fault.place.column}: {fault.says}")]
    if fault.text.strip():
        text, at = _plain(fault.text), max(fault.place.column - 1, 0)
        start = at - _BEFORE if at > _BEFORE and len(text) > _BEFORE + _AFTER else 0
        end = start + _BEFORE + _AFTER
        before, after = ("… " if start else ""), (" …" if end < len(text) else "")
        shown = text[start:end].rstrip()
        width = max(1, min(fault.width, len(shown) - (at - start)))
        lines += [f"  {before}{shown}{after}", "  " + " " * (len(before) + at - start) + "^" * width]
    if fault.hint:
        lines.append(f"  {_plain(fault.hint)}")
    return "\n".join(lines)


def _plain(text: str) -> str:
    """Nothing that would move a terminal's cursor."""
    return CONTROL.sub("\N{REPLACEMENT CHARACTER}", text.replace("\t", " ").replace("\n", " "))


def nearest(word: str, among: Iterable[str]) -> str:
    """The most alike of some words, or the empty string if none is like it."""
    words = list(among)
    if len(words) > _MANY:
        words = [other for other in words if other[:1] == word[:1] and abs(len(other) - len(word)) < 2][:_MANY]
    # Of two letters one may be wrong.
    found = difflib.get_close_matches(word, words, n=1, cutoff=0.6 if len(word) > 3 else 0.5)
    if found:
        return found[0]
    folded = {other.lower(): other for other in words}
    return folded.get(word.lower(), "")


def listed(words: Iterable[str], last: str = "or") -> str:
    """``a, b or c``."""
    *most, end = list(words) or [""]
    return f"{', '.join(most)} {last} {end}" if most else end


class Source:
    """One file: its lines, the faults met so far, and the words of faulty lines.

    A line that is faulty declares nothing. What it would have declared is *spoilt*, and that a
    spoilt word is undeclared is no further fault.
    """

    def __init__(self, name: str, lines: Sequence[str], lexicon: Lexicon, raw: Sequence[str] = ()) -> None:
        self.name = name
        self.lines = lines
        self.lexicon = lexicon
        self.raw = raw or lines
        """The lines before long dashes and curly quotes were set right: comments keep theirs."""
        self.faults: list[Fault] = []
        self.spoilt: set[str] = set()
        self.blind = False
        """A catalogue or the stock file could not be read: what is unknown may be in there."""
        self._said: set[tuple[int, str]] = set()

    def fault(
        self, place: Place, says: str, word: str = "", hint: str = "", nth: int = 0, elsewhere: Point = ""
    ) -> None:
        """Note a fault of a line; the mark goes under ``word`` (its nth appearance), else the line's first word."""
        if (place.line, says) in self._said:
            return
        self._said.add((place.line, says))
        line = self.lines[place.line - 1] if place.line <= len(self.lines) else ""
        column, width = place.column, max(len(word), 1)
        if word:
            column = self.lexicon.column(line, word, nth)
        elif line:
            width = len(line.strip())
        self.faults.append(Fault(Place(self.name, place.line, column), says, line, width, hint, elsewhere))

    def where(self, place: Place) -> str:
        """``line 7``, and of which file if it is another one."""
        return f"line {place.line}" + ("" if place.file == self.name else f" of {place.file}")

    def spoil(self, place: Place) -> None:
        """The statement declares nothing: whatever it names is not known to be undeclared."""
        self.spoilt.update(self.lexicon.split.findall(self.lines[place.line - 1]))

    def sorted(self) -> tuple[Fault, ...]:
        return tuple(sorted(self.faults, key=lambda fault: fault.place[1:]))
