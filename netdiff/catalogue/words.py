"""The words after a kind on a part line, each put in its place: size, value, ratings, construction, position."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Final

from netdiff.catalogue.near import nearest
from netdiff.catalogue.rows import MOST_CONTACTS, MOST_POLES, NAME, Row, Size
from netdiff.markings import read_bands
from netdiff.quantities import Quantity, read_quantity, read_range

CONDITIONS: Final = (
    "charred",
    "leaking",
    "cracked",
    "frayed",
    "corroded",
    "loose",
    "floating",
    "cold-joint",
    "measured",
)
"""What stands after a comma; the comma is easily forgotten."""

OTHER_STATES: Final = (
    "blown",
    "missing",
    "open",
    "shorted",
    "burnt",
    "burned",
    "bad",
    "broken",
    "dead",
    "weak",
    "leaky",
)
"""What people say of a part, and that the language has no word for, or another statement."""

MOST_POSITIONS: Final = 30
_UNIT_NAMES: Final = {
    "ohm": "ohms", "F": "farads", "H": "henries", "Hz": "hertz", "V": "volts", "Vac": "volts a.c.", "A": "amperes",
    "W": "watts", "m": "length", "AWG": "gauge", "s": "seconds", "%": "tolerance", "": "bare number",
}  # fmt: skip
_EXAMPLES: Final = {"H": "2.5mH", "Hz": "7MHz", "A": "3A", "V": "6V", "Vac": "115Vac", "W": "1W"}
_BARE: Final = re.compile(r"[0-9.]+(/[0-9]+)?")
_SIZE: Final = re.compile(r"(\d{1,4})(?:[xX×](\d{1,4}))?")
_TYPE: Final = re.compile(r"\d{0,2}[A-Z]{1,4}-?\d{2,5}[A-Z]{0,3}(-\d{1,4})?")
_BANDS: Final = re.compile(r"[A-Za-z]+(-[A-Za-z]+){2,4}")


@dataclass(frozen=True, slots=True)
class Trouble:
    """A word that the catalogue cannot place: which one (-1: the kind's name), what is wrong, what would be right."""

    index: int
    says: str
    hint: str = ""


@dataclass(slots=True)
class Placed:
    """What the words say. Values in SI units."""

    size: Size = field(default_factory=Size)
    type: str = ""
    unit: str = ""
    value: float | None = None
    span: tuple[float, float] | None = None
    ratings: dict[str, float] = field(default_factory=dict)
    tolerance: float | None = None
    words: list[str] = field(default_factory=list)
    names: tuple[str, ...] = ()
    """The names that this part's own positions have, where the line gives them."""
    at: str = ""


def place(row: Row, words: Sequence[str], m_thousand: bool, type_of: Callable[[str], str]) -> Placed | Trouble:
    """Puts every word in its place, or says which cannot be placed.

    ``type_of`` gives the catalogue's name of a tube type, or the empty string.
    """
    placed = Placed(unit=row.value[0] if row.value else "")
    if row.size == "NAMES":
        return _names(row, words)
    start, trouble = _size(row, words, placed, type_of)
    if trouble is not None:
        return trouble
    index = start
    while index < len(words):
        word = words[index]
        if word == "at":
            trouble = _at(row, words, index, placed)
            index += 1
        else:
            trouble = _word(row, word, index, placed, m_thousand)
        if trouble is not None:
            return trouble
        index += 1
    if placed.at and placed.at not in (placed.names or row.places(placed.size)):
        # The names of the positions may come after `at`.
        listed = ", ".join(placed.names or row.places(placed.size))
        return Trouble(words.index("at") + 1, f"this {row.title} has no position `{placed.at}`", f"it has {listed}")
    return placed


def _names(row: Row, words: Sequence[str]) -> Placed | Trouble:
    if not words:
        return Trouble(-1, f"a {row.name} says the names of its terminals", f"{row.name} in out gnd")
    for index, word in enumerate(words):
        if NAME.fullmatch(word) is None:
            return Trouble(index, f"`{word}` is no name of a terminal", "letters, digits, _, + and -")
        if word in words[:index]:
            return Trouble(index, f"terminal `{word}` is there twice")
    if len(words) > MOST_CONTACTS:
        return Trouble(MOST_CONTACTS, f"a {row.name} has at most {MOST_CONTACTS} terminals")
    return Placed(size=Size(len(words), 0, tuple(words)))


def _size(row: Row, words: Sequence[str], placed: Placed, type_of: Callable[[str], str]) -> tuple[int, Trouble | None]:
    """Reads the first word where the kind takes a size or a tube type; how many words that were."""
    first = words[0] if words else ""
    match = _SIZE.fullmatch(first)
    n, m = (int(match[1]), int(match[2] or 0)) if match else (0, 0)
    index = 0 if words else -1
    match row.size:
        case "TYPE":
            if not words:
                return 0, Trouble(-1, "a tube has a type", "tube 6V6GT")
            placed.type = type_of(first)
            if not placed.type:
                return 0, Trouble(0, f"the catalogue has no tube `{first}`", "")
            return 1, None
        case "NxM":
            if not (1 <= n <= MOST_POLES and 2 <= m <= MOST_POSITIONS):
                most = f"to {MOST_POLES}x{MOST_POSITIONS}"
                says = f"a {row.title} says its poles and positions" if not (n and m) else f"a {row.title} goes {most}"
                return 0, Trouble(index, says, f"{row.name} 2x6: two poles of six positions")
            placed.size, placed.type = Size(n, m), f"{n}x{m}"
            return 1, None
        case "N" | "[N]":
            if match is None and row.size == "[N]":
                return 0, None
            if m or not 1 <= n <= MOST_CONTACTS:
                says = f"a {row.title} says how many contacts it has, 1 to {MOST_CONTACTS}"
                return 0, Trouble(index, says, f"{row.name} 8")
            placed.size, placed.type = Size(n), str(n)
            return 1, None
    return 0, None


def _at(row: Row, words: Sequence[str], index: int, placed: Placed) -> Trouble | None:
    if not row.positions or row.plugs:
        return Trouble(index, f"a {row.title} has no positions to stand at")
    if index + 1 == len(words):
        return Trouble(index, "`at` names the position at rest", f"at {row.places(placed.size)[0]}")
    if placed.at:
        return Trouble(index, "the position at rest is said twice")
    placed.at = words[index + 1]
    return None


def _word(row: Row, word: str, index: int, placed: Placed, m_thousand: bool) -> Trouble | None:
    built = _construction(row, word)
    if built:
        if built in placed.words:
            return Trouble(index, f"`{word}` is said twice")
        placed.words.append(built)
        return None
    if row.type and not placed.type and _TYPE.fullmatch(word.upper()):
        # Before quantities: 1n4007 would be 1.4007 nano-somethings.
        placed.type = word.upper()
        return None
    quantity = read_quantity(word, row.value[0] if row.value else "", m_thousand)
    if quantity is not None:
        return _quantity(row, word, quantity, index, placed)
    if ".." in word:
        return _span(row, word, index, placed, m_thousand)
    if "/" in word and row.positions and not row.plugs:
        return _positions(row, word, index, placed)
    return _unplaced(row, word, index)


def _construction(row: Row, word: str) -> str:
    """The catalogue's spelling of a construction word: case and hyphens do not matter."""
    if word in row.words:
        return word
    folded = word.lower().replace("-", "")
    return next((known for known in row.words if known.lower().replace("-", "") == folded), "")


def _quantity(row: Row, word: str, quantity: Quantity, index: int, placed: Placed) -> Trouble | None:
    unit, value = quantity.unit, quantity.value
    takes = [*row.value, *(unit for unit in row.ratings if unit not in row.value), *(["%"] if row.tolerance else [])]
    if _BARE.fullmatch(word) and row.value[:1] not in (("ohm",), ("F",)):
        if not row.value:
            return Trouble(index, f"a {row.title} takes no bare number `{word}`", _takes(row, takes))
        return Trouble(index, f"`{word}` of what? Only ohms and farads go without a unit", f"{_EXAMPLES[row.value[0]]}")
    if value < 0:
        return Trouble(index, f"`{word}` is less than nothing")
    if unit == "%":
        if not row.tolerance:
            return Trouble(index, f"a {row.title} takes no tolerance", _takes(row, takes))
        # Bands may have said one; what is written counts.
        placed.tolerance = value
        return None
    if unit in row.value and placed.value is None:
        placed.value, placed.unit = value, unit
        bands = read_bands(word) if _BANDS.fullmatch(word) else None
        if bands is not None and placed.tolerance is None and row.tolerance:
            placed.tolerance = bands.tolerance
        return None
    if unit in row.ratings and unit not in placed.ratings:
        placed.ratings[unit] = value
        return None
    if unit in takes:
        return Trouble(index, f"`{word}`: its {_UNIT_NAMES[unit]} are said already", "one part, one value")
    return Trouble(index, f"a {row.title} takes no {_UNIT_NAMES[unit]} (`{word}`)", _takes(row, takes))


def _takes(row: Row, units: list[str]) -> str:
    if not units:
        return f"`{row.name}` takes no quantity"
    return f"`{row.name}` takes {', '.join(_UNIT_NAMES[unit] for unit in units)}"


def _span(row: Row, word: str, index: int, placed: Placed, m_thousand: bool) -> Trouble | None:
    ends = read_range(word, row.value[0] if row.value else "", m_thousand)
    if ends is None or ends[0].unit not in row.value or not 0 <= ends[0].value < ends[1].value:
        return Trouble(index, f"`{word}` is no range of a {row.title}", "10..140p" if row.value == ("F",) else "")
    if not row.span:
        return Trouble(index, f"a {row.title} has one value, no range")
    if placed.value is not None:
        return Trouble(index, "its value is said already", "one part, one value")
    placed.span = (ends[0].value, ends[1].value)
    # Adjustable parts are named by their greatest value.
    placed.value, placed.unit = ends[1].value, ends[1].unit
    return None


def _positions(row: Row, word: str, index: int, placed: Placed) -> Trouble | None:
    names, count = tuple(word.split("/")), len(row.places(placed.size))
    if placed.names:
        return Trouble(index, "its positions are named already")
    for name in names:
        if NAME.fullmatch(name) is None:
            return Trouble(index, f"`{name}` is no name of a position", "letters, digits, _, + and -")
    if len(set(names)) < len(names):
        return Trouble(index, "two positions have one name")
    if len(names) != count:
        says = f"`{word}` names {len(names)} positions; this {row.title} has {count}"
        return Trouble(index, says, f"in the order of {', '.join(row.places(placed.size))}")
    placed.names = names
    return None


def _unplaced(row: Row, word: str, index: int) -> Trouble:
    says = f"`{word}` says nothing of a {row.title}"
    if word.lower() in CONDITIONS:
        return Trouble(index, says, f"a condition goes after a comma: {row.name} …, {word}")
    if word.lower() in OTHER_STATES:
        return Trouble(index, says, f'a state of your own is a text after a comma: {row.name} …, "{word}"')
    near = nearest(word, [*row.words, *(["at"] if row.positions and not row.plugs else [])])
    if near:
        return Trouble(index, says, f"the nearest is `{near}`")
    if row.words:
        return Trouble(index, says, f"a label stands in quotes; construction words are {', '.join(row.words)}")
    return Trouble(index, says, f'a label stands in quotes: "{word}"')
