"""What a unit's file says beside its wiring: how signals came through, photos, what stays, notes."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Final

from netdiff.circuit import Observation, Place, Remark
from netdiff.language import statements as st
from netdiff.language.bench import BenchSite
from netdiff.language.faults import listed, nearest
from netdiff.language.paths import inside

HEARD: Final = ("none", "weak", "normal", "distorted", "hum")


def observations(site: BenchSite, statements: Iterable[st.Statement]) -> tuple[Observation, ...]:
    out = []
    signals = {signal.name: signal for signal in site.stock.signals}
    for statement in statements:
        if not isinstance(statement, st.Observed):
            continue
        place = statement.place
        if statement.signal not in signals:
            says = f"the drawing has no signal {statement.signal}"
            site.unknown(statement.signal, place, statement.signal, says, signals)
        if statement.what not in HEARD:
            near = nearest(statement.what, HEARD)
            hint = f"the nearest is {near}" if near else listed(HEARD)
            site.source.fault(place, f"`{statement.what}` is no strength of a signal", statement.what, hint)
        point = site.point(statement.at, place)
        if point is not None:
            out.append(Observation(statement.signal, point, statement.what, (place,)))
    return tuple(out)


def remarks(
    site: BenchSite, statements: Iterable[st.Statement], folder: Path
) -> tuple[tuple[Remark, ...], tuple[Remark, ...], tuple[Remark, ...]]:
    photos, keeps, notes = [], [], []
    for statement in statements:
        match statement:
            case st.Photo(place, path, targets, text):
                _check_photo(site, statement, folder)
                photos.append(Remark(_named(site, targets, place), text, path, (place,)))
            case st.Keep(place, targets, reason):
                keeps.append(Remark(_named(site, targets, place), reason, places=(place,)))
            case st.Note(place, targets, text):
                notes.append(Remark(_named(site, targets, place), text, places=(place,)))
    return tuple(photos), tuple(keeps), tuple(notes)


def _check_photo(site: BenchSite, line: st.Photo, folder: Path) -> None:
    path = inside(folder, line.path)
    if isinstance(path, str):
        site.source.fault(line.place, f'"{line.path}": {path}', f'"{line.path}"')


def _named(site: BenchSite, targets: Iterable[str], place: Place) -> tuple[str, ...]:
    """Points and parts that a remark is about; what is missing may be spoken of."""
    out = []
    for target in targets:
        designator = target.partition(".")[0]
        if designator in site.missing or target in site.zones:
            out.append(target)
        elif "." in target or target[0].islower():
            point = site.point(target, place)
            if point is not None:
                out.append(point)
        else:
            known = designator in site.mentioned
            if site.part(target, place) is not None:
                out.append(target)
            if not known:
                site.mentioned.discard(designator)
    return tuple(out)
