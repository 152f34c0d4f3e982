"""A previous owner, as a program: takes a stock circuit, modifies it, and writes the unit as a bench would.

Each modification keeps its ground truth: the kinds of finding that name it and the parts or
terminals that it touched. The kinds are those that restorers report (common practice). The found
file is written with foreign parts unidentified, some markings lost, statements in random order,
chains cut at random places, tie points invented, and some leads told at both ends.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from itertools import pairwise

from netdiff.circuit import Circuit, Part, Run, is_net, part_of, terminal_of
from netdiff.quantities import show


@dataclass(frozen=True)
class Truth:
    """What was done: any of ``kinds`` names it, on any of ``spots`` (designators or terminals)."""

    name: str
    kinds: frozenset[str]
    spots: frozenset[str]


@dataclass
class Lead:
    """One conductor of the unit, with what the bench can see of it."""

    a: str
    b: str
    attributes: str = ""
    conductor: str = ""


@dataclass
class Unit:
    """A unit on the bench, still to be modified."""

    stock: Circuit
    rng: random.Random
    leads: list[Lead] = field(default_factory=list)
    lines: list[str] = field(default_factory=list)
    """Part lines and others."""
    foreign: list[str] = field(default_factory=list)
    missing: list[str] = field(default_factory=list)
    changed: set[str] = field(default_factory=set)
    """Parts and terminals that a modification touched already: modifications keep out of each other's way."""
    truths: list[Truth] = field(default_factory=list)
    count: int = 0

    def __post_init__(self) -> None:
        for run in self.stock.runs:
            if run.joins and run.conductor != "body":
                self.leads.append(Lead(run.a, run.b, attributes(run), run.conductor))

    def stranger(self, letters: str, words: str) -> str:
        self.count += 1
        name = f"?{letters}{900 + self.count}"
        self.foreign.append(name)
        self.lines.append(f"{name} {words}")
        return name

    def nets(self) -> dict[str, int]:
        """The net of every point as wired now."""
        parent: dict[str, str] = {}

        def find(w: str) -> str:
            while parent.setdefault(w, w) != w:
                parent[w] = parent[parent[w]]
                w = parent[w]
            return w

        for lead in self.leads:
            parent[find(lead.a)] = find(lead.b)
        roots: dict[str, int] = {}
        return {w: roots.setdefault(find(w), len(roots)) for w in list(parent)}


def attributes(run: Run) -> str:
    words = [f"cable {run.cable}"] if run.cable else []
    words += [run.cable_type] if run.cable_type else []
    words += [f"{run.length * 1000:.0f}mm"] if run.length else []
    if run.braid is not None:
        words.append(f"braid {run.braid[0]} -- {run.braid[1]}")
    return ", ".join(words)


def value_words(part: Part, value: float | None = None) -> str:
    """Kind, value and ratings as somebody reads them off the part."""
    words = [part.kind.name]
    if part.kind.type:
        words.append(part.kind.type)
    number = part.value if value is None else value
    if number is not None and part.kind.unit:
        words.append(compact(number, part.kind.unit))
    words += [compact(n, unit) for unit, n in part.ratings.items()]
    return " ".join(words)


def compact(number: float, unit: str) -> str:
    return show(number, unit).replace(" ", "").replace("VAC", "Vac")


# --- what a modification may touch ------------------------------------------------------------------------------


def untouched(unit: Unit, part: Part) -> bool:
    return part.designator not in unit.changed and not any(w in unit.changed for w in part.points())


def section(part: Part) -> bool:
    """One of several sections of one body: its common lug is its neighbours' too."""
    return bool(part.kind.shared) and part.designator[-1:].isalpha()


def two_ended(unit: Unit, family: str, *, hanging: bool = True) -> list[Part]:
    """Untouched two-ended stock parts of a family, both ends wired to different nets."""
    nets = unit.nets()
    out = []
    for part in unit.stock.parts.values():
        ends = part.kind.ends
        if ends is None or part.kind.family != family or not untouched(unit, part) or section(part):
            continue
        a, b = (f"{part.designator}.{end}" for end in ends)
        if a in nets and b in nets and nets[a] != nets[b] and (not hanging or part.kind.hangs):
            out.append(part)
    return out


def quiet(unit: Unit, lead: Lead) -> bool:
    """A plain lead between points that no modification touched."""
    return not any(w in unit.changed or part_of(w) in unit.changed for w in (lead.a, lead.b))


def plain_leads(unit: Unit) -> list[Lead]:
    """Leads whose removal splits a net into two parts that both hold terminals of real parts."""
    ties = tie_points(unit.stock)
    wired: dict[str, set[str]] = {}
    for lead in unit.leads:
        for where in (lead.a, lead.b):
            wired.setdefault(part_of(where), set()).add(where)
    out = []
    for lead in unit.leads:
        if lead.conductor or not quiet(unit, lead):
            continue
        if min(len(wired[part_of(lead.a)]), len(wired[part_of(lead.b)])) < 2:
            continue  # a part of one wire only is gone altogether when that wire goes
        if lead.a in ties or lead.b in ties or is_net(lead.a) or is_net(lead.b):
            continue
        if bridge(unit, lead):
            out.append(lead)
    return out


