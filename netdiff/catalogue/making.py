"""From an entry of the catalogue and the words of a part line to a kind, a value and ratings."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from types import MappingProxyType
from typing import Any, NamedTuple

from netdiff.circuit import Contact, Kind, Lug, Swap
from netdiff.quantities import read_quantity, read_range

CONDITIONS = ("charred", "leaking", "cracked", "frayed", "corroded", "loose", "floating", "cold-joint")
RATINGS = ("W", "V", "Vac", "A")


@dataclass(frozen=True, slots=True)
class Trouble:
    """What the catalogue cannot place: the index of the word (-1: the kind itself), why, and what would be right."""

    index: int
    says: str
    hint: str = ""


class Made(NamedTuple):
    """What a part line says. ``value`` and ``span`` are in the kind's SI unit, ``tolerance`` is a fraction."""

    kind: Kind | None = None
    value: float | None = None
    span: tuple[float, float] | None = None
    ratings: Mapping[str, float] = MappingProxyType({})
    tolerance: float | None = None
    words: tuple[str, ...] = ()
    at: str = ""
    trouble: Trouble | None = None


def lugs_of(text: str) -> tuple[Lug, ...]:
    out = []
    for word in str(text).split():
        name, *aliases = word.split("/")
        out.append(Lug(name, tuple(aliases)))
    return tuple(out)


def swap_of(text: str) -> Swap:
    first, second = text.split("|")
    return tuple(first.split()), tuple(second.split())


def contact_of(text: str) -> Contact:
    ends, _, where = text.partition(":")
    a, b = ends.split()
    return Contact(a, b, frozenset(where.split()))


def base_kind(name: str, entry: Mapping[str, Any]) -> Kind:
    """The kind of an entry, before a type, a count or positions make it particular."""
    lugs = lugs_of(entry.get("terminals", ""))
    swaps = [swap_of(text) for text in entry.get("swaps", ())]
    contacts = [contact_of(text) for text in entry.get("contacts", ())]
    positions = tuple(str(p) for p in entry.get("positions", ()))
    if entry.get("coil"):
        lugs, swaps, contacts = _relay(entry)
        positions = ("off", "on")
    if "poles" in entry:
        double = entry.get("throw") == "double"
        lugs, swaps, contacts, positions = _switch(int(entry["poles"]), 2 if double else 1)
    ends = str(entry["ends"]).split() if "ends" in entry else None
    return Kind(
        name=name,
        title=str(entry.get("title", name)),
        letters=tuple(entry.get("letters", ())),
        terminals=lugs,
        any_terminal=bool(entry.get("any") or entry.get("ties")),
        ends=(ends[0], ends[1]) if ends else None,
        polarised=bool(entry.get("polarised")),
        swaps=tuple(swaps),
        hangs=bool(entry.get("hangs")),
        plugs=bool(entry.get("plugs")),
        inside=tuple(tuple(str(group).split()) for group in entry.get("inside", ())),
        shared=tuple(str(entry.get("shared", "")).split()),
        positions=positions,
        contacts=tuple(contacts),
        unit=str(entry.get("unit", "")),
        family=str(entry.get("family", name)),
    )


def _relay(entry: Mapping[str, Any]) -> tuple[tuple[Lug, ...], list[Swap], list[Contact]]:
    lugs, contacts = [Lug("coil1"), Lug("coil2")], []
    swaps: list[Swap] = [(("coil1",), ("coil2",))]
    sets = [(str(pole), True) for pole in entry.get("changeover", ())] + [
        (str(p), False) for p in entry.get("make", ())
    ]
    for pole, changeover in sets:
        lugs += [Lug(f"c{pole}"), Lug(f"no{pole}")]
        contacts.append(Contact(f"c{pole}", f"no{pole}", frozenset({"on"})))
        if changeover:
            lugs.append(Lug(f"nc{pole}"))
            contacts.append(Contact(f"c{pole}", f"nc{pole}", frozenset({"off"})))
    for (pole, _), (other, _) in pairwise(sets):
        names = [n for n in ("c", "no", "nc") if any(lug.name == f"{n}{pole}" for lug in lugs)]
        swaps.append((tuple(f"{n}{pole}" for n in names), tuple(f"{n}{other}" for n in names)))
    return tuple(lugs), swaps, contacts


def _switch(poles: int, throws: int) -> tuple[tuple[Lug, ...], list[Swap], list[Contact], tuple[str, ...]]:
    lugs: list[Lug] = []
    contacts: list[Contact] = []
    sets: list[tuple[str, ...]] = []
    for letter in "abcdefghijkl"[:poles]:
        if throws == 1:
            names: tuple[str, ...] = (f"{letter}1", f"{letter}2")
            contacts.append(Contact(names[0], names[1], frozenset({"on"})))
        else:
            names = (f"c{letter}", *(f"{letter}{n}" for n in range(1, throws + 1)))
            contacts += [Contact(names[0], names[n], frozenset({str(n)})) for n in range(1, throws + 1)]
        lugs += [Lug(n) for n in names]
        sets.append(names)
    swaps: list[Swap] = [(a, b) for a, b in pairwise(sets)]
    positions = ("off", "on") if throws == 1 else tuple(str(n) for n in range(1, throws + 1))
    return tuple(lugs), swaps, contacts, positions


