"""From an answer to the statements of the language that it becomes."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Final

from netdiff.circuit import Point, is_foreign, part_of
from netdiff.language.spelling import quoted
from netdiff.tracing.answers import Answer, Item
from netdiff.tracing.questions import Question
from netdiff.tracing.spelling import full
from netdiff.tracing.state import ASIDE, DIFFERS, LOOKED_OVER, SEEN_OUTSIDE, SKIPPED, UNSEEN, State
from netdiff.tracing.view import ends_of

DECLARATION: Final = re.compile(r"\?[A-Z]+[0-9]+[A-Z]?(\s|$)")


class Unclear(Exception):
    """What the answer lacks, in a sentence for the person."""


def statements(state: State, question: Question, answer: Answer) -> list[str]:
    """The lines that an answer becomes; raises Unclear where it cannot become any."""
    about = answer.about or question.about
    match answer.kind:
        case "as-drawn":
            return as_drawn(state, question, ())
        case "but":
            return as_drawn(state, question, answer.but)
        case "nothing":
            return _nothing(state, question)
        case "these":
            return _these(state, question, answer.items)
        case "some":
            return _some(state, _lug(question), answer.items, question)
        case "differs":
            return [f"note {about} {quoted(DIFFERS)}"]
        case "missing":
            return [f"missing {about}"]
        case "read":
            if not answer.words.strip():
                raise Unclear(f"What is printed on {about}? Such as: 10k 25W, charred, measured 35k")
            return [f"{about} {_words(answer.words)}"]
        case "unseen":
            whole = question.form in ("part", "look") and not answer.about
            names = question.parts if whole else (about,)
            return [f"note {' '.join(names)} {quoted(UNSEEN)}"]
        case "skip":
            names = question.parts if question.form == "look" else (about,)
            return [f"note {' '.join(names)} {quoted(SKIPPED)}"]
        case "none":
            if question.form == "look":
                return [f"note {' '.join(question.parts)} {quoted(SEEN_OUTSIDE)}"]
            if question.form != "zone":
                raise Unclear("`none` closes the look over a zone; at a lug say `open`.")
            return [f"note {about} {quoted(LOOKED_OVER)}"]
        case "statement":
            return _statement(state, question, answer.words)


def _words(text: str) -> str:
    """One line, whatever was pasted."""
    return " ".join(text.split())


def _statement(state: State, question: Question, text: str) -> list[str]:
    line = _words(text)
    if not line or line.startswith("#"):
        raise Unclear("Nothing was said.")
    if DECLARATION.match(line):
        return [*_zone_line(state, question.zone), line]
    return [line]


def _zone_line(state: State, zone: str) -> list[str]:
    """Strangers belong to the zone in which they are found."""
    return [f"zone {zone}"] if zone and zone != state.last_zone and zone in state.found.circuit.zones else []


def _lug(question: Question) -> Point:
    if question.form == "lug":
        return question.about
    if len(question.points) == 1:
        return question.points[0]
    raise Unclear(f"{question.about} has several terminals: say `n`, and they are asked one by one.")


# --- as drawn


def as_drawn(state: State, question: Question, but: Sequence[str]) -> list[str]:
    """Whole parts where nothing speaks against it, terminals elsewhere; lugs with something more in full."""
    if question.form in ("zone", "look"):
        raise Unclear("A zone is not as drawn at a glance: say what catches the eye, or `none`.")
    out = [state.canonical(word) for word in but]
    spoken = {*question.parts, *question.points}
    for word in out:
        if word not in spoken and part_of(word) not in question.parts:
            known = ", ".join(question.parts)
            raise Unclear(f"{word} is not among what is asked ({known}).")
    left_out = {*out}
    words: list[str] = []
    more_there: list[Point] = []
    for name in question.parts:
        if name in left_out:
            continue
        points = [p for p in question.points if part_of(p) == name]
        more = [p for p in points if state.deviates(p) and p not in left_out]
        more_there += more
        part = state.parts[name]
        if len(points) == len(part.points()) and not state.read_otherwise(name):
            words.append(name)
            left_out.update(more)
        elif not points and not state.read_otherwise(name):
            words.append(name)
        else:
            words += [p for p in points if p not in left_out and p not in more]
    exceptions = [word for word in dict.fromkeys((*out, *more_there)) if word in out or part_of(word) in words]
    lines = [f"as-drawn {' '.join(words)}{' but ' if exceptions else ''}{' '.join(exceptions)}"] if words else []
    if not words and out:
        lines = [f"note {word} {quoted(ASIDE)}" for word in out]
    for point in more_there:
        lines += full(state, point)
    if not lines:
        raise Unclear("Nothing is left that would be as drawn.")
    return lines


# --- one lug, and the two leads of a part


def _nothing(state: State, question: Question) -> list[str]:
    if question.form == "part" and len(question.points) > 1:
        return [f"at {point}: open" for point in question.points]
    return [f"at {_lug(question)}: open"]


def _these(state: State, question: Question, items: Sequence[Item]) -> list[str]:
    if not items:
        raise Unclear("What lands here? Such as: R5 C7.2 TB1.2, or `open` for nothing.")
    part = state.part(question.about)
    if question.form == "part" and part is not None and part.kind.ends is not None and len(question.points) == 2:
        if len(items) != 2:
            raise Unclear(f"{question.about} has two leads: say the two points, such as V5.g1 chassis.")
        ends = _ends_in_order(state, question.about, [item.to for item in items])
        out: list[str] = []
        for end, item in zip(ends, items, strict=True):
            out += _landed(state, end, [item], question)
        return out
    return _landed(state, _lug(question), items, question)


def _ends_in_order(state: State, name: str, points: list[Point]) -> tuple[Point, ...]:
    """Which end goes where: the drawing's where nobody can tell them apart."""
    part = state.part(name)
    assert part is not None
    one, other = ends_of(part)
    if part.kind.polarised or part.foreign:
        return one, other
    nets = state.plan.danger.nets
    straight = nets.same(one, state.canonical(points[0])) + nets.same(other, state.canonical(points[1]))
    crossed = nets.same(other, state.canonical(points[0])) + nets.same(one, state.canonical(points[1]))
    return (other, one) if crossed > straight else (one, other)


