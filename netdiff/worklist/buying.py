"""What is bought in a drawn part's place: value, ratings and safety class as they are made today.

>>> today(47e3, 0.2, "resistor"), today(35e3, 0.1, "resistor")
(Today(value=47000.0, off=0.0, series='E12'), Today(value=36000.0, off=0.028571, series='E24'))
>>> today(0.05e-6, 0.2, "capacitor").value, today(16e-6, 0.2, "electrolytic", up=1.0).value
(4.7e-08, 2.2e-05)
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Final, NamedTuple

from netdiff.circuit import Part
from netdiff.comparison.limits import tolerance_of
from netdiff.comparison.words import kind_words
from netdiff.electrical.limits import limit
from netdiff.markings import preferred
from netdiff.quantities import show
from netdiff.worklist.mains import Position
from netdiff.worklist.wanted import table

_WOUND: Final = frozenset({"inductor", "transformer"})
_MADE_OF: Final = ("wirewound", "non-inductive", "mica", "silver-mica", "ceramic", "film", "oil", "selenium")


class Seen(NamedTuple):
    """The most that the circuit puts on a part: volts across it, watts in it; None where nobody can say."""

    volts: float | None = None
    watts: float | None = None


NOBODY_SAYS: Final = Seen()


class Today(NamedTuple):
    """A value that is made today, how far it is from the drawn one (a fraction), and its series."""

    value: float
    off: float
    series: str


class Spec(NamedTuple):
    """What to ask for over the counter. SI units; ratings are the least that will do."""

    kind: str
    """As in the catalogue (``resistor``), or ``wire``, ``sleeving``."""
    type: str = ""
    value: float | None = None
    unit: str = ""
    watts: float | None = None
    volts: float | None = None
    volts_ac: float | None = None
    amps: float | None = None
    words: tuple[str, ...] = ()
    """Construction and safety class: ``wirewound``, ``film``, ``Y2``."""
    called: str = ""
    family: str = ""

    @property
    def says(self) -> str:
        """``resistor 36 kΩ, 20 W or more, wirewound``."""
        out = [f"{self.called or self.kind} {show(self.value, self.unit)}" if self.value else self.called or self.kind]
        for rating, unit in ((self.watts, "W"), (self.volts, "V"), (self.volts_ac, "Vac"), (self.amps, "A")):
            if rating is not None:
                out.append(f"{show(rating, unit)} or more")
        return ", ".join([*out, *self.words])


class Choice(NamedTuple):
    spec: Spec
    off: float = 0.0
    """How far the bought value is from the drawn one, as a fraction."""
    within: bool = True
    """Whether that is within the drawing's tolerance."""
    notes: tuple[str, ...] = ()


def today(value: float, tolerance: float, family: str, up: float | None = None) -> Today:
    """The value to buy for one on an old drawing: the coarsest series that leaves room for the part's own error.

    ``up`` is the tolerance upward where it is another one (electrolytics). Preferred numbers: IEC 60063.
    """
    stocked = table("parts")["stocked"].get(family)
    if stocked is not None:
        return _best(value, _decades(value, stocked["numbers"]), "stocked", tolerance, up)
    own = float(table("parts")["exact"].get(family, 0.05))
    for series in ("E12", "E24"):
        one = _best(value, preferred(value, series), series, tolerance, up)
        if abs(one.off) + own <= tolerance + 1e-9 or abs(one.off) < 1e-9:
            return one
    if tolerance < 0.05:
        one = _best(value, _decades(value, [10 ** (1 + i / 96) for i in range(96)], 3), "E96", tolerance, up)
        if abs(one.off) <= tolerance:
            return one
    return min(
        (_best(value, preferred(value, series), series, tolerance, up) for series in ("E12", "E24")),
        key=lambda one: abs(one.off),
    )


def _decades(value: float, numbers: Iterable[float], digits: int = 2) -> list[float]:
    decade = math.floor(math.log10(value)) - 1
    return [float(f"{n:.{digits - 1}e}") * 10.0**e for n in numbers for e in (decade - 1, decade, decade + 1)]


