"""The catalogue in words: a list of the kinds, and one kind or tube type in full. Lines of text, no layout."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from netdiff.catalogue.catalogue import Catalogue
from netdiff.catalogue.near import nearest
from netdiff.catalogue.rows import Row, Size
from netdiff.circuit import Kind, Lug
from netdiff.quantities import show

_VALUES = {"ohm": "resistance", "F": "capacitance", "H": "inductance", "Hz": "frequency"}
_UNITS = {
    "ohm": "Ω", "F": "µF or pF", "H": "H", "Hz": "Hz", "V": "V", "Vac": "V AC", "A": "A", "W": "W", "s": "s",
}  # fmt: skip
_ELECTRODES = {
    "h": "heater", "ht": "heater tap", "f": "filament", "k": "cathode", "g": "grid", "p": "plate", "pd": "diode plate",
    "bp": "beam plates", "is": "internal shield", "sh": "shell or base sleeve", "ta": "target",
}  # fmt: skip
_FIGURES = {
    "plate_volts": ("plate, at most", "V"), "screen_volts": ("screen, at most", "V"),
    "plate_watts": ("plate dissipation, at most", "W"), "screen_watts": ("screen dissipation, at most", "W"),
    "plate_watts_both": ("both plates together, at most", "W"),
    "plate_watts_total": ("plate dissipation of both sections, at most", "W"),
    "screen_watts_total": ("screen dissipation of both sections, at most", "W"),
    "target_volts": ("target, at most", "V"), "inverse_volts": ("peak inverse volts, at most", "V"),
    "rms_volts_capacitor": ("each plate, capacitor-input filter, at most", "Vac"),
    "rms_volts_choke": ("each plate, choke-input filter, at most", "Vac"),
    "plate_amps": ("output current, at most", "A"), "peak_amps": ("peak current, at most", "A"),
    "drop_volts": ("drop", "V"), "first_capacitor": ("first filter capacitor, at most", "F"),
    "regulated_volts": ("regulates to", "V"), "least_amps": ("current, at least", "A"),
    "most_amps": ("current, at most", "A"), "least_supply_volts": ("supply to strike it, at least", "V"),
    "preheat_seconds": ("filament alone before plate volts, at least", "s"),
}  # fmt: skip
_CONFIDENCE = {"A": "the pins are standard", "B": "fairly sure of the pins: look at the tube before soldering"}


def listing(catalogue: Catalogue) -> list[tuple[str, str, str]]:
    """Every kind: its name as a part line writes it, what it is, its terminals."""
    out = []
    for name in catalogue.names():
        row = catalogue.row(name)
        if row is not None:
            out.append((f"{name}{_size_words(row)}", row.title, _terminals(row)))
    return out


def describe(catalogue: Catalogue, name: str) -> list[str] | None:
    """A kind or a tube type in full, one fact a line; None where the catalogue has no such name."""
    row = catalogue.row(name)
    if row is not None:
        return list(_kind(catalogue, row))
    tube = catalogue.tube(name)
    return list(_tube(tube)) if tube is not None else None


def nearest_name(catalogue: Catalogue, name: str) -> str:
    """The kind or tube type that a wrong name may have meant; empty where none is like it."""
    return catalogue.nearest(name) or nearest(name, catalogue.tube_types())


def _size_words(row: Row) -> str:
    return {"N": " N", "[N]": " [N]", "NxM": " NxM", "NAMES": " NAME NAME …", "TYPE": " TYPE"}.get(row.size, "")


def _terminals(row: Row) -> str:
    if row.any:
        return "any names" if row.family in ("", "block") else "those of its windings"
    if row.size == "NAMES":
        return "as named"
    if row.size == "TYPE":
        return "every pin of the base"
    names = [name.partition("=")[0] for name in row.terminals]
    if row.size == "NxM":
        return "one pole: c 1 … M; several: ca a1 … aM, cb b1 … bM …"
    if row.size:
        return " ".join("1 … N" if name == "1..N" else name for name in names)
    return " ".join(lug.name for lug in row.lugs(Size()))


def _kind(catalogue: Catalogue, row: Row) -> Iterator[str]:
    yield f"{row.name}{_size_words(row)}: {row.title}"
    if row.letters:
        letters = catalogue.class_letters
        yield "class letters: " + ", ".join(
            f"{mark} ({letters[mark]})" if mark in letters else mark for mark in row.letters
        )
    yield f"terminals: {_terminals(row)}"
    answers = [lug for lug in row.lugs(Size(2, 2)) if lug.aliases] if row.size in ("", "N") else []
    if answers:
        yield "also called: " + ", ".join(f"{lug.name} = {', '.join(lug.aliases)}" for lug in answers)
    swaps = row.exchanges(Size(2, 2)) if row.size in ("", "NxM") else ()
    if swaps:
        yield "interchangeable: " + "; ".join(f"{' '.join(a)} with {' '.join(b)}" for a, b in swaps)
    if row.polarised:
        yield "polarised: its two ends are not interchangeable"
    if row.inside:
        yield f"joined inside: {' '.join(row.inside)}"
    if row.shared:
        yield f"sections of one body share {' '.join(row.shared)}"
    yield from _contacts(row)
    yield from _takes(catalogue, row)
    yield f"source: {row.source or 'not said'}"


def _contacts(row: Row) -> Iterator[str]:
    if not row.positions:
        return
    size = Size(2, 3) if row.size == "NxM" else Size(2, 2)
    places = row.places(size)
    shown = "1 … M" if row.size == "NxM" else ", ".join(places)
    yield f"positions: {shown}; at rest {places[0]}"
    if row.size == "NxM":
        yield "contacts: in each position the common of every pole with the contact of that number"
        return
    touching = row.touching(size, places)
    for place in places if touching else ():
        pairs = [f"{contact.a} with {contact.b}" for contact in touching if place in contact.positions]
        yield f"contacts {place}: {', '.join(pairs) or 'none'}"


def _takes(catalogue: Catalogue, row: Row) -> Iterator[str]:
    if row.size == "TYPE":
        yield f"types: {' '.join(catalogue.tube_types())}"
    if row.value:
        meaning = _VALUES.get(row.value[0], "value")
        span = "; a range is taken too, and its upper end is the value" if row.span else ""
        yield f"{meaning}: in {' or '.join(_UNITS[unit] for unit in row.value)}{span}"
    if row.ratings:
        yield f"ratings: {', '.join(_UNITS[unit] for unit in row.ratings)}"
    if row.tolerance:
        yield "tolerance: in %"
    if row.type:
        yield "type: as printed on it (1N34A)"
    if row.words:
        yield f"construction: {', '.join(row.words)}"
    if row.hangs:
        but = f", but not a {' or '.join(row.stands)} one" if row.stands else ""
        yield f"hangs by its own leads{but}"
    if row.plugs:
        yield "plugs in: gone from its socket, the socket stays"
    if row.tie:
        yield "each terminal is a tie point"


def _tube(kind: Kind) -> Iterator[str]:
    facts = kind.facts
    code = f", basing {facts['base_code']}" if "base_code" in facts else ""
    yield f"tube {kind.type}: {kind.title}, {facts['base']} base{code}"
    yield "pins, from below, clockwise from the key, gap or index:"
    for lug in kind.terminals:
        yield f"  {_pin(lug, kind)}"
    for names in kind.inside:
        yield f"joined inside: {' '.join(names)}"
    if kind.swaps:
        yield "interchangeable: " + "; ".join(f"{' '.join(a)} with {' '.join(b)}" for a, b in kind.swaps)
    yield from _heater(facts)
    system = f" ({facts['rating_system']})" if "rating_system" in facts else ""
    for key, (says, unit) in _FIGURES.items():
        for name, service in ((key, system if says.endswith("at most") else ""), (f"icas_{key}", " (ICAS)")):
            value = facts.get(name)
            if isinstance(value, float):
                yield f"{says}: {show(value, unit)}{service}"
    yield f"confidence: {facts['confidence']} ({_CONFIDENCE[str(facts['confidence'])]})"
    yield f"source: {facts['source']}"


def _heater(facts: Mapping[str, str | float]) -> Iterator[str]:
    volts, amps = facts.get("heater_volts"), facts.get("heater_amps")
    if not (isinstance(volts, float) and isinstance(amps, float)):
        yield "no heater"
        return
    yield f"heater: {show(volts, 'V')} {show(amps, 'A')}, hot about {show(volts / amps, 'ohm')} (cold much less)"
    both, more = facts.get("heater_parallel_volts"), facts.get("heater_parallel_amps")
    if isinstance(both, float) and isinstance(more, float):
        yield f"heater, both ends joined, against its tap: {show(both, 'V')} {show(more, 'A')}"
    tap = facts.get("tap_volts")
    if isinstance(tap, float):
        yield f"heater tap: {show(tap, 'V')} between pins {str(facts['tap_pins']).replace(' ', ' and ')}"


def _pin(lug: Lug, kind: Kind) -> str:
    """``8  k  cathode, beam plates``."""
    place = next((name for name in lug.aliases if name.isdecimal() or name.startswith(("cap", "c", "r"))), lug.name)
    if lug.name == place:
        if lug.inner:
            return f"{place}: used inside by the maker, no tie point"
        return f"{place}: nothing, a tie point" if lug.tie else f"{place}: joined inside to another pin, nothing else"
    others = [alias for alias in lug.aliases if alias != place]
    return f"{place}: {lug.name}  {', '.join(_electrode(name) for name in (lug.name, *others))}"


def _electrode(name: str) -> str:
    stem = name.partition("-")[0]
    section = f" of section {stem[-1]}" if len(stem) > 1 and stem[-1] in "ab" and stem not in ("ta",) else ""
    bare = stem[:-1] if section else stem
    if bare in _ELECTRODES:
        return _ELECTRODES[bare] + section
    if bare[:1] == "g":
        return f"grid {bare[1:]}{section}"
    return f"{_ELECTRODES[bare[:1]]} end {bare[1:]}"
