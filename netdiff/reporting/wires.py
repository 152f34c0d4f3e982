"""The from-to wire list of a circuit: a row a conductor, for a spreadsheet.

A from-to list alone says nothing of kinds and values, states or what was traced. They travel in the
same table, in rows of their own: a row says in its first cell what it is (``wire``, ``part``, or
``statement``: one line of the language). So each row stands for itself, and the list may be sorted,
filtered and added to in any way without losing what belongs together; a second table below the first
would be torn apart by the first sort. Columns that nothing fills are left out.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any, Final, Literal, NamedTuple

from netdiff.catalogue import Catalogue
from netdiff.cautions import for_cold_work
from netdiff.circuit import Circuit, Found, Part, Run
from netdiff.language import Model, Unit
from netdiff.language.spelling import condition_words, decimal, part_words, quantity
from netdiff.language.writing_found import found_statements, is_read
from netdiff.language.writing_out import stock_statements, worth_telling
from netdiff.reporting.cells import written

Which = Literal["stock", "found"]

COLOURS: Final = frozenset(
    "black brown red orange yellow green blue violet purple grey gray white pink tan clear slate natural".split()  # noqa: SIM905
)


class Row(NamedTuple):
    """One row of the list, cell by cell; the names of the fields are the keys of the JSON."""

    row: str
    from_point: str = ""
    to_point: str = ""
    conductor: str = ""
    cable: str = ""
    cable_type: str = ""
    length_mm: str = ""
    gauge_awg: str = ""
    colour: str = ""
    braid_from: str = ""
    braid_to: str = ""
    bare_mm: str = ""
    gap: str = ""
    lands: str = ""
    known: str = ""
    condition: str = ""
    part: str = ""
    kind_and_value: str = ""
    measured: str = ""
    zone: str = ""
    note: str = ""
    statement: str = ""


HEADINGS: Final = {
    name: {"from_point": "from", "to_point": "to"}.get(name, name.replace("_", " ").replace("awg", "AWG"))
    for name in Row._fields
}
AS_DRAWN: Final = "as-drawn"
FROM_DRAWING: Final = "drawing"
"""In the column ``known``: rows that only help to read the list. The unit's own statements say it already."""
ALWAYS: Final = ("row", "from_point", "to_point")


class WireList(NamedTuple):
    title: str
    file: str
    circuit: Which
    rows: tuple[Row, ...]


def of_thing(thing: Model | Unit, which: Which | None = None, stock_file: str = "", production: str = "") -> WireList:
    """The list of a drawing, or of a unit as found (``which`` = ``stock``: of the unit's drawing).

    ``stock_file`` is the path of the drawing as a file beside the list would name it; ``production`` as in
    `active`.
    """
    if isinstance(thing, Unit) and which != "stock":
        return _of_unit(thing, active(thing, production), stock_file)
    from netdiff.language.statements import Use

    model = thing.model if isinstance(thing, Unit) else thing
    circuit = model.circuit(active(thing, production))
    uses = [statement.path for statement in model.statements if isinstance(statement, Use)]
    rows = (
        *(_wire(run) for run in circuit.runs if worth_telling(run)),
        *(_part(part, model.catalogue) for part in circuit.parts.values()),
        *(Row("statement", statement=line) for line in stock_statements(circuit, uses=uses, catalogue=model.catalogue)),
    )
    return WireList(circuit.title, model.file, "stock", rows)


def active(thing: Model | Unit, production: str = "") -> frozenset[str]:
    """The productions of which a circuit is shown: the one asked for, the unit's own, else the first.

    Of a unit that names none it is the one that the comparison takes. Raises ValueError for an unknown one.
    """
    model = thing.model if isinstance(thing, Unit) else thing
    if production:
        if production not in model.productions:
            from netdiff.language.faults import listed

            has = f"it has {listed(model.productions, 'and')}" if model.productions else "it has none"
            raise ValueError(f"the drawing {model.file} has no production {production}: {has}")
        return frozenset({production})
    if isinstance(thing, Unit):
        if thing.production is not None:
            return thing.production
        if len(model.variants()) > 1:
            from netdiff.comparison import compare

            return compare(thing).stock.production
    return model.variants()[0]


