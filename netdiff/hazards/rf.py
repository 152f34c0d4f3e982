"""Radio-frequency leads: open stretches, relays and braids in them, and the aerial's way to ground for direct current.

Where the wiring comparison has told an open run already, ``numbers`` gives the figures that belong to its sentence.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from typing import Final

from netdiff.circuit import OPEN, UNFOLLOWED, Net, Part, Point, Run, is_foreign, part_of
from netdiff.comparison.results import Finding
from netdiff.comparison.words import some
from netdiff.electrical import coax, rf, wire
from netdiff.electrical.limits import limit
from netdiff.electrical.modulation import swings
from netdiff.electrical.spread import PASSING, links
from netdiff.hazards.line import passages, words
from netdiff.hazards.rule import Hazard, Rule
from netdiff.quantities import show
from netdiff.readings.side import Side

_PATH: Final = {"meter", "switch", "relay", "fuse"}
"""Families of parts over which a radio-frequency lead goes on."""
_SHIELDED: Final = {"coax", "shielded"}
_TOLD: Final = ("unshielded-run", "open-braid", "wrong-wire", "inserted-part", "added-part", "added-connection")
"""Kinds of finding that an open stretch's figures belong to, the best first."""
LOW_OHMS: Final = 1000.0
"""A safety choke, or a resistor in its place, is less than this (common practice)."""


def region(side: Side) -> dict[int, Net]:
    """Every net of an aerial lead, with the declared net that it belongs to."""
    near: dict[int, list[int]] = {}
    for name, part in side.circuit.parts.items():
        strange = is_foreign(name) and (part.kind.any_terminal or part.kind.family in ("block", ""))
        if part.kind.family not in _PATH and not strange:
            continue
        pairs = list(passages(part))
        if strange:
            used = sorted({end for run in side.circuit.runs for end in (run.a, run.b) if part_of(end) == name})
            pairs = [(a.partition(".")[2], b.partition(".")[2]) for a, b in combinations(used, 2)]
        for a, b in pairs:
            one, other = (side.nets.index.get(f"{name}.{end}", -1) for end in (a, b))
            if -1 not in (one, other):
                near.setdefault(one, []).append(other)
                near.setdefault(other, []).append(one)
    ground = side.nets.index.get(side.circuit.ground, -1)
    found: dict[int, Net] = {}
    for name, net in side.circuit.nets.items():
        if net.purpose != "rf" or name not in side.nets.index:
            continue
        queue = [side.nets.index[name]]
        while queue:
            at = queue.pop()
            if at not in found and at != ground:
                found[at] = net
                queue += near.get(at, ())
    return found


def open_length(side: Side, run: Run) -> tuple[float, str] | None:
    """Over which length (m; 0 where nobody measured) a run has no working shield, and why; None for a sound one."""
    if run.conductor in _SHIELDED:
        if run.braid is None or UNFOLLOWED in run.braid:
            return None
        loose = [end for end in run.braid if end == OPEN or not _grounded(side, end)]
        return (run.length or 0.0, "its braid does not go from end to end") if loose else None
    return (run.length or 0.0, "") if run.conductor in ("wire", "bare", "") and run.conductor else None


def _grounded(side: Side, where: Point) -> bool:
    return side.same(where, side.circuit.ground)


def numbers(side: Side) -> Iterator[tuple[str, str]]:
    """Findings of the comparison (by id) with the sentences of figures that belong to them; for the unit's side."""
    nets = region(side)
    taken: set[tuple[Point, Point]] = set()
    findings = sorted(
        (one for one in side.comparison.findings if one.kind in _TOLD), key=lambda one: _TOLD.index(one.kind)
    )
    for finding in findings:
        if finding.kind == "wrong-wire":
            said = _other_cable(side, finding, nets)
            if said:
                yield finding.id, said
            continue
        stretches = []
        for run in side.circuit.runs:
            where = next((side.nets.index.get(end, -1) for end in (run.a, run.b) if end in side.nets.index), -1)
            if where not in nets or not set(run.places) & set(finding.at) or (run.a, run.b) in taken:
                continue
            length = open_length(side, run)
            if length is not None:
                taken.add((run.a, run.b))
                stretches.append((run, *length, nets[where]))
        if stretches:
            yield finding.id, _told(stretches)


