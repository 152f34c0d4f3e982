"""The tracing engine: what it asks, what it writes, and that a person who sees only what is asked comes to the same
comparison as the full found file."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as some

from netdiff.comparison import compare
from netdiff.language import read_model_text, read_unit
from netdiff.tracing.answers import Answer, Item
from netdiff.tracing.plan import Plan
from netdiff.tracing.questions import OFFERS, Question
from netdiff.tracing.session import Session
from netdiff.tracing.telling import Unclear
from netdiff.tracing.typed import parse
from tests.bench.tracing import DEMO, LATE, full, named, trace, without_zone
from tests.tracing_person import Person

HERE = Path(__file__).resolve().parent.parent
KINDS = ("resistor", "capacitor", "relay-spdt")


def begun(folder: Path, stock: str = "lantern", **more: str) -> Session:
    """A new unit of one of the demo's models, confirmed dead, every zone looked over."""
    shutil.copy(HERE / "netlists" / f"{stock}.stock", folder / "model.stock")
    session = Session.open(folder / "model.stock", found=folder / "unit.found", **more)  # type: ignore[arg-type]
    assert session.confirm("yes")
    return session


def looked_over(session: Session) -> Session:
    while (question := session.question()) is not None and question.form == "zone":
        assert session.answer("none").taken
    return session


def text(session: Session) -> str:
    return session.path.read_text(encoding="utf-8")


def statements(session: Session) -> list[str]:
    return [line.partition("  # trace")[0] for line in text(session).splitlines()][1:]


# --- the figures, in small


def test_a_zone_traced_by_questions_gives_the_comparison_of_the_full_file() -> None:
    demo = full(DEMO)
    told = trace(demo, without_zone(demo, "audio"), "audio")
    wanted = compare(demo)
    assert named(told.comparison) == named(wanted)
    assert told.comparison.coverage.zones == wanted.coverage.zones
    assert sorted(m.title for m in told.comparison.modifications) == sorted(m.title for m in wanted.modifications)
    assert told.questions <= 0.6 * wanted.coverage.zones["audio"].terminals


def test_a_small_unit_traced_from_nothing_gives_the_comparison_of_its_full_file(tmp_path: Path) -> None:
    unit, _ = read_unit(HERE / "examples" / "attic.found")
    assert unit is not None
    session = begun(tmp_path)
    person = Person(unit, frozenset())
    asked = 0
    while (question := session.question()) is not None:
        outcome = session.answer(person.answer(question))
        assert outcome.taken, (question, outcome)
        asked += 1
        assert asked < 60
    result = session.comparison()
    assert result is not None
    assert {f.kind for f in result.findings} == {f.kind for f in compare(unit).findings}
    assert result.coverage.total == compare(unit).coverage.total


# --- the order


def test_zones_go_by_what_their_nets_are_for_and_not_by_their_names() -> None:
    lines = """stock "Order"
zone harmless "Named to mislead"
J1 cord-2
F1 fuse 2A
T1 transformer
zone power "Only audio is here"
R1 resistor 10k
C1 capacitor .01
zone middle
R2 resistor 22k
R3 resistor 47k
winding T1 1 -- 2, 115Vac
winding T1 3 -- 4
net hot mains 115Vac
net neutral mains
net line audio
net b+ supply 300V
J1.L -- F1 -- hot -- T1.1
J1.N -- neutral -- T1.2
line -- R1 -- C1 -- chassis
line -- C1
b+ -- R2 -- R3 -- b+
T1.3 -- b+
T1.4 -- chassis
"""
    model, faults = read_model_text(lines.replace("line -- C1\n", ""))
    assert model is not None, faults
    assert Plan(model.circuit()).zones == ("harmless", "middle", "power")


def test_every_part_of_the_drawing_is_at_one_stop() -> None:
    plan = Plan(full(DEMO).model.circuit(LATE))
    met = [name for stop in plan.stops for name in stop.parts]
    assert len(met) == len(set(met))
    assert set(met) == {name for name, part in plan.circuit.parts.items() if part.kind.terminals}
    assert plan.zones[0] == "rear" and plan.zones.index("power") < plan.zones.index("audio")


def test_a_whole_socket_is_asked_before_its_pins_and_what_is_set_aside_next(tmp_path: Path) -> None:
    session = looked_over(begun(tmp_path))
    question = session.question()
    assert question is not None and question.key == "V1" and "are all 8 pins as drawn" in question.says
    assert {"R1", "R2", "Y1"} <= set(question.parts)
    assert session.answer("y but V1.k R1").taken
    following = [one.key for one in session.questions(2)]
    assert following == ["V1.k", "R1"]
    assert statements(session)[-1].startswith("as-drawn V1 ")