def tie_points(stock: Circuit) -> set[str]:
    out = {f"{p.designator}.{lug.name}" for p in stock.parts.values() for lug in p.kind.terminals if lug.tie}
    return out | {w for r in stock.runs for w in (r.a, r.b) if part_of(w).startswith("TB")}


def bridge(unit: Unit, lead: Lead) -> bool:
    rest = [other for other in unit.leads if other is not lead]
    return not reaches(rest, lead.a, lead.b)


def reaches(leads: list[Lead], start: str, goal: str) -> bool:
    near: dict[str, list[str]] = {}
    for lead in leads:
        near.setdefault(lead.a, []).append(lead.b)
        near.setdefault(lead.b, []).append(lead.a)
    seen, queue = {start}, [start]
    while queue:
        at = queue.pop()
        if at == goal:
            return True
        for other in near.get(at, ()):
            if other not in seen:
                seen.add(other)
                queue.append(other)
    return False


def component(leads: list[Lead], start: str) -> set[str]:
    near: dict[str, list[str]] = {}
    for lead in leads:
        near.setdefault(lead.a, []).append(lead.b)
        near.setdefault(lead.b, []).append(lead.a)
    seen, queue = {start}, [start]
    while queue:
        for other in near.get(queue.pop(), ()):
            if other not in seen:
                seen.add(other)
                queue.append(other)
    return seen


def real(unit: Unit, points: set[str]) -> set[str]:
    ties = tie_points(unit.stock)
    return {w for w in points if part_of(w) in unit.stock.parts and w not in ties}


def detach(unit: Unit, where: str) -> list[Lead]:
    """Take one terminal off whatever it is on, the rest of the net staying together."""
    mine = [lead for lead in unit.leads if where in (lead.a, lead.b)]
    others = [lead.b if lead.a == where else lead.a for lead in mine]
    unit.leads = [lead for lead in unit.leads if where not in (lead.a, lead.b)]
    for first, second in pairwise(others):
        unit.leads.append(Lead(first, second))
    return mine


def touch(unit: Unit, *spots: str) -> None:
    for spot in spots:
        unit.changed.add(spot)
        if part_of(spot):
            unit.changed.add(part_of(spot))
    near = {w for spot in spots for w in nets_near(unit, spot)}
    unit.changed |= near


def nets_near(unit: Unit, spot: str) -> set[str]:
    """Terminals on the small nets, drawn or as wired now, that a part or terminal is on."""
    out: set[str] = set()
    for leads in (unit.leads, [Lead(run.a, run.b) for run in unit.stock.runs if run.joins]):
        mine = {w for lead in leads for w in (lead.a, lead.b) if spot in (w, part_of(w))}
        for where in mine:
            members = component(leads, where)
            if len(members) <= 7:
                out |= {w for w in members if not is_net(w)}
    return out


Modify = Callable[[Unit], Truth | None]
MODIFICATIONS: dict[str, Modify] = {}


def partners(unit: Unit, spots: set[str]) -> set[str]:
    """Terminals that may change places with these: nobody can say which of the two was meant."""
    out = set()
    for spot in spots:
        part = unit.stock.parts.get(part_of(spot))
        for first, second in part.kind.swaps if part is not None else ():
            for a, b in zip(first, second, strict=True):
                out |= {f"{part_of(spot)}.{o}" for m, o in ((a, b), (b, a)) if m == terminal_of(spot)}
    return out


def modification(*kinds: str) -> Callable[[Callable[[Unit], set[str] | None]], Modify]:
    def wrap(function: Callable[[Unit], set[str] | None]) -> Modify:
        name = function.__name__.replace("_", " ")

        def run(unit: Unit) -> Truth | None:
            spots = function(unit)
            if not spots:
                return None
            truth = Truth(name, frozenset(kinds), frozenset(spots | partners(unit, spots)))
            touch(unit, *spots)
            unit.truths.append(truth)
            return truth

        MODIFICATIONS[name] = run
        return run

    return wrap


def pick(unit: Unit, items: list[object]) -> object | None:
    return unit.rng.choice(items) if items else None


def free_terminals(unit: Unit) -> list[str]:
    """Wired terminals of untouched parts that are no tie points, on nets of some company."""
    nets = unit.nets()
    size: dict[int, int] = {}
    wired: dict[str, int] = {}
    for where in nets:
        wired[part_of(where)] = wired.get(part_of(where), 0) + 1
    ties = tie_points(unit.stock)
    good = [w for w in nets if part_of(w) in unit.stock.parts and w not in ties
            and not section(unit.stock.parts[part_of(w)])]  # fmt: skip
    for w in good:
        size[nets[w]] = size.get(nets[w], 0) + 1
    # A part of one wire only is gone altogether when that wire goes.
    good = [w for w in good if wired[part_of(w)] > 1]
    return sorted(w for w in good if size[nets[w]] >= 3 and w not in unit.changed and part_of(w) not in unit.changed)


