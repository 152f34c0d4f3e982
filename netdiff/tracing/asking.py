"""Which questions are open, in order, and how they are put."""

from __future__ import annotations

from collections.abc import Iterator

from netdiff.circuit import Part, Point, is_foreign, part_of, terminal_of
from netdiff.comparison.words import kind_words, some, value_words
from netdiff.tracing.plan import Stop
from netdiff.tracing.questions import OFFERS, Form, Lead, Offer, Question
from netdiff.tracing.state import DIFFERS, LOOKED_OVER, State
from netdiff.tracing.view import BRAID, ends_of, small


def open_questions(state: State, zone: str = "") -> Iterator[Question]:
    """Every open question, the next first: what an answer set aside, a look over each zone, then stop by stop."""
    later: list[Question] = []
    asked: set[str] = set()

    def fresh(question: Question | None) -> Iterator[Question]:
        if question is None or question.key in asked:
            return
        asked.add(question.key)
        if question.about in state.skipped:
            later.append(question)
        else:
            yield question

    for word in state.singles:
        if not zone or _zone_of(state, word) == zone:
            yield from fresh(_single(state, word))
    zones = [name for name in state.plan.zones if not zone or name == zone]
    for name in zones:
        if not looked_over(state, name) and any(state.open(part) for part in _stock_parts(state, name)):
            yield from fresh(over_question(state, name))
    foreign = [name for name in state.parts if is_foreign(name) and state.open_points(name)]
    for name in zones:
        for stranger in foreign:
            if _zone_of(state, stranger) == name:
                yield from fresh(part_question(state, stranger))
        for stop in state.plan.stops:
            if stop.zone == name:
                question = stop_question(state, stop)
                yield from fresh(question)
                for part in stop.parts:  # what a stop leaves open, such as parts that are no longer of the drawn kind
                    if question is None or part not in question.parts:
                        yield from fresh(part_question(state, part))
    for stranger in foreign:
        if not zone and _zone_of(state, stranger) not in state.plan.zones:
            yield from fresh(part_question(state, stranger))
    for name in state.parts:  # strips that only this unit has
        if name not in state.stock.parts and not is_foreign(name) and not zone:
            yield from fresh(part_question(state, name))
    yield from later


def looked_over(state: State, zone: str) -> bool:
    return any(text.startswith(LOOKED_OVER) for text in state.notes.get(zone, ()))


def _stock_parts(state: State, zone: str) -> list[str]:
    return [name for name, part in state.stock.parts.items() if part.zone == zone]


def _zone_of(state: State, word: str) -> str:
    part = state.part(part_of(word) or word)
    return part.zone if part is not None else ""


def _title(state: State, zone: str) -> str:
    known = state.found.circuit.zones.get(zone)
    return (known.title if known else "") or zone or "no zone"


def question_on(state: State, word: str) -> Question | None:
    """The question about a zone, a part or a terminal, open or not; None if there is none of that name."""
    if word in state.plan.zones:
        return over_question(state, word)
    if "." in word:
        word = state.canonical(word)
        part = state.part(part_of(word))
        if part is None or (part.kind.lug(terminal_of(word)) is None and not part.kind.any_terminal):
            return None
        return lug_question(state, word)
    if state.part(word) is None:
        return None
    return part_question(state, word, again=True)


def _single(state: State, word: str) -> Question | None:
    if "." in word:
        return lug_question(state, word) if word in state.open_points(part_of(word)) else None
    if not state.open(word) or DIFFERS in state.notes.get(word, ()):
        return None  # what differs is asked terminal by terminal
    points = state.open_points(word)
    return lug_question(state, points[0]) if len(points) == 1 and not _two_ended(state, word) else part_question(
        state, word
    )  # fmt: skip


def _two_ended(state: State, name: str) -> bool:
    part = state.part(name)
    return part is not None and small(part)


def _offers(*kinds: str, **examples: str) -> tuple[Offer, ...]:
    """The offers, with examples from the question in hand where there are any."""
    return tuple(OFFERS[kind]._replace(word=examples.get(kind) or OFFERS[kind].word) for kind in kinds)


def _example(names: tuple[str, ...], points: list[Point]) -> str:
    mine = [p for p in points if part_of(p) == names[0]] if names else []
    words = [*(mine[-1:] if len(mine) > 1 else []), *names[1:2]] or points[-1:]
    return f"y but {' '.join(words)}"


def _ends_shown(state: State, points: list[Point]) -> str:
    """What a person would type if everything were as drawn, end by end."""
    return " ".join(lead.to for p in points for lead in state.drawn.leads(p)[:1] if lead.to != BRAID)


