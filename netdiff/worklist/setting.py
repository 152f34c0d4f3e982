"""Adjustable parts that were put in: to what their slider is set."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final

from netdiff.circuit import Circuit, Part, Point, Reading
from netdiff.electrical.interval import Interval
from netdiff.nets import Nets
from netdiff.quantities import show
from netdiff.worklist.steps import Proof, Step
from netdiff.worklist.wanted import table

_ARM: Final = {"slider-resistor": "tap", "rheostat": "2", "potentiometer": "arm"}
_PRESET: Final = {"screwdriver", "trimmer"}


def with_settings(stock: Circuit, nets: Nets, steps: Iterable[Step]) -> Iterator[Step]:
    """The steps, those that put in a preset each followed by one that sets it.

    A control with a knob is left to whoever turns the knob, unless a bias hangs on it or the drawing's chart reads it.
    """
    for step in steps:
        yield step
        if step.action in ("replace", "fit"):
            for part in step.change.parts_on:
                drawn = stock.parts.get(part.designator)
                if drawn is not None and (made := _set(stock, nets, step, drawn)) is not None:
                    yield made


def _set(stock: Circuit, nets: Nets, step: Step, part: Part) -> Step | None:
    name, kind = part.designator, part.kind.name
    if kind == "trimmer":
        says = f"Set {name} to the middle of its travel: where it belongs shows at the alignment."
        return _step(step, part, f"{name}.1", says)
    if kind not in _ARM:
        return None
    arm = f"{name}.{_ARM[kind]}"
    chart = _chart(stock, nets, arm)
    if kind == "potentiometer" and not (chart or _PRESET & set(part.words) or _biases(stock, nets, arm)):
        return None
    first = f"{name}.{part.kind.terminals[0].name}"
    if chart is not None and chart.quantity == "ohms" and chart.nominal is not None:
        b = chart.b or stock.ground
        says = f"Set the slider of {name} so that {chart.a} to {b} reads {show(chart.nominal, 'ohm')}, by the chart."
        off = float(table("accept")["meter"]["share"])
        low = chart.low if chart.low is not None else chart.nominal * (1 - off)
        high = chart.high if chart.high is not None else chart.nominal * (1 + off)
        reads = f"{chart.a} to {b} reads {show(chart.nominal, 'ohm')}."
        return _step(step, part, arm, says, Proof("ohms", chart.a, b, (), reads, Interval(low, chart.nominal, high)))
    if step.action == "replace":
        says = f"Set the slider of {name} where the old one's stood: {first} to {arm}, measured on both by themselves."
    elif chart is not None:
        says = f"Set the slider of {name} to the middle."
    else:
        says = f"Set the slider of {name} to the middle: nothing says where the old one stood."
    if chart is not None and chart.nominal is not None:
        unit = "V" if not chart.ac else "Vac"
        says += (
            f" At the first power-up it is set so that {chart.a} reads {show(chart.nominal, unit)} in {chart.state}."
        )
    return _step(step, part, arm, says)


def _step(after: Step, part: Part, arm: Point, says: str, proof: Proof | None = None) -> Step:
    if proof is None:
        proof = Proof("inspect", says="Inspect it: the slider bears on the track, and its screw is tight.")
    return Step(
        name=f"set_{part.designator}", action="set", says=says, hold=after.hold, parts=(part.designator,),
        points=(arm,), zone=after.zone, reasons=after.reasons, modification=after.modification,
        cautions=after.cautions, proofs=(proof,), needs=(after.name,),
    )  # fmt: skip


def _chart(stock: Circuit, nets: Nets, arm: Point) -> Reading | None:
    """A reading of the drawing's chart on the arm: of ohms before one of volts."""
    mine = [
        one
        for one in stock.readings
        if one.quantity in ("ohms", "volts") and (nets.same(arm, one.a) or (one.b and nets.same(arm, one.b)))
    ]
    return min(mine, key=lambda one: one.quantity, default=None)


def _biases(stock: Circuit, nets: Nets, arm: Point) -> bool:
    return any(net.purpose == "bias" and nets.same(arm, name) for name, net in stock.nets.items())
