"""The quick look before buying: what can be seen from outside and from above with a torch, in five minutes.

One question a group of parts, as in ``outside.yaml``: is each there, is it of that kind, is there one that the drawing
does not have? The answers make a found file like any other; nothing of it says how anything is wired.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import Any, Final, NamedTuple

from netdiff import resources
from netdiff.circuit import Circuit, Part
from netdiff.comparison.words import kind_words, value_words
from netdiff.tracing.questions import OFFERS, Lead, Offer, Question
from netdiff.tracing.state import SEEN_OUTSIDE, SKIPPED, UNSEEN, State

CONFIRM: Final = (
    "Do not plug it in, and touch nothing inside: no tool, no finger, no probe, only your eyes and a torch. "
    "It may be charged although nobody has plugged it in for years. Type yes."
)
CAUTIONS: Final = (
    "Do not plug it in, and let nobody show you that it works: the first power comes after the inspection.",
    "Touch nothing inside and open nothing that needs a tool: capacitors may be charged for a long time.",
    "Old capacitors may hold poisonous oil, dials radium, pads asbestos: look, do not touch, do not blow dust.",
    "Local electrical code and licensed practice come before anything that is printed here.",
    "Nothing below means that the unit is safe: it tells what can be seen from outside, and no more.",
)
"""For a look that sends no hand into the unit. Common practice."""


class Group(NamedTuple):
    key: str
    title: str
    look: str
    parts: tuple[Part, ...]
    scarce: bool
    """Hard to replace: a price must allow for it."""


_table: Final = partial(resources.table, __file__, "outside")


def groups(circuit: Circuit) -> tuple[Group, ...]:
    """The groups that the drawing has, in the order of looking; a part is in one of them at most."""
    held: dict[str, list[Part]] = {key: [] for key in _table()}
    for part in circuit.parts.values():
        key = next((key for key, row in _table().items() if _belongs(part, row)), "")
        if key:
            held[key].append(part)
    return tuple(
        Group(key, row["title"], row["look"], tuple(held[key]), bool(row.get("scarce")))
        for key, row in _table().items()
        if held[key]
    )


def _belongs(part: Part, row: dict[str, Any]) -> bool:
    if part.kind.family in row.get("families", ()):
        return True
    if part.kind.name not in row.get("kinds", ()):
        return False
    if row.get("sections") and part.designator[-1].isalpha():
        return True
    asked = [key for key in ("words", "volts", "henries") if key in row]
    return not asked or any(
        (key == "words" and bool(set(part.words) & set(row["words"])))
        or (key == "henries" and (part.value or 0.0) >= row["henries"])
        or (key == "volts" and part.ratings.get("V", 0.0) >= row["volts"] and (part.value or 0.0) >= row["farads"])
        for key in asked
    )


def open_groups(state: State) -> Iterator[Question]:
    """The groups that nobody has closed yet, in order; those that were put off come last."""
    later = []
    for group in groups(state.stock):
        if all(_done(state, part.designator) for part in group.parts):
            continue
        if any(SKIPPED in state.notes.get(part.designator, ()) for part in group.parts):
            later.append(group)
        else:
            yield question(state, group)
    for group in later:
        yield question(state, group)


def _done(state: State, name: str) -> bool:
    """Seen, not to be seen, gone with its socket or holder, or looked at by somebody who traced it."""
    notes = state.notes.get(name, [])
    return SEEN_OUTSIDE in notes or UNSEEN in notes or name in state.found.as_drawn


def question(state: State, group: Group) -> Question:
    names = tuple(part.designator for part in group.parts)
    zone = group.parts[0].zone
    drawn = tuple(Lead(name, name, in_words(part)) for name, part in zip(names, group.parts, strict=True))
    known = tuple(_known(state, names))
    return Question(
        f"look {group.key}", "look", group.key, zone, group.title,
        f"{group.title}: the drawing has {', '.join(map(in_words, group.parts))}. {group.look} "
        "Anything of another kind, or that the drawing does not have? One thing at a time.",
        drawn, known,
        (Offer("none", "y", "all there, as listed (but for what you said)"),
         Offer("missing", f"missing {names[0]}", "it is not there"),
         Offer("read", f"{names[0]}{_example(group.parts[0])}", "it is another kind or value, or in bad condition"),
         Offer("statement", '?J1 coax-socket "new hole"', "something that the drawing does not have"),
         OFFERS["unseen"], OFFERS["skip"]),
        "It can be seen without opening anything.", 0, names,
    )  # fmt: skip


def _known(state: State, names: tuple[str, ...]) -> Iterator[Lead]:
    for name in names:
        place = state.found.missing_places.get(name)
        if place is not None:
            yield Lead(name, name, f"{name}: missing", place.line)
        part = state.parts.get(name)
        if part is not None and part.places:
            yield Lead(name, name, f"{in_words(part)}{''.join(f', {c}' for c in part.conditions)}", part.places[0].line)
    for part in state.parts.values():
        if part.foreign and part.places:
            yield Lead(part.designator, part.designator, in_words(part), part.places[0].line)


def _example(part: Part) -> str:
    """What another than the drawn one might be called."""
    return {"tube": " 6L6GC", "fuse": " 15A"}.get(part.kind.family, ", cracked")


def in_words(part: Part) -> str:
    """``V5 6SJ7 (speech amplifier)``."""
    what = part.kind.type if part.kind.name == "tube" else " ".join(filter(None, (kind_words(part), value_words(part))))
    return f"{part.designator} {what}" + (f" (“{part.label}”)" if part.label else "")
