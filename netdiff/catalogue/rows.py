"""One kind of part as its catalogue row says it, before a part line gives it a size or a type.

>>> from netdiff.catalogue.plain import Faults, read_text
>>> faults = Faults("", [])
>>> text = "{terminals: coil1 coil2, pole: c no, poles: 2, contacts: {on: c/no}, positions: off on}"
>>> row = read_row("relay", read_text(text, faults).value, faults)
>>> [lug.name for lug in row.lugs(Size())]
['coil1', 'coil2', 'ca', 'noa', 'cb', 'nob']
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Final, NamedTuple

from netdiff.catalogue.near import nearest_hint
from netdiff.catalogue.plain import Faults, Spot, text, texts
from netdiff.circuit import Contact, Lug, Swap

NAME: Final = re.compile(r"[A-Za-z0-9_+-]{1,24}")
UNITS: Final = ("ohm", "F", "H", "Hz", "V", "Vac", "A", "W", "s")
SIZES: Final = ("", "N", "[N]", "NxM", "NAMES", "TYPE")
MOST_POLES: Final = 12
MOST_CONTACTS: Final = 200

_WORDS: Final = (
    "letters terminals pole ends swaps hangs inside shared positions value ratings words called".split()  # noqa: SIM905
)
_TEXTS: Final = ("title", "like", "size", "poles", "family", "source")
_FLAGS: Final = ("polarised", "plugs", "tie", "any", "span", "type", "tolerance")
KEYS: Final = (*_TEXTS, *_WORDS, *_FLAGS, "contacts")
OWN_KEYS: Final = ("like", "called")
"""What `like` does not take over."""
_YES: Final = {"yes": True, "true": True, "no": False, "false": False}
_RANGE: Final = re.compile(r"(\d+)\.\.(\d+|N|M)")


class Size(NamedTuple):
    """``n`` contacts or poles, ``m`` positions of each pole; ``names`` of the terminals of a block."""

    n: int = 0
    m: int = 0
    names: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Row:
    """Keys as at the top of kinds.yaml. ``swaps`` and ``contacts`` are split, names are not yet expanded."""

    name: str
    title: str
    letters: tuple[str, ...]
    size: str
    terminals: tuple[str, ...]
    pole: tuple[str, ...]
    poles: int
    ends: tuple[str, ...]
    polarised: bool
    swaps: tuple[Swap, ...]
    hangs: bool
    stands: tuple[str, ...]
    plugs: bool
    tie: bool
    any: bool
    inside: tuple[str, ...]
    shared: tuple[str, ...]
    positions: tuple[str, ...]
    contacts: tuple[tuple[str, str, str], ...]
    """Position (or ``each``), and the two terminals."""
    value: tuple[str, ...]
    span: bool
    type: bool
    ratings: tuple[str, ...]
    tolerance: bool
    words: tuple[str, ...]
    family: str
    called: tuple[str, ...]
    source: str

    def lugs(self, size: Size) -> tuple[Lug, ...]:
        if size.names:
            return tuple(Lug(name) for name in size.names)
        if self.size == "[N]" and not size.n:
            return ()
        plain = [self._lug(token) for token in _expand(self.terminals, size)]
        of_poles = [self._lug(_of_pole(token, letter)) for letter in self._letters(size) for token in self._pole(size)]
        return (*plain, *of_poles)

    def places(self, size: Size) -> tuple[str, ...]:
        """Names of the positions."""
        return tuple(_expand(self.positions, size))

    def touching(self, size: Size, names: Sequence[str]) -> tuple[Contact, ...]:
        """Contacts, with ``names`` in place of the catalogue's names of the positions."""
        pole = set(self._pole(size))
        touch: dict[tuple[str, str], set[str]] = {}
        for place, named in zip(self.places(size), names, strict=True):
            for when, a, b in self.contacts:
                if when not in (place, "each"):
                    continue
                pair = [place if name == "each" else name for name in (a, b)]
                for letter in self._letters(size) or ("",):
                    first, second = (_of_pole(name, letter) if name in pole else name for name in pair)
                    touch.setdefault((first, second), set()).add(named)
        return tuple(Contact(a, b, frozenset(places)) for (a, b), places in touch.items())

    def exchanges(self, size: Size) -> tuple[Swap, ...]:
        poles = [tuple(_of_pole(name, letter) for name in self._pole(size)) for letter in self._letters(size)]
        # A pole's neighbours first: who takes exchanges that do not overlap, takes those.
        pairs = sorted(combinations(range(len(poles)), 2), key=lambda pair: (pair[1] - pair[0], pair))
        return (*((poles[a], poles[b]) for a, b in pairs), *self.swaps)

    def _lug(self, token: str) -> Lug:
        name, *aliases = token.split("=")
        return Lug(name, tuple(aliases), tie=self.tie)

    def _count(self, size: Size) -> int:
        return size.n if self.size == "NxM" else self.poles

    def _letters(self, size: Size) -> tuple[str, ...]:
        """The letters of the poles; a single pole has the empty one."""
        if not self.pole:
            return ()
        return tuple(_ALPHABET[: self._count(size)]) if self._count(size) > 1 else ("",)

    def _pole(self, size: Size) -> list[str]:
        return list(_expand(self.pole, size))