def shield_free(unit: Unit, where: str) -> bool:
    """No coax or shielded run and no demanded point hangs on this terminal."""
    if any(lead.conductor and where in (lead.a, lead.b) for lead in unit.leads):
        return False
    if any(run.direct and where in (run.a, run.b) for run in unit.stock.runs):
        return False
    return not any(run.braid and where in run.braid for run in unit.stock.runs)


def other_terminal(unit: Unit, where: str) -> str | None:
    """A terminal on another net that the drawing does not bring near this one."""
    nets = unit.nets()
    here = {nets.get(w) for w in nets if part_of(w) == part_of(where)}
    choices = [w for w in free_terminals(unit) if nets[w] not in here and shield_free(unit, w)]
    return unit.rng.choice(choices) if choices else None


# --- the modifications ------------------------------------------------------------------------------------------


@modification("open-connection", "broken-ground")
def cut_a_lead(unit: Unit) -> set[str] | None:
    lead = pick(unit, plain_leads(unit))
    if lead is None:
        return None
    unit.leads.remove(lead)  # type: ignore[arg-type]
    return {lead.a, lead.b}  # type: ignore[attr-defined]


@modification("broken-ground")
def lose_a_ground(unit: Unit) -> set[str] | None:
    nets = unit.nets()
    ground = nets.get(unit.stock.ground)
    where = pick(unit, [w for w in free_terminals(unit) if nets[w] == ground and shield_free(unit, w)])
    if where is None:
        return None
    detach(unit, str(where))
    return {str(where)}


@modification("moved-lead", "reversed")
def move_a_lead(unit: Unit) -> set[str] | None:
    where = pick(unit, [w for w in free_terminals(unit) if shield_free(unit, w)])
    there = other_terminal(unit, str(where)) if where else None
    if where is None or there is None:
        return None
    if part_of(there) == part_of(str(where)):
        return None
    detach(unit, str(where))
    unit.leads.append(Lead(str(where), there))
    return {str(where)}


@modification("added-connection", "bypassed-part")
def join_two_nets(unit: Unit) -> set[str] | None:
    where = pick(unit, [w for w in free_terminals(unit) if shield_free(unit, w)])
    there = other_terminal(unit, str(where)) if where else None
    if there is None:
        return None
    unit.leads.append(Lead(str(where), there))
    nets = unit.nets()
    return {w for w in nets if nets[w] == nets[there]} | {part_of(str(where)), part_of(there)}


def swap_terminals(unit: Unit, first: str, second: str) -> None:
    trade = {first: second, second: first}
    for lead in unit.leads:
        lead.a, lead.b = trade.get(lead.a, lead.a), trade.get(lead.b, lead.b)


def reversible(unit: Unit, kinds: tuple[str, ...], a: str, b: str) -> list[str]:
    nets = unit.nets()
    out = []
    for part in unit.stock.parts.values():
        first, second = f"{part.designator}.{a}", f"{part.designator}.{b}"
        known = first in nets and second in nets and not section(part)
        if part.kind.name in kinds and untouched(unit, part) and known:
            if nets[first] != nets[second] and shield_free(unit, first) and shield_free(unit, second):
                out.append(part.designator)
    return out


def reverse(unit: Unit, kinds: tuple[str, ...], a: str, b: str) -> set[str] | None:
    name = pick(unit, reversible(unit, kinds, a, b))
    if name is None:
        return None
    swap_terminals(unit, f"{name}.{a}", f"{name}.{b}")
    return {str(name)}


@modification("reversed")
def reverse_a_jack(unit: Unit) -> set[str] | None:
    return reverse(unit, ("jack-2", "jack-3", "jack-2-break", "jack-3-break"), "tip", "sleeve")


@modification("reversed")
def reverse_an_electrolytic(unit: Unit) -> set[str] | None:
    return reverse(unit, ("electrolytic",), "+", "-")


@modification("reversed")
def reverse_a_rectifier(unit: Unit) -> set[str] | None:
    return reverse(unit, ("diode", "rectifier"), "a", "k")


@modification("reversed")
def reverse_a_meter(unit: Unit) -> set[str] | None:
    return reverse(unit, ("meter",), "+", "-")


@modification("reversed")
def exchange_two_socket_pins(unit: Unit) -> set[str] | None:
    nets = unit.nets()
    choices = []
    for part in unit.stock.parts.values():
        if part.kind.name != "tube" or not untouched(unit, part):
            continue
        wired = [f"{part.designator}.{lug.name}" for lug in part.kind.terminals if not lug.tie]
        wired = [w for w in wired if w in nets and shield_free(unit, w) and terminal_of(w)[:1] not in "hf"]
        pairs = [(a, b) for i, a in enumerate(wired) for b in wired[i + 1 :] if nets[a] != nets[b]]
        choices += pairs
    pair = pick(unit, choices)
    if pair is None:
        return None
    swap_terminals(unit, *pair)  # type: ignore[misc]
    return {part_of(pair[0])}  # type: ignore[index]


