"""From a comparison to the page: what stands where, and the sentences at the top."""

from __future__ import annotations

from collections import defaultdict
from pathlib import Path
from typing import NamedTuple

from netdiff.cautions import for_cold_work, for_readings
from netdiff.circuit import Remark, part_of
from netdiff.comparison.merged import scene_of
from netdiff.comparison.results import HOLDS, Comparison, Finding, Modification, Tally
from netdiff.comparison.words import plural
from netdiff.readings import sides
from netdiff.reporting.html.charts import charts as charted
from netdiff.reporting.html.danger import before_power
from netdiff.reporting.html.model import Area, Card, Item, Photo, Report, Task, Told
from netdiff.reporting.html.photos import embed
from netdiff.reporting.html.pictures import Pictures, pictures
from netdiff.reporting.html.register import items, touched
from netdiff.reporting.html.sections import Money, job
from netdiff.reporting.page import HOLD_WORDS
from netdiff.reporting.terminal import lines_of, parts_and_terminals, zone_title
from netdiff.worklist import WorkList


class Made(NamedTuple):
    """The page, and what could not be put into it, in sentences."""

    text: str
    troubles: tuple[str, ...]


def made(comparison: Comparison, folder: Path | None = None, money: Money | None = None) -> Made:
    """The page of a unit. ``folder`` is the found file's, where its photos are (default: by its name).

    Raises Faulty where the file of ticks beside the found file is faulty.
    """
    from netdiff.reporting.html.rendering import rendered

    report = build(comparison, folder or Path(comparison.found.circuit.file).parent, money or Money())
    troubles = [f"No drawing: {report.undrawn}"] if report.undrawn else []
    photos = [*report.photos, *(photo for card in report.cards for photo in card.photos)]
    troubles += [
        f"{photo.at}: photo “{photo.file}”: {photo.picture.trouble}." for photo in photos if photo.picture.trouble
    ]
    return Made(rendered(report), tuple(troubles))


def build(comparison: Comparison, folder: Path, money: Money) -> Report:
    drawing = pictures(comparison)  # goes on by itself
    found = comparison.found
    scene = scene_of(comparison)
    meters = sides(comparison, scene)
    work, ticked, cost, shopping = job(comparison, money, meters[0])
    tasks = _tasks(work, ticked)
    charts = charted(comparison, *meters)
    register = items(comparison, scene)
    placed, alone = _photos(comparison, folder)
    drawn = drawing()
    cards = _cards(comparison, drawn, tasks, placed)
    told = {finding.id: _told(finding) for finding in comparison.findings}
    later = {hold: sum(f.hold == hold for f in comparison.findings) for hold in HOLDS[1:]}
    return Report(
        title=found.circuit.title,
        beside=comparison.stock.title,
        about=_about(comparison),
        files=(found.circuit.file, comparison.stock.file),
        cautions=for_cold_work(),
        work_cautions=work.cautions or for_cold_work(),
        reading_cautions=for_readings(),
        summary=_summary(comparison),
        before_power=before_power(comparison),
        later=tuple((hold, count) for hold, count in later.items() if count),
        total=comparison.coverage.total,
        areas=_areas(comparison, register),
        look_next=comparison.look_next,
        cost=cost,
        cards=cards,
        loose=tuple(told[f.id] for f in comparison.findings if not f.modification),
        tasks=tuple(
            (hold, here) for hold in HOLDS if (here := tuple(task for task in tasks if task.step.hold == hold))
        ),
        done=tuple(task for task in tasks if task.done),
        overview=drawn.overview,
        zones=drawn.zones,
        undrawn=drawn.trouble,
        plots=charts.plots,
        readings=charts.tables,
        shopping=shopping,
        photos=alone,
        notes=comparison.notes,
        remarks=tuple((", ".join(note.of), note.text) for note in found.notes),
        observations=tuple(f"{seen.signal} at {seen.at}: {seen.what}" for seen in found.observations),
        holds=tuple(
            (hold, count) for hold in HOLDS if (count := sum(card.hold == hold for card in cards))
        ),
    )  # fmt: skip


def _about(comparison: Comparison) -> tuple[str, ...]:
    found, stock = comparison.found, comparison.stock
    when = f"Inspected {found.inspected}" if found.inspected else ""
    who = f"by {found.by}" if found.by else ""
    lines = [" ".join(word for word in (when, who) if word), f"Drawing: {stock.drawing}" if stock.drawing else ""]
    lines.append(comparison.production)
    return tuple(line for line in lines if line)


