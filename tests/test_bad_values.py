"""Values that no circuit has, through every command that computes: a true answer or a clear error, never a traceback,
and nothing on the screen or in JSON that is not a number."""

from __future__ import annotations

import json
import re
import warnings
from pathlib import Path

import pytest

from netdiff.cli import run
from tests.test_hazards import SET, TRACED, WIRES

NO_NUMBER = re.compile(r"\b(nan|-?inf(inity)?)\b", re.IGNORECASE)
UNIT = TRACED.partition("\n")[2]
EXTREME = ("0", "0.000000000000001", "1000000G", "-5")

STOCKS = {
    **{f"{part} of {size}": re.sub(rf"(?m)^{part} resistor \S+", f"{part} resistor {size}", SET)
       for part, size in (("R1", "0.000000000000001"), ("R2", "0"), ("R3", "1000000G"), ("R4", "-5"))},
    **{f"winding of {size}": SET.replace("8ohm", f"{size}ohm", 1) for size in EXTREME},
    "no windings": re.sub(r"winding.*\n", "", SET),
    "windings without volts": re.sub(r", [0-9.]+Vac", "", SET),
    "no values": re.sub(r"(?m)^((?:R|C|L|F)\d \S+).*$", r"\1", SET),
    "no states": re.sub(r"(state|load).*\n", "", SET),
    "a negative supply": SET.replace("supply 250V", "supply -250V"),
    "a load the other way": SET.replace("load 40mA", "load -40mA"),
    "a load of 1 GA": SET.replace("load 40mA", "load 1000000000A"),
    "an unknown switch": SET.replace("playing: S1 on", "playing: S9 on"),
    "a floating network": SET + "R11 resistor 1k\nR12 resistor 2k\nnet u\nnet v\nu -- R11 -- v\nu -- R12 -- v\n",
    "a loop of no ohms": SET + "R11 resistor 0\nR12 resistor 0\nnet u\nb+ -- R11 -- u\nu -- R12 -- b+\n",
    "two supplies on one net": SET + "net c+ supply 150V\nc+ -- b+\n",
    "nothing": 'stock "T"\n',
}  # fmt: skip
UNITS = {
    **{f"R1 measured {size}": f"R1, measured {size}\n{WIRES}" for size in EXTREME},
    "a short across the supply": WIRES + "b+ -- chassis\n",
    "a short across the line": WIRES + "T1.1 -- T1.2\n",
    "all joined": WIRES + "b+ -- T1.1 -- T1.3 -- heater -- chassis\n",
    "a battery shorted": "?BT1 battery 45V\n" + WIRES + "?BT1.+ -- ?BT1.-\n",
    "batteries that disagree": "?BT1 battery 90V\n?BT2 battery 45V\n" + WIRES
    + "?BT1.+ -- b+\n?BT1.- -- chassis\n?BT2.+ -- b+\n?BT2.- -- chassis\n",
    "a battery of nothing": "?BT1 battery 0V\n" + WIRES + "?BT1.+ -- b+\n?BT1.- -- chassis\n",
    "readings that cannot be": WIRES + "ohms b+ -- chassis = 0\nvolts V2.p = 0V in playing\nohms V2.g1 = >1000000G\n",
}  # fmt: skip


def told(capsys: pytest.CaptureFixture[str], *args: str) -> int:
    with warnings.catch_warnings():
        warnings.simplefilter("error", RuntimeWarning)
        code = run(args)
    out, err = capsys.readouterr()
    assert code in (0, 1, 2)
    assert not NO_NUMBER.search(out + err), out + err
    if code == 2:
        assert out or err
    elif "--json" in args:
        json.loads(out, parse_constant=lambda word: pytest.fail(f"{word} in JSON"))
    return code


@pytest.mark.parametrize("name", STOCKS)
def test_drawings_that_cannot_be(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "t.stock"
    file.write_text(STOCKS[name], encoding="utf-8")
    for more in ((), ("--json",), ("--state", "playing")):
        told(capsys, "readings", str(file), *more)


@pytest.mark.parametrize("name", UNITS)
def test_units_that_cannot_be(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "t.stock").write_text(SET, encoding="utf-8")
    file = tmp_path / "t.found"
    file.write_text(f'found "u" of "t.stock"\n{UNIT}{UNITS[name]}', encoding="utf-8")
    for command in ("compare", "worklist", "powerup"):
        told(capsys, command, str(file))
        told(capsys, command, str(file), "--json")
    told(capsys, "readings", str(file), "--state", "playing", "--json")
    told(capsys, "powerup", str(file), "--anyway")
    told(capsys, "report", str(file), "-o", str(tmp_path / "t.html"))
    page = tmp_path / "t.html"
    if page.exists():
        text = re.sub(r"(?s)<(style|script).*?</\1>|<[^>]*>", " ", page.read_text(encoding="utf-8"))
        assert not NO_NUMBER.search(text)
