"""The catalogue in words, for ``netdiff kinds``."""

from __future__ import annotations

from typing import Any

from netdiff.catalogue import Catalogue, standard
from netdiff.circuit import Kind


def listing(catalogue: Catalogue | None = None) -> list[tuple[str, str, str]]:
    """Every kind: its name, its class letters, its title."""
    catalogue = catalogue or standard()
    return [
        (name, "/".join(catalogue.entry(name).get("letters", ())), str(catalogue.entry(name).get("title", name)))
        for name in catalogue.names()
    ]


def tube_types(catalogue: Catalogue | None = None) -> tuple[str, ...]:
    return (catalogue or standard()).tube_names()


def find(name: str, catalogue: Catalogue | None = None) -> Kind | None:
    """A kind by its name (``resistor``, ``rotary``) or a tube by its type (``6V6GT``)."""
    catalogue = catalogue or standard()
    if name in catalogue.names() and name != "tube":
        made = catalogue.make(name, ["2x6"] if catalogue.entry(name).get("matrix") else ["3"]
                              if catalogue.entry(name).get("count") else [])  # fmt: skip
        return made.kind
    return catalogue.make("tube", [name]).kind if name != "tube" else catalogue.kind("tube")


def facts(kind: Kind) -> dict[str, Any]:
    """The same as plain data, for JSON."""
    return {
        "kind": kind.name,
        "type": kind.type,
        "title": kind.title,
        "letters": list(kind.letters),
        "terminals": [
            {"name": lug.name, "also": list(lug.aliases), "tie": lug.tie, "inner": lug.inner} for lug in kind.terminals
        ],
        "passes": list(kind.ends) if kind.ends else None,
        "polarised": kind.polarised,
        "interchangeable": [[list(a), list(b)] for a, b in kind.swaps],
        "joined_inside": [list(group) for group in kind.inside],
        "positions": list(kind.positions),
        "contacts": [{"a": c.a, "b": c.b, "closed": sorted(c.positions)} for c in kind.contacts],
        "unit": kind.unit,
        "facts": dict(kind.facts),
    }


def lines(kind: Kind) -> list[str]:
    """One kind for a person: terminals first, then what is interchangeable, joined, switched, rated."""
    head = f"{kind.type} {kind.title}" if kind.type and kind.name == "tube" else f"{kind.name}: {kind.title}"
    out = [f"{head} (designator {' or '.join(kind.letters)})"]
    for lug in kind.terminals:
        also = f" (also {', '.join(lug.aliases)})" if lug.aliases else ""
        note = (
            " used inside by the maker: no tie point" if lug.inner else " no electrode: a tie point" if lug.tie else ""
        )
        out.append(f"  {lug.name}{also}{note}")
    if kind.any_terminal:
        out.append("  takes whatever terminal names its windings or lines use")
    if kind.ends:
        how = f"write {kind.ends[0]}/{kind.ends[1]}" if kind.polarised else "either way round"
        out.append(f"A chain passes through it, {how}.")
    for a, b in kind.swaps:
        out.append(f"Interchangeable: {' '.join(a)} with {' '.join(b)}.")
    for group in kind.inside:
        out.append(f"Joined inside while it is in its socket: {' '.join(group)}.")
    for contact in kind.contacts:
        out.append(f"{contact.a} and {contact.b} touch in position {' or '.join(sorted(contact.positions))}.")
    if kind.unit:
        out.append(f"Value in {kind.unit}.")
    facts_of = kind.facts
    if "heater_volts" in facts_of:
        out.append(f"Heater {facts_of['heater_volts']:g} V, {facts_of['heater_amps']:g} A.")
    if facts_of.get("ratings"):
        out.append(f"Ratings: {facts_of['ratings']}")
    if facts_of.get("source"):
        out.append(f"Source: {facts_of['source']} (confidence {facts_of.get('confidence', '?')})")
    return out
