"""The chart and its verdicts: as drawn, as found, as measured."""

from __future__ import annotations

import csv
import io
import json
from math import inf
from pathlib import Path

import pytest

from netdiff.cli import run
from netdiff.comparison.follow import Unknown
from netdiff.language import read_model
from netdiff.readings import Row, chart, loads, row_between
from netdiff.reporting.readings import as_csv, as_json
from tests.texts import compared, model

ROOT = Path(__file__).resolve().parent.parent
STOCK = """
stock "T"
ground chassis
V1 tube 6J5
R1 resistor 470k 1W 10%
R2 resistor 1k 1W 10%
R3 resistor 100k 1W 10%
C1 electrolytic 16u 450V
net b+ supply 200V
V1.g1 -- R1 -- chassis
V1.k -- R2 -- chassis
V1.p -- R3 -- b+
b+ -- C1.+/- -- chassis
state playing: V1 in
load 1mA V1.p -- V1.k in playing
ohms V1.g1 -- chassis = 470k 20%
ohms V1.k -- chassis = 2.2k 10%
"""
FOUND = 'found "u" of "t.stock"\ntraced V1 R1 R2 R3 C1\n'
AS_DRAWN = "V1.g1 -- R1 -- chassis\nV1.k -- R2 -- chassis\nV1.p -- R3 -- b+\nb+ -- C1.+/- -- chassis\n"


def row(rows: tuple[Row, ...], a: str, quantity: str = "ohms") -> Row:
    return next(one for one in rows if one.a == a and one.quantity == quantity)


def unit(wires: str = AS_DRAWN, more: str = "") -> tuple[Row, ...]:
    return chart(compared(STOCK, FOUND + wires + more))


def test_the_factorys_figures_test_the_transcription() -> None:
    rows = chart(model(STOCK).circuit(frozenset()))
    assert row(rows, "V1.g1").judgement == "agrees"
    wrong = row(rows, "V1.k")
    assert wrong.judgement == "unexplained" and "typed in" in wrong.verdict


def test_a_reading_that_agrees() -> None:
    got = row(unit(more="ohms V1.g1 -- chassis = 455k\n"), "V1.g1")
    assert (got.judgement, got.verdict) == ("agrees", "agrees with the drawing")


def test_a_reading_explained_by_a_modification_names_it() -> None:
    rows = unit(AS_DRAWN.replace("V1.k -- R2 -- chassis", "V1.k -- R2 -- chassis\nV1.k -- chassis"), "ohms V1.k = 0\n")
    got = row(rows, "V1.k")
    assert got.judgement == "explained" and got.modification == "mod-1" and "R2" in got.verdict


def test_a_reading_that_nothing_explains_says_where_to_look() -> None:
    got = row(unit(more="ohms V1.g1 -- chassis = 90k\n"), "V1.g1")
    assert got.judgement == "unexplained" and got.near == ("R1",)
    assert "something is still to be found near R1" in got.verdict


def test_a_reading_as_drawn_where_the_file_says_otherwise_is_doubtful() -> None:
    rows = unit(AS_DRAWN.replace("V1.g1 -- R1 -- chassis", "V1.g1 -- R1 -- V1.k"), "ohms V1.g1 -- chassis = 300k\n")
    assert row(rows, "V1.g1").judgement in ("unexplained", "doubtful", "explained")
    cut = unit(
        AS_DRAWN.replace("V1.g1 -- R1 -- chassis", "V1.g1 -- R1\nR1.2 -- open"), "ohms V1.g1 -- chassis = 470k\n"
    )
    got = row(cut, "V1.g1")
    assert got.judgement == "doubtful" and "look again" in got.verdict


def test_a_leaking_capacitor_explains_a_low_reading() -> None:
    got = row(unit(more="C1 leaking\nohms b+ -- chassis = 40k\n".replace("C1 leaking", "C1, leaking")), "b+")
    assert got.judgement == "explained" and "C1" in got.verdict


def test_open_and_more_than_are_readings() -> None:
    assert row(unit(more="ohms b+ -- chassis = open\n"), "b+").judgement == "agrees"
    assert row(unit(more="ohms b+ -- chassis = >20M\n"), "b+").judgement == "agrees"


def test_volts_in_a_state_are_those_that_the_meter_shows() -> None:
    rows = chart(model(STOCK).circuit(frozenset()), "playing")
    got = row(rows, "V1.p", "volts")
    assert got.stock is not None and got.stock.nominal == pytest.approx(100, rel=0.02)


def test_the_meter_of_an_old_chart_draws_its_current() -> None:
    """1000 ohms per volt: 250k beside the 100k behind the plate on the 250 V range; 250/350 of what is there."""
    text = STOCK.replace("ground", 'drawing "A", 1000 ohms per volt\nground', 1)
    text += "volts V1.p = 71V 5% in playing\n"
    got = row(chart(model(text).circuit(frozenset()), "playing"), "V1.p", "volts")
    assert got.stock is not None and got.stock.nominal == pytest.approx(100 * 250 / 350, rel=0.02)
    assert got.judgement == "agrees"


