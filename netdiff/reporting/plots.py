"""Plots as plain SVG: a chart's spans beside what the meter read, a discharge, a standing-wave ratio.

Everything is drawn in the colour of the text around it, and told apart by shape, dash and word, so that a
plot is the same in a light page, in a dark one and on black and white paper. Each plot carries its title and
a description for who does not see it; all text in it is escaped.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from html import escape
from itertools import pairwise
from typing import Final, NamedTuple

from netdiff.quantities import show
from netdiff.reporting.plain import clean

WIDTH: Final = 720.0
"""Of every plot, in its own units; the page scales it."""
CHARACTER: Final = 6.9
"""Width of a character at 12 units, the widest sans serif that is common; names are clipped by it."""

LEAST: Final = 0.5
"""Ohms under which a meter with its leads reads nothing that differs from 0: they stand at the 0 of a chart."""

_DASHES: Final = ("", "9 4", "3 3", "12 3 3 3", "1 4")


class Span(NamedTuple):
    """One line of a chart: where the value should lie and where the meter saw it, in SI units.

    ``inf`` is an open circuit. ``measured`` is None where nobody measured; ``off`` says that it lies outside.
    """

    name: str
    low: float
    nominal: float
    high: float
    measured: float | None = None
    off: bool = False
    unit: str = "ohm"
    instead: tuple[float, float] | None = None
    """Where it should lie by another prediction, drawn dashed."""


class Discharge(NamedTuple):
    """One store of charge: volts at switch-off, seconds of its time constant (``inf``: no path)."""

    name: str
    volts: float
    tau: float


class Curve(NamedTuple):
    """A run's standing-wave ratio: frequency in hertz, ratio (1 and up)."""

    name: str
    points: tuple[tuple[float, float], ...]


def chart(title: str, spans: Sequence[Span]) -> str:
    """Spans under each other: a bar from low to high, a stroke at the nominal value, a mark where it was read.

    Ohms stand on a logarithmic axis with a place of its own for 0 and for open; volts, amperes and watts on
    a linear one that shows zero. Empty where there is nothing to show.
    """
    if not spans:
        return ""
    left, right, row, top = 190.0, WIDTH - 130.0, 24.0, 34.0
    place = _ohms_axis(spans, left, right) if spans[0].unit == "ohm" else _plain_axis(spans, left, right)
    bottom = top + row * len(spans)
    parts = [_grid(x, top - 6, bottom, label) for x, label in place.ticks]
    for number, span in enumerate(spans):
        y = top + row * (number + 0.5)
        parts.append(_text(left - 10, y + 4, _clipped(span.name, left - 14), "end"))
        a, b, n = place.at(span.low), place.at(span.high), place.at(span.nominal)
        a, b = (a, b) if b - a >= 3 else ((a + b) / 2 - 1.5, (a + b) / 2 + 1.5)
        parts.append(
            f'<rect x="{a:.1f}" y="{y - 6:.1f}" width="{b - a:.1f}" height="12" fill="currentColor" '
            'fill-opacity="0.2" stroke="currentColor" stroke-width="0.8"/>'
            f'<path d="M{n:.1f} {y - 9:.1f}v18" stroke="currentColor" stroke-width="1.6"/>'
        )
        if span.instead is not None:
            c, d = (place.at(value) for value in span.instead)
            parts.append(
                f'<path d="M{min(c, d) - 3:.1f} {y - 8:.1f}H{max(c, d) + 3:.1f}v16H{min(c, d) - 3:.1f}z" fill="none" '
                'stroke="currentColor" stroke-width="1" stroke-dasharray="3 2"/>'
            )
        if span.measured is not None:
            parts.append(_mark(place.at(span.measured), y, span.off))
            word = " OFF" if span.off else ""
            parts.append(_text(right + 14, y + 4, _value(span.measured, span.unit) + word, weight=span.off))
    parts.append(_key(left, bottom + 26))
    says = "; ".join(_says(span) for span in spans)
    return _svg(title, says, bottom + 40, parts)


