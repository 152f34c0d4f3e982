"""The found file as a notebook: answers are appended, each line with the mark of its step; nothing else is touched.

A step's lines end with a comment, ``# trace 17 5c2d 8f3a91c2``: the step's number, a check on the statement (so that a
line that a hand changed since is known), and what is left of the token of the answer (so that an answer that comes
twice is taken once, also after a restart). A line that gave way to a later answer stays as a comment, ``#- 18 `` before
it, and comes back when step 18 is undone. All of it is comment: the file is an ordinary found file.

Writing is compare and swap (`netdiff.writing.swap`): where somebody wrote meanwhile, the caller reads again, sees what
changed, and decides anew.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Sequence
from pathlib import Path
from typing import Final, NamedTuple

from netdiff.tracing.answers import Line, Step

_MARK: Final = re.compile(r"\s*# trace (\d+) ([0-9a-f]{4})(?: ([0-9a-f]{12}))?\s*$")
_YIELDED: Final = re.compile(r"#- (\d+) ")


class Marked(NamedTuple):
    """A line of a step."""

    number: int
    statement: str
    step: int
    token: str
    edited: bool


_LINE: Final = re.compile(r"[^\r\n]*(?:\r\n|\r|\n)|[^\r\n]+")


def _lines(content: bytes) -> list[str]:
    """Lines with their ends, cut where the reader of the language cuts them."""
    return _LINE.findall(content.decode("utf-8"))


def token_digest(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()[:12] if token else ""


def _check(statement: str) -> str:
    return hashlib.sha256(" ".join(statement.split()).encode()).hexdigest()[:4]


def read(path: Path) -> bytes:
    return path.read_bytes()


def text_lines(content: bytes) -> list[str]:
    """The lines, numbered as the reader of the language numbers them."""
    return content.decode("utf-8", errors="replace").replace("\r\n", "\n").replace("\r", "\n").split("\n")


def bare(line: str) -> str:
    """A line without the mark of its step."""
    return _MARK.sub("", line).strip()


def marked(content: bytes) -> list[Marked]:
    out = []
    for number, line in enumerate(text_lines(content), 1):
        mark = _MARK.search(line) if "# trace " in line and not line.startswith("#- ") else None
        if mark is not None:
            statement = line[: mark.start()].strip()
            edited = _check(statement) != mark[2]
            out.append(Marked(number, statement, int(mark[1]), mark[3] or "", edited))
    return out


def steps(content: bytes) -> list[Step]:
    """The steps, the newest first."""
    by_number: dict[int, list[Marked]] = {}
    for line in marked(content):
        by_number.setdefault(line.step, []).append(line)
    return [
        Step(number, tuple(Line(m.number, m.statement) for m in lines), any(m.edited for m in lines))
        for number, lines in sorted(by_number.items(), reverse=True)
    ]


def known_token(content: bytes, token: str) -> Step | None:
    """The step that this answer became before, be it that its lines gave way to a later one."""
    digest = token_digest(token)
    if not digest:
        return None
    for line in text_lines(content):
        mark = _MARK.search(line)
        if mark is not None and mark[3] == digest:
            number = int(mark[1])
            return next((step for step in steps(content) if step.number == number), Step(number, (), False))
    return None


def appended(
    content: bytes, statements: Sequence[str], token: str = "", giving_way: Sequence[int] = ()
) -> tuple[bytes, int]:
    """The content with one more step at its end, and the step's number. Lines ``giving_way`` become comments."""
    number = max((line.step for line in marked(content)), default=0) + 1
    lines = _lines(content)
    for give in giving_way:
        lines[give - 1] = f"#- {number} {lines[give - 1]}"
    old = "".join(lines).encode()
    end = b"\r\n" if b"\r\n" in content else b"\n"
    if old and not old.endswith((b"\n", b"\r")):
        old += end
    digest = token_digest(token)
    tail = [f"{line}  # trace {number} {_check(line)}{' ' if digest else ''}{digest}" for line in statements]
    return old + b"".join(line.encode() + end for line in tail), number


def without(content: bytes, number: int) -> tuple[bytes, list[str], list[int]]:
    """The content without a step, the lines taken out, and the numbers of lines that stay for a hand changed them."""
    mine = {line.number: line for line in marked(content) if line.step == number}
    out, taken, stay = [], [], []
    for index, line in enumerate(_lines(content), 1):
        known = mine.get(index)
        if known is not None and not known.edited:
            taken.append(known.statement)
            continue
        if known is not None:
            stay.append(index)
            line = _MARK.sub("", line.rstrip("\r\n")) + line[len(line.rstrip("\r\n")) :]
        gave_way = _YIELDED.match(line)
        if gave_way and int(gave_way[1]) == number:
            line = line[gave_way.end() :]
        out.append(line)
    return "".join(out).encode(), taken, stay