def test_between_any_two_points_by_the_files_own_words() -> None:
    (got,) = row_between(model(STOCK).circuit(frozenset()), "V1.8", "V1.5")
    assert (got.a, got.b) == ("V1.k", "V1.g1")
    assert got.stock is not None and got.stock.nominal == pytest.approx(471e3)


def test_unknown_words_name_what_there_is() -> None:
    circuit = model(STOCK).circuit(frozenset())
    with pytest.raises(Unknown, match="playing"):
        chart(circuit, "playng")
    with pytest.raises(Unknown, match="R9"):
        chart(circuit, around="R9")
    with pytest.raises(Unknown):
        row_between(circuit, "V1.g7", "chassis")


def test_the_json_writes_null_for_open() -> None:
    told = as_json(chart(model(STOCK).circuit(frozenset())))
    text = json.dumps(told, allow_nan=False)
    assert "Infinity" not in text and "NaN" not in text
    plate = next(one for one in told["readings"] if one["from"] == "b+")
    assert plate["stock"] == {"low": None, "nominal": None, "high": None} and plate["found"] is None
    assert list(told["readings"][0])[:10] == [
        "quantity", "from", "to", "state", "stock", "found", "factory", "measured", "verdict", "modification",
    ]  # fmt: skip


def test_the_csv_opens_in_a_spreadsheet() -> None:
    rows = list(csv.reader(io.StringIO(as_csv(chart(model(STOCK).circuit(frozenset()))).lstrip("\ufeff"))))
    assert rows[0][:4] == ["quantity", "from", "to", "state"]
    assert all(len(one) == len(rows[0]) for one in rows)


@pytest.mark.parametrize("name", ["harbourlight-hl45", "five-tube-acdc"])
def test_every_figure_of_the_demos_charts_that_can_be_computed_agrees(name: str) -> None:
    read, faults = read_model(ROOT / "netlists" / f"{name}.stock")
    assert read is not None and not faults
    for production in read.variants():
        rows = chart(read.circuit(production), whole=False)
        computed = [one for one in rows if one.factory is not None and one.stock is not None]
        assert len(computed) >= 30
        assert not [(one.a, one.state, one.verdict) for one in computed if one.judgement != "agrees"]


def test_the_command_reads_a_drawing_and_a_unit(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["readings", str(ROOT / "netlists" / "lantern.stock"), "--between", "V1.g1", "chassis"]) == 0
    told = capsys.readouterr().out
    assert "47 kΩ (42.3 kΩ to 51.7 kΩ)" in told and "Unplug the unit" in told
    assert run(["readings", str(ROOT / "examples" / "harbourlight-0417.found")]) == 0
    assert "explained by mod-" in capsys.readouterr().out.lower()


def test_bad_words_end_with_2(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["readings", str(ROOT / "netlists" / "lantern.stock"), "--state", "nowhere"]) == 2
    assert "nowhere" in capsys.readouterr().err
    assert run(["readings", str(ROOT / "netlists" / "lantern.stock"), "-o", "x.txt"]) == 2


def test_open_is_infinite_inside() -> None:
    (got,) = row_between(model(STOCK).circuit(frozenset()), "b+", "chassis")
    assert got.stock is not None and got.stock.low == inf


def test_what_each_part_bears_stands_beside_its_rating() -> None:
    rows = {one.name: one for one in loads(model(STOCK).circuit(frozenset()), "playing")}
    drop = rows["R3"].drawn
    assert (
        drop is not None and drop.volts == pytest.approx(100, rel=0.01) and drop.watts == pytest.approx(0.1, rel=0.02)
    )
    assert rows["R3"].share == pytest.approx(0.1, rel=0.02) and rows["R3"].found is None
    assert rows["C1"].drawn is not None and rows["C1"].drawn.volts == pytest.approx(200, rel=0.01)


def test_what_a_part_of_the_unit_bears_stands_beside_what_it_bears_as_drawn() -> None:
    found = FOUND + "R3 47k 1W\n" + AS_DRAWN
    row_ = next(one for one in loads(compared(STOCK, found), "playing") if one.name == "R3")
    assert row_.drawn is not None and row_.found is not None
    assert row_.drawn.watts == pytest.approx(0.1, rel=0.02) and row_.found.watts == pytest.approx(0.047, rel=0.02)


def test_windings_are_reckoned_with_the_current_of_their_rectifier() -> None:
    read, _ = read_model(ROOT / "netlists" / "harbourlight-hl45.stock")
    assert read is not None
    rows = {one.name: one for one in loads(read.circuit(read.variants()[0]), "phone")}
    winding = rows["T2.3"].drawn
    # 25 ohms, half of the winding, at 0.29 A behind a choke.
    assert winding is not None and winding.watts == pytest.approx(0.292**2 * 25, rel=0.02)


def test_the_command_lists_what_parts_bear_in_a_state(capsys: pytest.CaptureFixture[str]) -> None:
    file = str(ROOT / "examples" / "harbourlight-0417.found")
    run(["readings", file, "--state", "phone"])
    assert "What each part bears" in capsys.readouterr().out
    run(["readings", file, "--state", "phone", "--around", "R17", "--json"])
    assert [one["part"] for one in json.loads(capsys.readouterr().out)["parts"]] == ["R17"]
