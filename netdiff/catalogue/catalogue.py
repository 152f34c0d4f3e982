"""The catalogue: what the shipped files and the user's own say of kinds of part, and parts made from it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Final, NamedTuple

from netdiff.catalogue import tubes
from netdiff.catalogue.near import nearest
from netdiff.catalogue.plain import Faults, Plain, Spot, items, read_file, text, texts
from netdiff.catalogue.rows import OWN_KEYS, Row, read_row
from netdiff.catalogue.words import Placed, Trouble, place
from netdiff.circuit import Fault, Kind, Place

_HERE: Final = Path(__file__).parent
_MOST_REMEMBERED: Final = 100_000
MOST_LIKES: Final = 20
"""How many rows may be like one another in a row."""
_NOTHING: Final[Mapping[str, float]] = MappingProxyType({})


class Made(NamedTuple):
    """One part line's kind and figures (SI units; tolerance a fraction), or ``trouble`` and no kind."""

    kind: Kind | None = None
    value: float | None = None
    span: tuple[float, float] | None = None
    ratings: Mapping[str, float] = _NOTHING
    tolerance: float | None = None
    words: tuple[str, ...] = ()
    at: str = ""
    trouble: Trouble | None = None


class Catalogue:
    """Kinds of part by name. Does not change once it is built: `extended` gives another one.

    ``make`` gives the very same `Kind` for the same kind, size and type, so that a circuit of a
    hundred thousand parts holds each kind once.
    """

    def __init__(
        self,
        rows: Mapping[str, Row],
        spots: Mapping[str, Spot],
        more_tubes: Mapping[str, Kind],
        more_tube_spots: Mapping[str, Spot],
        files: frozenset[Path] = frozenset(),
    ) -> None:
        self._rows = rows
        self.spots = spots
        """The rows as read, for `like`."""
        self._more_tubes = more_tubes
        """Tube types of the user's files, by every name in capitals."""
        self.more_tube_spots = more_tube_spots
        self.files = files
        """The user's files in it: a drawing and a unit may both use one."""
        self._made: dict[tuple[str, tuple[str, ...], bool], Made] = {}
        self._kinds: dict[tuple[object, ...], Kind] = {}

    def names(self) -> tuple[str, ...]:
        """Names of the kinds, in the order of the files."""
        return tuple(self._rows)

    def row(self, name: str) -> Row | None:
        return self._rows.get(name)

    def tube_types(self) -> tuple[str, ...]:
        """All tube types, in the order of the files."""
        return tuple(dict.fromkeys((*shelf().types, *(kind.type for kind in self._more_tubes.values()))))

    def tube(self, name: str) -> Kind | None:
        """A tube type under any of its names, capitals or not."""
        kind = self._more_tubes.get(name.upper())
        return kind if kind is not None else shelf().tube(name)

    def nearest(self, word: str) -> str:
        """The kind that a wrong name may have meant; the empty string where none is like it."""
        for row in self._rows.values():
            if word.lower() in row.called:
                return row.name
        return nearest(word, self._rows)

    @property
    def class_letters(self) -> Mapping[str, str]:
        """Class letters of designators and what they mean (`letters.yaml`)."""
        return class_letters()

    def make(self, kind: str, words: Sequence[str], *, m_thousand: bool = False) -> Made:
        """What a part line says after the designator. ``m_thousand``: a drawing that writes M for a thousand."""
        key = (kind, tuple(words), m_thousand)
        made = self._made.get(key)
        if made is None:
            if len(self._made) >= _MOST_REMEMBERED:
                self._made.clear()
            made = self._made[key] = self._make(kind, key[1], m_thousand)
        return made

    def _make(self, name: str, words: tuple[str, ...], m_thousand: bool) -> Made:
        row = self._rows.get(name)
        if row is None:
            return Made(trouble=self._unknown(name))
        placed = place(row, words, m_thousand, self._type_of)
        if isinstance(placed, Trouble):
            if row.size == "TYPE" and placed.index == 0:
                placed = replace(placed, hint=self._tube_hint(words[0]))
            return Made(trouble=placed)
        return Made(
            self._kind(row, placed), placed.value, placed.span, MappingProxyType(placed.ratings), placed.tolerance,
            tuple(placed.words), placed.at,
        )  # fmt: skip

    def _unknown(self, name: str) -> Trouble:
        tube = self._type_of(name)
        if tube:
            return Trouble(-1, f"`{name}` is a type of tube, no kind of part", f"tube {tube}")
        family = [other for other in self._rows if other.startswith(f"{name.lower()}-")]
        if len(family) > 1:
            hint = f"one of {', '.join(family)}"
        else:
            near = self.nearest(name)
            hint = f"the nearest is `{near}`" if near else "`netdiff kinds` lists the kinds"
        return Trouble(-1, f"the catalogue has no kind of part `{name}`", hint)

    def _type_of(self, word: str) -> str:
        kind = self.tube(word)
        return kind.type if kind is not None else ""

    def _tube_hint(self, word: str) -> str:
        types = self.tube_types()
        stem = word.upper()
        same = [name for name in types if name.startswith(stem) or (len(name) > 2 and stem.startswith(name))]
        if same:
            return f"it has {', '.join(same)}"
        near = nearest(word, types)
        more = "a catalogue of your own may add it (`use`)"
        return f"the nearest is `{near}`; {more}" if near else more

    def _kind(self, row: Row, placed: Placed) -> Kind:
        stands = any(word in row.stands for word in placed.words)
        key = (row.name, placed.size, placed.type, placed.unit, placed.names, stands)
        kind = self._kinds.get(key)
        if kind is None:
            kind = self._kinds[key] = self._build(row, placed, stands)
        return kind

    def _build(self, row: Row, placed: Placed, stands: bool) -> Kind:
        if row.size == "TYPE":
            tube = self.tube(placed.type)
            assert tube is not None
            return tube
        size = placed.size
        lugs, positions = row.lugs(size), placed.names or row.places(size)
        return Kind(
            name=row.name, title=row.title, type=placed.type, letters=row.letters, terminals=lugs,
            any_terminal=row.any or (row.size == "[N]" and not size.n),
            ends=(row.ends[0], row.ends[1]) if row.ends else None, polarised=row.polarised, swaps=row.exchanges(size),
            hangs=row.hangs and not stands, plugs=row.plugs, inside=(row.inside,) if row.inside else (),
            shared=row.shared, positions=positions, contacts=row.touching(size, positions), unit=placed.unit,
            family=row.family,
        )  # fmt: skip

    def extended(self, path: Path, at: Place) -> tuple[Catalogue, tuple[Fault, ...]]:
        """This catalogue with a user's file on top. With faults, the catalogue comes back as it was.

        ``at`` is the place of the `use` statement: a file that cannot be opened is a fault there.
        """
        from netdiff.catalogue.users import extend

        return extend(self, path, at)

    def with_more(
        self,
        rows: Mapping[str, Row],
        spots: Mapping[str, Spot],
        tubes: Mapping[str, Kind],
        tube_spots: Mapping[str, Spot],
        files: frozenset[Path],
    ) -> Catalogue:
        """Another catalogue with these rows and tube types on top."""
        return Catalogue(
            {**self._rows, **rows},
            {**self.spots, **spots},
            {**self._more_tubes, **tubes},
            {**self.more_tube_spots, **tube_spots},
            self.files | files,
        )


