"""Lines into statements: every lexeme and every statement of both kinds of file."""

from __future__ import annotations

import pytest

from netdiff.circuit import Place
from netdiff.language import read_model_text
from netdiff.language import statements as st
from netdiff.language.reading import read_statements

AT = Place("t", 1, 1)


def one(line: str, kind: str) -> st.Statement:
    """The statement of a line; the head of the file stands in the second line, which is then a fault of its own."""
    source, statements = read_statements(line, kind, "t")
    faults = [fault for fault in source.faults if "first statement" not in fault.says]
    assert not faults, faults
    (statement,) = statements
    return statement


BOTH: list[tuple[str, st.Statement]] = [
    ("ground frame", st.Ground(AT, "frame")),
    ('use "my-parts.yaml"', st.Use(AT, "my-parts.yaml")),
    ('zone rear "Rear apron"', st.ZoneLine(AT, "rear", "Rear apron")),
    ("zone rear", st.ZoneLine(AT, "rear", "")),
    (
        'R12 resistor 20k 50W 10% "bias"',
        st.PartLine(AT, "R12", ("resistor", "20k", "50W", "10%"), "bias", ()),
    ),
    ("V3 tube EL84", st.PartLine(AT, "V3", ("tube", "EL84"), "", ())),
    ("S2 rotary 2x6 at 3", st.PartLine(AT, "S2", ("rotary", "2x6", "at", "3"), "", ())),
    ("A1 block in out on bare", st.PartLine(AT, "A1", ("block", "in", "out", "on", "bare"), "", ())),
    (
        'winding T1 1 -- 2, 115Vac, 4ohm, "primary"',
        st.WindingLine(
            AT, "T1", ("1", "2"),
            (st.Attribute(("115Vac",)), st.Attribute(("4ohm",)), st.Attribute(text="primary")),
        ),
    ),
    ("net b+ supply 600V", st.NetLine(AT, "b+", ("supply", "600V"), ())),
    ("net heater heater shielded", st.NetLine(AT, "heater", ("heater", "shielded"), ())),
    ("J1.tip -- C1 -- V1.g1", st.Chain(AT, "", ("J1.tip", "C1", "V1.g1"), "TDT", ())),
    ("b+--R1--b-", st.Chain(AT, "", ("b+", "R1", "b-"), "NDN", ())),
    ("M1.- -- C14.+/- -- ?", st.Chain(AT, "", ("M1.-", "C14.+/-", "?"), "TP?", ())),
    ("M1.---b-", st.Chain(AT, "", ("M1.-", "b-"), "TN", ())),
    ("?K1.c -- open", st.Chain(AT, "", ("?K1.c", "open"), "TO", ())),
    (
        "wire A1.x -- B2.y, 90mm, 20AWG, \"green\"",
        st.Chain(
            AT, "wire", ("A1.x", "B2.y"), "TT",
            (st.Attribute(("90mm",)), st.Attribute(("20AWG",)), st.Attribute(text="green")),
        ),
    ),
    (
        "coax L8.2 -- J5.center, cable W3, RG8, braid chassis -- open",
        st.Chain(
            AT, "coax", ("L8.2", "J5.center"), "TT",
            (st.Attribute(("cable", "W3")), st.Attribute(("RG8",)), st.Attribute(braid=("chassis", "open"))),
        ),
    ),
    (
        "bare TB2.1 -- C31.+, bare 25mm, gap 3mm to S1.1",
        st.Chain(
            AT, "bare", ("TB2.1", "C31.+"), "TT",
            (st.Attribute(("bare", "25mm")), st.Attribute(("gap", "3mm"), to="S1.1")),
        ),
    ),
    ("bolted J2.shell -- chassis", st.Chain(AT, "bolted", ("J2.shell", "chassis"), "TN", ())),
    ("insulated J2 J3", st.Insulated(AT, ("J2", "J3"))),
    (
        'state keyed "key down, phone": S3 at phone, S1 on, V6 V7 out, J2 open',
        st.StateLine(
            AT, "keyed", "key down, phone",
            (("S3", "phone"), ("S1", "on"), ("V6", "out"), ("V7", "out"), ("J2", "open")), (),
        ),
    ),
    ("state idle, power off", st.StateLine(AT, "idle", "", (), ("power off",))),
    ("state idle: power off, S1 on", st.StateLine(AT, "idle", "", (("S1", "on"),), ("power off",))),
    (
        "ohms V1.5 -- chassis = 470k 20%",
        st.ReadingLine(AT, "ohms", "V1.5", "chassis", False, ("470k", "20%"), ""),
    ),
    ("volts V5.g2=-50..-40V in keyed", st.ReadingLine(AT, "volts", "V5.g2", "", False, ("-50..-40V",), "keyed")),
    ("amps M1 = 110mA in keyed", st.ReadingLine(AT, "amps", "M1", "", False, ("110mA",), "keyed")),
    ("watts J5.center = 45W in keyed", st.ReadingLine(AT, "watts", "J5.center", "", False, ("45W",), "keyed")),
    ("ohms R1.1 -- R1.2 = open", st.ReadingLine(AT, "ohms", "R1.1", "R1.2", False, (), "")),
    ("ohms R1.1 -- R1.2 = >20M", st.ReadingLine(AT, "ohms", "R1.1", "R1.2", True, ("20M",), "")),
]  # fmt: skip

