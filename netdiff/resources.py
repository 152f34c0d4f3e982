"""Data of the package: folders that lie beside it or, when installed, inside it; tables beside a module."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from jinja2 import Environment

_PACKAGE = Path(__file__).resolve().parent


def folder(name: str) -> Path:
    """The folder ``grammars`` or ``netlists``; raises FileNotFoundError if the installation lacks it."""
    for place in (_PACKAGE / name, _PACKAGE.parent / name):
        if place.is_dir():
            return place
    raise FileNotFoundError(f"this installation of netdiff lacks its folder {name}")


@cache
def table(module: str, name: str) -> dict[str, Any]:
    """The table ``name.yaml`` beside a module, which gives its ``__file__``; read once."""
    import yaml

    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    with Path(module).with_name(f"{name}.yaml").open(encoding="utf-8") as text:
        loaded: dict[str, Any] = yaml.load(text, Loader=loader)
    return loaded


def templates(folder: Path, finalize: Callable[[Any], Any] | None = None) -> Environment:
    """Templates of HTML in which every value is escaped and none may be missing; ``finalize`` is done to each first."""
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    return Environment(
        loader=FileSystemLoader(folder),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=finalize,
        trim_blocks=True,
        lstrip_blocks=True,
    )
