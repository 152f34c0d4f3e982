"""The desk and its routes without a browser: who may answer, faults of the disk and of hands, two devices at once."""

from __future__ import annotations

import errno
import io
import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from starlette.testclient import TestClient

import netdiff
from netdiff.bench import app as routes
from netdiff.bench import photos
from netdiff.bench.app import application
from netdiff.bench.desk import PAUSE, TICKS, Desk
from netdiff.bench.doors import Code
from netdiff.commands.shared import examined
from netdiff.language import Unit
from netdiff.tracing.session import Session

ROOT = Path(__file__).resolve().parents[1]
HOST = "127.0.0.1:8417"


class Page:
    """What the page of one device asks, without a browser."""

    def __init__(self, desk: Desk, code: Code | None = None) -> None:
        self.web = TestClient(application(desk, (HOST,), code, "netdiff-8417"), base_url=f"http://{HOST}")
        self.headers = {"origin": f"http://{HOST}", "x-pass": ""}
        self.number = 0

    def post(self, path: str, **sent: Any) -> Any:
        return self.web.post(path, json=sent, headers=self.headers)

    def confirm(self) -> None:
        self.headers["x-pass"] = self.post("/confirm", ticks=list(TICKS)).json()["pass"]

    def asked(self, go: str = "") -> Any:
        return self.web.get("/question", params={"go": go}, headers=self.headers).json()

    def answer(self, about: str, kind: str, token: str = "", **more: Any) -> Any:
        self.number += 1
        name = token or f"token{id(self)}n{self.number}"
        return self.post("/answer", about=about, kind=kind, token=name, **more)

    def photo(
        self, data: bytes, of: str = "J1", kind: str = "image/jpeg", token: str = "photo0001", text: str = ""
    ) -> Any:
        headers = {**self.headers, "content-type": kind}
        return self.web.post("/photo", params={"of": of, "token": token, "text": text}, content=data, headers=headers)


@pytest.fixture
def file(tmp_path: Path) -> Path:
    shutil.copy(ROOT / "netlists" / "lantern.stock", tmp_path)
    path = tmp_path / "unit.found"
    path.write_text('found "No. 41" of "lantern.stock"\n# made by hand\n', encoding="utf-8")
    return path


@pytest.fixture
def desk(file: Path) -> Iterator[Desk]:
    one = Desk(Session.open(file))
    yield one
    one.close()


@pytest.fixture
def page(desk: Desk) -> Page:
    one = Page(desk)
    one.confirm()
    return one


def lines(file: Path) -> list[str]:
    return [line.partition("  # trace")[0] for line in file.read_text(encoding="utf-8").splitlines()]


# --- before a hand goes in


@pytest.mark.parametrize("ticks", [[], ["dead"], ["dead", "unplugged"], ["yes"] * 3, None])
def test_nothing_is_asked_before_all_is_ticked(desk: Desk, ticks: Any) -> None:
    page = Page(desk)
    assert page.web.get("/question", headers=page.headers).json()["confirm"]
    assert page.answer("J1", "as-drawn").status_code == 409
    assert page.post("/confirm", ticks=ticks).status_code == 409


def test_a_long_pause_asks_again(file: Path) -> None:
    now = [0.0]
    desk = Desk(Session.open(file), lambda: now[0])
    page = Page(desk)
    page.confirm()
    now[0] = PAUSE - 1
    assert page.answer("J1", "as-drawn").status_code == 200
    now[0] += PAUSE + 1
    refused = page.answer("J2", "as-drawn")
    assert refused.status_code == 409 and refused.json()["confirm"]
    page.confirm()
    assert page.answer("J2", "as-drawn").json()["outcome"]["taken"]


def test_everybody_confirms_again_after_a_reading_under_power(desk: Desk, page: Page, file: Path) -> None:
    other = Page(desk)
    other.confirm()
    file.with_name("lantern.stock").write_text(
        (ROOT / "netlists" / "lantern.stock").read_text(encoding="utf-8") + 'state tuned "mains on"\n', encoding="utf-8"
    )
    reply = page.answer("V1.p", "reading", quantity="volts", a="V1.p", b="chassis", value="240", state="tuned").json()
    assert reply["outcome"]["taken"] and "questions" not in reply and reply["confirm"]
    assert other.answer("J1", "as-drawn").status_code == 409
    page.confirm()
    assert page.answer("V1.p", "reading", quantity="ohms", a="V1.p", b="b+", value="12").json()["questions"]


# --- an answer, once


