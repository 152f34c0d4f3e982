"""Limits with sources, and a user's own file: what it changes, and what is wrong with it."""

from __future__ import annotations

from pathlib import Path

import pytest

from netdiff.electrical.limits import FILE, beside, current, extended, limit, standard, using


def file(tmp_path: Path, text: str) -> Path:
    path = tmp_path / FILE
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize("name", standard().values)
def test_every_limit_has_a_source_and_says_how_well_it_is_known(name: str) -> None:
    one = standard().values[name]
    assert one.value > 0 and one.source and one.note
    assert one.sure in {"seen", "copy", "computed", "memory", "practice", "ours"}
    assert (one.sure == "practice") == one.source.startswith("common practice")
    assert one.shown()


def test_an_unknown_limit_is_an_error() -> None:
    with pytest.raises(KeyError):
        limit("nothing_of_the_kind")


def test_a_users_file_replaces_values_one_by_one(tmp_path: Path) -> None:
    path = file(tmp_path, 'limits:\n  earth_bond: {value: 0.2ohm, source: "our shop"}\n  leakage:\n    value: 0.25mA\n')
    limits, faults = beside(tmp_path / "unit.found")
    assert not faults
    assert limits("earth_bond") == 0.2 and limits("leakage") == pytest.approx(0.25e-3)
    assert limits("discharged") == standard()("discharged")
    assert limits.values["earth_bond"].sure == "yours"
    assert limits.values["leakage"].place is not None and limits.values["leakage"].place.line == 4
    told = limits.told()
    assert len(told) == 2 and "0.2 Ω" in told[0] and f"{path}:2" in told[0] and "our shop" in told[0]


def test_without_a_file_the_standard_ones_count(tmp_path: Path) -> None:
    assert beside(tmp_path / "unit.found") == (standard(), ())


def test_using_ends_with_its_block_even_in_trouble(tmp_path: Path) -> None:
    limits, _ = extended(file(tmp_path, "limits: {earth_bond: {value: 0.5ohm}}"))

    def trouble() -> None:
        with using(limits):
            assert limit("earth_bond") == 0.5
            raise RuntimeError

    with pytest.raises(RuntimeError):
        trouble()
    assert current() is standard()


@pytest.mark.parametrize(
    ("text", "line", "says", "hint"),
    [
        ("limits:\n  earthbond: {value: 1ohm}\n", 2, "no limit is called earthbond", "earth_bond"),
        ("limits:\n  earth_bond: {value: 1V}\n", 2, "`1V` is no value of earth_bond, which is in ohm", "0.1ohm"),
        ("limits:\n  earth_bond:\n    value: much\n", 3, "`much` is no value", "0.1ohm"),
        ("limits:\n  earth_bond: {source: x}\n", 2, "earth_bond has no value", "0.1ohm"),
        ("limits:\n  earth_bond: {value: 1ohm, vlaue: 2ohm}\n", 2, "a limit has no `vlaue`", "`value`"),
        ("limits:\n  earth_bond: {value: -1ohm}\n", 2, "greater than nothing", ""),
        ("limits:\n  earth_bond: {value: 0ohm}\n", 2, "greater than nothing", ""),
        ("limits:\n  earth_bond: {value: 1ohm, unit: V}\n", 2, "earth_bond is in ohm", ""),
        ("limts:\n  earth_bond: {value: 1ohm}\n", 1, "one table, `limits`", ""),
        ("limits: {earth_bond: {value: 1ohm}}\nmore: 1\n", 2, "one table, `limits`", ""),
        ("- a\n", 1, "one table, `limits`", ""),
        ("limits: {a: {value: !!python/object:os.system x}}\n", 1, "nothing in it is executed", ""),
        ("limits: [\n", 2, "no YAML", ""),
    ],
)
def test_what_is_wrong_is_told_with_its_place(tmp_path: Path, text: str, line: int, says: str, hint: str) -> None:
    limits, faults = extended(file(tmp_path, text))
    assert limits is standard()
    assert faults[0].place.line == line
    assert says in faults[0].says and hint in faults[0].hint


def test_all_faults_are_told_at_once(tmp_path: Path) -> None:
    _, faults = extended(file(tmp_path, "limits:\n  a: {value: 1}\n  earth_bond: {value: x}\n"))
    assert [fault.place.line for fault in faults] == [2, 3]


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    limits, faults = extended(tmp_path / "none.yaml")
    assert limits is standard() and "cannot read" in faults[0].says
