"""Every figure, by one command.

    python -m tests.bench [--quick]

Takes about half an hour on two cores; ``--quick`` some minutes, with fewer units and
smaller circuits.
"""

from __future__ import annotations

import subprocess
import sys

FULL = (
    ("figures",),
    ("interactive",),
    ("scale",),
    ("least", "--cases", "500"),
    ("modified", "--units", "2000"),
    ("meter",),
    ("work", "--units", "500"),
    ("tracing",),
    ("drawings", "--units", "50"),
    ("page",),
)
QUICK = (
    ("figures", "--rounds", "2", "--lines", "20000"),
    ("interactive", "--rounds", "3"),
    ("scale", "--sizes", "1000", "10000"),
    ("least", "--cases", "60"),
    ("modified", "--units", "200"),
    ("meter", "--most", "10000", "--rounds", "2"),
    ("work", "--units", "40"),
    ("tracing", "--quick"),
    ("drawings", "--units", "6"),
    ("page",),
)

if __name__ == "__main__":
    for name, *options in QUICK if "--quick" in sys.argv[1:] else FULL:
        print(f"== {name}", flush=True)
        subprocess.run([sys.executable, "-m", f"tests.bench.{name}", *options], check=False)
