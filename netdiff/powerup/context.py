"""One set on its way up: its anatomy, its states, which supply comes first and which is the final's."""

from __future__ import annotations

from typing import NamedTuple

from netdiff.circuit import Circuit, natural
from netdiff.powerup import setup
from netdiff.powerup.anatomy import Anatomy, anatomy
from netdiff.powerup.consumption import Draw, draw
from netdiff.powerup.meters import Meters
from netdiff.powerup.stages import COLD, Ask
from netdiff.powerup.states import States, states
from netdiff.powerup.supplies import Supply, electrode
from netdiff.quantities import show


class Made(NamedTuple):
    """What one stage has of its own."""

    connect: list[str]
    set: list[str]
    asks: list[Ask]


class Context:
    def __init__(self, circuit: Circuit, meters: Meters | None = None) -> None:
        body = anatomy(circuit, meters)
        self.body: Anatomy = body
        self.states: States = states(body)
        self.plates = body.of_role("plate")
        self.gated = tuple(one for one in self.plates if body.gate(one))
        self.low = next((one for one in self.plates if one not in self.gated), None)
        """The plate supply that comes first."""
        final_fed = [one for one in self.plates if set(one.feeds) & set(body.finals)]
        self.high = next((one for one in final_fed if one is not self.low), None)
        """The final's own supply, where it has one."""
        self.with_low = tuple(one for one in self.plates if one not in self.gated and one is not self.high)
        self.later = tuple(dict.fromkeys((*self.gated, *((self.high,) if self.high else ()))))
        """Plate supplies that stay dead while the first one comes up."""
        self.pulled = tuple(n for one in self.plates if one not in self.gated for n in one.pulled)
        names = (*self.states.carrier, self.states.modulator, self.states.work)
        self.draw: Draw = max(
            (draw(body, body.supplies, name) for name in dict.fromkeys((*names, ""))), key=lambda one: one.watts
        )
        """At work."""

    @property
    def carrier(self) -> str:
        return next(iter(self.states.carrier), "")

    def words(self, key: str) -> dict[str, str]:
        """What the texts of a stage are filled with."""
        body, parts = self.body, self.body.circuit.parts
        fuses = [f"{n} {show(p.value, 'A')}" if p.value else n for n, p in parts.items() if p.kind.family == "fuse"]
        sockets = sorted((n for n, p in parts.items() if p.kind.family == "tube"), key=natural)
        tubes = [f"{n} {parts[n].kind.type}".rstrip() for n in sockets]
        lit = [t for one in body.heaters for t in one.tubes if t not in self.pulled]
        supply = (self.high if key.startswith("high") else self.low) or next(iter(self.plates), None)
        return {
            "supply": supply.nets[0] if supply and supply.nets else "of the plates",
            "fuses": setup.some(fuses) or "none drawn; the outlet's own must fit",
            "tubes": setup.some(tubes) or "none",
            "lit": setup.some(sorted(lit, key=natural)),
            "plate_nets": setup.some(one.nets[0] for one in self.plates if one.nets) or "any plate",
            "mercury": setup.some(n for one in body.supplies if one.mercury for n in one.rectifiers),
            "finals": setup.some(body.finals),
            "driver": setup.some(body.drivers[:1]),
            "modulators": setup.some(body.modulators),
        }

    def live(self, key: str) -> tuple[Supply, ...]:
        """Supplies that have stood under voltage in a stage."""
        if key in (*COLD, "reform"):
            return ()
        early = tuple(s for s in self.body.supplies if s.role != "plate" and not s.outside)
        if key in ("tubes-out", "heaters", "conditioning", "bias"):
            return early
        return (*early, *self.with_low) if key in ("low-reduced", "low", "drive") else self.body.supplies

    def settings(self, state: str, *, keyed: bool) -> list[str]:
        if state:
            return list(setup.in_state(self.body, state))
        key = ("Key down." if keyed else "Key up.") if self.body.keys else ""
        return [line for line in (setup.hand_switches(self.body), key) if line]

    def switched_on(self) -> str:
        """The mains switch; of a set whose drawing has none before every transformer, what its state at work sets."""
        work = self.states.work or self.states.low
        return setup.hand_switches(self.body) or (" ".join(setup.in_state(self.body, work)) if work else "")

    def starved(self, live: tuple[Supply, ...]) -> tuple[str, ...]:
        """Tubes whose screen would have voltage from these supplies while their plate has none: the screen melts."""
        ways = self.body.ways
        reached = {net for one in live for net in one.reached}
        out = []
        for name, part in self.body.circuit.parts.items():
            points = {electrode(ways, p): ways.net(p) for p in part.points()} if part.kind.family == "tube" else {}
            if points.get("g2", -1) in reached and points.get("p", -1) not in reached and name in self._powered():
                out.append(name)
        return tuple(out)

    def _powered(self) -> tuple[str, ...]:
        """Tubes whose plates a supply feeds at all."""
        return tuple(t for one in self.plates for t in one.feeds)

    def in_string(self, tubes: tuple[str, ...]) -> bool:
        return any(one.series and set(one.tubes) & set(tubes) for one in self.body.heaters)

    def notes(self) -> tuple[str, ...]:
        """What this set has no stage for, and why."""
        body = self.body
        out = []
        if body.string_with_rectifier:
            tube = setup.some(body.string_with_rectifier)
            out.append(
                f"No stage with the heaters alone: {tube} rectifies and is a link of the string; "
                "with it out nothing burns, with it in there is plate voltage."
            )
        if body.hot:
            out.append(setup.ISOLATE)
        for supply in body.supplies:
            if supply.outside:
                out.append(f"Nothing in the set feeds {setup.some(supply.nets[:1])}: it comes from outside.")
        if not body.of_role("bias") and body.finals:
            out.append(
                "No bias supply is drawn: bias comes with drive or cathode current. Drive or key comes before plate "
                "voltage stays on."
            )
        return tuple(out)