class Shelf:
    """The shipped tube types, each made when it is first asked for."""

    def __init__(self, spot: Spot, tube: Row) -> None:
        table = items(spot)
        self.spots = items(table["tubes"])
        self.bases = {name: int(text(pins)) for name, pins in items(table["bases"]).items()}
        self.sources = {code: text(says) for code, says in items(table["sources"]).items()}
        self.types = tuple(self.spots)
        self.row = tube
        self._names = {name.upper(): name for name in self.types}
        for name, row in self.spots.items():
            self._names |= {other.upper(): name for other in texts(items(row).get("also"))}
        self._kinds: dict[str, Kind] = {}

    def tube(self, name: str) -> Kind | None:
        wanted = self._names.get(name.upper()) or self._names.get(name.upper().replace("-", ""))
        if wanted is None:
            return None
        if wanted not in self._kinds:
            faults = Faults("tubes.yaml", [])
            chain = chain_of(wanted, self.spots, faults)
            merged = inherited(chain or (wanted,), self.spots, tubes.OWN_KEYS, tubes.FIGURE_KEYS)
            kind = tubes.read_tube(wanted, merged, self.row, self.bases, self.sources, faults)
            if kind is None:
                raise ValueError(f"tubes.yaml: {faults.met[0].says}")
            self._kinds[wanted] = kind
        return self._kinds[wanted]


