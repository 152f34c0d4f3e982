"""Faults of files and other trouble, for a person and for a program."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any, Final

from netdiff.circuit import Fault
from netdiff.language.faults import render_fault
from netdiff.reporting.plain import clean, counted

_LONGEST: Final = 1000
"""So much of a faulty line goes into JSON; a line may have millions of characters."""


def as_json(faults: Iterable[Fault]) -> list[dict[str, Any]]:
    return [
        {
            "file": fault.place.file,
            "line": fault.place.line,
            "column": fault.place.column,
            "says": fault.says,
            "text": fault.text[:_LONGEST],
            "hint": fault.hint,
        }
        for fault in dict.fromkeys(faults)
    ]


def listed(faults: Sequence[Fault]) -> str:
    """All faults, each once, and how many there are."""
    once = list(dict.fromkeys(faults))
    return "\n".join([*(render_fault(fault) for fault in once), f"{counted(len(once), 'fault')}; nothing was done."])


def in_words(error: Exception) -> str:
    """Trouble that is no fault of a circuit file, without the words of a programming language."""
    if isinstance(error, OSError):
        reason = error.strerror or type(error).__name__
        return clean(f"{error.filename}: {reason}" if error.filename else reason)
    return clean(str(error))