@modification("reversed", "moved-lead")
def exchange_make_and_break(unit: Unit) -> set[str] | None:
    return reverse(unit, ("relay-spdt",), "no", "nc") or reverse(unit, ("relay-dpdt",), "noa", "nca")


def insert(unit: Unit, name: str, a: str, b: str) -> set[str] | None:
    lead = pick(unit, plain_leads(unit))
    if lead is None:
        return None
    unit.leads.remove(lead)  # type: ignore[arg-type]
    unit.leads += [Lead(lead.a, f"{name}.{a}"), Lead(f"{name}.{b}", lead.b)]  # type: ignore[attr-defined]
    return {name, lead.a, lead.b}  # type: ignore[attr-defined]


@modification("inserted-part")
def insert_a_resistor(unit: Unit) -> set[str] | None:
    if not plain_leads(unit):
        return None
    return insert(unit, unit.stranger("R", "resistor 100 1W"), "1", "2")


@modification("inserted-part")
def insert_a_fuse(unit: Unit) -> set[str] | None:
    if not plain_leads(unit):
        return None
    return insert(unit, unit.stranger("F", "fuse 0.5A"), "1", "2")


@modification("inserted-part")
def insert_a_relay_contact(unit: Unit) -> set[str] | None:
    if not plain_leads(unit):
        return None
    name = unit.stranger("K", "relay-spdt 6V")
    spots = insert(unit, name, "c", unit.rng.choice(["no", "nc"]))
    heaters = [
        w for w in unit.nets() if is_net(w) and unit.stock.nets.get(w) and unit.stock.nets[w].purpose == "heater"
    ]
    if heaters and spots:
        unit.leads += [Lead(heaters[0], f"{name}.coil1"), Lead(unit.stock.ground, f"{name}.coil2")]
    return spots


def bridge_part(unit: Unit, letters: tuple[str, ...]) -> set[str] | None:
    nets = unit.nets()
    choices = []
    for part in unit.stock.parts.values():
        ends = part.kind.ends
        if ends is None or not set(letters) & set(part.kind.letters) or not untouched(unit, part):
            continue
        a, b = (f"{part.designator}.{end}" for end in ends)
        if a in nets and b in nets and nets[a] != nets[b] and shield_free(unit, a) and shield_free(unit, b):
            choices.append((part.designator, a, b))
    choice = pick(unit, choices)
    if choice is None:
        return None
    unit.leads.append(Lead(choice[1], choice[2]))  # type: ignore[index]
    return {choice[0]}  # type: ignore[index]


@modification("bypassed-part")
def bridge_a_fuse_or_switch(unit: Unit) -> set[str] | None:
    return bridge_part(unit, ("F", "S"))


@modification("bypassed-part")
def bridge_a_choke_or_resistor(unit: Unit) -> set[str] | None:
    return bridge_part(unit, ("L", "R"))


def strap(unit: Unit, family: str, words: str, letters: str) -> set[str] | None:
    part = pick(unit, two_ended(unit, family))
    if part is None:
        return None
    name = unit.stranger(letters, words)
    mine = unit.stock.parts[name].kind.ends if name in unit.stock.parts else None
    a, b = mine or (("+", "-") if words.startswith("electrolytic") else ("1", "2"))
    ends = part.kind.ends  # type: ignore[attr-defined]
    unit.leads += [Lead(f"{part.designator}.{ends[0]}", f"{name}.{a}"),  # type: ignore[attr-defined]
                   Lead(f"{part.designator}.{ends[1]}", f"{name}.{b}")]  # type: ignore[attr-defined]  # fmt: skip
    return {part.designator, name}  # type: ignore[attr-defined]


@modification("bypassed-part")
def put_a_capacitor_across(unit: Unit) -> set[str] | None:
    return strap(unit, "capacitor", "capacitor .1u 600V", "C")


@modification("bypassed-part")
def put_a_resistor_across(unit: Unit) -> set[str] | None:
    return strap(unit, "resistor", "resistor 33k 2W", "R")


@modification("missing-part")
def take_a_part_out(unit: Unit) -> set[str] | None:
    part = pick(unit, [p for f in ("resistor", "capacitor") for p in two_ended(unit, f)])
    if part is None:
        return None
    for end in part.kind.ends:  # type: ignore[attr-defined]
        detach(unit, f"{part.designator}.{end}")  # type: ignore[attr-defined]
    unit.missing.append(part.designator)  # type: ignore[attr-defined]
    return {part.designator}  # type: ignore[attr-defined]


@modification("missing-part")
def take_a_part_out_and_say_nothing(unit: Unit) -> set[str] | None:
    part = pick(unit, [p for f in ("resistor", "capacitor") for p in two_ended(unit, f)])
    if part is None:
        return None
    for end in part.kind.ends:  # type: ignore[attr-defined]
        detach(unit, f"{part.designator}.{end}")  # type: ignore[attr-defined]
    return {part.designator}  # type: ignore[attr-defined]


