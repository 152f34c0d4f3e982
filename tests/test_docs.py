"""The documents tell the truth: commands shown print what is shown, and every command's help stands there."""

from __future__ import annotations

import argparse
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from netdiff.cli import parser
from tests.walkthrough import RULES, rules_table

ROOT = Path(__file__).resolve().parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def commands() -> dict[str, argparse.ArgumentParser]:
    (choices,) = (action.choices for action in parser()._actions if isinstance(action, argparse._SubParsersAction))
    return dict(choices or {})


def section(heading: str) -> str:
    """The text under a heading, up to the next of any level, as one line."""
    found = re.search(rf"^#+ {re.escape(heading)}.*?\n(.*?)(?=^#|\Z)", README, re.M | re.S)
    assert found, f"README.md has no heading {heading}"
    return " ".join(found[1].split())


@pytest.mark.parametrize("name", sorted(commands()))
def test_every_commands_help_stands_in_the_docs(name: str) -> None:
    text = section(f"`netdiff {name}")
    command = commands()[name]
    assert command.description
    assert command.description in text
    for action in command._actions:
        assert action.help, action.dest
        if action.option_strings and action.dest != "help":
            assert f"`{action.option_strings[-1]}" in text
            assert action.help in text, action.help


@pytest.mark.parametrize("name", sorted(commands()))
def test_every_command_takes_json(name: str) -> None:
    assert any("--json" in action.option_strings for action in commands()[name]._actions)


def shown() -> list[tuple[str, str]]:
    """Commands of the console blocks, each with the output under it."""
    out = []
    for block in re.findall(r"^```console\n(.*?)^```", README, re.M | re.S):
        out += re.findall(r"^\$ (.*)\n((?:(?!\$ ).*\n)*)", block, re.M)
    return out


def test_the_table_of_rules_is_that_of_the_program() -> None:
    match = RULES.search(README)
    assert match is not None and rules_table() in match[0]


def test_there_is_a_walk_through() -> None:
    assert {command.split()[1] for command, _ in shown()} >= {"check", "compare", "worklist", "draw"}


@pytest.mark.parametrize(("command", "output"), shown(), ids=[command for command, _ in shown()])
def test_commands_shown_print_what_is_shown(command: str, output: str, tmp_path: Path) -> None:
    """A line ``...`` stands for any lines. What a command writes goes to a folder of the test."""
    words = command.replace(" examples/out/", f" {tmp_path}/").split()
    assert words[0] == "netdiff"
    done = subprocess.run(
        [sys.executable, "-m", "netdiff", *words[1:]],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT), "COLUMNS": "100"},
        capture_output=True,
        encoding="utf-8",
        timeout=120,
    )
    assert done.returncode in (0, 1), done.stderr
    real = done.stdout.replace(str(tmp_path), "examples/out")
    pattern = r"(?:.*\n)*?".join(re.escape(piece) for piece in re.split(r"^\.\.\.\n", output, flags=re.M))
    assert re.fullmatch(pattern, real), real
