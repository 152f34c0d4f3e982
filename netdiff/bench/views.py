"""What the page shows, as pieces of HTML; every word of a file goes through the templates' escaping."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from netdiff.cautions import for_cold_work, for_readings
from netdiff.circuit import part_of, terminal_of
from netdiff.resources import templates
from netdiff.tracing.view import BRAID

if TYPE_CHECKING:
    from jinja2 import Environment

    from netdiff.bench.desk import Desk
    from netdiff.circuit import Circuit, Fault, Part
    from netdiff.tracing.answers import Outcome
    from netdiff.tracing.questions import Lead, Question
    from netdiff.tracing.session import Session

TEMPLATES: Final = Path(__file__).parent / "templates"

HOLDS: Final = {
    "power": "Before any power is applied",
    "transmit": "Before it transmits",
    "deliver": "Before it goes back to its owner",
    "none": "Worth knowing",
}

BUTTONS: Final = {
    "as-drawn": (1, "As drawn"), "but": (2, "As drawn, but …"), "these": (2, "These land here …"),
    "differs": (3, "Not as drawn: lug by lug"), "nothing": (3, "Nothing lands here"), "missing": (4, "Missing"),
    "some": (4, "Some of it …"), "read": (5, "Value, condition …"), "unseen": (6, "Cannot see"), "skip": (7, "Skip"),
    "none": (1, "Nothing (more) catches the eye"), "statement": (2, "Something the drawing lacks …"),
}  # fmt: skip
"""The key of an answer is the same at every question, so that a thumb learns it."""

MAIN: Final = ("as-drawn", "none")
MOST_CHOICES: Final = 120
MORE_KEY: Final = 9
CHOOSERS: Final = ("but", "these", "some", "read", "statement")
"""Answers that ask for more before they are sent."""

FOREIGN: Final = (
    ("resistor", "R"), ("capacitor", "C"), ("electrolytic", "C"), ("rectifier", "CR"), ("relay-spdt", "K"),
    ("switch-spst", "S"), ("jack-2", "J"), ("coil", "L"), ("unknown", "A"), ("relay-spst", "K"), ("relay-dpdt", "K"),
    ("transformer", "T"), ("choke", "L"), ("lamp", "DS"), ("fuse", "F"), ("coax-socket", "J"), ("phono-socket", "J"),
    ("switch-spdt", "S"), ("meter", "M"), ("diode", "CR"), ("potentiometer", "R"), ("cord-3", "W"),
)  # fmt: skip
"""What people add most, common practice, with the class letter for its name. Any other kind can be typed."""

UNITS: Final = {
    "ohm": ("", "k", "M"),
    "F": ("uF", "pF"),
    "H": ("H", "mH", "uH"),
    "Hz": ("kHz", "MHz"),
    "A": ("A", "mA"),
}


class Choice(NamedTuple):
    to: str
    says: str


class Place(NamedTuple):
    """Somewhere to go: a zone, or a part with its zone and terminals."""

    to: str
    says: str
    zone: str = ""
    points: tuple[str, ...] = ()


@lru_cache(maxsize=1)
def _templates() -> Environment:
    return templates(TEMPLATES)


def render(template: str, **values: Any) -> str:
    return _templates().get_template(template).render(**values)


def page(desk: Desk) -> str:
    title, file = _title(desk.session), desk.kept.file
    return render("page.html", title=title, file=file, cold=for_cold_work(), powered=for_readings(), foreign=FOREIGN)


def enter(says: str = "") -> str:
    return render("enter.html", says=says)


def _title(session: Session) -> str:
    return session.unit.title if session.unit is not None else session.path.name


# --- everything but the question


def state(desk: Desk, session: Session, since: int) -> dict[str, Any]:
    """What a device is told when something has turned: pieces of HTML by the place they go to."""
    faults, unit = session.faults, session.unit
    photos = unit.found(unit.production or frozenset()).photos if unit is not None else ()
    return {
        **short(desk, session, since),
        "progress": render("progress.html", zones=session.progress()),
        "found": found(desk),
        "photos": render("photos.html", photos=list(enumerate(photos))[-6:]),
        "faults": render("faults.html", faults=faults) if faults else "",
    }


def short(desk: Desk, session: Session, since: int) -> dict[str, Any]:
    """What is told with the next question: it waits for nothing."""
    return {
        "revision": desk.revision, "last": desk.last, "kept": desk.kept._asdict(), "title": _title(session),
        "recent": render("recent.html", steps=session.recent(8)), "notices": desk.notices(since),
    }  # fmt: skip


def found(desk: Desk) -> str:
    """What was found so far, by hold, the most urgent first."""
    result = desk.live.comparison
    groups = []
    if result is not None:
        for hold, heading in HOLDS.items():
            here = [finding for finding in result.findings if finding.hold == hold]
            if here:
                groups.append((hold, heading, here))
    total = result.coverage.total if result is not None else None
    return render("found.html", groups=groups, total=total, behind=desk.live.behind, trouble=desk.live.trouble)


# --- the question


def question(session: Session, one: Question) -> dict[str, Any]:
    """A question with all that is needed to answer it without the network."""
    circuit = session.stock
    part = circuit.parts.get(_part(one.about)) if circuit is not None else None
    offers = [_button(offer.kind, offer.says, one) for offer in one.offers if offer.kind in BUTTONS]
    html = render(
        "question.html", one=one, offers=_numbered(offers), places=_by_place(one), called=_called(session, one),
        drawing=drawing(circuit, part, one), more_key=MORE_KEY, part=part,
    )  # fmt: skip
    return {
        "key": one.key, "about": one.about, "form": one.form, "html": html, "part": _part(one.about),
        "choices": [choice._asdict() for choice in choices(session, one)],
        "excepts": [choice._asdict() for choice in excepts(circuit, one)],
        "units": UNITS.get(part.kind.unit, ()) if part is not None else (),
        "units_of": _units_of(circuit, one),
        "taken": sorted(name for name in _foreign(session)),
    }  # fmt: skip


def _button(kind: str, says: str, one: Question) -> dict[str, Any]:
    key, word = BUTTONS[kind]
    if kind == "statement" and one.form != "zone":
        word = "Where a lead of it goes …"
    if kind == "missing" and one.form == "zone":
        word = "A part is missing …"
    asks = kind in CHOOSERS or (kind == "missing" and one.form == "zone")
    return {"kind": kind, "key": key, "word": word, "says": says, "asks": asks, "main": kind in MAIN}


def _numbered(offers: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Where two offers have one key, the later takes the next that is free."""
    used: set[int] = set()
    for offer in offers:
        while offer["key"] in used:
            offer["key"] = next(k for k in (3, 4, 5, 8, 0) if k not in used)
        used.add(offer["key"])
    return sorted(offers, key=lambda offer: (offer["kind"] not in MAIN, offer["key"]))


