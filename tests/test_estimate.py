"""Hours and money: sums that add up, the user's own figures, price lists with faults."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import netdiff
from netdiff.cli import run
from netdiff.comparison import compare_circuits
from netdiff.language import Faulty, Unit
from netdiff.worklist import worklist
from netdiff.worklist.estimate import estimate
from netdiff.worklist.prices import Prices, read_prices
from netdiff.worklist.wanted import table
from tests.test_progress_kept import ROOT, harbour, work_of
from tests.test_worklist_laws import edits, seeds, sizes, unit

EXAMPLE = ROOT / "examples" / "prices.yaml"


def example() -> Prices:
    return read_prices(EXAMPLE)


def test_the_shares_add_up_and_the_figures_are_in_order() -> None:
    for name in ("harbourlight-0417", "kitchen-radio"):
        result = estimate(work_of(name), prices=example())
        assert result.total.money is not None
        for field in ("low", "likely", "high"):
            money = sum(getattr(share.money, field) for share in result.shares)
            assert money == pytest.approx(getattr(result.total.money, field))
            minutes = sum(getattr(share.minutes, field) for share in result.shares)
            assert minutes == pytest.approx(getattr(result.total.minutes, field))
        for share in (*result.shares, result.total, result.aged):
            assert share.minutes.low <= share.minutes.likely <= share.minutes.high
            assert share.money is not None and share.money.low <= share.money.likely <= share.money.high
        assert result.total.steps == len(work_of(name).steps)
        assert result.unpriced == ()


def test_money_is_work_and_materials() -> None:
    result = estimate(work_of("kitchen-radio"), prices=example())
    later = result.shares[1]
    assert later.money is not None and later.materials is not None
    assert later.money.likely == pytest.approx(later.minutes.likely / 60 * 55 + later.materials.likely)
    # By hand: a film capacitor 1.40, a potentiometer 7.50, a resistor 0.25, and half a metre of shielded wire 0.40.
    assert later.materials.likely == pytest.approx(1.40 + 7.50 + 0.25 + 0.40)


def test_before_power_by_hand() -> None:
    """The cord 60, C17 12, two parts out 8 each, both halves of the can 15 each; and C18, which is called for."""
    read = netdiff.read(ROOT / "examples" / "kitchen-radio.found")
    assert isinstance(read, Unit)
    work = netdiff.worklist(netdiff.compare(read))
    by_hand = 60 + 12 + 8 + 8 + 15 + 15 + 12
    assert estimate(work).shares[0].minutes.likely == pytest.approx(by_hand)


def test_what_is_done_costs_no_more_and_zones_count() -> None:
    work = harbour()
    whole, half = estimate(work), estimate(work, work.steps[20:])
    assert half.total.minutes.likely < whole.total.minutes.likely
    assert set(whole.zones) == {"power", "control", "modulator", "front"}
    around = table("minutes")["around"]
    tracing = float(around["trace_zone"]["minutes"]) * 4
    rest = sum(float(around[name]["minutes"]) for name in ("cold_readings", "power_up", "record"))
    assert whole.shares[2].minutes.likely == pytest.approx(tracing + rest)


def test_without_a_list_there_is_no_money() -> None:
    result = estimate(harbour())
    assert result.total.money is None and result.total.minutes.likely > 0


@settings(max_examples=15, deadline=None)
@given(seeds, sizes, edits, st.integers(0, 8))
def test_more_to_do_is_never_cheaper(seed: int, size: int, count: int, less: int) -> None:
    work = worklist(compare_circuits(*unit(seed, size, count)))
    all_of_it, less_of_it = estimate(work), estimate(work, work.steps[less:])
    assert less_of_it.total.minutes.likely <= all_of_it.total.minutes.likely + 1e-9


def test_the_owner_sees_both_sides() -> None:
    result = estimate(harbour(), prices=example(), paid=200.0, worth=900.0)
    assert result.owner is not None and result.owner.over is not None and result.total.money is not None
    assert result.owner.stands.likely == pytest.approx(200 + result.total.money.likely)
    assert result.owner.over.low == pytest.approx(result.owner.stands.low - 900)


def test_every_row_of_minutes_says_where_it_comes_from() -> None:
    for action, rows in table("minutes").items():
        if action == "spread":
            assert "estimate, no source" in rows["source"]
            continue
        for name, row in rows.items():
            assert set(row) == {"minutes", "source"}, (action, name)
            assert "no source" in row["source"] or "published" in row["source"], (action, name)


# --- the user's list --------------------------------------------------------------------------------------------------


def test_own_minutes_and_rows_take_the_place_of_the_shipped_ones(tmp_path: Path) -> None:
    path = tmp_path / "prices.yaml"
    path.write_text(
        "currency: shillings\nhour: 60\nminutes: {cut: {any: 100}, around: {trace_zone: 0}}\n"
        "parts:\n  - {kind: tube, type: 866a, price: 7}\n  - {kind: tube, price: 9}\n"
    )
    prices = read_prices(path)
    result = estimate(harbour(), prices=prices)
    assert result.prices is not None and result.prices.currency == "shillings"
    cuts = sum(step.action == "cut" for step in harbour().steps)
    more = estimate(harbour()).total.minutes.likely - 4 * 65 + cuts * 95
    assert result.total.minutes.likely == pytest.approx(more)
    assert result.shares[0].materials is not None and result.shares[0].materials.likely == pytest.approx(14)
    assert any(line.spec.kind == "fuse" for line in result.unpriced)


@pytest.mark.parametrize(
    ("text", "line", "says"),
    [
        ("hour: 5\n", 1, "currency"),
        ("currency: EUR\n", 1, "hour"),
        ("currency: EUR\nhour: lots\n", 2, "no amount"),
        ("currency: EUR\nhour: -5\n", 2, "no amount"),
        ("currency: EUR\nhour: nan\n", 2, "no amount"),
        ("currency: EUR\nhour: 5\nprats: []\n", 3, "nearest is `parts`"),
        ("currency: EUR\nhour: 5\nparts: 5\n", 3, "list of rows"),
        ("currency: EUR\nhour: 5\nparts:\n - {kind: resistor}\n", 4, "has a price"),
        ("currency: EUR\nhour: 5\nparts:\n - {kind: resister, price: 1}\n", 4, "nearest is `resistor`"),
        ("currency: EUR\nhour: 5\nparts:\n - {kind: resistor, upto: lots, price: 1}\n", 4, "no rating"),
        (
            "currency: EUR\nhour: 5\nparts:\n - {kind: resistor, upto: 5W, prize: 1, price: 1}\n",
            4,
            "nearest is `price`",
        ),
        ("currency: EUR\nhour: 5\nspread: {low: 2, high: 3}\n", 3, "at most 1"),
        ("currency: EUR\nhour: 5\nminutes: {cutt: {any: 5}}\n", 3, "nearest is `cut`"),
        ("currency: EUR\nhour: 5\nhour: 6\n", 3, "twice"),
        ("- a\n", 1, "table"),
        ("", 1, "empty"),
        ("currency: !!python/object:os.system EUR\nhour: 5\n", 1, "not taken"),
        ("currency: [\n", 2, "no YAML"),
    ],
)
def test_a_faulty_list_names_the_line(tmp_path: Path, text: str, line: int, says: str) -> None:
    path = tmp_path / "prices.yaml"
    path.write_text(text)
    with pytest.raises(Faulty) as caught:
        read_prices(path)
    fault = caught.value.faults[0]
    assert fault.place.line == line
    assert says in f"{fault.says} {fault.hint}"


def test_the_command_line(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    found = str(ROOT / "examples" / "kitchen-radio.found")
    priced = ["worklist", found, "--estimate", "--prices", str(EXAMPLE), "--paid", "40", "--worth", "300"]
    assert run(priced) == 0
    text = capsys.readouterr().out
    for words in ("before power", "may wait", "EUR: low, likely, high", "more than it is worth", "no offer"):
        assert words in text
    assert run(["worklist", found, "--estimate"]) == 0
    assert "No price list" in capsys.readouterr().out
    for wrong in (
        ["--estimate", "--paid", "40"],
        ["--prices", str(EXAMPLE)],
        ["--estimate", "--prices", str(EXAMPLE), "--paid", "-1"],
        ["--estimate", "--prices", str(tmp_path / "none.yaml")],
        ["--estimate", "-o", str(tmp_path / "x.csv")],
    ):
        assert run(["worklist", found, *wrong]) == 2, wrong
    assert capsys.readouterr().err.count("netdiff: ") >= 4