def _best(value: float, among: Iterable[float], series: str, tolerance: float, up: float | None) -> Today:
    """The nearest; of two as near the one of the coarser series E6, then the higher; within tolerance before all.

    Where more is allowed upward (``up``), what lacks counts twice what is too much.
    """

    def rank(one: float) -> tuple[bool, float, bool, float]:
        off = one / value - 1
        outside = off < -tolerance - 1e-9 or off > (tolerance if up is None else up) + 1e-9
        coarse = any(math.isclose(one, other) for other in preferred(one, "E6"))
        distance = -2 * off if up is not None and off < 0 else abs(off)
        return outside, round(distance, 9), not coarse, -one

    best = min((float(f"{one:.6g}") for one in among), key=rank)
    return Today(best, round(best / value - 1, 6), series)


def choose(part: Part, seen: Seen = NOBODY_SAYS, position: Position | None = None, most: float | None = None) -> Choice:
    """What to buy for a drawn part.

    ``seen`` is what the circuit puts on it, ``position`` its place on the mains if it is on the mains,
    ``most`` the greatest capacitance that may stand there (farads).
    """
    family = "resistor" if part.kind.name in ("resistor", "shunt") else part.kind.name
    if family == "resistor" and part.value:
        return _resistor(part, seen)
    if family == "potentiometer" and part.value:
        one = today(part.value, tolerance_of(part)[0], family)
        spec = Spec(
            family, value=one.value, unit="ohm", watts=part.ratings.get("W"), words=_made_of(part), family="resistor"
        )
        return _choice(part, spec, one)
    if part.kind.family == "capacitor" and part.value and part.kind.name in ("capacitor", "electrolytic"):
        if position is not None and not part.kind.polarised:
            return _line_capacitor(part, position)
        return _electrolytic(part, seen, most) if part.kind.name == "electrolytic" else _capacitor(part, seen)
    return _other(part)


def _choice(part: Part, spec: Spec, one: Today, notes: Iterable[str] = ()) -> Choice:
    down, up = tolerance_of(part)
    return Choice(spec, one.off, -down - 1e-9 <= one.off <= up + 1e-9, tuple(notes))


def _made_of(part: Part) -> tuple[str, ...]:
    return tuple(word for word in part.words if word in _MADE_OF)


def _next(rows: str, least: float) -> float | None:
    """The next rating that is sold, from ``least`` up; what lies a hair below is the same class."""
    return next((float(row) for row in table("parts")["ratings"][rows]["rows"] if row >= least * 0.999), None)


def _times(name: str) -> float:
    return float(table("parts")["margin"][name]["times"])


def _stressed(seen: float | None, times: float, rated: float | None, unit: str) -> tuple[float, list[str]]:
    """The rating that is needed, at least the drawing's; a note where the drawing's own is too little."""
    needed = (seen or 0.0) * times
    if rated is None or needed <= rated * 1.001:
        return max(needed, rated or 0.0), []
    told = f"The circuit puts {show(float(f'{seen:.3g}'), unit)} on it: the drawing's {show(rated, unit)} leaves too "
    return needed, [told + "little in hand."]


def _resistor(part: Part, seen: Seen) -> Choice:
    assert part.value is not None
    one = today(part.value, tolerance_of(part)[0], "resistor")
    watts, notes = _stressed(seen.watts, _times("resistor_watts"), part.ratings.get("W"), "W")
    watts = _next("resistor_watts", watts) or watts
    words = _made_of(part)
    if not words and watts >= float(table("parts")["wirewound_from"]["watts"]):
        words = ("wirewound",)
    if "carbon" in part.words or "composition" in part.words:
        words = ("non-inductive",)
        notes.append("The drawing wants carbon here: no wirewound and no spiralled film, which are coils at RF.")
    for row in table("parts")["resistor_volts"]["rows"]:
        if watts <= row["watts"]:
            if seen.volts is not None and seen.volts > row["volts"]:
                notes.append(f"{show(float(f'{seen.volts:.3g}'), 'V')} lie across it: take two of half the value.")
            break
    if abs(one.off) > tolerance_of(part)[0]:
        notes.append("No preferred value is near enough: make it up of two, or measure one out.")
    return _choice(
        part, Spec("resistor", value=one.value, unit="ohm", watts=watts, words=words, family="resistor"), one, notes
    )


