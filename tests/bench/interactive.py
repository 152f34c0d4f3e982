"""How long somebody waits: `netdiff compare` on the demo beside the start of Python with the same imports.

    python -m tests.bench.interactive [--rounds 7]

The two run in turn; the ratio is the median of the ratios pair by pair (goal: at most 3).
"""

from __future__ import annotations

import argparse
import statistics
import subprocess
import sys
import time
from pathlib import Path

HERE = Path(__file__).resolve().parents[2]
DEMO = HERE / "examples" / "harbourlight-0417.found"
IMPORTS = "import argparse, lark, yaml, numpy, scipy.optimize, rich.console, rich.table"


def seconds(*command: str) -> float:
    start = time.perf_counter()
    subprocess.run([sys.executable, *command], cwd=HERE, stdout=subprocess.DEVNULL, check=False)
    return time.perf_counter() - start


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--rounds", type=int, default=7)
    rounds = parser.parse_args().rounds
    pairs = [(seconds("-m", "netdiff", "compare", str(DEMO)), seconds("-c", IMPORTS)) for _ in range(rounds)]
    mine, other = (statistics.median(column) for column in zip(*pairs, strict=True))
    ratio = statistics.median(a / b for a, b in pairs)
    print(f"compare on the demo {mine:.2f} s, the imports alone {other:.2f} s, ratio {ratio:.2f} (goal at most 3)")


if __name__ == "__main__":
    main()
