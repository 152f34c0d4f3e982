"""One row of somebody's wire list as one or two lines of the language, or what is wrong with it."""

from __future__ import annotations

import re
from collections.abc import Mapping, Set
from typing import Final, NamedTuple

from netdiff.language.attributes import CONDITIONS, EVIDENCE
from netdiff.language.faults import listed, nearest
from netdiff.language.lexing import ALIKE, unquoted
from netdiff.language.spelling import plain, quoted
from netdiff.quantities import read_quantity
from netdiff.reporting.wires import AS_DRAWN, FROM_DRAWING, joined_text

CONDUCTORS: Final = ("wire", "bare", "bus", "shielded", "coax", "twisted", "strap", "bolted")
NO_CONDUCTOR: Final = (
    "not said what the conductor is (wire, coax, bus …), so that length, gauge and cable became a remark"
)
_GROUND: Final = ("gnd", "ground")
_NOWHERE: Final = ("open", "not connected", "free")
_NOT_FOLLOWED: Final = ("?", "unknown", "not followed")

_WORD: Final = re.compile(r'(?:[^\s",:=#>–—-]|-(?!-))+')
_TERMINAL: Final = re.compile(
    r"(\??[A-Z]+[0-9]+[A-Z]?)(?:\s*[.:/]\s*|-|\s+(?:(?:pin|lug|terminal|no\.?)\s+)?)([\w+-]+)"
)
_SMALL: Final = re.compile(r"(\??[a-z]{1,3}[0-9]+[a-z]?)\.([\w+-]+)")
_NUMBER: Final = re.compile(r"([0-9.,]+)\s*([A-Za-z\"″]*)")
_ZONE: Final = re.compile(r"[a-z][\w+-]*")
_QUOTED_OR_WORD: Final = re.compile(r'"(?:[^"]|"")*"|[^",]+')


class Unreadable(Exception):
    """What is wrong with a row, in a sentence."""


class Names(NamedTuple):
    """What the list may speak of without a row of its own: the nets of its drawing, and its ground."""

    nets: Set[str] = frozenset()
    ground: str = "chassis"


class Line(NamedTuple):
    """A statement. ``sort`` is ``wire``, ``part`` or ``statement``; ``remark`` says what did not become what it was."""

    sort: str
    text: str
    zone: str = ""
    zone_title: str = ""
    remark: str = ""


Cells = Mapping[str, str]


def lines_of(cells: Cells, names: Names, units: Mapping[str, str], comma_is_decimal: bool) -> list[Line]:
    """The lines of one row; none where other rows say it already. Raises Unreadable."""
    sort = cells["row"].lower()
    if sort not in ("wire", "part", "statement"):
        ends = cells["from_point"] or cells["to_point"] or cells["from_part"] or cells["to_part"]
        sort = "statement" if cells["statement"] else "wire" if ends else "part"
    if sort == "statement":
        if not cells["statement"]:
            raise Unreadable("the row is a statement, and none stands in it")
        return [Line("statement", plain(cells["statement"]))]
    if sort == "part":
        return _part(cells)
    return _wire(cells, names, units, comma_is_decimal)


# --- wires


def _wire(cells: Cells, names: Names, units: Mapping[str, str], comma_is_decimal: bool) -> list[Line]:
    a, b = (_end(cells, side, names) for side in ("from", "to"))
    conductor, more_cable, more_type, more_note = _conductor(cells["conductor"])
    if not conductor:
        conductor = _evident(cells, more_type)
    told: list[str] = []
    for key, more in (("cable", more_cable), ("cable_type", more_type)):
        value = cells[key] or more
        if value and _WORD.fullmatch(value) is None:
            raise Unreadable(f"`{value}` is no name of a cable: one word, such as W3 or RG-58")
        if value:
            told.append(f"cable {value}" if key == "cable" else value if value[0].isupper() else value.upper())
    if cells["length"]:
        told.append(_length(cells["length"], units["length"], "length", comma_is_decimal))
    if cells["gauge"]:
        told.append(_gauge(cells["gauge"]))
    # A plain chain takes none of these; and what the conductor is, is not guessed: a wrong guess would be a finding.
    words = list(told) if conductor else []
    remark = "" if conductor or not told else NO_CONDUCTOR
    if cells["bare"]:
        words.append(f"bare {_length(cells['bare'], units['bare'], 'bare length', comma_is_decimal)}")
    words += [_gap(text.strip(), names) for text in cells["gap"].split(";") if text.strip()]
    braid = _braid(cells, names)
    if braid:
        words.append(f"braid {braid[0]} -- {braid[1]}")
    known = cells["known"].lower()
    if known not in ("", "seen", *EVIDENCE, AS_DRAWN):
        near = nearest(known, ("seen", *EVIDENCE, AS_DRAWN))
        hint = f": the nearest is {near}" if near else f": {listed(('seen', *EVIDENCE, AS_DRAWN))}"
        raise Unreadable(f"`{cells['known']}` does not say how the wire is known{hint}")
    if known in EVIDENCE:
        words.append(known)
    conditions, odd = _conditions(cells["condition"])
    text = joined_text(cells["colour"], joined_text(cells["note"], more_note))
    text = "; ".join(filter(None, (text, *odd, ", ".join(told) if remark else "")))
    words += conditions
    if text:
        words.append(quoted(text))
    direct = cells["lands"].lower() in ("direct", "yes", "x", "true")
    if cells["lands"] and not direct:
        raise Unreadable(f"`{cells['lands']}` does not say where the wire lands: direct, or nothing")
    sort = AS_DRAWN if known == AS_DRAWN else "wire"
    if direct and not conductor:
        words.append("direct")
    out = [Line(sort, ", ".join([f"{conductor} {a} -- {b}".lstrip(), *words]), remark=remark)]
    if direct and conductor:
        out.append(Line(sort, f"{a} -- {b}, direct"))
    return out


