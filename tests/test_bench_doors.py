"""Who may come in to the page at the bench: another site in the same browser may neither read nor write."""

from __future__ import annotations

import asyncio
from typing import Any

import pytest

from netdiff.bench.doors import DIGITS, WRONG_CODES, Code, Doors

OURS = "127.0.0.1:8417"


async def inside(scope: Any, receive: Any, send: Any) -> None:
    await send({"type": "http.response.start", "status": 200, "headers": []})
    await send({"type": "http.response.body", "body": b"wiring"})


def ask(doors: Doors, method: str = "GET", path: str = "/", **headers: str) -> tuple[int, dict[str, str], bytes]:
    scope = {"type": "http", "method": method, "path": path,
             "headers": [(k.replace("_", "-").encode(), v.encode("latin-1")) for k, v in headers.items()]}  # fmt: skip
    sent: list[Any] = []

    async def send(message: Any) -> None:
        sent.append(message)

    async def receive() -> Any:
        return {"type": "http.request", "body": b""}

    asyncio.run(doors(scope, receive, send))
    return sent[0]["status"], {k.decode(): v.decode() for k, v in sent[0]["headers"]}, sent[1]["body"]


@pytest.fixture
def doors() -> Doors:
    return Doors(inside, [OURS, "localhost:8417"], None, "netdiff-8417")


def test_the_page_itself_reads_and_writes(doors: Doors) -> None:
    assert ask(doors, host=OURS)[0] == 200
    assert ask(doors, host="localhost:8417", sec_fetch_site="none")[0] == 200
    assert ask(doors, "POST", "/answer", host=OURS, origin=f"http://{OURS}", sec_fetch_site="same-origin")[0] == 200


OTHERS = (
    "rebound.example:8417", "127.0.0.1", "127.0.0.1:80", "127.0.0.1.example:8417", "[::1]:8417", "",
    "127.0.0.1:8417@evil.example", "LOCALHOST.example:8417",
)  # fmt: skip


@pytest.mark.parametrize("host", OTHERS)
@pytest.mark.parametrize("method", ["GET", "POST"])
def test_another_host_name_gets_nothing(doors: Doors, host: str, method: str) -> None:
    """A name of another site that was pointed at this machine."""
    status, _, body = ask(doors, method, "/view", host=host, origin=f"http://{host}")
    assert status == 421 and b"wiring" not in body
    assert ask(doors, method, "/view", origin=f"http://{OURS}")[0] == 421, "no host at all"


@pytest.mark.parametrize("headers", [
    {"origin": "http://evil.example"}, {"origin": "null"}, {"origin": f"https://{OURS}"},
    {"origin": "http://localhost:8417"}, {"origin": f"http://{OURS}.evil.example"}, {"origin": "http://127.0.0.1:3000"},
    {"origin": f"http://{OURS}", "sec_fetch_site": "cross-site"},
    {"origin": f"http://{OURS}", "sec_fetch_site": "same-site"},
])  # fmt: skip
@pytest.mark.parametrize("method", ["GET", "POST", "PUT", "DELETE", "OPTIONS"])
def test_another_site_neither_reads_nor_writes(doors: Doors, method: str, headers: dict[str, str]) -> None:
    status, told, body = ask(doors, method, "/answer", host=OURS, **headers)
    assert status == 403 and b"wiring" not in body
    assert not any(name.startswith("access-control") for name in told)


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "PATCH"])
def test_who_writes_says_from_where(doors: Doors, method: str) -> None:
    assert ask(doors, method, "/answer", host=OURS)[0] == 403
    assert ask(doors, method, "/answer", host=OURS, origin=f"http://{OURS}", sec_fetch_site="none")[0] == 403


def test_two_hosts_are_none(doors: Doors) -> None:
    scope = {"type": "http", "method": "GET", "headers": [(b"host", OURS.encode()), (b"host", b"evil.example")]}
    assert doors.refusal(scope) is not None


def test_every_answer_carries_the_policy(doors: Doors) -> None:
    for told in (ask(doors, host=OURS)[1], ask(doors, host="evil.example")[1]):
        policy = told["content-security-policy"]
        assert "default-src 'none'" in policy and "unsafe" not in policy and "*" not in policy
        assert "frame-ancestors 'none'" in policy
        assert told["x-content-type-options"] == "nosniff"


def test_a_device_enters_the_code_once() -> None:
    code = Code(lambda says: None)
    doors = Doors(inside, [OURS], code, "netdiff-8417")
    status, told, body = ask(doors, host=OURS)
    assert (status, told["location"]) == (303, "/enter") and b"wiring" not in body
    assert ask(doors, "POST", "/answer", host=OURS, origin=f"http://{OURS}")[0] == 401
    assert ask(doors, host=OURS, path="/view", cookie="netdiff-8417=guessed")[0] == 401
    assert ask(doors, host=OURS, path="/enter")[0] == 200
    shown = code.enter(f"{code.digits[:4]} {code.digits[4:]}")
    assert shown
    assert ask(doors, host=OURS, path="/view", cookie=f"other=1; netdiff-8417={shown}")[0] == 200
    assert ask(Doors(inside, [OURS], Code(print), "netdiff-8417"), host=OURS, path="/view",
               cookie=f"netdiff-8417={shown}")[0] == 401, "the next run knows no device of this one"  # fmt: skip


def test_codes_cannot_be_tried_out() -> None:
    told: list[str] = []
    code = Code(told.append)
    first = code.digits
    wrong = f"{(int(first) + 1) % 10**DIGITS:0{DIGITS}}"
    assert [code.enter(wrong) for _ in range(WRONG_CODES - 1)] == [""] * (WRONG_CODES - 1) and not told
    assert code.enter("") == "" and len(told) == 1
    assert code.digits != first and code.enter(first) == "" and code.digits[:4] in told[0]
    assert len(code.digits) == DIGITS and code.digits.isdecimal()
