"""What is read in each stage, and between which limits: from the factory's chart where it has them, else computed."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from math import isfinite

from netdiff.circuit import Circuit, Point, Reading, part_of
from netdiff.electrical.interval import Interval
from netdiff.powerup.anatomy import Anatomy
from netdiff.powerup.setup import primary_ends
from netdiff.powerup.stages import Ask, figure
from netdiff.powerup.supplies import electrode, mains_nets, primaries
from netdiff.powerup.ways import Ways

URGENT = ("supply", "bias", "mains", "earth")
ZERO_OHMS, ZERO_VOLTS = 1.0, 5.0
"""What passes for a chart's 0: a good joint with its leads, a line that is off. Common practice."""


def named(a: Point, b: Point, ground: str, state: str = "") -> str:
    """How a reading is called in the log: by its point where it is taken against ground."""
    if b in ("", ground):
        name = a
    elif a == ground:
        name = b
    else:
        name = f"{a}--{b}"
    return f"{name}@{state}" if state else name


def red_on(circuit: Circuit, a: Point) -> str:
    """Said of a reading that goes by its second point, the positive lead being on ground."""
    return f"red lead on {a}" if a == circuit.ground else ""


def _set(circuit: Circuit, state: str) -> str:
    """What a state without power sets: ``S1 on``."""
    named_state = circuit.states.get(state)
    return ", ".join(f"{n} {position}" for n, position in named_state.settings.items()) if named_state else ""


def distinct(asks: Iterable[Ask]) -> tuple[Ask, ...]:
    """Each name once; of two readings between the same points the first, of two quantities both."""
    out: dict[str, Ask] = {}
    for ask in asks:
        known = out.get(ask.name)
        if known is None:
            out[ask.name] = ask
        elif (known.quantity, known.ac) == (ask.quantity, ask.ac):
            out[ask.name] = known._replace(says=known.says or ask.says)
        else:
            name = f"{ask.name}.{'vac' if ask.ac else ask.quantity}"
            out.setdefault(name, ask._replace(name=name))
    return tuple(out.values())


def from_chart(anatomy: Anatomy, reading: Reading, *, must: bool, state: str = "") -> Ask:
    """A reading of the factory's chart. Without a tolerance 20 % is taken, of 0 what passes for it.

    Where what was kept of the unit moves the reading, the limits are those of the unit as it is left, as wide as the
    chart's at least.
    """
    circuit = anatomy.circuit
    low, high = _charted(reading)
    ask = Ask(
        named(reading.a, reading.b, circuit.ground, state), reading.quantity, low, high, "factory", reading.a,
        reading.b or circuit.ground, reading.state, must, "", reading.ac, reading.open,
    )  # fmt: skip
    says = [red_on(circuit, reading.a) or (_set(circuit, state) if reading.quantity == "ohms" else "")]
    moved = anatomy.meters.moved(reading)
    if moved is not None:
        says.append(f"not the chart's {ask.limits}: {anatomy.meters.why(reading) or 'as it is left'}")
        ask = _as_left(ask, reading, moved)
    return ask._replace(says="; ".join(filter(None, says)))


def _charted(reading: Reading) -> tuple[float | None, float | None]:
    low, high = reading.low, reading.high
    if reading.open:
        return figure("isolation")["ohms"], None
    if low is None and high is None and reading.nominal is not None:
        slack = abs(reading.nominal) * figure("plate_limits")["fraction"]
        if reading.nominal == 0:
            slack = ZERO_OHMS if reading.quantity == "ohms" else ZERO_VOLTS
        low, high = reading.nominal - slack, reading.nominal + slack
        if reading.quantity == "ohms":
            # Leads and contacts add to small ones.
            low, high = max(low, 0.0), max(high, ZERO_OHMS)
    return low, high


def _as_left(ask: Ask, reading: Reading, moved: Interval) -> Ask:
    """The limits of a reading round what it is on the unit."""
    if not isfinite(moved.nominal):
        return ask._replace(low=figure("isolation")["ohms"], high=None, basis="computed", open=True)
    middle = reading.nominal or ((ask.low or 0.0) + (ask.high or 0.0)) / 2
    reach = max((abs(bound - middle) for bound in (ask.low, ask.high) if bound is not None and not ask.open), default=0)
    fraction = min(reach / abs(middle), 0.5) if middle else figure("plate_limits")["fraction"]
    low, high = _round(moved, fraction)
    if ask.quantity == "ohms":
        low, high = max(low, 0.0), max(high, ZERO_OHMS)
    return ask._replace(low=low, high=high if isfinite(high) else None, basis="computed", open=False)


def _round(shown: Interval, fraction: float) -> tuple[float, float]:
    """The bounds of what is computed, and at least a fraction away."""
    slack = abs(shown.nominal) * fraction
    return min(shown.low, shown.nominal - slack), max(shown.high, shown.nominal + slack)


