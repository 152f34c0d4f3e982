"""Faults of a file: where, what, the line with a mark under the place, and the nearest right thing."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any, Final

from netdiff.circuit import Fault
from netdiff.reporting.plain import clean, counted

_BEFORE: Final = 60
_AFTER: Final = 40


def told(fault: Fault) -> str:
    """Several lines, without a line end.

    >>> from netdiff.circuit import Place
    >>> print(told(Fault(Place("a.stock", 7, 5), "R5 has no terminal '3'", "b+ -- R5.3", 4, "resistor has 1 2")))
    a.stock:7:5: R5 has no terminal '3'
        b+ -- R5.3
            ^^^^
        resistor has 1 2
    """
    place = fault.place
    lines = [clean(f"{place.file}:{place.line}:{place.column}: {fault.says}")]
    if fault.text.strip():
        lines += ["    " + line for line in _marked(fault)]
    if fault.hint:
        lines.append(f"    {clean(fault.hint)}")
    return "\n".join(lines)


def _marked(fault: Fault) -> list[str]:
    """The line, or what stands around the place if it is long, and the mark under it."""
    text, at = clean(fault.text), max(fault.place.column - 1, 0)
    start = max(at - _BEFORE, 0) if len(text) > _BEFORE + _AFTER else 0
    end = max(at + _AFTER, start + _BEFORE + _AFTER)
    before, after = ("... " if start else ""), (" ..." if end < len(text) else "")
    shown = text[start:end]
    width = max(1, min(fault.width, len(shown) - (at - start)))
    return [f"{before}{shown}{after}".rstrip(), " " * (len(before) + at - start) + "^" * width]


def as_json(faults: Iterable[Fault]) -> list[dict[str, Any]]:
    return [
        {
            "file": fault.place.file,
            "line": fault.place.line,
            "column": fault.place.column,
            "says": fault.says,
            "text": fault.text[:1000],
            "hint": fault.hint,
        }
        for fault in faults
    ]


def listed(faults: Sequence[Fault]) -> str:
    """All faults, each once, and how many there are."""
    once = list(dict.fromkeys(faults))
    return "\n".join([*(told(fault) for fault in once), f"{counted(len(once), 'fault')}; nothing was done."])
