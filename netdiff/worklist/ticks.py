"""Ticks: which steps are done, as text in a small file beside the found file.

One line a tick, for a person to read and, if need be, to correct by hand:

    done replace_R18 on 2026-03-09, reads R18 = 35.1 kΩ, meter "bench meter", because "…"
    measured hv -- chassis = 15.5 kΩ on 2026-03-10, meter "bench meter"

>>> told = 'done fit_R45 on 2026-03-09, reads R45 = 25.1 kΩ, meter "No. 2", because "a ""new"" one"'
>>> sheet, faults = read_text(told, "a.done")
>>> sheet.ticks[0].readings[0], sheet.ticks[0].because, faults
(Measured(what='R45', unit='ohm', value=25100.0, bound=''), 'a "new" one', ())
>>> write_text(sheet).splitlines()[-1] == told
True
"""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from datetime import date
from pathlib import Path
from typing import Final, NamedTuple

from netdiff.circuit import Fault, Place
from netdiff.language import Faulty
from netdiff.language.faults import nearest
from netdiff.language.lexing import CONTROL
from netdiff.language.reading import file_text
from netdiff.quantities import read_quantity, show
from netdiff.writing import write

HEAD: Final = (
    "# What has been done to the unit, a line a step; kept by `netdiff worklist`.",
    "# A tick says that somebody did the step. It never says that the unit is safe.",
)
OPEN: Final = "open"
ABOVE: Final = ">"


class Measured(NamedTuple):
    """What a meter showed. ``unit`` as in `netdiff.quantities`; ``value`` None and ``bound`` ``open`` for no path at
    all, ``bound`` ``>`` for more than ``value``."""

    what: str
    """``R18`` for a part's own value, ``E8.1 -- C61.+`` between two points."""
    unit: str
    value: float | None
    bound: str = ""

    def __str__(self) -> str:
        if self.value is None:
            return OPEN
        return f"{self.bound}{show(self.value, self.unit)}"


class Tick(NamedTuple):
    """One step that was done. ``on`` is an ISO date; ``because`` is the reason for a reading outside its limits.

    ``fitted`` is what went in where it is not what the drawing has, as a part line would say it.
    """

    step: str
    on: str
    readings: tuple[Measured, ...] = ()
    meter: str = ""
    because: str = ""
    fitted: str = ""


class Later(NamedTuple):
    """A reading that was taken after the work and belongs to no step. ``state`` is empty at rest."""

    reading: Measured
    on: str
    meter: str = ""
    state: str = ""


class Sheet(NamedTuple):
    """Everything that the file keeps; ``remarks`` are comment lines that somebody wrote into it."""

    ticks: tuple[Tick, ...] = ()
    later: tuple[Later, ...] = ()
    remarks: tuple[str, ...] = ()

    def tick(self, step: str) -> Tick | None:
        return next((tick for tick in self.ticks if tick.step == step), None)


def beside(found: str | Path) -> Path:
    """Where the ticks of a found file are kept.

    >>> beside("bench/No 7.found").as_posix(), beside("unit.txt").as_posix()
    ('bench/No 7.done', 'unit.txt.done')
    """
    path = Path(found)
    return path.with_suffix(".done") if path.suffix == ".found" else path.with_name(f"{path.name}.done")


def measured(what: str, text: str, unit: str) -> Measured | None:
    """Reads ``22k``, ``open`` or ``>20M``; None if it is none of these. A unit that is written wins over ``unit``."""
    text = text.strip()
    if text.lower() == OPEN:
        return Measured(what, unit, None, OPEN)
    bound = ABOVE if text.startswith(ABOVE) else ""
    read = read_quantity(text.removeprefix(ABOVE).strip(), unit)
    if read is None or read.unit not in ("ohm", "F", "H", "V", "Vac", "A", "W", "Hz"):
        return None
    # As the file will have it, so that what is kept and what is read again are one.
    again = read_quantity(show(read.value, read.unit), read.unit)
    return Measured(what, read.unit, again.value if again else read.value, bound)


# --- the text ---------------------------------------------------------------------------------------------------------

_PIECE: Final = re.compile(r'(?:[^,"]|"(?:[^"]|"")*")+|"')
_TEXT: Final = re.compile(r'"((?:[^"]|"")*)"')
_DONE: Final = re.compile(r"done\s+(\S+)\s+on\s+(\S+)")
_LATER: Final = re.compile(r"measured\s+(.+?)\s*=\s*(.+?)(?:\s+in\s+(\S+))?\s+on\s+(\S+)")
_WORDS: Final = ("reads", "fitted", "meter", "because")


def write_text(sheet: Sheet) -> str:
    lines = [*HEAD, *sheet.remarks, *map(_tick_line, sheet.ticks), *map(_later_line, sheet.later)]
    return "\n".join(lines) + "\n"


def _tick_line(tick: Tick) -> str:
    pieces = [f"done {tick.step} on {tick.on}", *(f"reads {one.what} = {one}" for one in tick.readings)]
    return ", ".join([*pieces, *_texts(fitted=tick.fitted, meter=tick.meter, because=tick.because)])


def _later_line(later: Later) -> str:
    state = f" in {later.state}" if later.state else ""
    first = f"measured {later.reading.what} = {later.reading}{state} on {later.on}"
    return ", ".join([first, *_texts(meter=later.meter)])