def _capacitor(part: Part, seen: Seen) -> Choice:
    assert part.value is not None
    one = today(part.value, tolerance_of(part)[0], "capacitor")
    volts, notes = _stressed(seen.volts, _times("capacitor_volts"), part.ratings.get("V"), "V")
    words = _made_of(part)
    if not words or words == ("film",):
        words = ("film",) if part.value >= 1e-9 else ("mica",)
    if words == ("film",):
        volts = _next("film_volts", volts) or volts
    spec = Spec("capacitor", value=one.value, unit="F", volts=volts or None, words=words, family="capacitor")
    return _choice(part, spec, one, notes)


def _electrolytic(part: Part, seen: Seen, most: float | None) -> Choice:
    assert part.value is not None
    down, up = tolerance_of(part)
    one = today(part.value, down, "electrolytic", up)
    volts, notes = _stressed(seen.volts, _times("electrolytic_volts"), part.ratings.get("V"), "V")
    bought = _next("electrolytic_volts", volts)
    if bought is None:
        notes.append("No single one stands that: two of twice the value in series, with a resistor across each.")
    if most is not None and one.value > max(most, part.value) * 1.001:
        notes.append(f"The rectifier takes {show(most, 'F')} at the most as the first capacitor: no more than that.")
    return _choice(part, Spec("electrolytic", value=one.value, unit="F", volts=bought or volts,
                              called="electrolytic capacitor", family="capacitor"), one, notes)  # fmt: skip


def _line_capacitor(part: Part, position: Position) -> Choice:
    """IEC 60384-14: X where a failure gives nobody a shock (line to line), Y where it could (line to metal)."""
    assert part.value is not None
    drawn = part.value
    value, notes, most = drawn, [], math.inf
    if position.to_metal:
        current = 2 * math.pi * position.hertz * drawn * position.volts
        most = limit("leakage") / (2 * math.pi * position.hertz * position.volts)
        if current > limit("leakage") * 1.001:
            value = max(one for one in _decades(most, (10, 15, 22, 33, 47, 68)) if one <= most)
            notes.append(
                f"The drawing's {show(drawn, 'F')} lets {show(float(f'{current:.2g}'), 'A')} through to metal that "
                f"somebody touches; {show(limit('leakage'), 'A')} is the limit. The value is smaller for that reason: "
                "note it with `keep`."
            )
    one = today(value, tolerance_of(part)[0], "capacitor")
    if position.to_metal and one.value > most * 1.001:
        # The nearest value of today lies just above what may leak: the next one down.
        value = max(size for size in _decades(most, (10, 15, 22, 33, 47, 68)) if size <= most)
        one = today(value, tolerance_of(part)[0], "capacitor")
    one = one._replace(off=round(one.value / drawn - 1, 6))
    buy = next(
        (float(row["buy"]) for row in table("parts")["line_volts"]["rows"] if position.volts <= row["mains"]), None
    )
    if buy is None:
        notes.append(f"Mains of {show(position.volts, 'V')}: ask for a part rated for that.")
    spec = Spec(
        "capacitor",
        value=one.value,
        unit="F",
        volts_ac=buy,
        words=("Y2" if position.to_metal else "X2",),
        family="capacitor",
    )
    return _choice(part, spec, one, notes)


def _other(part: Part) -> Choice:
    """Bought as drawn, with a word where that is hard."""
    scarce = table("parts")["scarce"]
    notes = []
    if part.kind.name == "tube":
        notes.append(str(scarce["tube"]))
    elif "selenium" in part.words:
        notes.append(str(scarce["selenium"]))
    elif part.kind.family in _WOUND:
        notes.append(str(scarce["wound"]))
    if part.kind.name.startswith(("cord", "inlet")):
        notes.append(str(table("parts")["cord"]["note"]))
    if part.kind.name == "fuse":
        notes.append("Never a higher rating, and of the kind, slow or fast, that the drawing names.")
    ratings = part.ratings
    return Choice(
        Spec(
            part.kind.name, part.kind.type, part.value, part.kind.unit, ratings.get("W"), ratings.get("V"),
            ratings.get("Vac"), ratings.get("A"), part.words, kind_words(part),
            part.kind.family,
        ),
        notes=tuple(notes),
    )  # fmt: skip
