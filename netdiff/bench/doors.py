"""Who may come in: host, origin, the code of a device; and what every response says to the browser.

A page of another site, open in the same browser, must neither read nor write. It cannot send our host
name unless its own name was pointed at this machine (so the host is checked against a list, also on
reading), and a browser says where a request comes from (so the origin is checked, and demanded of whatever writes).
"""

from __future__ import annotations

import json
import secrets
import threading
from collections.abc import Awaitable, Callable, Iterable, MutableMapping
from http.cookies import CookieError, SimpleCookie
from typing import Any, Final

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
Application = Callable[[Scope, Receive, Send], Awaitable[None]]

POLICY: Final = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; connect-src 'self'; "
    "manifest-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
"""No inline script, no inline style, nothing from elsewhere, in nobody's frame."""

HEADERS: Final = (
    ("content-security-policy", POLICY),
    ("x-content-type-options", "nosniff"),
    ("x-frame-options", "DENY"),
    ("referrer-policy", "same-origin"),
    ("cross-origin-opener-policy", "same-origin"),
    ("cross-origin-resource-policy", "same-origin"),
    ("permissions-policy", "camera=(self), microphone=(), geolocation=()"),
)

DIGITS: Final = 8
"""Of a code: only digits, so that a numeric pad will do; a hundred million of them."""

WRONG_CODES: Final = 10
"""So many wrong ones, from all devices together, and another code is made: nobody tries them all."""

OUTSIDE: Final = ("/enter", "/static/bench.css", "/static/icon.svg")
"""What a device sees before it has entered its code."""


class Code:
    """The code of this run of the program, and the devices that have entered it. All of it ends with the program."""

    def __init__(self, tell: Callable[[str], object]) -> None:
        self._tell = tell
        self._lock = threading.Lock()
        self._passes: set[str] = set()
        self._new()

    def _new(self) -> None:
        self.digits = f"{secrets.randbelow(10**DIGITS):0{DIGITS}}"
        self._wrong = 0

    def enter(self, typed: str) -> str:
        """A pass for the device, or the empty string."""
        with self._lock:
            if secrets.compare_digest("".join(typed.split()).encode(), self.digits.encode()):
                one = secrets.token_urlsafe(32)
                self._passes.add(one)
                return one
            self._wrong += 1
            if self._wrong >= WRONG_CODES:
                self._new()
                self._tell(f"{WRONG_CODES} wrong codes were entered. The code is now {in_groups(self.digits)}.")
            return ""

    def knows(self, shown: str) -> bool:
        """Whether a device shows a pass of this run."""
        known = False
        for one in tuple(self._passes):
            known |= secrets.compare_digest(one.encode(), shown.encode())
        return known


def in_groups(digits: str) -> str:
    """``1234 5678``: as a person reads it out."""
    return f"{digits[: DIGITS // 2]} {digits[DIGITS // 2 :]}"


class Doors:
    """Wraps the application: refuses what does not come from its own page, adds the headers."""

    def __init__(self, inside: Application, hosts: Iterable[str], code: Code | None, cookie: str) -> None:
        """``hosts`` as the browser sends them, with the port; ``code`` None where only this machine reaches it."""
        self.inside, self.hosts, self.code, self.cookie = inside, frozenset(hosts), code, cookie

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "lifespan":
            await self.inside(scope, receive, send)
            return
        if scope["type"] != "http":
            await send({"type": "websocket.close", "code": 1008})
            return
        refusal = self.refusal(scope)
        if refusal is not None:
            status, says = refusal
            await _answer(send, status, says)
            return
        if not self._entered(scope):
            if scope["method"] in ("GET", "HEAD") and scope["path"] == "/":
                await _answer(send, 303, "enter the code first", [(b"location", b"/enter")])
            else:
                await _answer(send, 401, "enter the code first")
            return

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                message["headers"] = [*message.get("headers", ()), *_headers()]
            await send(message)

        await self.inside(scope, receive, with_headers)

    def refusal(self, scope: Scope) -> tuple[int, str] | None:
        """Status and reason, or None where the request comes from the page itself or was typed by a person."""
        hosts = _values(scope, b"host")
        if len(hosts) != 1 or hosts[0] not in self.hosts:
            return 421, "this is not the name of this page"
        origins = _values(scope, b"origin")
        if any(origin != f"http://{hosts[0]}" for origin in origins):
            return 403, "the request comes from another page"
        writes = scope["method"] not in ("GET", "HEAD")
        if writes and len(origins) != 1:
            return 403, "the request does not say from which page it comes"
        sites = _values(scope, b"sec-fetch-site")
        if any(site != "same-origin" and (writes or site != "none") for site in sites):
            return 403, "the request comes from another page"
        return None

    def _entered(self, scope: Scope) -> bool:
        if self.code is None or scope["path"] in OUTSIDE:
            return True
        try:
            jar = SimpleCookie("; ".join(_values(scope, b"cookie")))
        except CookieError:
            return False
        return self.cookie in jar and self.code.knows(jar[self.cookie].value)


def _values(scope: Scope, name: bytes) -> list[str]:
    return [value.decode("latin-1") for key, value in scope["headers"] if key == name]


def _headers() -> list[tuple[bytes, bytes]]:
    return [(name.encode(), value.encode()) for name, value in HEADERS]


async def _answer(send: Send, status: int, says: str, more: Iterable[tuple[bytes, bytes]] = ()) -> None:
    body = json.dumps({"trouble": says}).encode()
    headers = [(b"content-type", b"application/json"), (b"cache-control", b"no-store"), *_headers(), *more]
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": body})