@modification("wrong-part")
def fit_another_tube(unit: Unit) -> set[str] | None:
    tubes = [p for p in unit.stock.parts.values() if p.kind.name == "tube" and untouched(unit, p)]
    part = pick(unit, [p for p in tubes if p.kind.type in _SIBLINGS])
    if part is None:
        return None
    unit.lines.append(f"{part.designator} tube {_SIBLINGS[part.kind.type]}")  # type: ignore[attr-defined]
    return {part.designator}  # type: ignore[attr-defined]


_SIBLINGS = {"6V6GT": "6L6GC", "6L6G": "6V6GT", "6L6GC": "6V6GT", "6SJ7": "6SK7", "6SK7": "6SJ7", "12AX7": "12AU7",
             "12AU7": "12AX7", "12AT7": "12AU7", "6AU6": "6BA6", "6BA6": "6AU6", "12SK7": "12SQ7", "6SN7GT": "6SL7GT",
             "6SL7GT": "6SN7GT", "5U4G": "5Y3GT", "5Y3GT": "5U4G", "0A2": "0B2", "0D3": "0C3", "807": "807W",
             "6J5": "6J5GT"}  # fmt: skip
_SIBLINGS.pop("807")


def change_value(unit: Unit, factor: float, template: str) -> set[str] | None:
    parts = [p for f in ("resistor", "capacitor") for p in two_ended(unit, f) if p.value]
    part = pick(unit, [p for p in parts if p.kind.name in ("resistor", "capacitor")])
    if part is None:
        return None
    value = part.value * factor  # type: ignore[attr-defined]
    words = template.format(name=part.designator, new=value_words(part, value), old=value_words(part),  # type: ignore[attr-defined, arg-type]
                            measured=compact(value, part.kind.unit))  # type: ignore[attr-defined]  # fmt: skip
    unit.lines.append(words)
    return {part.designator}  # type: ignore[attr-defined]


@modification("wrong-value")
def misread_a_decade(unit: Unit) -> set[str] | None:
    return change_value(unit, unit.rng.choice([0.1, 10.0]), "{name} {new}")


@modification("drifted-part")
def let_a_part_drift(unit: Unit) -> set[str] | None:
    return change_value(unit, 1.7, "{name} {old}, measured {measured}")


@modification("low-rating")
def fit_a_lower_rating(unit: Unit) -> set[str] | None:
    parts = [p for f in ("resistor", "capacitor") for p in two_ended(unit, f) if p.ratings and p.value]
    part = pick(unit, parts)
    if part is None:
        return None
    low = {u: n / 3 for u, n in part.ratings.items()}  # type: ignore[attr-defined]
    words = " ".join(compact(n, u) for u, n in low.items())
    head = f"{part.designator} {part.kind.name} {compact(part.value, part.kind.unit)}"  # type: ignore[attr-defined]
    unit.lines.append(f"{head} {words}")
    return {part.designator}  # type: ignore[attr-defined]


def substitute(unit: Unit, shape: str) -> set[str] | None:
    """Replace a resistor by a network of foreign ones: its marking goes with it."""
    part = pick(unit, [p for p in two_ended(unit, "resistor") if p.value and p.kind.name == "resistor"])
    if part is None:
        return None
    name, value = part.designator, part.value  # type: ignore[attr-defined]
    a_end, b_end = (f"{name}.{end}" for end in part.kind.ends)  # type: ignore[attr-defined]
    off = 2.0 if shape == "off" else 1.0
    watts = part.ratings.get("W", 1.0)  # type: ignore[attr-defined]
    rated = compact(watts, "W")

    def resistor(ohms: float) -> str:
        return unit.stranger("R", f"resistor {compact(float(f'{ohms:.3g}'), 'ohm')} {rated}")

    if shape in ("series", "off"):
        first, second = resistor(value * off * 0.5), resistor(value * off * 0.5)
        links = [(a_end, f"{first}.1"), (f"{first}.2", f"{second}.1"), (f"{second}.2", b_end)]
    elif shape == "parallel":
        first, second = resistor(value * 2), resistor(value * 2)
        links = [(a_end, f"{first}.1"), (a_end, f"{second}.1"), (f"{first}.2", b_end), (f"{second}.2", b_end)]
    else:
        first, second, third = resistor(value / 2), resistor(value), resistor(value)
        links = [(a_end, f"{first}.1"), (f"{first}.2", f"{second}.1"), (f"{first}.2", f"{third}.1"),
                 (f"{second}.2", b_end), (f"{third}.2", b_end)]  # fmt: skip
    outside = {end: sorted(w for w in component(unit.leads, end) if w != end) for end in (a_end, b_end)}
    near = {end: next((lead.b if lead.a == end else lead.a for lead in unit.leads if end in (lead.a, lead.b)), None)
            for end in (a_end, b_end)}  # fmt: skip
    if None in near.values() or not all(outside.values()):
        return None
    for end in (a_end, b_end):
        detach(unit, end)
    for first_point, second_point in links:
        unit.leads.append(Lead(near.get(first_point) or first_point, near.get(second_point) or second_point))
    unit.missing.append(name)
    return {name}


