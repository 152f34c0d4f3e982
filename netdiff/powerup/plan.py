"""The stages that a set's circuit calls for, in order, and whether the set may get power at all."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Final

from netdiff.cautions import OHMS, UNDER_POWER, for_cold_work, for_readings
from netdiff.circuit import Circuit
from netdiff.comparison.results import Comparison, Finding
from netdiff.powerup import early, forming, keeping, late, setup
from netdiff.powerup.anatomy import Anatomy
from netdiff.powerup.charges import charges
from netdiff.powerup.consumption import Draw
from netdiff.powerup.context import Context, Made
from netdiff.powerup.limits import distinct
from netdiff.powerup.meters import Meters
from netdiff.powerup.stages import COLD, Ask, Stage, order, table
from netdiff.powerup.supplies import mains_nets
from netdiff.readings.side import sides


@dataclass(frozen=True)
class Plan:
    anatomy: Anatomy
    stages: tuple[Stage, ...]
    draw: Draw
    """At work, as reckoned."""
    open_power: tuple[Finding, ...] = ()
    """Findings to be cleared before power, kept modifications excepted."""
    open_r_f: tuple[Finding, ...] = ()
    """Findings to be cleared before r.f. is made."""
    kept: tuple[Finding, ...] = ()
    """Findings of kept modifications that else would be open: whoever kept them answers for them."""
    unseen: tuple[str, ...] = ()
    """Parts on the mains and the supplies that nobody looked at."""
    not_traced: int = 0
    title: str = ""
    notes: tuple[str, ...] = ()
    """What it has no stage for, and why."""
    keeps: Mapping[str, str] = field(default_factory=dict)
    """The id of an open hazard that no modification brought about -> the line that would let it stay."""
    inspected: str = ""
    """The day of the inspection, as the found file has it."""

    @property
    def cleared(self) -> bool:
        return not self.open_power

    @property
    def cautions(self) -> tuple[str, ...]:
        """What stands before everything else."""
        if not self.cleared:
            return for_cold_work()
        r_f = any(stage.r_f for stage in self.stages)
        return (*_fitting(for_readings(), r_f), *((setup.HOT,) if self.anatomy.hot else ()))

    def cautions_of(self, stage: Stage) -> tuple[str, ...]:
        """With the readings of a stage: a dummy load where r.f. is made, the isolation transformer of a hot set."""
        if not stage.powered:
            return OHMS
        hot = self.anatomy.hot and stage.plugged
        return (*_fitting(UNDER_POWER, stage.r_f), *((setup.HOT,) if hot else ()))

    def stage(self, key: str) -> Stage | None:
        return next((one for one in self.stages if one.key == key), None)

    def held(self, stage: Stage) -> tuple[Finding, ...]:
        """What must be cleared before this stage."""
        if stage.key in COLD:
            return ()
        return (*self.open_power, *(self.open_r_f if stage.r_f else ()))


def plan(comparison: Comparison) -> Plan:
    """The plan for a unit: by its own circuit once it is cleared, by the drawing's while something is open.

    What a cold reading must show is what a set that is right shows; the faults of one that is not
    are the comparison's matter.
    """
    kept = keeping.kept(comparison)
    held = [f for f in comparison.findings if f.hold == "power"]
    open_power = tuple(f for f in held if f.id not in kept)
    drawn, unit = sides(comparison)
    side = drawn if open_power else unit
    here = Context(side.circuit, Meters(side))
    return Plan(
        anatomy=here.body,
        stages=tuple(_stages(here)),
        draw=here.draw,
        inspected=comparison.found.inspected,
        keeps=keeping.lines(comparison, open_power),
        open_power=open_power,
        open_r_f=tuple(f for f in comparison.findings if f.hold == "transmit" and f.id not in kept),
        kept=tuple(f for f in held if f.id in kept),
        unseen=_unseen(here.body, comparison),
        not_traced=comparison.coverage.total.not_traced,
        title=comparison.found.circuit.title,
        notes=here.notes(),
    )


def plan_of(circuit: Circuit) -> Plan:
    """The plan for a set that is as drawn."""
    here = Context(circuit)
    return Plan(here.body, tuple(_stages(here)), here.draw, title=circuit.title, notes=here.notes())


def _fitting(cautions: Iterable[str], r_f: bool) -> tuple[str, ...]:
    return tuple(one for one in cautions if r_f or "dummy load" not in one)


def _unseen(body: Anatomy, comparison: Comparison) -> tuple[str, ...]:
    """Parts with a terminal on the mains or on a supply that nobody looked at."""
    ways = body.ways
    urgent = {net for one in body.supplies for net in one.reached} | set(mains_nets(ways))
    parts = [p.partition(".")[0] for p in comparison.coverage.not_traced if ways.net(p) in urgent]
    return tuple(dict.fromkeys(parts))


_MADE: Final[dict[str, Callable[[Context], Made]]] = {
    "look": early.look, "cold": early.cold, "reform": early.reform, "tubes-out": early.tubes_out,
    "heaters": early.heaters, "conditioning": early.conditioning, "bias": early.bias, "low-reduced": late.low_reduced,
    "low": late.low, "drive": late.drive, "high-reduced": late.high_reduced, "carrier-reduced": late.carrier_reduced,
    "carrier": late.carrier, "modulator": late.modulator, "modulation": late.modulation, "keying": late.keying,
    "full": late.full,
}  # fmt: skip
_R_F: Final = ("drive", "carrier-reduced", "carrier", "modulator", "modulation", "keying")
_HIGH: Final = ("high-reduced", "carrier-reduced", "carrier", "modulator", "modulation", "keying", "full")


def _stages(here: Context) -> Iterator[Stage]:
    wanted = _wanted(here)
    return (_stage(here, key) for key in order() if key in wanted)


def _wanted(here: Context) -> set[str]:
    """The stages that a set calls for, by what it is made of."""
    body, wanted = here.body, {"look", "cold"}
    if any(forming.electrolytics(body.circuit)):
        wanted.add("reform")
    if body.mains:
        wanted.add("tubes-out")
    if body.heaters and not body.string_with_rectifier:
        wanted.add("heaters")
    if any(one.mercury for one in body.supplies):
        wanted.add("conditioning")
    if any(one.transformer or one.outside for one in body.of_role("bias")):
        wanted.add("bias")
    if here.low is not None:
        wanted.add("low-reduced")
    if not body.finals:
        return wanted | ({"full"} if here.plates else set())
    if here.low is not None and body.drivers:
        wanted |= {"low", "drive"}
    if here.high is not None:
        wanted |= {"high-reduced"} | ({"low"} if here.low is not None else set())
    wanted |= {"carrier-reduced", "carrier"}
    return wanted | ({"modulator", "modulation"} if body.modulators else {"keying"})


def _stage(here: Context, key: str) -> Stage:
    row, words = table()["stages"][key], here.words(key)
    made = _MADE[key](here)
    if key in _HIGH:
        made.connect.extend(setup.interlocks(here.body))
    more = row.get("with_transformers", {}) if here.body.transformers else {}
    questions = {**row.get("asks", {}), **more.get("asks", {})}
    said = [Ask(name, "yes", says=text.format_map(words)) for name, text in questions.items()]
    stop = [text.format_map(words) for text in row["stop"]]
    watch = [text.format_map(words) for text in (*row["watch"], *more.get("watch", ()))]
    if key == "cold":
        watch += setup.proof_of_blocking(here.body)
        stop = [*early.rests(here.body, made.asks), *stop]
    return Stage(
        key=key,
        title=row["title"].format_map(words),
        why=row["why"],
        powered=key not in COLD,
        r_f=key in _R_F,
        connect=tuple(dict.fromkeys(filter(None, made.connect))),
        set=tuple(dict.fromkeys(filter(None, made.set))),
        watch=tuple(watch),
        stop=tuple(stop),
        asks=distinct((*made.asks, *said)),
        source=row["source"],
        charge=charges(here.body, here.live(key)),
    )
