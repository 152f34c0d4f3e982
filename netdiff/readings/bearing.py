"""What each part bears in a state with power: volts, amperes, watts, on the drawing and on the unit."""

from __future__ import annotations

from typing import NamedTuple

from netdiff.circuit import Circuit, Part, natural
from netdiff.comparison.results import Comparison
from netdiff.electrical.solved import Feed
from netdiff.readings.chart import alone, known_state
from netdiff.readings.side import Side, sides

FORM_FACTOR = {"choke": 1.0, "capacitor": 1.5}
"""Effective over average current in a rectifier's winding: a choke keeps it flowing, a capacitor takes it in gulps; the
latter common practice."""

TINY = 1e-6


class Bears(NamedTuple):
    """Volts across, amperes through, watts in a part; None where nothing of it is fed."""

    volts: float | None = None
    amps: float | None = None
    watts: float | None = None


class PartLoad(NamedTuple):
    """One part (or one winding, ``T2.3``) with what it bears as drawn and as found, and what it is rated for."""

    name: str
    drawn: Bears | None
    found: Bears | None
    rated_volts: float | None = None
    rated_amps: float | None = None
    rated_watts: float | None = None

    @property
    def share(self) -> float:
        """The largest share of a rating that the unit (else the drawing) uses."""
        now = self.found or self.drawn
        if now is None:
            return 0.0
        pairs = ((now.volts, self.rated_volts), (now.amps, self.rated_amps), (now.watts, self.rated_watts))
        return max((abs(used) / rated for used, rated in pairs if used is not None and rated), default=0.0)


def loads(thing: Comparison | Circuit, state: str) -> tuple[PartLoad, ...]:
    """Every resistor, coil and winding that carries a current in a state, and every capacitor with a voltage, the ones
    nearest to their ratings first. Raises Unknown for a state that there is not."""
    if isinstance(thing, Circuit):
        drawn, unit = Side(alone(thing), thing), None
    else:
        drawn, unit = sides(thing)
    known_state(drawn.circuit, state)
    before = _of(drawn, state)
    after = _of(unit, state) if unit is not None else {}
    out = []
    for name in sorted(before.keys() | after.keys(), key=natural):
        part = _rated(unit, name) or _rated(drawn, name)
        ratings = part.ratings if part is not None else {}
        out.append(
            PartLoad(
                name, before.get(name), after.get(name), ratings.get("V"), ratings.get("A"), ratings.get("W")
            )
        )  # fmt: skip
    return tuple(sorted(out, key=lambda one: -one.share))


def _rated(side: Side | None, name: str) -> Part | None:
    return side.circuit.parts.get(name) if side is not None else None


def _of(side: Side, state: str) -> dict[str, Bears]:
    solved = side.direct(state)
    out: dict[str, Bears] = {}
    for name, stress in solved.stresses().items():
        part = side.circuit.parts[name]
        fed = stress.amps > TINY and part.kind.name != "tube"
        if fed and part.kind.family not in ("relay", "lamp", "transformer"):
            out[name] = Bears(stress.volts, stress.amps, stress.watts)
    for one in side.ohms().elements.capacitances:
        volts = solved.volts_nominal(one.a, one.b)
        if volts is not None and abs(volts) > 1.0:
            out[one.part] = Bears(volts=volts)
    for feed in solved.feeds:
        bears = _winding(side.circuit, feed)
        if bears is not None:
            out[feed.supply.winding] = bears
    return out


def _winding(circuit: Circuit, feed: Feed) -> Bears | None:
    """A winding that feeds a rectifier: its copper at the effective current, estimated."""
    name, _, first = feed.supply.winding.partition(".")
    winding = next((w for w in circuit.windings if w.part == name and w.terminals[0] == first), None)
    if winding is None or winding.resistance is None or feed.amps <= TINY:
        return None
    # A tapped winding works half by half: its whole resistance is never in the way at once.
    ohms = winding.resistance * (feed.supply.ac_volts / abs(winding.volts) if winding.volts else 1.0)
    amps = feed.amps * FORM_FACTOR["choke" if feed.supply.choke else "capacitor"]
    return Bears(amps=amps, watts=amps * amps * ohms)