def _evident(cells: Cells, more_type: str) -> str:
    """What a conductor must be of which the row does not say it; empty where it may be anything."""
    if (cells["cable_type"] or more_type).upper().startswith("RG"):
        return "coax"  # common practice: so coaxial cables are named
    if cells["braid"] or cells["braid_from"] or cells["braid_to"]:
        return "shielded"
    return "wire" if cells["bare"] or cells["gap"] else ""


def _end(cells: Cells, side: str, names: Names) -> str:
    text = cells[f"{side}_point"] or cells[f"{side}_part"]
    pin = cells[f"{side}_pin"]
    if not text:
        raise Unreadable(
            f"there is no point in the column `{side}`: `open` for an end in the air, `?` for one not followed"
        )
    return point(f"{text}.{pin}" if pin else text, names)


def point(text: str, names: Names) -> str:
    """A terminal or net name however somebody writes it: ``V5-8``, ``V5 pin 8``, ``v5.8``, ``GND``, ``B+``."""
    text = " ".join(plain(text).split())
    if text.lower() in _NOWHERE:
        return "open"
    if text.lower() in _NOT_FOLLOWED:
        return "?"
    if text in names.nets or text == names.ground:
        return text
    terminal = _TERMINAL.fullmatch(text)
    if terminal is not None:
        return f"{terminal[1]}.{terminal[2]}"
    small = _SMALL.fullmatch(text)
    if small is not None:
        return f"{small[1].upper()}.{small[2]}"
    if text.lower() in _GROUND:
        return names.ground
    if text.lower() in names.nets or text.lower() == names.ground:
        return text.lower()
    if _WORD.fullmatch(text) is None or "/" in text:
        raise Unreadable(f"`{text}` is no terminal and no net name: V5.8, chassis")
    return text


def _conductor(text: str) -> tuple[str, str, str, str]:
    """What stands in a column about the wire: its conductor, the name of its cable, its type, what is left."""
    conductor = cable = sort = ""
    left: list[str] = []
    for word in text.translate(ALIKE).split():
        if word.lower() in CONDUCTORS and not conductor:
            conductor = word.lower()
        elif re.fullmatch(r"[A-Z]{1,3}[0-9]+[A-Z]?", word) and not cable:
            cable = word
        elif word[0].isupper() and _WORD.fullmatch(word) and any(c.isdigit() for c in word) and not sort:
            sort = word
        elif word.lower() != "plain":
            left.append(word)
    return conductor, cable, sort, " ".join(left)


def _length(text: str, unit: str, what: str, comma_is_decimal: bool) -> str:
    """A length as one word of the language."""
    match = _NUMBER.fullmatch(" ".join(text.split()))
    if match is None:
        raise Unreadable(f"`{text}` is no {what}: 90mm, 4in")
    number = _number(match[1], comma_is_decimal)
    own = {'"': "in", "″": "in"}.get(match[2], match[2].lower()) or unit
    if not own:
        raise Unreadable(f"the {what} {text} has no unit: 90mm, or a column called `{what} mm`")
    word = f"{number}{own}"
    quantity = read_quantity(word) if number else None
    if quantity is None or quantity.unit != "m":
        raise Unreadable(f"`{text}` is no {what}: 90mm, 4in")
    return word