def _settles(state: State, points: list[Point]) -> int:
    return sum(state.plan.danger.wired(p) for p in points if not state.stock_lug_is_tie(p))


# --- a zone at a glance


def over_question(state: State, zone: str) -> Question:
    parts = [state.stock.parts[name] for name in _stock_parts(state, zone) if not state.gone(name)]
    drawn = tuple(Lead(zone, part.designator, _short(part)) for part in parts)
    known = tuple(
        Lead(zone, part.designator, _short(part), part.places[0].line if part.places else 0)
        for part in state.parts.values()
        if part.zone == zone and part.places and (part.foreign or part.designator in state.stock.parts)
    )
    gone = tuple(
        Lead(zone, name, "missing", place.line)
        for name, place in state.found.missing_places.items()
        if state.stock.parts[name].zone == zone
    )
    title = _title(state, zone)
    return Question(
        f"zone {zone}", "zone", zone, zone, title,
        f"{title}: look it over with a torch, before any lug. Which part is missing, another than drawn, burnt or "
        "leaking? What is there that the drawing does not have? One thing at a time.",
        drawn, (*known, *gone),
        (Offer("none", "none", "nothing (more) catches the eye"),
         Offer("missing", f"missing {parts[-1].designator if parts else 'R7'}", "a part that is not there"),
         Offer("read", f"{parts[0].designator if parts else 'R5'}, charred", "another than drawn, or in bad condition"),
         Offer("statement", '?K1 relay-spdt 6V "on a bracket"', "something that the drawing does not have"),
         OFFERS["unseen"], OFFERS["skip"]),
        _why_zone(state, zone),
    )  # fmt: skip


def _why_zone(state: State, zone: str) -> str:
    worst = state.plan.danger.says(zone)
    return f"Eyes before probes, the dangerous zones first: {worst} is here." if worst else "Eyes before probes."


# --- a stop, a part


def stop_question(state: State, stop: Stop) -> Question | None:
    aside = {part_of(word) or word for word in state.singles if "." not in word}
    anchor = stop.anchor if stop.anchor and state.open(stop.anchor) and stop.anchor not in aside else ""
    if anchor and _changed_kind(state, anchor):
        anchor = ""
    hanging = tuple(
        name for name in stop.hanging if state.open(name) and name not in aside and not _changed_kind(state, name)
    )
    if not anchor and not hanging:
        return None
    return _whole(state, anchor or hanging[0], (anchor, *hanging) if anchor else hanging)


def part_question(state: State, name: str, again: bool = False) -> Question | None:
    """About one part alone. ``again``: whether or not anything of it is open."""
    part = state.part(name)
    if part is None or (not again and not state.open(name)):
        return None
    if part.foreign or name not in state.stock.parts or _changed_kind(state, name):
        return _stranger(state, part)
    return _whole(state, name, (name,))


def _changed_kind(state: State, name: str) -> bool:
    """Another kind of part sits there, with other terminals than the drawing's."""
    part, drawn = state.parts.get(name), state.stock.parts.get(name)
    return part is not None and drawn is not None and part.kind.terminals != drawn.kind.terminals


def _whole(state: State, about: str, names: tuple[str, ...]) -> Question:
    part = state.stock.parts[about]
    points = [p for name in names for p in state.open_points(name)] or list(part.points())
    drawn = tuple(lead for p in points for lead in state.drawn.leads(p))
    known = tuple(lead for p in points for lead in state.known(p))
    mine = [p for p in points if part_of(p) == about]
    says = f"{_short(part)}: "
    others = [state.stock.parts[name] for name in names[1:]]
    if small(part) and not others:
        says += _between(state, part)
    elif len(mine) == 1 or (small(part) and others):
        says += "as drawn?"
    else:
        says += f"are all {len(mine)} {_called(part)} as drawn?" if len(mine) > 1 else "as drawn?"
    if others:
        says += f" And what hangs there, the values too: {', '.join(_value(other) for other in others)}?"
    gone = [name for name in _near(state, points) if state.gone(name)]
    if gone:
        says += f" ({some(gone)} {'is' if len(gone) == 1 else 'are'} missing, you said.)"
    kinds = ["as-drawn", *(["but"] if len(points) > 1 else []), "differs", "missing", "read"]
    if (small(part) and not others) or len(points) == 1:
        kinds.insert(1, "these")
    plugs = ""
    if about in state.found.missing:
        plugs = " The part itself is gone: its socket is meant." if part.kind.plugs else " It is noted as missing."
    return Question(
        about, "part", about, part.zone, _title(state, part.zone), says + plugs, drawn, known,
        _offers(*kinds, "unseen", "skip", but=_example(names, points), these=_ends_shown(state, points)),
        _why(state, part), _settles(state, points), names,
        tuple(lead for p in points for lead in state.expected(p)), tuple(points),
    )  # fmt: skip


