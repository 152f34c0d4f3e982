"""What every command prints with --json fits its schema, and the schemas themselves are sound."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from netdiff.cli import COMMANDS, run
from netdiff.reporting.schema import names, schema

ROOT = Path(__file__).parents[1]
ATTIC = str(ROOT / "examples" / "attic.found")
RADIO = str(ROOT / "examples" / "kitchen-radio.found")
PRICES = str(ROOT / "examples" / "prices.yaml")
LANTERN = str(ROOT / "netlists" / "lantern.stock")

# Command, what is typed after it, the schema, the exit code. A new command adds its rows here.
CASES: tuple[tuple[str, Sequence[str], str, int], ...] = (
    ("check", [ATTIC], "check", 0),
    ("check", [ATTIC, "FAULTY", "nowhere.stock"], "check", 2),
    ("compare", [ATTIC], "compare", 1),
    ("compare", [RADIO], "compare", 1),
    ("compare", [LANTERN], "trouble", 2),
    ("compare", ["FAULTY"], "trouble", 2),
    ("worklist", [ATTIC], "worklist", 1),
    ("worklist", [RADIO], "worklist", 1),
    ("compare", [ATTIC, "--as-left"], "compare", 1),
    ("worklist", [RADIO, "--parts"], "worklist-parts", 0),
    ("worklist", [RADIO, "--estimate"], "worklist-estimate", 0),
    ("worklist", [RADIO, "--estimate", "--prices", PRICES, "--paid", "40", "--worth", "200"], "worklist-estimate", 0),
    ("worklist", [RADIO, "--record"], "worklist-record", 0),
    ("readings", [ATTIC], "readings", 0),
    ("readings", [RADIO], "readings", 0),
    ("report", [ATTIC, "-o", "OUT.html"], "report", 0),
    ("powerup", [ATTIC, "--anyway"], "powerup", 1),
    ("trace", [RADIO, "--next"], "trace", 0),
    ("first-look", [LANTERN], "first-look", 0),
    ("follow", ["?K1.coil1", ATTIC], "follow", 0),
    ("follow", ["V1.p", LANTERN], "follow", 0),
    ("follow", ["V9.p", LANTERN], "trouble", 2),
    ("draw", [LANTERN, "-o", "OUT.dot"], "draw", 0),
    ("tidy", [ATTIC], "tidy", 0),
    ("kinds", [], "kinds", 0),
    ("kinds", ["6V6GT"], "kinds", 0),
    ("kinds", ["resistr"], "trouble", 2),
    ("wires", [ATTIC], "wires", 0),
    ("wires", [LANTERN, "-o", "OUT.csv"], "wires", 0),
    ("wires", [LANTERN, "-o", "OUT.xyz"], "trouble", 2),
    ("from-wires", ["LIST", "-o", "OUT.stock"], "from-wires", 0),
    ("from-wires", ["BROKEN", "-o", "OUT.stock"], "from-wires", 2),
    ("from-wires", ["BROKEN", "--partly", "-o", "OUT.stock"], "from-wires", 1),
    ("from-wires", ["FAULTY"], "trouble", 2),
)


@pytest.fixture
def files(tmp_path: Path) -> dict[str, str]:
    """Files that the cases speak of."""
    (tmp_path / "FAULTY").write_text('stock "x"\nR1 resistor 22k charred\nV1 tub\nR1 -- R9\n', encoding="utf-8")
    listed = "part,kind and value,from,to\nR1,resistor 22k,,\n,,R1.1,chassis\n,,R1.2,chassis\n"
    (tmp_path / "LIST").write_text(listed, encoding="utf-8")
    (tmp_path / "BROKEN").write_text(listed + ",,R7.1,chassis\n", encoding="utf-8")
    out = {name: str(tmp_path / name) for name in ("FAULTY", "LIST", "BROKEN")}
    return out | {f"OUT.{end}": str(tmp_path / f"OUT.{end}") for end in ("dot", "csv", "xyz", "stock", "html")}


@pytest.mark.parametrize(
    ("command", "words", "name", "code"), CASES, ids=[f"{c[0]} {' '.join(c[1])}"[-40:] for c in CASES]
)
def test_output_fits_its_schema(
    command: str, words: Sequence[str], name: str, code: int, files: dict[str, str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert run([command, *(files.get(word, word) for word in words), "--json"]) == code
    value = json.loads(capsys.readouterr().out)
    jsonschema.validate(value, schema(name), cls=jsonschema.Draft202012Validator)


@pytest.mark.parametrize("name", names())
def test_a_schema_is_a_schema_and_refuses_something_else(name: str) -> None:
    one = schema(name)
    jsonschema.Draft202012Validator.check_schema(one)
    assert one["title"]
    checker = jsonschema.Draft202012Validator(one)
    assert not checker.is_valid({}) and not checker.is_valid([]) and not checker.is_valid({"odd": 1})


def test_every_schema_is_of_a_command_and_is_tried() -> None:
    """A schema of what an option prints is called after its command: worklist-parts."""
    for name in names():
        assert name == "trouble" or any(name == command or name.startswith(f"{command}-") for command in COMMANDS), name
    assert set(names()) == {case[2] for case in CASES} | {"worklist-tick"}


def test_the_ticks_of_a_work_list_fit_theirs(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "lantern.stock").write_bytes(Path(LANTERN).read_bytes())
    found = tmp_path / "attic.found"
    found.write_text(Path(ATTIC).read_text(encoding="utf-8").replace("../netlists/", ""), encoding="utf-8")

    def printed(*words: str) -> Any:
        run([*words[:1], str(found), *words[1:], "--json"])
        return json.loads(capsys.readouterr().out)

    step = printed("worklist")["steps"][0]
    fits = jsonschema.Draft202012Validator
    fits(schema("worklist-tick")).validate(printed("worklist", "--done", step["name"], "--meter", "M1"))
    ticked = printed("worklist", "--all")
    fits(schema("worklist")).validate(ticked)
    assert ticked["steps"][0]["done"]["meter"] == "M1"
    fits(schema("worklist-record")).validate(printed("worklist", "--record"))
    fits(schema("compare")).validate(printed("compare", "--as-left"))
    fits(schema("worklist-tick")).validate(printed("worklist", "--undone", step["name"]))
    refused = printed("powerup", "--log", "heaters", "glow=yes")
    fits(schema("powerup")).validate(refused)
    assert refused["refused"]


def test_a_schema_holds_the_keys_and_their_kinds(capsys: pytest.CaptureFixture[str]) -> None:
    """Every key that a comparison has is demanded, and none is free to be anything."""
    run(["compare", ATTIC, "--json"])
    value: dict[str, Any] = json.loads(capsys.readouterr().out)
    checker = jsonschema.Draft202012Validator(schema("compare"))
    assert checker.is_valid(value)
    for key in value:
        assert not checker.is_valid({k: v for k, v in value.items() if k != key}), key
        assert not checker.is_valid({**value, key: 7.5 if key != "cost" else "much"}), key
    finding = value["findings"][0]
    for key in finding:
        broken = {**value, "findings": [{k: v for k, v in finding.items() if k != key}]}
        assert not checker.is_valid(broken), key
    assert not checker.is_valid({**value, "findings": [{**finding, "hold": "never"}]})


def test_a_name_that_is_none_tells_the_nearest() -> None:
    with pytest.raises(KeyError, match="compare"):
        schema("compair")
