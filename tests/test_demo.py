"""The demo units: everything that was done to them is found, and nothing else."""

from __future__ import annotations

from pathlib import Path

import pytest

from netdiff.circuit import part_of
from netdiff.comparison import Comparison, compare
from netdiff.language import read_unit

HERE = Path(__file__).resolve().parent.parent
EXAMPLES = HERE / "examples"


def result(name: str) -> Comparison:
    unit, faults = read_unit(EXAMPLES / f"{name}.found")
    assert unit is not None, faults
    assert not faults
    return compare(unit)


def expected(name: str) -> list[tuple[str, str, set[str], set[str]]]:
    """Rows of the table of ``NAME.expected.md``: modification, kind, parts, terminals."""
    rows = []
    for line in (EXAMPLES / f"{name}.expected.md").read_text(encoding="utf-8").splitlines():
        cells = [cell.strip() for cell in line.strip().strip("|").split("|")]
        if line.startswith("|") and len(cells) >= 4 and cells[1].startswith("`"):
            rows.append((cells[0], cells[1].split("`")[1], set(cells[2].split()), set(cells[3].split())))
    return rows


UNITS = ("harbourlight-0417", "kitchen-radio")


@pytest.mark.parametrize("name", UNITS)
def test_every_modification_of_the_unit_is_found_and_nothing_else(name: str) -> None:
    comparison = result(name)
    waiting = list(comparison.findings)
    rows = expected(name)
    assert rows
    missed = []
    of_modification: dict[str, set[str]] = {}
    for letter, kind, parts, terminals in rows:
        for finding in waiting:
            spoken = {*finding.parts, *finding.terminals, *(part_of(w) for w in finding.terminals)}
            if finding.kind == kind and (parts | terminals) & spoken and len(parts - spoken) < max(1, len(parts)):
                waiting.remove(finding)
                of_modification.setdefault(letter, set()).add(finding.modification)
                break
        else:
            missed.append((letter, kind, parts, terminals))
    assert not missed
    assert not [(f.kind, f.says) for f in waiting]
    apart = {letter: names for letter, names in of_modification.items() if len(names) > 1}
    assert not apart, "findings of one modification belong together"


@pytest.mark.parametrize("name", UNITS)
def test_raw_differences_are_explained_once(name: str) -> None:
    comparison = result(name)
    explained = sorted(key for finding in comparison.findings for key in finding.explains)
    assert explained == sorted(raw.key for raw in comparison.raw)


def test_the_nearly_stock_unit_compares_clean_where_traced() -> None:
    comparison = result("harbourlight-0388")
    assert comparison.findings == ()
    assert comparison.coverage.total.agree > 300
    assert comparison.coverage.total.not_traced > 0
    assert "late" in comparison.production


def test_the_demo_is_of_real_size() -> None:
    comparison = result("harbourlight-0417")
    assert len(comparison.stock.parts) >= 150
    assert len(comparison.modifications) >= 12
    assert len({finding.kind for finding in comparison.findings}) >= 12
    assert any(modification.kept for modification in comparison.modifications)
    assert comparison.found.photos