def _told(stretches: list[tuple[Run, float, str, Net]]) -> str:
    net = stretches[0][3]
    length = sum(metres for _, metres, _, _ in stretches)
    loose = [run for run, _, why, _ in stretches if why]
    head = ""
    if loose:
        lengths = some(show(run.length, "m") for run in loose if run.length) or "it"
        head = f"The braid of {some(run.cable or 'the coax' for run in loose)} does not go from end to end: "
        head += f"{lengths} of it count{'s' if len(loose) == 1 else ''} as open wire. "
    unknown = [f"{run.a} to {run.b}" for run, metres, _, _ in stretches if not metres]
    if not length:
        return head + "Nobody noted its length: without it nothing can be reckoned."
    tail = f" {some(unknown)} is not counted: nobody noted its length." if unknown else ""
    if net.band is None:
        return head + f"Open wire: {show(length, 'm')} together." + tail
    gauge = next((run.gauge for run, _, _, _ in stretches if run.gauge is not None), limit("hookup_gauge"))
    low, high = rf.over_band(length, net.band, net.impedance or 50.0, net.power, wire.diameter(gauge))
    fraction, at_low, at_high = _short(high.fraction), show(low.hertz, "Hz"), show(high.hertz, "Hz")
    says = f"{show(length, 'm')} in the open are {fraction} of a wavelength at {at_high} and, as a straight wire, "
    says += f"{show(high.henries, 'H', 3)}: {show(low.ohms, 'ohm', 3)} at {at_low}, "
    says += f"{show(high.ohms, 'ohm', 3)} at {at_high}"
    if net.impedance is not None:
        says += f", by itself an SWR of {low.swr:.2f} to {high.swr:.2f} in {show(net.impedance, 'ohm')}"
        if high.swr < limit("worth_swr"):
            says += " (hardly a mismatch: what is lost is the shield)"
    says += "."
    if high.radiated is not None and net.power is not None:
        watts = show(high.radiated, "W", 2)
        says += f" At {show(net.power, 'W')} it radiates at most {watts} inside the cabinet ({rf.HOW})."
    return head + says + tail


def _other_cable(side: Side, finding: Finding, nets: dict[int, Net]) -> str:
    """What a coax of another type means in an aerial lead."""
    drawn = [run for run in side.stock.runs if run.cable_type and {run.a, run.b} == set(finding.terminals[:2])]
    here = [run for run in side.circuit.runs if run.cable_type and set(run.places) & set(finding.at)]
    if not drawn or not here or here[0].cable_type == drawn[0].cable_type:
        return ""
    said = list(coax.differences(drawn[0].cable_type, here[0].cable_type))
    net = next((nets[n] for end in (here[0].a, here[0].b) if (n := side.nets.index.get(end, -1)) in nets), None)
    cable = coax.cable(here[0].cable_type)
    if cable is not None and net is not None and net.band and net.impedance and here[0].length:
        swr = max(coax.swr_of(cable, net.impedance, here[0].length, hertz) for hertz in net.band)
        said.append(f"over {show(here[0].length, 'm')} it causes by itself an SWR of {swr:.2f} at the most")
    return f"{'; '.join(said)}." if said else ""


def braids(side: Side) -> Iterator[Hazard]:
    """Braids in an aerial lead that land where the drawing has them, on a point that lost its ground."""
    drawn = side.drawn
    if drawn is None:
        return
    nets = region(side)
    for run in side.circuit.runs:
        if run.conductor not in _SHIELDED or run.braid is None:
            continue
        if not {side.nets.index.get(run.a, -1), side.nets.index.get(run.b, -1)} & set(nets):
            continue
        for end in run.braid:
            if end in (OPEN, UNFOLLOWED) or _grounded(side, end) or not drawn.same(end, side.stock.ground):
                continue
            says = f"The braid of {run.cable or f'{run.a} to {run.b}'} ends on {end}, which does not reach "
            says += f"{side.circuit.ground}: what should come back on it comes back through whatever else it finds."
            yield Hazard(
                (run.cable or run.a, end), says, (part_of(end),) if part_of(end) else (), (end,), at=run.places
            )


def relay_in_the_lead(side: Side) -> Iterator[Hazard]:
    """A relay that is not the drawing's and not made for it, in an aerial lead."""
    if side.drawn is None:
        return
    nets = region(side)
    for name, part in side.circuit.parts.items():
        if not is_foreign(name) or part.kind.family != "relay" or {"antenna", "ceramic"} & set(part.words):
            continue
        contacts = [f"{name}.{end}" for contact in part.kind.contacts for end in (contact.a, contact.b)]
        inside = sorted({where for where in contacts if side.nets.index.get(where, -1) in nets and _wired(side, where)})
        if len(inside) < 2:
            continue
        net = nets[side.nets.index[inside[0]]]
        says = f"The radio frequency goes through {name}, which is no relay for it as far as anybody noted: no shield, "
        says += "and open contacts that couple into whatever else it switches"
        if net.power and net.impedance:
            volts, amps = coax.peak_volts(net.power, net.impedance), (net.power / net.impedance) ** 0.5
            says += f". At {show(net.power, 'W')} it carries {show(amps, 'A', 2)} and "
            says += f"{show(volts, 'V', 3)} crest"
        yield Hazard((name,), says + ".", (name,), tuple(inside), (net.name,))


