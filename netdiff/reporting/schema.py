"""The JSON Schemas of what the commands print with ``--json``: one file a command in ``netdiff/schema/``.

``trouble`` is what every command prints where it ends with exit code 2.

>>> schema("compare")["$schema"]
'https://json-schema.org/draft/2020-12/schema'
>>> "trouble" in names()
True
"""

from __future__ import annotations

import json
from importlib.resources import files
from typing import Any, Final

_FOLDER: Final = files("netdiff") / "schema"


def names() -> tuple[str, ...]:
    """The commands that have a schema, and ``trouble``."""
    return tuple(sorted(file.name.removesuffix(".json") for file in _FOLDER.iterdir() if file.name.endswith(".json")))


def schema(name: str) -> dict[str, Any]:
    """The schema of this command's JSON. Raises KeyError with the nearest name."""
    if name not in names():
        from netdiff.catalogue.near import nearest

        near = nearest(name, names())
        raise KeyError(f"no schema {name!r}" + (f"; the nearest is {near!r}" if near else ""))
    out: dict[str, Any] = json.loads((_FOLDER / f"{name}.json").read_text(encoding="utf-8"))
    return out