def discharge(title: str, stores: Sequence[Discharge], safe: float = 60.0) -> str:
    """Volts against seconds after switching off, one curve a store; ``safe`` volts is the line to fall under.

    U(t) = U0 exp(-t/RC). Source: any textbook of physics.
    """
    if not stores:
        return ""
    left, right, top, bottom = 66.0, WIDTH - 150.0, 34.0, 280.0
    falls = [_until(store, safe) for store in stores]
    ends = [1.25 * t for t in falls if math.isfinite(t) and t > 0]
    # A store without a path must not stretch the axis of those that have one, and one alone still needs an axis.
    last = max(ends, default=60.0)
    most = max(max(store.volts for store in stores), safe) * 1.08
    x_ticks, y_ticks = ticks(0, last), ticks(0, most)

    def x(t: float) -> float:
        return left + (right - left) * t / last

    def y(v: float) -> float:
        return bottom - (bottom - top) * v / most

    parts = [_grid(x(t), top, bottom, show(t, "s") if t else "0", below=True) for t in x_ticks if t <= last]
    parts += [
        _level(left, right, y(v), show(v, "V") if v else "0") for v in y_ticks if v <= most and abs(y(v) - y(safe)) > 13
    ]
    parts.append(
        f'<path d="M{left} {y(safe):.1f}H{right}" stroke="currentColor" stroke-width="1.4" stroke-dasharray="2 3"/>'
        + _text(left - 8, y(safe) + 4, show(safe, "V"), "end", weight=True)
    )
    marks: list[tuple[float, str]] = []
    for number, store in enumerate(stores):
        steps = [last * k / 60 for k in range(61)]
        path = " ".join(f"{x(t):.1f},{y(_left_over(store, t)):.1f}" for t in steps)
        dash = _DASHES[number % len(_DASHES)]
        parts.append(
            f'<polyline points="{path}" fill="none" stroke="currentColor" stroke-width="2"'
            + (f' stroke-dasharray="{dash}"' if dash else "")
            + "/>"
        )
        marks.append((y(_left_over(store, last)) + 4, store.name + (" (no path)" if math.isinf(store.tau) else "")))
    parts += [_text(right + 8, at, _clipped(name, 140)) for at, name in _apart(marks, top, bottom)]
    parts.append(_text((left + right) / 2, bottom + 36, "after switching off", "middle"))
    says = "; ".join(_fall_says(store, fall, safe) for store, fall in zip(stores, falls, strict=True))
    return _svg(title, says, bottom + 46, parts)


def ratio(title: str, curves: Sequence[Curve]) -> str:
    """Standing-wave ratio against frequency, both axes linear, the ratio from 1."""
    curves = [curve for curve in curves if len(curve.points) > 1]
    if not curves:
        return ""
    left, right, top, bottom = 60.0, WIDTH - 150.0, 34.0, 240.0
    hertz = [f for curve in curves for f, _ in curve.points]
    highest = max(1.5, max(min(s, 20.0) for curve in curves for _, s in curve.points) * 1.05)
    first, last = min(hertz), max(hertz)

    def x(f: float) -> float:
        return left + (right - left) * (f - first) / ((last - first) or 1)

    def y(s: float) -> float:
        return bottom - (bottom - top) * (min(s, highest) - 1) / (highest - 1)

    parts = [_grid(x(f), top, bottom, show(f, "Hz"), below=True) for f in ticks(first, last) if first <= f <= last]
    parts += [_level(left, right, y(s), f"{s:g}") for s in ticks(1, highest) if 1 <= s <= highest]
    marks = []
    for number, curve in enumerate(curves):
        path = " ".join(f"{x(f):.1f},{y(s):.1f}" for f, s in curve.points)
        dash = _DASHES[number % len(_DASHES)]
        parts.append(
            f'<polyline points="{path}" fill="none" stroke="currentColor" stroke-width="2"'
            + (f' stroke-dasharray="{dash}"' if dash else "")
            + "/>"
        )
        marks.append((y(curve.points[-1][1]) + 4, curve.name))
    parts += [_text(right + 8, at, _clipped(name, 140)) for at, name in _apart(marks, top, bottom)]
    parts.append(_text(left - 44, top - 14, "standing-wave ratio"))
    says = "; ".join(
        f"{curve.name}: {curve.points[0][1]:.2f} at {show(curve.points[0][0], 'Hz')}, "
        f"{curve.points[-1][1]:.2f} at {show(curve.points[-1][0], 'Hz')}"
        for curve in curves
    )
    return _svg(title, says, bottom + 34, parts)


