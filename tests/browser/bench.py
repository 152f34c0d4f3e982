"""The page at the bench for a test: the program itself, started, killed and started again; fingers, keys and a pad."""

from __future__ import annotations

import re
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from pathlib import Path
from typing import Any, ClassVar

from netdiff.circuit import part_of
from netdiff.tracing.answers import Answer, Item

ROOT = Path(__file__).resolve().parents[2]


class Bench:
    """``netdiff bench`` as a program of its own, always on the same port."""

    def __init__(self, file: Path, *more: str) -> None:
        self.file, self.more = file, more
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = probe.getsockname()[1]
        self.log = file.parent / f"printed-{self.port}.txt"
        self.url = f"http://127.0.0.1:{self.port}/"
        self.program: subprocess.Popen[bytes] | None = None
        self.start()

    def start(self) -> None:
        command = [sys.executable, "-m", "netdiff", "bench", str(self.file), "--no-browser", "--port", str(self.port)]
        with self.log.open("a") as log:
            self.program = subprocess.Popen([*command, *self.more], cwd=ROOT, stdout=log, stderr=log)
        for _ in range(400):
            try:
                urllib.request.urlopen(self.url + "static/bench.css", timeout=1).close()
                return
            except OSError:
                assert self.program.poll() is None, self.log.read_text()
                time.sleep(0.05)
        raise AssertionError("the page does not answer")

    def end(self, how: signal.Signals = signal.SIGINT) -> str:
        """Stops the program; what it printed."""
        program, self.program = self.program, None
        if program is not None:
            program.send_signal(how)
            program.wait(20)
        return self.log.read_text()

    def printed_code(self) -> str:
        match = re.search(r"enters once: (\d+ \d+)", self.log.read_text())
        assert match is not None
        return match[1]

    def kill(self) -> None:
        self.end(signal.SIGKILL)


def confirm(page: Any) -> None:
    """Ticks all three, and waits for the question."""
    page.wait_for_selector("#confirm[open]")
    for tick in page.locator("#confirm input").all():
        tick.check()
    page.locator("#confirm button").click()
    page.wait_for_selector("#confirm", state="hidden")
    page.wait_for_function("() => document.getElementById('question').dataset.shown")


def asked(page: Any) -> str:
    """What the question on the page is about."""
    return page.locator("#question").get_attribute("data-about") or ""


class Hand:
    """Gives an answer by one way of touching the page; waits for the next question."""

    def __init__(self, page: Any) -> None:
        self.page = page
        self.zones: dict[str, str] = {}
        """Of the parts of the drawing: where to look for what is not near."""

    # --- one way of touching: with a finger

    def press(self, selector: str) -> None:
        self.page.locator(selector).first.tap()

    def write(self, label: str, text: str) -> None:
        self.page.locator("#sheet label", has_text=label).locator("input, textarea").first.fill(text)

    def send(self) -> None:
        self.page.locator("#sheet button[type=submit]").tap()

    # --- what is done with it

    def answer(self, one: Answer) -> None:
        before = self.page.locator("#question").get_attribute("data-shown")
        self.give(one)
        self.page.wait_for_function(
            "before => document.getElementById('question').dataset.shown !== before", arg=before, timeout=5000
        )

    def give(self, one: Answer) -> None:
        asks = {"these": self.landing, "some": self.landing, "but": self.exceptions, "read": self.reading,
                "statement": self.stranger}  # fmt: skip
        if one.kind in asks:
            self.press(f'#question [data-asks="{one.kind}"]')
            self.sheet()
            asks[one.kind](one)
        else:
            self.press(f'#question [data-answer="{one.kind}"]')

    def sheet(self) -> None:
        self.page.wait_for_selector("#sheet[open] button")

    def pick(self, to: str, by_zone: bool = False) -> None:
        """A button that may be on a later page of its group, or is found by its zone."""
        for _ in range(20):
            if by_zone and not self.page.locator(f'#sheet [data-to="{to}"]').count():
                self.by_zone(to)
                return
            if self.page.locator(f'#sheet [data-to="{to}"]').count():
                self.press(f'#sheet [data-to="{to}"]')
                return
            self.press('#sheet [data-key="9"]')
        raise AssertionError(f"there is no {to} to choose")

    def by_zone(self, to: str) -> None:
        title = self.title()
        self.pick("elsewhere")
        for word in (self.zones[part_of(to)], part_of(to), to):
            self.turn(title)
            title = self.title()
            self.pick(word)
        self.turn(title)

    def landing(self, one: Answer) -> None:
        for item in one.items:
            self.pick(item.to, by_zone=part_of(item.to) in self.zones)
        for item in one.items:
            if item.length:
                assert len(one.items) == 1, "which lead is asked first; no unit of these tests has two"
                self.details(item)
        self.send()

    def details(self, item: Item) -> None:
        title = self.title()
        self.pick("how")
        self.turn(title)
        self.pick(item.conductor)
        self.write("Length", item.length.removesuffix("mm"))
        self.send()
        self.turn(self.title_was)

    def title(self) -> str:
        return str(self.page.locator("#sheet h2").text_content())

    def turn(self, title: str) -> None:
        """Waits until another sheet has come after the one of this title."""
        self.title_was = title
        self.page.wait_for_function(
            "t => { const h = document.querySelector('#sheet[open] h2'); return h && h.textContent !== t; }",
            arg=title,
        )
        self.title_was = self.title()

    def exceptions(self, one: Answer) -> None:
        for word in one.but:
            self.pick(word)
        self.send()

    def reading(self, one: Answer) -> None:
        if asked(self.page) != one.about:
            title = self.title()
            self.pick(one.about)
            self.turn(title)
        self.printed(*values(one.words.split()))
        self.send()

    def stranger(self, one: Answer) -> None:
        _, kind, *words = one.words.split()
        title = self.title()
        self.pick(kind)
        self.send()
        self.turn(title)
        self.printed(*values(words))
        self.send()

    def printed(self, number: str, unit: str, rating: str, of: str) -> None:
        """Value and rating, by digits and buttons alone."""
        if number:
            self.write("Value", number)
            if self.page.locator(f'#sheet [data-to="{unit}"][aria-pressed="false"]').count():
                self.press(f'#sheet [data-to="{unit}"]')
        if rating:
            self.write({"W": "Watts", "V": "Volts", "A": "Amperes"}[of], rating)