def _texts(**texts: str) -> Iterator[str]:
    for name, text in texts.items():
        if said := plain(text):
            yield '{} "{}"'.format(name, said.replace('"', '""'))


def plain(text: str) -> str:
    """One line without control characters: what a quoted text of the file can hold."""
    return CONTROL.sub("\N{REPLACEMENT CHARACTER}", " ".join(text.split()))


def read_text(text: str, name: str) -> tuple[Sheet, tuple[Fault, ...]]:
    """The ticks of a file, and every fault with its line."""
    ticks: dict[str, Tick] = {}
    later: list[Later] = []
    remarks: list[str] = []
    faults: list[Fault] = []
    for number, line in enumerate(text.splitlines(), 1):
        stripped = line.strip()
        if not stripped:
            continue
        if stripped.startswith("#"):
            if stripped not in HEAD:
                remarks.append(plain(stripped))
            continue
        one = _line(stripped)
        if isinstance(one, Tick) and one.step in ticks:
            one = _Wrong(f"{one.step} is ticked twice", "one line a step: take the wrong one out")
        if isinstance(one, _Wrong):
            faults.append(Fault(Place(name, number), one.says, line, max(len(line.rstrip()), 1), one.hint))
        elif isinstance(one, Tick):
            ticks[one.step] = one
        else:
            later.append(one)
    return Sheet(tuple(ticks.values()), tuple(later), tuple(remarks)), tuple(faults)


class _Wrong(NamedTuple):
    says: str
    hint: str = ""


def _line(line: str) -> Tick | Later | _Wrong:
    first, *rest = (piece.strip() for piece in _PIECE.findall(line))
    said: dict[str, str] = {}
    readings: list[Measured] = []
    for piece in rest:
        word, _, tail = piece.partition(" ")
        if word == "reads":
            what, equal, value = tail.rpartition("=")
            one = measured(what.strip(), value, "ohm") if equal and what.strip() else None
            if one is None:
                return _Wrong(f"`{piece}` is no reading", "reads R18 = 35.1k")
            readings.append(one)
            continue
        quoted = _TEXT.fullmatch(tail.strip())
        if word not in _WORDS or word in said or quoted is None:
            near = nearest(word, _WORDS)
            hint = f'the nearest is {near} "…"' if near else 'reads R18 = 35.1k, meter "…", because "…"'
            return _Wrong(f"`{piece}` says nothing of a step that was done", hint)
        said[word] = quoted[1].replace('""', '"')
    done, taken = _DONE.fullmatch(first), _LATER.fullmatch(first)
    when = done[2] if done else taken[4] if taken else ""
    if not when:
        return _Wrong("this is no tick", "done STEP on 2026-03-09, or: measured A -- B = 22k on 2026-03-09")
    if not is_date(when):
        return _Wrong(f"`{when}` is no date", "year, month and day: 2026-03-09")
    if done:
        return Tick(
            done[1], when, tuple(readings), said.get("meter", ""), said.get("because", ""), said.get("fitted", "")
        )
    assert taken is not None
    reading = measured(taken[1], taken[2], "ohm")
    if reading is None or readings or set(said) - {"meter"}:
        return _Wrong(f"`{taken[2]}` is no reading" if reading is None else "this belongs to a step: done STEP on …")
    return Later(reading, when, said.get("meter", ""), taken[3] or "")


def is_date(text: str) -> bool:
    """``2026-03-09`` and nothing shorter."""
    try:
        return len(text) == 10 and date.fromisoformat(text).isoformat() == text
    except ValueError:
        return False


# --- the file ---------------------------------------------------------------------------------------------------------


def load(path: Path) -> Sheet:
    """The ticks of a file; none where there is no such file. Raises Faulty with every fault of it."""
    if not path.exists():
        return Sheet()
    text, fault = file_text(path, str(path))
    if fault is not None:
        raise Faulty([fault])
    sheet, faults = read_text(text, str(path))
    if faults:
        raise Faulty(faults)
    return sheet


def update(found: str | Path, change: Callable[[Sheet], Sheet]) -> Sheet:
    """Read, change and write the ticks of a found file as one: nobody else's tick comes between.

    The file is written whole or not at all (`netdiff.writing`); whatever ``change`` raises leaves it
    as it was. What a write that was killed left behind goes.
    """
    path = beside(found)
    with _alone(Path(found)):
        sheet = change(load(path))
        _sweep(path)
        write(path, write_text(sheet))
        return sheet


@contextmanager
def _alone(found: Path) -> Iterator[None]:
    """One writer at a time, by a lock on the found file: the system lifts it when the program dies."""
    try:
        import fcntl
    except ImportError:  # not every system has such locks
        yield
        return
    handle = os.open(found, os.O_RDONLY)
    try:
        with suppress(OSError):  # nor every file system
            fcntl.flock(handle, fcntl.LOCK_EX)
        yield
    finally:
        os.close(handle)


def _sweep(path: Path) -> None:
    target = Path(os.path.realpath(path))
    start, end = f".{target.name[:40]}.", ".part"
    for entry in os.listdir(target.parent):
        # Between the two stands what made the name unique, without a dot.
        if entry.startswith(start) and entry.endswith(end) and "." not in entry[len(start) : -len(end)]:
            with suppress(OSError):
                os.unlink(target.parent / entry)
