"""Where a lead goes: conductors, closed contacts, then parts."""

from __future__ import annotations

import pytest

from netdiff.comparison.follow import Unknown, follow, follow_in, named, wiring
from netdiff.reporting.follow import told
from tests.texts import model, unit

STOCK = """stock "Keying"
ground chassis
K1 relay-spdt 24V "antenna relay"
S1 switch-spst "send"
S2 switch-spst "standby"
R1 resistor 100 1W
R2 resistor 47k 1W
V1 tube 6V6GT "final"
C1 capacitor .01u
J1 jack-2 "remote"
net ctl supply 24V
net b+ supply 250V
net rf rf
ctl -- R1 -- K1.coil1
K1.coil2 -- S1.1
S1.2 -- S2.1
S2.2 -- chassis
J1.tip -- K1.coil2
J1.sleeve -- chassis
b+ -- R2 -- V1.g2
V1.k -- chassis
V1.p -- K1.c
K1.no -- rf
K1.no -- C1 -- chassis
state send "sending": S1 on, S2 on, K1 on
"""


def test_what_keys_this_relay() -> None:
    circuit = model(STOCK).circuit()
    rest, send = follow(circuit, "K1.coil2"), follow(circuit, "K1.coil2", "send")
    assert set(rest.here) == {"S1.1", "J1.tip"}
    assert not rest.closed
    assert [reach.where for reach in send.closed] == ["S1.2", "S2.1", "chassis"]
    path = next(reach.path for reach in send.feeds if reach.where == "chassis")
    assert [step.over for step in path] == ["S1 at on", "S2 at on"]


def test_the_supply_is_found_through_parts() -> None:
    following = follow(model(STOCK).circuit(), "K1.coil1")
    path = next(reach.path for reach in following.feeds if reach.where == "ctl")
    assert [(step.way, step.over) for step in path] == [("part", "R1")]


def test_ground_and_supplies_end_a_path() -> None:
    following = follow(model(STOCK).circuit(), "V1.g2")
    assert [reach.where for reach in following.feeds] == ["b+"]
    assert not following.operates


def test_contacts_follow_the_state() -> None:
    circuit = model(STOCK).circuit()
    assert [reach.where for reach in follow(circuit, "V1.p").closed] == ["K1.nc"]
    assert "rf" in [reach.where for reach in follow(circuit, "V1.p", "send").closed]
    assert "C1.1" in [reach.where for reach in follow(circuit, "V1.p", "send").closed]


@pytest.mark.parametrize(
    ("word", "says"), [("K11.c", "nearest is K1"), ("K1.d", "coil1 coil2 c no nc"), ("K1", "K1.coil1"), ("ctrl", "ctl")]
)
def test_a_wrong_name_is_told_with_the_nearest(word: str, says: str) -> None:
    circuit = wiring(model(STOCK)).circuit
    with pytest.raises(Unknown, match=says):
        follow(circuit, named(circuit, word))


def test_an_unknown_state_is_told_with_those_there_are() -> None:
    with pytest.raises(Unknown, match="send"):
        follow(model(STOCK).circuit(), "K1.c", "phone")


def test_a_pin_number_is_a_name_too() -> None:
    circuit = wiring(model(STOCK)).circuit
    assert named(circuit, "V1.5") == "V1.g1"
    assert told(follow(circuit, "V1.g1")).splitlines()[1] == "Nothing is soldered to it."


def test_what_nobody_looked_at_is_said_to_be_so() -> None:
    bench = wiring(unit(STOCK, 'found "No. 1" of "t.stock"\ntraced K1.coil2\nK1.coil2 -- S1.1\n'))
    assert follow_in(bench, "K1.coil2").looked
    unseen = follow_in(bench, "V1.g2")
    assert not unseen.looked
    assert unseen.should_be == ("R2.2",)
    assert "Nobody looked at all that lands there; the drawing joins it to R2.2." in told(unseen)
    assert "Nothing is soldered" not in told(unseen)
