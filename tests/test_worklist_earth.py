"""A good earth that somebody brought is not taken out unasked."""

from __future__ import annotations

from netdiff.hazards import examine
from netdiff.worklist import worklist
from tests.test_hazards import SET, TRACED, WIRES
from tests.texts import compared

CORD = "J1 cord-3\n"


def test_a_three_wire_cord_in_a_transformer_set_is_worth_keeping() -> None:
    comparison = examine(compared(SET, TRACED + CORD + WIRES + "J1.E -- chassis\n"))
    (finding,) = (one for one in comparison.findings if one.kind == "wrong-part")
    assert "keep J1" in finding.says
    step = worklist(comparison).step("replace_J1")
    assert "takes the protective earth away" in step.cautions[0] and "keep J1" in step.cautions[0]


def test_one_whose_earth_goes_nowhere_is_not() -> None:
    comparison = examine(compared(SET, TRACED + CORD + WIRES + "J1.E -- open\n"))
    (finding,) = (one for one in comparison.findings if one.kind == "wrong-part")
    assert "keep J1" not in finding.says
    assert not any("takes the protective earth" in one for one in worklist(comparison).step("replace_J1").cautions)
