"""First figures: how fast a file is read, how the comparison grows, how soon `netdiff check` answers.

    python -m tests.bench.figures [--lines 100000] [--rounds 5] [reading|comparing|starting ...]

Prints each figure beside what it is measured against, and the ratio. Nothing is asserted: a ratio
holds on a quiet machine, and the reader judges it. Every time is the best of the rounds, because
everything else that runs can only make a time longer.

reading     a generated stock file, and the same statements as a YAML list of mappings read by
            PyYAML's C loader (goal: no slower)
comparing   pairs of 1,000 and of 10,000 parts with ten modifications (goal: the larger takes at most
            12 times as long as the smaller), beside networkx's Weisfeiler-Lehman hash of the same two
            graphs, which only says same or not
starting    `netdiff check` on a small pair beside ``python -c "import lark, yaml"`` (goal: at most twice)
"""

from __future__ import annotations

import argparse
import gc
import random
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from tests.generate import BY_KIND, Wiring, damage, part_of, read, stock, tell

HERE = Path(__file__).resolve().parents[2]


def best(rounds: int, *works: Callable[[], object]) -> list[float]:
    """Seconds of the fastest round of each, taken in turns, the collector at rest as in ``timeit``."""
    times = [float("inf")] * len(works)
    for _ in range(rounds):
        for number, work in enumerate(works):
            gc.collect()
            gc.disable()
            try:
                start = time.perf_counter()
                work()
                times[number] = min(times[number], time.perf_counter() - start)
            finally:
                gc.enable()
    return times


def line(what: str, seconds: float, beside: str = "", other: float = 0.0, goal: str = "") -> None:
    told = f"{what:<44} {seconds * 1000:10.1f} ms"
    if beside:
        told += f"   {beside} {other * 1000:.1f} ms   ratio {seconds / other:.2f}" + (f"   ({goal})" if goal else "")
    print(told, flush=True)


# --- reading ----------------------------------------------------------------------------------------------------


def long_stock(lines: int, seed: int = 1) -> str:
    """A stock text of about so many lines."""
    parts = 1_000
    for _ in range(3):
        text = stock(random.Random(seed), parts)
        parts = round(parts * lines / text.count("\n"))
    return text


def as_yaml(text: str) -> str:
    """The same statements as a YAML list of mappings, one mapping a statement, in block style as people write it."""
    import yaml

    statements: list[dict[str, object]] = []
    for row in text.splitlines():
        words = row.split()
        if "--" in words:
            statements.append({"chain": words[::2]})
        elif words[0] in ("stock", "ground", "zone", "net"):
            statements.append({words[0]: words[1].strip('"'), "says": " ".join(words[2:]).strip('"')})
        else:
            statements.append({"part": words[0], "kind": words[1], "value": " ".join(words[2:])})
    return yaml.dump(statements, Dumper=yaml.CSafeDumper, sort_keys=False)


def reading(lines: int, rounds: int) -> None:
    import yaml

    from netdiff.language import read_model_text, read_unit_text

    text = long_stock(lines)
    other = as_yaml(text)
    print(f"reading {text.count(chr(10)):,} lines, {len(text) / 1e6:.1f} MB; as YAML {len(other) / 1e6:.1f} MB")
    model, faults = read_model_text(text, "long.stock")
    assert model is not None, faults[:3]
    seconds, loaded = best(
        rounds, lambda: read_model_text(text, "long.stock"), lambda: yaml.load(other, Loader=yaml.CSafeLoader)
    )
    line("text to a circuit", seconds, "CSafeLoader", loaded, "goal at most 1")
    unit = read(text)
    found = tell(unit, unit, random.Random(2), "long.stock")
    _, faults = read_unit_text(found, model, "long.found")
    assert not faults, faults[:3]
    (seconds,) = best(min(rounds, 3), lambda: read_unit_text(found, model, "long.found"))
    line(f"a found file of it, {found.count(chr(10)):,} lines", seconds)


# --- comparing --------------------------------------------------------------------------------------------------


def pair(parts: int, edits: int = 10, seed: int = 1) -> tuple[str, str, Wiring, Wiring]:
    """A stock text, a found text with so many random edits, and the wiring behind both."""
    rng = random.Random(seed)
    text = stock(rng, parts)
    drawn, unit = read(text), read(text)
    for _ in range(edits):
        damage(unit, rng)
    return text, tell(unit, drawn, rng), drawn, unit