_ALPHABET: Final = "abcdefghijklmnopqrstuvwxyz"


def _of_pole(name: str, letter: str) -> str:
    """``1`` of pole a is ``a1``, ``c`` is ``ca``; a single pole has no letter."""
    return f"{letter}{name}" if name.isdigit() else f"{name}{letter}"


def _expand(tokens: Sequence[str], size: Size) -> Iterator[str]:
    for token in tokens:
        match = _RANGE.fullmatch(token)
        if match is None:
            yield token
            continue
        last = {"N": size.n, "M": size.m}.get(match[2]) if match[2] in "NM" else int(match[2])
        yield from (str(number) for number in range(int(match[1]), min(last or 0, MOST_CONTACTS) + 1))


def read_row(name: str, spots: Mapping[str, Spot], faults: Faults) -> Row | None:
    """The row of a kind from its keys (those taken over by `like` among them), or None and its faults."""
    before = len(faults.met)
    for key, spot in spots.items():
        _check_shape(name, key, spot, faults)
    if len(faults.met) > before:
        return None
    w = {key: tuple(texts(spots.get(key))) for key in _WORDS}
    t = {key: text(spots.get(key)).strip() for key in _TEXTS}
    f = {key: _YES[text(spots[key]).lower()] if key in spots else False for key in _FLAGS}
    hang, *stands = w["hangs"] or ("no",)
    row = Row(
        name=name, title=t["title"] or name.replace("-", " "), letters=w["letters"], size=t["size"],
        terminals=w["terminals"], pole=w["pole"], poles=int(t["poles"] or 1), ends=w["ends"], polarised=f["polarised"],
        swaps=tuple(_swaps(spots.get("swaps"))), hangs=_YES.get(hang.lower(), True), stands=tuple(stands),
        plugs=f["plugs"], tie=f["tie"], any=f["any"], inside=w["inside"], shared=w["shared"],
        positions=w["positions"], contacts=tuple(_contacts(spots.get("contacts"))), value=w["value"], span=f["span"],
        type=f["type"], ratings=w["ratings"], tolerance=f["tolerance"], words=w["words"], family=t["family"],
        called=w["called"], source=t["source"],
    )  # fmt: skip
    _check_names(row, spots, faults)
    return row if len(faults.met) == before else None


def _swaps(spot: Spot | None) -> Iterator[Swap]:
    if spot is None:
        return
    for one in [spot.value] if isinstance(spot.value, str) else texts(spot):
        first, _, second = str(one).partition("~")
        yield tuple(first.split()), tuple(second.split())


def _contacts(spot: Spot | None) -> Iterator[tuple[str, str, str]]:
    if spot is None or not isinstance(spot.value, dict):
        return
    for place, pairs in spot.value.items():
        for pair in texts(pairs):
            a, _, b = pair.partition("/")
            yield place, a, b


