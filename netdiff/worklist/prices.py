"""Price lists: YAML that the user writes, read with every fault's line.

A list names its currency, what an hour costs, and what parts cost, the first row that fits counts.
``examples/prices.yaml`` shows the form. No price comes with the program.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final, NamedTuple

from netdiff.catalogue.plain import Faults, Spot, items, read_file, text, texts
from netdiff.language import Faulty
from netdiff.language.faults import listed, nearest
from netdiff.quantities import Quantity, read_quantity
from netdiff.worklist.buying import Spec
from netdiff.worklist.wanted import table

_TOP: Final = ("currency", "hour", "spread", "parts", "metre", "minutes")
_ROW: Final = ("kind", "family", "type", "words", "upto", "price")
_OWN_KINDS: Final = ("wire", "sleeving", "hardware")
MOST: Final = 1e9
"""No part costs more."""


class Row(NamedTuple):
    """One price; every word that is given must fit. ``upto`` is the greatest rating that the price is good for."""

    price: float
    kind: str = ""
    family: str = ""
    type: str = ""
    words: tuple[str, ...] = ()
    upto: Quantity | None = None

    def fits(self, spec: Spec) -> bool:
        if self.kind and self.kind != spec.kind:
            return False
        if self.family and self.family != spec.family:
            return False
        if self.type and self.type.lower() != spec.type.lower():
            return False
        if not set(self.words) <= set(spec.words):
            return False
        if self.upto is None:
            return True
        rated = {"W": spec.watts, "V": spec.volts, "Vac": spec.volts_ac, "A": spec.amps}.get(self.upto.unit)
        return rated is not None and rated <= self.upto.value * 1.001


@dataclass(frozen=True, slots=True)
class Prices:
    """``hour`` in the currency; ``low`` and ``high`` are what materials may come to, times the prices."""

    currency: str
    hour: float
    parts: tuple[Row, ...] = ()
    metre: tuple[Row, ...] = ()
    low: float = 1.0
    high: float = 1.0
    minutes: Mapping[str, Mapping[str, float]] = field(default_factory=lambda: MappingProxyType({}))
    """The user's own minutes: action, kind or family, minutes."""
    file: str = ""

    def of(self, spec: Spec, by_metre: bool = False) -> float | None:
        """The price of one, or of a metre; None where no row fits."""
        return next((row.price for row in (self.metre if by_metre else self.parts) if row.fits(spec)), None)


def read_prices(path: Path) -> Prices:
    """Raises Faulty with every fault of the list."""
    faults = Faults(str(path), [])
    root = read_file(path, path.name, faults)
    if root is not None and not isinstance(root.value, dict):
        faults.add(root, "a price list is a table: currency, hour, parts", "examples/prices.yaml shows the form")
    elif root is None and not faults.met:
        faults.at(1, 1, "the price list is empty", "examples/prices.yaml shows the form")
    prices = None if root is None or faults.met else _prices(root, faults)
    if prices is None or faults.met:
        raise Faulty(faults.met)
    return prices


def _prices(root: Spot, faults: Faults) -> Prices | None:
    top = items(root)
    _keys(top, _TOP, "a price list", faults)
    currency = text(top.get("currency")).strip()
    if not currency or len(currency) > 12:
        faults.add(top.get("currency", root), "a price list names its currency in a word", "currency: EUR")
    hour = _number(top.get("hour"), root, "hour", faults)
    spread = items(top["spread"]) if "spread" in top else {}
    _keys(spread, ("low", "high"), "spread", faults)
    low, high = (_number(spread[name], root, name, faults) if name in spread else 1.0 for name in ("low", "high"))
    if not low <= 1.0 <= high and not faults.met:
        faults.add(top["spread"], "low is at most 1 and high at least 1", "spread: {low: 0.8, high: 1.5}")
    rows = {name: tuple(_rows(top[name], faults)) if name in top else () for name in ("parts", "metre")}
    minutes = _minutes(top["minutes"], faults) if "minutes" in top else {}
    return Prices(currency, hour, rows["parts"], rows["metre"], low, high, MappingProxyType(minutes), faults.file)


def _keys(found: Mapping[str, Spot], known: Iterable[str], what: str, faults: Faults) -> None:
    known = tuple(known)
    for name, spot in found.items():
        if name not in known:
            near = nearest(name, known)
            faults.add(spot, f"{what} has no `{name}`", f"the nearest is `{near}`" if near else listed(known))


def _number(spot: Spot | None, root: Spot, name: str, faults: Faults) -> float:
    if spot is None:
        faults.add(root, f"`{name}` is missing", f"{name}: 55")
        return 0.0
    try:
        value = float(text(spot))
    except ValueError:
        value = math.nan
    if not 0 <= value <= MOST:
        faults.add(spot, f"`{text(spot)[:40]}` is no amount", f"{name}: 12.50")
        return 0.0
    return value


def _rows(spot: Spot, faults: Faults) -> Iterable[Row]:
    if not isinstance(spot.value, list):
        faults.add(spot, f"`{spot.key}` is a list of rows", "- {kind: resistor, price: 0.25}")
        return
    for one in spot.value:
        row = items(one)
        if "price" not in row:
            faults.add(one, "a row has a price", "- {kind: resistor, price: 0.25}")
            continue
        _keys(row, _ROW, "a row of prices", faults)
        upto = read_quantity(text(row["upto"])) if "upto" in row else None
        if "upto" in row and (upto is None or upto.unit not in ("W", "V", "Vac", "A")):
            says = f"`{text(row['upto'])[:40]}` is no rating"
            faults.add(row["upto"], says, "volts, watts or amperes: upto: 630V")
        _known(row, faults)
        yield Row(
            _number(row["price"], one, "price", faults), text(row.get("kind")), text(row.get("family")),
            text(row.get("type")), tuple(texts(row.get("words"))), upto,
        )  # fmt: skip


def _known(row: Mapping[str, Spot], faults: Faults) -> None:
    from netdiff.catalogue import standard

    kinds = (*standard().names(), *_OWN_KINDS)
    families = sorted({one.family for name in standard().names() if (one := standard().row(name)) and one.family})
    for key, known in (("kind", kinds), ("family", families)):
        name = text(row.get(key))
        if name and name not in known:
            near = nearest(name, known)
            hint = f"the nearest is `{near}`" if near else "`netdiff kinds` lists the kinds"
            faults.add(row[key], f"there is no {key} `{name[:40]}`", hint)


def _minutes(spot: Spot, faults: Faults) -> dict[str, Mapping[str, float]]:
    shipped: Mapping[str, Any] = table("minutes")
    actions = tuple(name for name in shipped if name != "spread")
    _keys(items(spot), actions, "minutes", faults)
    out: dict[str, Mapping[str, float]] = {}
    for action, rows in items(spot).items():
        if action == "around":
            _keys(items(rows), shipped["around"], "around", faults)
        out[action] = {name: _number(one, rows, name, faults) for name, one in items(rows).items()}
    return out