def test_the_same_answer_is_taken_once_also_after_a_restart(desk: Desk, page: Page, file: Path) -> None:
    assert page.answer("J1", "as-drawn", token="onceonly1").json()["outcome"]["taken"]
    assert page.answer("J1", "as-drawn", token="onceonly1").json()["outcome"]["repeated"]
    again = Page(Desk(Session.open(file)))
    again.confirm()
    assert again.answer("J1", "as-drawn", token="onceonly1").json()["outcome"]["repeated"]
    assert lines(file).count("as-drawn J1") == 1 and "# made by hand" in lines(file)


def test_undo_any_number_also_after_a_restart(desk: Desk, page: Page, file: Path) -> None:
    before = file.read_bytes()
    for about in ("J1", "J2", "C2"):
        page.answer(about, "as-drawn")
    again = Page(Desk(Session.open(file)))
    again.confirm()
    assert again.post("/undo", count=3).json()["outcome"]["taken"]
    assert file.read_bytes() == before
    for count in (0, -1, "3", 10**9, None):
        assert again.post("/undo", count=count).status_code == 422


# --- two devices, an editor


def test_two_devices_that_say_different_things(desk: Desk, page: Page, file: Path) -> None:
    other = Page(desk)
    other.confirm()
    page.asked("J1.tip"), other.asked("J1.tip")
    assert page.answer("J1.tip", "these", items=[{"to": "chassis"}]).json()["outcome"]["taken"]
    outcome = other.answer("J1.tip", "these", items=[{"to": "V1.k"}]).json()["outcome"]
    assert not outcome["taken"] and outcome["yields"]
    assert "at J1.tip: chassis" in outcome["html"] and "at J1.tip: V1.k" in outcome["html"], "both sides are shown"
    assert "at J1.tip: chassis" in lines(file) and "at J1.tip: V1.k" not in lines(file)
    assert other.answer("J1.tip", "these", items=[{"to": "V1.k"}], instead=True).json()["outcome"]["taken"]
    assert "at J1.tip: V1.k" in lines(file) and "at J1.tip: chassis" not in lines(file)


def test_two_devices_lose_no_answer(desk: Desk, page: Page, file: Path) -> None:
    other = Page(desk)
    other.confirm()
    for mine, theirs in (("J1", "C2"), ("J2", "L1")):
        assert page.answer(mine, "as-drawn").json()["outcome"]["taken"]
        reply = other.answer(theirs, "as-drawn").json()
        assert reply["outcome"]["taken"]
    assert {f"as-drawn {name}" for name in ("J1", "C2", "J2", "L1")} <= set(lines(file))
    assert "J1" in "".join(other.asked()["state"]["recent"])


def test_an_editor_in_between(desk: Desk, page: Page, file: Path) -> None:
    page.answer("J1", "as-drawn")
    desk.look()
    revision = desk.revision
    with file.open("a", encoding="utf-8") as out:
        out.write("as-drawn C2   # by hand\n")
    assert desk.look() and desk.notices(revision)
    assert page.answer("J2", "as-drawn").json()["outcome"]["taken"]
    assert [line for line in lines(file) if line.startswith("as-drawn")] == [
        "as-drawn J1", "as-drawn C2   # by hand", "as-drawn J2"
    ]  # fmt: skip


def test_what_a_device_wrote_is_no_news(desk: Desk, page: Page) -> None:
    revision = desk.revision
    page.answer("J1", "as-drawn")
    desk.look()
    assert desk.notices(revision) == [] and desk.revision > revision


# --- faults of the disk and of hands


@pytest.mark.parametrize("fault", [errno.ENOSPC, errno.EIO, errno.EROFS])
def test_a_disk_that_does_not_take_it(
    desk: Desk, page: Page, file: Path, monkeypatch: pytest.MonkeyPatch, fault: int
) -> None:
    before = file.read_bytes()

    def full(_handle: int) -> None:
        raise OSError(fault, os.strerror(fault))

    with monkeypatch.context() as patched:
        patched.setattr(os, "fsync", full)
        reply = page.answer("J1", "as-drawn", token="thedisk01").json()
        assert not reply["outcome"]["taken"] and reply["unsaved"]
        assert not reply["state"]["kept"]["ok"] and "NOT saved" in reply["state"]["kept"]["says"]
        assert file.read_bytes() == before and not list(file.parent.glob(".*.part"))
    reply = page.answer("J1", "as-drawn", token="thedisk01").json()
    assert reply["outcome"]["taken"] and reply["state"]["kept"]["ok"]
    assert lines(file).count("as-drawn J1") == 1


