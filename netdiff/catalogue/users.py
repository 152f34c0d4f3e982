"""A user's own catalogue files, on top of the shipped one. Every fault of every file in one run."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Final

from netdiff.catalogue import catalogue as shipped
from netdiff.catalogue import tubes
from netdiff.catalogue.near import nearest_hint
from netdiff.catalogue.plain import Faults, Spot, read_file, texts
from netdiff.catalogue.rows import OWN_KEYS, Row, read_row
from netdiff.circuit import Fault, Kind, Place

if TYPE_CHECKING:
    from netdiff.catalogue.catalogue import Catalogue

MOST_FILES: Final = 20
_TABLES: Final = ("use", "kinds", "tubes")
_KIND: Final = re.compile(r"[a-z][a-z0-9]*(-[a-z0-9]+)*")
_TUBE: Final = re.compile(r"[A-Z0-9][A-Z0-9/-]{0,20}")


def extend(catalogue: Catalogue, path: Path, at: Place) -> tuple[Catalogue, tuple[Fault, ...]]:
    """The catalogue with the file's kinds and tubes; the old one and the faults where there are any."""
    library = _Library(catalogue)
    library.read(path, str(path), at, ())
    rows = library.kinds()
    types = library.tubes()
    faults = library.faults()
    if faults:
        return catalogue, faults
    spots = {name: spot for name, (spot, _) in library.kind_spots.items()}
    tube_spots = {name: spot for name, (spot, _) in library.tube_spots.items()}
    return catalogue.with_more(rows, spots, types, tube_spots, frozenset(library.files)), ()


def _line(fault: Fault) -> tuple[int, int]:
    return fault.place.line, fault.place.column


class _Library:
    """The files as they are read; rows with the file in which they stand."""

    def __init__(self, catalogue: Catalogue) -> None:
        self.catalogue = catalogue
        self.files: dict[Path, Faults] = {}
        self.opening: list[Fault] = []
        """Faults of `use` statements."""
        self.kind_spots: dict[str, tuple[Spot, Faults]] = {}
        self.tube_spots: dict[str, tuple[Spot, Faults]] = {}

    def faults(self) -> tuple[Fault, ...]:
        return (*self.opening, *(fault for faults in self.files.values() for fault in sorted(faults.met, key=_line)))

    def read(self, path: Path, name: str, at: Place, through: tuple[Path, ...]) -> None:
        """Reads a file and those that it uses. ``through``: the files on the way to it."""
        try:
            real = path.resolve()
        except (OSError, RuntimeError, ValueError):
            self.opening.append(Fault(at, f"cannot read {name}"))
            return
        if real in self.files or real in self.catalogue.files:
            return
        faults = self.files[real] = Faults(name, [])
        root = read_file(path, name, faults)
        if not faults.lines:
            # Nothing of it could be read: the fault is that of the statement that asked for it.
            self.opening += [Fault(at, fault.says, hint=fault.hint) for fault in faults.met]
            faults.met.clear()
        if root is None:
            return
        if not isinstance(root.value, dict):
            faults.add(root, f"{name} is no catalogue", "a catalogue has tables: use, kinds, tubes")
            return
        for key, spot in root.value.items():
            if key not in _TABLES:
                faults.add(spot, f"`{key}` is no table of a catalogue", nearest_hint(key, _TABLES))
        self._use(root.value.get("use"), real, name, faults, through)
        for key, into in (("kinds", self.kind_spots), ("tubes", self.tube_spots)):
            if key in root.value:
                self._collect(key, root.value[key], into, faults)

    def _use(self, spot: Spot | None, real: Path, name: str, faults: Faults, through: tuple[Path, ...]) -> None:
        folder = (through[0] if through else real).parent
        for word in texts(spot):
            assert spot is not None
            wanted = real.parent / word
            try:
                target = wanted.resolve()
            except (OSError, RuntimeError, ValueError):
                faults.add(spot, f"`{word}` is no file name")
                continue
            if target == real or target in through:
                faults.add(spot, f"{name} uses {word}, which leads back to {name if target == real else word} itself")
            elif not target.is_relative_to(folder):
                faults.add(
                    spot, f"`{word}` lies outside the folder of the catalogue", "catalogues stand beside the circuit"
                )
            elif len(self.files) >= MOST_FILES:
                faults.add(spot, f"more than {MOST_FILES} catalogues use one another")
            else:
                at = Place(name, spot.line, spot.column)
                self.read(wanted, str(Path(name).parent / word), at, (*through, real))

    def _collect(self, table: str, spot: Spot, into: dict[str, tuple[Spot, Faults]], faults: Faults) -> None:
        if not isinstance(spot.value, dict):
            faults.add(spot, f"`{table}` is a table: each name with its keys below it")
            return
        kinds = table == "kinds"
        for name, row in spot.value.items():
            there = self.catalogue.row(name) if kinds else self.catalogue.tube(name)
            if (_KIND if kinds else _TUBE).fullmatch(name) is None:
                of_names = "small letters and digits, joined by -" if kinds else "capitals and digits"
                faults.add(row, f"`{name}` is no name of a {'kind' if kinds else 'tube'}", of_names)
            elif not isinstance(row.value, dict) or not row.value:
                faults.add(row, f"`{name}` says nothing", "like: another one; or its keys")
            elif name in into or there is not None:
                where = into[name][1].file if name in into else "the catalogue"
                faults.add(row, f"`{name}` is in {where} already", "give yours another name, and `like:` to share")
            else:
                into[name] = (row, faults)

    def kinds(self) -> dict[str, Row]:
        spots = {**self.catalogue.spots, **{name: spot for name, (spot, _) in self.kind_spots.items()}}
        rows: dict[str, Row] = {}
        for name, chain, faults in self._in_order(self.kind_spots, spots):
            if any(other in self.kind_spots and other not in rows for other in chain[1:]):
                continue
            row = read_row(name, shipped.inherited(chain, spots, OWN_KEYS), faults)
            if row is not None and row.size == "TYPE":
                faults.add(spots[name], "a type of tube goes into the table `tubes`")
            elif row is not None:
                rows[name] = row
        return rows

    def tubes(self) -> dict[str, Kind]:
        shelf = shipped.shelf() if self.tube_spots else None
        if shelf is None:
            return {}
        spots = {**shelf.spots, **self.catalogue.more_tube_spots}
        spots |= {name: spot for name, (spot, _) in self.tube_spots.items()}
        made: dict[str, Kind] = {}
        for name, chain, faults in self._in_order(self.tube_spots, spots):
            if any(other in self.tube_spots and other not in made for other in chain[1:]):
                continue
            merged = shipped.inherited(chain, spots, tubes.OWN_KEYS, tubes.FIGURE_KEYS)
            kind = tubes.read_tube(name, merged, shelf.row, shelf.bases, shelf.sources, faults)
            if kind is None:
                continue
            for other in (name, *texts(merged.get("also"))):
                there = made.get(other.upper()) or self.catalogue.tube(other)
                if there is not None:
                    faults.add(merged["also"] if other != name else spots[name], f"`{other}` is {there.type} already")
                made[other.upper()] = kind
        return made

    def _in_order(
        self, mine: Mapping[str, tuple[Spot, Faults]], spots: Mapping[str, Spot]
    ) -> list[tuple[str, tuple[str, ...], Faults]]:
        """Rows with their chains, those that others are like first."""
        chains = [(name, shipped.chain_of(name, spots, faults), faults) for name, (_, faults) in mine.items()]
        return sorted(
            ((name, chain, faults) for name, chain, faults in chains if chain is not None), key=lambda row: len(row[1])
        )
