"""Symbols of tubes: envelope, electrodes where the standard has them, each lead with its electrode and pin."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Final

from netdiff.circuit import Kind
from netdiff.drawing.ink import Circle, Ink, Stroke
from netdiff.drawing.symbol import Port, Symbol, dot, line, tiny

_STEM: Final = re.compile(r"(h[12]|ht|f[12]|ft|bp|is|sh|ta|k|pd|p|g[1-7])([ab]?)(?:-.*)?")
STEP: Final = 12.0
"""From grid to grid, pixels."""
STUB: Final = 26.0
"""Length of a lead outside the envelope: it carries its electrode and pin number."""


@dataclass(slots=True)
class _Drawing:
    pins: dict[str, str]
    """Terminal -> pin number, empty where its name is the number."""
    ink: list[Ink] = field(default_factory=list)
    ports: dict[str, Port] = field(default_factory=dict)
    left: float = 0.0
    right: float = 0.0
    bottom: float = 0.0
    rows: int = 0

    def lead(self, name: str, x: float, y: float, way: str) -> None:
        """A level lead out of the envelope, from (x, y)."""
        far = self.left - STUB if way == "L" else self.right + STUB
        self.ink.append(line((x, y), (far, y)))
        text = self.text(name)
        self.ink.append(tiny(far + 2, y - 2, text) if way == "L" else tiny(far - 2, y - 2, text, "end"))
        self.ports[name] = Port(far, y, way)

    def drop(self, name: str, x: float, y: float, way: str) -> None:
        """A lead out at the bottom, then level. Each takes a row of its own unless the other side's is free."""
        row = self.bottom + 9 + 11 * self.rows
        self.ink.append(line((x, y), (x, row)))
        self.lead(name, x, row, way)

    def text(self, name: str) -> str:
        pin = self.pins.get(name, "")
        pin = "cap" if pin.startswith("cap") else pin
        return f"{name} {pin}".strip()