@modification("substituted-part")
def two_in_series_for_one(unit: Unit) -> set[str] | None:
    return substitute(unit, "series")


@modification("substituted-part")
def two_in_parallel_for_one(unit: Unit) -> set[str] | None:
    return substitute(unit, "parallel")


@modification("substituted-part")
def three_for_one(unit: Unit) -> set[str] | None:
    return substitute(unit, "both")


@modification("substituted-part")
def two_of_the_wrong_sum(unit: Unit) -> set[str] | None:
    return substitute(unit, "off")


def shielded_lead(unit: Unit) -> Lead | None:
    return pick(unit, [lead for lead in unit.leads if lead.conductor in ("coax", "shielded") and quiet(unit, lead)])  # type: ignore[return-value, arg-type]


@modification("unshielded-run")
def open_wire_for_coax(unit: Unit) -> set[str] | None:
    lead = shielded_lead(unit)
    if lead is None:
        return None
    # The shell or lug that the braid grounded is grounded by a wire of its own, so that only the run differs.
    run = next(r for r in unit.stock.runs if {r.a, r.b} == {lead.a, lead.b} and r.conductor == lead.conductor)
    lead.conductor, lead.attributes = "wire", f"{unit.rng.choice([90, 150, 300])}mm"
    if run.braid and all(w not in ("open", "?") for w in run.braid):
        unit.leads.append(Lead(run.braid[0], run.braid[1]))
    return {lead.a, lead.b}


@modification("open-braid")
def lift_a_braid(unit: Unit) -> set[str] | None:
    leads = [lead for lead in unit.leads if "braid" in lead.attributes and quiet(unit, lead)]
    lead = pick(unit, leads)  # type: ignore[arg-type]
    if lead is None:
        return None
    run = next(r for r in unit.stock.runs if {r.a, r.b} == {lead.a, lead.b} and r.braid)  # type: ignore[attr-defined]
    near, far = run.braid or ("", "")
    if "open" in (near, far) or "?" in (near, far):
        return None
    head = lead.attributes.partition("braid")[0]  # type: ignore[attr-defined]
    lead.attributes = f"{head}braid open -- {far}"  # type: ignore[attr-defined]
    unit.leads.append(Lead(near, far))
    return {lead.a, lead.b}  # type: ignore[attr-defined]


@modification("wrong-wire")
def another_cable(unit: Unit) -> set[str] | None:
    leads = [lead for lead in unit.leads if "RG-" in lead.attributes and quiet(unit, lead)]
    lead = pick(unit, leads)  # type: ignore[arg-type]
    if lead is None:
        return None
    import re

    lead.attributes = re.sub(r"RG-[\w/]+", "RG-59", lead.attributes)  # type: ignore[attr-defined]
    return {lead.a, lead.b}  # type: ignore[attr-defined]


@modification("added-part")
def add_a_stray_capacitor(unit: Unit) -> set[str] | None:
    nets = unit.nets()
    where = pick(unit, free_terminals(unit))  # type: ignore[arg-type]
    there = other_terminal(unit, str(where)) if where else None
    if there is None:
        return None
    between = {nets[str(where)], nets[there]}
    for part in unit.stock.parts.values():
        if part.kind.ends and {nets.get(f"{part.designator}.{e}") for e in part.kind.ends} == between:
            return None
    name = unit.stranger("C", "capacitor 1000p 500V")
    unit.leads += [Lead(str(where), f"{name}.1"), Lead(there, f"{name}.2")]
    return {name}


@modification("added-part")
def leave_a_dead_jack(unit: Unit) -> set[str] | None:
    return {unit.stranger("J", "jack-2")}


@modification("added-part")
def add_a_jack_on_a_wire(unit: Unit) -> set[str] | None:
    where = pick(unit, free_terminals(unit))  # type: ignore[arg-type]
    if where is None:
        return None
    name = unit.stranger("J", "jack-2")
    unit.leads += [Lead(str(where), f"{name}.tip"), Lead(unit.stock.ground, f"{name}.sleeve")]
    return {name}


@modification("condition")
def burn_a_part(unit: Unit) -> set[str] | None:
    part = pick(unit, [p for f in ("resistor", "capacitor") for p in two_ended(unit, f)])
    if part is None:
        return None
    unit.lines.append(f"{part.designator}, {unit.rng.choice(['charred', 'cracked', 'leaking', 'corroded'])}")  # type: ignore[attr-defined]
    return {part.designator}  # type: ignore[attr-defined]


@modification("exposed-conductor")
def strip_a_supply_wire(unit: Unit) -> set[str] | None:
    nets = unit.nets()
    hot = {nets[name] for name, net in unit.stock.nets.items()
           if name in nets and net.purpose == "supply" and (net.volts or 0) > 100}  # fmt: skip
    lead = pick(unit, [x for x in unit.leads if nets.get(x.a) in hot and not x.conductor and quiet(unit, x)
                       and not is_net(x.a) and not is_net(x.b)])  # type: ignore[arg-type]  # fmt: skip
    if lead is None:
        return None
    lead.conductor, lead.attributes = "wire", "bare 25mm"  # type: ignore[attr-defined]
    return {lead.a, lead.b}  # type: ignore[attr-defined]


