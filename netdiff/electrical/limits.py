"""Limits and constants with their sources, and a user's own in their place.

>>> limit("discharged"), limit("earth_bond")
(60.0, 0.1)
>>> standard().values["earth_bond"].sure
'seen'

A user's file of the same form (``limits.yaml`` beside the found file) replaces values one by one:
``beside`` finds it, ``using`` makes it count for everything that is computed inside.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field
from difflib import get_close_matches
from functools import cache, partial
from pathlib import Path
from types import MappingProxyType
from typing import Final, NamedTuple

from netdiff import resources
from netdiff.catalogue.plain import Faults, Spot, items, read_file, text
from netdiff.circuit import Fault, Place
from netdiff.quantities import Quantity, read_quantity, show

FILE: Final = "limits.yaml"
"""What a user's own file is called, beside the found file."""

_KEYS: Final = ("value", "unit", "source", "sure", "note")
_BARE: Final = {"C": "", "J": "", "1": ""}
"""Units that the trade's quantities do not have: written as bare numbers."""


class Limit(NamedTuple):
    """One limit in SI units, with where it comes from."""

    name: str
    value: float
    unit: str
    source: str = ""
    sure: str = ""
    """``seen``, ``copy``, ``computed``, ``memory``, ``practice``, ``ours``; ``yours`` for a user's own."""
    note: str = ""
    place: Place | None = None

    def shown(self) -> str:
        """``0.1 Ω``, ``60 V``; what has no unit of the trade as a plain number."""
        plain = _BARE.get(self.unit)
        return show(self.value, self.unit) if plain is None else f"{self.value:g} {self.unit.strip('1')}".strip()


@dataclass(frozen=True, slots=True)
class Limits:
    values: Mapping[str, Limit]
    own: Mapping[str, Limit] = field(default_factory=lambda: MappingProxyType({}))
    """Those that a user's file changed."""

    def __call__(self, name: str) -> float:
        """The value of a limit, SI units. KeyError for a name that no table has."""
        return self.values[name].value

    def told(self) -> tuple[str, ...]:
        """A sentence for each limit that a user's file changed: whoever reads a result has to know."""
        before = standard().values
        return tuple(
            f"{name} is {one.shown()} by {one.place}, where {before[name].shown()} is usual"
            + (f" ({one.source})." if one.source else ".")
            for name, one in self.own.items()
        )


table: Final = partial(resources.table, __file__)
"""One of the YAML tables beside this module, by its name."""


@cache
def standard() -> Limits:
    """The limits that come with the package."""
    values = {}
    for name, row in table("limits")["limits"].items():
        read = _quantity(str(row["value"]), row["unit"])
        assert read is not None, f"limits.yaml: {name}"
        values[name] = Limit(name, read.value, row["unit"], row["source"], row["sure"], row["note"])
    return Limits(MappingProxyType(values))


def extended(path: Path) -> tuple[Limits, tuple[Fault, ...]]:
    """The standard limits with those of a user's file in their place; with faults, the standard ones alone."""
    faults = Faults(str(path), [])
    root = read_file(path, path.name, faults)
    if root is None:
        return standard(), tuple(faults.met)
    own = {one.name: one for one in _read(root, faults)}
    if faults.met:
        return standard(), tuple(faults.met)
    return Limits(MappingProxyType({**standard().values, **own}), MappingProxyType(own)), ()


def beside(found: Path) -> tuple[Limits, tuple[Fault, ...]]:
    """The limits that count for a found file: with the ``limits.yaml`` of its folder, if there is one."""
    path = found.parent / FILE
    return extended(path) if path.is_file() else (standard(), ())


_CURRENT: Final[ContextVar[Limits | None]] = ContextVar("limits", default=None)


@contextmanager
def using(limits: Limits) -> Iterator[Limits]:
    """Inside, ``limit`` and ``current`` give these limits."""
    token = _CURRENT.set(limits)
    try:
        yield limits
    finally:
        _CURRENT.reset(token)


def current() -> Limits:
    return _CURRENT.get() or standard()


def limit(name: str) -> float:
    """The value of a limit that counts here, SI units. KeyError for a name that no table has."""
    return current()(name)


def _quantity(written: str, unit: str) -> Quantity | None:
    read = read_quantity(written, _BARE.get(unit, unit))
    return read if read is not None and read.unit == _BARE.get(unit, unit) else None


def _read(root: Spot, faults: Faults) -> Iterator[Limit]:
    if not isinstance(root.value, dict) or set(root.value) - {"limits"} or "limits" not in root.value:
        stray = next((spot for name, spot in items(root).items() if name != "limits"), root)
        faults.add(stray, "a file of limits holds one table, `limits`", "limits: {earth_bond: 0.2ohm}")
        return
    for name, spot in items(root.value["limits"]).items():
        known = standard().values.get(name)
        if known is None:
            near = get_close_matches(name, standard().values, 1, 0.5)
            faults.add(spot, f"no limit is called {name}", f"the nearest is {near[0]}" if near else "")
            continue
        one = _limit(spot, known, faults)
        if one is not None:
            yield one


def _limit(spot: Spot, known: Limit, faults: Faults) -> Limit | None:
    row = items(spot)
    for key, inner in row.items():
        if key not in _KEYS:
            near = get_close_matches(key, _KEYS, 1, 0.5)
            faults.add(inner, f"a limit has no `{key}`: {' '.join(_KEYS)}", f"`{near[0]}`" if near else "")
            return None
    where = row.get("value", spot)
    written = text(where)
    example = f"{known.name}: {{value: {table('limits')['limits'][known.name]['value']}, source: ...}}"
    if not written:
        faults.add(spot, f"{known.name} has no value", example)
        return None
    if "unit" in row and text(row["unit"]) != known.unit:
        faults.add(row["unit"], f"{known.name} is in {known.unit}")
        return None
    read = _quantity(written, known.unit)
    if read is None:
        says = f"`{written}` is no value of {known.name}" + (f", which is in {known.unit}" if known.unit != "1" else "")
        faults.add(where, says, example)
        return None
    if read.value <= 0:
        faults.add(where, f"{known.name} is greater than nothing: `{written}` is not", example)
        return None
    return known._replace(
        value=read.value,
        source=text(row.get("source")),
        sure="yours",
        note=text(row.get("note")) or known.note,
        place=Place(faults.file, where.line, where.column),
    )