def _summary(comparison: Comparison) -> tuple[str, ...]:
    """For somebody who will not read the rest."""
    mods = comparison.modifications
    if not comparison.findings:
        return ("What was looked at is wired as the drawing has it.",)
    counted = plural(len(mods), "modification")
    parts = [one for one in mods if one.parts]
    first = f"Beside the factory's drawing of the {comparison.stock.title}, this unit shows {counted}"
    first += f" ({plural(len(comparison.findings), 'finding')})"
    first += f"; {plural(len(parts), 'brings', 'bring')} in parts that the drawing does not have." if parts else "."
    open_ones = [one for one in mods if not one.kept]
    counts = {hold: sum(one.hold == hold for one in open_ones) for hold in HOLDS}
    held = [f"{counts[hold]} {HOLD_WORDS[hold]}" for hold in HOLDS[:-1] if counts[hold]]
    words = [f"To be cleared: {', '.join(held)}"] if held else []
    words += [f"worth knowing: {counts['none']}"] if counts["none"] else []
    words += [f"kept as it is, with the reason: {len(mods) - len(open_ones)}"] if len(open_ones) < len(mods) else []
    third = f"{'; '.join(words)}." if words else ""
    return (first, third[:1].upper() + third[1:])


def _told(finding: Finding) -> Told:
    return Told(finding, touched(finding), lines_of(finding.at))


def _tasks(work: WorkList, ticked: dict[str, str]) -> tuple[Task, ...]:
    titles = {one.id: one.title for one in work.comparison.modifications}
    steps = [step for _, steps in work.by_hold() for step in steps]
    return tuple(
        Task(
            number, step, zone_title(work.comparison.stock, step.zone) if step.zone else "",
            titles.get(step.modification, ""), ticked.get(step.name, ""),
        )
        for number, step in enumerate(steps, 1)
    )  # fmt: skip


def _cards(
    comparison: Comparison, drawn: Pictures, tasks: tuple[Task, ...], placed: dict[str, list[Photo]]
) -> tuple[Card, ...]:
    by_id = {finding.id: finding for finding in comparison.findings}
    first: dict[Photo, str] = {}
    cards = []
    for number, one in enumerate(comparison.modifications, 1):
        here = placed.get(one.id, [])
        for photo in here:
            first.setdefault(photo, one.id)
        findings = tuple(_told(by_id[name]) for name in one.findings)
        names = dict.fromkeys((*one.parts, *(name for told in findings for name in told.parts)))
        cards.append(
            Card(
                one.id, number, one.title, one.hold, one.kept, one.reason, findings, tuple(names),
                drawn.of.get(one.id, ""), tuple(photo for photo in here if first[photo] == one.id),
                tuple((first[photo], photo.says or photo.file) for photo in here if first[photo] != one.id),
                tuple(task for task in tasks if task.step.modification == one.id),
            )
        )  # fmt: skip
    return tuple(cards)


def _photos(comparison: Comparison, folder: Path) -> tuple[dict[str, list[Photo]], tuple[Photo, ...]]:
    """The photos of each modification, and those of none. Each file is read once."""
    of: dict[str, list[Photo]] = defaultdict(list)
    alone = []
    by_id = {finding.id: finding for finding in comparison.findings}
    names = {one.id: _names(one, by_id) for one in comparison.modifications}
    for remark in comparison.found.photos:
        photo = _photo(remark, folder)
        about = {part_of(where) or where for where in remark.of}
        homes = [name for name, parts in names.items() if about & parts]
        for name in homes:
            of[name].append(photo)
        if not homes:
            alone.append(photo)
    return of, tuple(alone)


def _names(one: Modification, by_id: dict[str, Finding]) -> set[str]:
    return {*one.parts, *(name for finding in one.findings for name in touched(by_id[finding]))}


def _photo(remark: Remark, folder: Path) -> Photo:
    return Photo(embed(folder, remark.file), remark.file, remark.text, remark.of, lines_of(remark.places))


def _areas(comparison: Comparison, register: tuple[Item, ...]) -> tuple[Area, ...]:
    stock, coverage = comparison.stock, comparison.coverage
    unseen: dict[str, list[str]] = defaultdict(list)
    for where in coverage.not_traced:
        part = stock.parts.get(part_of(where))
        unseen[part.zone if part else ""].append(where)
    of: dict[str, list[Item]] = defaultdict(list)
    for item in register:
        of[item.zone].append(item)
    zones = dict.fromkeys((*stock.zones, *comparison.found.circuit.zones, *of))
    out = []
    for zone in zones:
        if of[zone] or zone in coverage.zones:
            title = zone_title(stock, zone)
            if zone not in stock.zones and zone in comparison.found.circuit.zones:
                title = comparison.found.circuit.zones[zone].title or zone
            here = coverage.zones.get(zone, Tally())
            out.append(Area(zone, title, here, tuple(of[zone]), parts_and_terminals(stock, unseen[zone])))
    return tuple(out)
