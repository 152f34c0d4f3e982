"""The catalogue of kinds of part: YAML data and the loader that makes kinds of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any

from netdiff.catalogue.making import Made, Trouble, base_kind, particular, place
from netdiff.circuit import Fault, Kind, Place

HERE = Path(__file__).parent


def _load(name: str) -> dict[str, Any]:
    import yaml

    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    with (HERE / name).open(encoding="utf-8") as text:
        loaded: dict[str, Any] = yaml.load(text, Loader=loader)
    return loaded


@cache
def _tubes() -> dict[str, Any]:
    return _load("tubes.yaml")


class Catalogue:
    """Kinds by name. Immutable: ``extended`` gives a new one."""

    def __init__(self, entries: Mapping[str, Mapping[str, Any]], tubes: Mapping[str, Mapping[str, Any]] | None = None):
        self._entries = dict(entries)
        self._own_tubes = dict(tubes or {})
        self._kinds: dict[str, Kind] = {}
        self._made: dict[tuple[str, tuple[str, ...], bool], Made] = {}

    def names(self) -> tuple[str, ...]:
        return tuple(self._entries)

    def entry(self, name: str) -> Mapping[str, Any]:
        """The entry with everything that ``like`` gives it."""
        entry = self._entries[name]
        if "like" in entry:
            return {**self.entry(str(entry["like"])), **{k: v for k, v in entry.items() if k != "like"}}
        return entry

    def tube_names(self) -> tuple[str, ...]:
        return (*_tubes(), *self._own_tubes)

    def tube(self, name: str) -> Mapping[str, Any] | None:
        """The row of a tube type; a name that stands for another type gives that one's row."""
        row = self._own_tubes.get(name) or _tubes().get(name)
        if row is not None and "as" in row:
            return {**(self.tube(str(row["as"])) or {}), **{k: v for k, v in row.items() if k != "as"}}
        return row

    def nearest(self, word: str) -> str:
        from difflib import get_close_matches

        near = get_close_matches(word, self.names(), 1, 0.5)
        return near[0] if near else ""

    def kind(self, name: str) -> Kind:
        if name not in self._kinds:
            self._kinds[name] = base_kind(name, self.entry(name))
        return self._kinds[name]

    @property
    def class_letters(self) -> Mapping[str, str]:
        return {letters: str(row["means"]) for letters, row in _load("letters.yaml").items()}

    def make(self, kind: str, words: Sequence[str], *, m_thousand: bool = False) -> Made:
        """What a part line says: its kind and the bare words after it."""
        key = (kind, tuple(words), m_thousand)
        made = self._made.get(key)
        if made is None:
            made = self._made[key] = self._make(kind, words, m_thousand)
        return made

    def _make(self, name: str, words: Sequence[str], m_thousand: bool) -> Made:
        if name not in self._entries:
            near = self.nearest(name)
            return Made(
                trouble=Trouble(-1, f"no kind of part is called “{name}”", f"did you mean {near}?" if near else "")
            )
        entry, kind = self.entry(name), self.kind(name)
        rest = list(enumerate(words))
        if name == "tube":
            if not rest:
                return Made(trouble=Trouble(-1, "a tube needs its type", "tube 6V6GT"))
            index, type_name = rest.pop(0)
            found = self._tube_kind(type_name)
            if found is None:
                return Made(
                    trouble=Trouble(index, f"no tube “{type_name}” is in the catalogue", self._near_tube(type_name))
                )
            kind = found
        else:
            kind, trouble = particular(kind, entry, rest)
            if trouble is not None:
                return Made(trouble=trouble)
        return place(kind, entry, rest, m_thousand)

    def _tube_kind(self, name: str) -> Kind | None:
        key = f"tube {name}"
        if key not in self._kinds:
            from netdiff.catalogue.bases import tube_kind

            row = self.tube(name)
            if row is None:
                return None
            plain = self.kind("tube")
            self._kinds[key] = tube_kind(name, row, str(row.get("class", plain.title)), plain.letters)
        return self._kinds[key]

    def _near_tube(self, name: str) -> str:
        from difflib import get_close_matches

        near = get_close_matches(name.upper(), self.tube_names(), 3, 0.5)
        said = f"near it are {', '.join(near)}; " if near else ""
        return f'{said}a type of your own comes in with `use "my-parts.yaml"`'

    def extended(self, path: Path, where: Place) -> tuple[Catalogue, tuple[Fault, ...]]:
        """This catalogue and the user's; faults of the user's file leave it as it was."""
        from netdiff.catalogue.users import read_user

        entries, tubes, faults = read_user(path, where, self.names())
        if faults:
            return self, faults
        return Catalogue({**self._entries, **entries}, {**self._own_tubes, **tubes}), ()


@cache
def standard() -> Catalogue:
    """The catalogue that comes with the program."""
    return Catalogue(_load("kinds.yaml"))


__all__ = ["Catalogue", "Made", "Trouble", "standard"]