def test_what_is_skipped_comes_last_and_what_cannot_be_seen_not_again(tmp_path: Path) -> None:
    session = looked_over(begun(tmp_path))
    assert session.answer("skip").taken
    keys = [question.key for question in session.questions(30)]
    assert keys[-1] == "V1" and len(keys) > 1
    session.ask("J1")
    assert session.answer("cannot see").taken
    assert "J1" not in [question.key for question in session.questions(30)]
    while (question := session.question()) is not None and question.key != "V1":
        assert session.answer("y").taken
    assert session.question() is not None
    assert session.answer("y").taken
    assert session.question() is None


def test_both_ends_of_a_lead_are_asked_for_once(tmp_path: Path) -> None:
    session = looked_over(begun(tmp_path, "harbourlight-hl45", production="late", zone="audio"))
    session.ask("TB5.7")
    assert session.answer('R32 R33; wire TB3.1, 90mm, "blue"').taken
    other = session.ask("TB3.1")
    assert isinstance(other, Question)
    assert [lead.to for lead in other.known] == ["TB5.7"]
    session.ask("TB1.2")
    question = session.question()
    assert question is not None
    # The drawing has the wire from TB5.7 here; TB5.7 was told in full, without it: it is not expected any more.
    assert "TB5.7" not in [lead.to for lead in question.expected]
    assert "TB5.7" in [lead.to for lead in question.drawn]


# --- the answers


CASES = (
    ("y", Answer("as-drawn")),
    ("Y but V1.k R1", Answer("but", but=("V1.k", "R1"))),
    ("n", Answer("differs")),
    ("open", Answer("nothing")),
    ("missing", Answer("missing")),
    ("cannot see", Answer("unseen")),
    ("skip", Answer("skip")),
    ("is 10k 25W, charred, measured 35k", Answer("read", words="10k 25W, charred, measured 35k")),
    ("R5 C7.2 ?", Answer("these", items=(Item("R5"), Item("C7.2"), Item("?")))),
    ("some R5", Answer("some", items=(Item("R5"),))),
    ("?R3 chassis", Answer("these", items=(Item("?R3"), Item("chassis")))),
    ("?R3 resistor 680 1W", Answer("statement", words="?R3 resistor 680 1W")),
    ("R5; ?R3 resistor 680", Answer("these", items=(Item("R5"), Item("?R3", declare="resistor 680")))),
    (
        'wire TB1.2, 90mm, 20AWG, "red", frayed',
        Answer(
            "these", items=(Item("TB1.2", "", "wire", length="90mm", gauge="20AWG", text="red", condition="frayed"),)
        ),
    ),
    (
        "R5; shielded J1.ring, cable W1, RG-58, braid open -- E5.1, bare 3mm, gap 2mm to S1.1",
        Answer(
            "these",
            items=(
                Item("R5"),
                Item("J1.ring", "", "shielded", "W1", "RG-58", braid=("open", "E5.1"), bare="3mm", gap="2mm to S1.1"),
            ),
        ),
    ),
    ("R5, metered", Answer("these", items=(Item("R5", evidence="metered"),))),
    ("ohms V1.g1 -- chassis = 47k", Answer("statement", words="ohms V1.g1 -- chassis = 47k")),
    ("V1.p -- C1 -- rf", Answer("statement", words="V1.p -- C1 -- rf")),
    ("R12 10k 25W", Answer("statement", words="R12 10k 25W")),
    ('note "a; b"', Answer("statement", words='note "a; b"')),
    ("instead R5", Answer("these", items=(Item("R5"),), instead=True)),
)


@pytest.mark.parametrize(("typed", "meant"), CASES, ids=[typed for typed, _ in CASES])
def test_what_is_typed_is_what_was_meant(typed: str, meant: Answer) -> None:
    assert parse(typed, None, KINDS) == meant


@given(some.text(max_size=60))
def test_whatever_is_typed_becomes_an_answer_or_a_sentence(typed: str) -> None:
    says = ""
    try:
        says = parse(typed, None, KINDS).kind
    except Unclear as unclear:
        says = str(unclear)
    assert says


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(typed=some.one_of(some.text(max_size=40), some.sampled_from([case for case, _ in CASES])))
def test_no_answer_breaks_the_file(tmp_path_factory: pytest.TempPathFactory, typed: str) -> None:
    session = looked_over(begun(tmp_path_factory.mktemp("any")))
    before = session.path.read_bytes()
    outcome = session.answer(typed)
    unit, faults = read_unit(session.path)
    assert unit is not None, faults
    assert session.path.read_bytes().startswith(before)
    assert outcome.taken or session.path.read_bytes() == before
    assert outcome.says