def _part(about: str) -> str:
    return part_of(about) or about


def _by_place(one: Question) -> list[tuple[str, list[tuple[Lead, int]], list[Lead]]]:
    """Terminal by terminal: what the drawing has, with the line that found it; what was found and is not drawn."""
    found: dict[tuple[str, str], Lead] = {(lead.at, lead.to): lead for lead in one.known}
    places: dict[str, tuple[list[tuple[Lead, int]], list[Lead]]] = {}
    for lead in one.drawn:
        known = found.pop((lead.at, lead.to), None)
        if known is not None and one.form == "zone" and known.says != lead.says:
            found[lead.at, lead.to] = known  # the part is there and is another
        places.setdefault(lead.at, ([], []))[0].append((lead, known.line if known is not None else 0))
    for lead in found.values():
        places.setdefault(lead.at, ([], []))[1].append(lead)
    return [(at, drawn, others) for at, (drawn, others) in places.items()]


def _called(session: Session, one: Question) -> str:
    """The net name of the terminal in question."""
    return session.state.drawn.name_of(one.about) if one.form == "lug" else ""


def drawing(circuit: Circuit | None, part: Part | None, one: Question) -> str:
    """The part with the terminals in question marked, as SVG; empty where there is nothing to draw."""
    from netdiff.drawing import part_svg

    if circuit is None or part is None:
        return ""
    marked = (terminal_of(one.about),) if one.form == "lug" else ()
    return part_svg(part, marked, windings=circuit.windings, prefix="asked-")


