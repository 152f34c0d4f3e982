"""The package as others get it: built, installed outside the checkout in a clean environment, and used there."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import tarfile
import venv
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
DATA = ("grammars", "netlists")


def run(*command: str | Path, cwd: Path, codes: tuple[int, ...] = (0,)) -> str:
    """Runs a program that knows nothing of the checkout; shows what it said if it fails."""
    clean = {name: value for name, value in os.environ.items() if not name.startswith(("PYTHON", "COV_", "PYTEST"))}
    done = subprocess.run([str(word) for word in command], cwd=cwd, env=clean, capture_output=True, timeout=400)
    assert done.returncode in codes, (done.stdout + done.stderr).decode(errors="replace")
    return done.stdout.decode()


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the wheel and the sdist."""
    out = tmp_path_factory.mktemp("dist")
    run(sys.executable, "-m", "hatchling", "build", "-d", out, cwd=ROOT)
    return out


def files(wheel: Path) -> set[str]:
    return {name for name in zipfile.ZipFile(wheel).namelist() if name.startswith("netdiff/")}


def test_grammars_and_netlists_travel(built: Path) -> None:
    shipped = files(next(built.glob("*.whl")))
    for folder in DATA:
        here = {f"netdiff/{folder}/{path.name}" for path in (ROOT / folder).iterdir() if path.is_file()}
        assert here
        assert here <= shipped
    assert {f"netdiff/{path.relative_to(ROOT / 'netdiff')}" for path in (ROOT / "netdiff").rglob("*.yaml")} <= shipped
    assert "netdiff/py.typed" in shipped


def test_the_sdist_makes_the_same_wheel(built: Path, tmp_path: Path) -> None:
    with tarfile.open(next(built.glob("*.tar.gz"))) as archive:
        archive.extractall(tmp_path, filter="data")
    (unpacked,) = tmp_path.iterdir()
    assert all((unpacked / name).exists() for name in ("README.md", "DEVELOPERS.md", "examples", "tests", *DATA))
    run(sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", tmp_path / "out", cwd=unpacked)
    assert files(next((tmp_path / "out").glob("*.whl"))) == files(next(built.glob("*.whl")))


def test_the_main_job_runs_from_the_wheel(built: Path, tmp_path: Path) -> None:
    home = tmp_path / "venv"
    venv.create(home, symlinks=os.name != "nt")
    scripts = home / ("Scripts" if os.name == "nt" else "bin")
    pip = (sys.executable, "-m", "pip", "--python", scripts / "python", "--disable-pip-version-check")
    run(*pip, "install", "--quiet", "--no-compile", next(built.glob("*.whl")), cwd=tmp_path)

    bench = tmp_path / "bench"
    bench.mkdir()
    for path in (ROOT / "netlists" / "lantern.stock", ROOT / "examples" / "attic.found"):
        text = path.read_text(encoding="utf-8").replace("../netlists/", "")
        (bench / path.name).write_text(text, encoding="utf-8")

    where = run(scripts / "python", "-c", "import netdiff; print(netdiff.__file__)", cwd=bench)
    assert Path(where.strip()).is_relative_to(home)
    netdiff = scripts / "netdiff"
    assert "no fault" in run(netdiff, "check", "lantern.stock", "attic.found", cwd=bench)
    found = json.loads(run(netdiff, "compare", "attic.found", "--json", cwd=bench, codes=(1,)))
    assert {one["kind"] for one in found["findings"] if not one["drawn"]} == {
        "reversed", "broken-ground", "inserted-part", "unshielded-run", "substituted-part",
    }  # fmt: skip
    assert "Before a hand goes in" in run(netdiff, "worklist", "attic.found", cwd=bench, codes=(1,))
    run(netdiff, "draw", "attic.found", "-o", "attic.svg", cwd=bench)
    assert "<svg" in (bench / "attic.svg").read_text(encoding="utf-8")
    assert "47 kΩ" in run(netdiff, "readings", "attic.found", "--between", "V1.g1", "chassis", cwd=bench)
    assert "NOT CLEARED" in run(netdiff, "powerup", "attic.found", cwd=bench, codes=(1,))
    run(netdiff, "report", "attic.found", "-o", "attic.html", cwd=bench, codes=(0, 1))
    assert "</html>" in (bench / "attic.html").read_text(encoding="utf-8")
    run(netdiff, "trace", "attic.found", "--sheet", "rear", "-o", "sheet.html", cwd=bench)
    run(netdiff, "wires", "attic.found", "-o", "attic.csv", cwd=bench)
    shutil.rmtree(home)
