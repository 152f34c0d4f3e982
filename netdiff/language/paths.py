"""Paths that a file names: relative to it, and (but for a found file's stock file) never outside its folder."""

from __future__ import annotations

from pathlib import Path


def inside(folder: Path, name: str) -> Path | str:
    """The file's path, or what is wrong with the name. Links are followed before anything is believed."""
    trouble = _odd(name)
    if trouble:
        return trouble
    try:
        root = folder.resolve()
        target = (root / name).resolve()
    except (OSError, RuntimeError, ValueError):
        return "the path leads nowhere"
    if not target.is_relative_to(root):
        return "the path leads out of the folder of this file"
    return target


def beside(folder: Path, name: str) -> Path | str:
    """As `inside`, but the path may climb: stock circuits live in a folder of their own."""
    return _odd(name) or folder / name


def _odd(name: str) -> str:
    if not name.strip():
        return "there is no path between the quotes"
    if "\0" in name or "\\" in name:
        return "a path is written with forward slashes"
    if Path(name).is_absolute() or name[:1] == "~" or name[1:2] == ":":
        return "a path is relative to this file"
    return ""