def cold(anatomy: Anatomy, states: Iterable[str]) -> tuple[Ask, ...]:
    """With the plug out. The mains, the earth, the supplies and the way to the aerial must be read, the rest may."""
    circuit = anatomy.circuit
    chart = [
        from_chart(
            anatomy, reading, must=_urgent(anatomy, reading), state=reading.state if reading.state != "rest" else ""
        )
        for reading in circuit.readings
        if reading.quantity == "ohms" and reading.state in ("rest", *states)
    ]
    asks = distinct((*chart, *_line(anatomy), *_supplies(anatomy), *_aerial(anatomy)))
    return tuple(sorted(asks, key=lambda ask: (not ask.must, not _on_mains(anatomy, ask))))


def _urgent(anatomy: Anatomy, reading: Reading) -> bool:
    circuit, ways = anatomy.circuit, anatomy.ways
    for point in (reading.a, reading.b or circuit.ground):
        if point == circuit.ground:
            continue
        names = list(ways.names(ways.net(point)))
        net = circuit.nets.get(point)
        hot = (net is not None and net.purpose in URGENT) or ways.net(point) in _mains(ways)
        power = part_of(point) in (*anatomy.transformers, *anatomy.finals, *anatomy.modulators)
        if hot or power or any(p in anatomy.outputs for p in names) or ways.net(point) in ways.ground:
            return True
    return False


def _mains(ways: Ways) -> frozenset[int]:
    return mains_nets(ways) - ways.ground


def _on_mains(anatomy: Anatomy, ask: Ask) -> bool:
    return any(anatomy.ways.net(p) in _mains(anatomy.ways) for p in (ask.a, ask.b))


def _line(anatomy: Anatomy) -> Iterator[Ask]:
    """Plug to chassis, plug across, earth to chassis."""
    circuit, ways = anatomy.circuit, anatomy.ways
    body = "chassis" if "chassis" in ways.nets.index else circuit.ground
    for name, part in circuit.parts.items():
        if not part.kind.name.startswith(("cord-", "inlet-")):
            continue
        for end in ("L", "N"):
            point = f"{name}.{end}"
            if ways.net(point) in ways.ground or (anatomy.hot and body == circuit.ground):
                continue
            yield _isolation(anatomy, point, body)
        yield Ask(f"{name}.L--{name}.N", "ohms", figure("isolation")["ohms"], None, "trade", f"{name}.L", f"{name}.N",
                  says="switch off", open=True)  # fmt: skip
        if part.kind.lug("E"):
            yield Ask(named(f"{name}.E", body, circuit.ground), "ohms", 0.0, figure("bond")["ohms"], "trade",
                      f"{name}.E", body, says="cord and bond together; the meter's own leads taken off")  # fmt: skip
    for transformer in primaries(ways):
        ends = primary_ends(anatomy, transformer)
        if ends is not None:
            yield from computed(anatomy, *ends)


def _isolation(anatomy: Anatomy, point: Point, body: Point) -> Ask:
    """A megohm; where the drawing itself has a path, as a set without a transformer has, what that must read."""
    limit: float = figure("isolation")["ohms"]
    says = "switch off" if anatomy.hot else "switch off and again on, leads both ways"
    for ask in computed(anatomy, point, body):
        if ask.low is not None and ask.low < limit:
            return ask._replace(says=says)
    return Ask(
        named(point, body, anatomy.circuit.ground), "ohms", limit, None, "trade", point, body, says=says, open=True
    )


def _supplies(anatomy: Anatomy) -> Iterator[Ask]:
    """Each supply's output against ground, with the meter's positive lead where the supply is positive."""
    circuit = anatomy.circuit
    for supply in anatomy.supplies:
        for net in supply.nets[:1]:
            ends = (circuit.ground, net) if supply.volts < 0 else (net, circuit.ground)
            for ask in computed(anatomy, *ends):
                if ask.open:
                    yield ask._replace(
                        low=figure("stuck")["ohms"] * 5, basis="trade", says="climbs as the filters charge"
                    )
                else:
                    yield ask


def _aerial(anatomy: Anatomy) -> Iterator[Ask]:
    """Plate to output: nothing but a blocking capacitor lies between. A bleeder and a choke leave nothing to read."""
    for output in anatomy.outputs:
        for tube in anatomy.finals[:1]:
            plate = next(p for p in anatomy.circuit.parts[tube].points() if electrode(anatomy.ways, p) == "p")
            for ask in computed(anatomy, plate, output):
                if ask.open:
                    says = "a leaking blocking capacitor puts the plate voltage on the aerial"
                    yield ask._replace(low=figure("blocking")["ohms"], basis="trade", says=says)


def computed(anatomy: Anatomy, a: Point, b: Point) -> Iterator[Ask]:
    """Ohms from ``a`` to ``b`` at rest as the network of the circuit gives them; nothing where it cannot tell."""
    ohms = anatomy.meters.ohms(a, b)
    if ohms is None:
        return
    name = named(a, b, anatomy.circuit.ground)
    ask = Ask(name, "ohms", ohms.low, None, "computed", a, b, says=red_on(anatomy.circuit, a))
    if not isfinite(ohms.nominal):
        yield ask._replace(low=figure("isolation")["ohms"], open=True)
    else:
        yield ask._replace(high=max(ohms.high, ZERO_OHMS) if isfinite(ohms.high) else None)


