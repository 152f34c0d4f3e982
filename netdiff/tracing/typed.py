"""Answers as they are typed at the bench, with one finger."""

from __future__ import annotations

import re
from collections.abc import Container
from typing import Any, Final

from netdiff.circuit import is_foreign
from netdiff.tracing.answers import Answer, Item
from netdiff.tracing.questions import Question
from netdiff.tracing.telling import Unclear

CONDUCTORS: Final = ("wire", "bare", "bus", "shielded", "coax", "twisted", "strap", "bolted")
_STATEMENTS: Final = (
    "at", "traced", "as-drawn", "missing", "ohms", "volts", "amps", "watts", "observed", "photo", "note", "keep", "net",
    "zone", "insulated", "winding", "inspected", "by", "state",
)  # fmt: skip
_YES: Final = ("y", "yes", "ok", "as-drawn", "as drawn", "drawn")
_NO: Final = ("n", "no", "differs", "not as drawn")
_ITEM: Final = re.compile(r"\?|\?{0,1}[A-Z]+[0-9]+[A-Z]?(\.[\w+-]+)?|[a-z][\w+-]*")
_QUANTITY: Final = re.compile(r"[.\d].*(m|mm|cm|in|inch|ft)")
_GAUGE: Final = re.compile(r"\d+(AWG|ga)", re.IGNORECASE)
_CABLE: Final = re.compile(r"[A-Z]+-?\d+[A-Z/]*")
_CONDITIONS: Final = ("frayed", "corroded", "loose", "charred", "cracked", "floating", "cold-joint", "leaking")


def parse(text: str, question: Question | None, kinds: Container[str] = ()) -> Answer:
    """The answer that a text means; raises `telling.Unclear` with what is missing.

    ``kinds`` are the catalogue's: by them ``?R3 resistor`` is told from ``?R3 chassis``.
    """
    typed = " ".join(text.replace("“", '"').replace("”", '"').split())
    low = typed.lower()
    instead = low.startswith("instead ")
    if instead:
        typed, low = typed[8:].strip(), low[8:].strip()
    if not typed:
        raise Unclear("Type an answer, or `help`.")
    zone = question is not None and question.form in ("zone", "look")
    one = _one_word(low, zone)
    if one is not None:
        return Answer(**one, instead=instead)
    exceptions = re.fullmatch(r"(?:y|yes|as[- ]drawn|all) but (.+)", typed, re.IGNORECASE)
    if exceptions:
        return Answer("but", but=tuple(exceptions[1].replace(",", " ").split()), instead=instead)
    if low.startswith("is "):
        return Answer("read", words=typed[3:], instead=instead)
    if low.startswith("some "):
        return Answer("some", items=_items(typed[5:], kinds), instead=instead)
    if _is_statement(typed, zone, kinds) or _is_condition(typed, question):
        return Answer("statement", words=typed, instead=instead)
    return Answer("these", items=_items(typed, kinds), instead=instead)


def _one_word(low: str, zone: bool) -> dict[str, Any] | None:
    if low in _YES:
        return {"kind": "none"} if zone else {"kind": "as-drawn"}
    if low in _NO:
        return {"kind": "none"} if zone else {"kind": "differs"}
    fixed = {
        "open": "nothing", "nothing": "none" if zone else "nothing", "none": "none" if zone else "nothing",
        "missing": "missing", "gone": "missing", "skip": "skip", "s": "skip", "later": "skip",
        "cannot see": "unseen", "can't see": "unseen", "unseen": "unseen",
    }  # fmt: skip
    return {"kind": fixed[low]} if low in fixed else None


def _is_statement(typed: str, zone: bool, kinds: Container[str]) -> bool:
    first = typed.split()[0]
    if first in _STATEMENTS or (" -- " in typed.split(",")[0] and len(_split(typed, ";")) == 1):
        return True
    if len(_split(typed, ";")) > 1 or first in CONDUCTORS:
        return False
    words = typed.split(",")[0].split()
    if zone:
        return True
    # `R12 10k 25W` reads a part; `R12 C7` are two things that land. A stranger with a kind is declared.
    return (len(words) > 1 and not all(_ITEM.fullmatch(word) for word in words)) or _declares(words, kinds)


def _is_condition(typed: str, question: Question | None) -> bool:
    """`V1.k, cold-joint` at a question about V1 says how the terminal looks, not what lands there."""
    first, comma, rest = typed.partition(",")
    mine = question is not None and first in question.points
    return bool(comma) and mine and all(word.strip() in _CONDITIONS for word in rest.split(","))


def _items(text: str, kinds: Container[str]) -> tuple[Item, ...]:
    """Things parted by blanks; what is described stands between semicolons: ``R5 C7; wire TB1.2, 90mm, "red"``."""
    out: list[Item] = []
    for segment in map(str.strip, _split(text, ";")):
        words = segment.split()
        if not words:
            continue
        if words[0] in CONDUCTORS:
            out.append(_described(segment))
        elif _declares(words, kinds):
            out.append(Item(words[0], declare=segment.partition(" ")[2]))
        elif "," in segment:
            first, *details = _split(segment, ",")
            out.append(_detailed(first.strip(), "", details))
        else:
            wrong = next((word for word in words if not _ITEM.fullmatch(word)), "")
            if wrong:
                raise Unclear(f"`{wrong}` is no part, terminal or net: such as R5, C7.2, TB1.2, chassis, ?R3.")
            out += [Item(word) for word in words]
    if not out:
        raise Unclear("What lands here? Such as: R5 C7.2 TB1.2")
    return tuple(out)


def _declares(words: list[str], kinds: Container[str]) -> bool:
    """A foreign part with what it is after it: ``?R3 resistor 680``."""
    if len(words) < 2 or not is_foreign(words[0]) or "." in words[0]:
        return False
    return words[1] in kinds


def _described(segment: str) -> Item:
    conductor, _, rest = segment.partition(" ")
    to, *details = _split(rest, ",")
    if not to.strip():
        raise Unclear(f"`{conductor}`: where does it go? Such as: {conductor} TB1.2, 90mm")
    return _detailed(to.strip(), conductor, details)


def _detailed(to: str, conductor: str, details: list[str]) -> Item:
    item = Item(to, conductor=conductor)
    for raw in details:
        word = raw.strip()
        if not word:
            continue
        if word.startswith('"'):
            item = item._replace(text=word.strip('"'))
        elif word.startswith("cable "):
            item = item._replace(cable=word[6:].strip())
        elif word.startswith("braid "):
            here, dashes, there = word[6:].partition("--")
            if not dashes:
                raise Unclear("The braid has two ends: braid E5.1 -- open (this side first)")
            item = item._replace(braid=(here.strip(), there.strip()))
        elif word.startswith("bare "):
            item = item._replace(bare=word[5:].strip())
        elif word.startswith("gap "):
            item = item._replace(gap=word[4:].strip())
        elif word in ("metered", "assumed", "seen"):
            item = item._replace(evidence="" if word == "seen" else word)
        elif word in _CONDITIONS:
            item = item._replace(condition=word)
        elif _GAUGE.fullmatch(word):
            item = item._replace(gauge=word)
        elif _QUANTITY.fullmatch(word):
            item = item._replace(length=word)
        elif _CABLE.fullmatch(word):
            item = item._replace(cable_type=word)
        else:
            raise Unclear(f'`{word}` says nothing of a conductor: length, gauge, "colour", cable W3, braid A -- B, …')
    return item


def _split(text: str, sign: str) -> list[str]:
    """Split at a sign that stands outside quotes."""
    return re.split(rf'{sign}(?=(?:[^"]*"[^"]*")*[^"]*$)', text)
