"""Files into statements: bytes, text, lines, and every fault on the way."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from netdiff.circuit import Fault, Place
from netdiff.language.faults import Source
from netdiff.language.lexing import ALIKE, CONTROL
from netdiff.language.misfits import explain
from netdiff.language.parsing import Grammar, Misfit, grammar
from netdiff.language.statements import FoundHead, Statement, StockHead

LARGEST_FILE: Final = 64 * 1024 * 1024
"""Bytes. A hundred thousand lines are some three million."""

MOST_LINES: Final = 1_000_000
"""A set of ten thousand parts has some fifty thousand."""

MOST_FAULTS: Final = 100_000
"""A file with more is no circuit but something else; the memory is not filled with it."""

LONGEST_LINE: Final = 10_000
"""Characters. Nobody types a longer statement, and a page of noise is soon refused."""


def file_text(path: Path, name: str) -> tuple[str, Fault | None]:
    """The text of a file; a fault if it is missing, too large, or no text."""
    place = Place(name, 1)
    try:
        if path.is_dir():
            return "", Fault(place, "this is a folder, not a file")
        if path.exists() and not path.is_file():
            return "", Fault(place, "this is no ordinary file")
        size = path.stat().st_size
        if size > LARGEST_FILE:
            return "", Fault(place, f"the file has {size / 1e6:.0f} million bytes; a circuit has at most 67 million")
        data = path.read_bytes()
    except FileNotFoundError:
        return "", Fault(place, "there is no such file")
    except (OSError, ValueError) as error:
        return "", Fault(place, f"the file cannot be read: {getattr(error, 'strerror', None) or error}")
    return decoded(data, name)


def decoded(data: bytes, name: str) -> tuple[str, Fault | None]:
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "", Fault(Place(name, 1), "the file is UTF-16", hint="save it as UTF-8")
    zero = data.find(b"\0")
    if zero >= 0:
        line = data.count(b"\n", 0, zero) + 1
        return "", Fault(Place(name, line), "this is a binary file, not text")
    try:
        return data.decode("utf-8-sig"), None
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        column = error.start - data.rfind(b"\n", 0, error.start)
        says = f"the file is not UTF-8 text: byte {data[error.start]:#04x}"
        return "", Fault(Place(name, line, column), says, hint="save it as UTF-8")


def lines_of(text: str) -> tuple[list[str], list[str]]:
    """The lines with what telephones made of quotes set right, character for character; and as they were."""
    text = text.removeprefix("\ufeff")
    if "\r" in text:
        text = text.replace("\r\n", "\n").replace("\r", "\n")
    raw = text.split("\n")
    return (raw if text.isascii() else text.translate(ALIKE).split("\n")), raw


def read_statements(text: str, kind: str, name: str) -> tuple[Source, list[Statement]]:
    """All statements of a file of one kind (``stock`` or ``found``), and its source with the faults so far."""
    rules = grammar(kind)
    lexicon = rules.lexicon
    lines, raw = lines_of(text)
    source = Source(name, lines, lexicon, raw)
    if len(lines) > MOST_LINES:
        source.faults.append(Fault(Place(name, 1), f"the file has {len(lines)} lines; it may have {MOST_LINES}"))
        return source, []
    known, opening = dict(lexicon.inner), lexicon.opening
    split, sort, plan_of = lexicon.split.findall, lexicon.sort, rules.plan
    suspicious = CONTROL.search(text) is not None or max(map(len, lines)) > LONGEST_LINE
    out: list[Statement] = []
    for number, line in enumerate(lines, 1):
        if suspicious and not _sound(source, number, line):
            continue
        words = split(line)
        if not words:
            continue
        types = []
        for word in words:
            sorted_as = known.get(word)
            if sorted_as is None:
                sorted_as = known[word] = sort(word)
            types.append(sorted_as)
        if words[0] in opening:
            _open(words, types, opening)
        if types[-1] == "COMMENT":
            types.pop()
            words.pop()
            if not words:
                continue
        place = Place(name, number, line.find(words[0]) + 1)
        plan = plan_of(tuple(types))
        if isinstance(plan, Misfit):
            _misfit(source, rules, plan, words, types, place)
            if len(source.faults) >= MOST_FAULTS:
                says = f"there are {MOST_FAULTS} faults up to here; what follows was not read"
                source.faults.append(Fault(place, says))
                break
        else:
            out.append(plan(words, place))
    _check_head(source, kind, out)
    return source, out


def _open(words: list[str], types: list[str], opening: dict[str, str]) -> None:
    """Set right the classes of the words that begin a statement: the first, and the one after `only late:`."""
    types[0] = opening[words[0]]
    if words[0] == "only" and ":" in words[:-1]:
        start = words.index(":") + 1
        types[start] = opening.get(words[start], types[start])


def _sound(source: Source, number: int, line: str) -> bool:
    if len(line) > LONGEST_LINE:
        says = f"the line has {len(line)} characters; a line may have {LONGEST_LINE}"
        source.faults.append(Fault(Place(source.name, number), says, line[:200]))
        return False
    control = CONTROL.search(line)
    if control is not None:
        says = f"there is a control character (U+{ord(control[0]):04X}) in the line"
        source.faults.append(Fault(Place(source.name, number, control.start() + 1), says, line))
        source.spoil(Place(source.name, number))
        return False
    return True


def _misfit(source: Source, rules: Grammar, misfit: Misfit, words: list[str], types: list[str], place: Place) -> None:
    says, hint = explain(rules.kind, misfit, words, types, rules.lexicon)
    index = types.index("STRAY_QUOTE") if "STRAY_QUOTE" in types else misfit.index
    if says.startswith("no statement"):
        index = 0
    spots = [match.start() for match in rules.lexicon.split.finditer(source.lines[place.line - 1])]
    line = source.lines[place.line - 1]
    if index < len(words):
        column, width = spots[index] + 1, len(words[index])
    else:
        column, width = spots[len(words) - 1] + len(words[-1]) + 1, 1
    source.faults.append(Fault(Place(source.name, place.line, column), says, line, width, hint))
    source.spoilt.update(words)


def _check_head(source: Source, kind: str, statements: list[Statement]) -> None:
    head = StockHead if kind == "stock" else FoundHead
    example = 'stock "Name of the model"' if kind == "stock" else 'found "No. 1" of "model.stock"'
    if not statements and not source.faults:
        source.faults.append(Fault(Place(source.name, 1), "the file is empty", hint=f"its first statement: {example}"))
        return
    heads = [s for s in statements if isinstance(s, head)]
    if not heads:
        if not any(fault.text.lstrip().startswith(kind) for fault in source.faults):
            place = statements[0].place if statements else Place(source.name, 1)
            line = source.lines[place.line - 1]
            fault = Fault(place, f"the first statement is not `{kind}`", line, len(line.strip()), f"such as {example}")
            source.faults.append(fault)
    elif heads[0] is not statements[0]:
        source.fault(heads[0].place, f"`{kind}` is not the first statement", kind)
    for again in heads[1:]:
        source.fault(again.place, f"`{kind}` is said twice: line {heads[0].place.line} says it too", kind)


def kind_of(text: str, name: str = "") -> str:
    """``stock`` or ``found`` by the first word of the text, else by the ending of the name; else empty."""
    for line in text.removeprefix("\ufeff").splitlines()[:1000]:
        words = line.split("#")[0].split()
        if words:
            if words[0] in ("stock", "found"):
                return words[0]
            break
    ending = name.rpartition(".")[2]
    return ending if ending in ("stock", "found") else ""


__all__ = ["decoded", "file_text", "kind_of", "lines_of", "read_statements"]