def _between(state: State, part: Part) -> str:
    ways = []
    for end in ends_of(part):
        drawn = [lead.to for lead in state.drawn.leads(end)]
        ways.append(f"{end} on {some(drawn)}" if drawn else f"{end} free")
    return f"the drawing has {' and '.join(ways)}. That value, and so wired?"


def _near(state: State, points: list[Point]) -> list[str]:
    return list(dict.fromkeys(part_of(lead.to) for p in points for lead in state.drawn.leads(p) if part_of(lead.to)))


def _called(part: Part) -> str:
    if part.kind.name == "tube":
        return "pins"
    if part.kind.name in ("strip", "transformer", "ground-lug"):
        return "lugs"
    return "terminals"


def _stranger(state: State, part: Part) -> Question | None:
    """A part whose terminals the drawing does not have: where does each lead go?"""
    name = part.designator
    points = state.open_points(name)
    what = "the drawing has no such part" if name not in state.stock.parts else "not the drawn kind"
    if part.kind.ends is not None and len(points) == 2:
        one, other = ends_of(part)
        order = f"first {one}, then {other}" if part.kind.polarised else "either one first"
        says = f"{_short(part)}, {what}: on which two points do its leads land ({order})?"
        return Question(
            name, "part", name, part.zone, _title(state, part.zone), says, (), (),
            _offers("these", "read", "unseen", "skip"), "It is what somebody added.", 0, (name,), (), tuple(points),
        )  # fmt: skip
    if part.kind.any_terminal and not part.kind.terminals:
        says = f"{_short(part)}, {what}: how is it wired? Say each lead as a line: {name}.red -- V5.g1."
        return Question(
            name, "part", name, part.zone, _title(state, part.zone), says, (), (),
            (Offer("statement", f"{name}.red -- V5.g1", "where a lead of it goes"), *_offers("unseen", "skip")),
            "It is what somebody added.", 0, (name,),
        )  # fmt: skip
    if not points:
        return lug_question(state, part.points()[0]) if part.points() else None
    return lug_question(state, points[0])


# --- one lug


def lug_question(state: State, at: Point) -> Question:
    name, terminal = part_of(at), terminal_of(at)
    part = state.part(name)
    assert part is not None
    drawn, known = state.drawn.leads(at), state.known(at)
    place = f"{_short(part)}, {_lug_word(part)} {terminal}"
    if small(part):
        place = f"{at} of {_short(part)}"
    if drawn:
        says = f"{place}: the drawing has {_and([lead.says for lead in drawn])} here."
    elif name in state.stock.parts and at in state.stock.parts[name].points():
        says = f"{place}: the drawing has nothing here."
    else:
        says = f"{place}: the drawing has no such terminal."
    called = state.drawn.name_of(at)
    says += f" It is {called}." if called else ""
    if known:
        says += f" Known already: {_and([f'{lead.says} (line {lead.line})' for lead in known])}."
    says += " What lands here?" if not small(part) else " Where does this lead land?"
    kinds = ("as-drawn", "these", "nothing", "some", "unseen", "skip") if drawn else (
        "nothing", "these", "some", "unseen", "skip"
    )  # fmt: skip
    return Question(
        at, "lug", at, part.zone, _title(state, part.zone), says, drawn, known,
        _offers(*kinds, these=" ".join(lead.to for lead in state.expected(at))), _why(state, part),
        _settles(state, [at]), (name,), state.expected(at), (at,),
    )  # fmt: skip


def _lug_word(part: Part) -> str:
    if part.kind.name == "tube":
        return "pin"
    return "lug" if part.kind.name in ("strip", "ground-lug", "transformer", "tapped-coil") else "terminal"


def _and(words: list[str]) -> str:
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


def _short(part: Part) -> str:
    inner = " ".join(filter(None, (kind_words(part), value_words(part))))
    label = f", “{part.label}”" if part.label else ""
    return f"{part.designator} ({inner}{label})"


def _value(part: Part) -> str:
    return f"{part.designator} {value_words(part) or kind_words(part)}"


def _why(state: State, part: Part) -> str:
    worst = max((state.plan.danger.of(p) for p in part.points()), default=0.0)
    says = state.plan.danger.says(part.zone)
    if worst >= 2:
        return f"It is next to where the probe is, in a zone with {says}."
    return "It is next to where the probe is."


__all__ = ["Form", "looked_over", "open_questions", "question_on"]
