"""YAML text as plain data, every piece with its line and column. Nothing in a file is ever executed.

>>> spot = read_text("fuse:\\n  letters: F\\n", Faults("my-parts.yaml", []))
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


class _RefusedError(Exception):
    def __init__(self, event: Any, says: str, hint: str = "") -> None:
        super().__init__(says)
        self.line, self.column = event.start_mark.line + 1, event.start_mark.column + 1
        self.says, self.hint = says, hint


def read_file(path: Path, name: str, faults: Faults) -> Spot | None:
    """Reads a catalogue file, as `read_text`."""
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
    return read_text(text, faults)


def read_text(text: str, faults: Faults) -> Spot | None:
    """The data of a file; None where it has none, with a fault (or more) where it is wrong. Fills ``faults.lines``."""
    import yaml

    faults.lines = text.splitlines()
    events = yaml.parse(text, Loader=getattr(yaml, "CSafeLoader", yaml.SafeLoader))
    try:
        return _build(events)
    except _RefusedError as refused:
        faults.at(refused.line, refused.column, refused.says, refused.hint)
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        line, column = (mark.line + 1, mark.column + 1) if mark else (1, 1)
        faults.at(line, column, f"this is no YAML: {error.problem or error.context}", "tabs, a lost quote or colon?")
    except yaml.YAMLError as error:
        faults.at(1, 1, f"this is no YAML: {str(error).splitlines()[0]}")
    return None


@dataclass(slots=True)
class _Open:
    """A table or list whose end has not come yet; of a table the event of the key that waits for its value."""

    value: dict[str, Spot] | list[Spot]
    key: Any = None


def _build(events: Iterator[Any]) -> Spot | None:
    """Builds the data from parsing events. No recursion, so that no nesting can exhaust the stack."""
    from yaml.events import CollectionEndEvent, DocumentStartEvent, MappingStartEvent, NodeEvent, ScalarEvent

    root: Spot | None = None
    open_: list[_Open] = []
    count = 0
    for event in events:
        if isinstance(event, CollectionEndEvent):
            open_.pop()
        elif isinstance(event, DocumentStartEvent) and root is not None:
            raise _RefusedError(event, "a catalogue is one YAML document")
        elif isinstance(event, NodeEvent):
            count += 1
            _check(event, count, len(open_))
            inner = open_[-1] if open_ else None
            if inner is not None and isinstance(inner.value, dict) and inner.key is None:
                inner.key = _key(event, inner.value)
                continue
            value: Plain = event.value if isinstance(event, ScalarEvent) else {}
            if not isinstance(event, (ScalarEvent, MappingStartEvent)):
                value = []
            spot = _put(event, value, inner)
            root = root or spot
            if not isinstance(value, str):
                open_.append(_Open(value))
    return root


def _put(event: Any, value: Plain, inner: _Open | None) -> Spot:
    """The piece of data, put into the table or list that is open."""
    key = inner.key if inner is not None else None
    mark = (key or event).start_mark
    spot = Spot(value, mark.line + 1, mark.column + 1, key.value if key else "")
    if inner is not None and isinstance(inner.value, dict):
        inner.value[spot.key], inner.key = spot, None
    elif inner is not None and isinstance(inner.value, list):
        inner.value.append(spot)
    return spot


def _check(event: Any, count: int, depth: int) -> None:
    from yaml.events import AliasEvent

    if isinstance(event, AliasEvent) or event.anchor is not None:
        raise _RefusedError(event, "a catalogue has no anchors and aliases", "`like: NAME` takes over another kind")
    if event.tag not in _PLAIN_TAGS:
        tag = event.tag.replace("tag:yaml.org,2002:", "!!")[:60]
        says = f"`{tag}` is not taken: a catalogue holds plain texts, and nothing in it is executed"
        raise _RefusedError(event, says, "take the tag away")
    if count > MOST or depth > DEEPEST:
        raise _RefusedError(event, "this file is too large or too deep for a catalogue")


def _key(event: Any, table: dict[str, Spot]) -> Any:
    from yaml.events import ScalarEvent

    if not isinstance(event, ScalarEvent):
        raise _RefusedError(event, "a key is a word")
    there = table.get(event.value)
    if there is not None:
        raise _RefusedError(event, f"`{event.value}` stands here twice", f"the first is in line {there.line}")
    return event


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
