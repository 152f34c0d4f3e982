"""The stages with plate voltage: what is connected, set and read in each."""

from __future__ import annotations

from collections.abc import Iterator

from netdiff.powerup import limits, setup
from netdiff.powerup.consumption import draw
from netdiff.powerup.context import Context, Made
from netdiff.powerup.stages import Ask, figure
from netdiff.powerup.supplies import Supply


def low_reduced(here: Context) -> Made:
    body = here.body
    supply = here.low or here.plates[0]
    state = here.states.low or here.states.work or here.states.idle
    connect = [*setup.mains(body), *(setup.back_in(body, one) for one in here.with_low), *_without_final(here)]
    if body.string_with_rectifier:
        tube = setup.some(body.string_with_rectifier)
        connect.append(f"All tubes in: {tube} is a link of the string, and heaters and plate voltage come up together.")
    first = [one for one in body.supplies if one not in here.later]
    connect += [*setup.speakers(body), *setup.reduced(body, supply, draw(body, first, state))]
    asks = [ask for one in here.with_low for ask in _rising(here, one, state)]
    return Made(connect, here.settings(state, keyed=False), asks)


def _without_final(here: Context) -> Iterator[str]:
    """The final and the modulator stay without power while the small stages come up."""
    body = here.body
    yield from (setup.kept_dead(body, one) for one in here.later)
    out = here.starved(here.with_low)
    if body.finals and here.high is None and body.drivers:
        out = tuple(dict.fromkeys((*body.finals, *out)))
    if out and here.in_string(out):
        yield f"Plate and screen leads of {setup.some(out)} lifted and insulated, cold: both, never the plate alone."
    elif out:
        yield f"{setup.some(out)} out: no screen without its plate, and no final without drive."


def _rising(here: Context, supply: Supply, state: str) -> Iterator[Ask]:
    """At the last step of the reduced voltage: something, and no more than at full voltage."""
    for name in supply.nets[:1]:
        full = [a for a in limits.in_state(here.body, state, mark=False) if a.a == name and a.quantity == "volts"]
        full += list(limits.volts_of(here.body, supply, name, state))
        for ask in full[:1]:
            if ask.high is not None and ask.low is not None:
                label, low = limits.named(name, "", here.body.circuit.ground), ask.low * figure("reduced")["least"]
                yield ask._replace(name=label, low=low, basis="trade", says="at the last step", must=True)


def low(here: Context) -> Made:
    body = here.body
    connect = [*setup.mains(body), "Full line: lamp and variable transformer out of the way.", *_without_final(here)]
    if not body.mains:
        connect[0] = "Full voltage."
    gone = {net for one in here.later for net in one.reached}
    asks = [*limits.line(body), *limits.in_state(body, here.states.low, mark=False, without=gone)]
    return Made(connect, here.settings(here.states.low, keyed=False), asks)


def drive(here: Context) -> Made:
    body, state = here.body, here.carrier
    amps = sum(x.amps for x in body.circuit.loads if x.state == state and x.a in {f"{t}.g1" for t in body.finals})
    row = figure("drive_limits")
    asks = []
    if amps:
        says = f"grid current of {setup.some(body.finals)} together, at the set's own meter"
        asks = [Ask("grid-current", "amps", amps * row["low"], amps * row["high"], "trade", says=says)]
    connect = [*setup.mains(body), *(setup.kept_dead(body, one) for one in here.later)]
    lifted = here.starved(here.with_low) if here.high is not None else body.finals
    if lifted:
        connect.append(f"{setup.some(lifted)} in, the leads to plate and screen lifted and insulated, cold.")
    connect.append("Plate and screen of the final are both without voltage: never the plate alone.")
    connect.append("The set's meter on the final's grid current, whatever the state says.")
    return Made([*connect, *setup.dummy(body)], here.settings(state, keyed=True), asks)


def high_reduced(here: Context) -> Made:
    body, state = here.body, here.states.idle
    high = here.high or here.plates[0]
    own = draw(body, (high,), state, heaters=False)
    connect = [*setup.mains(body), *setup.reduced(body, high, own), *setup.dummy(body)]
    return Made(connect, here.settings(state, keyed=False), list(_rising(here, high, state)))


def carrier_reduced(here: Context) -> Made:
    body = here.body
    state = here.carrier or here.states.modulator
    high = here.high or here.low or here.plates[0]
    own = draw(body, (high,), state, heaters=False) if body.gate(high) else draw(body, body.supplies, state)
    connect = [*setup.mains(body), *setup.dummy(body), *setup.reduced(body, high, own)]
    return Made(connect, [*here.settings(state, keyed=True), "Key for seconds at a time."], [])


def carrier(here: Context) -> Made:
    """Key up and key down, each with its own part of the chart."""
    body = here.body
    names = [n for n in (here.states.idle, *here.states.carrier) if n] or [here.states.modulator]
    several = len(names) > 1
    asks = [ask for n in names for ask in limits.in_state(body, n, mark=several)]
    lines = here.settings(names[0], keyed=True)
    if several:
        lines = [f"{n}: {' '.join(here.settings(n, keyed=True))}" for n in names]
    back = setup.back_in(body, here.high) if here.high else ""
    whole = "Full line." if body.mains else "Full voltage."
    return Made([*setup.mains(body), *setup.dummy(body), back, whole], lines, [*limits.line(body), *asks])


def modulator(here: Context) -> Made:
    state = here.states.modulator
    asks = list(limits.in_state(here.body, state, mark=False)) if state else []
    none = "No speech: gain down, or the microphone out."
    return Made([*setup.mains(here.body), *setup.dummy(here.body)], [*here.settings(state, keyed=True), none], asks)


def modulation(here: Context) -> Made:
    scope = "A scope coupled loosely to the dummy load; a tone of 400 to 1000 c/s, turned up from nothing."
    return Made(
        [*setup.mains(here.body), *setup.dummy(here.body), scope],
        here.settings(here.states.modulator, keyed=True),
        [],
    )


def keying(here: Context) -> Made:
    state = here.carrier
    scope = "A scope coupled loosely to the dummy load."
    return Made([*setup.mains(here.body), *setup.dummy(here.body), scope], here.settings(state, keyed=True), [])


def full(here: Context) -> Made:
    body, state = here.body, here.states.work
    connect = [*setup.mains(body), "Full line, no lamp." if body.mains else "Full voltage.", *setup.speakers(body)]
    asks = [*limits.line(body), *limits.in_state(body, state, mark=False)]
    return Made(connect, here.settings(state, keyed=False), asks)
