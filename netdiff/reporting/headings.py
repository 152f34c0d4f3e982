"""The columns of somebody's wire list, by what people call them.

>>> columns(["From point", "To", "Length (in)", "Color", "Harness"])[0]
{'from_point': 0, 'to_point': 1, 'length': 2, 'colour': 3}
>>> columns(["From point", "To", "Length (in)", "Color", "Harness"])[1:]
('in', '', (4,))
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Final, NamedTuple

# What a column holds: the headings that it goes by, in lower case, without brackets, dots and the like.
# Common practice of from-to lists.
_CALLED: Final[dict[str, tuple[str, ...]]] = {
    "row": ("row", "row type", "entry"),
    "from_point": ("from", "from point", "from terminal", "from end", "a", "end a", "point a", "end 1", "point 1",
                   "source", "start"),
    "to_point": ("to", "to point", "to terminal", "to end", "b", "end b", "point b", "end 2", "point 2", "destination",
                 "target", "end"),
    "from_part": ("from part", "from component", "from device", "from designator", "from ref", "part a", "part 1"),
    "from_pin": ("from pin", "from lug", "from contact", "from tag", "from pin no", "pin a", "pin 1", "lug a"),
    "to_part": ("to part", "to component", "to device", "to designator", "to ref", "part b", "part 2"),
    "to_pin": ("to pin", "to lug", "to contact", "to tag", "to pin no", "pin b", "pin 2", "lug b"),
    "conductor": ("conductor", "wire", "wire type", "type", "type of wire", "kind of wire", "sort of wire"),
    "cable": ("cable", "cable name", "cable no", "cable number", "wire no", "wire number", "wire name", "wire id",
              "run"),
    "cable_type": ("cable type", "type of cable", "coax type"),
    "length": ("length", "len", "wire length", "cut length"),
    "gauge": ("gauge", "awg", "wire gauge", "size", "wire size", "gage"),
    "colour": ("colour", "color", "wire colour", "wire color", "insulation", "insulation colour", "insulation color"),
    "braid_from": ("braid from", "shield from", "screen from", "braid a", "shield a", "braid at from"),
    "braid_to": ("braid to", "shield to", "screen to", "braid b", "shield b", "braid at to"),
    "braid": ("braid", "shield", "screen", "shield to ground", "braid ends"),
    "bare": ("bare", "bare length", "bare wire"),
    "gap": ("gap", "clearance", "distance"),
    "lands": ("lands", "direct"),
    "known": ("known", "evidence", "how known"),
    "condition": ("condition", "state", "fault"),
    "part": ("part", "designator", "component", "reference", "ref"),
    "kind_and_value": ("kind and value", "kind", "kind value"),
    "value": ("value", "rating", "ratings"),
    "measured": ("measured",),
    "zone": ("zone", "place", "location"),
    "note": ("note", "notes", "remark", "remarks", "comment", "comments", "description", "label", "text"),
    "statement": ("statement", "line"),
}  # fmt: skip
_KEYS: Final = {name: key for key, names in _CALLED.items() for name in names}
UNITS: Final = {
    "mm": "mm", "millimetres": "mm", "millimeters": "mm", "cm": "cm", "centimetres": "cm", "centimeters": "cm",
    "m": "m", "metres": "m", "meters": "m", "in": "in", "inch": "in", "inches": "in", "ft": "ft", "feet": "ft",
}  # fmt: skip


class Columns(NamedTuple):
    """Which column holds what, the units that the headings say, and the columns that nobody can place."""

    places: dict[str, int]
    length_unit: str
    bare_unit: str
    unknown: tuple[int, ...]

    @property
    def useful(self) -> bool:
        """Rows under these headings say what is joined to what, or what the parts are."""
        ends = all({end, f"{end[:-6]}_part"} & self.places.keys() for end in ("from_point", "to_point"))
        return ends or {"part", "kind_and_value"} <= self.places.keys() or "statement" in self.places


def columns(headings: Sequence[str]) -> Columns:
    places: dict[str, int] = {}
    units = {"length": "", "bare": ""}
    unknown = []
    for index, heading in enumerate(headings):
        words = re.sub(r"[^a-z0-9]+", " ", heading.lower().replace("&", " and ")).split()
        unit = ""
        if len(words) > 1 and words[-1] in UNITS:
            unit = UNITS[words[-1]]
            words = words[:-1]
        elif len(words) > 1 and words[-1] == "awg":
            words = words[:-1]
        key = _KEYS.get(" ".join(words), "")
        if not key and words:
            # `in mm`: the unit after a word of its own.
            key = _KEYS.get(" ".join(words[:-1]), "") if words[-1] == "in" else ""
        if key and key not in places:
            places[key] = index
            if key in units:
                units[key] = unit
        elif heading.strip():
            unknown.append(index)
    return Columns(places, units["length"], units["bare"], tuple(unknown))