def rotary(kind: Kind, poles: int, throws: int) -> Kind:
    lugs, swaps, contacts, positions = _switch(poles, max(throws, 2))
    if poles == 1:
        short = {lug.name: lug.name.removeprefix("a") if lug.name != "ca" else "c" for lug in lugs}
        lugs = tuple(Lug(short[lug.name], (lug.name,)) for lug in lugs)
        contacts = [Contact(short[c.a], short[c.b], c.positions) for c in contacts]
        swaps = []
    return replace(
        kind,
        type=f"{poles}x{throws}",
        terminals=lugs,
        swaps=tuple(swaps),
        contacts=tuple(contacts),
        positions=positions,
    )


def particular(kind: Kind, entry: Mapping[str, Any], words: list[tuple[int, str]]) -> tuple[Kind, Trouble | None]:
    """Take the words that shape the kind itself: ``2x6``, ``11``, ``in out gnd``. They leave the list."""
    if entry.get("matrix"):
        size = next((w for w in words if re.fullmatch(r"\d+x\d+", w[1])), None)
        if size is None:
            return kind, Trouble(-1, f"a {kind.name} needs its poles and positions", f"{kind.name} 2x6")
        words.remove(size)
        poles, throws = (int(n) for n in size[1].split("x"))
        if not 1 <= poles <= 12 or not 1 <= throws <= 40:
            return kind, Trouble(size[0], f"no switch has {size[1]} poles and positions", "2x6")
        return rotary(kind, poles, throws), None
    if entry.get("count") or entry.get("ties"):
        number = next((w for w in words if w[1].isdigit()), None)
        if number is None and entry.get("count"):
            return kind, Trouble(-1, f"a {kind.name} needs its number of contacts", f"{kind.name} 11")
        if number is not None:
            words.remove(number)
            if not 1 <= int(number[1]) <= 500:
                return kind, Trouble(number[0], f"no {kind.name} has {number[1]} contacts", f"{kind.name} 11")
            tie = bool(entry.get("ties"))
            lugs = tuple(Lug(str(n), tie=tie) for n in range(1, int(number[1]) + 1))
            lugs += lugs_of(entry.get("extra", ""))
            return replace(kind, type=number[1], terminals=lugs, any_terminal=False), None
    if entry.get("named"):
        names = [w for w in words if re.fullmatch(r"[\w+-]+", w[1])]
        for word in names:
            words.remove(word)
        return replace(kind, type=" ".join(w[1] for w in names), terminals=tuple(Lug(w[1]) for w in names)), None
    return kind, None


def place(kind: Kind, entry: Mapping[str, Any], words: Sequence[tuple[int, str]], m_thousand: bool) -> Made:
    """Place every remaining word: value, range, rating, tolerance, construction, positions, ``at``."""
    value: float | None = None
    span: tuple[float, float] | None = None
    ratings: dict[str, float] = {}
    tolerance: float | None = None
    known = set(entry.get("words", ()))
    construction: list[str] = []
    at = ""
    waiting = False
    for index, word in words:
        if waiting:
            at, waiting = word, False
            continue
        if word == "at":
            waiting = True
            continue
        if word in known or word.lower() in known:
            construction.append(word.lower() if word.lower() in known else word)
            continue
        if "/" in word and kind.contacts and len(word.split("/")) == len(kind.positions):
            kind = named_positions(kind, tuple(word.split("/")))
            continue
        both = read_range(word, kind.unit)
        if both is not None and both[1].unit == kind.unit and kind.unit:
            span = (both[0].value, both[1].value)
            value = span[1]
            continue
        got = read_quantity(word, kind.unit, m_thousand)
        if got is not None and got.unit == kind.unit and kind.unit and value is None:
            value = got.value
        elif got is not None and got.unit == "%" and tolerance is None:
            tolerance = got.value
        elif got is not None and got.unit in RATINGS and got.unit not in ratings:
            ratings[got.unit] = got.value
        elif (
            got is not None and got.unit in ("ohm", "H", "F", "Hz", "m", "AWG") and got.unit != kind.unit and kind.unit
        ):
            return Made(trouble=Trouble(index, f"{word} is no value of a {kind.name}", _example(kind)))
        elif entry.get("typed") and not kind.type:
            kind = replace(kind, type=word)
        else:
            return Made(trouble=Trouble(index, f"a {kind.name} does not take “{word}”", _hint(kind, word, known)))
    if waiting:
        return Made(trouble=Trouble(-1, "“at” wants a position", " ".join(kind.positions[:6])))
    if at and kind.positions and at not in kind.positions:
        return Made(trouble=Trouble(-1, f"{kind.name} has no position “{at}”", " ".join(kind.positions[:12])))
    return Made(kind, value, span, MappingProxyType(ratings), tolerance, tuple(construction), at)


def named_positions(kind: Kind, names: tuple[str, ...]) -> Kind:
    names_of = dict(zip(kind.positions, names, strict=True))
    contacts = tuple(replace_positions(contact, names_of) for contact in kind.contacts)
    return replace(kind, positions=names, contacts=contacts)


def replace_positions(contact: Contact, names: Mapping[str, str]) -> Contact:
    return Contact(contact.a, contact.b, frozenset(names.get(p, p) for p in contact.positions))


_EXAMPLES = {"ohm": "22k 2W 10%", "F": ".01u 600V", "H": "2.5mH", "A": "1A", "Hz": "7MHz", "V": "90V"}


def _example(kind: Kind) -> str:
    return f"{kind.name} {_EXAMPLES.get(kind.unit, '')}".strip()


def _hint(kind: Kind, word: str, known: set[str]) -> str:
    from difflib import get_close_matches

    if word in CONDITIONS:
        return f"a condition goes after a comma: “{kind.name} …, {word}”"
    near = get_close_matches(word, sorted(known), 1)
    return f"did you mean {near[0]}?" if near else f"as in “{_example(kind)}”; a label stands in quotes"
