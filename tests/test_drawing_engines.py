"""The programs that a drawing needs: the layout, with or without Graphviz installed, and other formats than SVG."""

from __future__ import annotations

import json
import stat
import sys
from pathlib import Path

import pytest

from netdiff.drawing import CannotDraw
from netdiff.drawing.engines import converted, layouts

SVG = '<svg xmlns="http://www.w3.org/2000/svg" width="20" height="10"><text x="2" y="8" font-size="8">R1</text></svg>'


def program(folder: Path, name: str, script: str) -> Path:
    path = folder / name
    path.write_text(f"#!/bin/sh\n{script}\n")
    path.chmod(path.stat().st_mode | stat.S_IXUSR)
    return path


@pytest.fixture
def only(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A PATH with nothing on it but what a test puts there."""
    monkeypatch.setenv("PATH", str(tmp_path))
    return tmp_path


def nodes(layout: bytes) -> set[str]:
    return {one["name"] for one in json.loads(layout)["objects"]}


def test_the_layout_needs_no_program(only: Path) -> None:
    first, second = layouts(["graph { a -- b }", "graph { c }"])
    assert nodes(first) == {"a", "b"}
    assert nodes(second) == {"c"}


def test_the_layout_needs_no_folder_of_the_user(only: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("HOME", "/nowhere/at/all")
    monkeypatch.setenv("XDG_CACHE_HOME", "/proc/nowhere")
    assert nodes(layouts(["graph { a }"])[0]) == {"a"}


def test_the_installed_program_is_used(only: Path) -> None:
    program(only, "dot", 'echo "$@"')
    assert layouts(["graph { a }"]) == [b"-Tjson0\n"]


def test_the_package_serves_where_the_program_fails(only: Path) -> None:
    program(only, "dot", "exit 1")
    assert nodes(layouts(["graph { a }"])[0]) == {"a"}
    (only / "dot").write_bytes(b"\x7fELF no program")
    assert nodes(layouts(["graph { a }"])[0]) == {"a"}


def test_a_layout_has_a_time_limit(only: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("netdiff.drawing.engines.LIMIT", 0.2)
    program(only, "dot", "while :; do :; done")
    with pytest.raises(CannotDraw, match="Draw a part of the unit"):
        layouts(["graph { a }"])


def test_missing_packages_are_told(only: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    hidden = tmp_path / "hidden"
    hidden.mkdir()
    (hidden / "wasmtime.py").write_text("raise ImportError('no wasmtime')")
    monkeypatch.setenv("PYTHONPATH", str(hidden))
    with pytest.raises(CannotDraw, match="install Graphviz"):
        layouts(["graph { a }"])


def test_a_module_beside_the_units_files_is_not_run(only: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (only / "json.py").write_text("raise SystemExit('ran a stranger')")
    monkeypatch.chdir(only)
    assert nodes(layouts(["graph { a }"])[0]) == {"a"}


def test_faulty_dot_text_is_told(only: Path) -> None:
    with pytest.raises(CannotDraw, match="The layout failed"):
        layouts(["graph { a -- "])


def test_svg_is_itself(only: Path) -> None:
    assert converted(SVG, "svg") == SVG.encode()


def test_pictures_and_pages_need_no_program(only: Path) -> None:
    pytest.importorskip("resvg_py")
    pytest.importorskip("svg2pdf_py")
    assert converted(SVG, "png").startswith(b"\x89PNG")
    assert converted(SVG, "pdf").startswith(b"%PDF")


@pytest.mark.parametrize(("fmt", "package"), [("png", "resvg_py"), ("pdf", "svg2pdf_py")])
def test_a_converter_serves_where_the_package_is_not(
    only: Path, monkeypatch: pytest.MonkeyPatch, fmt: str, package: str
) -> None:
    monkeypatch.setitem(sys.modules, package, None)
    with pytest.raises(CannotDraw, match=f"For {fmt.upper()} install the Python package {package.replace('_', '-')}"):
        converted(SVG, fmt)  # type: ignore[arg-type]
    program(only, "rsvg-convert", 'echo "$@"')
    assert converted(SVG, fmt).startswith(f"--format={fmt}".encode())  # type: ignore[arg-type]


def test_a_failing_converter_is_told(only: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "svg2pdf_py", None)
    program(only, "rsvg-convert", 'echo "no fonts" >&2; exit 1')
    with pytest.raises(CannotDraw, match="rsvg-convert failed: no fonts"):
        converted(SVG, "pdf")
