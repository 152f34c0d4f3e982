"""How long somebody waits for the page: `netdiff report` on the demo beside what it cannot be without.

    python -m tests.bench.page [--rounds 5]

That is the start of Python with the imports that `compare` needs, and what the layout engine takes for the same graphs
by itself, all measured in the same run; the ratio is the median of the ratios round by round (goal: under 3).
"""

from __future__ import annotations

import argparse
import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from netdiff.drawing import engines
from tests.bench.interactive import DEMO, HERE, IMPORTS, seconds

PRICES = HERE / "examples" / "prices.yaml"

# The command as it is; afterwards it tells which graphs it had laid out, a batch for each start of the engine.
TOLD = """
import json, sys
from netdiff.cli import run
from netdiff.drawing import engines
batches, layouts = [], engines.layouts
engines.layouts = lambda dots: batches.append(list(dots)) or layouts(dots)
run(sys.argv[1:])
print(json.dumps(batches), file=sys.stderr)
"""


def command(folder: str) -> tuple[str, ...]:
    return ("report", str(DEMO), "--prices", str(PRICES), "-o", str(Path(folder) / "page.html"))


def batches(folder: str) -> list[list[str]]:
    done = subprocess.run([sys.executable, "-c", TOLD, *command(folder)], cwd=HERE, capture_output=True, check=True)
    told: list[list[str]] = json.loads(done.stderr)
    return told


def engine(graphs: list[list[str]]) -> float:
    start = time.perf_counter()
    for batch in graphs:
        engines.layouts(batch)
    return time.perf_counter() - start


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--rounds", type=int, default=5)
    rounds = parser.parse_args().rounds
    rows = []
    with tempfile.TemporaryDirectory() as folder:
        # Compiled as after any first run, also where the checkout's own bytecode is old and none may be written to it.
        os.environ["PYTHONPYCACHEPREFIX"] = folder
        os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
        graphs = batches(folder)
        seconds("-c", IMPORTS)
        for _ in range(rounds):
            rows.append((seconds("-m", "netdiff", *command(folder)), engine(graphs), seconds("-c", IMPORTS)))
    whole, layout, imports = (statistics.median(column) for column in zip(*rows, strict=True))
    ratio = statistics.median(a / (b + c) for a, b, c in rows)
    print(
        f"the page of the demo {whole:.2f} s, the imports of compare alone {imports:.2f} s, the layout engine "
        f"{layout:.2f} s, ratio {ratio:.2f} (goal under 3)"
    )


if __name__ == "__main__":
    main()
