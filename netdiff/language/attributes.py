"""What follows a comma: the construction of a run, how it is known, the condition of a part."""

from __future__ import annotations

from functools import lru_cache
from typing import Any, Final, NamedTuple

from netdiff.circuit import Place
from netdiff.language.faults import Source, listed, nearest
from netdiff.language.statements import Attribute
from netdiff.quantities import Quantity, read_quantity

CONDITIONS: Final = ("charred", "leaking", "cracked", "frayed", "corroded", "loose", "floating", "cold-joint")
EVIDENCE: Final = ("metered", "assumed")
UNIT_NAMES: Final = {
    "ohm": "ohms", "F": "farads", "H": "henries", "Hz": "hertz", "V": "volts", "Vac": "volts a.c.", "A": "amperes",
    "W": "watts", "m": "a length", "AWG": "a gauge", "s": "seconds", "%": "per cent",
}  # fmt: skip
_RUN_WORDS: Final = ("cable", "braid", "bare", "gap", "direct", *EVIDENCE, *CONDITIONS)


class Told(NamedTuple):
    """What the attributes of one line say of its run. ``fields`` are those of `netdiff.circuit.Run`."""

    fields: dict[str, Any]
    braid: tuple[str, str] | None = None
    gaps: tuple[tuple[float, str], ...] = ()


@lru_cache(maxsize=16384)
def _meaning(words: tuple[str, ...]) -> tuple[str, Any] | str:
    """Field and value of one attribute of a run, or what is wrong with it."""
    first = words[0]
    if first == "cable":
        return ("cable", words[1]) if len(words) == 2 else "a cable has one name: cable W3"
    if first == "bare" and len(words) == 2:
        length = read_quantity(words[1])
        return ("bare", length.value) if length is not None and length.unit == "m" else "a length: bare 25mm"
    if first == "gap":
        return "a gap has a length and a point: gap 3mm to S1.1"
    if len(words) > 1:
        joined = "".join(words)
        return f"without the blank: {joined}" if read_quantity(joined) else f"a comma between: {', '.join(words)}"
    if first in EVIDENCE:
        return "evidence", first
    if first == "direct":
        return "direct", True
    if first in CONDITIONS:
        return "conditions", first
    quantity = read_quantity(first)
    if quantity is not None and quantity.unit == "m":
        return "length", quantity.value
    if quantity is not None and quantity.unit == "AWG":
        return "gauge", quantity.value
    if quantity is not None and quantity.unit:
        return "a run takes a length (90mm) and a gauge (20AWG)"
    if quantity is not None:
        return "a length has a unit: 90mm, 4in"
    if first[0].isupper():
        return "cable_type", first
    near = nearest(first, _RUN_WORDS)
    return f"the nearest is `{near}`" if near else f'a remark stands in quotes: "{first}"'


def run_attributes(
    source: Source, place: Place, attributes: tuple[Attribute, ...], described: bool, drawn: bool
) -> Told:
    """``described``: the line names its conductor. ``drawn``: it stands in a stock file."""
    fields: dict[str, Any] = {}
    braid: tuple[str, str] | None = None
    gaps: list[tuple[float, str]] = []
    conditions: list[str] = []
    texts: list[str] = []
    for attribute in attributes:
        if attribute.text is not None:
            texts.append(attribute.text)
            continue
        if attribute.braid is not None:
            if braid is not None:
                source.fault(place, "the braid is said twice", "braid")
            braid = attribute.braid
            continue
        words = attribute.words
        if attribute.to:
            distance = read_quantity(words[1]) if len(words) == 2 and words[0] == "gap" else None
            if distance is None or distance.unit != "m":
                source.fault(place, f"`{' '.join(words)} to` says nothing of a run", words[0], "gap 3mm to S1.1")
            else:
                gaps.append((distance.value, attribute.to))
            continue
        meaning = _meaning(words)
        if isinstance(meaning, str):
            source.fault(place, f"`{' '.join(words)}` says nothing of a run", words[0], meaning)
            continue
        name, value = meaning
        if name == "conditions":
            conditions.append(value)
        elif name in fields and fields[name] != value:
            source.fault(place, f"two words say different things of one run: `{words[-1]}` is the second", words[-1])
        else:
            fields[name] = value
    if conditions:
        fields["conditions"] = tuple(conditions)
    if texts:
        fields["text"] = "; ".join(texts)
    _fits(source, place, fields, braid, bool(gaps), described, drawn)
    return Told(fields, braid, tuple(gaps))


def _fits(
    source: Source, place: Place, fields: dict[str, Any], braid: object, gaps: bool, described: bool, drawn: bool
) -> None:
    construction = [name for name in ("cable", "cable_type", "length", "gauge", "bare") if name in fields]
    if not described and (construction or braid is not None or gaps):
        line = source.lines[place.line - 1].strip()
        says = "a plain chain says nothing of the conductor"
        source.fault(place, says, "", f"say what it is: wire {line[:60]}")
    if drawn and ("conditions" in fields or "evidence" in fields):
        word = fields["evidence"] if "evidence" in fields else fields["conditions"][0]
        source.fault(place, f"`{word}` is said of a unit, not of a drawing", word)
    if described and "direct" in fields:
        source.fault(place, "`direct` is for a plain chain", "direct")


class Noted(NamedTuple):
    """What follows the first comma of a part, or stands on a terminal alone."""

    conditions: tuple[str, ...] = ()
    measured: str = ""


def part_attributes(source: Source, place: Place, attributes: tuple[Attribute, ...], terminal: bool = False) -> Noted:
    conditions: list[str] = []
    measured = ""
    for attribute in attributes:
        words = attribute.words
        if attribute.text is not None:
            conditions.append(attribute.text)
        elif len(words) == 1 and words[0] in CONDITIONS and not attribute.to:
            conditions.append(words[0])
        elif len(words) == 2 and words[0] == "measured" and not attribute.to and not terminal:
            measured = words[1]
        else:
            word = words[0] if words else "braid"
            known = CONDITIONS if terminal else (*CONDITIONS, "measured")
            near = nearest(word, known)
            hint = f"the nearest is `{near}`" if near else f"{listed(known)}, or a text in quotes"
            source.fault(place, f"`{' '.join(words) or 'braid'}` is no condition", word, hint)
    return Noted(tuple(conditions), measured)


def quantity_of(source: Source, place: Place, text: str, *units: str, m_thousand: bool = False) -> Quantity | None:
    """A quantity in one of these units (a bare number is in the first); a fault if it is none."""
    quantity = read_quantity(text, units[0], m_thousand)
    if quantity is not None and quantity.unit in units:
        return quantity
    wanted = listed(UNIT_NAMES[unit] for unit in units)
    if quantity is None:
        source.fault(place, f"`{text}` is no quantity", text, f"expected {wanted}")
    else:
        is_in = UNIT_NAMES.get(quantity.unit, "a bare number")
        source.fault(place, f"`{text}` is {is_in}", text, f"expected {wanted}")
    return None
