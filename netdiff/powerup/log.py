"""The log of a power-up: one reading a line, kept as text beside the found file.

    2026-03-02 cold hv = 15.6k passed
    2026-03-02 cold bias = 9k failed "pot dirty"

The last line of a reading counts. A line passes if it says so and if its value lies within the limits
of today's plan: neither an edited verdict nor an edited value makes a stage pass.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from difflib import get_close_matches
from math import inf
from pathlib import Path
from typing import Final, NamedTuple

from netdiff.powerup.plan import Plan
from netdiff.powerup.stages import Ask, Stage
from netdiff.quantities import read_quantity
from netdiff.writing import Changed, swap

ENDING: Final = ".powerup"
_LINE: Final = re.compile(r'(\d{4}-\d\d-\d\d) (\S+) (\S+) = (\S+) (passed|failed)(?: "([^"]*)")?')
_HEAD: Final = "# Power-up log. The last line of a reading counts. Written by `netdiff powerup --log`."
LONGEST: Final = 200
_PLAIN: Final = {
    "ohms": "ohms", "volts": "alternating volts", "amps": "amperes", "watts": "watts", "seconds": "seconds",
}  # fmt: skip


class Broken(Exception):
    """The log cannot be read; says where and why."""


class Unknown(Exception):
    """No such stage or reading, or no such value."""


class Refused(Exception):
    """The stage may not be logged yet; says what stands before it."""


class Entry(NamedTuple):
    on: str
    stage: str
    reading: str
    value: str
    passed: bool
    note: str = ""

    def __str__(self) -> str:
        note = f' "{self.note}"' if self.note else ""
        return f"{self.on} {self.stage} {self.reading} = {self.value} {'passed' if self.passed else 'failed'}{note}"


@dataclass(frozen=True, slots=True)
class Standing:
    """How far a stage is. ``state``: ``passed``, ``failed``, ``open``, ``waits`` (for ``behind``), ``held``."""

    stage: Stage
    state: str
    results: Mapping[str, Entry]
    behind: str = ""

    @property
    def missing(self) -> tuple[Ask, ...]:
        return tuple(ask for ask in self.stage.musts if ask.name not in self.results)

    @property
    def failed(self) -> tuple[Ask, ...]:
        return tuple(a for a in self.stage.asks if a.name in self.results and not self.results[a.name].passed)


def beside(found: Path) -> Path:
    """The log of a found file."""
    return found.with_suffix(ENDING)


def read(path: Path) -> tuple[Entry, ...]:
    """Every entry of a log, oldest first; none where there is no file. Raises Broken with file and line."""
    try:
        return parsed(path.read_bytes(), path)
    except FileNotFoundError:
        return ()


def parsed(content: bytes, path: Path) -> tuple[Entry, ...]:
    """The entries in what a file holds."""
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise Broken(f"{path}: this is no text in UTF-8.") from None
    entries = []
    for number, line in enumerate(text.splitlines(), 1):
        if not line.strip() or line.lstrip().startswith("#"):
            continue
        match = _LINE.fullmatch(line.strip())
        if match is None:
            raise Broken(f"{path}:{number}: not a line of a power-up log; such as: 2026-03-02 cold hv = 15.6k passed")
        on, stage, reading, value, verdict, note = match.groups()
        if _day(on) is None:
            raise Broken(f"{path}:{number}: {on} is no day; such as: 2026-03-02")
        entries.append(Entry(on, stage, reading, value, verdict == "passed", note or ""))
    return tuple(entries)


def text_of(entries: Iterable[Entry]) -> str:
    return "\n".join((_HEAD, *map(str, entries), ""))


def _day(word: str) -> date | None:
    try:
        return date.fromisoformat(word)
    except ValueError:
        return None


def value_of(ask: Ask, word: str) -> float:
    """The value in SI units of what was read: 1 and 0 for yes and no, ``inf`` for open. Raises Unknown."""
    if ask.quantity == "yes":
        if word.lower() in ("yes", "no"):
            return 1.0 if word.lower() == "yes" else 0.0
        raise Unknown(f"{ask.name} is answered with yes or no, not {word}.")
    if ask.quantity == "ohms" and word.lower() == "open":
        return inf
    over = word.startswith(">")
    quantity = read_quantity(word.removeprefix(">"), "V" if ask.unit == "Vac" else ask.unit)
    units = {"Vac": ("V", "Vac"), "V": ("V",)}.get(ask.unit, (ask.unit,))
    if quantity is None or quantity.unit not in units or (over and ask.quantity != "ohms"):
        such = {"ohms": "15.6k, open or >20M", "volts": "312V", "amps": "0.8mA", "watts": "45W", "seconds": "35s"}[
            ask.quantity
        ]
        kind = "volts, alternating" if ask.ac else "volts, direct" if ask.quantity == "volts" else ask.quantity
        raise Unknown(f"{word} is no reading of {ask.name}: it is read in {kind}, such as {such}.")
    if quantity.value < 0 and (ask.quantity != "volts" or ask.ac):
        raise Unknown(f"{word} is no reading of {ask.name}: {_PLAIN[ask.quantity]} are never negative.")
    if over and ask.high is not None and quantity.value <= ask.high:
        raise Unknown(f"{word} says nothing of {ask.name}, whose greatest is {ask.high:g}: read it on a higher range.")
    return quantity.value


def passes(ask: Ask, word: str) -> bool:
    value = value_of(ask, word)
    return value == 1.0 if ask.quantity == "yes" else ask.holds(value)


def standing(plan: Plan, entries: Iterable[Entry]) -> tuple[Standing, ...]:
    """Where every stage of the plan stands. Entries of readings that the plan no longer asks for do not count."""
    results: dict[str, dict[str, Entry]] = {}
    for entry in entries:
        stage = plan.stage(entry.stage)
        ask = stage.ask(entry.reading) if stage is not None else None
        if ask is None:
            continue
        try:
            passed = entry.passed and passes(ask, entry.value)
        except Unknown:
            passed = False
        results.setdefault(entry.stage, {})[entry.reading] = entry._replace(passed=passed)
    out: list[Standing] = []
    behind = ""
    for stage in plan.stages:
        mine = results.get(stage.key, {})
        here = Standing(stage, "", mine, behind)
        if plan.held(stage):
            state = "held"
        elif here.failed:
            state = "failed"
        elif behind:
            state = "waits"
        else:
            state = "open" if here.missing else "passed"
        out.append(Standing(stage, state, mine, behind))
        if state != "passed" and not behind:
            behind = stage.key
    return tuple(out)


def unasked(plan: Plan, entries: Iterable[Entry]) -> tuple[Entry, ...]:
    """Entries of stages and readings that the plan does not have (any more)."""
    return tuple(e for e in entries if (s := plan.stage(e.stage)) is None or s.ask(e.reading) is None)


def logged(
    plan: Plan,
    entries: tuple[Entry, ...],
    key: str,
    words: Iterable[str],
    on: str,
    note: str = "",
    today: date | None = None,
) -> tuple[Entry, ...]:
    """The log with these readings (``hv=15.6k``) of a stage added; none is where Unknown or Refused is raised."""
    stage = plan.stage(key)
    if stage is None:
        raise Unknown(f"this set has no stage {key}{_near(key, [s.key for s in plan.stages])}; {_all(plan)}")
    _possible(plan, on, today or date.today())
    if '"' in note or len(note) > LONGEST or any(not c.isprintable() for c in note):
        raise Unknown(f"a note is one line of at most {LONGEST} characters, without double quotes.")
    here = next(s for s in standing(plan, entries) if s.stage is stage)
    if here.state == "held":
        open_ = len(plan.held(stage))
        raise Refused(f"{key} is not logged: {open_} finding{'s' if open_ > 1 else ''} must be cleared before it.")
    if here.behind:
        raise Refused(f"{key} is not logged: it stands on {here.behind}, which has not passed.")
    new = []
    for word in words:
        name, equals, value = word.partition("=")
        if not equals or not name or not value or any(c.isspace() for c in word):
            raise Unknown(f"`{word}` is no reading; such as {stage.asks[0].name}=VALUE, without blanks.")
        ask = stage.ask(name)
        if ask is None:
            raise Unknown(f"{key} asks for no {name}{_near(name, [a.name for a in stage.asks])}")
        new.append(Entry(on, key, name, value, passes(ask, value), note))
    if not new:
        raise Unknown(f"name what was read: --log {key} {stage.asks[0].name}=VALUE")
    return (*entries, *new)


def _possible(plan: Plan, on: str, today: date) -> None:
    """Nothing was read on a day that has not come, nor before the unit was looked at."""
    day = _day(on)
    if day is None or len(on) != 10:
        raise Unknown(f"{on} is no day; such as 2026-03-02.")
    if day > today:
        raise Unknown(f"{on} has not come yet: today is {today.isoformat()}.")
    inspected = _day(plan.inspected)
    if inspected is not None and day < inspected:
        raise Unknown(f"{on} is before the inspection of the unit, {plan.inspected}: no stage can have been read then.")


def add(path: Path, change: Callable[[tuple[Entry, ...]], tuple[Entry, ...]]) -> tuple[Entry, ...]:
    """Read, change and write a log as one: an entry that somebody else logs meanwhile is in what ``change`` is given.

    Raises Broken, what ``change`` raises, and OSError; then the file is as it was.
    """
    while True:
        was = path.read_bytes() if path.exists() else None
        entries = parsed(was or b"", path)
        after = change(entries)
        try:
            swap(path, was, text_of(after).encode("utf-8"))
        except (Changed, FileExistsError):
            continue
        return after[len(entries) :]


def _near(word: str, among: list[str]) -> str:
    near = get_close_matches(word, among, 1, 0.5)
    return f"; the nearest is {near[0]}" if near else ""


def _all(plan: Plan) -> str:
    return f"it has {', '.join(s.key for s in plan.stages)}"
