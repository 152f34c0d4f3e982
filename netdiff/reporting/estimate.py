"""Hours and money as an owner reads them: ranges, what must be done first apart from what may wait."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

from netdiff.comparison.words import some
from netdiff.reporting.page import Page
from netdiff.reporting.plain import counted
from netdiff.reporting.terminal import zone_title
from netdiff.worklist.estimate import Estimate, Range, Share
from netdiff.worklist.steps import WorkList

_NAMES: Final = {
    "power": "before power",
    "later": "may wait",
    "around": "tracing, readings, power-up",
    "total": "together",
    "aged": "old parts too",
}


def print_estimate(page: Page, work: WorkList, result: Estimate, done: int) -> None:
    page.line(f"Estimate for {work.comparison.found.circuit.title}", style="bold")
    steps = counted(result.total.steps, "step")
    page.line(
        f"{work.comparison.found.circuit.file}; {steps} to do" + (f", {done} done and not counted." if done else ".")
    )
    page.line(
        "An estimate, and no offer: it knows what was traced, and faults appear as layers come off. Minutes are "
        "estimates without a published source unless they are yours."
    )
    page.heading("Hours: low, likely, high")
    rows = (*result.shares, result.total)
    page.table(
        ("", "steps", "parts", "low", "likely", "high"),
        ((f"  {_NAMES[s.name]}", str(s.steps or ""), str(s.parts or ""), *map(hours, s.minutes)) for s in rows),
    )
    if result.prices is not None:
        _money(page, result)
    else:
        page.blank()
        page.line("No price list: --prices FILE makes money of it; examples/prices.yaml shows the form.")
    if result.aged.parts:
        page.blank()
        page.line(
            f"Not counted: {counted(result.aged.parts, 'part')} that only age speaks against, "
            f"{span(result.aged.minutes, hours)} h" + _amount(result, result.aged) + ". `--parts` lists them.",
        )
    if result.zones:
        zones = some((zone_title(work.comparison.stock, zone) for zone in result.zones), 8)
        page.line(f"Tracing is counted for what nobody looked at in: {zones}. What is found there is not.")
    _owner(page, result)
    page.blank()
    page.line("What must be done before power is not a matter of price. Nothing here says that a unit is safe.")


def _money(page: Page, result: Estimate) -> None:
    assert result.prices is not None
    prices = result.prices
    page.heading(f"{prices.currency}: low, likely, high")
    rows = []
    for share in (*result.shares, result.total):
        work = share.minutes.times(prices.hour / 60)
        rows.append((f"  {_NAMES[share.name]}", *map(amount, share.money or Range())))
        rows.append(("    work", *map(amount, work)))
        if share.name != "around":
            rows.append(("    materials", *map(amount, share.materials or Range())))
    page.table(("", "low", "likely", "high"), rows)
    page.line(f"An hour costs {amount(prices.hour)} {prices.currency}; prices from {prices.file}.", indent=2)
    if result.unpriced:
        goods = some((line.spec.says for line in result.unpriced), 6)
        page.line(f"No price in the list, counted as nothing: {goods}.", indent=2)


def _owner(page: Page, result: Estimate) -> None:
    owner = result.owner
    if owner is None or result.prices is None:
        return
    money = result.prices.currency
    page.heading("For the owner")
    paid = f"Paid {amount(owner.paid)} {money}; with" if owner.paid else "With"
    page.line(f"{paid} the estimate it stands at {span(owner.stands, amount)} {money}.", indent=2)
    if owner.worth is None or owner.over is None:
        return
    page.line(f"Worth {amount(owner.worth)} {money} by your word.", indent=2)
    for name, over in zip(("low", "likely", "high"), owner.over, strict=True):
        if abs(over) < 0.5:
            says = "as much as it is worth"
        else:
            says = f"{amount(abs(over))} {money} {'more' if over > 0 else 'less'} than it is worth"
        page.line(f"At the {name} figure it costs {says}.", indent=4)


def _amount(result: Estimate, share: Share) -> str:
    if share.money is None or result.prices is None:
        return ""
    return f" and {span(share.money, amount)} {result.prices.currency}"


def hours(minutes: float) -> str:
    """To a quarter of an hour: nobody knows it better."""
    return f"{round(minutes / 15) / 4:g}"


def amount(money: float) -> str:
    """Whole units from ten up."""
    return f"{money:,.0f}" if money >= 10 or money == 0 else f"{money:.2f}"


def span(of: Range, says: Callable[[float], str]) -> str:
    return f"{says(of.low)} to {says(of.high)}, likely {says(of.likely)}"


def as_json(work: WorkList, result: Estimate) -> dict[str, Any]:
    found = work.comparison.found.circuit
    prices = result.prices
    owner = result.owner
    return {
        "found": {"title": found.title, "file": found.file},
        "currency": prices.currency if prices else None,
        "hour": prices.hour if prices else None,
        "prices": prices.file if prices else None,
        "shares": [_share(share) for share in result.shares],
        "total": _share(result.total),
        "aged": _share(result.aged),
        "unpriced": [line.spec.says for line in result.unpriced],
        "zones_to_trace": list(result.zones),
        "owner": None
        if owner is None
        else {
            "paid": owner.paid,
            "worth": owner.worth,
            "stands": _range(owner.stands),
            "over": _range(owner.over) if owner.over is not None else None,
        },
        "note": "Minutes are estimates without a published source unless they are the user's own.",
    }


def _share(share: Share) -> dict[str, Any]:
    return {
        "name": share.name,
        "steps": share.steps,
        "parts": share.parts,
        "minutes": _range(share.minutes),
        "materials": _range(share.materials) if share.materials else None,
        "money": _range(share.money) if share.money else None,
    }


def _range(span: Range) -> dict[str, float]:
    return {name: round(value, 2) for name, value in span._asdict().items()}
