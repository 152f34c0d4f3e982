"""YAML text as plain data, every piece with its line and column. Nothing in a file is ever executed.

>>> spot, faults = read_plain("fuse:\\n  letters: F\\n", "my-parts.yaml")
>>> spot.value["fuse"].value["letters"]
Spot(value='F', line=2, column=3, key='letters')

Only texts, lists and tables are taken: no tags (which could ask for a program to be run), no
anchors and aliases (with which a few lines unfold to millions). A text stays as it was written, so
that ``on``, ``80`` and ``6E5`` are names here and no truth values or numbers.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final, TypeAlias

from netdiff.circuit import Fault, Place

LARGEST: Final = 1_000_000
"""Bytes of a catalogue file: some thousand kinds of part."""
DEEPEST: Final = 8
MOST: Final = 50_000

_PLAIN_TAGS: Final = {None, "!", *(f"tag:yaml.org,2002:{name}" for name in ("str", "map", "seq"))}

Plain: TypeAlias = "str | list[Spot] | dict[str, Spot]"


@dataclass(frozen=True, slots=True)
class Spot:
    """A piece of data, where it stands (from 1; in a table: its key), and its key in a table."""

    value: Plain
    line: int
    column: int
    key: str = ""


@dataclass(slots=True)
class Faults:
    """The faults of one file as they are met."""

    file: str
    lines: list[str]
    met: list[Fault] = field(default_factory=list)

    def add(self, spot: Spot, says: str, hint: str = "") -> None:
        self.at(spot.line, spot.column, says, hint, len(spot.key) or 1)

    def at(self, line: int, column: int, says: str, hint: str = "", width: int = 1) -> None:
        text = self.lines[line - 1] if 0 < line <= len(self.lines) else ""
        self.met.append(Fault(Place(self.file, line, column), says, text, width, hint))


class _Refused(Exception):
    def __init__(self, event: Any, says: str, hint: str = "") -> None:
        super().__init__(says)
        self.mark, self.says, self.hint = event.start_mark, says, hint


def read_file(path: Path, name: str, faults: Faults) -> Spot | None:
    """Reads a catalogue file; None with a fault (or more) where it is none. Fills ``faults.lines``."""
    try:
        with path.open("rb") as file:
            data = file.read(LARGEST + 1)
    except OSError as error:
        faults.at(1, 1, f"cannot read {name}: {error.strerror or 'no such file'}")
        return None
    if len(data) > LARGEST:
        faults.at(1, 1, f"{name} is larger than {LARGEST // 1_000_000} MB: that is no catalogue")
        return None
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        faults.at(data.count(b"\n", 0, error.start) + 1, 1, f"{name} is no text file in UTF-8")
        return None
    return _read(text, faults)


def read_plain(text: str, name: str) -> tuple[Spot | None, tuple[Fault, ...]]:
    """The file's data, or None and what is wrong."""
    faults = Faults(name, [])
    return _read(text, faults), tuple(faults.met)


def _read(text: str, faults: Faults) -> Spot | None:
    import yaml

    faults.lines = text.splitlines()
    events = yaml.parse(text, Loader=getattr(yaml, "CSafeLoader", yaml.SafeLoader))
    try:
        return _build(events, faults)
    except _Refused as refused:
        faults.at(refused.mark.line + 1, refused.mark.column + 1, refused.says, refused.hint)
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        line, column = (mark.line + 1, mark.column + 1) if mark else (1, 1)
        faults.at(line, column, f"this is no YAML: {error.problem or error.context}", "tabs, a lost quote or colon?")
    except yaml.YAMLError as error:
        faults.at(1, 1, f"this is no YAML: {str(error).splitlines()[0]}")
    return None


def _build(events: Iterator[Any], faults: Faults) -> Spot | None:
    """Builds the data from parsing events; no recursion, so that no nesting can exhaust the stack."""
    from yaml import events as e

    root: Spot | None = None
    open_: list[tuple[Spot, Any]] = []
    keys: list[Any] = []  # for every open table the event of its key that waits for a value
    count = 0
    for event in events:
        if isinstance(event, (e.MappingEndEvent, e.SequenceEndEvent)):
            open_.pop()
            keys.pop()
            continue
        if isinstance(event, e.DocumentStartEvent) and root is not None:
            raise _Refused(event, "a catalogue is one YAML document")
        if not isinstance(event, e.NodeEvent):
            continue
        _refuse(event, e)
        count += 1
        if count > MOST or len(open_) > DEEPEST:
            raise _Refused(event, "this file is too large or too deep for a catalogue")
        inside = open_[-1][0].value if open_ else None
        if isinstance(inside, dict) and keys[-1] is None:
            if not isinstance(event, e.ScalarEvent):
                raise _Refused(event, "a key is a word")
            if event.value in inside:
                line = inside[event.value].line
                raise _Refused(event, f"`{event.value}` stands here twice", f"the first is in line {line}")
            keys[-1] = event
            continue
        key = keys[-1] if isinstance(inside, dict) else None
        mark = (key or event).start_mark
        value: Plain = event.value if isinstance(event, e.ScalarEvent) else _empty(event, e)
        spot = Spot(value, mark.line + 1, mark.column + 1, key.value if key else "")
        if isinstance(inside, dict):
            inside[spot.key] = spot
            keys[-1] = None
        elif isinstance(inside, list):
            inside.append(spot)
        else:
            root = spot
        if not isinstance(event, e.ScalarEvent):
            open_.append((spot, event))
            keys.append(None)
    return root


def _empty(event: Any, e: Any) -> Plain:
    return {} if isinstance(event, e.MappingStartEvent) else []


def _refuse(event: Any, e: Any) -> None:
    if isinstance(event, e.AliasEvent) or event.anchor is not None:
        raise _Refused(event, "a catalogue has no anchors and aliases", "`like: NAME` takes over another kind")
    if event.tag not in _PLAIN_TAGS:
        tag = event.tag.replace("tag:yaml.org,2002:", "!!")[:60]
        raise _Refused(event, f"`{tag}` is not taken: a catalogue holds plain texts, and nothing in it is executed")


def items(spot: Spot) -> dict[str, Spot]:
    """The entries of a table; none for anything else."""
    return spot.value if isinstance(spot.value, dict) else {}


def texts(spot: Spot | None) -> list[str]:
    """A list's texts, or a text's words."""
    if spot is None:
        return []
    if isinstance(spot.value, str):
        return spot.value.split()
    return [item.value for item in spot.value if isinstance(item, Spot) and isinstance(item.value, str)]


def text(spot: Spot | None, default: str = "") -> str:
    return spot.value if spot is not None and isinstance(spot.value, str) else default