@modification("exchanged-parts")
def exchange_two_tubes(unit: Unit) -> set[str] | None:
    tubes = [p for p in unit.stock.parts.values() if p.kind.name == "tube" and untouched(unit, p)]
    pairs = [(a, b) for i, a in enumerate(tubes) for b in tubes[i + 1 :] if a.kind.type != b.kind.type
             and {lug.name for lug in a.kind.terminals} == {lug.name for lug in b.kind.terminals}]  # fmt: skip
    pair = pick(unit, pairs)  # type: ignore[arg-type]
    if pair is None:
        return None
    a, b = pair  # type: ignore[misc]
    unit.lines += [f"{a.designator} tube {b.kind.type}", f"{b.designator} tube {a.kind.type}"]
    return {a.designator, b.designator}


@modification("exchanged-parts")
def exchange_two_resistors(unit: Unit) -> set[str] | None:
    parts = [p for p in two_ended(unit, "resistor") if p.value and p.kind.name == "resistor"]
    nets = unit.nets()
    pairs = []
    for i, a in enumerate(parts):
        for b in parts[i + 1 :]:
            four = [nets[f"{p.designator}.{end}"] for p in (a, b) for end in ("1", "2")]
            if a.value and b.value and not 0.3 < a.value / b.value < 3 and len(set(four)) == 4:
                pairs.append((a.designator, b.designator))
    pair = pick(unit, pairs)  # type: ignore[arg-type]
    if pair is None:
        return None
    for end in ("1", "2"):
        swap_terminals(unit, f"{pair[0]}.{end}", f"{pair[1]}.{end}")  # type: ignore[index]
    return set(pair)  # type: ignore[call-overload, no-any-return]


@modification("wrong-lug")
def return_a_bypass_elsewhere(unit: Unit) -> set[str] | None:
    direct = [run for run in unit.stock.runs if run.direct and part_of(run.a) and run.a not in unit.changed
              and part_of(run.a) not in unit.changed]  # fmt: skip
    run = pick(unit, direct)  # type: ignore[arg-type]
    if run is None:
        return None
    here = component(unit.leads, run.b)  # type: ignore[attr-defined]
    others = [w for w in sorted(here) if w not in (run.a, run.b) and part_of(w) != part_of(run.a)]  # type: ignore[attr-defined]
    there = pick(unit, others)  # type: ignore[arg-type]
    if there is None:
        return None
    unit.leads = [x for x in unit.leads if {x.a, x.b} != {run.a, run.b}]  # type: ignore[attr-defined]
    if not reaches(unit.leads, run.a, str(there)):  # type: ignore[attr-defined]
        unit.leads.append(Lead(run.a, str(there)))  # type: ignore[attr-defined]
    return {run.a}  # type: ignore[attr-defined]


# --- writing the unit down as a bench would ---------------------------------------------------------------------


def write(unit: Unit, stock_file: str) -> str:
    """The found file of the unit: everything traced, in an order and a shape of its own."""
    rng = unit.rng
    leads = [Lead(x.a, x.b, x.attributes, x.conductor) for x in unit.leads]
    demanded = {w for run in unit.stock.runs if run.direct for w in (run.a, run.b)}
    _relay(unit, leads, demanded)
    names: dict[str, str] = {}
    lines = list(unit.lines)
    foreign = list(unit.foreign)
    for part in unit.stock.parts.values():
        name = part.designator
        free = name not in unit.changed and name not in unit.missing and part.kind.hangs and part.kind.ends
        if (
            free
            and not name[-1:].isalpha()
            and rng.random() < 0.1
            and any(part_of(w) == name for x in leads for w in (x.a, x.b))
        ):
            lost = f"?{''.join(c for c in name if c.isalpha())}{700 + len(names)}"
            names[name] = lost
            foreign.append(lost)
            lines.append(f"{lost} {value_words(part)}")
    flipped = {
        part.designator
        for part in unit.stock.parts.values()
        if part.kind.ends and not part.kind.polarised and part.kind.hangs and rng.random() < 0.5
    }

    def written(where: str) -> str:
        name, terminal = part_of(where), terminal_of(where)
        if name in flipped:
            ends = unit.stock.parts[name].kind.ends or ("", "")
            terminal = {ends[0]: ends[1], ends[1]: ends[0]}.get(terminal, terminal)
        return f"{names.get(name, name)}.{terminal}" if name else where

    strips: set[str] = set()
    for lead in list(leads):
        if not lead.conductor and rng.random() < 0.05 and lead.a not in demanded and lead.b not in demanded:
            lug = f"TB{900 + rng.randrange(3)}.{len(strips) + 1}"
            strips.add(lug)
            leads.remove(lead)
            leads += [Lead(lead.a, lug), Lead(lug, lead.b)]
    for lead in leads:
        lead.a, lead.b = written(lead.a), written(lead.b)
    lines += _chains(unit, leads, names)
    lines += [f"missing {name}" for name in unit.missing]
    rng.shuffle(lines)
    traced = [*unit.stock.zones, *foreign, *sorted({lug.partition(".")[0] for lug in strips})]
    loose = [p.designator for p in unit.stock.parts.values() if not p.zone and p.designator not in unit.missing]
    production = " production " + " ".join(sorted(unit.stock.production)) if unit.stock.production else ""
    head = [f'found "unit {unit.count}" of "{stock_file}"{production}', "traced " + " ".join(traced + loose)]
    return "\n".join(head + lines) + "\n"


