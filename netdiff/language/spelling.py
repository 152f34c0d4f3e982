"""One statement at a time, written as the language reads it: quantities, texts, parts, runs, states, readings.

>>> from netdiff.circuit import Net, Run
>>> net_line(Net("b+", "supply", 250.0)), run_line(Run("R1.1", "b+", "wire", length=0.09, text="red"))
('net b+ supply 250V', 'wire R1.1 -- b+, 90mm, "red"')
>>> quantity(4700.0, "ohm", short=True), quantity(5e-8, "F"), quantity(0.1, "%")
('4.7k', '0.05uF', '10%')

What is written reads back to the very same floating point number.
"""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from typing import TYPE_CHECKING, Final

from netdiff.circuit import OPEN, UNFOLLOWED, Kind, Load, Net, Part, Reading, Run, Signal, State, Winding
from netdiff.language.attributes import CONDITIONS
from netdiff.language.lexing import ALIKE, CONTROL
from netdiff.quantities import LONGEST

if TYPE_CHECKING:
    from netdiff.catalogue import Catalogue

# Unit: from which size up, the power of ten, the suffix. As `netdiff tidy` and drawings of the time write
# them; `megohm` and `meg` are a million ohms even where a drawing writes M for a thousand.
_SCALES: Final[dict[str, tuple[tuple[float, int, str], ...]]] = {
    "ohm": ((0.0, 0, "ohm"), (1e3, 3, "kohm"), (1e6, 6, "megohm")),
    "F": ((0.0, -12, "pF"), (1e-9, -6, "uF")),
    "H": ((0.0, -6, "uH"), (1e-3, -3, "mH"), (1.0, 0, "H")),
    "Hz": ((0.0, 0, "Hz"), (1e3, 3, "kHz"), (1e6, 6, "MHz")),
    "V": ((0.0, -3, "mV"), (0.1, 0, "V"), (1e4, 3, "kV")),
    "Vac": ((0.0, -3, "mVac"), (0.1, 0, "Vac"), (1e4, 3, "kVac")),
    "A": ((0.0, -6, "uA"), (1e-3, -3, "mA"), (1.0, 0, "A")),
    "W": ((0.0, -3, "mW"), (0.1, 0, "W"), (1e4, 3, "kW")),
    "m": ((0.0, -3, "mm"), (1.0, 0, "m")),
    "s": ((0.0, -3, "ms"), (0.1, 0, "s")),
    "%": ((0.0, -2, "%"),),
    "AWG": ((0.0, 0, "AWG"),),
}
_SHORT: Final = {"ohm": "ohm", "kohm": "k", "megohm": "meg"}
_METERS: Final = {"ohms": "ohm", "volts": "V", "amps": "A", "watts": "W"}


def quantity(value: float, unit: str, *, short: bool = False) -> str:
    """A value in SI units (a fraction for ``%``) as one word. ``short``: ``22k`` where ohms are meant anyway."""
    steps = _SCALES[unit]
    fitting = [step for step in steps if abs(value) >= step[0]]
    _, exponent, suffix = fitting[-1] if value else next((step for step in steps if step[1] == 0), steps[0])
    if short:
        suffix = _SHORT.get(suffix, suffix)
    return decimal(value, exponent, LONGEST - len(suffix)) + suffix


def decimal(value: float, exponent: int = 0, longest: int = LONGEST) -> str:
    """The shortest decimal number that, times ten to the exponent, is this float; without an ``e``."""
    for digits in (repr(float(value)), *(f"{value:.{n}g}" for n in (15, 12, 9, 6, 3))):
        out = format(Decimal(digits).scaleb(-exponent), "f")
        out = out.rstrip("0").rstrip(".") if "." in out else out
        if len(out) <= longest:
            return out
    return "0"  # nothing of a radio set is so small


def span(low: float, high: float, unit: str, *, short: bool = False) -> str:
    """``1.8MHz..30MHz``."""
    return f"{quantity(low, unit, short=short)}..{quantity(high, unit, short=short)}"


def plain(text: str) -> str:
    """A text as one line that the reader takes as it stands: no line ends, no control characters."""
    if text.isascii() and text.isprintable():
        return text
    return CONTROL.sub(" ", text.translate(ALIKE).replace("\t", " ").replace("\n", " ").replace("\r", " "))


def quoted(text: str) -> str:
    return '"' + plain(text).replace('"', '""') + '"'


def comment(text: str) -> str:
    return f"# {plain(text)}".rstrip()


# --- parts and windings


def part_words(part: Part, catalogue: Catalogue) -> str:
    """The kind, the value, the ratings, the tolerance, the construction, the position at rest."""
    kind = part.kind
    row = catalogue.row(kind.name)
    words = [kind.name]
    if row is not None and row.size == "NAMES":
        words += [lug.name for lug in kind.terminals]
    elif kind.type:
        words.append(kind.type)
    unit = kind.unit or (row.value[0] if row is not None and row.value else "")
    short = unit == "ohm" and (row is None or row.value[:1] == ("ohm",))
    if part.span is not None and unit:
        words.append(span(*part.span, unit, short=short))
    elif part.value is not None and unit:
        words.append(quantity(part.value, unit, short=short))
    words += [quantity(value, unit) for unit, value in part.ratings.items()]
    if part.tolerance is not None:
        words.append(quantity(part.tolerance, "%"))
    words += part.words
    if kind.positions and kind.positions != _usual_positions(kind, catalogue):
        words.append("/".join(kind.positions))
    if part.at:
        words += ["at", part.at]
    return " ".join(words)