def line(anatomy: Anatomy) -> Iterator[Ask]:
    """The line at the plug, when it is not reduced."""
    volts = anatomy.line_volts
    if anatomy.mains and volts:
        yield Ask("plug", "volts", volts * 0.9, volts * 1.05, "trade", ac=True, says="at the plug, the set working")


def windings(anatomy: Anatomy) -> Iterator[Ask]:
    """Heater, bias and control windings with nothing drawn from them. Plate windings are not measured."""
    circuit, ways = anatomy.circuit, anatomy.ways
    limits = figure("winding_limits")
    fed = primaries(ways)
    gated = {s.transformer for s in anatomy.supplies if anatomy.gate(s)}
    for w in circuit.windings:
        ends = (f"{w.part}.{w.terminals[0]}", f"{w.part}.{w.terminals[-1]}")
        if w.part not in fed or w.part in gated or not w.volts or {ways.net(e) for e in ends} == set(fed[w.part]):
            continue
        if w.volts <= TOUCHY:
            yield Ask(f"{ends[0]}--{ends[1]}", "volts", w.volts * (1 - limits["down"]), w.volts * (1 + limits["up"]),
                      "drawing", *ends, says=w.label, ac=True)  # fmt: skip


TOUCHY = 150.0
"""Volts above which a winding is left alone in the first stages: what it gives is read as direct current later."""


def heaters(anatomy: Anatomy, out: Iterable[str], state: str) -> Iterator[Ask]:
    """Each heater circuit at one of its tubes, or the ends of a string."""
    limit = figure("heater_limits")["transmitter" if anatomy.finals else "receiver"]
    gone = set(out)
    circuit = anatomy.circuit
    chart = [r for r in circuit.readings if r.quantity == "volts" and r.ac and r.state == state]
    for one in anatomy.heaters:
        here = [t for t in one.tubes if t not in gone]
        if not here or not all(one.across):
            continue
        known = [r for r in chart if part_of(r.a) in one.tubes and part_of(r.b) == part_of(r.a)]
        if known:
            yield from (from_chart(anatomy, r, must=True) for r in known)
        else:
            across = one.across if part_of(one.across[0]) in here or one.series else None
            a, b = across or (f"{here[0]}.{one.across[0].split('.')[1]}", f"{here[0]}.{one.across[1].split('.')[1]}")
            yield Ask(f"{a}--{b}", "volts", one.volts * (1 - limit), one.volts * (1 + limit), "trade", a, b, ac=True,
                      says=f"heaters of {', '.join(here)}")  # fmt: skip


def in_state(
    anatomy: Anatomy, state: str, *, mark: bool, without: Iterable[int] = (), out: Collection[str] = ()
) -> tuple[Ask, ...]:
    """The factory's chart of a state under power, and for the record what else its supplies should show.

    Where the chart is silent about the state, the computed volts of the supplies take its place; so they do where
    tubes are ``out`` whose current the chart has in it.
    """
    leave = set(without)
    chart = () if _lighter(anatomy, state, out) else anatomy.circuit.readings
    asks = [
        from_chart(anatomy, reading, must=True, state=state if mark else "")
        for reading in chart
        if reading.quantity != "ohms" and reading.state == state and anatomy.ways.net(reading.a) not in leave
    ]
    charted = {anatomy.ways.net(one.a) for one in asks if one.quantity == "volts"}
    others = _under_power(anatomy, state, mark, charted | leave, out)
    return distinct((*asks, *(one._replace(must=not asks) for one in others)))


def _lighter(anatomy: Anatomy, state: str, out: Collection[str]) -> bool:
    return any(load.state == state and part_of(load.a) in out for load in anatomy.circuit.loads)


def _under_power(anatomy: Anatomy, state: str, mark: bool, leave: set[int], out: Collection[str]) -> Iterator[Ask]:
    """Supply nets that no chart has: computed from the loads, else the drawing's own figure."""
    for supply in anatomy.supplies:
        for name in supply.nets:
            if anatomy.ways.net(name) in leave or supply.role == "control":
                continue
            yield from volts_of(anatomy, name, state, mark=mark, out=out)


def volts_of(
    anatomy: Anatomy, name: Point, state: str, *, mark: bool = False, out: Collection[str] = ()
) -> Iterator[Ask]:
    """Direct volts of one point in a state, with these tubes out."""
    circuit = anatomy.circuit
    ask = Ask(named(name, "", circuit.ground, state if mark else ""), "volts", a=name, b=circuit.ground, state=state)
    fraction = figure("plate_limits")["fraction"]
    volts = anatomy.meters.volts(state, name, without=out)
    net = circuit.nets.get(name)
    if volts is not None:
        low, high = _round(volts, fraction)
        if abs(volts.nominal) <= 1.0:
            # Under a volt in a supply is nothing: then what passes for a chart's 0 passes.
            low, high = min(low, -ZERO_VOLTS), max(high, ZERO_VOLTS)
        yield ask._replace(low=low, high=high, basis="computed")
    elif net is not None and net.volts:
        slack = abs(net.volts) * fraction
        yield ask._replace(low=net.volts - slack, high=net.volts + slack, basis="drawing")
