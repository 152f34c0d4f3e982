"""What is left to do in hours and money: low, likely and high, what must be before power apart from what may wait.

Minutes come from ``minutes.yaml`` (estimates, nearly all without a published source) or from the
user's own list, prices from the user's list alone.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, Final, NamedTuple

from netdiff.comparison.results import Hold
from netdiff.worklist.parts import Item, Line, Shopping, shopping
from netdiff.worklist.prices import Prices
from netdiff.worklist.steps import Step, WorkList
from netdiff.worklist.wanted import table

WHO: Final[dict[str, str]] = {
    "power": "before power",
    "later": "may wait until after",
    "around": "around the steps",
}


class Range(NamedTuple):
    """Low, likely and high."""

    low: float = 0.0
    likely: float = 0.0
    high: float = 0.0

    def plus(self, other: Range) -> Range:
        return Range(*(a + b for a, b in zip(self, other, strict=True)))

    def times(self, factor: float) -> Range:
        return Range(*(a * factor for a in self))


class Share(NamedTuple):
    """One share of the job: its minutes, its materials and its total in money (None without a price list)."""

    name: str
    """``power``, ``later``, ``around`` or ``aged``."""
    minutes: Range
    materials: Range | None
    money: Range | None
    steps: int = 0
    parts: int = 0


class Owner(NamedTuple):
    """What it would stand the owner in, beside what it is worth to him."""

    paid: float
    worth: float | None
    stands: Range
    """Paid and the whole estimate together."""

    @property
    def over(self) -> Range | None:
        """By how much that is more than the worth (less than nothing: the worth is more)."""
        return None if self.worth is None else Range(*(one - self.worth for one in self.stands))


class Estimate(NamedTuple):
    shares: tuple[Share, ...]
    """Before power, what may wait, and what the job takes beside its steps."""
    total: Share
    aged: Share
    """What is old and may be replaced at the same time; not in the total."""
    prices: Prices | None
    unpriced: tuple[Line, ...]
    """What the price list has no row for: it is counted as nothing."""
    zones: tuple[str, ...]
    """Zones in which nobody looked at something: their tracing is counted."""
    owner: Owner | None = None


def estimate(
    work: WorkList,
    steps: Iterable[Step] | None = None,
    prices: Prices | None = None,
    *,
    paid: float | None = None,
    worth: float | None = None,
    goods: Shopping | None = None,
) -> Estimate:
    """For these steps of the list, or for all. ``paid`` and ``worth`` are in the currency of the price list; ``goods``
    are what ``shopping`` gives for the same steps, where somebody has asked it already."""
    left = work.steps if steps is None else tuple(steps)
    goods = goods or shopping(work, left)
    clock = _Clock(prices)
    power = tuple(step for step in left if step.hold == "power")
    later = tuple(step for step in left if step.hold != "power")
    zones = tuple(zone for zone, tally in work.comparison.coverage.zones.items() if tally.not_traced)
    shares = (
        _share("power", clock, prices, power, goods.needed, ("power",)),
        _share("later", clock, prices, later, goods.needed, ("transmit", "deliver", "none")),
        Share(
            "around", around := clock.around(len(zones), bool(left)), Range() if prices else None,
            around.times(prices.hour / 60) if prices else None,
        ),
    )  # fmt: skip
    total = _sum("total", shares)
    aged = _share("aged", clock, prices, (), goods.aged, ("power", "transmit", "deliver", "none"))
    owner = None
    if paid is not None or worth is not None:
        stands = (total.money or Range()).plus(Range(*[paid or 0.0] * 3))
        owner = Owner(paid or 0.0, worth, stands)
    return Estimate(shares, total, aged, prices, _unpriced(goods, prices), zones, owner)


def _sum(name: str, shares: Iterable[Share]) -> Share:
    minutes, materials, money = Range(), Range(), Range()
    priced, steps, parts = True, 0, 0
    for share in shares:
        minutes = minutes.plus(share.minutes)
        materials = materials.plus(share.materials or Range())
        money = money.plus(share.money or Range())
        priced &= share.money is not None
        steps, parts = steps + share.steps, parts + share.parts
    return Share(name, minutes, materials if priced else None, money if priced else None, steps, parts)


def _share(
    name: str,
    clock: _Clock,
    prices: Prices | None,
    steps: tuple[Step, ...],
    lines: Iterable[Line],
    holds: Iterable[Hold],
) -> Share:
    holds = tuple(holds)
    minutes = Range()
    for step in steps:
        minutes = minutes.plus(clock.step(step))
    materials, parts = 0.0, 0
    for line in lines:
        here = [item for item in line.items if item.hold in holds]
        if not here:
            continue
        by_metre = bool(line.metres)
        for item in here:
            minutes = minutes.plus(clock.beside(item, steps))
        amount = line._replace(items=tuple(here))
        parts += 0 if by_metre else len(here)
        if prices is not None:
            materials += (prices.of(line.spec, by_metre) or 0.0) * (amount.metres if by_metre else len(here))
    if prices is None:
        return Share(name, minutes, None, None, len(steps), parts)
    goods = Range(materials * prices.low, materials, materials * prices.high)
    return Share(name, minutes, goods, goods.plus(minutes.times(prices.hour / 60)), len(steps), parts)


def _unpriced(goods: Shopping, prices: Prices | None) -> tuple[Line, ...]:
    if prices is None:
        return ()
    return tuple(line for line in (*goods.needed, *goods.aged) if prices.of(line.spec, bool(line.metres)) is None)


class _Clock:
    """How long things take, in minutes."""

    def __init__(self, prices: Prices | None) -> None:
        self.own: Mapping[str, Mapping[str, float]] = prices.minutes if prices else {}
        self.table: Mapping[str, Any] = table("minutes")

    def _spread(self, minutes: float) -> Range:
        spread = self.table["spread"]
        return Range(minutes * float(spread["low"]), minutes, minutes * float(spread["high"]))

    def _row(self, action: str, *names: str) -> float:
        """The first of the names that the user's rows, then the shipped ones, have."""
        for name in (*names, "any"):
            if name in self.own.get(action, {}):
                return self.own[action][name]
            row = self.table[action].get(name)
            if row is not None:
                return float(row["minutes"])
        return 0.0

    def _part(self, action: str, kind: str, family: str) -> float:
        chief = kind.partition("-")[0]
        names = [kind, family, chief]
        if chief in ("inlet", "cord"):
            names.append("cord")
        if chief in ("interlock", "rotary", "pushbutton"):
            names.append("switch")
        if kind.endswith("-socket") or chief == "mic":
            names.append("jack" if action == "remove" else "socket")
        if chief == "delay":
            names.append("relay")
        return self._row(action, *(name for name in names if name))

    def step(self, step: Step) -> Range:
        if step.action == "discharge":  # belongs to whatever is done next
            return Range()
        if step.action in ("replace", "fit") and step.change.parts_on:
            kind = step.change.parts_on[0].kind
            minutes = self._part("replace", kind.name, kind.family)
            laid = [run.conductor for run in step.change.runs_on if run.conductor in self.table["run"]]
            minutes += sum(self._row("run", conductor) for conductor in laid)
            return self._spread(minutes + (self._row("fit", "more") if step.action == "fit" else 0.0))
        if step.action == "remove" and step.parts:
            kinds = ["unknown" if name.startswith("?A") else _kind(name) for name in step.change.parts_off]
            return self._spread(sum(self._part("remove", kind, "") for kind in kinds))
        if step.action == "run" and step.change.runs_on:
            return self._spread(self._row("run", step.change.runs_on[0].conductor))
        if step.action == "inspect":
            return self._spread(self._row("inspect"))
        return self._spread(self._row(step.action))

    def beside(self, item: Item, steps: Iterable[Step]) -> Range:
        """The work on a part that no step puts in: looked at and found wanting, on the mains, aged."""
        put_in = any(step.name == item.step and step.action in ("replace", "fit") for step in steps)
        if item.drawn is None or put_in:
            return Range()
        return self._spread(self._part("replace", item.drawn.kind.name, item.drawn.kind.family))

    def around(self, zones: int, work: bool) -> Range:
        rows = {
            name: self.own.get("around", {}).get(name, float(row["minutes"]))
            for name, row in self.table["around"].items()
        }
        minutes = zones * rows["trace_zone"]
        if work or zones:
            minutes += rows["cold_readings"] + rows["power_up"] + rows["record"]
        return self._spread(minutes)


_LETTERS: Final = {"K": "relay", "J": "jack", "T": "transformer", "V": "tube"}


def _kind(designator: str) -> str:
    """A part that goes, by its class letter."""
    return _LETTERS.get(designator.lstrip("?")[:1], "any")
