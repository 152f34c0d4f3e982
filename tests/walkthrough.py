"""Writes the output and the table of rules shown in README.md again, after the program's words have changed.

    python -m tests.walkthrough

Every console block is run. Where a block leaves lines out (``...``), each piece that it shows is
found again by the lines most like its first and its last.
"""

from __future__ import annotations

import difflib
import os
import re
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]


def output(command: str) -> list[str]:
    words = command.split()
    done = subprocess.run(
        [sys.executable, "-m", "netdiff", *words[1:]],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT), "COLUMNS": "100"},
        capture_output=True,
        encoding="utf-8",
    )
    if done.returncode not in (0, 1):
        raise SystemExit(f"{command}: {done.stderr}")
    return done.stdout.splitlines()


def shortened(lines: list[str], pieces: list[list[str]]) -> list[str]:
    out: list[str] = []
    at = 0
    for number, piece in enumerate(pieces):
        if not piece:
            continue
        first = 0 if number == 0 else nearest(lines, piece[0], at)
        last = max(first, nearest(lines, piece[-1], first, near=first + len(piece) - 1))
        if first > at:
            out.append("...")
        out += lines[first : last + 1]
        at = last + 1
    return [*out, "..."] if at < len(lines) else out


def nearest(lines: list[str], wanted: str, start: int, near: int | None = None) -> int:
    def likeness(number: int) -> tuple[float, int]:
        ratio = difflib.SequenceMatcher(None, lines[number], wanted).ratio()
        return round(ratio, 2), -abs(number - (start if near is None else near))

    return max(range(start, len(lines)), key=likeness, default=start)


def block(match: re.Match[str]) -> str:
    out = []
    for command, shown in re.findall(r"^\$ (.*)\n((?:(?!\$ ).*\n)*)", match[1], re.M):
        lines = output(command)
        if "..." in shown.splitlines():
            pieces = [piece.splitlines() for piece in re.split(r"^\.\.\.\n", shown, flags=re.M)]
            lines = shortened(lines, pieces)
        out += [f"$ {command}", *lines]
    return "```console\n" + "\n".join(out) + "\n```"


def rules_table() -> str:
    """All rules of hazards, family by family, as a table."""
    from netdiff.hazards import rules

    words = {"power": "before power", "transmit": "before transmitting", "deliver": "before delivery"}
    rows = [
        f"| `{rule.kind}` | {rule.looks_for} | {words.get(rule.hold, 'worth knowing')} | {rule.source} |"
        for rule in rules()
    ]
    return "\n".join(["| finding | looks for | hold | source |", "| --- | --- | --- | --- |", *rows])


RULES = re.compile(r"(<!-- rules: .*?-->\n).*?(<!-- end of rules -->)", re.S)


def main() -> None:
    (ROOT / "examples" / "out").mkdir(exist_ok=True)
    readme = ROOT / "README.md"
    text = readme.read_text(encoding="utf-8")
    text = RULES.sub(lambda match: f"{match[1]}{rules_table()}\n{match[2]}", text)
    readme.write_text(re.sub(r"^```console\n(.*?)^```", block, text, flags=re.M | re.S), encoding="utf-8")


if __name__ == "__main__":
    main()
