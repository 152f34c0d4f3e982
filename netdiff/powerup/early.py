"""The stages before any plate voltage: what is connected, set and read in each."""

from __future__ import annotations

from collections.abc import Iterable
from functools import partial

from netdiff.circuit import Circuit
from netdiff.powerup import forming, limits, setup
from netdiff.powerup.anatomy import Anatomy
from netdiff.powerup.consumption import draw, lamp, lamp_tubes_out
from netdiff.powerup.context import Context, Made
from netdiff.powerup.stages import Ask, figure
from netdiff.quantities import show


def look(here: Context) -> Made:
    return Made([], ["Plug out, cord tagged, discharged and proven dead."], [])


def cold(here: Context) -> Made:
    rest = "Every switch at its rest position, relays released, nothing plugged in; the tubes as the chart has them."
    meter = here.body.circuit.ohms_per_volt
    said = ["Red lead on the point that is named, or named first; black on the other, or on ground."]
    if meter:
        said.append(f"The chart was made with a meter of {show(meter, 'ohm')} per volt.")
    return Made(said, [rest], list(limits.cold(here.body, here.states.cold)))


def rests(body: Anatomy, asks: Iterable[Ask]) -> list[str]:
    """When the cold readings say stop: by the very limits that the supplies have there."""
    read = {ask.a if ask.a != body.circuit.ground else ask.b: ask for ask in asks if ask.quantity == "ohms"}
    mine = {one.nets[0]: read[one.nets[0]] for one in body.supplies if one.nets and one.nets[0] in read}
    low = [f"{net} {show(ask.low, 'ohm', 3)}" for net, ask in mine.items() if ask.low]
    bled = [net for net, ask in mine.items() if ask.high is not None]
    stuck = show(figure("stuck")["ohms"], "ohm")
    least = f"its limit ({', '.join(low)})" if low else stuck
    out = [f"A supply comes to rest below {least}: a short, or a capacitor that leaks."]
    return [*out, f"Or reads open: its bleeder or divider is gone ({setup.some(bled)})."] if bled else out


def reform(here: Context) -> Made:
    row = figure("forming")
    connect = [
        "The set unplugged. One lead of the capacitor lifted, or its supply's rectifier out and every load off.",
        "A bench supply through the resistor named with each, plus to plus; a meter across the resistor.",
        "What stands on the capacitor kills: clip on with the supply off, discharge before it is touched.",
    ]
    time = (
        f"Up to the rated voltage in steps. At least {row['least_minutes']} minutes and {row['minutes_a_month']} for "
        f"each month that it stood, {row['most_minutes']} at the most; a new one needs no more than the reading."
    )
    return Made(connect, [time], list(forming.asks(here.body)))


def tubes_out(here: Context) -> Made:
    body = here.body
    everything = [t for t, p in body.circuit.parts.items() if p.kind.family == "tube"]
    size = lamp_tubes_out(here.draw.watts)
    own = f" The set at work: {here.draw.how}." if here.draw.how else ""
    connect = [
        *setup.mains(body),
        setup.series_lamp(size, f"Small, since next to nothing draws.{own}"),
        "All tubes out, each marked by its socket." if everything else "",
        *map(partial(setup.kept_dead, body), here.gated),
    ]
    if any(one.series for one in body.heaters):
        connect.append("With a tube out the string of heaters is open: only what lies across the line can draw.")
    for supply in here.with_low:
        if supply.rectifiers and not supply.pulled:
            connect.append(setup.without_rectifier(supply))
    return Made(connect, [here.switched_on()], list(limits.windings(body)))


def heaters(here: Context) -> Made:
    body = here.body
    warm = draw(body, (), "", here.pulled)
    outside = [one for one in body.heaters if not one.transformer and not one.series]
    connect = list(setup.mains(body)) if body.mains else []
    if body.mains:
        connect += [
            setup.series_lamp(lamp(warm.watts), setup.reckoned(warm)),
            "When the lamp has settled and every tube is warm, the lamp is bypassed and the heaters are read.",
        ]
    connect += [
        f"{show(one.volts, 'Vac')} from a bench transformer at the heaters of {setup.some(one.tubes)}."
        for one in outside
    ]
    connect += [setup.kept_dead(body, one) for one in here.plates]
    connect.append(
        "All other tubes in, in their own sockets." if here.pulled else "All tubes in, in their own sockets."
    )
    asks = [*limits.line(body), *limits.heaters(body, here.pulled, here.states.low or here.states.work)]
    return Made(connect, [here.switched_on()], asks)


def conditioning(here: Context) -> Made:
    body = here.body
    supplies = [one for one in body.supplies if one.mercury]
    parts = body.circuit.parts
    asks = []
    for supply in supplies:
        for name in supply.gate:
            if parts[name].kind.name == "delay-relay":
                need = max(_preheat(body.circuit, r) for r in supply.rectifiers)
                asks.append(Ask(name, "seconds", need, None, "trade", must=True,
                                says="from the switch to the click of its contact, the heater cold"))  # fmt: skip
    dead = [setup.without_rectifier(one) for one in here.with_low if one not in supplies]
    connect = [*setup.mains(body), *(setup.kept_dead(body, s) for s in supplies), *dead]
    return Made(connect, [setup.hand_switches(body), "No series lamp: a filament needs its full voltage."], asks)


def bias(here: Context) -> Made:
    body = here.body
    connect = [*setup.mains(body), *map(partial(setup.kept_dead, body), here.plates)]
    asks: list[Ask] = []
    state = here.states.low or here.states.idle or here.states.work
    for supply in body.of_role("bias"):
        connect.append(setup.back_in(body, supply) if supply.pulled or supply.outside else "")
        chart = limits.in_state(body, state, mark=False) if state else ()
        asks += [a for a in chart if a.quantity == "volts" and not a.ac and body.ways.net(a.a) in supply.reached]
        for point in (*supply.nets, *supply.grids):
            asks += limits.volts_of(body, point, state)
    return Made(connect, [here.switched_on(), "Key up." if body.keys else ""], asks)


def _preheat(circuit: Circuit, name: str) -> float:
    fact = circuit.parts[name].kind.facts.get("preheat_seconds", figure("preheat")["seconds"])
    return float(fact)
