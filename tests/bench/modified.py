"""How well the comparison names what a previous owner did.

    python -m tests.bench.modified [--units 2000] [--seed 1] [--only "reverse a jack"] [--show 10]

Takes the circuits of ``netlists/`` and generated ones, applies random modifications with known
ground truth (``tests/modifier.py``), writes each unit as a bench would, reads it, compares, and
prints recall and precision by kind and terminals: one modification at a time, eight at once, and
none at all.
"""

from __future__ import annotations

import argparse
import random
from collections import Counter
from pathlib import Path

from netdiff.circuit import part_of
from netdiff.comparison import compare
from netdiff.language import Model, read_model, read_model_text, read_unit_text
from tests.generate import stock
from tests.modifier import MODIFICATIONS, Unit, modified, scored, write

HERE = Path(__file__).resolve().parents[2]


GENERATED = 6
"""Circuits made by ``tests/generate.py``, of 60 to 160 parts."""


def models(seed: int) -> list[Model]:
    """The circuits of ``netlists/``, and generated ones."""
    out = []
    for path in sorted((HERE / "netlists").glob("*.stock")):
        model, faults = read_model(path)
        assert model is not None, (path, faults[:3])
        out.append(model)
    for number in range(GENERATED):
        model, faults = read_model_text(stock(random.Random(seed * 1009 + number), 60 + 20 * number), "generated.stock")
        assert model is not None, faults[:3]
        out.append(model)
    return out


def judge(model: Model, unit: Unit) -> tuple[int, list[object], list[object], list[str]]:
    """Truths named, truths missed, stray findings, and raw differences not explained exactly once."""
    text = write(unit, Path(model.file).name)
    read, faults = read_unit_text(text, model, "bench.found")
    if read is None or faults:
        return 0, list(unit.truths), [], [f"{f.place}: {f.says} | {f.text}" for f in faults]
    result = compare(read)
    findings = [(f.kind, {*f.parts, *f.terminals, *(part_of(w) for w in f.terminals)}) for f in result.findings]
    named, missed, stray = scored(unit.truths, findings)
    keys = sorted(key for f in result.findings for key in f.explains)
    wrong = [] if keys == sorted(raw.key for raw in result.raw) else ["raw differences not explained exactly once"]
    return named, list(missed), [(*s, text) for s in stray], wrong


def run(title: str, units: int, count: int, seed: int, only: str, show: int) -> None:
    circuits = models(seed)
    full = 0
    done = named = strays = 0
    missed_by: Counter[str] = Counter()
    stray_by: Counter[str] = Counter()
    total_by: Counter[str] = Counter()
    faults: Counter[str] = Counter()
    shown = 0
    for number in range(units):
        model = circuits[number % len(circuits)]
        production = frozenset(list(model.productions)[-1:])
        stock = model.circuit(production)
        most = max(1, len(stock.parts) // 8)  # more than that on a small circuit is no longer one circuit modified
        unit = modified(stock, seed * 1_000_003 + number, min(count, most), only)
        hit, missed, stray, wrong = judge(model, unit)
        done += len(unit.truths)
        full += len(unit.truths) == count
        named += hit
        strays += len(stray)
        total_by.update(t.name for t in unit.truths)
        missed_by.update(t.name for t in missed)  # type: ignore[attr-defined]
        stray_by.update(s[0] for s in stray)  # type: ignore[index]
        faults.update(w.split("|")[0][:90] for w in wrong)
        if (missed or stray or wrong) and shown < show:
            shown += 1
            print(f"--- unit {number} of {model.title}: {[(t.name, sorted(t.spots)[:6]) for t in unit.truths]}")
            print("   missed:", [t.name for t in missed])  # type: ignore[attr-defined]
            print("   stray :", [(s[0], sorted(s[1])[:6]) for s in stray])  # type: ignore[index]
            print("   wrong :", wrong[:3])
    recall = named / done if done else 1.0
    precision = named / (named + strays) if named + strays else 1.0
    print(
        f"{title}: {units} units on {len(circuits)} circuits, {done} modifications ({full} units took all {count}), "
        f"recall {recall:.2%}, precision {precision:.2%}, strays {strays}",
        flush=True,
    )
    for name, missing in missed_by.most_common():
        print(f"    missed {missing} of {total_by[name]}: {name}")
    if stray_by:
        print(f"    strays by kind: {dict(stray_by)}")
    if faults:
        print(f"    trouble: {dict(faults.most_common(8))}")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--units", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", default="", choices=["", *sorted(MODIFICATIONS)])
    parser.add_argument("--show", type=int, default=0)
    given = parser.parse_args()
    print(f"seed {given.seed}; {len(MODIFICATIONS)} kinds of modification")
    run("one at a time", given.units, 1, given.seed, given.only, given.show)
    if not given.only:
        run("eight at once", given.units // 4, 8, given.seed + 1, "", given.show)
        run("none", given.units // 4, 0, given.seed + 2, "", given.show)


if __name__ == "__main__":
    main()