def _usual_positions(kind: Kind, catalogue: Catalogue) -> tuple[str, ...]:
    """The names that the catalogue gives the positions of such a switch."""
    made = catalogue.make(kind.name, (kind.type,) if kind.type else ()).kind
    return made.positions if made is not None else kind.positions


def part_line(part: Part, catalogue: Catalogue) -> str:
    label = f" {quoted(part.label)}" if part.label else ""
    return f"{part.designator:<4} {part_words(part, catalogue)}{label}"


def condition_words(conditions: Iterable[str]) -> list[str]:
    return [word if word in CONDITIONS else quoted(word) for word in conditions]


def read_part_line(part: Part, catalogue: Catalogue) -> str:
    """A part as it was read at the bench: its kind only if somebody read it; condition and measured value."""
    words = part_line(part, catalogue) if part.read_off or part.foreign else part.designator
    if not part.read_off and not part.foreign and part.label:
        words += f" {quoted(part.label)}"
    more = condition_words(part.conditions)
    if part.measured is not None and part.kind.unit:
        more.append(f"measured {quantity(part.measured, part.kind.unit)}")
    return ", ".join([words, *more])


def winding_line(winding: Winding) -> str:
    words = [f"winding {winding.part} {' -- '.join(winding.terminals)}"]
    if winding.volts is not None:
        words.append(quantity(winding.volts, "Vac"))
    if winding.inductance is not None:
        words.append(quantity(winding.inductance, "H"))
    if winding.resistance is not None:
        words.append(quantity(winding.resistance, "ohm"))
    if winding.label:
        words.append(quoted(winding.label))
    return ", ".join(words)


# --- nets and runs


def net_line(net: Net) -> str:
    words = ["net", net.name]
    if net.purpose:
        words.append(net.purpose)
    if net.volts is not None:
        words.append(quantity(net.volts, "Vac" if net.ac else "V"))
    if net.impedance is not None:
        words.append(quantity(net.impedance, "ohm"))
    if net.power is not None:
        words.append(quantity(net.power, "W"))
    if net.band is not None:
        low, high = net.band
        words.append(quantity(low, "Hz") if low == high else span(low, high, "Hz"))
    if net.shielded:
        words.append("shielded")
    return " ".join(words)


def run_line(run: Run, *, drawn: bool = True) -> str:
    """One run. A drawing says nothing of a unit's condition, or of how a run is known.

    ``direct`` is for a plain chain: of a described run it is left out here (see `direct_line`).
    """
    a, b, braid = run.a, run.b, run.braid
    if a in (OPEN, UNFOLLOWED):
        a, b, braid = b, a, braid and (braid[1], braid[0])
    words = [f"{run.conductor} {a} -- {b}".lstrip()]
    if run.cable:
        words.append(f"cable {run.cable}")
    if run.cable_type:
        words.append(run.cable_type)
    if run.length is not None:
        words.append(quantity(run.length, "m"))
    if run.gauge is not None:
        words.append(quantity(run.gauge, "AWG"))
    if run.text:
        words.append(quoted(run.text))
    if braid is not None:
        words.append(f"braid {braid[0]} -- {braid[1]}")
    if run.bare is not None:
        words.append(f"bare {quantity(run.bare, 'm')}")
    words += [f"gap {quantity(gap.distance, 'm')} to {gap.to}" for gap in run.gaps]
    if not drawn:
        if run.evidence in ("metered", "assumed"):
            words.append(run.evidence)
        words += condition_words(run.conditions)
    if run.direct and not run.conductor:
        words.append("direct")
    return ", ".join(words)


def direct_line(run: Run) -> str:
    """The chain that says of a described run where its end lands."""
    return f"{run.a} -- {run.b}, direct"


# --- the set at work


def state_line(state: State) -> str:
    head = f"state {state.name}" + (f" {quoted(state.title)}" if state.title else "")
    if not state.power:
        head += ", power off"
    by_position: dict[str, list[str]] = {}
    for designator, position in state.settings.items():
        by_position.setdefault(position, []).append(designator)
    settings = [f"{' '.join(names)} {_at(position)}{position}" for position, names in by_position.items()]
    return f"{head}: {', '.join(settings)}" if settings else head


def _at(position: str) -> str:
    return "" if position in ("on", "off", "in", "out", "open", "closed") else "at "


def reading_line(reading: Reading) -> str:
    unit = "Vac" if reading.ac else _METERS[reading.quantity]
    spots = f"{reading.a} -- {reading.b}" if reading.b else reading.a
    where = "" if reading.quantity == "ohms" and reading.state == "rest" else f" in {reading.state}"
    return f"{reading.quantity} {spots} = {_amount(reading, unit)}{where}"


def _amount(reading: Reading, unit: str) -> str:
    nominal, low, high = reading.nominal, reading.low, reading.high
    short = unit == "ohm"
    if reading.open:
        return OPEN
    if nominal is None:
        return f">{quantity(low or 0.0, unit, short=short)}"
    if low is None or high is None:
        return quantity(nominal, unit, short=short)
    if nominal:
        tolerance = round((high - nominal) / abs(nominal), 6)
        slack = abs(nominal) * tolerance
        if tolerance > 0 and (nominal - slack, nominal + slack) == (low, high):
            return f"{quantity(nominal, unit, short=short)} {quantity(tolerance, '%')}"
    return span(low, high, unit, short=short)


def load_line(load: Load) -> str:
    return f"load {quantity(load.amps, 'A')} {load.a} -- {load.b} in {load.state}"


def signal_line(signal: Signal) -> str:
    return f"signal {signal.name}: {' > '.join(signal.points)}"
