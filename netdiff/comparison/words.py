"""How the comparison speaks of parts, points and nets."""

from __future__ import annotations

from collections.abc import Iterable

from netdiff.circuit import Part
from netdiff.quantities import show


def some(items: Iterable[str], most: int = 4) -> str:
    """``a``, ``a and b``, ``a, b and c``, and beyond ``most`` the number that is left."""
    all_items = list(dict.fromkeys(items))
    if len(all_items) > most:
        return f"{', '.join(all_items[:most])} and {len(all_items) - most} more"
    if len(all_items) < 2:
        return "".join(all_items)
    return f"{', '.join(all_items[:-1])} and {all_items[-1]}"


_KIND_WORDS = {
    "relay-spst": "relay", "relay-spdt": "relay", "relay-dpst": "relay", "relay-dpdt": "relay",
    "relay-3pdt": "relay", "relay-4pdt": "relay", "delay-relay": "delay relay",
    "switch-spst": "switch", "switch-spdt": "switch", "switch-dpst": "switch", "switch-dpdt": "switch",
    "switch-3pdt": "switch", "switch-4pdt": "switch", "rotary": "rotary switch",
    "jack-2": "jack", "jack-3": "three-contact jack", "jack-2-break": "jack", "jack-3-break": "three-contact jack",
    "coax-socket": "coax socket", "phono-socket": "phono socket", "unknown": "an unidentified thing",
    "cord-2": "two-wire cord", "cord-3": "three-wire cord", "variable": "variable capacitor",
    "slider-resistor": "adjustable resistor", "strip": "terminal strip", "rectifier": "rectifier",
}  # fmt: skip


def kind_words(part: Part) -> str:
    if part.kind.type and part.kind.name in ("tube", "diode", "rectifier", "lamp"):
        return f"{part.kind.type} {part.kind.name}"
    return _KIND_WORDS.get(part.kind.name, part.kind.title.lower() or part.kind.name.replace("-", " "))


def value_words(part: Part) -> str:
    """``22 kΩ 2 W``; empty where nothing was said."""
    words = [show(part.value, part.kind.unit)] if part.value is not None and part.kind.unit else []
    words += [show(number, unit) for unit, number in part.ratings.items()]
    return " ".join(words)


def part_words(part: Part, *, label: bool = True) -> str:
    """``R7 (resistor 22 kΩ 2 W, “screen dropping”)``."""
    inner = " ".join(word for word in (kind_words(part), value_words(part)) if word)
    if label and part.label:
        inner += f", “{part.label}”"
    return f"{part.designator} ({inner})"


def a_or_an(words: str) -> str:
    """With its article: ``a 6V6GT``, ``an 866A``, ``an electrolytic capacitor``."""
    return f"{'an' if words[:1].lower() in 'aeiou' or words.startswith(('8', '11', '18')) else 'a'} {words}"


def percent(fraction: float) -> str:
    return f"{fraction * 100:+.0f} %"


def plural(count: int, one: str, many: str | None = None) -> str:
    return f"{count} {one if count == 1 else many or one + 's'}"
