"""The comparison as a person reads it: cautions, what must be cleared before power, then everything."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from netdiff.cautions import for_cold_work
from netdiff.circuit import Circuit, Place, Point, part_of, terminal_of
from netdiff.comparison.results import HOLDS, Comparison, Finding, Modification
from netdiff.reporting.page import HOLD_HEADINGS, HOLD_STYLES, HOLD_WORDS, Page, print_cautions
from netdiff.reporting.plain import counted


def print_comparison(page: Page, result: Comparison) -> None:
    _title(page, result)
    print_cautions(page, for_cold_work())
    _summary(page, result)
    _before_power(page, result)
    _modifications(page, result)
    _coverage(page, result)


def _title(page: Page, result: Comparison) -> None:
    found = result.found
    when = f", inspected {found.inspected}" if found.inspected else ""
    who = f" by {found.by}" if found.by else ""
    page.line(f"{found.circuit.title}{when}{who}", style="bold")
    page.line(f"{found.circuit.file}, beside {result.stock.title}, {result.stock.file}")
    if result.stock.drawing:
        page.line(f"Drawing: {result.stock.drawing}")
    if result.production:
        page.line(result.production)


def _summary(page: Page, result: Comparison) -> None:
    page.blank()
    own = [finding for finding in result.findings if not finding.drawn]
    also = len(result.findings) - len(own)
    if own:
        held = (
            f"{count} {HOLD_WORDS[hold]}" for hold in HOLDS if (count := sum(finding.hold == hold for finding in own))
        )
        page.line(
            f"{counted(len(own), 'finding')} in {counted(len(result.modifications), 'modification')}: "
            f"{', '.join(held)}.",
            style="bold",
        )
    else:
        page.line("No difference in what was traced.", style="bold")
    if also:
        page.line(f"The drawing itself has {counted(also, 'hazard')}, told below.")
    total = result.coverage.total
    if total.not_traced:
        page.line(
            f"Nobody looked at {total.not_traced} of the {total.terminals} terminals of the drawing: "
            "how they are wired is not known."
        )
    else:
        page.line(f"All {total.terminals} terminals of the drawing were looked at.")


def _before_power(page: Page, result: Comparison) -> None:
    urgent = [finding for finding in result.findings if finding.hold == "power" and not finding.drawn]
    if not urgent:
        return
    page.heading(HOLD_HEADINGS["power"], style=HOLD_STYLES["power"])
    kept = {name for one in result.modifications if one.kept for name in one.findings}
    for finding in urgent:
        stays = " It is marked to stay; whoever marked it answers for it." if finding.id in kept else ""
        page.line(f"{finding.says} {finding.why}{stays}", indent=2, lead=f"{finding.id}  ")


def _modifications(page: Page, result: Comparison) -> None:
    by_id = {finding.id: finding for finding in result.findings}
    for hold in HOLDS:
        here = [one for one in result.modifications if one.hold == hold]
        if here:
            page.heading(f"Modifications: {HOLD_WORDS[hold]}", style=HOLD_STYLES[hold])
        for one in here:
            _modification(page, one, [by_id[name] for name in one.findings])
    loose = [finding for finding in result.findings if not finding.modification and not finding.drawn]
    if loose:
        page.heading("Findings that belong to no modification")
        for finding in loose:
            _finding(page, finding, with_reason=finding.hold != "power")
    drawn = [finding for finding in result.findings if finding.drawn]
    if drawn:
        page.heading("Hazards that the drawing has as well")
        page.line("Nobody did these: the set was built so. Decide about each before power.", indent=2)
        for finding in drawn:
            _finding(page, finding, with_reason=True)
    if result.notes:
        page.heading("Notes")
        page.points(result.notes)


def _modification(page: Page, one: Modification, findings: Iterable[Finding]) -> None:
    page.blank()
    page.line(one.title, indent=2, lead=f"{one.id}  ", style="bold")
    if one.kept:
        page.line(f"It stays: {one.reason}" if one.reason else "It stays.", indent=4)
    for finding in findings:
        _finding(page, finding, with_reason=finding.hold != "power")


def _finding(page: Page, finding: Finding, *, with_reason: bool) -> None:
    """The reason of what must be cleared before power already stands at the top."""
    page.line(f"{finding.kind}, {HOLD_WORDS[finding.hold]}", indent=4, lead=f"{finding.id}  ")
    page.line(finding.says, indent=8)
    if with_reason and finding.why:
        page.line(finding.why, indent=8, lead="Why: ")
    if finding.at:
        page.line(lines_of(finding.at), indent=8, lead="See ")


def _coverage(page: Page, result: Comparison) -> None:
    coverage = result.coverage
    page.heading("What was looked at")
    rows = [
        (zone_title(result.stock, zone), tally.terminals, tally.agree, tally.differ, tally.not_traced)
        for zone, tally in coverage.zones.items()
    ]
    if len(rows) != 1:
        total = coverage.total
        rows.append(("together", total.terminals, total.agree, total.differ, total.not_traced))
    page.table(
        ("  terminals in", "drawn", "agree", "differ", "nobody looked"),
        ((f"  {name}", *(str(number) for number in numbers)) for name, *numbers in rows),
    )
    if result.look_next:
        page.line(f"{', '.join(result.look_next)}.", lead="Look next at, the most telling first: ")
    if coverage.not_traced:
        page.heading("Nobody looked at")
        for zone, points in _by_zone(result.stock, coverage.not_traced):
            page.line(parts_and_terminals(result.stock, points), indent=2, lead=f"{zone}: ")


def _by_zone(stock: Circuit, points: Iterable[Point]) -> list[tuple[str, list[Point]]]:
    zones: dict[str, list[Point]] = defaultdict(list)
    for where in points:
        part = stock.parts.get(part_of(where))
        zones[zone_title(stock, part.zone if part else "")].append(where)
    return list(zones.items())


def lines_of(places: Iterable[Place]) -> str:
    """``a.found:5, 20, 21``: each file once."""
    lines: dict[str, list[str]] = defaultdict(list)
    for place in places:
        lines[place.file].append(str(place.line))
    return "; ".join(f"{file}:{', '.join(dict.fromkeys(numbers))}" for file, numbers in lines.items())


def zone_title(stock: Circuit, zone: str) -> str:
    known = stock.zones.get(zone)
    return (known.title if known else "") or zone or "no zone"


def parts_and_terminals(stock: Circuit, points: Iterable[Point]) -> str:
    """``R5 C7 V1 (g1 k)``: a part alone where all its terminals are meant, else with those that are."""
    terminals: dict[str, list[str]] = defaultdict(list)
    for where in points:
        terminals[part_of(where)].append(terminal_of(where))
    words = []
    for name, some in terminals.items():
        part = stock.parts.get(name)
        whole = part is not None and len(some) >= sum(not lug.tie for lug in part.kind.terminals)
        words.append(name if whole else f"{name} ({' '.join(some)})")
    return ", ".join(words)