def test_a_file_that_is_read_only(page: Page, file: Path) -> None:
    file.chmod(0o444)
    reply = page.answer("J1", "as-drawn").json()
    assert reply["unsaved"] and not reply["state"]["kept"]["ok"]
    file.chmod(0o644)
    assert page.answer("J1", "as-drawn").json()["outcome"]["taken"]


def test_a_file_broken_by_hand(desk: Desk, page: Page, file: Path) -> None:
    sound = file.read_text(encoding="utf-8")
    file.write_text(sound + "R1 10k charred\n", encoding="utf-8")
    state = page.asked()["state"]
    assert "unit.found:3" in state["faults"] and "R1 10k charred" in state["faults"]
    reply = page.answer("J1", "as-drawn", token="kept00001").json()
    assert reply["unsaved"], "worth sending again"
    file.write_text(sound + "R1 10k, charred\n", encoding="utf-8")
    assert page.answer("J1", "as-drawn", token="kept00001").json()["outcome"]["taken"]
    assert page.asked()["state"]["faults"] == ""
    assert "R1 10k, charred" in lines(file)


def test_a_file_that_is_gone_for_a_while(page: Page, file: Path) -> None:
    aside = file.with_suffix(".aside")
    file.rename(aside)
    assert not page.answer("J1", "as-drawn").json()["outcome"]["taken"]
    assert page.asked()["state"]["faults"]
    aside.rename(file)
    assert page.answer("J1", "as-drawn").json()["outcome"]["taken"]


def test_a_stock_file_changed_meanwhile(desk: Desk, page: Page, file: Path) -> None:
    stock = file.with_name("lantern.stock")
    stock.write_text(
        stock.read_text(encoding="utf-8").replace("C2  electrolytic", 'R3 resistor 10k "new"\nC2  electrolytic')
    )
    assert not page.answer("R9", "as-drawn").json()["outcome"]["taken"]
    assert "R3" in str(page.asked("R3")["questions"][0]["about"])
    stock.write_text("stock\n", encoding="utf-8")
    assert "lantern.stock" in page.asked()["state"]["faults"]


