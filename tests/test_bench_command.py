"""`netdiff bench` as it is typed: what it prints, where it listens, how it ends."""

from __future__ import annotations

import http.client
import json
import re
import shutil
import socket
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from netdiff.bench import serving
from netdiff.bench.serving import CannotServe, lan_address
from netdiff.cautions import for_cold_work
from tests.browser.bench import Bench

ROOT = Path(__file__).resolve().parents[1]


def typed(*words: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "netdiff", "bench", "--no-browser", *words]
    return subprocess.run(command, capture_output=True, text=True, timeout=30, cwd=ROOT, check=False)


@pytest.fixture
def stock(tmp_path: Path) -> Path:
    shutil.copy(ROOT / "netlists" / "lantern.stock", tmp_path)
    return tmp_path / "lantern.stock"


@pytest.fixture
def bench(stock: Path) -> Iterator[Bench]:
    one = Bench(stock)
    yield one
    one.kill()


def get(port: int, path: str, **headers: str) -> http.client.HTTPResponse:
    to = http.client.HTTPConnection("127.0.0.1", port, timeout=5)
    to.request("GET", path, headers=headers)
    return to.getresponse()


def test_it_begins_a_unit_and_says_where_it_is_kept(bench: Bench, stock: Path) -> None:
    found = stock.with_suffix(".found")
    assert found.read_text(encoding="utf-8").endswith('of "lantern.stock"\n')
    assert get(bench.port, "/").status == 200
    assert get(bench.port, "/", host="rebound.example").status == 421
    assert get(bench.port, "/question", origin="http://evil.example").status == 403
    said = bench.end()
    for line in (*for_cold_work(), bench.url, str(found)):
        assert line in said
    assert said.index(for_cold_work()[0]) < said.index(bench.url), "the cautions come first"
    assert "Traceback" not in said and "enters once" not in said


def test_only_this_machine_reaches_it(bench: Bench) -> None:
    try:
        address = lan_address()
    except CannotServe:
        pytest.skip("this machine is on no network")
    with pytest.raises(OSError, match=r"refused"), socket.create_connection((address, bench.port), timeout=2):
        pass


def test_with_lan_it_warns_and_prints_a_code(stock: Path) -> None:
    try:
        address = lan_address()
    except CannotServe:
        pytest.skip("this machine is on no network")
    bench = Bench(stock, "--lan")
    try:
        codes = {bench.printed_code()}
        to = http.client.HTTPConnection(address, bench.port, timeout=5)
        to.request("GET", "/")
        assert to.getresponse().status == 303
    finally:
        said = bench.end()
    assert serving.WARNING.split("\n")[0] in said and f"http://{address}:{bench.port}/" in said
    bench.file = stock.with_suffix(".found")
    bench.start()
    try:
        codes |= set(re.findall(r"enters once: (\d+ \d+)", bench.log.read_text(encoding="utf-8")))
    finally:
        bench.kill()
    assert len(codes) == 2, "each run has a code of its own"


def test_json_is_a_line_an_event(stock: Path) -> None:
    bench = Bench(stock, "--json")
    said = [json.loads(line)["says"] for line in bench.end().splitlines()]
    assert said[: len(for_cold_work())] == list(for_cold_work()) and any(bench.url in line for line in said)


@pytest.mark.parametrize("port", ["0", "-1", "65536", "http", ""])
def test_a_wrong_port(stock: Path, port: str) -> None:
    result = typed(str(stock), "--port", port)
    assert result.returncode == 2 and "is no port" in result.stderr
    assert not stock.with_suffix(".found").exists()


def test_a_port_in_use(stock: Path) -> None:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        result = typed(str(stock), "--port", str(other.getsockname()[1]))
    assert result.returncode == 2 and "in use" in result.stderr and "Traceback" not in result.stderr


def test_a_unit_that_is_there_is_not_begun_again(stock: Path) -> None:
    found = stock.with_suffix(".found")
    found.write_text('found "mine" of "lantern.stock"\n', encoding="utf-8")
    result = typed(str(stock))
    assert result.returncode == 2 and "is there already" in result.stderr and "--found" in result.stderr
    assert found.read_text(encoding="utf-8") == 'found "mine" of "lantern.stock"\n'


@pytest.mark.parametrize("name", ["none.found", "none.stock", "."])
def test_a_file_that_is_not_there(tmp_path: Path, name: str) -> None:
    result = typed(str(tmp_path / name))
    assert result.returncode == 2 and "Traceback" not in result.stderr and result.stderr.startswith("netdiff: ")


def test_a_stock_file_with_a_fault(tmp_path: Path) -> None:
    stock = tmp_path / "bad.stock"
    stock.write_text('stock "bad"\nR1 resistor 10k charred\n', encoding="utf-8")
    result = typed(str(stock))
    assert result.returncode == 2 and "bad.stock:2" in result.stderr
    assert not stock.with_suffix(".found").exists()


def test_a_machine_without_a_network(monkeypatch: pytest.MonkeyPatch) -> None:
    def unreachable(*_: object) -> None:
        raise OSError(101, "Network is unreachable")

    class Probe(socket.socket):
        connect = unreachable  # type: ignore[assignment]

    monkeypatch.setattr(socket, "socket", Probe)
    with pytest.raises(CannotServe, match="no network"):
        lan_address()