def ticks(low: float, high: float, about: int = 5) -> list[float]:
    """Round numbers (1, 2, 5 times a power of ten) from at or below ``low`` to at or above ``high``.

    >>> ticks(0, 580)
    [0.0, 200.0, 400.0, 600.0]
    """
    width = (high - low) or abs(high) or 1.0
    step = 10.0 ** math.floor(math.log10(width / about))
    step *= next(m for m in (1, 2, 5, 10) if width / (step * m) <= about)
    start, stop = math.floor(low / step), math.ceil(high / step - 1e-9)
    return [round(n * step, 12) for n in range(start, stop + 1)]


# --- axes ---------------------------------------------------------------------------------------------------------


class _Axis(NamedTuple):
    low: float
    high: float
    left: float
    right: float
    ticks: tuple[tuple[float, str], ...]
    logarithmic: bool

    def at(self, value: float) -> float:
        low, high = self.left, self.right
        if self.logarithmic:
            if value < LEAST or math.isinf(value):
                return self.left if value < LEAST else self.right
            low, high = self.left + 24, self.right - 34
            value = math.log10(value)
        share = (value - self.low) / (self.high - self.low)
        return low + (high - low) * min(1.0, max(0.0, share))


def _finite(spans: Iterable[Span]) -> list[float]:
    values = [v for span in spans for v in (*span[1:5], *(span.instead or ())) if v is not None]
    return [v for v in values if math.isfinite(v)]


def _ohms_axis(spans: Sequence[Span], left: float, right: float) -> _Axis:
    values = [v for v in _finite(spans) if v >= LEAST] or [1.0]
    low, high = math.floor(math.log10(min(values))), math.ceil(math.log10(max(values)) - 1e-9)
    high = max(high, low + 1)
    bare = _Axis(low, high, left, right, (), True)
    every = max(1, math.ceil((high - low) / 7))
    marks = [(bare.at(10.0**n), show(10.0**n, "ohm")) for n in range(low, high + 1, every)]
    ends = [(left, "0")] if any(v < LEAST for v in _finite(spans)) else []
    if any(math.isinf(v) for s in spans for v in (*s[1:4], s.measured or 0, *(s.instead or ()))):
        marks = [mark for mark in marks if mark[0] < right - 45]
        ends.append((right, "open"))
    return bare._replace(ticks=(*ends, *marks))


def _plain_axis(spans: Sequence[Span], left: float, right: float) -> _Axis:
    values = [*_finite(spans), 0.0]
    marks = ticks(min(values), max(values))
    if len(marks) < 2:
        marks = [0.0, 1.0]
    bare = _Axis(marks[0], marks[-1], left, right, (), False)
    unit = spans[0].unit
    return bare._replace(ticks=tuple((bare.at(v), show(v, unit) if v else "0") for v in marks))


# --- pieces -------------------------------------------------------------------------------------------------------


def _svg(title: str, says: str, height: float, parts: Iterable[str]) -> str:
    name, about = escape(clean(title)), escape(clean(says))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="plot" viewBox="0 0 {WIDTH:.0f} {height:.0f}" role="img" '
        f'font-family="sans-serif" font-size="12" color="inherit"><title>{name}</title><desc>{about}</desc>'
        f"{''.join(parts)}</svg>"
    )