def _number(text: str, comma_is_decimal: bool) -> str:
    """A number with a decimal point, or empty. ``1,200`` alone could be either, and is not guessed."""
    comma, dot = text.rfind(","), text.rfind(".")
    if comma < 0:
        return text
    if dot >= 0:
        return text.replace(",", "") if dot > comma else text.replace(".", "").replace(",", ".")
    if text.count(",") > 1:
        return text.replace(",", "")
    if not comma_is_decimal and re.fullmatch(r"[1-9][0-9]{0,2},[0-9]{3}", text):
        whole = text.replace(",", "")
        raise Unreadable(f"`{text}` may be {whole} or {text.replace(',', '.')}: write one of these")
    return text.replace(",", ".")


def _gauge(text: str) -> str:
    match = re.fullmatch(r"(?:AWG|#|no\.?)?\s*([0-9]{1,2}(?:[.][0-9]+)?)\s*(?:AWG|ga|gauge)?\.?", text, re.IGNORECASE)
    if match is None:
        raise Unreadable(f"`{text}` is no gauge of wire: 20AWG")
    return f"{match[1]}AWG"


def _gap(text: str, names: Names) -> str:
    distance, to, where = text.partition(" to ")
    if not to or read_quantity(distance) is None:
        raise Unreadable(f"`{text}` is no gap: 3mm to S1.1")
    return f"gap {''.join(distance.split())} to {point(where, names)}"


def _braid(cells: Cells, names: Names) -> tuple[str, str] | None:
    one, other = cells["braid_from"], cells["braid_to"]
    if cells["braid"]:
        one, _, other = (
            piece.strip() for piece in re.sub(r"\s+to\s+|--|–|—|;", "\n", cells["braid"], count=1).partition("\n")
        )
    if not one and not other:
        return None
    return point(one or "?", names), point(other or "?", names)


def _conditions(text: str) -> tuple[list[str], list[str]]:
    """Words of the language, and other texts."""
    known, odd = [], []
    for piece in _QUOTED_OR_WORD.findall(text.translate(ALIKE)):
        word = piece.strip()
        if word.lower() in CONDITIONS:
            known.append(word.lower())
        elif word:
            odd.append(unquoted(word) if word.startswith('"') else word)
    return known, odd


# --- parts


def _part(cells: Cells) -> list[Line]:
    designator = cells["part"].replace(" ", "")
    if not designator:
        raise Unreadable("the row says neither what is joined to what, nor of which part it speaks")
    if re.fullmatch(r"\??[a-z]{1,3}[0-9]+[a-z]?", designator):
        designator = designator.upper()
    if _WORD.fullmatch(designator) is None:
        raise Unreadable(f"`{designator}` is no designator of a part: R12")
    if cells["known"].lower() in (AS_DRAWN, FROM_DRAWING):
        return [Line(FROM_DRAWING, f"{designator} {cells['kind_and_value']}".rstrip())]
    words = _glued(f"{cells['kind_and_value']} {cells['value']}".split())
    for word in words:
        if _WORD.fullmatch(word) is None:
            raise Unreadable(f"`{word}` says nothing of a part: resistor 22k 2W 10%")
    known, odd = _conditions(cells["condition"])
    after = [*known, *map(quoted, odd)]
    if cells["measured"]:
        measured = "".join(cells["measured"].split())
        if _WORD.fullmatch(measured) is None:
            raise Unreadable(f"`{cells['measured']}` is no quantity: 18.5k")
        after.append(f"measured {measured}")
    label = [quoted(cells["note"])] if cells["note"] else []
    zone, title = cells["zone"], ""
    if zone and _ZONE.fullmatch(zone) is None:
        # What people call a place becomes its title.
        zone, title = re.sub(r"[^\w+]+", "-", zone.lower()).strip("-_+") or "zone", zone
        zone = zone if zone[0].isalpha() else f"zone-{zone}"
    return [Line("part", ", ".join([" ".join([designator, *words, *label]), *after]), zone, title)]


def _glued(words: list[str]) -> list[str]:
    """``22 k`` and ``0.05 uF`` become one word, as the language has it."""
    out: list[str] = []
    for word in words:
        number = out[-1] if out else ""
        if (
            number.replace(".", "", 1).isdigit()
            and word[0].isalpha()
            and read_quantity(number + word, "ohm") is not None
        ):
            out[-1] = number + word
        else:
            out.append(word)
    return out
