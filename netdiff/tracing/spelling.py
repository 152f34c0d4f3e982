"""`as-drawn` spelled out, lug by lug, where the language would no longer know which net is meant.

The language takes what is as drawn to be on the drawing's net. Where later lines join that net with another one (a
bridged fuse, a strapped switch), it cannot tell on which side the lug is, and calls that a contradiction. At the bench
it is none: the person saw what lands on the lug. So the line that the tool wrote says it in full.
"""

from __future__ import annotations

from collections.abc import Iterable

from netdiff.circuit import Fault, Point
from netdiff.language.spelling import run_line
from netdiff.tracing import notebook
from netdiff.tracing.state import State
from netdiff.tracing.view import BRAID


def spell_out(state: State, content: bytes, faults: Iterable[Fault], lines: list[str], giving_way: set[int]) -> bool:
    """Changes ``lines`` (those of the answer) and ``giving_way`` (lines of the file that they replace) so that the
    faults go; False where there is nothing that may be spelled out: a line that a hand wrote, another kind of fault."""
    text = notebook.text_lines(content)
    old = len(text) - (text[-1] == "")
    mine = {line.number: line.statement for line in notebook.marked(content) if not line.edited}
    known = {number: line for number, line in mine.items() if number not in giving_way}
    known |= {old + 1 + index: line for index, line in enumerate(lines)}
    wanted: dict[int, dict[Point, None]] = {}
    for fault in faults:
        number, point = fault.place.line, fault.elsewhere
        if not point or not known.get(number, "").startswith("as-drawn "):
            return False
        wanted.setdefault(number, {})[point] = None
    for number in sorted(wanted, reverse=True):
        shorter = [known[number]]
        for point in wanted[number]:
            shorter = [line for one in shorter for line in but(one, point)]
        if number > old:
            lines[number - old - 1 : number - old] = shorter
        else:
            giving_way.add(number)
            lines += shorter
        for point in wanted[number]:
            lines += full(state, point)
    return bool(wanted)


def but(line: str, word: str) -> list[str]:
    """An `as-drawn` line without a part or terminal; no line if nothing else is in it."""
    targets, _, out = line.removeprefix("as-drawn ").partition(" but ")
    rest = [target for target in targets.split() if target != word]
    if not rest:
        return []
    names = {word.partition(".")[0], word}
    exceptions = [
        *out.split(),
        *([word] if names & set(rest) or ("." in word and word.partition(".")[0] in rest) else []),
    ]
    return [f"as-drawn {' '.join(rest)}{' but ' if exceptions else ''}{' '.join(exceptions)}"]


def amended(content: bytes, numbers: Iterable[int], word: str) -> list[str]:
    """An `as-drawn` that gives way holds for the rest of what it said."""
    text = notebook.text_lines(content)
    lines = [notebook.bare(text[number - 1]) for number in numbers]
    return [new for line in lines if line.startswith("as-drawn ") and word for new in but(line, word)]


def full(state: State, at: Point) -> list[str]:
    """What lands on a lug that is as the drawing has it: `at`, and the conductors that the drawing describes."""
    expected = {lead.to for lead in state.expected(at) if lead.to != BRAID}
    described = {
        frozenset((run.a, run.b)) for run in state.here.near.get(at, ()) if run.conductor and run.evidence != "as-drawn"
    }
    runs = [
        run_line(run)
        for run in state.drawn.near.get(at, ())
        if run.conductor and {run.a, run.b} - {at} <= expected and frozenset((run.a, run.b)) not in described
    ]
    return [f"at {at}: {' '.join(sorted(expected)) or 'open'}", *runs]