def test_an_answer_is_statements_at_the_end_and_nothing_else_is_touched(tmp_path: Path) -> None:
    session = begun(tmp_path)
    session.path.write_bytes(
        b'found  "By hand"   of "model.stock"   # two  blanks\r\n\r\n# mine\r\nR1 10k 1W\r\nnote "no line end"'
    )
    before = session.path.read_bytes()
    outcome = session.answer("?R9 resistor 12k 1W")
    assert outcome.taken and outcome.changed
    after = session.path.read_bytes()
    assert (
        after.startswith(before)
        and after[len(before) :].startswith(b"\r\n")
        and b"\n" not in after.replace(b"\r\n", b"")
    )
    assert (
        outcome.statements == ("zone under", "?R9 resistor 12k 1W") or outcome.statements[-1] == "?R9 resistor 12k 1W"
    )


def test_constructions_become_runs_of_the_language(tmp_path: Path) -> None:
    session = looked_over(begun(tmp_path))
    session.ask("J2.center")
    assert session.answer("coax C1.2, cable W1, RG-58, 180mm, braid J2.shell -- open").taken
    assert statements(session)[-2:] == [
        "at J2.center: C1.2",
        "coax J2.center -- C1.2, cable W1, RG-58, 180mm, braid J2.shell -- open",
    ]
    session.ask("V1.k")
    assert session.answer("key, assumed").taken
    assert statements(session)[-2:] == ["traced V1.k", "V1.k -- key, assumed"]


def test_the_drawing_names_the_end_that_is_meant(tmp_path: Path) -> None:
    session = looked_over(begun(tmp_path))
    session.ask("V1.g2")
    assert session.answer("R1").statements == ("at V1.g2: R1.2",)
    session.ask("V1.g1")
    # R1 has one lead left: it is the other one, wherever the drawing has it.
    assert session.answer("R1 R2 Y1").statements == ("at V1.g1: R1.1 R2.2 Y1.2",)


def test_any_line_of_the_language_is_taken_at_any_question(tmp_path: Path) -> None:
    session = looked_over(begun(tmp_path))
    (tmp_path / "img.jpg").write_bytes(b"x")
    asked = session.question()
    for line in ('photo "img.jpg" of V1, "tube"', "ohms V1.g1 -- chassis = 47k", 'note V1 "dusty"', "V1.k, cold-joint"):
        assert session.answer(line).statements == (line,)
    assert session.question() == asked


def test_nothing_is_taken_before_the_unit_is_confirmed_dead(tmp_path: Path) -> None:
    session = begun(tmp_path)
    again = Session.open(session.path)
    before = text(session)
    for word in ("", "y", "no", "YES but"):
        assert not again.confirm(word)
        outcome = again.answer("none")
        assert not outcome.taken and "proved dead" in outcome.says and text(session) == before
    assert again.confirm(" Yes ")
    assert again.answer("none").taken


# --- undo


def test_undo_takes_back_any_number_of_steps_also_after_a_restart(tmp_path: Path) -> None:
    session = looked_over(begun(tmp_path))
    states = [text(session)]
    for answer in ("y but V1.k R1", "open", "missing", "y"):
        assert session.answer(answer).taken
        states.append(text(session))
    again = Session.open(session.path)
    again.confirm("yes")
    assert again.undo().taken and text(again) == states[-2]
    assert again.undo(2).taken and text(again) == states[1]
    question = again.question()
    assert question is not None and question.key == "V1.k"
    assert again.undo(99).taken and statements(again) == []
    assert not again.undo().taken


def test_a_line_that_a_hand_changed_stays_when_its_step_is_taken_back(tmp_path: Path) -> None:
    session = looked_over(begun(tmp_path))
    session.ask("V1.g2")
    session.answer("R1")
    session.path.write_text(text(session).replace("at V1.g2: R1.2", "at V1.g2: R1.2 C2.+"), encoding="utf-8")
    assert session.changed()
    assert session.recent(1)[0].edited
    outcome = session.undo()
    assert outcome.taken and "stays" in outcome.says
    assert "at V1.g2: R1.2 C2.+\n" in text(session)


# --- contradictions


def test_a_contradiction_between_two_ends_is_shown_with_both_lines(tmp_path: Path) -> None:
    session = looked_over(begun(tmp_path))
    session.ask("J1.tip")
    assert session.answer("V1.k").taken
    before = text(session)
    session.ask("V1.k")
    outcome = session.answer("R2")
    clash = outcome.contradiction
    assert not outcome.taken and clash is not None and text(session) == before
    assert [line.text for line in clash.lines] == ["at J1.tip: V1.k"]
    assert clash.answer[0].startswith("at V1.k: R2") and clash.yields
    assert session.answer("J1.tip R2").taken


