"""Tube types: from a row of tubes.yaml to a kind with every pin of the base.

A pin answers to its electrode and to its number. Of several pins with one electrode the first has
the electrode's name and the others add their number (6146: ``k``, ``k-4``, ``k-6``); these are joined
inside. A pin without an electrode goes by its number and is a tie point.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator, Mapping
from itertools import combinations
from types import MappingProxyType
from typing import Final, NamedTuple

from netdiff.catalogue.near import nearest_hint
from netdiff.catalogue.plain import Faults, Spot, items, text, texts
from netdiff.catalogue.rows import Row
from netdiff.circuit import Kind, Lug, Swap
from netdiff.quantities import read_quantity

KEYS: Final = (
    "title", "like", "also", "base", "code", "pins", "heater", "parallel", "tap", "max", "icas", "system", "facts",
    "confidence", "source",
)  # fmt: skip
OWN_KEYS: Final = ("like", "also")
FIGURE_KEYS: Final = ("max", "icas", "facts")
"""Taken over by `like` figure by figure."""
FIGURES: Final = (
    "plate_volts", "screen_volts", "plate_watts", "screen_watts", "plate_watts_both", "plate_watts_total",
    "screen_watts_total", "target_volts", "inverse_volts", "rms_volts_capacitor", "rms_volts_choke", "plate_amps",
    "peak_amps", "drop_volts", "first_capacitor", "regulated_volts", "least_amps", "most_amps", "least_supply_volts",
    "preheat_seconds",
)  # fmt: skip
CONFIDENCE: Final = ("A", "B")
PLACES: Final = ("cap", "cap-a", "cap-b", "center", "ring", "radiator")
_ELECTRODE: Final = re.compile(r"(?:h|ht|f|ft|bp|is|sh|ta|nc|ic|jumper|(?:k|p|pd|g[1-7])[ab]?)")
_SECTION: Final = re.compile(r"(k|p|pd|g[1-7])([ab])")
_LAST: Final = ("bp", "is", "sh")
"""Electrodes that only lend their name to a pin that has no other."""


class Pin(NamedTuple):
    place: str
    electrodes: tuple[str, ...]


def read_tube(
    name: str,
    spots: Mapping[str, Spot],
    tube: Row,
    bases: Mapping[str, int],
    sources: Mapping[str, str],
    faults: Faults,
) -> Kind | None:
    """The kind of a tube type from its keys (those taken over by `like` among them), or None and its faults.

    ``tube`` is the row of the kind `tube`; ``bases`` has the number of pins of each base.
    """
    before = len(faults.met)
    _check_keys(name, spots, bases, faults)
    if len(faults.met) > before:
        return None
    pins = tuple(_pins(spots["pins"]))
    base = text(spots["base"])
    _check_pins(name, spots["pins"], pins, base, bases[base], faults)
    facts = _facts(name, spots, sources, faults)
    if len(faults.met) > before:
        return None
    lugs, joined = _lugs(pins, bases[base])
    return Kind(
        name=tube.name, title=text(spots.get("title"), "tube"), type=name, letters=tube.letters, terminals=lugs,
        swaps=tuple(_swaps(pins, joined, "tap" in spots)), plugs=tube.plugs, inside=tuple(joined),
        positions=tube.positions, family=tube.family, facts=MappingProxyType(facts),
    )  # fmt: skip


def _pins(spot: Spot) -> Iterator[Pin]:
    for item in text(spot).split(","):
        place, _, electrodes = item.strip().partition(" ")
        yield Pin(place, tuple(electrodes.strip().split("+")))


def _check_keys(name: str, spots: Mapping[str, Spot], bases: Mapping[str, int], faults: Faults) -> None:
    if not spots:
        faults.at(1, 1, f"tube {name} is an empty row", "title, base, pins, heater, source")
        return
    here = next(iter(spots.values()))
    for key, spot in spots.items():
        if key not in KEYS:
            faults.add(spot, f"`{key}` says nothing of a tube", nearest_hint(key, KEYS))
        elif (key in FIGURE_KEYS) != isinstance(spot.value, dict) and key != "also":
            faults.add(spot, f"`{key}` of {name} is a {'table of figures' if key in FIGURE_KEYS else 'text'}")
    for key in ("base", "pins"):
        if key not in spots:
            faults.add(here, f"tube {name} has no `{key}`")
    if "base" in spots and text(spots["base"]) not in bases:
        faults.add(spots["base"], f"`{text(spots['base'])}` is no base", nearest_hint(text(spots["base"]), bases))
    if "confidence" in spots and text(spots["confidence"]) not in CONFIDENCE:
        says = f"{name}: pins that one would not solder from stay out of a catalogue"
        faults.add(spots["confidence"], says, f"confidence is {' or '.join(CONFIDENCE)}")


def _check_pins(name: str, spot: Spot, pins: tuple[Pin, ...], base: str, count: int, faults: Faults) -> None:
    seen: set[str] = set()
    for pin in pins:
        number = int(pin.place) if pin.place.isdecimal() and len(pin.place) < 4 else 0
        if pin.place not in PLACES and not 1 <= number <= count:
            faults.add(spot, f"{name}: a {base} base has no pin `{pin.place}`", f"1 to {count}, {', '.join(PLACES)}")
        elif pin.place in seen:
            faults.add(spot, f"{name}: pin {pin.place} is there twice")
        seen.add(pin.place)
        for electrode in pin.electrodes:
            if _ELECTRODE.fullmatch(electrode) is None:
                faults.add(
                    spot, f"{name}: `{electrode}` at pin {pin.place} is no electrode", "h f k g1 .. g5 p pd bp is"
                )
    for lead in "hf":
        ends = sum(lead in pin.electrodes for pin in pins)
        if ends not in (0, 2):
            faults.add(spot, f"{name}: {ends} ends of a {'heater' if lead == 'h' else 'filament'}; it has two")


def _named(pin: Pin) -> str:
    """The electrode that gives a pin its name; empty for a pin without one."""
    real = [e for e in pin.electrodes if e not in ("nc", "ic", "jumper")]
    leads = [e for e in real if e in ("h", "f")]
    return (leads or [e for e in real if e not in _LAST] or real or [""])[0]


def _lugs(pins: tuple[Pin, ...], count: int) -> tuple[tuple[Lug, ...], list[tuple[str, ...]]]:
    """Every terminal in the order of the pins, then the caps; and the terminals joined inside."""
    at = {pin.place: pin for pin in pins}
    numbers = [str(number) for number in range(1, count + 1)]
    lugs: list[Lug] = []
    taken: dict[str, list[str]] = defaultdict(list)
    ends = {"h": 0, "f": 0}
    for place in [*numbers, *(pin.place for pin in pins if pin.place not in numbers)]:
        pin = at.get(place, Pin(place, ("nc",)))
        electrode = _named(pin)
        if not electrode:
            lugs.append(Lug(place, tie="nc" in pin.electrodes, inner="ic" in pin.electrodes))
            if "jumper" in pin.electrodes:
                taken["jumper"].append(place)
            continue
        if electrode in ends:
            ends[electrode] += 1
            electrode += str(ends[electrode])
        name = f"{electrode}-{place}" if taken[electrode] else electrode
        more = () if taken[electrode] else tuple(e for e in pin.electrodes if e != _named(pin))
        taken[electrode].append(name)
        lugs.append(Lug(name, (place.replace("cap-", "cap"), *more)))
    return _without_doubles(lugs), [tuple(names) for names in taken.values() if len(names) > 1]


def _without_doubles(lugs: list[Lug]) -> tuple[Lug, ...]:
    """An alias that two pins would answer to (the shield of two pins) goes to the first; a name beats an alias."""
    taken = {lug.name for lug in lugs}
    out = []
    for lug in lugs:
        aliases = tuple(alias for alias in lug.aliases if alias not in taken)
        taken.update(aliases)
        out.append(Lug(lug.name, aliases, lug.tie, lug.inner))
    return tuple(out)


def _swaps(pins: tuple[Pin, ...], joined: list[tuple[str, ...]], lopsided: bool) -> Iterator[Swap]:
    """Whole sections, heater ends, and the pins of one electrode.

    The ends of a heater are not interchangeable where the tap is not in the middle or one end is the
    cathode's too.
    """
    sections: dict[str, dict[str, None]] = {"a": {}, "b": {}}
    for pin in pins:
        match = _SECTION.fullmatch(_named(pin))
        if match is not None:
            sections[match[2]][match[1]] = None
    stems = sorted(sections["a"])
    if stems and stems == sorted(sections["b"]):
        yield tuple(f"{stem}a" for stem in stems), tuple(f"{stem}b" for stem in stems)
    for lead in "hf":
        if not lopsided and sum(pin.electrodes == (lead,) for pin in pins) == 2:
            yield (f"{lead}1",), (f"{lead}2",)
    for names in joined:
        yield from (((a,), (b,)) for a, b in combinations(names, 2))


def _facts(name: str, spots: Mapping[str, Spot], sources: Mapping[str, str], faults: Faults) -> dict[str, str | float]:
    facts: dict[str, str | float] = {"base": text(spots["base"])}
    if "code" in spots:
        facts["base_code"] = text(spots["code"])
    for key, prefix in (("heater", "heater"), ("parallel", "heater_parallel")):
        if key in spots:
            volts, amps = _two(name, key, spots[key], faults)
            facts[f"{prefix}_volts"], facts[f"{prefix}_amps"] = volts, amps
    if "tap" in spots:
        words = texts(spots["tap"])
        volts_at = read_quantity(words[2]) if len(words) == 3 else None
        if volts_at is None or volts_at.unit != "V":
            faults.add(spots["tap"], f"`tap` of {name} is two pins and the volts between them", "tap: 2 3 7.5V")
        else:
            facts["tap_pins"], facts["tap_volts"] = f"{words[0]} {words[1]}", volts_at.value
    for key in FIGURE_KEYS:
        for figure, spot in items(spots[key]).items() if key in spots else ():
            if figure not in FIGURES:
                faults.add(spot, f"`{figure}` is no figure of a tube", nearest_hint(figure, FIGURES))
                continue
            number = _number(spot)
            if number is None:
                faults.add(spot, f"`{figure}` of {name} is a number of 0 or more, in SI units without the unit")
                continue
            facts[f"icas_{figure}" if key == "icas" else figure] = number
    if "system" in spots:
        facts["rating_system"] = text(spots["system"])
    facts["confidence"] = text(spots.get("confidence"), "B")
    facts["source"] = _sourced(text(spots.get("source"), "a catalogue of the user's own"), sources)
    return facts


def _number(spot: Spot) -> float | None:
    if re.fullmatch(r"\d{1,12}(\.\d{1,12})?(e[+-]?\d{1,2})?", text(spot)) is None:
        return None
    return float(text(spot))


def _two(name: str, key: str, spot: Spot, faults: Faults) -> tuple[float, float]:
    found = {q.unit: q.value for q in map(read_quantity, texts(spot)) if q is not None}
    if set(found) != {"V", "A"} or min(found.values()) <= 0:
        faults.add(spot, f"`{key}` of {name} is volts and amperes", f"{key}: 6.3V 0.3A")
        return 0.0, 0.0
    return found["V"], found["A"]


def _sourced(says: str, sources: Mapping[str, str]) -> str:
    """The source, with what a mark like ``[S4]`` stands for in its place."""
    return re.sub(r"\[(\w+)\]", lambda match: sources.get(match[1], match[0]), says)