def labelled(one: Wiring):  # type: ignore[no-untyped-def]
    """Parts with designator, kind and value; terminals; nets: the graph that a hash is taken of."""
    import networkx as nx

    graph = nx.Graph()
    for name, (kind, which) in one.parts.items():
        graph.add_node(name, label=f"{name} {kind} {BY_KIND[kind].values[which][0]}")
        for terminal in BY_KIND[kind].terminals:
            graph.add_node(f"{name}.{terminal}", label=terminal)
            graph.add_edge(name, f"{name}.{terminal}")
    for number, net in enumerate(one.nets()):
        graph.add_node(number, label="net")
        graph.add_edges_from((number, where) for where in net if part_of(where) in one.parts)
    return graph


def comparing(rounds: int) -> None:
    import networkx as nx

    from netdiff.comparison import compare
    from netdiff.language import read_model_text, read_unit_text

    times: dict[int, float] = {}
    for parts in (1_000, 10_000):
        text, found, drawn, wired = pair(parts)
        model, faults = read_model_text(text, "generated.stock")
        assert model is not None, faults
        assert not faults, faults[:3]
        unit, faults = read_unit_text(found, model, "generated.found")
        assert unit is not None, faults[:3]
        assert not faults, faults[:3]
        result = compare(unit)
        graphs = [labelled(one) for one in (drawn, wired)]
        times[parts], hashes = best(
            rounds,
            lambda unit=unit: compare(unit),
            lambda graphs=graphs: [nx.weisfeiler_lehman_graph_hash(graph, node_attr="label") for graph in graphs],
        )
        line(f"comparing {parts:,} parts, {len(result.findings)} findings", times[parts], "two WL hashes", hashes)
    print(f"growth from 1,000 to 10,000 parts: {times[10_000] / times[1_000]:.1f} times (goal at most 12)")


# --- starting ---------------------------------------------------------------------------------------------------

LANTERN = """stock "Small pair"
ground chassis
zone all
J1 jack-2 "key"
R1 resistor 22k 2W 10% "screen dropping"
R2 resistor 47k
C2 electrolytic 16u 450V
V1 tube 6V6GT
net b+ supply 250V
net heater heater 6.3Vac
b+ -- C2.+/- -- chassis
b+ -- R1 -- V1.g2
chassis -- R2 -- V1.g1
V1.k -- J1.tip
J1.sleeve -- chassis
V1.h1 -- chassis
V1.h2 -- heater
"""
ATTIC = """found "No. 41" of "small.stock"
traced all
b+ -- C2.+/- -- chassis
b+ -- R1 -- V1.g2
chassis -- R2 -- V1.g1
V1.k -- J1.sleeve
J1.tip -- chassis -- V1.h1
V1.h2 -- heater
"""


def starting(rounds: int) -> None:
    """The small pair of the language page where it is there, else one of the same size."""
    with tempfile.TemporaryDirectory() as folder:
        files = [HERE / "netlists" / "lantern.stock", HERE / "examples" / "attic.found"]
        if not all(path.is_file() for path in files):
            files = [Path(folder) / "small.stock", Path(folder) / "small.found"]
            files[0].write_text(LANTERN, encoding="utf-8")
            files[1].write_text(ATTIC, encoding="utf-8")
        check = [sys.executable, "-m", "netdiff", "check", *map(str, files)]
        imports = [sys.executable, "-c", "import lark, yaml"]
        done = subprocess.run(check, capture_output=True, text=True, cwd=HERE, check=False)
        assert done.returncode == 0, done.stdout + done.stderr

        def run(command: list[str]) -> None:
            subprocess.run(command, capture_output=True, cwd=HERE, check=True)

        seconds, beside, nothing = best(
            max(rounds, 10), lambda: run(check), lambda: run(imports), lambda: run([sys.executable, "-c", ""])
        )
        line("netdiff check on a small pair", seconds, "import lark, yaml", beside, "goal at most 2")
        line("python that does nothing", nothing)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("what", nargs="*", help="reading, comparing, starting; all where nothing is said")
    parser.add_argument("--lines", type=int, default=100_000)
    parser.add_argument("--rounds", type=int, default=5)
    given = parser.parse_args()
    wanted = given.what or ["reading", "comparing", "starting"]
    if unknown := set(wanted) - {"reading", "comparing", "starting"}:
        parser.error(f"nothing is measured under {' '.join(sorted(unknown))}")
    if "reading" in wanted:
        reading(given.lines, given.rounds)
    if "comparing" in wanted:
        comparing(given.rounds)
    if "starting" in wanted:
        starting(given.rounds)


if __name__ == "__main__":
    main()