def test_the_other_line_gives_way_if_the_tool_wrote_it_and_comes_back_with_undo(tmp_path: Path) -> None:
    session = looked_over(begun(tmp_path))
    session.ask("J1.tip")
    session.answer("V1.k")
    before = text(session)
    session.ask("V1.k")
    outcome = session.answer("instead R2")
    assert outcome.taken
    assert "#- " in text(session)
    result = session.comparison()
    assert result is not None and "J1.tip" in [question.key for question in session.questions(20)] + [
        point for question in session.questions(20) for point in question.points
    ]
    assert session.undo().taken and text(session) == before


def test_a_line_of_a_hand_never_gives_way(tmp_path: Path) -> None:
    session = looked_over(begun(tmp_path))
    session.path.write_text(text(session) + "at J1.tip: V1.k\n", encoding="utf-8")
    session.changed()
    session.ask("V1.k")
    before = text(session)
    outcome = session.answer("instead R2")
    assert not outcome.taken and outcome.contradiction is not None and not outcome.contradiction.yields
    assert text(session) == before


def test_as_drawn_is_contradicted_by_what_lands_elsewhere(tmp_path: Path) -> None:
    session = looked_over(begun(tmp_path))
    assert session.answer("y").taken  # V1 and what hangs there
    session.ask("J2.shell")
    outcome = session.answer("V1.p")
    assert outcome.contradiction is not None
    assert any(line.text.startswith("as-drawn V1") for line in outcome.contradiction.lines)
    assert session.answer("instead V1.p").taken
    assert "but V1.p" in text(session)


def test_a_strap_over_what_was_as_drawn_is_no_contradiction(tmp_path: Path) -> None:
    """The language cannot tell on which side of a strapped switch a lug is; the bench can."""
    session = looked_over(begun(tmp_path, "harbourlight-hl45", production="late"))
    session.ask("TB8")
    assert session.answer("y").taken
    for lug, lands in (
        ("F2.1", "TB8.2 F2.2"),
        ("F2.2", "F2.1 S3.1"),
        ("S3.1", "F2.2 S3.2"),
        ("S3.2", "S3.1 K2.c"),
        ("K2.c", "S3.2 K2.no"),
        ("K2.no", "K2.c K1.ca"),
        ("K1.ca", "K2.no K1.noa"),
    ):
        session.ask(lug)
        outcome = session.answer(lands)
        assert outcome.taken, outcome
    assert "at TB8.2: " in text(session)
    result = session.comparison()
    assert result is not None
    assert {"F2", "S3"} <= {name for f in result.findings if f.kind == "bypassed-part" for name in f.parts}


# --- tokens, going elsewhere, words


def test_the_same_token_is_taken_once_also_after_a_restart(tmp_path: Path) -> None:
    session = begun(tmp_path)
    first = session.answer("none", "token-1")
    assert first.taken and not first.repeated
    after = text(session)
    again = Session.open(session.path)
    again.confirm("yes")
    for other in (session, again):
        outcome = other.answer("missing R1", "token-1")
        assert outcome.taken and outcome.repeated and outcome.step == first.step and text(session) == after


def test_one_can_ask_about_anything_and_the_nearest_is_named(tmp_path: Path) -> None:
    session = begun(tmp_path)
    for what in ("rear", "V1", "V1.8", "J2.shell"):
        question = session.ask(what)
        assert isinstance(question, Question) and session.question() == question
    outcome = session.ask("V11")
    assert not isinstance(outcome, Question) and "V1" in outcome.says
    outcome = session.ask("V1.g7")
    assert not isinstance(outcome, Question) and "h1" in outcome.says


def test_completion_begins_with_what_the_drawing_has(tmp_path: Path) -> None:
    session = looked_over(begun(tmp_path))
    question = session.ask("V1.g1")
    assert isinstance(question, Question)
    assert session.completions("", question)[0] == OFFERS["as-drawn"].word
    assert {"Y1.2", "R2.2"} <= set(session.completions("", question))
    assert session.completions("R", question)[0] == "R2.2"
    assert "resistor" in session.completions("?R9 res", question)
    assert "chassis" in session.completions("R2 ch", question)


def test_progress_counts_what_was_looked_at(tmp_path: Path) -> None:
    session = looked_over(begun(tmp_path))
    assert sum(zone.looked for zone in session.progress()) == 0
    while session.question() is not None:
        assert session.answer("y").taken
    progress = session.progress()
    assert all(zone.looked == zone.terminals and zone.questions == 0 for zone in progress)
    result = session.comparison()
    assert result is not None and result.findings == () and result.coverage.total.not_traced == 0