def tube(kind: Kind, wanted: Iterable[str] = ()) -> Symbol:
    """The symbol of a type, with every terminal that has an electrode, and those ``wanted`` besides."""
    names = [lug.name for lug in kind.terminals if not lug.tie and not lug.inner]
    names += [name for name in wanted if name not in names]
    pins = {lug.name: _pin(lug.name, lug.aliases) for lug in kind.terminals}
    stems = {name: match[1] + match[2] for name in names if (match := _STEM.fullmatch(name)) and "-" not in name}
    two = any(stem in ("pa", "g1a") for stem in stems.values())
    grids = sorted({stem[1] for stem in stems.values() if stem[0] == "g"})
    half = 44.0 if two and grids else 26.0 if two else 20.0
    top, bottom = -20.0 - STEP * len(grids) / 2, 20.0 + STEP * len(grids) / 2
    out = _Drawing(pins, left=-half, right=half, bottom=bottom)
    out.ink.append(_envelope(half, top, bottom))
    by = {stem: name for name, stem in stems.items()}
    _systems(out, by, grids, two, half, top)
    _heater(out, by, bottom)
    rest = [name for name in names if name not in out.ports]
    for count, name in enumerate(rest):
        y = bottom + 9 + 11 * (out.rows + count // 2)
        out.ink.append(line((0, bottom), (0, y), dash="2 2"))
        out.lead(name, 0, y, "LR"[count % 2])
    if "regulator" in kind.title:
        out.ink.append(dot(9, 6))
    return Symbol(tuple(out.ink), out.ports)


def _pin(name: str, aliases: tuple[str, ...]) -> str:
    if name.isdecimal():
        return ""
    return next((alias for alias in aliases if alias.isdecimal() or alias.startswith(("cap", "center", "ring"))), "")


def _envelope(half: float, top: float, bottom: float) -> Stroke:
    """A circle drawn out to the width and height that the electrodes need."""
    import math

    r = min(half, (bottom - top) / 2)
    points = []
    for corner, (cx, cy) in enumerate(
        ((half - r, bottom - r), (-half + r, bottom - r), (-half + r, top + r), (half - r, top + r))
    ):
        for step in range(7):
            a = math.radians(90 * corner + 15 * step)
            points.append((cx + r * math.cos(a), cy + r * math.sin(a)))
    return Stroke(tuple(points), 1.4, closed=True)


def _systems(out: _Drawing, by: dict[str, str], grids: list[str], two: bool, half: float, top: float) -> None:
    """Plates, grids and cathodes; two systems stand side by side."""
    sections = ("a", "b") if two else ("",)
    plate_y = top + 11
    for section in sections:
        at = {"": 0.0, "a": -half / 2 + 1, "b": half / 2 - 1}[section]
        wide = 10.0 if not two else half / 2 - 8
        if f"p{section}" in by:
            out.ink.append(line((at - wide, plate_y), (at + wide, plate_y), weight=2))
            out.ink.append(line((at, plate_y), (at, top - 10)))
            above = top - 22 if two and not grids and section == "b" else top - 10
            out.ink.append(line((at, top - 10), (at, above)))
            _top_lead(out, by[f"p{section}"], at, above, section if grids or section == "a" else "")
        for count, grid in enumerate(reversed(grids), 1):
            name = by.get(f"g{grid}{section}", "")
            if not name:
                continue
            y = plate_y + STEP * count
            way = {"a": "L", "b": "R"}.get(section) or ("L" if grid == "1" else "R")
            out.ink.append(line((at - wide, y), (at + wide, y), dash="4 2.5"))
            out.lead(name, at - wide if way == "L" else at + wide, y, way)
        cathode_y = plate_y + STEP * (len(grids) + 1)
        cathode = f"k{section}" if f"k{section}" in by else "k"
        if cathode in by and (cathode != "k" or section != "b"):
            reach = (-wide + at, wide + at) if cathode != "k" or not two else (-half / 2, half / 2)
            foot = reach[0] + 2 if section == "a" else reach[1] - 2
            other = reach[0] + reach[1] - foot
            out.ink.append(line((foot, cathode_y), (other, cathode_y), (other, cathode_y + 4)))
            out.drop(by[cathode], foot, cathode_y, "L" if section == "a" else "R")
    _small_plates(out, by, plate_y + STEP * (len(grids) + 1))
    if {"k", "ka", "kb"} & by.keys():
        out.rows += 1
    for name, stem in (("sh", "sh"), ("is", "is")):
        if stem in by:
            y = plate_y + STEP * (len(grids) + 1) + (9 if name == "sh" or "pdb" in by else 1)
            out.lead(by[stem], out.right if name == "sh" else 13, y, "R")
            if name == "is":
                out.ink.append(line((13, y - 6), (13, y + 6), dash="2 2"))


def _top_lead(out: _Drawing, name: str, x: float, y: float, section: str) -> None:
    way = "L" if section == "a" else "R" if section == "b" else "LR"
    out.ports[name] = Port(x, y, way)
    text = name if section and not out.pins.get(name, "").isdecimal() else out.text(name)
    out.ink.append(tiny(x - 3, y + 7, text, "end") if section == "b" else tiny(x + 3, y + 7, text))


def _small_plates(out: _Drawing, by: dict[str, str], y: float) -> None:
    """Plates of the diodes beside the cathode."""
    for stem, x in (("pd", -14.0), ("pda", -14.0), ("pdb", 14.0)):
        if stem in by:
            out.ink.append(line((x, y - 5), (x, y + 5), weight=2))
            out.lead(by[stem], x, y, "L" if x < 0 else "R")


def _heater(out: _Drawing, by: dict[str, str], bottom: float) -> None:
    """A heater under the cathode, or a filament in its place; a cold cathode has neither."""
    for letter in ("h", "f"):
        first, last, tap = by.get(f"{letter}1"), by.get(f"{letter}2"), by.get(f"{letter}t")
        if first is None or last is None:
            continue
        peak = bottom - (12 if letter == "h" else 18)
        out.ink.append(line((-5, bottom - 2), (-1, peak), (3, bottom - 2)))
        out.drop(last, 3, bottom - 2, "R")
        out.rows += 1
        if tap:
            out.drop(tap, -1, peak, "R")
            out.rows += 1
        out.drop(first, -5, bottom - 2, "R")
        out.rows += 1


__all__ = ["Circle", "tube"]