def _check_shape(name: str, key: str, spot: Spot, faults: Faults) -> None:
    words = texts(spot)
    if key not in KEYS:
        faults.add(spot, f"`{key}` says nothing of a kind of part", nearest_hint(key, KEYS))
    elif key == "contacts":
        if not isinstance(spot.value, dict):
            faults.add(spot, f"`contacts` of {name} is a table", "contacts: {on: c/no, off: c/nc}")
    elif isinstance(spot.value, dict) or (isinstance(spot.value, list) and len(words) < len(spot.value)):
        faults.add(spot, f"`{key}` of {name} is a text or a list of texts")
    elif key in (*_TEXTS, *_FLAGS) and not isinstance(spot.value, str):
        faults.add(spot, f"`{key}` of {name} is one text")
    elif key in _FLAGS and text(spot).lower() not in _YES:
        faults.add(spot, f"`{key}` of {name} is yes or no")
    elif key == "hangs" and not (len(words) == 1 and words[0].lower() in _YES) and words[:1] != ["but"]:
        faults.add(spot, f"`hangs` of {name} is yes, no, or `but` and words", "hangs: but can")
    elif key == "size" and text(spot) not in SIZES:
        faults.add(spot, f"`{text(spot)}` is no size", f"one of {', '.join(SIZES[1:])}")
    elif key == "poles" and not (text(spot).isdecimal() and 1 <= int(text(spot)[:4]) <= MOST_POLES):
        faults.add(spot, f"`poles` of {name} is a number from 1 to {MOST_POLES}")
    elif key in ("value", "ratings"):
        for unit in words:
            if unit not in UNITS:
                faults.add(spot, f"`{unit}` is no unit", f"one of {', '.join(UNITS)}")


def _check_names(row: Row, spots: Mapping[str, Spot], faults: Faults) -> None:
    """Every name that a key uses is a terminal or position of the kind (looked at in a small size)."""
    size = Size(2, 2)
    lugs = row.lugs(size)
    every = [name for lug in lugs for name in (lug.name, *lug.aliases)]
    where = spots.get("terminals") or spots.get("pole")
    for each in every:
        if NAME.fullmatch(each) is None and where is not None:
            faults.add(where, f"`{each}` is no name of a terminal", "letters, digits, _, + and -")
    if len(set(every)) < len(every) and where is not None:
        twice = next(name for name in every if every.count(name) > 1)
        faults.add(where, f"two terminals of {row.name} answer to `{twice}`")
    names = {lug.name for lug in lugs}
    if not names and not row.any and row.size not in ("TYPE", "NAMES", "[N]"):
        faults.add(where or next(iter(spots.values())), f"{row.name} has no terminals", "terminals: 1 2")
    places = row.places(size)
    used = {
        "ends": row.ends,
        "inside": row.inside,
        "shared": row.shared,
        "swaps": [name for swap in row.swaps for side in swap for name in side],
        "contacts": [name for contact in row.touching(size, places) for name in (contact.a, contact.b)],
    }
    for key, wanted in used.items():
        for name in wanted:
            if name not in names:
                says = f"`{key}` of {row.name} names `{name}`, which is no terminal of it"
                faults.add(spots[key], says, f"it has {' '.join(lug.name for lug in lugs)}")
    if row.ends and (len(row.ends) != 2 or row.ends[0] == row.ends[1]):
        faults.add(spots["ends"], f"`ends` of {row.name} are two terminals")
    for first, second in row.swaps:
        if not first or len(first) != len(second) or set(first) & set(second):
            faults.add(spots["swaps"], f"a swap of {row.name} has as many terminals on either side", "1 ~ 2")
    for when, _, b in row.contacts:
        if when not in places and when != "each":
            says = f"{row.name} has no position `{when}`"
            faults.add(spots["contacts"], says, f"positions: {' '.join(row.positions) or 'none'}")
        elif not b:
            faults.add(spots["contacts"], f"a contact of {row.name} is two terminals with / between", "c/no")
