"""The reference page: every example of it is read, and it shows every statement. And the kept tables."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from netdiff.language import Model, Unit, read_model, read_model_text, read_unit, render_fault
from netdiff.language import statements as st
from netdiff.language.lexing import Lexicon
from netdiff.language.parsing import Misfit, grammar
from netdiff.language.plans import PLANS
from netdiff.language.tables import KINDS, fingerprint, from_grammar, from_tables, reserved_words, tables
from netdiff.resources import folder

ROOT = Path(__file__).resolve().parents[1]
PAGE = (ROOT / "netdiff" / "language" / "README.md").read_text(encoding="utf-8")


def blocks(kind: str) -> list[str]:
    return re.findall(rf"^```{kind}\n(.*?)^```$", PAGE, re.DOTALL | re.MULTILINE)


@pytest.fixture
def pair(tmp_path: Path) -> tuple[Model, Unit]:
    (tmp_path / "example-parts.yaml").write_text("kinds:\n  gadget:\n    letters: [A]\n    terminals: in out\n")
    (tmp_path / "example.stock").write_text("\n".join(blocks("stock")), encoding="utf-8")
    (tmp_path / "unit.found").write_text("\n".join(blocks("found")), encoding="utf-8")
    model, faults = read_model(tmp_path / "example.stock")
    assert model is not None, [render_fault(fault) for fault in faults]
    unit, faults = read_unit(tmp_path / "unit.found")
    assert unit is not None, [render_fault(fault) for fault in faults]
    return model, unit


def test_every_example_reads(pair: tuple[Model, Unit]) -> None:
    model, unit = pair
    assert len(model.circuit(frozenset({"late"})).parts) > 25
    assert unit.production == {"late"}


def test_every_statement_is_shown(pair: tuple[Model, Unit]) -> None:
    model, unit = pair
    shown = {type(s.statement if isinstance(s, st.Only) else s) for s in (*model.statements, *unit.statements)}
    assert shown | {st.Only} == set(st.Statement.__args__)
    conductors = {s.conductor for s in model.statements if isinstance(s, st.Chain)}
    assert conductors == {"", "wire", "bare", "bus", "shielded", "coax", "twisted", "strap", "bolted"}


def test_the_faulty_example_says_what_the_page_says() -> None:
    for block in blocks("fault"):
        text, _, said = block.partition("---\n")
        _, faults = read_model_text(text, "text.stock")
        assert "\n".join(render_fault(fault) for fault in faults) == said.rstrip("\n")


def test_every_rule_has_a_plan() -> None:
    rules = {rule.origin.name.removeprefix("common__") for kind in KINDS for rule in from_grammar(kind).rules}
    inner = {"start", "statement", "attribute", "conductor", "setting", "mode", "across", "amount", "but", "of",
             "remark", "variants"}  # fmt: skip
    assert {name for name in rules if not name.startswith("_")} == PLANS.keys() | inner


@pytest.mark.parametrize("kind", KINDS)
def test_the_kept_tables_are_those_of_the_grammar(kind: str) -> None:
    kept, made = from_tables(kind), from_grammar(kind)
    assert kept is not None, (
        "the grammars have changed: write grammars/tables.json anew (see netdiff/language/tables.py)"
    )
    assert [str(rule) for rule in kept.rules] == [str(rule) for rule in made.rules]
    assert {t.name: t.pattern.to_regexp() for t in kept.terminals} == {
        t.name: t.pattern.to_regexp() for t in made.terminals
    }
    for shape in (("DESIGNATOR", "NAME", "VALUE", "TEXT"), ("TERMINAL", "_DASH", "DESIGNATOR", "_DASH", "NAME")):
        assert kept.parse(shape).pretty() == made.parse(shape).pretty()  # type: ignore[arg-type]


def test_tables_of_another_grammar_are_not_used(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert f'"fingerprint":"{fingerprint()}"' in tables()
    for content in ("{}", "[]", "no json", '{"fingerprint":"0"}'):
        (tmp_path / "tables.json").write_text(content)
        monkeypatch.setattr("netdiff.language.tables.FILE", str(tmp_path / "tables.json"))
        assert from_tables("stock") is None


def test_the_lexemes_come_from_the_grammar() -> None:
    common = (folder("grammars") / "common.lark").read_text(encoding="utf-8")
    assert {"ground", "braid", "as-drawn", "keep"} <= set(reserved_words())
    lexicon = grammar("stock").lexicon
    assert isinstance(lexicon, Lexicon)
    for word, name in [("V5.g1", "TERMINAL"), ("?K1", "DESIGNATOR"), ("C14.+/-", "PASS"), ("b+", "NAME"),
                       ("4k7", "VALUE"),
                       ("6V6GT", "VALUE"), ("EL84", "DESIGNATOR"), ("?", "QUERY"), ("cw/phone", "VALUE")]:  # fmt: skip
        assert lexicon.sort(word) == name
        assert f"\n{name}: " in common


def test_a_shape_that_nothing_fits_says_where() -> None:
    plan = grammar("stock").plan(("TERMINAL", "VALUE"))
    assert isinstance(plan, Misfit)
    assert (plan.index, plan.expected) == (1, {"_DASH"})