def test_a_comparison_that_fails_does_not_end_the_tracing(
    desk: Desk, page: Page, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*_: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr("netdiff.comparison.compare", fails)
    desk.live._compare()
    assert "saved all the same" in page.asked()["state"]["found"]
    assert page.answer("J1", "as-drawn").json()["outcome"]["taken"]


def test_a_fault_of_the_program_is_told_and_nothing_waits_behind_it(
    page: Page, file: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    before = file.read_bytes()
    with monkeypatch.context() as patched:
        patched.setattr(Session, "answer", lambda *_: 1 // 0)
        reply = page.answer("J1", "as-drawn")
    assert reply.status_code == 500 and "fault of the program" in reply.json()["trouble"]
    assert "ZeroDivisionError" in capsys.readouterr().err and file.read_bytes() == before
    assert page.answer("J1", "as-drawn").json()["outcome"]["taken"]


def test_what_was_found_is_what_the_comparison_says(desk: Desk, page: Page, file: Path) -> None:
    page.answer("J1.tip", "these", items=[{"to": "chassis"}])
    desk.look()
    desk.live._poke.clear()
    desk.live._compare()
    unit = netdiff.read(file)
    assert isinstance(unit, Unit)
    known = examined(unit)
    assert desk.live.comparison is not None
    assert [f.kind for f in desk.live.comparison.findings] == [f.kind for f in known.findings]


# --- what comes in


def jpeg(size: tuple[int, int] = (300, 200)) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", size, "gray").save(out, "JPEG")
    return out.getvalue()


def test_a_photograph_is_stored_and_entered_once(page: Page, file: Path) -> None:
    reply = page.photo(jpeg(), of="J1.tip", text='the "new" jack').json()
    assert reply["outcome"]["taken"], reply
    assert page.photo(jpeg(), of="J1.tip").json()["outcome"]["repeated"]
    (stored,) = (file.parent / "photos").iterdir()
    unit = netdiff.read(file)
    assert isinstance(unit, Unit)
    (photo,) = unit.found().photos
    assert photo.file == f"photos/{stored.name}" and photo.of == ("J1.tip",) and photo.text == 'the "new" jack'
    shown = page.web.get("/photo/0", headers=page.headers)
    assert shown.headers["content-type"] == "image/jpeg" and shown.content[:2] == b"\xff\xd8"
    assert page.web.get("/photo/1", headers=page.headers).status_code == 404


@pytest.mark.parametrize("of", ["../../etc/passwd", "/etc/passwd", "R99", 'J1" of "x', "J1\nnote", "..", "J1.nose"])
def test_a_name_from_outside_is_no_path(page: Page, file: Path, of: str) -> None:
    before = file.read_bytes()
    reply = page.photo(jpeg(), of=of)
    assert reply.status_code == 422 or not reply.json()["outcome"]["taken"]
    assert file.read_bytes() == before
    assert {one.name for one in file.parent.rglob("*")} <= {"unit.found", "lantern.stock", "photos"}


def test_a_photograph_is_limited(page: Page, file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert page.photo(b"<svg onload='alert(1)'/>", kind="image/svg+xml").status_code == 415
    assert page.photo(b"not a picture").status_code == 422
    monkeypatch.setattr(photos, "MOST_BYTES", 1000)
    assert page.photo(jpeg((600, 600)) + bytes(2000)).status_code == 413
    assert not (file.parent / "photos").exists()


def test_only_photographs_of_the_file_are_sent(file: Path) -> None:
    (file.parent / "secret.jpg").write_text("a secret", encoding="utf-8")
    file.write_text(file.read_text(encoding="utf-8") + 'photo "secret.jpg"\n', encoding="utf-8")
    desk = Desk(Session.open(file))
    assert desk.session.faults == ()
    assert Page(desk).web.get("/photo/0").status_code == 404, "what is no picture is not sent"


NOT_SERVED = (
    "/static/../app.py", "/static/%2e%2e/app.py", "/static/bench.css/..", "/static/app.py", "/static/..%2fapp.py",
    "/static//etc/passwd", "/etc/passwd", "/photo/-1", "/photo/x",
)  # fmt: skip


@pytest.mark.parametrize("path", NOT_SERVED)
def test_only_its_own_files_are_served(page: Page, path: str) -> None:
    assert page.web.get(path, headers=page.headers).status_code == 404


def test_answers_are_limited(page: Page, file: Path) -> None:
    before = file.read_bytes()
    assert page.answer("J1", "note", of="J1", text="x" * routes.MOST_BYTES).status_code == 413
    plain = page.web.post("/answer", content=b"{}", headers={**page.headers, "content-type": "text/plain"})
    assert plain.status_code == 415, "a form of another site sends no JSON"
    for body in (b"", b"[", b"[]", b'"x"', b"[" * 50_000, b"\xff"):
        headers = {**page.headers, "content-type": "application/json"}
        assert page.web.post("/answer", content=body, headers=headers).status_code == 400
    for token in ("", "short", "x" * 50, "with blank", "../../../x", 7):
        assert page.post("/answer", about="J1", kind="as-drawn", token=token).status_code == 422
    assert file.read_bytes() == before


HOSTILE = '<img src=x onerror="alert(1)">&\'</script>'


def test_text_is_text(tmp_path: Path) -> None:
    stock = (ROOT / "netlists" / "lantern.stock").read_text(encoding="utf-8")
    label = HOSTILE.replace('"', '""')
    stock = stock.replace('"key"', f'"{label}"').replace("Rear apron", label)
    (tmp_path / "lantern.stock").write_text(stock, encoding="utf-8")
    file = tmp_path / "unit.found"
    file.write_text(
        f'found "{label}" of "lantern.stock"\nnote J1 "{label}"\nJ1.tip -- chassis, "{label}"\n', encoding="utf-8"
    )
    desk = Desk(Session.open(file))
    page = Page(desk)
    page.confirm()
    told = page.web.get("/", headers=page.headers).text
    for go in ("rear", "J1", "J1.tip"):
        reply = page.asked(go)
        pieces = ("progress", "recent", "found", "photos", "faults")  # what the page puts in as HTML
        told += reply["questions"][0]["html"] + "".join(reply["state"][piece] for piece in pieces)
    told += page.answer("J1.tip", "nothing").json()["outcome"]["html"]
    assert "&lt;img" in told
    assert "<img src=x" not in told and 'onerror="' not in told and "'</script>" not in told


def test_the_code_is_entered_once(file: Path) -> None:
    code = Code(print)
    page = Page(Desk(Session.open(file)), code)
    assert page.web.get("/").url.path == "/enter"
    assert page.post("/confirm", ticks=list(TICKS)).status_code == 401
    wrong = page.web.post("/enter", data={"code": "0"}, headers=page.headers)
    assert wrong.status_code == 403 and "set-cookie" not in wrong.headers
    right = page.web.post("/enter", data={"code": code.digits}, headers=page.headers, follow_redirects=False)
    cookie = right.headers["set-cookie"]
    assert "HttpOnly" in cookie and "SameSite=strict" in cookie and code.digits not in cookie
    assert page.web.get("/").url.path == "/"
    page.confirm()
    assert page.answer("J1", "as-drawn").json()["outcome"]["taken"]
