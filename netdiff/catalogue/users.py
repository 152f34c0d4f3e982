"""A user's own catalogue: kinds and tube types from a YAML file, safely loaded and checked.

kinds:
  varicoupler: {title: Varicoupler, letters: [L], terminals: "p1 p2 s1 s2", family: coupler}
  big-jack: {like: jack-2, title: Jack with a large bushing}
tubes:
  "6F6": {class: power pentode, size: 8, pins: "2 h, 3 p, 4 g2, 5 g1, 7 h, 8 k", source: my data sheet}
use: [more-parts.yaml]
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from netdiff.circuit import Fault, Place

KIND_KEYS = (
    "title", "letters", "terminals", "ends", "polarised", "swaps", "hangs", "plugs", "inside", "shared", "positions",
    "contacts", "unit", "family", "words", "like", "any", "typed", "poles", "throw", "coil", "make", "changeover",
    "count", "extra", "named", "matrix", "ties",
)  # fmt: skip
TUBE_KEYS = ("class", "base", "size", "pins", "heater", "filament", "limits", "peak_inverse_volts", "ratings",
             "confidence", "source", "as")  # fmt: skip
MOST_BYTES = 1_000_000
_ALIAS = re.compile(r"(?m)(?:^|[\s\[{,:-])\*[A-Za-z0-9_]")


def read_user(
    path: Path, where: Place, known: Iterable[str], seen: tuple[Path, ...] = ()
) -> tuple[dict[str, Any], dict[str, Any], tuple[Fault, ...]]:
    """Kinds and tubes of a user's catalogue, or the faults that keep it out."""
    import yaml

    def fault(says: str, hint: str = "", line: int = 0) -> Fault:
        return Fault(Place(str(path), line) if line else where, says, hint=hint)

    real = path.resolve()
    if real in seen:
        chain = " uses ".join(p.name for p in (*seen, real))
        return {}, {}, (fault(f"the catalogue uses itself: {chain}"),)
    try:
        if real.stat().st_size > MOST_BYTES:
            return {}, {}, (fault(f"the catalogue {path.name} is larger than {MOST_BYTES // 1_000_000} MB"),)
        text = real.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        why = "is no text" if isinstance(error, UnicodeDecodeError) else (error.strerror or "cannot be read")
        return {}, {}, (fault(f"the catalogue {path.name} cannot be read: {why}"),)
    if _ALIAS.search(text):
        return {}, {}, (fault(f"the catalogue {path.name} uses YAML aliases; write the entry out, or say `like:`"),)
    try:
        loaded = yaml.safe_load(text)
    except yaml.YAMLError as error:
        mark = getattr(error, "problem_mark", None)
        says = f"the catalogue {path.name} is no plain YAML: {getattr(error, 'problem', None) or 'it cannot be read'}"
        return {}, {}, (fault(says, line=mark.line + 1 if mark else 0),)
    except RecursionError:
        return {}, {}, (fault(f"the catalogue {path.name} is nested too deeply"),)
    if not isinstance(loaded, dict):
        return {}, {}, (fault(f"the catalogue {path.name} has no kinds", "it begins with `kinds:`"),)
    lines = {match.group(1): text.count("\n", 0, match.start(1)) + 1
             for match in re.finditer(r"(?m)^\s+[\"']?([^\s\"':#]+)[\"']?\s*:", text)}  # fmt: skip
    kinds, tubes = loaded.get("kinds") or {}, loaded.get("tubes") or {}
    faults = [
        fault(f"a catalogue has no “{key}”", "kinds, tubes, use")
        for key in loaded
        if key not in ("kinds", "tubes", "use")
    ]
    for group, keys in ((kinds, KIND_KEYS), (tubes, TUBE_KEYS)):
        if not isinstance(group, dict):
            faults.append(fault("kinds and tubes are lists of names, each with its entry"))
            continue
        for name, entry in group.items():
            line = lines.get(str(name), 0)
            if not isinstance(entry, dict):
                faults.append(fault(f"“{name}” has no entry", '{title: …, letters: [R], terminals: "1 2"}', line))
                continue
            for key in entry:
                if key not in keys:
                    near = get_close_matches(str(key), keys, 1)
                    faults.append(
                        fault(f"“{name}”: no “{key}” is known", f"did you mean {near[0]}?" if near else "", line)
                    )
    if faults:
        return {}, {}, tuple(faults)
    kinds = {str(name): entry for name, entry in kinds.items()}
    tubes = {str(name): entry for name, entry in tubes.items()}
    for further in loaded.get("use") or []:
        target = (real.parent / str(further)).resolve()
        if not target.is_relative_to(real.parent):
            return {}, {}, (fault(f"“{further}” lies outside the folder of {path.name}"),)
        more, more_tubes, faults_there = read_user(target, where, known, (*seen, real))
        if faults_there:
            return {}, {}, faults_there
        kinds, tubes = {**more, **kinds}, {**more_tubes, **tubes}
    troubles = [*_like(kinds, set(known), fault, lines), *_sound(kinds, tubes, fault, lines)]
    return (kinds, tubes, ()) if not troubles else ({}, {}, tuple(troubles))


def _like(kinds: dict[str, Any], known: set[str], fault: Any, lines: dict[str, int]) -> list[Fault]:
    out = []
    for name in kinds:
        chain = [name]
        while "like" in kinds.get(chain[-1], {}):
            other = str(kinds[chain[-1]]["like"])
            if other in chain:
                out.append(fault(f"{' is like '.join([*chain, other])}: a circle", line=lines.get(name, 0)))
                break
            if other not in kinds and other not in known:
                near = get_close_matches(other, sorted(known | set(kinds)), 1)
                hint = f"did you mean {near[0]}?" if near else ""
                out.append(fault(f"“{name}” is like “{other}”, which no catalogue has", hint, lines.get(name, 0)))
                break
            if other not in kinds:
                break
            chain.append(other)
    return out


def _sound(kinds: dict[str, Any], tubes: dict[str, Any], fault: Any, lines: dict[str, int]) -> list[Fault]:
    """Try each entry: what cannot be made into a kind is a fault of the entry."""
    from netdiff.catalogue.bases import tube_kind
    from netdiff.catalogue.making import base_kind

    out = []
    for name, entry in kinds.items():
        try:
            if "like" not in entry:
                kind = base_kind(name, entry)
                names = {lug.name for lug in kind.terminals}
                wrong = [t for s in kind.swaps for g in s for t in g if t not in names]
                wrong += [t for t in kind.ends or () if t not in names]
                if wrong:
                    out.append(
                        fault(f"“{name}” has no terminal {wrong[0]}", " ".join(sorted(names)), lines.get(name, 0))
                    )
        except (ValueError, TypeError, AttributeError, IndexError, KeyError):
            out.append(
                fault(f"the entry of “{name}” cannot be understood", "see `netdiff kinds resistor`", lines.get(name, 0))
            )
    for name, row in tubes.items():
        try:
            if "as" not in row:
                tube_kind(name, row, "tube", ("V",))
        except (ValueError, TypeError, AttributeError, IndexError, KeyError):
            out.append(
                fault(f"the tube “{name}” needs size and pins", 'size: 8, pins: "2 h, 3 p, 8 k"', lines.get(name, 0))
            )
    return out
