"""The tubes that give power: the voltage of each grid first of all, then of plate, screen and cathode.

A coupling capacitor that leaks puts plus on the grid behind it. The tube then draws all that its supply gives, and
output transformer and rectifier go with it.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator

from netdiff.circuit import Point
from netdiff.powerup.anatomy import Anatomy
from netdiff.powerup.limits import distinct, named, volts_of
from netdiff.powerup.stages import Ask, figure
from netdiff.powerup.supplies import electrode


def grids(anatomy: Anatomy, state: str, *, share: float = 1.0) -> Iterator[Ask]:
    """Every grid of a power tube that no signal drives in this state, against the bias that the circuit gives it.

    ``share`` is the part of the line that the bias supply gets. A tube that is out leaves its grid's lug to be read.
    """
    circuit, limits = anatomy.circuit, figure("grid_limits")
    driven = {load.a for load in circuit.loads if load.state == state}
    for grid in _points(anatomy, anatomy.power_tubes, ("g1",)):
        volts = anatomy.meters.volts(state, grid)
        if volts is None or grid in driven:
            continue
        if abs(volts.nominal) <= limits["biased"]:
            ask = Ask(named(grid, "", circuit.ground), "volts", volts.nominal + limits["down"],
                      volts.nominal + limits["up"], "trade", grid, circuit.ground, state)  # fmt: skip
        else:
            # A bias that depends on a pot has wide bounds; none of them is positive.
            (ask,) = volts_of(anatomy, grid, state)
            ask = ask._replace(low=(ask.low or 0.0) * share, high=min(ask.high or 0.0, 0.0) * share)
        caps = coupling(anatomy, grid)
        leak = f"{' or '.join(caps)} leaks" if caps else "a coupling capacitor leaks"
        yield ask._replace(must=True, says=f"more positive: {leak}, or the tube is gassy")


def ahead(grids: Iterable[Ask], chart: Iterable[Ask]) -> tuple[Ask, ...]:
    """The grids first, with the factory's limits where its chart has them; a charted 0 allows no plus all the same."""
    mine = {ask.name: ask for ask in grids}
    known = {ask.name: ask for ask in chart if ask.quantity == "volts"}
    out = []
    for name, ask in mine.items():
        charted = known.get(name)
        if charted is not None and charted.basis == "factory":
            most = [bound for bound in (charted.high, ask.high) if bound is not None]
            ask = charted._replace(high=min(most) if ask.basis == "trade" else charted.high, says=ask.says, must=True)
        out.append(ask)
    return distinct((*out, *chart))


def coupling(anatomy: Anatomy, grid: Point) -> tuple[str, ...]:
    """Capacitors between a grid, its stopper included, and anything that is neither ground nor a bias supply."""
    ways = anatomy.ways
    dead = ways.ground | {net for one in anatomy.of_role("bias") for net in one.reached}
    own = {ways.net(grid)} - {-1}
    own |= {net for at in own for way in ways.at.get(at, ()) if way.sort == "resistor" and (net := way.beyond(at)) >= 0}
    own -= dead
    own |= {ways.net(grid)}
    found = [
        way.part
        for net in own
        for way in ways.at.get(net, ())
        if way.sort == "capacitor" and way.beyond(net) not in ways.ground | own
    ]
    return tuple(dict.fromkeys(found))


def electrodes(anatomy: Anatomy, state: str, known: Iterable[Point]) -> Iterator[Ask]:
    """Plate, screen and cathode of the tubes that drive a loudspeaker, on nets of which nothing is read yet."""
    read = {anatomy.ways.net(point) for point in known} | anatomy.ways.ground
    for point in _points(anatomy, anatomy.audio, ("p", "g2", "k")):
        if anatomy.ways.net(point) not in read:
            read.add(anatomy.ways.net(point))
            yield from (ask._replace(must=True) for ask in volts_of(anatomy, point, state))


def _points(anatomy: Anatomy, tubes: Collection[str], wanted: Collection[str]) -> Iterator[Point]:
    for tube in tubes:
        for point in anatomy.circuit.parts[tube].points():
            if electrode(anatomy.ways, point) in wanted:
                yield point