def _relay(unit: Unit, leads: list[Lead], demanded: set[str]) -> None:
    """Other wire routes within the same nets: which lug of a net a lead lands on is the builder's choice."""
    for lead in list(leads):
        if lead.conductor or unit.rng.random() > 0.15 or {lead.a, lead.b} & demanded:
            continue
        if any(w in unit.changed or part_of(w) in unit.changed for w in (lead.a, lead.b)):
            continue
        rest = [other for other in leads if other is not lead]
        side = component(rest, lead.a)
        if lead.b in side:
            continue
        choices = sorted(w for w in side if w not in demanded and part_of(w) not in unit.changed and not is_net(w)
                         and part_of(w) not in unit.foreign)  # fmt: skip
        if choices:
            lead.a = unit.rng.choice(choices)


def _chains(unit: Unit, leads: list[Lead], names: dict[str, str]) -> Iterator[str]:
    rng = unit.rng
    plain = [lead for lead in leads if not lead.conductor]
    for lead in leads:
        if lead.conductor:
            word = "wire" if lead.conductor == "" else lead.conductor
            yield f"{word} {lead.a} -- {lead.b}" + (f", {lead.attributes}" if lead.attributes else "")
    count: dict[str, int] = {}
    for lead in leads:
        for w in (lead.a, lead.b):
            count[w] = count.get(w, 0) + 1
    ends: dict[str, tuple[str, str, bool]] = {}
    for part in unit.stock.parts.values():
        if part.kind.ends:
            name = names.get(part.designator, part.designator)
            ends[name] = (*part.kind.ends, part.kind.polarised)
    rng.shuffle(plain)
    by_point: dict[str, list[Lead]] = {}
    for lead in plain:
        by_point.setdefault(lead.a, []).append(lead)
        by_point.setdefault(lead.b, []).append(lead)
    used: set[int] = set()
    for lead in plain:
        if id(lead) in used:
            continue
        used.add(id(lead))
        items = [lead.a, lead.b] if rng.random() < 0.5 else [lead.b, lead.a]
        told = [lead]
        while rng.random() < 0.75:
            at = items[-1]
            name = part_of(at)
            nxt = [x for x in by_point.get(at, ()) if id(x) not in used]
            passes = ends.get(name)
            if passes and count.get(at) == 1 and rng.random() < 0.8:
                first, second, polarised = passes
                near = terminal_of(at)
                far = second if near == first else first
                onward = [x for x in by_point.get(f"{name}.{far}", ()) if id(x) not in used]
                if count.get(f"{name}.{far}") == 1 and onward:
                    step = onward[0]
                    used.add(id(step))
                    told.append(step)
                    items[-1] = f"{name}.{near}/{far}" if polarised else name
                    items.append(step.b if step.a == f"{name}.{far}" else step.a)
                    continue
            if not nxt:
                break
            step = nxt[0]
            used.add(id(step))
            told.append(step)
            items.append(step.b if step.a == at else step.a)
        yield " -- ".join(items)
        if rng.random() < 0.1:
            again = rng.choice(told)
            # A two-ended part that a chain passed bare is told again bare, or not at all: its ends have no names yet.
            if part_of(again.a) not in ends and part_of(again.b) not in ends:
                yield f"{again.b} -- {again.a}"


def modified(stock: Circuit, seed: int, count: int = 1, only: str = "") -> Unit:
    """A unit with ``count`` modifications that keep out of each other's way."""
    rng = random.Random(seed)
    unit = Unit(stock, rng)
    names = [only] if only else sorted(MODIFICATIONS)
    tries = 0
    while len(unit.truths) < count and tries < 60:
        tries += 1
        before = (list(unit.lines), list(unit.foreign))
        if MODIFICATIONS[rng.choice(names)](unit) is None:
            unit.lines, unit.foreign = before
    return unit


def scored(
    truths: list[Truth], findings: list[tuple[str, set[str]]]
) -> tuple[int, list[Truth], list[tuple[str, set[str]]]]:
    """How many truths were named, those that were not, and the findings that name nothing that was done."""
    hit: list[Truth] = []
    stray = []
    for kind, spots in findings:
        mine = [t for t in truths if kind in t.kinds and spots & _wide(t)]
        if mine:
            hit += mine
        else:
            stray.append((kind, spots))
    return len(set(hit)), [t for t in truths if t not in hit], stray


def _wide(truth: Truth) -> set[str]:
    return set(truth.spots) | {
        part_of(w) for w in truth.spots if part_of(w) and truth.name.startswith(("exchange", "reverse"))
    }