class Keys(Hand):
    """A keyboard alone: digits for the buttons, Enter from field to field."""

    def key(self, key: str) -> None:
        self.page.keyboard.press(key)

    def press(self, selector: str) -> None:
        key = self.page.locator(selector).first.get_attribute("data-key")
        if self.page.locator("#sheet[open]").count():
            self.reach(selector.removeprefix("#sheet "))
        self.key(str(key))

    def reach(self, selector: str) -> None:
        """Enter, until the group of this button has the focus."""
        inside = f"""() => {{
            const group = document.activeElement.closest('#sheet [data-group]');
            return !!(group && group.querySelector('{selector}'));
        }}"""
        self._until(inside)

    def _until(self, there: str, arg: Any = None) -> None:
        for _ in range(20):
            if self.page.evaluate(there, arg):
                return
            self.key("Enter")
        raise AssertionError("Enter does not lead there")

    def write(self, label: str, text: str) -> None:
        self._until("label => !!document.activeElement.closest('label')?.textContent.startsWith(label)", label)
        for character in text:
            self.key(character)

    def send(self) -> None:
        self._until("() => document.activeElement.type === 'submit'")
        self.key("Enter")


class Pad(Keys):
    """Nothing but the seventeen keys of a numeric pad."""

    CODES: ClassVar[dict[str, str]] = {str(n): f"Numpad{n}" for n in range(10)} | {
        "Enter": "NumpadEnter", "*": "NumpadMultiply", "-": "NumpadSubtract", "+": "NumpadAdd", ".": "NumpadDecimal",
        "/": "NumpadDivide",
    }  # fmt: skip

    def __init__(self, page: Any) -> None:
        super().__init__(page)
        self.wire = page.context.new_cdp_session(page)

    def key(self, key: str) -> None:
        told = {"key": key, "code": self.CODES[key], "location": 3, "isKeypad": True}
        text = {"text": "\r" if key == "Enter" else key}
        code = 13 if key == "Enter" else 96 + int(key) if key.isdigit() else 0
        told["windowsVirtualKeyCode"] = code
        self.wire.send("Input.dispatchKeyEvent", {"type": "keyDown", **told, **text})
        self.wire.send("Input.dispatchKeyEvent", {"type": "keyUp", **told})

    def send(self) -> None:
        self.key("*")


def values(words: list[str]) -> tuple[str, str, str, str]:
    """``10k 1W``: number and unit of the value, number and unit of the rating; empty where there is none."""
    number = unit = rating = of = ""
    for word in words:
        match = re.fullmatch(r"([\d.]+)([A-Za-z]*)", word)
        assert match is not None, word
        if match[2] in ("W", "V", "A"):
            rating, of = match[1], match[2]
        else:
            number, unit = match[1], match[2]
    return number, unit, rating, of
