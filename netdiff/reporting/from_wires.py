"""A wire list read back: rows of cells into a stock or found file, every row that cannot be read with its reason.

Each row becomes a line of the language, and the language's own reader judges the whole, so that a list
is held to nothing less than a file that was typed: what it finds wrong in a line is the row's reason.
"""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any, Final, NamedTuple

from netdiff.circuit import Fault
from netdiff.language import Faulty, Model, Unit, read_model, read_model_text, read_unit_text
from netdiff.language.paths import beside
from netdiff.language.reading import read_statements
from netdiff.language.spelling import comment, quoted
from netdiff.language.statements import FoundHead, Ground, NetLine
from netdiff.language.tidy import tidy_read
from netdiff.reporting.cells import SEPARATORS, Sheet
from netdiff.reporting.cells import read as read_cells
from netdiff.reporting.headings import Columns, columns
from netdiff.reporting.plain import counted
from netdiff.reporting.wire_rows import Line, Names, Unreadable, lines_of
from netdiff.reporting.wires import AS_DRAWN, FROM_DRAWING

_HEADING_WITHIN: Final = 30
"""Rows before the headings: a title, a date, who drew it."""
_MOST_ROUNDS: Final = 50
_SHOWN: Final = 60


class Unread(NamedTuple):
    """A row that was not read: its number as a spreadsheet shows it, why, and what stands in it."""

    row: int
    reason: str
    cells: tuple[str, ...]


class Read(NamedTuple):
    """What came of a list. ``text`` is empty where nothing may be written."""

    kind: str
    text: str
    wires: int
    parts: int
    unread: tuple[Unread, ...]
    notes: tuple[str, ...]


class NoListError(Exception):
    """Why a file is no wire list, or no list of that which was asked for."""


def read_list(data: bytes, name: str, out: Path, *, kind: str = "", of: str = "", partly: bool = False) -> Read:
    """Reads a list. ``name`` is what the user calls it, ``out`` the file to write (its folder is where paths start).

    ``kind`` is ``stock``, ``found`` or empty for what the list says itself. ``of`` is the path of the
    drawing, as from the working folder. ``partly``: what cannot be read is left out and stands at the end
    as comments; otherwise a list with such a row gives no text. Raises NoListError, and Faulty where the
    drawing has faults.
    """
    try:
        sheet = read_cells(data, lambda rows: heading(rows)[2])
    except ValueError as reason:
        raise NoListError(str(reason)) from None
    reader = _Reader(sheet, name, out, kind, of)
    return reader.read(partly)


def heading(rows: Sequence[Sequence[str]]) -> tuple[int, Columns | None, int]:
    """Where the headings stand, what they say, and how many of them mean something."""
    best: tuple[int, Columns | None, int] = (-1, None, 0)
    for index, row in enumerate(rows[:_HEADING_WITHIN]):
        found = columns(row)
        if found.useful and len(found.places) > best[2]:
            best = (index, found, len(found.places))
    return best


class _Numbered(NamedTuple):
    row: int
    line: Line