STOCK: list[tuple[str, st.Statement]] = [
    ('stock "Harbourlight HL-45"', st.StockHead(AT, "Harbourlight HL-45")),
    (
        'drawing "sheet 3, change B", M thousand, 1000 ohms per volt',
        st.Drawing(AT, "sheet 3, change B", (("M", "thousand"), ("1000", "ohms", "per", "volt"))),
    ),
    ("load 110mA V5.p -- V5.k in keyed", st.LoadLine(AT, "110mA", "V5.p", "V5.k", "keyed")),
    ("signal audio: J1.tip > V1.g1 > T3.1", st.SignalLine(AT, "audio", ("J1.tip", "V1.g1", "T3.1"))),
    ('production late "serials from 2000"', st.Production(AT, "late", "serials from 2000")),
    (
        "only early late: b+ -- C13.+/- -- chassis",
        st.Only(AT, ("early", "late"), st.Chain(AT, "", ("b+", "C13.+/-", "chassis"), "NPN", ())),
    ),
    (
        "only late: wire V1.p -- b+",
        st.Only(AT, ("late",), st.Chain(AT, "wire", ("V1.p", "b+"), "TN", ())),
    ),
]

FOUND: list[tuple[str, st.Statement]] = [
    (
        'found "No. 7" of "x.stock" production early late',
        st.FoundHead(AT, "No. 7", "x.stock", ("early", "late")),
    ),
    ("inspected 2026-03-02", st.Inspected(AT, "2026-03-02")),
    ('by "bench 2"', st.By(AT, "bench 2")),
    ("traced rear J1 V2.g2 but R12", st.Traced(AT, ("rear", "J1", "V2.g2"), ("R12",), False)),
    ("as-drawn crystal-deck R3", st.Traced(AT, ("crystal-deck", "R3"), (), True)),
    ("missing R7 V5", st.Missing(AT, "", ("R7", "V5"))),
    ("missing socket V5", st.Missing(AT, "socket", ("V5",))),
    (
        'at TB3.2: R5 C7 ? "green wire to J1"',
        st.Landing(AT, "TB3.2", ("R5", "C7", "?", '"green wire to J1"'), "DD?X"),
    ),
    ("at TB3.2: open", st.Landing(AT, "TB3.2", ("open",), "O")),
    (
        'R12 10k 25W, charred, "twice", measured 35k',
        st.PartLine(
            AT, "R12", ("10k", "25W"), "",
            (st.Attribute(("charred",)), st.Attribute(text="twice"), st.Attribute(("measured", "35k"))),
        ),
    ),
    ("V2.k, cold-joint", st.ConditionLine(AT, "V2.k", (st.Attribute(("cold-joint",)),))),
    ("observed audio at V1.p = weak", st.Observed(AT, "audio", "V1.p", "weak")),
    ('photo "img.jpg" of J5 V2.k, "new jacks"', st.Photo(AT, "img.jpg", ("J5", "V2.k"), "new jacks")),
    ('keep ?F1 "fuse in the cord"', st.Keep(AT, ("?F1",), "fuse in the cord")),
    ('note R5 "a ""quoted"" word"', st.Note(AT, ("R5",), 'a "quoted" word')),
    ('note "anything"', st.Note(AT, (), "anything")),
]  # fmt: skip


@pytest.mark.parametrize(("line", "meant"), BOTH)
@pytest.mark.parametrize("kind", ["stock", "found"])
def test_statements_of_both_kinds(line: str, meant: st.Statement, kind: str) -> None:
    assert one(line, kind) == meant


@pytest.mark.parametrize(("line", "meant"), STOCK)
def test_statements_of_a_stock_file(line: str, meant: st.Statement) -> None:
    assert one(line, "stock") == meant


@pytest.mark.parametrize(("line", "meant"), FOUND)
def test_statements_of_a_found_file(line: str, meant: st.Statement) -> None:
    assert one(line, "found") == meant


@pytest.mark.parametrize("dash", ["--", "—", "–"])
@pytest.mark.parametrize(("left", "right"), ['""', "“”", "„“", "””"])
def test_what_telephones_type(dash: str, left: str, right: str) -> None:
    line = f"\ufeffwire\u00a0A1.x {dash} B2.y, {left}it’s — green{right}"
    assert one(line, "stock") == st.Chain(
        AT, "wire", ("A1.x", "B2.y"), "TT", (st.Attribute(text="it’s — green"),)
    )  # fmt: skip


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_line_ends(end: str) -> None:
    _, statements = read_statements(
        end.join(['stock "x"  # the model', "", "# nothing", "ground chassis"]), "stock", "t"
    )
    assert statements == [st.StockHead(AT, "x"), st.Ground(Place("t", 4, 1), "chassis")]


def test_purposes_name_nets_and_reserved_words_do_not() -> None:
    for name in ("heater", "rf", "audio", "key", "b+", "b-", "out", "supply"):
        assert one(f"net {name}", "stock") == st.NetLine(AT, name, (), ())
    for name in ("load", "in", "open", "braid", "only", "traced", "wire"):
        _, faults = read_model_text(f'stock "x"\nnet {name}\n')
        assert [f.says for f in faults] == [f"`{name}` is a word of the language and names nothing else"]
