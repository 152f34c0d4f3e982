"""The right place, and a part that is not as drawn: type, value, drift, rating, construction."""

from __future__ import annotations

import re
from collections.abc import Iterator

from netdiff.circuit import Part, natural
from netdiff.comparison.differences import low_ratings, other_construction
from netdiff.comparison.limits import tolerance_of
from netdiff.comparison.results import Finding
from netdiff.comparison.rules.making import make
from netdiff.comparison.scene import Scene
from netdiff.comparison.words import a_or_an, kind_words, percent, value_words
from netdiff.quantities import show


def other_than_drawn(scene: Scene) -> Iterator[Finding]:
    names = {raw.parts[0] for key, raw in scene.raw.items() if key in scene.open and raw.sort == "part" and raw.parts}
    for name in sorted(names, key=natural):
        drawn, part = scene.stock.parts.get(name), scene.found_parts.get(name)
        if drawn is None or part is None:
            continue
        for what, kind, says in _sayings(drawn, part):
            key = f"{what}:{name}"
            if key not in scene.open:
                continue
            nets = {scene.drawn.index[w] for w in drawn.points() if w in scene.drawn.index}
            yield make(
                scene,
                kind,
                says,
                parts=[name] if part.designator == name else [name, part.designator],
                terminals=() if kind != "wrong-part" else drawn.points()[:0],
                nets=nets,
                explains=scene.take(key),
                judged_as=["CR1"] if kind == "wrong-part" and part.kind.family == "diode" else (),
                shares=[
                    f"part {name}",
                    *([f"all {_full(drawn)} by {_full(part)}"] if _another_kind(drawn, part) else []),
                ],
                places=part.places,
            )


def _sayings(drawn: Part, part: Part) -> Iterator[tuple[str, str, str]]:
    who = drawn.designator + (f" ({part.designator} in the file)" if part.foreign else "")
    if part.kind.name != drawn.kind.name:
        yield "kind", "wrong-part", f"{who} is {a_or_an(_full(part))}; the drawing has {a_or_an(_full(drawn))}."
    elif part.kind.type != drawn.kind.type:
        alike = _core(part.kind.type) == _core(drawn.kind.type)
        more = " It is a later or earlier version of the same type." if alike else ""
        yield (
            "kind",
            "wrong-part",
            f"{who} is {a_or_an(part.kind.type)}; the drawing has {a_or_an(drawn.kind.type)}.{more}",
        )
    unit = drawn.kind.unit
    if drawn.value is not None:
        down, up = tolerance_of(drawn)
        width = f"±{down * 100:.0f} %" if down == up else f"-{down * 100:.0f}/+{up * 100:.0f} %"
        wanted = f"the drawing has {show(drawn.value, unit)} {width}"
        if part.value is not None:
            off = percent(part.value / drawn.value - 1) if drawn.value else ""
            yield "value", "wrong-value", f"{who} is {show(part.value, unit)} ({off}); {wanted}."
        if part.measured is not None:
            off = percent(part.measured / drawn.value - 1) if drawn.value else ""
            yield "drift", "drifted-part", f"{who} measures {show(part.measured, unit)} ({off}); {wanted}."
    low = low_ratings(drawn, part)
    if low:
        pairs = [f"{show(part.ratings[u], u)} where the drawing has {show(drawn.ratings[u], u)}" for u in low]
        yield "rating", "low-rating", f"{who} is rated {', '.join(pairs)}."
    other = other_construction(drawn, part)
    if other:
        yield "construction", "wrong-construction", f"{who} is {other[1]}; the drawing has {other[0]}."


def _another_kind(drawn: Part, part: Part) -> bool:
    """Replaced by another kind of thing: whoever did so to one did so to its fellows."""
    return drawn.kind.name != part.kind.name


def _full(part: Part) -> str:
    return " ".join(word for word in (kind_words(part), value_words(part)) if word)


def _core(name: str) -> str:
    """A tube type without the letters that mark bulb and version: 6V6GT and 6V6 are 6V6."""
    match = re.match(r"(\d+[A-Z]+\d+|\d+)", name)
    return match.group(1) if match else name