class _Reader:
    def __init__(self, sheet: Sheet, name: str, out: Path, kind: str, of: str) -> None:
        self.sheet = sheet
        self.out = out
        self.notes: list[str] = list(sheet.notes)
        self.unread: dict[int, str] = {}
        self.spoilt: set[str] = set()
        start, found, _ = heading(sheet.rows)
        if found is None:
            raise NoListError(_no_heading(sheet))
        self.start, self.columns = start, found
        for index in found.unknown:
            self.notes.append(f"The column `{sheet.rows[start][index].strip()}` was not read.")
        self.head = self._head()
        self.kind = kind or ("found" if isinstance(self.head, FoundHead) or (of and self.head is None) else "stock")
        if isinstance(self.head, str) and self.kind == "found" and not of:
            raise NoListError("the list is of a drawing: write it to a .stock file, or say with --of which drawing")
        if isinstance(self.head, FoundHead) and self.kind == "stock":
            raise NoListError("the list is of a unit as found: write it to a .found file")
        self.model: Model | None = None
        self.stock_file = ""
        if self.kind == "found":
            self.model, self.stock_file = self._drawing(name, of)
        self.names = self._names()

    # --- the head and the drawing

    def _rows(self) -> Iterator[tuple[int, tuple[str, ...]]]:
        """Every row under the headings in which something stands, numbered from 1 as spreadsheets do."""
        for number, row in enumerate(self.sheet.rows[self.start + 1 :], self.start + 2):
            if any(cell.strip() for cell in row):
                yield number, row

    def _cell(self, row: Sequence[str], key: str) -> str:
        place = self.columns.places.get(key, len(row))
        return row[place].strip() if place < len(row) else ""

    def _head(self) -> FoundHead | str | None:
        """The first statement of the list: a found file's, the words of a stock file's, or none."""
        for _, row in self._rows():
            told = self._cell(row, "statement")
            if told.startswith("found "):
                _, statements = read_statements(told, "found", "")
                head = next((s for s in statements if isinstance(s, FoundHead)), None)
                if head is not None:
                    return head
            if told.startswith("stock "):
                return told
        return None

    def _drawing(self, name: str, of: str) -> tuple[Model, str]:
        """The drawing beside which a unit is read, and its path as the file to write names it."""
        if of:
            path = Path(of)
        elif isinstance(self.head, FoundHead):
            target = beside(Path(name).parent, self.head.stock)
            if isinstance(target, str):
                raise NoListError(f"`{self.head.stock}`: {target}")
            path = target
        else:
            raise NoListError("a unit is read beside its drawing: say with --of which stock file")
        model, faults = read_model(os.path.normpath(path))
        if model is None:
            raise Faulty(faults)
        return model, os.path.relpath(path, self.out.parent).replace(os.sep, "/")

    def _names(self) -> Names:
        nets: set[str] = set()
        ground = "chassis"
        if self.model is not None:
            circuit = self.model.circuit(self.model.variants()[0])
            nets, ground = set(circuit.nets), circuit.ground
        for _, row in self._rows():
            told = self._cell(row, "statement")
            if told.startswith(("net ", "ground ")):
                for statement in read_statements(told, self.kind, "")[1]:
                    if isinstance(statement, NetLine):
                        nets.add(statement.name)
                    elif isinstance(statement, Ground):
                        ground = statement.name
        return Names(frozenset(nets), ground)

    # --- rows

    def _lines(self) -> list[_Numbered]:
        units = {"length": self.columns.length_unit, "bare": self.columns.bare_unit}
        comma_is_decimal = self.sheet.separator != ","
        out = []
        for number, row in self._rows():
            cells = {key: self._cell(row, key) for key in _CELLS}
            try:
                lines = lines_of(cells, self.names, units, comma_is_decimal)
            except Unreadable as reason:
                self.unread[number] = str(reason)
                self.spoilt.add(cells["part"])
                continue
            out += [_Numbered(number, line) for line in lines]
        remarks = Counter(item.line.remark for item in out if item.line.remark)
        self.notes += [f"{counted(number, 'row')}: {remark}." for remark, number in remarks.items()]
        return self._without_what_is_drawn(out)

    def _without_what_is_drawn(self, lines: list[_Numbered]) -> list[_Numbered]:
        """Rows that only help to read a unit's list: the unit's own statements say them again."""
        said = any(item.line.sort == "statement" and item.line.text.startswith("as-drawn ") for item in lines)
        aside = {FROM_DRAWING} | ({AS_DRAWN} if said else set())
        if self.kind == "stock":
            aside = set()
        out = [item for item in lines if item.line.sort not in aside]
        left = len({item.row for item in lines} - {item.row for item in out})
        if left:
            self.notes.append(f"{counted(left, 'row')} from the drawing: not written again.")
        return out

    # --- the whole

    def read(self, partly: bool) -> Read:
        lines = self._lines()
        thing: Model | Unit | None = None
        numbers: list[int] = []
        for _ in range(_MOST_ROUNDS):
            text, numbers = self._text(lines)
            thing, faults = self._judged(text)
            if thing is not None:
                break
            bad = self._blame(faults, numbers)
            if not partly or not bad:
                break
            lines = [item for item in lines if item.row not in bad]
        rows = dict(self._rows())
        unread = tuple(Unread(n, reason, rows.get(n, ())) for n, reason in sorted(self.unread.items()))
        wires = len({item.row for item in lines if item.line.sort in ("wire", AS_DRAWN)} - self.unread.keys())
        parts = len({item.row for item in lines if item.line.sort in ("part", FROM_DRAWING)} - self.unread.keys())
        written = ""
        if thing is not None and (partly or not unread):
            written = tidy_read(thing) + "".join(
                comment(f"Row {one.row} of the list was not read: {one.reason}: {shown(one)}") + "\n" for one in unread
            )
        return Read(self.kind, written, wires, parts, unread, tuple(dict.fromkeys(self.notes)))

    def _text(self, lines: Iterable[_Numbered]) -> tuple[str, list[int]]:
        """The file, and the row of each of its lines (0: of none)."""
        numbered: list[tuple[str, int]] = [(self._first_line(), 0)]
        zones: dict[str, list[tuple[str, int]]] = {}
        parts: dict[str, list[tuple[str, int]]] = {"": []}
        wires: list[tuple[str, int]] = []
        for row, line in lines:
            if line.sort == "statement":
                if line.text.startswith(("found ", "stock ")):
                    continue
                if line.text.startswith("zone "):
                    zones.setdefault(line.text.split()[1] if " " in line.text.strip() else "", []).append(
                        (line.text, row)
                    )
                else:
                    numbered.append((line.text, row))
            elif line.sort in ("part", FROM_DRAWING):
                title = f" {quoted(line.zone_title)}" if line.zone_title else ""
                if line.zone:
                    zones.setdefault(line.zone, [(f"zone {line.zone}{title}", row)])
                parts.setdefault(line.zone, []).append((line.text, row))
            else:
                wires.append((line.text, row))
        blocks = [numbered, parts[""], *([*told, *parts.get(zone, ())] for zone, told in zones.items()), wires]
        out: list[tuple[str, int]] = []
        for block in blocks:
            out += [*block, ("", 0)] if block else []
        return "\n".join(text for text, _ in out), [row for _, row in out]

    def _first_line(self) -> str:
        if self.kind == "stock":
            return self.head if isinstance(self.head, str) else f"stock {quoted(self.out.stem)}"
        head = self.head if isinstance(self.head, FoundHead) else None
        variant = f" production {' '.join(head.productions)}" if head is not None and head.productions else ""
        return f"found {quoted(head.title if head else self.out.stem)} of {quoted(self.stock_file)}{variant}"

    def _judged(self, text: str) -> tuple[Model | Unit | None, tuple[Fault, ...]]:
        folder = self.out.parent
        if self.model is not None:
            return read_unit_text(text, self.model, self.out.name, folder)
        return read_model_text(text, self.out.name, folder)

    def _blame(self, faults: Iterable[Fault], numbers: Sequence[int]) -> set[int]:
        """The rows at fault. A row that speaks of a part whose own row was not read is not to blame for that."""
        bad: set[int] = set()
        others: list[Fault] = []
        for fault in faults:
            row = numbers[fault.place.line - 1] if fault.place.file == self.out.name else 0
            if not row:
                others.append(fault)
                continue
            bad.add(row)
            follows = any(fault.says.endswith(f"declares {name}") for name in self.spoilt if name)
            if row not in self.unread and not follows:
                self.unread[row] = f"{fault.says}; {fault.hint}" if fault.hint else fault.says
        if others and not bad:
            raise Faulty(others)
        return bad