def chain_of(name: str, spots: Mapping[str, Spot], faults: Faults) -> tuple[str, ...] | None:
    """The row, the one that it is like, and so on; None where that ends nowhere, with a fault if it is this row's."""
    mine = items(spots[name]).get("like")
    chain = [name]
    while (like := items(spots[chain[-1]]).get("like")) is not None and mine is not None:
        other = text(like).strip()
        if other not in spots:
            if len(chain) == 1:
                hint = nearest(other, spots)
                faults.add(like, f"`{name}` is like `{other}`, which is not there", hint and f"the nearest is `{hint}`")
            return None
        if other in chain:
            if other == name:
                faults.add(mine, f"`{name}` is like itself: {' is like '.join([*chain, other])}")
            return None
        if len(chain) == MOST_LIKES:
            faults.add(mine, f"`{name}` is like another one, and so on over more than {MOST_LIKES}")
            return None
        chain.append(other)
    return tuple(chain)


def inherited(
    chain: Sequence[str], spots: Mapping[str, Spot], own: Sequence[str], by_figure: Sequence[str] = ()
) -> dict[str, Spot]:
    """The keys of the first row of a chain with those that `like` takes over from the others.

    Keys ``by_figure`` are taken over entry by entry. What is taken over stands at the row's own `like`,
    for it may come from another file.
    """
    mine = items(spots[chain[0]])
    merged: dict[str, Spot] = {}
    for name in reversed(chain[1:]):
        like = mine["like"]
        for key, spot in items(spots[name]).items():
            if key not in own:
                merged[key] = Spot(_over(merged.get(key), spot, key in by_figure), like.line, like.column, like.key)
    for key, spot in mine.items():
        merged[key] = Spot(_over(merged.get(key), spot, key in by_figure), spot.line, spot.column, spot.key)
    return merged


def _over(old: Spot | None, new: Spot, by_figure: bool) -> Plain:
    if old is not None and by_figure and isinstance(old.value, dict) and isinstance(new.value, dict):
        return {**old.value, **new.value}
    return new.value


def shipped(name: str) -> Spot:
    """A YAML file of this package."""
    faults = Faults(f"{name}.yaml", [])
    spot = read_file(_HERE / f"{name}.yaml", f"{name}.yaml", faults)
    if spot is None:
        raise ValueError(str(faults.met[0]))
    return spot


@cache
def standard() -> Catalogue:
    """The shipped catalogue."""
    spots = items(items(shipped("kinds"))["kinds"])
    faults = Faults("kinds.yaml", [])
    rows: dict[str, Row] = {}
    for name in spots:
        chain = chain_of(name, spots, faults)
        row = read_row(name, inherited(chain or (name,), spots, OWN_KEYS), faults)
        if row is None or faults.met:
            raise ValueError(f"kinds.yaml: {faults.met[0].says}")
        rows[name] = row
    return Catalogue(rows, spots, {}, {})


@cache
def shelf() -> Shelf:
    tube = standard().row("tube")
    assert tube is not None
    return Shelf(shipped("tubes"), tube)


@cache
def class_letters() -> Mapping[str, str]:
    rows = items(items(shipped("letters"))["letters"])
    return MappingProxyType({letters: text(items(row)["meaning"]) for letters, row in rows.items()})
