"""From what the page sends to an answer of the engine: every field checked, words put as the language writes them."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, Final, get_args

from netdiff.language.spelling import quoted
from netdiff.tracing.answers import Answer, Item, Kind

LONGEST: Final = 2000
"""Characters of one field: a note of a page."""

MOST: Final = 60
"""Things on one lug, or exceptions of one zone, in one answer."""

KINDS: Final = frozenset(get_args(Kind))
QUANTITIES: Final = {"ohms": "ohm", "volts": "V", "amps": "A", "watts": "W"}
"""With the unit that a bare number gets."""

POWERED: Final = ("volts", "amps", "watts")
"""Readings that are taken with the mains on: the unit has to be made dead anew before a hand goes in."""


_NAME: Final = re.compile(r"[\w?+.-]{1,60}")


class Unclear(ValueError):
    """What is wrong with what the page sent, in a sentence."""


def answer(sent: Mapping[str, Any]) -> Answer:
    """The answer that these fields make; raises Unclear."""
    kind, about = _word(sent, "kind"), _word(sent, "about")
    instead = sent.get("instead") is True
    if kind in _STATEMENTS:
        return Answer("statement", about, words=_STATEMENTS[kind](sent), instead=instead)
    if kind not in KINDS:
        raise Unclear(f"`{kind}` is no answer")
    items = tuple(_item(one) for one in _list(sent, "items"))
    but = tuple(text(one) for one in _list(sent, "but"))
    words = text(sent.get("words", ""))
    if kind == "read":
        words = _read(sent)
    if kind in ("these", "some") and not items:
        raise Unclear("nothing was chosen: choose what lands here, or answer that nothing does")
    if kind == "but" and not but:
        raise Unclear("no exception was chosen: choose what is not as drawn")
    if kind in ("read", "statement") and not words:
        raise Unclear("nothing was written")
    return Answer(kind, about, items, but, words, instead)  # type: ignore[arg-type]


def powered(one: Answer) -> bool:
    """The answer is a reading that was taken under power."""
    return one.kind == "statement" and one.words.split(maxsplit=1)[:1] != [] and one.words.split()[0] in POWERED


def points(of: str) -> list[str]:
    """The parts and terminals that something is said of."""
    named = text(of).replace(",", " ").split()
    if any(not _NAME.fullmatch(one) for one in named):
        raise Unclear("name parts or terminals, such as V5 or V5.k")
    return named


def text(value: Any) -> str:
    """One line of text without control characters."""
    if not isinstance(value, str):
        raise Unclear("a field is no text")
    if len(value) > LONGEST:
        raise Unclear(f"a field has {len(value)} characters; {LONGEST} at most are taken")
    line = " ".join(value.split())
    if not line.isprintable():
        raise Unclear("there is a control character in the text")
    return line


def _word(sent: Mapping[str, Any], name: str) -> str:
    return text(sent.get(name, ""))


def _list(sent: Mapping[str, Any], name: str) -> list[Any]:
    value = sent.get(name, [])
    if not isinstance(value, list) or len(value) > MOST:
        raise Unclear(f"`{name}` is no list of at most {MOST}")
    return value


def _item(sent: Any) -> Item:
    if not isinstance(sent, Mapping):
        raise Unclear("what lands here is no record")
    fields = {name: _word(sent, name) for name in Item._fields if name != "braid"}
    if isinstance(sent.get("new"), Mapping):
        fields["declare"] = _described(sent["new"])
    if not fields["to"]:
        raise Unclear("something lands here, and nobody said what")
    near, far = _word(sent, "braid_here"), _word(sent, "braid_there")
    fields["text"] = fields["text"].replace('"', "'")
    return Item(**fields, braid=(near or "?", far or "?") if near or far else None)


def _read(sent: Mapping[str, Any]) -> str:
    """``10k 25W, charred, measured 35k "label"`` from its fields; ``words`` stands first as typed."""
    value = " ".join(filter(None, (_word(sent, "words"), _word(sent, "value") + _word(sent, "unit"),
                                   *(_number(sent, name, unit) for name, unit in _RATINGS))))  # fmt: skip
    parts = [value, *(text(one) for one in _list(sent, "conditions"))]
    if measured := _word(sent, "measured"):
        parts.append(f"measured {measured}{_word(sent, 'measured_unit')}")
    if label := _word(sent, "text"):
        parts.append(quoted(label))
    if not value:
        return f", {', '.join(parts[1:])}" if parts[1:] else ""
    return ", ".join(parts)


_RATINGS: Final = (("watts", "W"), ("volts", "V"), ("amps", "A"))


def _number(sent: Mapping[str, Any], name: str, unit: str) -> str:
    """A rating with its unit, which a numeric pad does not have."""
    typed = _word(sent, name)
    return typed + unit if typed and typed[-1].isdigit() else typed


def _reading(sent: Mapping[str, Any]) -> str:
    quantity, a, b = _word(sent, "quantity"), _word(sent, "a"), _word(sent, "b")
    value, state = _word(sent, "value") + _word(sent, "unit"), _word(sent, "state")
    if quantity not in QUANTITIES:
        raise Unclear("a reading is of ohms, volts, amperes or watts")
    if not a or not value:
        raise Unclear("a reading has a place and a value")
    if value[-1].isdigit() and value != "0":
        value += QUANTITIES[quantity]
    between = f"{a} -- {b}" if b else a
    return f"{quantity} {between} = {value}" + (f" in {state}" if state and state != "rest" else "")


def _note(sent: Mapping[str, Any]) -> str:
    said = _word(sent, "text")
    if not said:
        raise Unclear("the note is empty")
    return " ".join(filter(None, ("note", _word(sent, "of"), quoted(said))))


def _condition(sent: Mapping[str, Any]) -> str:
    where, what = _word(sent, "of"), [text(one) for one in _list(sent, "conditions")]
    if label := _word(sent, "text"):
        what.append(quoted(label))
    if not where or not what:
        raise Unclear("a condition has a place and a word")
    return f"{where}, {', '.join(what)}"


def _foreign(sent: Mapping[str, Any]) -> str:
    name = _word(sent, "name")
    if not name:
        raise Unclear("a part that the drawing lacks has a name that starts with `?`")
    return f"{name} {_described(sent)}"


def _described(sent: Mapping[str, Any]) -> str:
    """``resistor 12k 1W "brown"``: a part that the drawing lacks, without its name."""
    kind = _word(sent, "part")
    if not kind:
        raise Unclear("nobody said what kind of part it is: `unknown` will do")
    words = [kind, _word(sent, "value") + _word(sent, "unit"), *(_number(sent, n, u) for n, u in _RATINGS)]
    if label := _word(sent, "text"):
        words.append(quoted(label))
    return " ".join(filter(None, words))


_STATEMENTS: Final = {"reading": _reading, "note": _note, "condition": _condition, "foreign": _foreign}
