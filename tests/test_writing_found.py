"""Units written as text read back to the same wiring and the same knowledge of it."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import netdiff
from netdiff.circuit import Circuit, Found
from netdiff.language import Model, Unit, read, read_unit_text
from netdiff.language.writing_found import found_text
from tests import generate, modifier, random_circuits, same
from tests.texts import model, unit

ROOT = Path(__file__).parents[1]
UNITS = sorted(ROOT.glob("examples/*.found"))
LANTERN = ROOT / "netlists" / "lantern.stock"


def knows_the_same(one: Found, other: Found) -> None:
    assert same.parts(one.circuit) == same.parts(other.circuit)
    reading = {name: (p.measured, p.conditions, p.read_off) for name, p in one.circuit.parts.items()}
    assert reading == {name: (p.measured, p.conditions, p.read_off) for name, p in other.circuit.parts.items()}
    assert same.nets(one.circuit) == same.nets(other.circuit)
    assert written(one) == written(other)
    assert same.rest(one.circuit) == same.rest(other.circuit)
    for name in ("traced", "as_drawn", "missing", "missing_sockets", "unfollowed", "mentioned", "inspected", "by"):
        assert getattr(one, name) == getattr(other, name), name
    for name in ("conditions", "observations", "photos", "keeps", "notes"):
        assert [x[:-1] for x in getattr(one, name)] == [x[:-1] for x in getattr(other, name)], name


def written(one: Found) -> object:
    """The runs that the file itself writes: what is as drawn is worked out anew, and may hang elsewhere on its net."""
    runs = tuple(run for run in one.circuit.runs if run.evidence != "as-drawn")
    return same.runs(Circuit("", "", runs=runs), unit=True)


def again(one: Unit, folder: Path | None = None) -> Found:
    text = found_text(one)
    back, faults = read_unit_text(text, one.model, one.file, folder)
    assert back is not None, [(text.splitlines()[f.place.line - 1], f.says, f.hint) for f in faults]
    return back.found(active(one))


def active(one: Unit) -> frozenset[str]:
    return one.production if one.production is not None else one.model.variants()[0]


@pytest.mark.parametrize("path", UNITS, ids=lambda path: path.stem)
def test_the_demo_reads_back(path: Path) -> None:
    one = netdiff.read(path)
    assert isinstance(one, Unit)
    knows_the_same(one.found(active(one)), again(one, path.parent))


def test_the_written_unit_compares_as_the_unit() -> None:
    one = netdiff.read(UNITS[0])
    assert isinstance(one, Unit)
    back, faults = read_unit_text(found_text(one), one.model, one.file)
    assert back is not None, faults
    told = [[(f.kind, f.parts, f.says) for f in netdiff.compare(u).findings] for u in (one, back)]
    assert told[0] == told[1] and told[0]


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10**6), st.integers(1, 6))
def test_modified_units_read_back(seed: int, count: int) -> None:
    drawn = read(LANTERN)
    assert isinstance(drawn, Model)
    one, faults = read_unit_text(
        modifier.write(modifier.modified(drawn.circuit(), seed, count), "lantern.stock"), drawn, "u.found"
    )
    assert one is not None, faults
    knows_the_same(one.found(), again(one))


@settings(max_examples=80, deadline=None)
@given(st.integers(0, 10**6), st.integers(2, 25), st.integers(0, 5))
def test_retold_units_read_back(seed: int, size: int, edits: int) -> None:
    """Chains cut anywhere, parts turned round, own tie points, joints told twice."""
    rng = random.Random(seed)
    text = generate.stock(rng, size)
    one, faults = read_unit_text(generate.retranscribe(text, rng, edits), model(text), "u.found")
    assert one is not None, faults
    knows_the_same(one.found(), again(one))


@settings(max_examples=80, deadline=None)
@given(st.integers(0, 10**6), st.integers(2, 25), st.integers(0, 5), st.floats(0, 1))
def test_units_that_never_were_a_text_read_back(seed: int, size: int, edits: int, traced: float) -> None:
    rng = random.Random(seed)
    stock = random_circuits.circuit(rng, size)
    found = random_circuits.unit(stock, rng, edits, traced=traced, kinds=("cut", "join", "move", "stranger", "series"))
    back, faults = read_unit_text(found_text(found, stock=stock, stock_file="t.stock"), _model_of(stock), "u.found")
    assert back is not None, faults
    known = back.found()
    # Ends of leads on a lug that was looked at count as looked at; that the reader finds out by itself.
    assert known.traced >= found.traced
    assert set(same.runs(known.circuit)) >= {r for r in same.runs(found.circuit) if r[0] != r[1]}


def _model_of(stock: Circuit) -> Model:
    from netdiff.language.writing_out import stock_text

    return model(stock_text(stock))


STOCK = """stock "S"
zone rear "Rear"
J1 jack-2
F1 fuse 2A
zone under "Under"
V1 tube 6V6GT
R1 resistor 22k 2W 10% "screen"
R2 resistor 1k
C1A electrolytic 20u 450V
C1B electrolytic 20u 450V
S1 rotary 1x3
T1 transformer
winding T1 1 -- 2, 115Vac
winding T1 3 -- 4
net b+ supply 250V
state talking: S1 at 2
b+ -- R1 -- V1.g2
b+ -- C1A.+/- -- chassis
V1.k -- R2 -- chassis
V1.p -- T1.1
T1.2 -- b+
T1.3 -- F1 -- J1.tip
T1.4 -- J1.sleeve -- chassis
S1.c -- V1.g1
C1B.+ -- V1.g2
V1.h1 -- chassis
signal speech: V1.g1 > V1.p
"""
FOUND = """found "U ""x"" y" of "t.stock"
inspected 2026-03-02
by "bench 2"
zone under
?K1 relay-spdt 6V "relay"
?A1 unknown
zone lid "The lid"
?T2 transformer
winding ?T2 a -- b, 6.3Vac
R1 18k, charred, "odd", measured 19k
S1 at 3
C1A, leaking
V1.g1, cold-joint
V1 6K6GT
traced rear but J1.sleeve
traced V1 R1
as-drawn T1 but T1.3
missing R2
missing socket F1
net splice1
b+ -- R1 -- V1.g2
at V1.k: ?A1.red ? "green"
at V1.g3: open
b+ -- C1A.+, metered
splice1 -- ?K1.c, assumed
wire ?K1.no -- splice1, 120mm, "blue", bare 25mm, gap 3mm to V1.p, frayed
wire J1.tip -- open
shielded ?K1.nc -- V1.g1, braid ? -- open
insulated J1
state odd, power off: ?K1 on
ohms R1.1 -- R1.2 = >20M
volts V1.p = 17V in talking
observed speech at V1.p = weak
photo "p.jpg" of V1 J1.tip, "jack"
photo "q.jpg"
keep ?K1 "stays"
note R1 "burnt"
note "smells"
"""


def test_everything_that_a_found_file_may_say_reads_back(tmp_path: Path) -> None:
    for name in ("p.jpg", "q.jpg"):
        (tmp_path / name).write_bytes(b"")
    text = FOUND.replace("at V1.g3: open\n", "at V1.6: open\n")
    one, faults = read_unit_text(text, model(STOCK), "t.found", tmp_path)
    assert one is not None, [(f.place.line, f.says, f.hint) for f in faults]
    knows_the_same(one.found(), again(one, tmp_path))


def test_what_is_traced_by_its_zone_is_not_mentioned() -> None:
    """A silent part of a traced zone may be missing; one that the file names is there."""
    one = unit(STOCK, 'found "u" of "t.stock"\ntraced under but R2 V1.g1\nas-drawn rear but J1\nV1.k -- chassis\n')
    assert "R1" not in one.found().mentioned
    knows_the_same(one.found(), again(one))


@pytest.mark.parametrize("looked", ["", "traced F1\n", "traced rear\n", "traced F1.1\n", "traced J1\n"])
@pytest.mark.parametrize("gone", ["missing F1", "missing socket F1"])
def test_an_empty_socket_may_be_looked_at(gone: str, looked: str) -> None:
    if "socket" in gone and "F1" in looked:
        return
    one = unit(STOCK, f'found "u" of "t.stock"\n{gone}\n{looked}')
    knows_the_same(one.found(), again(one))


def test_a_unit_needs_its_drawing() -> None:
    with pytest.raises(TypeError, match="drawing"):
        found_text(Found(Circuit("u", "u.found")))


def test_a_circuit_alone_claims_nothing_traced() -> None:
    stock = model(STOCK).circuit()
    text = found_text(stock, ["a heading"], stock=stock, stock_file="../s/t.stock")
    assert text.startswith('found "S" of "../s/t.stock"\n# a heading\n') and "traced" not in text