def _text(x: float, y: float, text: str, anchor: str = "start", *, weight: bool = False) -> str:
    bold = ' font-weight="bold"' if weight else ""
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" fill="currentColor"{bold}>{escape(clean(text))}</text>'
    )


def _clipped(text: str, width: float) -> str:
    most = int(width / CHARACTER)
    return text if len(text) <= most else f"{text[: most - 1].rstrip()}…"


def _grid(x: float, top: float, bottom: float, label: str, *, below: bool = False) -> str:
    line = f'<path d="M{x:.1f} {top:.1f}V{bottom:.1f}" stroke="currentColor" stroke-opacity="0.25"/>'
    return line + _text(x, bottom + 16 if below else top - 6, label, "middle")


def _level(left: float, right: float, y: float, label: str) -> str:
    line = f'<path d="M{left:.1f} {y:.1f}H{right:.1f}" stroke="currentColor" stroke-opacity="0.25"/>'
    return line + _text(left - 8, y + 4, label, "end")


def _mark(x: float, y: float, off: bool) -> str:
    """Inside: a filled diamond. Outside: a cross in a ring."""
    if not off:
        return f'<path d="M{x:.1f} {y - 6:.1f}l6 6l-6 6l-6 -6z" fill="currentColor"/>'
    return (
        f'<circle cx="{x:.1f}" cy="{y:.1f}" r="7.5" fill="none" stroke="currentColor" stroke-width="2"/>'
        f'<path d="M{x - 4:.1f} {y - 4:.1f}l8 8m0 -8l-8 8" stroke="currentColor" stroke-width="2"/>'
    )


def _key(x: float, y: float) -> str:
    return (
        f'<rect x="{x:.1f}" y="{y - 10:.1f}" width="22" height="12" fill="currentColor" fill-opacity="0.2" '
        f'stroke="currentColor" stroke-width="0.8"/>'
        + _text(x + 28, y, "where it should lie")
        + _mark(x + 168, y - 4, off=False)
        + _text(x + 180, y, "read, inside")
        + _mark(x + 278, y - 4, off=True)
        + _text(x + 291, y, "read, outside")
    )


def _apart(marks: list[tuple[float, str]], top: float, bottom: float) -> list[tuple[float, str]]:
    """Names at the ends of curves, moved so that none lies on another."""
    out: list[tuple[float, str]] = []
    for at, name in sorted(marks):
        out.append((max(at, out[-1][0] + 14) if out else max(at, top), name))
    over = out[-1][0] - bottom if out else 0.0
    if over > 0:
        out = [(at - over, name) for at, name in out]
        for (a, _), (b, name) in pairwise(reversed(out)):
            if a - b < 14:
                out[out.index((b, name))] = (a - 14, name)
    return out


# --- words --------------------------------------------------------------------------------------------------------


def _value(value: float, unit: str) -> str:
    return "open" if math.isinf(value) else show(value, unit)


def _says(span: Span) -> str:
    low, high = _value(span.low, span.unit), _value(span.high, span.unit)
    should = low if low == high else f"{low} to {high}"
    read = "" if span.measured is None else f", read {_value(span.measured, span.unit)}"
    return f"{span.name}: {should}{read}{', outside' if span.off else ''}"


def _left_over(store: Discharge, t: float) -> float:
    return store.volts if math.isinf(store.tau) else store.volts * math.exp(-t / store.tau) if store.tau > 0 else 0.0


def _until(store: Discharge, safe: float) -> float:
    return store.tau * math.log(store.volts / safe) if store.volts > safe else 0.0


def _fall_says(store: Discharge, fall: float, safe: float) -> str:
    if math.isinf(fall):
        return f"{store.name}: {show(store.volts, 'V')}, no discharge path"
    return f"{store.name}: {show(store.volts, 'V')}, under {show(safe, 'V')} after {show(fall, 's')}"
