"""Cells of a spreadsheet as text: commas, semicolons or tabs between them, after RFC 4180.

A cell that begins like a formula would be worked out by the spreadsheet (``=``, ``+``, ``-``, ``@``),
so that a text of a file could run there. Such a cell is written behind an apostrophe and read without it:

>>> guarded("=1+1"), guarded("-90V"), guarded("R12.1"), guarded("'=")
("'=1+1", "'-90V", 'R12.1', "''=")
>>> [unguarded(guarded(text)) for text in ("=1+1", "'=", "'", "R12.1")]
['=1+1', "'=", "'", 'R12.1']
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Iterable, Sequence
from typing import Final, NamedTuple

# Blanks and apostrophes in front do not keep a spreadsheet from seeing a formula; the wide forms of
# the four signs are signs too.
_FORMULA: Final = re.compile(r"['\s]*[=+\-@＝＋－＠]|['\s]*[\t\r\n]")
_SEPARATOR_LINE: Final = re.compile(r"sep=(.)\r?\n")
SEPARATORS: Final = {",": "comma", ";": "semicolon", "\t": "tab"}
_LONGEST_CELL: Final = 100_000


class Sheet(NamedTuple):
    """Rows of cells. ``separator`` is what stands between cells; ``notes`` say how the bytes were read."""

    rows: tuple[tuple[str, ...], ...]
    separator: str
    notes: tuple[str, ...] = ()


def guarded(cell: str) -> str:
    return f"'{cell}" if _FORMULA.match(cell) else cell


def unguarded(cell: str) -> str:
    return cell[1:] if cell[:1] == "'" and _FORMULA.match(cell[1:]) else cell


def written(rows: Iterable[Sequence[str]], separator: str = ",") -> str:
    """The rows as text with the line ends of RFC 4180, every cell guarded."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, delimiter=separator, lineterminator="\r\n")
    for row in rows:
        writer.writerow([guarded(cell) for cell in row])
    return out.getvalue()


def decoded(data: bytes) -> tuple[str, tuple[str, ...]]:
    """The text of a file that a spreadsheet wrote, and what to know of it. Raises ValueError with the reason."""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        try:
            return data.decode("utf-16"), ()
        except UnicodeDecodeError:
            raise ValueError("the file begins as UTF-16 text and does not go on so") from None
    if b"\0" in data:
        raise ValueError("this is a binary file, not a list as text: save it as CSV")
    try:
        return data.decode("utf-8-sig"), ()
    except UnicodeDecodeError:
        note = "The file is not UTF-8 and was read as Western European text (Windows-1252): look at µ, Ω and umlauts."
        return data.decode("cp1252", errors="replace"), (note,)


def read(data: bytes, good: Callable[[Sequence[Sequence[str]]], int]) -> Sheet:
    """The cells, split by that separator with which ``good`` finds most in the rows. Raises ValueError."""
    text, notes = decoded(data)
    told = _SEPARATOR_LINE.match(text)
    if told is not None:
        # Some spreadsheets say in a first line what parts the cells; it counts as a row to them.
        text = "\n" + text[told.end() :]
    tried = [_split(text, separator) for separator in ([told[1]] if told is not None else SEPARATORS)]
    return max(tried, key=lambda sheet: good(sheet.rows))._replace(notes=notes)


def _split(text: str, separator: str) -> Sheet:
    csv.field_size_limit(_LONGEST_CELL)
    rows = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator)
    try:
        for row in reader:
            rows.append(tuple(unguarded(cell) for cell in row))
    except csv.Error as error:
        raise ValueError(f"row {len(rows) + 1} is no row of cells: {error}") from None
    return Sheet(tuple(rows), separator)
