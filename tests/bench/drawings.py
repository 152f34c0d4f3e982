"""Whether the diagrams can be read, and how long they take.

    python -m tests.bench.drawings [--units 50] [--seed 3] [--show 5]

Draws the whole unit and every modification of the demo's units and of randomly modified ones, and counts words that
lie on each other, words that are cut off and words that a conductor runs through. Goals: none; a modification's
diagram well under a second.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Iterator
from pathlib import Path

from netdiff.comparison import Comparison, compare
from netdiff.drawing import modification_svgs, overview_svg
from netdiff.language import read_unit, read_unit_text
from tests.bench.modified import HERE, models
from tests.drawn import cut_off, overlaps, struck
from tests.modifier import modified, write


def demo() -> Iterator[tuple[str, Comparison]]:
    for path in sorted((HERE / "examples").glob("*.found")):
        unit, faults = read_unit(path)
        assert unit is not None, faults[:3]
        yield path.name, compare(unit)


def random_units(count: int, seed: int) -> Iterator[tuple[str, Comparison]]:
    circuits = models(seed)
    for number in range(count):
        model = circuits[number % len(circuits)]
        stock = model.circuit(frozenset(list(model.productions)[-1:]))
        unit = modified(stock, seed * 1_000_003 + number, max(1, min(8, len(stock.parts) // 8)))
        read, faults = read_unit_text(write(unit, Path(model.file).name), model, "bench.found")
        assert read is not None, faults[:3]
        yield f"unit {number} of {model.title}", compare(read)


def judge(comparison: Comparison) -> tuple[list[str], int, float, float]:
    """What is wrong, the number of diagrams of modifications, and the seconds for them and for the whole."""
    begun = time.perf_counter()
    svgs = [svg for svg in modification_svgs(comparison) if svg]
    first = time.perf_counter() - begun
    begun = time.perf_counter()
    whole = overview_svg(comparison)
    second = time.perf_counter() - begun
    wrong = []
    for svg in (*svgs, whole):
        wrong += [f"on each other: {a!r} and {b!r}" for a, b in overlaps(svg)]
        wrong += [f"cut off: {text!r}" for text in cut_off(svg)]
        wrong += [f"struck through: {text!r}" for text in struck(svg)]
    return wrong, len(svgs), first, second


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--units", type=int, default=50)
    parser.add_argument("--seed", type=int, default=3)
    parser.add_argument("--show", type=int, default=5)
    args = parser.parse_args()
    for title, units in (("demo", list(demo())), ("random units", list(random_units(args.units, args.seed)))):
        count = faulty = 0
        spent = whole = slowest = 0.0
        for name, comparison in units:
            wrong, made, first, second = judge(comparison)
            count += made
            faulty += len(wrong)
            spent += first
            whole += second
            slowest = max(slowest, second)
            for text in wrong[: args.show]:
                print(f"    {name}: {text}")
        print(
            f"{title}: {len(units)} units, {count} diagrams of modifications in {spent:.1f} s, as many whole units in "
            f"{whole:.1f} s (slowest {slowest:.1f} s), {faulty} words that cannot be read",
            flush=True,
        )


if __name__ == "__main__":
    main()