def _landed(state: State, at: Point, items: Sequence[Item], question: Question) -> list[str]:
    """`at` with everything that lands, and a line of its own for each conductor that was described."""
    lines = _declared(state, items, question)
    words: list[str] = []
    runs: list[str] = []
    for item in items:
        to = resolved(state, item.to, at)
        if item.described or _own_line(item):
            runs.append(_run(at, to, item))
        if not _own_line(item):
            words.append(to)
    if words:
        lines.append(f"at {at}: {' '.join(dict.fromkeys(words))}")
    elif runs:
        lines.append(f"traced {at}")
    return lines + runs + _loose_leads(state, words)


def _loose_leads(state: State, words: Sequence[Point]) -> list[str]:
    """A lead of a box that nobody identified ends in one place: its other end need not be asked for."""
    leads = [
        word
        for word in words
        if "." in word and (part := state.parts.get(part_of(word))) is not None and part.kind.name == "unknown"
    ]
    return [f"traced {' '.join(leads)}"] if leads else []


def _own_line(item: Item) -> bool:
    """`at` is said of what was seen: what was metered or assumed stands in a chain alone."""
    return bool(item.evidence) and item.evidence != "seen"


def _some(state: State, at: Point, items: Sequence[Item], question: Question) -> list[str]:
    """What was seen, and that there may be more: the rest cannot be seen."""
    if not items:
        raise Unclear("What of it did you see? Such as: some R5 C7")
    lines = _declared(state, items, question)
    for item in items:
        to = resolved(state, item.to, at)
        lines.append(_run(at, to, item))
    return [*lines, f"note {at} {quoted(UNSEEN)}"]


def _declared(state: State, items: Sequence[Item], question: Question) -> list[str]:
    lines: list[str] = []
    for item in items:
        name = part_of(item.to) or item.to
        if name == "?" or not is_foreign(name):
            continue
        if name in state.parts:
            if item.declare:
                raise Unclear(f"{name} is known already: call the new one otherwise, or leave out what it is.")
        elif not item.declare:
            raise Unclear(
                f"What is {name}? Such as: {name} resistor 12k 1W, or: {name} unknown, and then where it lands."
            )
        else:
            lines += [*(_zone_line(state, question.zone) if not lines else []), f"{name} {_words(item.declare)}"]
    return lines


def resolved(state: State, to: str, at: Point) -> Point:
    """The point that is meant by what a person calls it at this lug."""
    if to == "?":
        return to
    if "." in to:
        return state.canonical(to)
    if to[:1].islower():
        return to
    return state.free_end(to, at)


def _run(at: Point, to: Point, item: Item) -> str:
    words = [f"{item.conductor} {at} -- {to}".strip()]
    if item.cable:
        words.append(f"cable {item.cable}")
    words += [word for word in (item.cable_type, item.length, item.gauge) if word]
    if item.text:
        words.append(quoted(item.text))
    if item.braid is not None:
        words.append(f"braid {item.braid[0]} -- {item.braid[1]}")
    if item.bare:
        words.append(f"bare {item.bare}")
    if item.gap:
        words.append(f"gap {item.gap}")
    words += [word for word in (item.condition, item.evidence if item.evidence != "seen" else "") if word]
    return ", ".join(words)


__all__ = ["Unclear", "resolved", "statements"]
