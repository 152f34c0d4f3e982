"""The canonical layout of a file: one way to write what may be written in many.

Statements and comments stay where they are. Parts and nets stand in columns, quantities have their
units, old units become the present ones, long dashes and curly quotes the plain ones. Tidying twice
changes nothing more, and the tidied file reads to the same circuit.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from os import PathLike
from pathlib import Path
from typing import Final, NamedTuple

from netdiff.circuit import Kind
from netdiff.language import Model, Unit, read
from netdiff.language.statements import Chain, LoadLine, NetLine, Only, PartLine, ReadingLine, Statement, WindingLine
from netdiff.quantities import read_quantity, read_range, show

_METER_UNITS: Final = {"ohms": "ohm", "volts": "V", "amps": "A", "watts": "W"}
_OHMS: Final = {" kΩ": "k", " MΩ": "M", " Ω": "ohm", " mΩ": "mohm", " GΩ": "Gohm"}
_INCHES: Final = re.compile(r"[0-9./]+(?:in|inch|inches|ft|mils?)", re.IGNORECASE)
_WIDEST: Final = 48
"""A part with more before its label does not push the labels of the others to the right."""


def tidy_file(path: str | PathLike[str]) -> str:
    """The tidied text of a stock or found file; raises `Faulty` if it (or the stock file it names) has a fault."""
    return tidy_read(read(Path(path)))


def tidy_read(thing: Model | Unit) -> str:
    """The tidied text of what was read without a fault."""
    by_line = {statement.place.line: statement for statement in thing.statements}
    source = thing.source
    rows: list[_Row] = []
    for number, line in enumerate(source.lines, 1):
        tokens = source.lexicon.split.findall(line)
        comment = ""
        if tokens and tokens[-1].startswith("#"):
            comment = source.raw[number - 1][line.rindex(tokens.pop()) :].rstrip()
        rows.append(_row(thing, by_line.get(number), tokens, comment))
    lines = list(_laid_out(rows))
    while lines and not lines[0]:
        lines.pop(0)
    while lines and not lines[-1]:
        lines.pop()
    return "\n".join(lines) + "\n"


class _Row(NamedTuple):
    """A line in the making. ``cells`` are the columns of a part or net, or one cell; ``tail`` follows the last."""

    sort: str
    cells: tuple[str, ...]
    tail: str = ""
    comment: str = ""


def _row(thing: Model | Unit, statement: Statement | None, tokens: list[str], comment: str) -> _Row:
    if statement is None or not tokens:
        return _Row("comment" if comment else "blank", ("",), "", comment)
    inner = statement.statement if isinstance(statement, Only) else statement
    tokens = ["--" if token in ("–", "—") else token for token in tokens]
    start = tokens.index(":") + 1 if isinstance(statement, Only) else 0
    tokens = tokens[:start] + _canonical(thing, inner, tokens[start:])
    if isinstance(statement, PartLine):
        comma = tokens.index(",") if "," in tokens else len(tokens)
        head, tail = tokens[:comma], tokens[comma:]
        label = head.pop() if head[-1].startswith('"') else ""
        return _Row("part", (head[0], " ".join(head[1:]), label), _joined(tail), comment)
    if isinstance(statement, NetLine):
        return _Row("net", (f"net {tokens[1]}", _joined(tokens[2:])), "", comment)
    return _Row("other", (_joined(tokens),), "", comment)


def _joined(words: list[str]) -> str:
    """Words with a blank between; none before a comma or colon, none after the `>` of `= >20M`."""
    out = ""
    for index, word in enumerate(words):
        close = word in (",", ":") or words[max(index - 2, 0) : index] == ["=", ">"]
        out += word if close or not out else f" {word}"
    return out


# --- columns


def _laid_out(rows: list[_Row]) -> Iterator[str]:
    start = 0
    while start < len(rows):
        sort = rows[start].sort
        end = start + 1
        if sort in ("part", "net"):
            while end < len(rows) and rows[end].sort in (sort, "comment"):
                end += 1
            yield from _columns(rows[start:end])
        elif sort == "blank":
            while end < len(rows) and rows[end].sort == "blank":
                end += 1
            yield ""
        else:
            yield _with_comment(rows[start].cells[0], rows[start].comment)
        start = end


def _columns(rows: list[_Row]) -> Iterator[str]:
    table = [row for row in rows if row.sort != "comment"]
    first = max(len(row.cells[0]) for row in table)
    widths = [len(row.cells[1]) for row in table if len(row.cells) > 2 and row.cells[2]]
    second = max((width for width in widths if width <= _WIDEST), default=0)
    for row in rows:
        if row.sort == "comment":
            yield row.comment
            continue
        text = f"{row.cells[0]:<{first}}  {row.cells[1]}" if any(row.cells[1:]) else row.cells[0]
        if len(row.cells) > 2 and row.cells[2]:
            text = f"{row.cells[0]:<{first}}  {row.cells[1]:<{second}}  {row.cells[2]}"
        yield _with_comment(text.rstrip() + row.tail, row.comment)


def _with_comment(text: str, comment: str) -> str:
    return f"{text}  {comment}" if text and comment else text or comment


# --- quantities


def _canonical(thing: Model | Unit, statement: Statement, tokens: list[str]) -> list[str]:
    """The tokens of a statement, its quantities as they are written today."""
    match statement:
        case PartLine():
            return _canonical_part(thing, statement, tokens)
        case NetLine():
            return [tokens[0], tokens[1], *(_quantity(token, "") for token in tokens[2:])]
        case WindingLine() | Chain():
            comma = tokens.index(",") if "," in tokens else len(tokens)
            rest = [
                token if before == "cable" else _quantity(token, "")
                for before, token in zip(tokens[comma - 1 :], tokens[comma:], strict=False)
            ]
            return tokens[:comma] + rest
        case ReadingLine():
            equal = tokens.index("=")
            unit = _METER_UNITS[statement.quantity]
            value = equal + 2 if tokens[equal + 1] == ">" else equal + 1
            thousand = unit == "ohm" and isinstance(thing, Model) and thing.m_thousand
            return [*tokens[:value], *(_quantity(token, unit, thousand) for token in tokens[value:])]
        case LoadLine():
            return [tokens[0], _quantity(tokens[1], "A"), *tokens[2:]]
    return tokens


def _canonical_part(thing: Model | Unit, line: PartLine, tokens: list[str]) -> list[str]:
    out = list(tokens)
    kind, given, make = _maker(thing, line)
    if kind is None:
        return out
    m_thousand = isinstance(thing, Model) and thing.m_thousand
    words = list(line.words)
    first = 1 if given else 0
    # A tube's type is no quantity, though 1R5 looks like one.
    for index in range(first, 0 if kind.type else len(words)):
        if index and words[index - 1] == "at":
            continue
        new = [*words[:index], _quantity(words[index], kind.unit, m_thousand), *words[index + 1 :]]
        if make(new[first:]) == make(words[first:]):
            words = new
    out[1 : 1 + len(words)] = words
    for index in range(len(words) + 1, len(out) - 1):
        if out[index] == "measured":
            out[index + 1] = _quantity(out[index + 1], kind.unit)
    return out


def _maker(thing: Model | Unit, line: PartLine) -> tuple[Kind | None, bool, Callable[[Sequence[str]], object]]:
    """The kind of a part line, whether the line names it, and what its words make with it."""
    given = bool(line.words) and line.words[0] in thing.catalogue.names()
    kind: Kind | None = None
    m_thousand = False
    if isinstance(thing, Model):
        m_thousand = thing.m_thousand
    else:
        found = (thing.found(active).circuit.parts.get(line.designator) for active in thing.model.variants())
        kind = next((part.kind for part in found if part is not None), None)
    if given:
        kind = thing.catalogue.make(line.words[0], line.words[1:], m_thousand=m_thousand).kind
    name = kind.name if kind is not None else ""
    return kind, given, lambda words: thing.catalogue.make(name, words, m_thousand=m_thousand)


def _quantity(word: str, want: str, m_thousand: bool = False) -> str:
    """The word as it is written today; itself if it is no quantity, or if that would change what it says."""
    if word.startswith('"') or _INCHES.fullmatch(word):
        return word
    quantity = read_quantity(word, want, m_thousand)
    if quantity is not None:
        if not quantity.unit:
            return word
        new = _compact(quantity.value, quantity.unit, m_thousand)
        return new if read_quantity(new, want, m_thousand) == quantity else word
    span = read_range(word, want, m_thousand)
    if span is None or not span[0].unit:
        return word
    low, high = (_compact(end.value, end.unit, m_thousand) for end in span)
    suffix = high.lstrip("+-0123456789.")
    new = f"{low.removesuffix(suffix) if suffix else low}..{high}"
    if read_range(new, want, m_thousand) == span:
        return new
    new = f"{low}..{high}"
    return new if read_range(new, want, m_thousand) == span else word


def _compact(value: float, unit: str, m_thousand: bool) -> str:
    text = show(value, unit)
    if unit == "ohm":
        for shown, written in _OHMS.items():
            if text.endswith(shown):
                written = "meg" if written == "M" and m_thousand else written
                return text.removesuffix(shown) + written
    if unit == "%":
        return text.replace(" ", "")
    return (
        text.replace(" V AC", "Vac")
        .replace(" kV AC", "kVac")
        .replace(" mV AC", "mVac")
        .replace("µ", "u")
        .replace(" ", "")
    )