def _wired(side: Side, where: Point) -> bool:
    return len(side.nets.members[side.nets.index[where]]) > 1


def no_safety_choke(side: Side) -> Iterator[Hazard]:
    """Aerial sockets whose way to ground for direct current the drawing has and the unit has not."""
    drawn = side.drawn
    if drawn is None:
        return
    nets = region(drawn)
    for name, part in drawn.circuit.parts.items():
        where = f"{name}.center"
        if part.kind.lug("center") is None or drawn.nets.index.get(where, -1) not in nets:
            continue
        before = drawn.ohms().between(where).nominal
        if before > LOW_OHMS or not side.ohms().has(where):
            continue
        after = side.ohms().between(where).nominal
        if after <= max(10 * before, LOW_OHMS):
            continue
        lost = [one for one in _ways_to_ground(drawn, nets) if not _still(side, drawn, one)]
        says = f"{where} has no way to {side.circuit.ground} for direct current"
        if lost:
            says += f": {some(words(drawn.circuit, one) for one in lost)} is gone or no longer reaches it"
        fed = _blocking(drawn)
        if fed:
            cap, volts = fed
            there = side.circuit.parts.get(cap, drawn.circuit.parts[cap])
            rated = f", rated {show(there.ratings['V'], 'V')}," if "V" in there.ratings else ""
            says += f". When {cap}{rated} fails, up to {show(volts, 'V', 3)} stand on the aerial and no fuse blows"
        yield Hazard((name,), says + ".", (*lost, name) if not lost else tuple(lost), (where,))


def _ways_to_ground(side: Side, nets: dict[int, Net]) -> list[str]:
    ground = side.nets.index.get(side.circuit.ground, -1)
    out = []
    for a, b, name in links(side.circuit, {"inductor", "resistor"}, windings=False):
        ends = {side.nets.index.get(a, -1), side.nets.index.get(b, -1)}
        if ground in ends and ends & set(nets):
            out.append(name)
    return list(dict.fromkeys(out))


def _still(side: Side, drawn: Side, name: str) -> bool:
    """Whether a part still lies between ground and the lead."""
    part: Part | None = side.circuit.parts.get(name)
    if part is None or part.kind.ends is None:
        return False
    nets = region(side)
    numbers_ = {side.nets.index.get(f"{name}.{end}", -1) for end in part.kind.ends}
    return side.nets.index.get(side.circuit.ground, -2) in numbers_ and bool(numbers_ & set(nets))


def _blocking(side: Side) -> tuple[str, float] | None:
    """The capacitor that keeps a supply off the aerial lead, and the greatest voltage behind it."""
    reached, queue = set(region(side)), list(region(side))
    ground = side.nets.index.get(side.circuit.ground, -1)
    near: dict[int, set[int]] = {}
    for a, b, _ in links(side.circuit, PASSING):
        one, other = side.nets.index.get(a, -1), side.nets.index.get(b, -1)
        near.setdefault(one, set()).add(other)
        near.setdefault(other, set()).add(one)
    while queue:
        for other in near.get(queue.pop(), set()) - reached - {ground, -1}:
            reached.add(other)
            queue.append(other)
    crests = swings(side.circuit)
    best: tuple[str, float] | None = None
    for a, b, name in links(side.circuit, {"capacitor"}, windings=False):
        for here, there in ((a, b), (b, a)):
            swing = crests.get(there)
            if side.nets.index.get(here, -1) in reached and side.nets.index.get(there, -1) not in reached and swing:
                if abs(swing.dc) > limit("discharged") and (best is None or abs(swing.dc) > best[1]):
                    best = name, abs(swing.dc)
    return best


def _short(fraction: float) -> str:
    return f"1/{1 / fraction:.0f}" if fraction < 0.5 else f"{fraction:.2g}"


RULES = (
    Rule(
        "unshielded-run",
        "a foreign relay in an aerial lead",
        "It couples the transmitter into the receiver and the wiring beside it.",
        "transmit",
        "common practice: aerial relays are shielded or on ceramic, with a ground contact for the receiver",
        relay_in_the_lead,
        own=False,
    ),
    Rule(
        "open-braid",
        "a braid that ends on a point without ground",
        "A braid that carries no return current shields nothing: the whole run radiates.",
        "transmit",
        "common practice",
        braids,
        own=False,
    ),
    Rule(
        "no-safety-choke",
        "an aerial socket that lost its way to ground for direct current",
        "A shorted blocking capacitor puts the plate supply on the aerial; the choke would blow the fuse.",
        "power",
        "common practice: lists of the worst mistakes in amplifiers",
        no_safety_choke,
        own=False,
    ),
)

FIGURES = (numbers,)
"""Functions that give sentences of figures for findings of the comparison."""