def choices(session: Session, one: Question) -> list[Choice]:
    """What may land on the terminal, the likeliest first: what the drawing has, what was met, what else is near."""
    out: dict[str, str] = {}
    for lead in (*one.expected, *one.drawn, *one.known):
        if lead.to not in ("?", "open", BRAID):
            out.setdefault(lead.to, lead.says)
    out["?"] = "a lead that I did not follow"
    circuit = session.stock
    if circuit is None:
        return []
    out.setdefault(circuit.ground, circuit.ground)
    near = [*_foreign(session).values(), *(part for part in circuit.parts.values() if part.zone == one.zone)]
    for part in near:
        if part.kind.ends is not None and part.kind.hangs:
            out.setdefault(part.designator, part.designator)
        else:
            for where in part.points():
                out.setdefault(where, where)
    for name in circuit.nets:
        out.setdefault(name, name)
    for part in near:  # the very end, where somebody can tell the two apart
        for where in part.points():
            out.setdefault(where, where)
    out.pop(one.about, None)
    return [Choice(to, says) for to, says in out.items()][:MOST_CHOICES]


def excepts(circuit: Circuit | None, one: Question) -> list[Choice]:
    """What may differ although the rest is as drawn: parts of a zone, terminals of a part."""
    if circuit is None:
        return []
    if one.form == "zone":
        inside = {name: part for name, part in circuit.parts.items() if part.zone == one.about}
        return [Choice(name, f"{name} {part.label}".strip()) for name, part in inside.items()]
    part = circuit.parts.get(_part(one.about))
    places = dict.fromkeys(lead.at for lead in one.drawn)
    own = [] if part is None else [f"{part.designator}.{lug.name}" for lug in part.kind.terminals]
    return [Choice(where, where) for where in dict.fromkeys((*places, *own)) if "." in where]


def _units_of(circuit: Circuit | None, one: Question) -> dict[str, tuple[str, ...]]:
    """For each part of a zone, what its value is counted in."""
    if circuit is None or one.form != "zone":
        return {}
    return {n: UNITS.get(part.kind.unit, ()) for n, part in circuit.parts.items() if part.zone == one.about}


def _foreign(session: Session) -> Mapping[str, Part]:
    if session.unit is None:
        return {}
    found = session.unit.found(session.unit.production or frozenset())
    return {name: part for name, part in found.circuit.parts.items() if part.foreign}


def places(session: Session) -> list[dict[str, Any]]:
    """Every zone and part of the drawing, for the search: a part with its zone and terminals."""
    circuit = session.stock
    if circuit is None:
        return []
    zones = [Place(zone.name, zone.title or zone.name) for zone in circuit.zones.values()]
    parts = [
        Place(name, " ".join(filter(None, (part.label or part.kind.title, part.kind.type))), part.zone, part.points())
        for name, part in circuit.parts.items()
    ]
    return [place._asdict() for place in zones + parts]


# --- what became of an answer


def outcome(one: Outcome) -> dict[str, Any]:
    return {
        "taken": one.taken, "says": one.says, "repeated": one.repeated, "step": one.step,
        "statements": list(one.statements),
        "yields": one.contradiction is not None and one.contradiction.yields,
        "html": render("outcome.html", one=one, faults=_plain(one.faults)) if not one.taken else "",
    }  # fmt: skip


def _plain(faults: Iterable[Fault]) -> list[Fault]:
    return list(dict.fromkeys(faults))[:20]
