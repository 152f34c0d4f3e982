"""The stages with plate voltage: what is connected, set and read in each."""

from __future__ import annotations

from collections.abc import Iterator

from netdiff.powerup import limits, output, setup
from netdiff.powerup.anatomy import Anatomy
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
    asks = [*_reduced_line(here, supply)]
    asks += [ask for one in here.with_low for ask in _rising(here, one, state, _out(here))]
    asks += output.grids(body, state, share=_bias_share(here, supply))
    return Made(connect, here.settings(state, keyed=False), asks)


def _out(here: Context) -> tuple[str, ...]:
    """Tubes that stay without plate and screen voltage until there is drive."""
    out = here.starved(here.with_low)
    if here.body.finals and here.high is None and here.body.drivers:
        return tuple(dict.fromkeys((*here.body.finals, *out)))
    return out


def _without_final(here: Context) -> Iterator[str]:
    """The final and the modulator stay without power while the small stages come up."""
    body = here.body
    yield from (setup.kept_dead(body, one) for one in here.later)
    out = _out(here)
    if out and here.in_string(out):
        yield f"Plate and screen leads of {setup.some(out)} lifted and insulated, cold: both, never the plate alone."
    elif out:
        yield f"{setup.some(out)} out: no screen without its plate, and no final without drive."


def _share() -> float:
    """Of the full voltage, at the last step."""
    return float(figure("reduced")["percent"][-1]) / 100


def _bias_share(here: Context, supply: Supply) -> float:
    """Where the line as a whole is reduced, the bias comes up with it."""
    return 1.0 if supply.outside or here.body.gate(supply) else _share()


def _reduced_line(here: Context, supply: Supply) -> Iterator[Ask]:
    """What the set, or the primary of a transformer with a gate of its own, gets at the last step."""
    body, within = here.body, figure("reduced")["within"]
    volts = body.line_volts * _share()
    if supply.outside or not volts:
        return
    plug = Ask("plug", "volts", volts * (1 - within), volts * (1 + within), "trade", ac=True,
               says="what the set gets at the last step, behind lamp or variable transformer")  # fmt: skip
    ends = setup.primary_ends(body, supply.transformer) if body.gate(supply) else None
    if ends is None:
        yield plug
    else:
        says = "what the primary gets at the last step"
        yield plug._replace(name=limits.named(*ends, body.circuit.ground), a=ends[0], b=ends[1], says=says)


def _rising(here: Context, supply: Supply, state: str, out: tuple[str, ...] = ()) -> Iterator[Ask]:
    """At the last step, the tubes warm: the limits at full voltage, as much lower as the line is."""
    body, share = here.body, _share()
    full = _at_full_voltage(body, supply, state, out)
    if full is not None and full.low is not None and full.high is not None:
        line = "the supply's own voltage" if supply.outside else "the line"
        says = f"after two minutes at {share * 100:.0f} % of {line}: {share:g} times the full limits, {full.limits}"
        low, high = full.low * share, full.high * share
        yield full._replace(low=low, high=high, basis="computed", says=says, must=True)
    amps = sum(feed.amps for feed in body.meters.feeds(state, supply)) if supply.outside else 0.0
    if amps:
        most, name = amps * (1 + figure("plate_limits")["fraction"]), supply.nets[0]
        says = "what the bench supply gives; more is a fault"
        yield Ask(f"{name}.amps", "amps", 0.0, most, "computed", name, says=says)


def _at_full_voltage(body: Anatomy, supply: Supply, state: str, out: tuple[str, ...]) -> Ask | None:
    """The reading of a supply: of its nets the first that the chart has, else its output."""
    ground = body.circuit.ground
    asked = limits.in_state(body, state, mark=False, out=out)
    chart = [a for a in asked if a.must and a.quantity == "volts" and not a.ac and a.b == ground]
    for name in supply.nets:
        for ask in chart:
            if body.ways.net(ask.a) == body.ways.net(name):
                return ask._replace(name=name, a=name)
    return next((ask for name in supply.nets[:1] for ask in limits.volts_of(body, name, state, out=out)), None)


def low(here: Context) -> Made:
    body = here.body
    connect = [*setup.mains(body), "Full line: lamp and variable transformer out of the way.", *_without_final(here)]
    if not body.mains:
        connect[0] = "Full voltage."
    gone = {net for one in here.later for net in one.reached}
    state = here.states.low
    chart = limits.in_state(body, state, mark=False, without=gone, out=_out(here))
    return Made(
        connect,
        here.settings(state, keyed=False),
        [*limits.line(body), *output.ahead(output.grids(body, state), chart)],
    )


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
    grids = output.grids(body, state, share=_bias_share(here, high))
    asks = [*_reduced_line(here, high), *_rising(here, high, state), *grids]
    return Made(connect, here.settings(state, keyed=False), asks)


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
    chart = limits.in_state(body, state, mark=False)
    asks = [*limits.line(body), *output.ahead(output.grids(body, state), chart)]
    asks += output.electrodes(body, state, [one.a for one in chart if one.quantity == "volts"])
    return Made(connect, here.settings(state, keyed=False), asks)
