"""Tube bases: from a row of the tube table to the terminals of a tube.

>>> kind = tube_kind("6146", {"class": "beam power", "size": 8,
...     "pins": "1 k+bp, 2 h, 3 g2, 4 k+bp, 5 g1, 6 k+bp, 7 h, 8 sh, cap p"}, "Tube", ("V",))
>>> [lug.name for lug in kind.terminals]
['k', 'h1', 'g2', 'k-4', 'g1', 'k-6', 'h2', '8', 'p']
>>> kind.inside
(('k', 'k-4', 'k-6'),)
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from netdiff.circuit import Kind, Lug, Swap

_NO_ELECTRODE = {"nc", "sh", "j", "is"}


def pins_of(row: Mapping[str, Any]) -> list[tuple[str, list[str]]]:
    """Every pin of the base in order, with what is on it: ``[("1", ["k", "bp"]), ("2", ["h"]) ...]``."""
    listed: dict[str, list[str]] = {}
    for item in str(row["pins"]).split(","):
        pin, _, electrodes = item.strip().partition(" ")
        listed[pin] = electrodes.strip().split("+")
    out = [(str(number), listed.pop(str(number), ["nc"])) for number in range(1, int(row["size"]) + 1)]
    return out + list(listed.items())


def tube_kind(name: str, row: Mapping[str, Any], title: str, letters: tuple[str, ...]) -> Kind:
    """The kind of one tube type. Electrodes are its terminals; every pin number answers too."""
    pins = pins_of(row)
    counts = {e: sum(e in electrodes for _, electrodes in pins) for e in ("h", "f")}
    seen: dict[str, int] = defaultdict(int)
    ties: dict[str, list[str]] = defaultdict(list)
    lugs = []
    for pin, electrodes in pins:
        names, inner, tie = [], False, False
        for electrode in electrodes:
            if electrode == "ic":
                inner = True
            elif electrode in ("h", "f") and counts[electrode] > 1:
                seen[electrode] += 1
                names.append(f"{electrode}{seen[electrode]}")
            elif electrode not in _NO_ELECTRODE:
                seen[electrode] += 1
                again = seen[electrode] > 1
                names.append(f"{electrode}-{pin}" if again else electrode)
        if "k" in names and names[0] in ("h1", "h2"):
            names.reverse()  # an indirectly heated rectifier's cathode is what the drawing means
        if not names:
            names, tie = [pin], True
        own = names[0]
        ties["".join(electrodes[:1])].append(own) if not tie else ties[f"{electrodes[0]}"].append(own)
        aliases = tuple(dict.fromkeys(alias for alias in (*names[1:], pin) if alias != own))
        lugs.append(Lug(own, aliases, tie=tie, inner=inner))
    doubled = tuple(tuple(group) for electrode, group in ties.items() if len(group) > 1 and electrode not in
                    ("h", "f", "nc", "ic", "sh", "is"))  # fmt: skip
    taken = {lug.name for lug in lugs} | {alias for lug in lugs for alias in lug.aliases}
    heated = row.get("heater")
    facts: dict[str, str | float] = {"class": str(row.get("class", "")), "base": str(row.get("base", ""))}
    if heated:
        facts |= {"heater_volts": float(heated[0]), "heater_amps": float(heated[1])}
    facts |= {key: float(value) for key, value in (row.get("limits") or {}).items()}
    if "peak_inverse_volts" in row:
        facts["peak_inverse_volts"] = float(row["peak_inverse_volts"])
    facts |= {key: str(row[key]) for key in ("ratings", "confidence", "source") if key in row}
    return Kind(
        name="tube", title=title, type=name, letters=letters, terminals=tuple(lugs), swaps=_swaps(lugs, taken),
        plugs=True, inside=doubled, positions=("in", "out"), family="tube", facts=MappingProxyType(facts),
    )  # fmt: skip


def _swaps(lugs: list[Lug], taken: set[str]) -> tuple[Swap, ...]:
    names = [lug.name for lug in lugs]
    swaps: list[Swap] = [((f"{e}1",), (f"{e}2",)) for e in "hf" if f"{e}1" in names and f"{e}2" in names]
    if "ht" in taken:
        swaps = []
    first = [name for name in names if name.endswith("a") and f"{name[:-1]}b" in names and name != "ta"]
    if first:
        swaps.append((tuple(first), tuple(f"{name[:-1]}b" for name in first)))
    return tuple(swaps)
