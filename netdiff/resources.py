"""Finds the folders of data that lie beside the package in a checkout and inside it when installed."""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent


def folder(name: str) -> Path:
    """The folder ``grammars`` or ``netlists``; raises FileNotFoundError if the installation lacks it."""
    for place in (_PACKAGE / name, _PACKAGE.parent / name):
        if place.is_dir():
            return place
    raise FileNotFoundError(f"this installation of netdiff lacks its folder {name}")