_CELLS: Final = [
    "row",
    "from_point",
    "to_point",
    "from_part",
    "from_pin",
    "to_part",
    "to_pin",
    "conductor",
    "cable",
    "cable_type",
    "length",
    "gauge",
    "colour",
    "braid_from",
    "braid_to",
    "braid",
    "bare",
    "gap",
    "lands",
    "known",
    "condition",
    "part",
    "kind_and_value",
    "value",
    "measured",
    "zone",
    "note",
    "statement",
]


def _no_heading(sheet: Sheet) -> str:
    if not any(any(cell.strip() for cell in row) for row in sheet.rows):
        return "there is nothing in the list"
    first = next(row for row in sheet.rows if any(cell.strip() for cell in row))
    shown_cells = ", ".join(cell.strip() for cell in first if cell.strip())[:_SHOWN]
    return (
        f"no row of headings says `from` and `to` (or `part` and `kind`): the list begins with {shown_cells}. "
        f"Cells are parted by {', '.join(SEPARATORS.values())}."
    )


def shown(one: Unread) -> str:
    """What stands in the row, on one line."""
    text = " | ".join(" ".join(cell.split()) for cell in one.cells if cell.strip())
    return text if len(text) <= _SHOWN else f"{text[: _SHOWN - 1]}…"


def told(read: Read, made: str) -> Iterator[str]:
    """What came of the list, for a person: the rows that were not read first."""
    for one in read.unread:
        yield f"row {one.row}: {one.reason}"
        yield f"    {shown(one)}"
    what = f"{counted(read.wires, 'wire')}, {counted(read.parts, 'part')}"
    if not read.text:
        yield f"{counted(len(read.unread), 'row')} not read; nothing is written. With --partly the rest is."
    elif read.unread:
        yield f"{made}: {what}; {counted(len(read.unread), 'row')} not read: they stand at its end as comments."
    else:
        yield f"{made}: {what}; every row was read."
    yield from read.notes


def as_json(read: Read, file: str, made: str) -> dict[str, Any]:
    return {
        "file": file,
        "made": made,
        "kind": read.kind,
        "wires": read.wires,
        "parts": read.parts,
        "unread": [{"row": one.row, "reason": one.reason, "cells": list(one.cells)} for one in read.unread],
        "notes": list(read.notes),
        "text": read.text,
    }