def _of_unit(unit: Unit, variant: frozenset[str], stock_file: str) -> WireList:
    found, stock = unit.found(variant), unit.model.circuit(variant)
    circuit = found.circuit
    rows = (
        *(_wire(run) for run in circuit.runs if worth_telling(run)),
        *(_part(part, unit.catalogue, _known(part, found, stock)) for part in circuit.parts.values()),
        *(Row("statement", statement=line) for line in found_statements(unit, stock_file, variant)),
    )
    return WireList(unit.title, unit.file, "found", rows)


def _wire(run: Run) -> Row:
    colour, note = _colour_and_note(run.text)
    return Row(
        "wire",
        from_point=run.a,
        to_point=run.b,
        conductor=run.conductor,
        cable=run.cable,
        cable_type=run.cable_type,
        length_mm=_millimetres(run.length),
        gauge_awg="" if run.gauge is None else decimal(run.gauge),
        colour=colour,
        braid_from=run.braid[0] if run.braid else "",
        braid_to=run.braid[1] if run.braid else "",
        bare_mm=_millimetres(run.bare),
        gap="; ".join(f"{quantity(gap.distance, 'm')} to {gap.to}" for gap in run.gaps),
        lands="direct" if run.direct else "",
        known="" if run.evidence == "seen" else run.evidence,
        condition=", ".join(condition_words(run.conditions)),
        note=note,
    )


def _millimetres(metres: float | None) -> str:
    return "" if metres is None else decimal(metres, -3)


def _colour_and_note(text: str) -> tuple[str, str]:
    """The text of a run in two cells; joined by ``; `` they are the text again."""
    colour, _, note = text.partition("; ")
    words = colour.replace("-", " ").replace("/", " ").split()
    if words and COLOURS.issuperset(words) and joined_text(colour, note) == text:
        return colour, note
    return "", text


def joined_text(colour: str, note: str) -> str:
    return "; ".join(filter(None, (colour, note)))


def _known(part: Part, found: Found, stock: Circuit) -> str:
    """How a part of a unit is known where nobody read it: looked at and as drawn, or from the drawing alone."""
    if is_read(part, stock):
        return ""
    return AS_DRAWN if part.designator in found.as_drawn else FROM_DRAWING


def _part(part: Part, catalogue: Catalogue, known: str = "") -> Row:
    told = known or part.read_off or part.foreign
    return Row(
        "part",
        known=known,
        condition=", ".join(condition_words(part.conditions)),
        part=part.designator,
        kind_and_value=part_words(part, catalogue) if told else "",
        measured="" if part.measured is None or not part.kind.unit else quantity(part.measured, part.kind.unit),
        zone=part.zone,
        note=part.label,
    )


# --- out


def as_csv(wires: WireList, separator: str = ",") -> str:
    """The list as text with a heading row. A file of it begins with a byte-order mark: see `as_file`."""
    used = [name for i, name in enumerate(Row._fields) if name in ALWAYS or any(row[i] for row in wires.rows)]
    return written(_table(wires.rows, used), separator)


def _table(rows: Iterable[Row], used: list[str]) -> Iterator[list[str]]:
    yield [HEADINGS[name] for name in used]
    places = [Row._fields.index(name) for name in used]
    for row in rows:
        yield [row[place] for place in places]


def as_file(wires: WireList, separator: str = ",") -> bytes:
    """UTF-8 with the mark by which spreadsheets know it, so that µ and Ω come out right."""
    return as_csv(wires, separator).encode("utf-8-sig")


def as_json(wires: WireList) -> dict[str, Any]:
    return {
        "cautions": list(for_cold_work()),
        "title": wires.title,
        "file": wires.file,
        "circuit": wires.circuit,
        "rows": [{name: cell for name, cell in row._asdict().items() if cell} for row in wires.rows],
    }
